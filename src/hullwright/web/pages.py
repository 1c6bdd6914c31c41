"""The built front end as files, and what stands there where it was not built."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from fastapi import FastAPI, Response
from fastapi.responses import FileResponse, HTMLResponse

from hullwright.app.refusals import UnknownError

STATIC: Final = Path(__file__).parent / "static"
TYPES: Final = {
    ".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8",
    ".json": "application/json", ".webmanifest": "application/manifest+json", ".svg": "image/svg+xml", ".png": "image/png",
    ".woff2": "font/woff2", ".ico": "image/x-icon", ".txt": "text/plain; charset=utf-8", ".map": "application/json",
}  # fmt: skip
MISSING: Final = """<!doctype html><html lang="en"><meta charset="utf-8"><title>hullwright</title>
<h1>The page is not built yet</h1>
<p>The service runs. Build the page once, then load this address again:</p>
<pre>cd web
npm ci
npm run build</pre>
<p>The service is described at <a href="/api/openapi.json">/api/openapi.json</a>.</p></html>
"""


def install(app: FastAPI, root: Path = STATIC) -> None:
    """Serve the front end.

    Parameters
    ----------
    app : FastAPI
    root : Path
        Folder of the built page; its ``index.html`` answers at ``/``.
    """

    @app.get("/", include_in_schema=False)
    @app.get("/{path:path}", include_in_schema=False)
    def page(path: str = "") -> Response:
        if path.startswith("api/") or path == "api":
            raise UnknownError("there is no such address")
        if not (root / "index.html").is_file():
            return HTMLResponse(MISSING) if path in {"", "index.html"} else _none()
        file = _file(root, path or "index.html")
        return _none() if file is None else _given(file, path)


def _file(root: Path, path: str) -> Path | None:
    """Give the file of a path inside the folder; nothing outside, no hidden file, no link."""
    parts = path.split("/")
    if any(part in {"", ".", ".."} or part.startswith(".") or "\\" in part or "\0" in part for part in parts):
        return None
    file = root.joinpath(*parts)
    inside = file.is_file() and file.resolve().is_relative_to(root.resolve())
    return file if inside and file.suffix in TYPES else None


def _given(file: Path, path: str) -> Response:
    # Names under assets/ carry a hash of their content; the worker and the page itself are asked for anew each time.
    lasting = path.startswith("assets/")
    headers = {"cache-control": "public, max-age=31536000, immutable" if lasting else "no-cache"}
    if file.name in {"sw.js", "service-worker.js"}:
        headers["service-worker-allowed"] = "/"
    return FileResponse(file, media_type=TYPES[file.suffix], headers=headers)


def _none() -> Response:
    raise UnknownError("there is no such address")
