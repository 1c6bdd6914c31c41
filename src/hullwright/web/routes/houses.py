"""Houses, their files, their joints and geometry."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Query, Response
from fastapi.responses import JSONResponse

from hullwright.app.access import Visitor
from hullwright.app.decide import decisions
from hullwright.app.edit import change, remove
from hullwright.app.house import House
from hullwright.app.house import check as check_house
from hullwright.app.house import joints as house_joints
from hullwright.app.issue import Paper, differs, issued
from hullwright.app.issued_geometry import drawn_geometry
from hullwright.app.refusals import ChangedError
from hullwright.app.shelf import Text
from hullwright.errors import InputError, Problem, Where
from hullwright.web.guard import At, Running, at, may
from hullwright.web.models import house as m

router = APIRouter(prefix="/api/houses", tags=["houses"])
DraftName = Annotated[str, Path(pattern=r"^(building|fantest|findings)$")]


def head(name: str) -> dict[str, Any]:
    """Start of an answer."""
    return {"schema": {"name": name, "version": 1}, "cautions": []}


@router.get("", response_model=m.Houses)
def list_houses(service: Running, visitor: Annotated[Visitor, Depends(may("houses.list"))]) -> Response:
    """List the houses that this person is in."""
    shelf = service.shelf
    houses = [
        {
            "id": p.id,
            "file": p.path.name,
            "example": p.example,
            "draft": shelf.draft(p.id, "building") is not None,
        }
        for p in shelf.places()
        if visitor.within(p.id)
    ]
    return JSONResponse(head("houses") | {"folder": shelf.folder.name, "houses": houses})


@router.post("", response_model=m.House, status_code=201)
def new_house(
    sent: m.HouseNew, service: Running, visitor: Annotated[Visitor, Depends(may("houses.new"))]
) -> Response:
    """Make a house from a text or as a copy; a text with problems is kept as a draft."""
    if (sent.text is None) == (sent.copy_of is None):
        raise InputError(
            "a new house needs a text or a house to copy", [Problem("one of the two", Where(key="text"))]
        )
    visitor.check("houses.new", sent.name)
    if sent.copy_of is not None:
        visitor.check("house.read", sent.copy_of)
    shelf = service.shelf
    text = sent.text if sent.copy_of is None else shelf.text(shelf.find(sent.copy_of)).text
    place = shelf.new(sent.name, text or "")
    service.access.note(visitor, "new house", place.id)
    return JSONResponse(_house(At(place, visitor, service)), status_code=201)


@router.get("/{house}", response_model=m.House)
def house(here: Annotated[At, Depends(at("house.read"))]) -> Response:
    """Give a house and the text of its file; where the file is wrong, the problems stand beside it."""
    return JSONResponse(_house(here))


def _house(here: At) -> dict[str, Any]:
    shelf, place = here.service.shelf, here.place
    text = shelf.text(place)
    answer = head("house") | {
        "id": place.id, "file": place.path.name, "example": place.example, "text": text.text, "hash": text.hash,
        "draft": shelf.draft(place.id, "building"), "name": place.id, "system": "metric", "currency": "",
        "assumed": [], "fixed": [], "aim": {}, "problems": [], "revision": 0, "drawing_differs": False,
    }  # fmt: skip
    row = issued(here.service.log(place.id))
    answer["revision"] = row[-1].number if row else 0
    try:
        found, _ = shelf.house(place)
    except InputError as error:
        return answer | {"problems": [problem.to_json() for problem in error.problems]}
    building = found.building
    aim = {"budget": None if building.aim.budget == float("inf") else building.aim.budget,
           "target_ach50": building.aim.target_ach50, "confidence": building.aim.confidence}  # fmt: skip
    stated = {"name": building.name, "system": building.system, "currency": building.currency}
    changed = {"drawing_differs": differs(row, Paper(found, text.text)) is not None}
    return (
        answer | stated | changed | {"assumed": list(building.assumed), "fixed": decisions(found), "aim": aim}
    )


def saved(here: At, text: str, based_on: str, action: str, what: str = "") -> Response:
    """Write the file, note it, and give what is on disk now."""
    now = here.service.shelf.put(here.place, text, based_on)
    here.note(action, what)
    return JSONResponse(head("saved") | {"text": now.text, "hash": now.hash})


def based(here: At, based_on: str) -> Text:
    """Give the text on disk if it is the one that was changed.

    Raises
    ------
    ChangedError
    """
    text = here.service.shelf.text(here.place)
    if text.hash != based_on:
        problem = Problem("another version is on disk", got=text.hash, allowed=based_on, hint="read it again")
        raise ChangedError("the building file changed on disk since it was read", [problem])
    return text


@router.put("/{house}/text", response_model=m.Saved)
def put_text(sent: m.TextPut, here: Annotated[At, Depends(at("house.write"))]) -> Response:
    """Replace the whole text; refused where the file changed meanwhile or the text is wrong, and kept as a draft then."""
    return saved(here, sent.text, sent.based_on, "edit text")


@router.patch("/{house}/value", response_model=m.Saved)
def patch_value(sent: m.ValuePatch, here: Annotated[At, Depends(at("house.write"))]) -> Response:
    """Change or remove one value; comments, order and every other character of the file stay."""
    text, name = based(here, sent.based_on), here.place.path.name
    if sent.remove:
        new = remove(text.text, sent.key, file=name)
    else:
        new = change(text.text, sent.key, sent.value, file=name)
    return saved(here, new, sent.based_on, "edit value", sent.key)


@router.get("/{house}/drafts/{name}/draft", response_model=m.Draft)
def get_draft(name: DraftName, here: Annotated[At, Depends(at("house.read"))]) -> Response:
    """Give a kept text."""
    return JSONResponse(head("draft") | {"text": here.service.shelf.draft(here.place.id, name)})


@router.put("/{house}/drafts/{name}/draft", response_model=m.Draft)
def put_draft(sent: m.DraftPut, name: DraftName, here: Annotated[At, Depends(at("house.write"))]) -> Response:
    """Keep a text as it is typed, right or wrong; an empty one is forgotten."""
    shelf = here.service.shelf
    if sent.text:
        shelf.keep_draft(here.place.id, name, sent.text)
    else:
        shelf.drop_draft(here.place.id, name)
    return JSONResponse(head("draft") | {"text": sent.text or None})


@router.get("/{house}/check", response_model=m.Check)
def check(here: Annotated[At, Depends(at("house.read"))]) -> Response:
    """Is the hull closed, and what are its faces."""
    found, digest = here.service.shelf.house(here.place)
    return JSONResponse(check_house(found).to_json() | {"hash": digest})


@router.get("/{house}/joints", response_model=m.Joints)
def joints(here: Annotated[At, Depends(at("house.read"))]) -> Response:
    """Every joint, by kind and place."""
    found, digest = here.service.shelf.house(here.place)
    return JSONResponse(house_joints(found).to_json() | {"hash": digest})


@router.get("/{house}/geometry", response_model=m.Geometry)
def get_geometry(
    here: Annotated[At, Depends(at("house.read"))],
    *,
    issued_last: Annotated[
        bool,
        Query(
            alias="issued", description="the drawing that was issued last, in place of the file as it stands"
        ),
    ] = False,
) -> Response:
    """Everything that is drawn: unrolled layout, solid, joints as columns, patches that revisions left."""
    shelf, place = here.service.shelf, here.place
    found, digest = shelf.house(place)

    def opened(digest: str, text: str) -> House:
        return shelf.known(place.id, digest, text, place.path.name)

    log = here.service.log(place.id)
    return JSONResponse(drawn_geometry(log, found, digest, opened if issued_last else None))
