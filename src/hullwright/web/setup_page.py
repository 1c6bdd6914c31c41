"""The set-up page: in clear, read-only, with nothing of any house: how a phone comes to trust the service, and the certificate."""

from __future__ import annotations

import base64
import hashlib
import plistlib
import uuid
from typing import Final

from starlette.types import Receive, Scope, Send

from hullwright.web.lan import Lan
from hullwright.web.setup_words import STYLE, page

CERTIFICATE: Final = "/hullwright-authority.crt"
PROFILE: Final = "/hullwright-authority.mobileconfig"
PAGES: Final = {"/": "", "/en": "en", "/es": "es"}
_POLICY: Final = (
    f"default-src 'none'; style-src 'sha256-{base64.b64encode(hashlib.sha256(STYLE.encode()).digest()).decode()}'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_HEADERS: Final = {
    "cache-control": "no-store",
    "content-security-policy": _POLICY,
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "geolocation=(), microphone=(), camera=()",
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
}
_SPACE: Final = uuid.UUID("0f6c2c8e-5f0f-4d3c-9d61-6d1a3f1f7a55")
"""Names of profiles are made from it: the same authority gives the same profile."""

Answer = tuple[int, str, bytes, dict[str, str]]


class SetupPage:
    """An application of its own beside the service: it knows no house, no person, no cookie.

    Parameters
    ----------
    lan : Lan
    """

    def __init__(self, lan: Lan) -> None:
        self.lan = lan

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request; what it brings along is not read."""
        if scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": 1008})
            return
        headers = {name.lower(): value.decode("latin-1") for name, value in scope["headers"]}
        status, kind, body, more = self._answer(scope["method"], scope["path"], headers)
        told = {**_HEADERS, "content-type": kind, "content-length": str(len(body)), **more}
        if not (headers.get(b"content-length", "0") == "0" and b"transfer-encoding" not in headers):
            told["connection"] = "close"  # the body stays unread
        pairs = [(name.encode(), value.encode()) for name, value in told.items()]
        await send({"type": "http.response.start", "status": status, "headers": pairs})
        await send({"type": "http.response.body", "body": b"" if scope["method"] == "HEAD" else body})

    def _answer(self, method: str, path: str, headers: dict[bytes, str]) -> Answer:
        if headers.get(b"host", "").lower() not in self.lan.setup_hosts:
            return _no(421, "this set-up page does not answer to that name")
        if method not in {"GET", "HEAD"}:
            return _no(405, "this page is only read: nothing is taken in here", {"allow": "GET, HEAD"})
        if path in PAGES:
            language = PAGES[path] or _language(headers.get(b"accept-language", ""))
            text = page(language, self.lan.origin, CERTIFICATE, PROFILE)
            return 200, "text/html; charset=utf-8", text.encode(), {"content-language": language}
        if path == CERTIFICATE:
            return 200, "application/x-x509-ca-cert", self.lan.authority.der, _file(path)
        if path == PROFILE:
            return 200, "application/x-apple-aspen-config", profile(self.lan), _file(path)
        return _no(404, f"there is only the set-up page here; the house is at {self.lan.origin}/")


def _language(wanted: str) -> str:
    return "es" if wanted.strip().lower().startswith("es") else "en"


def _file(path: str) -> dict[str, str]:
    return {"content-disposition": f'attachment; filename="{path.removeprefix("/")}"'}


def _no(status: int, words: str, more: dict[str, str] | None = None) -> Answer:
    return status, "text/plain; charset=utf-8", f"{words}\n".encode(), more or {}


def profile(lan: Lan) -> bytes:
    """Give the certificate as a profile that an iPhone installs.

    Parameters
    ----------
    lan : Lan

    Returns
    -------
    bytes
        A property list; not signed, so the iPhone says so.
    """
    print_ = lan.authority.fingerprint
    inner = str(uuid.uuid5(_SPACE, f"certificate {print_}")).upper()
    outer = str(uuid.uuid5(_SPACE, f"profile {print_}")).upper()
    name = lan.settings.name
    certificate = {
        "PayloadType": "com.apple.security.root",
        "PayloadVersion": 1,
        "PayloadIdentifier": f"hullwright.authority.{inner}",
        "PayloadUUID": inner,
        "PayloadDisplayName": f"hullwright authority for {name}",
        "PayloadCertificateFileName": CERTIFICATE.removeprefix("/"),
        "PayloadContent": lan.authority.der,
    }
    whole = {
        "PayloadType": "Configuration",
        "PayloadVersion": 1,
        "PayloadIdentifier": f"hullwright.profile.{outer}",
        "PayloadUUID": outer,
        "PayloadDisplayName": f"hullwright at {name}",
        "PayloadDescription": f"Lets this phone recognise the service at {name}. It vouches for this name and for private addresses only.",
        "PayloadContent": [certificate],
    }
    return plistlib.dumps(whole)
