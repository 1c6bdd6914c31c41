"""First picture of the page, and frames a second over a pan and a zoom of a house of more than 3 000 joints.

Starts the service on the loopback address and Chromium without a window, ends both: ``python benchmarks/page.py``.
Targets: the unrolled hull stands within 1 s; 30 frames a second or more. The choice handle answers within 150 ms (median).
"""

from __future__ import annotations

import json
import os
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

ROUNDS = 5
SECONDS = 3
EXAMPLE = Path(__file__).parents[1] / "examples" / "saltgrass-house.yaml"
BROWSER = os.environ.get("HULLWRIGHT_CHROMIUM", "/usr/bin/chromium")
DRIVE = """async ([what, seconds]) => {
  const canvas = document.querySelector("canvas[aria-label^='The hull unrolled']"), r = canvas.getBoundingClientRect(), y = r.top + r.height / 2
  const at = (x) => ({pointerId: 1, clientX: r.left + x, clientY: y, bubbles: true, buttons: 1})
  canvas.setPointerCapture = () => {}
  if (what === 'pan') canvas.dispatchEvent(new PointerEvent('pointerdown', at(400)))
  const start = performance.now(); let frames = 0, longest = 0, last = start
  while (performance.now() - start < 1000 * seconds) {
    if (what === 'pan') canvas.dispatchEvent(new PointerEvent('pointermove', at(400 + 150 * Math.sin(frames / 10))))
    else canvas.dispatchEvent(new WheelEvent('wheel', {deltaY: frames % 60 < 30 ? -40 : 40, clientX: r.left + 500, clientY: y, cancelable: true, bubbles: true}))
    await new Promise(requestAnimationFrame); frames++
    const now = performance.now(); longest = Math.max(longest, now - last); last = now
  }
  if (what === 'pan') canvas.dispatchEvent(new PointerEvent('pointerup', at(400)))
  return [frames / seconds, longest] }"""
"""Moves something in each frame; gives frames a second and the longest frame [ms]."""


def long_row() -> str:
    """Text of an invented house of three storeys, long enough for more than 3 000 joints."""
    lines = [
        "units: ft",
        "name: Long row",
        "currency: USD",
        "barrier: {top: roof deck, bottom: {kind: slab, level: 0}}",
        "masses:",
        "  - {name: main, size: [240, 60], base: 8 in, storeys: [9, 9, 9], roof: {form: gable, pitch: 6:12, ridge: east-west}}",
        "openings:",
    ]
    places = ", ".join(str(4 + 6 * k) for k in range(39))
    for side in ("south", "north"):
        lines += [
            f"  - {{side: {side}, storey: {storey}, kind: window, size: [3, 4], head: 6'-10\", at: [{places}]}}"
            for storey in (1, 2, 3)
        ]
    lines.append("penetrations:")
    lines += [
        f"  - {{through: {side}, storey: {storey}, kind: pipe, diameter: 4.5, at: [{', '.join(f'[{8.6 + 6 * k}, 8.2]' for k in range(38))}]}}"
        for side in ("south", "north")
        for storey in (1, 2, 3)
    ]
    return "\n".join([*lines, "aim: {budget: 400000}", ""])


def start(folder: Path) -> tuple[subprocess.Popen[str], str, str]:
    """Start the service; gives process, address and key."""
    (folder / "houses").mkdir()
    shutil.copy(EXAMPLE, folder / "houses/saltgrass-house.yaml")
    (folder / "houses/long-row.yaml").write_text(long_row(), encoding="utf-8")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "hullwright", "serve", folder / "houses", "--port", str(port), "--data", folder / "data", "--no-browser", "--json"]  # fmt: skip
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    lines = ""
    while not lines.endswith("\n}\n"):
        line = process.stdout.readline()
        if not line:
            raise SystemExit(f"the service did not start: {lines}")
        lines += line
    address, _, key = json.loads(lines)["page"].partition("/#key=")
    return process, address, key


def measure(page, address: str, key: str) -> None:
    """Print the figures."""
    page.set_default_timeout(180_000)
    page.goto(f"{address}/#key={key}")
    page.locator("nav").wait_for()
    page.route(
        "**/plan", lambda route: route.abort() if route.request.method == "POST" else route.continue_()
    )
    for house in ("saltgrass-house", "long-row"):
        page.goto(f"{address}/#/{house}/house")
        stands = f"() => window.hullwrightSheet?.sheet && document.title.length && document.querySelector('.pick select')?.value === '{house}'"
        page.wait_for_function(stands)
        first, painted = [], []
        for _ in range(ROUNDS):
            page.reload()
            page.wait_for_function("() => performance.getEntriesByName('sheet').length")
            first.append(page.evaluate("() => performance.getEntriesByName('sheet')[0].startTime"))
            painted.append(
                page.evaluate(
                    "() => performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? 0"
                )
            )
        joints = page.evaluate("() => hullwrightSheet.sheet.drawn.length")
        print(f"{house}: {joints} joints")
        print(f"  something is painted after   {statistics.median(painted):6.0f} ms (median of {ROUNDS})")
        print(
            f"  the unrolled hull stands     {statistics.median(first):6.0f} ms (worst {max(first):.0f}; target 1000)"
        )
        for what in ("pan", "zoom"):
            page.locator("[aria-label='Whole sheet']").click()
            page.evaluate(DRIVE, [what, 0.5])
            rate, longest = page.evaluate(DRIVE, [what, SECONDS])
            print(f"  {what:4}  {rate:5.1f} frames a second (target 30), longest frame {longest:.0f} ms")


def main() -> None:
    """Run it."""
    with tempfile.TemporaryDirectory(prefix="hullwright-") as name:
        process, address, key = start(Path(name))
        try:
            with sync_playwright() as driver:
                browser = driver.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
                measure(browser.new_page(viewport={"width": 1440, "height": 900}), address, key)
                browser.close()
        finally:
            process.terminate()
            process.wait(30)
            process.stdout.close()


if __name__ == "__main__":
    main()
