"""Phones on a site: trusted by their own authority, ready only after they came up without signal, and never stranded."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import uuid
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from page_kit import ARGS, CHROMIUM, LONG, PHONE, Desk, _port, built, made, missing

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import httpx

pytestmark = pytest.mark.page
KEPT = "() => document.querySelector('li')?.innerText.startsWith('■')"
CONTROLLED = (
    "async () => { await navigator.serviceWorker.ready; return !!navigator.serviceWorker.controller }"
)


@dataclass
class Site:
    """A service that is offered to phones on a loopback address, which may change from start to start."""

    desk: Desk
    port: int
    setup_port: int
    address: str = "127.0.0.1"
    process: Any = None
    told: dict[str, Any] = field(default_factory=dict)
    client: Any = None

    def start(self, address: str = "127.0.0.1") -> None:
        self.address = address
        command = [sys.executable, "-c", f"import sys; from pathlib import Path; from hullwright.web import pages; pages.install.__defaults__ = (Path({str(self.desk.static)!r}),); from hullwright.cli.main import run; sys.exit(run())", "serve", str(self.desk.folder / "houses"),
                   "--port", str(self.desk.port), "--data", str(self.desk.folder / "data"), "--no-browser", "--json", "--lan", "--setup-page", "--lan-address", address,
                   "--lan-port", str(self.port), "--setup-port", str(self.setup_port), "--no-announce"]  # fmt: skip
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        text = (
            "".join(iter(self.process.stdout.readline, "}\n")) + "}"
        )  # indented: the last line of the object stands alone
        self.told = json.loads(text)
        self.client = httpx.Client(
            base_url=self.desk.base, timeout=LONG, transport=httpx.HTTPTransport(retries=9)
        )
        key = self.told["page"].split("#key=")[1]
        session = self.client.post("/api/session", json={"key": key, "device": "desk"}).json()
        self.client.headers["X-Hullwright-Token"] = session["token"]

    def stop(self) -> None:
        if self.process is not None:
            self.client.close()
            self.process.terminate()
            self.process.wait(LONG)
            self.process.stdout.close()
            self.process = None

    @property
    def name(self) -> str:
        return str(self.told["lan"]["page"]).removeprefix("https://").split(":")[0]

    @property
    def certificate(self) -> Path:
        return self.desk.folder / "data/lan/authority.crt"

    def invite(self, role: str = "crew") -> str:
        asked = {"name": "Ana", "role": role, "houses": ["plain-house"]}
        return str(self.client.post("/api/invitations", json=asked).json()["address"])

    def let_in(self, code: str) -> None:
        (device,) = [one for one in self.devices() if one["state"] == "waiting"]
        assert device["check_code"] == code, "the phone shows what the desk shows"
        assert self.client.post(f"/api/devices/{device['id']}/confirm", json={}).status_code == 200

    def devices(self) -> list[dict[str, Any]]:
        return list(self.client.get("/api/devices").json()["devices"])

    def ready(self) -> list[bool]:
        return [bool(one["ready_at"]) for one in self.devices() if one["person_name"] == "Ana"]

    def plan(self) -> None:
        job = self.client.post("/api/houses/plain-house/plan", json={"quick": True}).json()
        with self.client.stream("GET", f"/api/houses/plain-house/jobs/{job['id']}/events") as events:
            last = [line for line in events.iter_lines() if line.startswith("data: ")][-1]
        assert json.loads(last[6:])["state"] == "done"

    def sign_off(self) -> None:
        """Sign the nailing of all faces off, as the lead at the desk."""
        who, entries = self.client.get("/api/session").json(), []
        for number, face in enumerate(
            self.client.get("/api/houses/plain-house/states").json()["not_to_start"]
        ):
            body = {"id": str(uuid.uuid4()), "kind": "nailing", "author": who["person"], "device": who["device"], "device_time": "2026-05-04T07:31:09+02:00", "device_sequence": number + 1, "face": face, "what": {"passed": True}}  # fmt: skip
            entries.append({"id": body["id"], "body": json.dumps(body)})
        answer = self.client.post("/api/houses/plain-house/entries", json={"entries": entries}).json()
        assert {one["status"] for one in answer["receipts"]} == {"stored"}


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    # A page of its own: where it is built anew meanwhile, a worker would wait for the new one.
    shutil.copytree(built(), tmp_path / "static")
    found = Site(made(tmp_path, tmp_path / "static"), _port(), _port())
    try:
        found.start()
        yield found
    finally:
        found.stop()


Phone = Callable[..., Any]


@pytest.fixture
def phone(tmp_path: Path, site: Site, driver: Any) -> Iterator[Phone]:
    """Give a browser with a memory of its own; it trusts the authority, or not, and finds the name at an address."""
    place = os.environ.get("HULLWRIGHT_CHROMIUM", str(CHROMIUM))
    if not Path(place).exists():
        missing("no chromium here; HULLWRIGHT_CHROMIUM names one")
    if shutil.which("certutil") is None:
        missing("no certutil here (libnss3-tools): a browser can't be told to trust an authority")
    home, open_ones = tmp_path / "home", []
    store = home / ".pki/nssdb"
    store.mkdir(parents=True)
    subprocess.run(["certutil", "-d", f"sql:{store}", "-N", "--empty-password"], check=True)

    def start(*, trusts: bool = True) -> Any:
        if trusts:
            command = [
                "certutil",
                "-d",
                f"sql:{store}",
                "-A",
                "-t",
                "C,,",
                "-n",
                "site",
                "-i",
                str(site.certificate),
            ]
            subprocess.run(command, check=True)
        context = driver.chromium.launch_persistent_context(
            tmp_path / "memory", executable_path=place, timeout=LONG * 1000, env={**os.environ, "HOME": str(home)}, locale="en-US",
            args=[*ARGS, f"--host-resolver-rules=MAP {site.name} {site.address}"], **PHONE,
        )  # fmt: skip
        context.set_default_timeout(LONG * 1000)
        open_ones.append(context)
        return context.pages[0]

    yield start
    for one in open_ones:
        one.close()


def _sign_in(site: Site, page: Any) -> None:
    page.goto(site.invite())
    page.locator(".big").wait_for()
    site.let_in(page.locator(".big").inner_text())
    page.get_by_role("button", name="I was let in").click()


def test_ready_comes_only_after_the_page_came_up_without_signal(site: Site, phone: Phone) -> None:
    page = phone()
    _sign_in(site, page)
    page.wait_for_function(KEPT)
    page.wait_for_function(CONTROLLED)
    for _ in range(2):
        page.reload()  # with signal: the page comes from what is kept, and that proves nothing
        page.wait_for_function(KEPT)
        page.wait_for_load_state("networkidle")
        assert page.locator("li").nth(1).inner_text().startswith("□")
        assert page.locator("[data-ready]").count() == 0
    assert site.ready() == [False]
    site.stop()
    page.reload()
    page.wait_for_function("() => document.querySelectorAll('li')[1]?.innerText.startsWith('■')")
    assert page.locator("[data-ready]").count() == 0, "the desk has not heard of it"
    site.start()
    page.locator("[data-ready]").wait_for()
    assert site.ready() == [True]


def test_lead_sees_ready_in_people(site: Site, phone: Phone) -> None:
    page = phone()
    _sign_in(site, page)
    page.wait_for_function(KEPT)
    page.wait_for_function(CONTROLLED)
    look = page.context.new_page()
    look.goto(f"{site.desk.base}/#key={site.told['page'].split('#key=')[1]}")
    look.wait_for_function("() => document.querySelector('nav')")
    look.goto(f"{site.desk.base}/#/plain-house/people")
    row = look.locator("tr", has_text="Ana")
    row.wait_for()
    assert "ready" not in row.inner_text()
    answer = page.evaluate(
        """async () => { const { token } = await (await fetch('/api/session')).json()
        return (await fetch('/api/session/ready', { method: 'POST', body: '{"seen_offline": true}', headers: { 'Content-Type': 'application/json', 'X-Hullwright-Token': token } })).status }"""
    )
    assert answer == 200
    look.reload()
    look.locator("tr", has_text="Ana").locator("b", has_text="ready").wait_for()


def test_warning_that_was_tapped_away_never_makes_ready(site: Site, phone: Phone) -> None:
    page = phone(trusts=False)
    with pytest.raises(Exception, match="ERR_CERT_AUTHORITY_INVALID"):
        page.goto(site.told["lan"]["page"])
    page.locator("#details-button").click()
    page.locator("#proceed-link").click()
    page.wait_for_url(f"{site.told['lan']['page']}**")
    _sign_in(site, page)
    page.locator("h1", has_text="Ready").wait_for()
    page.get_by_text("does not keep the page").wait_for()
    assert not page.evaluate("() => !!navigator.serviceWorker.controller")
    assert page.locator("li").count() == 0
    assert site.ready() == [False]


def test_changed_address_strands_no_queue(site: Site, phone: Phone) -> None:
    """An entry is kept without signal; the service comes back under another address: it arrives, exactly once."""
    site.plan()
    site.sign_off()
    page = phone()
    _sign_in(site, page)
    page.wait_for_function(KEPT)
    page.wait_for_function(CONTROLLED)
    origin = page.evaluate("() => location.origin")
    page.goto(f"{origin}/#/plain-house/glove-card")
    page.locator(".keys .t.main").wait_for()
    page.wait_for_load_state("networkidle")
    site.stop()
    page.reload()
    page.locator(".keys .t.main").wait_for()
    page.get_by_role("button", name="Done", exact=True).tap()
    page.wait_for_function("() => Number(document.querySelector('.status').dataset.kept) >= 1")
    kept = int(page.locator(".status").get_attribute("data-kept"))
    page.context.close()
    site.start("127.0.0.2")
    certificate = site.certificate.read_bytes()
    page = phone()
    page.goto(f"{origin}/#/plain-house/glove-card")
    page.wait_for_function("() => document.querySelector('.status')?.dataset.kept === '0'")
    assert page.evaluate("() => location.origin") == origin
    assert site.certificate.read_bytes() == certificate
    assert page.locator(".status").get_attribute("data-sent") == str(kept)
    found = site.client.get("/api/houses/plain-house/entries?kind=done&history=true").json()["entries"]
    ids = [one["id"] for one in found]
    assert len(ids) == len(set(ids)) == kept
    assert {one["author"] for one in found} == {"Ana"}
