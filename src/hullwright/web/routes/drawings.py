"""The issued drawings of a house: the lead issues, everybody sees what changed."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any, Final

from fastapi import APIRouter, Depends, Response
from fastapi.responses import JSONResponse

from hullwright.app.issue import Paper, first_issue, issue, revision_number
from hullwright.app.revisions import revisions
from hullwright.errors import InputError
from hullwright.web.guard import At, at
from hullwright.web.models import drawing as m

router = APIRouter(prefix="/api/houses/{house}", tags=["drawing"])
_ON_THIS_MACHINE: Final = frozenset({"store", "house"})


def paper(here: At) -> Paper:
    """Give the building file as it stands.

    Raises
    ------
    BuildingFileError
        Where it can't be used.
    """
    shelf, place = here.service.shelf, here.place
    text = shelf.text(place)
    return Paper(shelf.known(place.id, text.hash, text.text, place.path.name), text.text)


def first_drawing(here: At) -> None:
    """Issue the first drawing with the first entry; a file that can't be used now keeps no entry from being stored."""
    service, log = here.service, here.service.log(here.place.id)
    try:
        if revision_number(log):
            return
        paper(here)
        service.shelf.ink(here.place)
        made = first_issue(
            log, paper(here), author=here.visitor.name, plan=service.jobs.plan_file(here.place.id)
        )
    except InputError:
        return
    if made is not None:
        here.note("issue", "revision 1, with the first entry")


@router.get("/revisions", response_model=m.Revisions)
def get_revisions(here: Annotated[At, Depends(at("log.read"))]) -> Response:
    """List the issued drawings and what each changed, and whether the file differs from the last."""
    try:
        what = paper(here)
    except InputError:
        what = None  # what was issued is shown, whatever became of the file
    return _plain(revisions(here.service.log(here.place.id), what).to_json())


@router.post(
    "/revisions",
    response_model=m.Issue,
    status_code=201,
    responses={
        200: {"model": m.Issue, "description": "Nothing changed since the last drawing, which still stands"}
    },
)
def post_revision(sent: m.IssueAsk, here: Annotated[At, Depends(at("drawing.issue"))]) -> Response:
    """Issue the file as it stands as the next drawing; nothing is issued where nothing changed."""
    log, plan = here.service.log(here.place.id), here.service.jobs.plan_file(here.place.id)
    paper(here)
    ink = here.service.shelf.ink(here.place)
    answer = issue(log, paper(here), author=here.visitor.name, reason=sent.reason, plan=plan)
    answer = replace(answer, ink=ink)
    if answer.new:
        here.note("issue", f"revision {answer.issued.number}: {sent.reason}")
    return _plain(answer.to_json(), 201 if answer.new else 200)


def _plain(answer: dict[str, Any], status: int = 200) -> Response:
    """An answer without the place of the store on this machine's disk."""
    return JSONResponse({k: v for k, v in answer.items() if k not in _ON_THIS_MACHINE}, status_code=status)
