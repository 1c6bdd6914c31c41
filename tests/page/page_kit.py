"""What the tests of the page share: a service of their own, waits, sizes."""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import time
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
LONG = float(os.environ.get("HULLWRIGHT_PATIENCE", "120"))
"""Longest wait for one thing [s]: a machine under load is slow, and nothing waits longer than it must."""
BUSY = """(() => { const b = window.hwBusy = { now: 0, last: 0 }, f = window.fetch, E = window.EventSource
  const on = () => { b.now++; b.last = performance.now() }, off = () => { b.now--; b.last = performance.now() }
  window.fetch = (...a) => { on(); return f(...a).finally(off) }
  window.EventSource = class extends E { #open = true; constructor(...a) { super(...a); on() } close() { if (this.#open) off(); this.#open = false; super.close() } } })()"""
"""Counts what the page waits for, so that a test can wait for a page that stands still."""
QUIET = """v => document.title.startsWith(v) && hwBusy.now === 0 && performance.now() - hwBusy.last > 250 && !document.body.innerText.includes('One moment.')"""
SEND = """async ([house, entries]) => {
  const who = await (await fetch('/api/session')).json(); window.hwSent ??= 0
  const list = entries.map((one) => { const id = crypto.randomUUID()
    return { id, body: JSON.stringify({ id, author: who.person, device: who.device, device_time: new Date().toISOString(), device_sequence: ++window.hwSent, ...one }) } })
  const answer = await fetch(`/api/houses/${house}/entries`, { method: 'POST', headers: { 'Content-Type': 'application/json', 'X-Hullwright-Token': who.token }, body: JSON.stringify({ entries: list }) })
  const got = await answer.json()
  if (!got.receipts || got.receipts.some((one) => one.status !== 'stored')) throw new Error(JSON.stringify(got))
  return list.map((one) => one.id) }"""
"""Logs entries over the service as the person who is signed in; gives their ids."""
ENDS = "import os, sys, threading; threading.Thread(target=lambda: (sys.stdin.read(), os._exit(9)), daemon=True).start()"
"""A service whose test was ended (its pipe closes) ends too."""
ARGS = [
    "--no-sandbox",
    "--use-gl=angle",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    # Nothing but the page under test: no update, no sync, no look at the network.
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-quic",
    "--no-first-run",
]


@dataclass
class Desk:
    """A service of its own, that can be stopped and started."""

    folder: Path
    port: int
    static: Path | None = None
    process: subprocess.Popen[str] | None = None
    key: str = ""

    @property
    def base(self) -> str:
        return f"http://localhost:{self.port}"

    def start(self) -> None:
        code = f"{ENDS}; import sys; from hullwright.cli.main import run; sys.exit(run())"
        if self.static is not None:  # a built page of its own, that a test may change
            code = f"from pathlib import Path; from hullwright.web import pages; pages.install.__defaults__ = (Path({str(self.static)!r}),); {code}"
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
        self.process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        assert self.process.stdout is not None
        said = ""
        for line in self.process.stdout:
            said += line
            found = re.search(r"#key=([\w-]+)", line)
            if found:
                self.key = found[1]
                break
        assert self.key, said
        until = time.monotonic() + LONG
        while time.monotonic() < until:
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.05)
        raise AssertionError(said)

    def kill(self) -> None:
        """End it at once, in the middle of whatever it does (SIGKILL)."""
        assert self.process is not None
        self.process.kill()
        self._gone()

    def stop(self) -> None:
        if self.process is not None:
            self.process.terminate()
            self._gone()

    def _gone(self) -> None:
        assert self.process is not None
        self.process.wait(LONG)
        for pipe in (self.process.stdin, self.process.stdout):
            if pipe is not None:
                pipe.close()
        self.process = None


def _port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def missing(what: str) -> None:
    """A test that can't run fails where everything must be there (CI), else it is skipped with the reason."""
    if os.environ.get("CI", "").lower() not in {"", "0", "false"}:
        pytest.fail(f"{what} (and CI is set: nothing may be left out)")
    pytest.skip(what)


def built() -> Path:
    """Folder of the built page."""
    static = ROOT / "src/hullwright/web/static"
    if not (static / "index.html").is_file():
        missing("the page is not built: python -m hullwright.web.build")
    return static


def made(folder: Path, static: Path | None = None) -> Desk:
    """Make a service with two houses; not started yet."""
    (folder / "houses").mkdir()
    shutil.copy(ROOT / "examples/saltgrass-house.yaml", folder / "houses/saltgrass-house.yaml")
    (folder / "houses/plain-house.yaml").write_text(PLAIN, encoding="utf-8")
    return Desk(folder, _port(), static)


def log(page: Any, house: str, *entries: dict[str, Any]) -> list[str]:
    """Log entries of a house as the page's person; gives their ids."""
    ids: list[str] = page.evaluate(SEND, [house, list(entries)])
    return ids


PHONE = {
    "viewport": {"width": 360, "height": 740},
    "has_touch": True,
    "is_mobile": True,
    "device_scale_factor": 2,
}
