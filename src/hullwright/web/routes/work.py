"""Plans, curves and leaks as jobs; their answers; decisions; orders."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncGenerator, Mapping
from typing import Annotated, Any, Final

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import FileResponse, JSONResponse, StreamingResponse

from hullwright.app.days import days
from hullwright.app.decide import keep, undo
from hullwright.app.jobs import OPEN, Job
from hullwright.app.plan_before import labels_today
from hullwright.app.refusals import ForbiddenError, NotSignedInError, UnknownError
from hullwright.app.weigh import Labels, alternatives, at_budget, changes
from hullwright.store.database import Store
from hullwright.store.entries import highest
from hullwright.web.guard import At, at, visitor_of
from hullwright.web.models import work as m
from hullwright.web.models.common import Hash, Uuid
from hullwright.web.models.house import Saved
from hullwright.web.routes.houses import based, saved

router = APIRouter(prefix="/api/houses/{house}", tags=["plan"])
TICK: Final = 0.2
"""Seconds between looks at a job that is watched."""
QUIET: Final = 15.0
"""Seconds after which a watched job says that it is still there."""
RunId = Annotated[str, Path(max_length=200)]
JobId = Annotated[Uuid, Path()]
OfJob = Annotated[Uuid | None, Query(description="of this work; left out: of the last one")]
PLAN: Final = at("plan.read")


def _start(here: At, kind: str, ask: Mapping[str, Any]) -> Response:
    job = here.service.jobs.ask(here.place, kind, ask)
    here.note(f"ask for {kind}", job.id)
    return JSONResponse(job.to_json(), status_code=202)


def _answer(here: At, kind: str, job: str | None) -> tuple[Job, dict[str, Any]]:
    if job is None:
        return here.service.jobs.result(here.place.id, kind)
    found, answer = here.service.jobs.answer(here.place.id, job)
    if found.kind != kind:
        raise UnknownError(f"this work is no {kind}")
    return found, answer


def _marked(here: At, job: Job, answer: dict[str, Any]) -> Response:
    """Say with an answer which file it is for, and whether that is still the one on disk."""
    stale = here.service.shelf.text(here.place).hash != job.hash
    return JSONResponse(answer | {"hash": job.hash, "job": job.id, "stale": stale})


def _labels(here: At) -> tuple[Job, Labels]:
    """Method and label by run of the last plan."""
    found, _ = _answer(here, "plan", None)
    return found, _labels_of(here, found)


def _labels_of(here: At, plan: Job) -> Labels:
    labels = {run: (one[0], one[1]) for run, one in here.service.jobs.kept(plan)["labels"].items()}
    return labels_today(labels, here.service.jobs.house(plan))


@router.post("/plan", response_model=m.Job, status_code=202)
def make_plan(sent: m.PlanAsk, here: Annotated[At, Depends(at("plan.make"))]) -> Response:
    """Ask for a plan; the same question on the same file is not worked out twice."""
    return _start(here, "plan", sent.model_dump(exclude_none=True))


@router.get("/plan", response_model=m.Plan)
def get_plan(here: Annotated[At, Depends(PLAN)], job: OfJob = None) -> Response:
    """Give the last plan, or that of a work."""
    return _marked(here, *_answer(here, "plan", job))


@router.get("/changes", response_model=m.Changes)
def get_changes(here: Annotated[At, Depends(PLAN)]) -> Response:
    """Give what the last plan does otherwise than the one before it."""
    jobs = here.service.jobs
    last, now = jobs.result(here.place.id, "plan")
    former = jobs.before(last)
    before = now if former is None else jobs.answer(here.place.id, former.id)[1]
    named = {"job": last.id, "before": None if former is None else former.id}
    return JSONResponse(changes(before, now) | named)


@router.get("/order", response_model=m.Order)
def get_order(here: Annotated[At, Depends(PLAN)], job: OfJob = None) -> Response:
    """Give what to buy for the last plan, or that of a work."""
    found, _ = _answer(here, "plan", job)
    return _marked(here, found, here.service.jobs.kept(found)["order"])


@router.get("/days", response_model=m.Days)
def get_days(here: Annotated[At, Depends(PLAN)], job: OfJob = None) -> Response:
    """Give the last plan, or that of a work, in the order of work: hours by stage, face and method."""
    found, plan = _answer(here, "plan", job)
    house = here.service.jobs.house(found)
    entries = here.service.log(here.place.id).standing()
    return _marked(here, found, days(plan, house, entries))


@router.post("/curve", response_model=m.Job, status_code=202)
def make_curve(sent: m.CurveAsk, here: Annotated[At, Depends(at("plan.make"))]) -> Response:
    """Ask for the curve; it knows the last plan where that is of the file as it stands."""
    ask = sent.model_dump()
    try:
        job, labels = _labels(here)
        tried = bool(job.ask.get("fixed"))
        if job.hash == here.service.shelf.text(here.place).hash and not tried:
            ask["labels"] = labels
    except UnknownError:
        pass  # no plan yet: the curve stands by itself
    return _start(here, "curve", json.loads(json.dumps(ask)))


@router.get("/curve", response_model=m.Curve)
def get_curve(here: Annotated[At, Depends(PLAN)], job: OfJob = None) -> Response:
    """Give the last curve, or that of a work."""
    return _marked(here, *_answer(here, "curve", job))


@router.post("/prices", response_model=m.Job, status_code=202)
def make_prices(here: Annotated[At, Depends(at("plan.make"))]) -> Response:
    """Ask what each decision of the file costs in the last plan, which must be of the file as it stands."""
    job, labels = _labels(here)
    if job.hash != here.service.shelf.text(here.place).hash or job.ask.get("fixed"):
        raise UnknownError("no plan was made for this file yet")
    return _start(here, "prices", json.loads(json.dumps({"labels": labels})))


@router.get("/prices", response_model=m.Prices)
def get_prices(here: Annotated[At, Depends(PLAN)], job: OfJob = None) -> Response:
    """Give what each decision costs, as last asked for, or that of a work."""
    return _marked(here, *_answer(here, "prices", job))


@router.get("/slider", response_model=m.Slider)
def slider(budget: Annotated[float, Query(ge=0, le=1e12)], here: Annotated[At, Depends(PLAN)]) -> Response:
    """Give the best plan of the last curve that a budget pays for, and which runs it changes."""
    job, curve = _answer(here, "curve", None)
    plan = labels = None
    try:
        made, answer = _answer(here, "plan", None)
        labels = _labels_of(here, made)
        if made.hash == job.hash and not made.ask.get("fixed"):
            plan = answer
    except UnknownError:
        pass  # no plan yet: nothing changes against it
    found = at_budget(here.service.jobs.kept(job), budget, labels, plan)
    return JSONResponse(found | {"hash": job.hash, "currency": curve["currency"]})


@router.get("/runs/{run:path}/alternatives", response_model=m.Alternatives)
def get_alternatives(run: RunId, here: Annotated[At, Depends(PLAN)], job: OfJob = None) -> Response:
    """Give every allowed option of a run with what it would change in the plan at hand, and the barred ones."""
    _, plan = _answer(here, "plan", job)
    question, digest = here.service.questions.of(here.place)
    return JSONResponse(alternatives(question, plan, run) | {"hash": digest})


@router.put("/runs/{run:path}/decision", response_model=Saved)
def put_decision(
    run: RunId, sent: m.Fixed, based_on: Annotated[Hash, Query()], here: Annotated[At, Depends(at("decide"))]
) -> Response:
    """Keep: write a decision on a run into the building file."""
    text = based(here, based_on)
    house, _ = here.service.shelf.house(here.place)
    return saved(
        here,
        keep(house, text.text, run, **sent.model_dump()),
        based_on,
        "keep",
        f"{run}: {sent.method}",
    )


@router.delete("/runs/{run:path}/decision", response_model=Saved)
def drop_decision(
    run: RunId, based_on: Annotated[Hash, Query()], here: Annotated[At, Depends(at("decide"))]
) -> Response:
    """Undo: take the decision on a run out of the building file."""
    text = based(here, based_on)
    house, _ = here.service.shelf.house(here.place)
    return saved(here, undo(house, text.text, run), based_on, "undo", run)


@router.post("/leaks", response_model=m.Job, status_code=202)
def make_leaks(sent: m.LeaksAsk, here: Annotated[At, Depends(at("leaks.make"))]) -> Response:
    """Ask where the leakage is, before or after a test."""
    return _start(here, "leaks", sent.model_dump(exclude_none=True))


@router.get("/leaks", response_model=m.Leaks)
def get_leaks(here: Annotated[At, Depends(PLAN)], job: OfJob = None) -> Response:
    """Give the last answer, or that of a work."""
    return _marked(here, *_answer(here, "leaks", job))


@router.post("/hunt", response_model=m.Job, status_code=202)
def make_hunt(sent: m.LeaksAsk, here: Annotated[At, Depends(at("leaks.make"))]) -> Response:
    """Ask for the walk that finds most leakage per minute, from a test and what was found so far."""
    return _start(here, "hunt", sent.model_dump(exclude_none=True))


@router.get("/hunt", response_model=m.Hunt)
def get_hunt(here: Annotated[At, Depends(PLAN)], job: OfJob = None) -> Response:
    """Give the last walk, or that of a work."""
    return _marked(here, *_answer(here, "hunt", job))


@router.post("/book", response_model=m.Job, status_code=202)
def make_book(here: Annotated[At, Depends(at("plan.make"))]) -> Response:
    """Ask for the book of a house: the folder of its plan, the continuity report and the record as one zip file."""
    service = here.service
    with Store(service.store) as store:
        ask: dict[str, Any] = {"log": highest(store)}
    try:
        job, _ = _answer(here, "plan", None)
        if job.hash == service.shelf.text(here.place).hash:
            ask |= {
                key: job.ask[key] for key in ("budget", "target", "confidence", "quick") if key in job.ask
            }
    except UnknownError:
        pass  # no plan yet: it is made for the book
    return _start(here, "book", ask)


@router.get("/book", response_model=m.Book)
def get_book(here: Annotated[At, Depends(at("log.read"))], job: OfJob = None) -> Response:
    """Say what is in the last book, or that of a work."""
    return _marked(here, *_answer(here, "book", job))


@router.get(
    "/book/{job}/file",
    response_class=FileResponse,
    responses={200: {"content": {"application/zip": {"schema": {"type": "string", "format": "binary"}}}}},
)
def get_book_file(job: JobId, here: Annotated[At, Depends(at("log.read"))]) -> Response:
    """Give a book as a zip file."""
    path = here.service.jobs.book(here.place.id, job)
    return FileResponse(path, media_type="application/zip", filename=f"{here.place.id}-book.zip")


@router.get("/jobs", response_model=m.Jobs)
def list_jobs(here: Annotated[At, Depends(PLAN)]) -> Response:
    """List the long works of a house, the last first."""
    jobs = [job.to_json() for job in here.service.jobs.of(here.place.id)]
    return JSONResponse({"schema": {"name": "jobs", "version": 1}, "jobs": jobs, "cautions": []})


@router.get("/jobs/{job}", response_model=m.Job)
def get_job(job: JobId, here: Annotated[At, Depends(PLAN)]) -> Response:
    """Say how far a long work is."""
    return JSONResponse(here.service.jobs.get(here.place.id, job).to_json())


@router.delete("/jobs/{job}", response_model=m.Job)
def stop_job(job: JobId, here: Annotated[At, Depends(at("plan.make"))]) -> Response:
    """Stop a long work; a plan keeps the best found so far."""
    found = here.service.jobs.stop(here.place.id, job)
    here.note(f"stop {found.kind}", job)
    return JSONResponse(found.to_json())


@router.get(
    "/jobs/{job}/events",
    response_class=StreamingResponse,
    responses={200: {"content": {"text/event-stream": {"schema": {"$ref": "#/components/schemas/Job"}}}}},
)
def watch_job(job: JobId, request: Request, here: Annotated[At, Depends(PLAN)]) -> Response:
    """Tell how far a long work is, as server-sent events named `job`, until it ends."""
    found = here.service.jobs.get(here.place.id, job)
    return StreamingResponse(_events(found, request, here), media_type="text/event-stream")


def _still_in(request: Request, here: At) -> bool:
    """Whether who watches may still look: a session can end meanwhile."""
    try:
        visitor_of(request, here.service).check("plan.read", here.place.id)
    except (NotSignedInError, ForbiddenError, UnknownError):
        return False
    return True


async def _events(job: Job, request: Request, here: At) -> AsyncGenerator[str]:
    last, quiet = "", 0.0
    while not await request.is_disconnected() and await run_in_threadpool(_still_in, request, here):
        state = job.state
        line = json.dumps(job.to_json())
        if line != last:
            yield f"event: job\ndata: {line}\n\n"
            last, quiet = line, 0.0
        if state not in OPEN:
            return
        await asyncio.sleep(TICK)
        quiet += TICK
        if quiet >= QUIET:
            yield ": still there\n\n"
            quiet = 0.0
