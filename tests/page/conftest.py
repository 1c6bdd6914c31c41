"""A running service with the built page, and browsers that look at it."""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
CHROMIUM = Path("/usr/bin/chromium")
PLAIN = """\
# An invented house, small: its plan takes no time.
units: ft
name: Plain house
currency: USD
barrier: {top: roof deck, bottom: {kind: slab, level: 0}}   # the layer covers the slab edge
masses:
  - {name: main, size: [36, 26], base: 8 in, storeys: [9'-1 1/8"], roof: {form: gable, pitch: 6:12, ridge: east-west}}
openings:
  - {side: south, kind: window, size: [5, 4], head: 6'-10", at: [4, 26]}
  - {side: south, kind: door, size: [3'-2", 6'-10"], at: 16, frame: wood}
penetrations:
  - {through: roof north, kind: pipe, diameter: 4.5, at: [[12, 6]]}
  - {through: south, kind: box, size: [4, 4], count: 4}
aim: {budget: 9000}
"""
ARGS = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]


@dataclass
class Desk:
    """A service of its own, that can be stopped and started."""

    folder: Path
    port: int
    process: subprocess.Popen[str] | None = None
    key: str = ""

    @property
    def base(self) -> str:
        return f"http://localhost:{self.port}"

    def start(self) -> None:
        code = "import sys; from hullwright.cli.main import run; sys.exit(run())"
        asked = [
            "serve",
            str(self.folder / "houses"),
            "--port",
            str(self.port),
            "--no-browser",
            "--data",
            str(self.folder / "data"),
        ]
        command = [sys.executable, "-c", code, *asked]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        assert self.process.stdout is not None
        said = ""
        for line in self.process.stdout:
            said += line
            found = re.search(r"#key=([\w-]+)", line)
            if found:
                self.key = found[1]
                break
        assert self.key, said
        for _ in range(200):
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.05)
        raise AssertionError(said)

    def stop(self) -> None:
        if self.process is not None:
            self.process.terminate()
            self.process.wait(20)
            if self.process.stdout is not None:
                self.process.stdout.close()
            self.process = None


def _port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture(scope="session")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    if not (ROOT / "src/hullwright/web/static/index.html").is_file():
        pytest.skip("the page is not built: python -m hullwright.web.build")
    folder = tmp_path_factory.mktemp("desk")
    (folder / "houses").mkdir()
    shutil.copy(ROOT / "examples/saltgrass-house.yaml", folder / "houses/saltgrass-house.yaml")
    (folder / "houses/plain-house.yaml").write_text(PLAIN, encoding="utf-8")
    found = Desk(folder, _port())
    found.start()
    yield found
    found.stop()


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    place = os.environ.get("HULLWRIGHT_CHROMIUM", str(CHROMIUM))
    if not Path(place).exists():
        pytest.skip("no chromium here; HULLWRIGHT_CHROMIUM names one")
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 - heavy, only where a browser is started

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=place, args=ARGS)
        yield browser
        browser.close()


PHONE = {
    "viewport": {"width": 360, "height": 740},
    "has_touch": True,
    "is_mobile": True,
    "device_scale_factor": 2,
}


@pytest.fixture
def open_page(desk: Desk, chromium: Any) -> Iterator[Callable[..., Any]]:
    """Give a signed-in page; what it complains about fails the test."""
    contexts: list[Any] = []
    complaints: list[str] = []

    def opened(where: str = "", **options: Any) -> Any:
        context = chromium.new_context(**({"viewport": {"width": 1440, "height": 900}} | options))
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(20_000)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on(
            "console",
            lambda said: complaints.append(said.text) if "Content Security Policy" in said.text else None,
        )
        page.goto(f"{desk.base}/#key={desk.key}")
        page.wait_for_function("() => document.querySelector('nav, .glove, .page h1')")
        if where:
            page.goto(f"{desk.base}/#{where}")
            house = where.split("/")[1]
            page.wait_for_function("h => document.querySelector('.pick select')?.value === h", arg=house)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert not complaints


@pytest.fixture(scope="session")
def planned() -> Callable[[Any], None]:
    """Wait until a plan stands in the strip."""

    def wait(page: Any) -> None:
        page.wait_for_function(
            "() => document.querySelector('.sums b') && !document.querySelector('.over .say')",
            timeout=120_000,
        )

    return wait


@pytest.fixture(scope="session")
def point_of() -> Callable[[Any, int], tuple[float, float]]:
    """Give the place of a joint on the screen."""

    def point(page: Any, joint: int) -> tuple[float, float]:
        box = page.locator("canvas[aria-label^='The hull unrolled']").bounding_box()
        x, y = page.evaluate("k => hullwrightSheet.where(k)", joint)
        return box["x"] + x, box["y"] + y

    return point
