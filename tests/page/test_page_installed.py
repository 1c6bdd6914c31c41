"""The page as an app of its own: icons, manifest, an update that waits for what is unsent."""

from __future__ import annotations

import io
import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

pytestmark = pytest.mark.page
ROOT = Path(__file__).parents[2]
PUBLIC = ROOT / "web/public"
ICONS = {
    "icon-192.png": (192, 1.0, False),
    "icon-512.png": (512, 1.0, False),
    "icon-maskable-512.png": (512, 0.74, True),  # all within the circle of 80 % that every mask leaves
    "apple-touch-icon.png": (180, 0.86, True),
}
"""Size [px], scale of the drawing, and whether the ground runs to the edge."""


def _drawing(size: int, scale: float, *, full: bool) -> str:
    svg = (PUBLIC / "icon.svg").read_text(encoding="utf-8")
    ground, rest = svg.split("/>", 1)
    if full:
        ground = ground.replace(' rx="14"', "")
    inner = rest.removesuffix("</svg>\n").removesuffix("</svg>")
    moved = f'<g transform="translate(48 48) scale({scale}) translate(-48 -48)">{inner}</g></svg>'
    sized = f"{ground}/>{moved}".replace("<svg ", f'<svg width="{size}" height="{size}" ', 1)
    return f"<style>body{{margin:0;background:transparent}}svg{{display:block}}</style>{sized}"


@pytest.mark.parametrize("name", ICONS)
def test_icons_are_our_own_drawing(chromium: Any, name: str) -> None:
    """Each picture is drawn from icon.svg; HULLWRIGHT_WRITE_ICONS writes them anew."""
    size, scale, full = ICONS[name]
    page = chromium.new_page(viewport={"width": size, "height": size})
    try:
        page.set_content(_drawing(size, scale, full=full))
        drawn = page.screenshot(omit_background=True)
    finally:
        page.close()
    if os.environ.get("HULLWRIGHT_WRITE_ICONS"):
        Image.open(io.BytesIO(drawn)).quantize(64).save(PUBLIC / name, optimize=True)
    kept = Image.open(PUBLIC / name)
    assert kept.size == (size, size)
    apart = np.asarray(kept.convert("RGBA"), float) - np.asarray(
        Image.open(io.BytesIO(drawn)).convert("RGBA"), float
    )
    # Tolerance: 64 colours are kept, edges are smoothed a little differently by each version of the browser.
    assert (np.abs(apart).max(axis=2) > 60).mean() <= 0.01
    if full:
        assert kept.convert("RGBA").getpixel((0, 0))[3] == 255, "the ground runs to the edge"  # type: ignore[index]


def test_the_page_can_be_installed(open_page: Callable[..., Any]) -> None:
    """Chromium finds nothing that keeps the page from being installed, and no mistake in the manifest."""
    page = open_page("/plain-house/house")
    page.wait_for_function("async () => (await navigator.serviceWorker.ready).active?.state === 'activated'")
    devtools = page.context.new_cdp_session(page)
    devtools.send("Page.enable")
    found = devtools.send("Page.getAppManifest")
    assert found["errors"] == []
    told = json.loads(found["data"])
    assert {
        "id",
        "name",
        "short_name",
        "start_url",
        "scope",
        "display",
        "icons",
        "theme_color",
    } <= told.keys()
    errors = devtools.send("Page.getInstallabilityErrors")["installabilityErrors"]
    # A window without history keeps nothing: the browser says so of every page there.
    assert [one["errorId"] for one in errors if one["errorId"] != "in-incognito"] == []
    for icon in told["icons"]:
        assert page.evaluate("async u => (await fetch(u)).ok", icon["src"])
    assert (
        page.evaluate("async () => (await fetch('/apple-touch-icon.png')).headers.get('content-type')")
        == "image/png"
    )
