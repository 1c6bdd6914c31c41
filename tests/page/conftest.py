"""A running service with the built page, and browsers that look at it."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))  # importlib mode puts nothing there

from page_kit import ARGS, BUSY, CHROMIUM, LONG, QUIET, ROOT, Desk, built, made, missing


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What a page is asked (`evaluate`) has no time limit of its own; a whole test has."""
    for item in items:
        if item.get_closest_marker("page"):
            item.add_marker(pytest.mark.timeout(2.5 * LONG))


@pytest.fixture(scope="session")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    built()
    found = made(tmp_path_factory.mktemp("desk"))
    try:
        found.start()
        yield found
    finally:
        found.stop()


@pytest.fixture
def own_desk(tmp_path: Path) -> Iterator[Desk]:
    """Give a service of one test's own, its page in a folder that the test may change."""
    shutil.copytree(built(), tmp_path / "static")
    found = made(tmp_path, tmp_path / "static")
    try:
        found.start()
        yield found
    finally:
        found.stop()


@pytest.fixture(scope="session")
def axe() -> str:
    """Give the rules of axe-core."""
    script = ROOT / "web/node_modules/axe-core/axe.min.js"
    if not script.is_file():
        missing("axe-core is not fetched: npm ci in web/")
    return script.read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def driver() -> Iterator[Any]:
    """What drives browsers: one for all tests, since two can't run side by side."""
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 - heavy, only where a browser is started

    with sync_playwright() as found:
        yield found


@pytest.fixture(scope="session")
def chromium(driver: Any) -> Iterator[Any]:
    place = os.environ.get("HULLWRIGHT_CHROMIUM", str(CHROMIUM))
    if not Path(place).exists():
        missing("no chromium here; HULLWRIGHT_CHROMIUM names one")
    browser = driver.chromium.launch(executable_path=place, args=ARGS, timeout=LONG * 1000)
    yield browser
    browser.close()


@pytest.fixture
def open_page(request: pytest.FixtureRequest, chromium: Any) -> Iterator[Callable[..., Any]]:
    """Give a signed-in page; what it complains about fails the test."""
    contexts: list[Any] = []
    complaints: list[str] = []

    def opened(where: str = "", *, at: Desk | None = None, key: str = "", **options: Any) -> Any:
        desk = at or request.getfixturevalue("desk")
        context = chromium.new_context(**({"viewport": {"width": 1440, "height": 900}} | options))
        contexts.append(context)
        context.set_default_timeout(LONG * 1000)
        context.add_init_script(BUSY)
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on(
            "console",
            lambda said: complaints.append(said.text) if "Content Security Policy" in said.text else None,
        )
        page.goto(f"{desk.base}/#{key or f'key={desk.key}'}")
        page.wait_for_function("() => document.querySelector('nav, .glove, .page h1')")
        if where:
            page.goto(f"{desk.base}/#{where}")
            house = where.split("/")[1]
            page.wait_for_function(
                "h => [h, '+'].includes(document.querySelector('.pick select')?.value)", arg=house
            )
        return page

    yield opened
    for context in contexts:
        context.close()
    assert not complaints


@pytest.fixture(scope="session")
def view() -> Callable[[Any, str], None]:
    """Go to a view and wait until it stands still."""

    def go(page: Any, name: str) -> None:
        slug = name.lower().replace(" ", "-")
        page.goto(page.url.split("#")[0] + f"#/{page.url.split('#/')[1].split('/')[0]}/{slug}")
        page.wait_for_function(QUIET, arg=name)
        page.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")

    return go


@pytest.fixture(scope="session")
def planned() -> Callable[[Any], None]:
    """Wait until a plan stands in the strip."""

    def wait(page: Any) -> None:
        page.wait_for_function(
            "() => document.querySelector('.sums b') && !document.querySelector('.over .say')"
            " && hwBusy.now === 0 && performance.now() - hwBusy.last > 250",
            timeout=LONG * 1000,
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
