"""Signing in and out."""

from __future__ import annotations

import hmac
import math
from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import JSONResponse

from hullwright.app import shared
from hullwright.app.access import PERMISSIONS, Visitor
from hullwright.app.refusals import ForbiddenError, NotSignedInError
from hullwright.store.access import digest
from hullwright.web.guard import COOKIE_AGE, Asking, Running, cookie_of, may
from hullwright.web.models.common import Done
from hullwright.web.models.people import SeenOffline, Session, SignIn
from hullwright.web.service import Service

router = APIRouter(prefix="/api/session", tags=["session"])


def session_json(visitor: Visitor, service: Service) -> dict[str, object]:
    """Say who is signed in."""
    active = visitor.state == "active"
    houses = [place.id for place in service.shelf.places() if visitor.within(place.id)] if active else []
    return {
        "schema": {"name": "session", "version": 1},
        "state": visitor.state,
        "person": visitor.name,
        "role": visitor.role,
        "device": visitor.device,
        "check_code": visitor.check_code,
        "token": visitor.token,
        "houses": houses,
        "may": [action for action, roles in PERMISSIONS.items() if active and visitor.role in roles],
        "ends_at": visitor.ends_at,
        "cautions": [],
    }


@router.post("", response_model=Session)
def sign_in(sent: SignIn, request: Request, service: Running) -> Response:
    """Sign in with the desk's key, an invitation or a shared link; the session is a cookie that a page can't read."""
    address = request.client.host if request.client else ""
    service.guesses.check(address)
    if hmac.compare_digest(digest(sent.key), service.desk_key):
        token: str | None = service.access.sign_in_desk(sent.device)
    else:
        token = service.access.accept(sent.key, sent.device)
    linked = None
    if token is None:
        try:
            linked = token = shared.enter(
                service.access, sent.key, sent.device, request.cookies.get(cookie_of(request))
            )
        except NotSignedInError:
            service.guesses.wrong(address)
            raise
    if token is None:
        service.guesses.wrong(address)
        raise NotSignedInError("this key opens nothing: it is wrong, was used, or is older than ten minutes")
    visitor = service.access.visitor(token)
    if linked is None:
        service.access.note(visitor, "sign in", what=sent.device)
    answer = JSONResponse(session_json(visitor, service))
    secure = request.url.scheme == "https"
    answer.set_cookie(
        cookie_of(request),
        token,
        max_age=_age(visitor, service),
        httponly=True,
        samesite="strict",
        secure=secure,
        path="/",
    )
    return answer


def _age(visitor: Visitor, service: Service) -> int:
    """Life of the cookie [s]: that of a link ends with it, and the service refuses it then in any case."""
    if not visitor.ends_at:
        return COOKIE_AGE
    return math.ceil((datetime.fromisoformat(visitor.ends_at) - service.access.now()).total_seconds())


@router.get("", response_model=Session)
def who(visitor: Asking, service: Running) -> Response:
    """Say who is signed in here; a device that waits for the desk may ask too."""
    if visitor.state == "revoked":
        visitor.check("session")
    return JSONResponse(session_json(visitor, service))


@router.post("/ready", response_model=Done)
def seen_offline(
    sent: SeenOffline,
    request: Request,
    service: Running,
    visitor: Annotated[Visitor, Depends(may("session"))],
) -> Response:
    """Note that this device came up without signal; only a page over TLS can be kept by a phone."""
    assert sent.seen_offline
    if request.url.scheme != "https":
        raise ForbiddenError("only a page that came over TLS can be ready on a site")
    service.access.set_ready(visitor)
    service.access.note(visitor, "ready without signal")
    return JSONResponse({"done": True})


@router.delete("", response_model=Done)
def sign_out(
    request: Request, service: Running, visitor: Annotated[Visitor, Depends(may("session"))]
) -> Response:
    """End the session of this device; it must have nothing left to send."""
    if visitor.state != "active":
        raise ForbiddenError("only an active session ends here")
    service.access.leave(visitor)
    answer = JSONResponse({"done": True})
    secure = request.url.scheme == "https"
    answer.delete_cookie(cookie_of(request), path="/", httponly=True, samesite="strict", secure=secure)
    return answer
