"""People, devices, invitations, audit trail."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from fastapi.responses import JSONResponse

from hullwright.app.access import Visitor
from hullwright.app.qr import svg
from hullwright.web.guard import Running, may
from hullwright.web.models import people as m
from hullwright.web.models.common import Done, Uuid
from hullwright.web.routes.houses import head

router = APIRouter(prefix="/api", tags=["people"])
DeviceId = Annotated[Uuid, Path()]


@router.get("/people", response_model=m.People)
def people(service: Running, visitor: Annotated[Visitor, Depends(may("people"))]) -> Response:
    """List the people who share houses with this lead."""
    keys = ("id", "name", "role", "houses")
    rows = [dict(zip(keys, row, strict=True)) for row in service.access.people(visitor)]
    return JSONResponse(head("people") | {"people": rows})


@router.post("/invitations", response_model=m.Invitation, status_code=201)
def invite(
    sent: m.InvitationAsk,
    request: Request,
    service: Running,
    visitor: Annotated[Visitor, Depends(may("people"))],
) -> Response:
    """Invite a person: the key stands in the fragment of the address, is good once and for ten minutes."""
    for house in sent.houses:
        service.shelf.find(house)
    made = service.access.invite(visitor, sent.name, sent.role, sent.houses)
    page = service.page_for_others(f"{request.url.scheme}://{request.headers['host']}")
    address = f"{page}/#invitation={made.key}"
    service.access.note(visitor, "invite", what=f"{sent.name}, {sent.role}, {', '.join(sent.houses)}")
    answer = {"id": made.id, "address": address, "svg": svg(address), "expires_at": made.expires.isoformat()}
    return JSONResponse(head("invitation") | answer, status_code=201)


@router.get("/devices", response_model=m.Devices)
def devices(service: Running, visitor: Annotated[Visitor, Depends(may("people"))]) -> Response:
    """List the devices of these people; those that wait are confirmed here, by the code that both show."""
    rows = [
        {"id": d.id, "name": d.name, "person": d.person, "person_name": d.person_name, "role": d.role, "state": d.state,
         "check_code": d.check_code, "made_at": d.made_at, "seen_at": d.seen_at, "here": d.id == visitor.device,
         "ready_at": d.ready_at}
        for d in service.access.devices(visitor)
    ]  # fmt: skip
    return JSONResponse(head("devices") | {"devices": rows})


@router.post("/devices/{device}/confirm", response_model=Done)
def confirm(
    device: DeviceId, service: Running, visitor: Annotated[Visitor, Depends(may("people"))]
) -> Response:
    """Let a device in that waits."""
    service.access.set_state(visitor, device, "active")
    service.access.note(visitor, "confirm device", what=device)
    return JSONResponse({"done": True})


@router.delete("/devices/{device}", response_model=Done)
def revoke(
    device: DeviceId, service: Running, visitor: Annotated[Visitor, Depends(may("people"))]
) -> Response:
    """Revoke a device: it reads nothing any more, and what it still sends is kept aside."""
    service.access.set_state(visitor, device, "revoked")
    service.access.note(visitor, "revoke device", what=device)
    return JSONResponse({"done": True})


@router.get("/audit", response_model=m.AuditTrail)
def audit(
    service: Running,
    visitor: Annotated[Visitor, Depends(may("audit"))],
    before: Annotated[int, Query(ge=1, le=2**53)] = 2**53,
    most: Annotated[int, Query(ge=1, le=500)] = 100,
) -> Response:
    """Who did what, the last first."""
    keys = ("number", "time", "person", "device", "action", "house", "what")
    rows = [dict(zip(keys, row, strict=True)) for row in service.access.audit(visitor, before, most)]
    return JSONResponse(head("audit") | {"lines": rows})
