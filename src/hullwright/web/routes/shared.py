"""Links to one house that only look and that end; opening one is signing in (see `session`)."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Path, Request, Response
from fastapi.responses import JSONResponse

from hullwright.app import shared
from hullwright.app.qr import svg
from hullwright.web.guard import At, at
from hullwright.web.models import shared as m
from hullwright.web.models.common import Done, Uuid
from hullwright.web.routes.houses import head

router = APIRouter(prefix="/api/houses/{house}/links", tags=["links"])


@router.post("", response_model=m.LinkMade, status_code=201)
def make_link(sent: m.LinkAsk, request: Request, here: Annotated[At, Depends(at("people"))]) -> Response:
    """Make a link: it opens this house to look only, on several devices, until its end; its key stands in the fragment."""
    service = here.service
    made = shared.make(service.access, here.visitor, here.place.id, sent.name, sent.days)
    page = service.page_for_others(f"{request.url.scheme}://{request.headers['host']}")
    address = f"{page}/#link={made.key}"
    answer = {"id": made.id, "address": address, "svg": svg(address), "ends_at": made.ends.isoformat()}
    return JSONResponse(head("link") | answer, status_code=201)


@router.get("", response_model=m.Links)
def list_links(here: Annotated[At, Depends(at("people"))]) -> Response:
    """List the links of this house, with end and uses; never a key."""
    rows = shared.listed(here.service.access, here.visitor, here.place.id)
    return JSONResponse(head("links") | {"links": rows})


@router.delete("/{link}", response_model=Done)
def take_link_back(link: Annotated[Uuid, Path()], here: Annotated[At, Depends(at("people"))]) -> Response:
    """Take a link back: it opens nothing more, and every session that it opened ends at once."""
    shared.take_back(here.service.access, here.visitor, here.place.id, link.lower())
    return JSONResponse({"done": True})
