"""Who asks, and may they: the session of a request, its write token, its house."""

from __future__ import annotations

import hmac
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Final

from fastapi import Depends, Path, Request

from hullwright.app.access import PERMISSIONS, Visitor
from hullwright.app.refusals import ForbiddenError
from hullwright.app.shelf import Place
from hullwright.web.gate import SAFE
from hullwright.web.service import Service

COOKIE: Final = "hullwright_session"
TOKEN: Final = "x-hullwright-token"  # noqa: S105 - name of a header, not a secret
COOKIE_AGE: Final = 180 * 24 * 3600

HouseId = Annotated[str, Path(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=60)]


def cookie_of(request: Request) -> str:
    """Name the cookie: over TLS by a prefix that browsers take from this very host only."""
    return f"__Host-{COOKIE}" if request.url.scheme == "https" else COOKIE


def service_of(request: Request) -> Service:
    """Give the running service."""
    service: Service = request.app.state.service
    return service


Running = Annotated[Service, Depends(service_of)]


def visitor_of(request: Request, service: Running) -> Visitor:
    """Say who asks; a write needs its token too.

    Raises
    ------
    NotSignedInError, ForbiddenError
    """
    visitor = service.access.visitor(request.cookies.get(cookie_of(request)))
    if request.method not in SAFE:
        sent = request.headers.get(TOKEN, "")
        if not hmac.compare_digest(sent.encode("utf-8", errors="replace"), visitor.token.encode()):
            raise ForbiddenError("the write token is missing or wrong: read the session again")
    return visitor


Asking = Annotated[Visitor, Depends(visitor_of)]


@dataclass(frozen=True, slots=True)
class At:
    """A house, and who asks for it.

    Parameters
    ----------
    place : Place
    visitor : Visitor
    service : Service
    """

    place: Place
    visitor: Visitor
    service: Service

    def note(self, action: str, what: str = "") -> None:
        """Write a line of the audit trail."""
        self.service.access.note(self.visitor, action, self.place.id, what)


def may(action: str) -> Callable[..., Visitor]:
    """Make a dependency that lets only those through who may do an action."""
    assert action in PERMISSIONS, action

    def check(visitor: Asking) -> Visitor:
        visitor.check(action)
        return visitor

    check.action = action  # type: ignore[attr-defined]  # read by the test of the permission table
    return check


def at(action: str) -> Callable[..., At]:
    """Make a dependency that gives the house to those who are in it and may do an action."""
    assert action in PERMISSIONS, action

    def check(house: HouseId, visitor: Asking, service: Running) -> At:
        visitor.check(action, house)
        return At(service.shelf.find(house), visitor, service)

    check.action = action  # type: ignore[attr-defined]  # read by the test of the permission table
    return check
