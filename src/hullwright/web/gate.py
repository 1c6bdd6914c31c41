"""At the gate, before anything is read: names, pages, sizes; and on the way out: what a browser may do with it."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, Final

from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from hullwright.web.faults import error_json
from hullwright.web.service import Service

MOST: Final = 1_000_000
LARGER: Final = {"/text": 12_000_000, "/value": 12_000_000, "/draft": 12_000_000, "/queue": 60_000_000, "/entries": 32_000_000,
                 "/parts": 2_000_000, "/fantest": 5_000_000, "/leaks": 5_000_000, "/hunt": 5_000_000, "/houses": 12_000_000}  # fmt: skip
"""Most bytes of a body by the end of its path; JSON escapes can double a text."""
SAFE: Final = frozenset({"GET", "HEAD", "OPTIONS"})
POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
HEADERS: Final = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"geolocation=(), microphone=(), camera=(self)"),
)

ONLY_TLS: Final = ((b"strict-transport-security", b"max-age=31536000"),)
"""Only where a request came over TLS: never to localhost, whose page is in clear (RFC 6797, clause 7.2)."""


class _TooLargeError(HTTPException):
    """Raised where a body without a stated length grows too large; FastAPI passes exceptions of this sort on."""

    def __init__(self) -> None:
        super().__init__(413, "too many bytes")


class Gate:
    """Refuses what comes under a foreign name, from a foreign page or in too many bytes.

    Parameters
    ----------
    app : ASGI application
    service : callable
        Gives the service, which knows its names.
    """

    def __init__(self, app: ASGIApp, service: Callable[[], Service]) -> None:
        self.app, self.service = app, service

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {name.lower(): value.decode("latin-1") for name, value in scope["headers"]}
        refusal = self._refusal(scope, headers)
        if refusal:
            await _refuse(send, *refusal)
            return
        secure = scope["scheme"] == "https"
        await self.app(
            scope, _counted(receive, _most(scope["path"])), _signed(send, scope["path"], secure=secure)
        )

    def _refusal(self, scope: Scope, headers: dict[bytes, str]) -> tuple[int, str, str] | None:
        if headers.get(b"host", "").lower() not in self.service().hosts(scope["scheme"]):
            return 421, "misdirected", "this service does not answer to that name"
        length = headers.get(b"content-length", "0")
        if not length.isdecimal():
            return 400, "request", "the length of the body can't be read"
        if int(length) > _most(scope["path"]):
            return 413, "too_large", "too many bytes"
        if scope["method"] in SAFE:
            return None
        origin, site = headers.get(b"origin"), headers.get(b"sec-fetch-site")
        if (origin is not None and origin not in self.service().origins(scope["scheme"])) or site in {
            "cross-site",
            "same-site",
        }:
            return 403, "forbidden", "another page may not write here"
        return None


def _most(path: str) -> int:
    return LARGER.get("/" + path.rstrip("/").rsplit("/", 1)[-1], MOST)


def _counted(receive: Receive, most: int) -> Receive:
    seen = 0

    async def counting() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > most:
            raise _TooLargeError
        return message

    return counting


def _signed(send: Send, path: str, *, secure: bool) -> Send:
    async def signing(message: Message) -> None:
        if message["type"] == "http.response.start":
            extra = [
                *HEADERS,
                *([(b"cache-control", b"no-store")] if path.startswith("/api") else []),
                *(ONLY_TLS if secure else ()),
            ]
            message = {**message, "headers": [*message.get("headers", ()), *extra]}
        await send(message)

    return signing


async def _refuse(send: Send, status: int, kind: str, words: str) -> None:
    body = json.dumps(error_json(kind, words)).encode()
    headers: list[Any] = [
        (b"content-type", b"application/json"),
        (b"content-length", str(len(body)).encode()),
        *HEADERS,
    ]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
