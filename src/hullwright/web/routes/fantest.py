"""The fan test: readings in, answer out; limits; the list of the day."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Response
from fastapi.responses import JSONResponse

from hullwright.app.access import Visitor
from hullwright.app.fantest import limit_list
from hullwright.app.readings import analyse_text, day_steps
from hullwright.web.guard import At, at, may
from hullwright.web.models import house as h
from hullwright.web.models import work as m
from hullwright.web.models.common import Answer
from hullwright.web.routes.houses import head

router = APIRouter(prefix="/api", tags=["fan test"])


@router.post("/fantest", response_model=m.FanTest)
def fantest(sent: m.FanTestAsk, _: Annotated[Visitor, Depends(may("test.read"))]) -> Response:
    """Say what a fan test says; nothing is kept."""
    found = analyse_text(sent.text, f"readings.{sent.format}", against=sent.against)
    return JSONResponse(found.to_json() | {"plot": found.plot() if sent.plot else None})


@router.get("/limits", response_model=Answer)
def limits(_: Annotated[Visitor, Depends(may("test.read"))]) -> Response:
    """List the limits that are known by id (`limits`)."""
    return JSONResponse(head("limits") | {"limits": limit_list()})


@router.get("/houses/{house}/testday", response_model=h.TestDay)
def testday(here: Annotated[At, Depends(at("house.read"))]) -> Response:
    """Give what must be so before the fan starts, while it runs, and after."""
    found, _ = here.service.shelf.house(here.place)
    return JSONResponse(head("testday") | {"steps": day_steps(found)})
