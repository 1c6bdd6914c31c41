"""The built page as files, and the service as a running program."""

import json
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request

import pytest
from fastapi import FastAPI

from hullwright.errors import InputError, OutputError
from hullwright.web import faults, pages
from hullwright.web.serve import serve


@pytest.fixture
def built(tmp_path, world):
    root = tmp_path / "static"
    (root / "assets").mkdir(parents=True)
    for name in (
        "index.html",
        "sw.js",
        "assets/app-1a2b.js",
        "manifest.webmanifest",
        ".hidden.js",
        "secret.key",
    ):
        (root / name).write_text(name, encoding="utf-8")
    (tmp_path / "outside.js").write_text("outside", encoding="utf-8")
    (root / "link.js").symlink_to(tmp_path / "outside.js")
    app = FastAPI()
    faults.install(app)
    pages.install(app, root)
    page = world.page()
    page._transport.app = app
    return page


def test_page_worker_and_assets_carry_the_right_headers(built):
    assert built.get("/").text == "index.html"
    assert built.get("/").headers["cache-control"] == "no-cache"
    worker = built.get("/sw.js").headers
    assert worker["content-type"].startswith("text/javascript")
    assert worker["cache-control"] == "no-cache"
    assert worker["service-worker-allowed"] == "/"
    assert "immutable" in built.get("/assets/app-1a2b.js").headers["cache-control"]
    assert built.get("/manifest.webmanifest").headers["content-type"] == "application/manifest+json"


@pytest.mark.parametrize(
    "path", ["/../outside.js", "/%2e%2e/outside.js", "/..%2foutside.js", "/link.js", "/.hidden.js", "/secret.key", "/assets", "/assets/", "/a%00.js",
             "/%5c..%5coutside.js", "/nothing.js", "/api", "/api/nothing"]
)  # fmt: skip
def test_nothing_outside_the_page_is_given(built, path):
    answer = built.get(path)
    assert answer.status_code == 404
    assert "outside" not in answer.text


def test_unbuilt_page_says_how_to_build_it(tmp_path, world):
    app = FastAPI()
    faults.install(app)
    pages.install(app, tmp_path)
    page = world.page()
    page._transport.app = app
    assert "npm run build" in page.get("/").text
    assert page.get("/sw.js").status_code == 404


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def test_wrong_folder_and_taken_port_are_said(tmp_path):
    with pytest.raises(InputError, match="nothing can be served"):
        serve(tmp_path / "no such folder", open_browser=False)
    with pytest.raises(InputError, match="port"):
        serve(tmp_path, port=70_000, open_browser=False)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(OutputError, match="can't start"):
            serve(tmp_path, port=taken.getsockname()[1], open_browser=False, data=str(tmp_path / "data"))


def test_serve_starts_signs_in_and_ends(world, tmp_path):
    """The command as a person runs it: address printed, page answered, Ctrl-C ends it."""
    port = free_port()
    command = [sys.executable, "-m", "hullwright", "serve", str(world.folder), "--port", str(port), "--data", str(tmp_path / "d"), "--no-browser", "--json"]  # fmt: skip
    calm = os.environ | {"HULLWRIGHT_NO_PAGE": "1"}  # the page itself is not asked for here
    with subprocess.Popen(
        command, env=calm, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        told, depth = "", 0
        while True:
            line = process.stdout.readline()
            assert line, f"it ended before it had started: {told}"
            told += line
            depth += line.count("{") - line.count("}")
            if depth == 0:
                break
        address, _, key = json.loads(told)["page"].partition("#key=")
        body = json.dumps({"key": key}).encode()
        asked = urllib.request.Request(f"{address}api/session", body, {"content-type": "application/json"})
        until = time.monotonic() + 300  # it says its address before it listens there
        while True:
            try:
                answer = urllib.request.urlopen(asked, timeout=300)
                break
            except urllib.error.URLError:
                assert time.monotonic() < until
                time.sleep(0.1)
        assert json.load(answer)["role"] == "lead"
        answer.close()
        os.kill(process.pid, signal.SIGINT)
        _, said = process.communicate(timeout=300)
    assert process.returncode in {0, 130}
    assert "Traceback" not in said
