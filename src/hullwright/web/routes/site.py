"""The log of a house: what phones send, what it says."""

from __future__ import annotations

from typing import Annotated, Any, Final

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import JSONResponse

from hullwright.app import picture, proof
from hullwright.app.access import MOST_ASIDE
from hullwright.app.log import Listing, list_log
from hullwright.app.ready_words import ready_json
from hullwright.app.refusals import RevokedError
from hullwright.app.review import reasons, sheets_of
from hullwright.app.said_places import said_places
from hullwright.app.sending import Receipt, Sender, say_taken, send
from hullwright.app.sofar import so_far
from hullwright.app.spoken import face_names, joint_names, spoken
from hullwright.app.tags import tags
from hullwright.catalog import Catalog
from hullwright.errors import HullwrightError, InputError, Problem, Where
from hullwright.store.database import Store
from hullwright.store.entries import highest
from hullwright.web.guard import Asking, At, HouseId, Running, at
from hullwright.web.models import site as m
from hullwright.web.routes.drawings import first_drawing
from hullwright.web.routes.houses import head

router = APIRouter(prefix="/api/houses/{house}", tags=["site"])
FaceId = Annotated[str, Path(max_length=200)]
JointId = Annotated[str, Path(max_length=200)]
Sha = Annotated[str, Path(pattern=r"^[0-9a-f]{64}$")]
READ: Final = at("log.read")


def sender_at(house: HouseId, visitor: Asking, service: Running) -> At:
    """Let those through who may send; what a revoked device sends is kept aside by the route."""
    if visitor.state != "revoked":
        visitor.check("log.add", house)
    elif not visitor.within(house):
        visitor.check("log.add")
    return At(service.shelf.find(house), visitor, service)


sender_at.action = "log.add"  # type: ignore[attr-defined]  # read by the test of the permission table


@router.post("/entries", response_model=m.Receipts)
def post_entries(sent: m.Batch, here: Annotated[At, Depends(sender_at)]) -> Response:
    """Take in a device's queue: each entry is stored once, or refused by itself with the reason."""
    visitor, service = here.visitor, here.service
    bodies = [(one.id, one.body) for one in sent.entries]
    if visitor.state == "revoked":
        now = service.access.now().isoformat()
        kept = service.access.store.put_aside(here.place.id, visitor.device, bodies, now, most=MOST_ASIDE)
        here.note("kept aside", f"{kept} entries of a revoked device")
        raise RevokedError("this device was revoked")
    sender = Sender(visitor.role, visitor.name, visitor.device)
    log = service.log(here.place.id)
    receipts, top = send(log, bodies, sender, device_now=sent.device_now, sheets=lambda: _sheets(here))
    if any(receipt.status != "refused" for receipt in receipts):
        first_drawing(here)
        _say_taken(here, bodies, receipts)
    if visitor.role == "trade":  # marks a hole and sees nothing else
        top = 0
    return JSONResponse(head("receipts") | {"receipts": [r.to_json() for r in receipts], "highest": top})


def _say_taken(here: At, bodies: list[tuple[str, str]], receipts: list[Receipt]) -> None:
    """Say on the receipts what was left out; a file that can't be used just now keeps nothing from being stored."""
    service, place = here.service, here.place
    try:
        house, _ = service.shelf.house(place)
        say_taken(service.log(place.id), house, bodies, receipts, service.jobs.plan_file(place.id))
    except HullwrightError:
        return


def _sheets(here: At) -> Catalog | None:
    """Give the product sheets of the house; None where its file can't be used just now: nothing is refused for that."""
    try:
        house, _ = here.service.shelf.house(here.place)
    except HullwrightError:
        return None
    return sheets_of(house)


def _held(here: At, listing: Listing) -> dict[str, list[str]]:
    """Say which listed entries are held for review, and why."""
    try:
        house, _ = here.service.shelf.house(here.place)
    except HullwrightError:
        return {name: list(why) for name, why in listing.held.items()}
    return {name: list(why) for name, why in reasons(listing.entries, house).items()}


@router.get("/entries", response_model=m.Entries)
def get_entries(
    here: Annotated[At, Depends(READ)],
    *,
    joint: Annotated[str, Query(max_length=200)] = "",
    face: Annotated[str, Query(max_length=200)] = "",
    kind: Annotated[str, Query(max_length=200)] = "",
    after: Annotated[
        int, Query(ge=0, description="only those with a higher number: what a device has not seen")
    ] = 0,
    history: Annotated[bool, Query(description="corrected and withdrawn ones too")] = False,
) -> Response:
    """Give entries, by joint, face or kind."""
    log = here.service.log(here.place.id)
    joints, faces = _names(here, joint, face)
    found = list_log(log, kind=kind, joint=joints, face=faces, history=history)
    listing, held = found.to_json(), _held(here, found)
    with Store(log.path) as store:
        top = highest(store)
    entries = [entry for entry in listing["entries"] if entry["number"] > after]
    shown = {entry["id"] for entry in entries}
    return JSONResponse(
        head("entries")
        | {"entries": entries, "rivals": listing["rivals"], "highest": top}
        | {"held": {name: why for name, why in held.items() if name in shown}}
        | {"places": {name: words for name, words in _places(here, found).items() if name in shown}}
    )


def _places(here: At, listing: Listing) -> dict[str, str]:
    """Say where each listed entry is about; nothing where the file can't be used."""
    try:
        house, _ = here.service.shelf.house(here.place)
    except HullwrightError:
        return {}
    return said_places(here.service.log(here.place.id), house, listing.entries)


def _names(here: At, joint: str, face: str) -> tuple[frozenset[str], frozenset[str]]:
    """Every name in the log of a joint and a face; the house is read only where one is asked for."""
    if not joint and not face:
        return frozenset(), frozenset()
    house, _ = here.service.shelf.house(here.place)
    return joint_names(house, joint), face_names(house, face)


@router.get("/joints/{joint:path}/entries", response_model=m.JointEntries)
def joint_entries(joint: JointId, here: Annotated[At, Depends(READ)]) -> Response:
    """Give what was logged about a joint so far, the latest first, what stands no more too."""
    house, _ = here.service.shelf.house(here.place)
    return JSONResponse(so_far(here.service.log(here.place.id), house, joint).to_json())


@router.get("/queue", response_model=m.Entries)
def export_queue(here: Annotated[At, Depends(at("log.import"))]) -> Response:
    """Give the whole log of a house, corrected entries too, as one file."""
    answer = get_entries(here, history=True)
    answer.headers["content-disposition"] = f'attachment; filename="{here.place.id}-log.json"'
    return answer


@router.post("/queue", response_model=m.Receipts)
def import_queue(sent: m.QueueFile, here: Annotated[At, Depends(at("log.import"))]) -> Response:
    """Take in the queue that a phone exported as a file; author and device stay those of the phone."""
    if sent.house != here.place.id:
        problem = Problem("the queue is of another house", Where(key="house"), sent.house, here.place.id)
        raise InputError("this queue does not belong here", [problem])
    bodies = [(one.id, one.body) for one in sent.entries]
    receipts, top = send(here.service.log(here.place.id), bodies, Sender("lead", None, None))
    if any(receipt.status != "refused" for receipt in receipts):
        first_drawing(here)
        _say_taken(here, bodies, receipts)
    here.note("queue file", f"{len(bodies)} entries of {sent.device}")
    return JSONResponse(head("receipts") | {"receipts": [r.to_json() for r in receipts], "highest": top})


def _plain(answer: dict[str, Any]) -> Response:
    """An answer without the place of the store on this machine's disk."""
    return JSONResponse({key: value for key, value in answer.items() if key != "store"})


@router.get("/states", response_model=m.States)
def states(here: Annotated[At, Depends(READ)]) -> Response:
    """Give the state of every joint: it follows from entries."""
    house, _ = here.service.shelf.house(here.place)
    log, plan = here.service.log(here.place.id), here.service.jobs.plan_file(here.place.id)
    held = {name: list(why) for name, why in reasons(list_log(log).entries, house).items()}
    return _plain(proof.states(log, house, plan=plan).to_json() | {"held": held})


@router.get("/lots", response_model=m.Lots)
def lots(here: Annotated[At, Depends(READ)]) -> Response:
    """Give the film lots and whether each is proved."""
    house, _ = here.service.shelf.house(here.place)
    return _plain(proof.lots(here.service.log(here.place.id), house).to_json())


@router.get("/holes", response_model=m.Holes)
def holes(here: Annotated[At, Depends(READ)]) -> Response:
    """Give the register of holes."""
    log, plan = here.service.log(here.place.id), here.service.jobs.plan_file(here.place.id)
    try:
        house, _ = here.service.shelf.house(here.place)
    except InputError:
        house = None  # what was recorded is shown, whatever became of the file
    return _plain(proof.holes(log).to_json() | {"patches": proof.open_patches(log, house, plan=plan)})


@router.get("/faces/{face:path}/ready", response_model=m.Ready)
def ready(face: FaceId, here: Annotated[At, Depends(READ)]) -> Response:
    """May this face be covered, and what is in the way."""
    house, _ = here.service.shelf.house(here.place)
    plan = here.service.jobs.plan_file(here.place.id)
    answer = proof.ready(here.service.log(here.place.id), house, face, plan=plan)
    return _plain(ready_json(answer, spoken(house)))


@router.post("/faces/{face:path}/ok-to-cover", response_model=m.Entry, status_code=201)
def ok_to_cover(face: FaceId, sent: m.OkAsk, here: Annotated[At, Depends(at("log.ok"))]) -> Response:
    """Sign the OK to cover: nothing in the way, or each exception named."""
    house, _ = here.service.shelf.house(here.place)
    log, plan = here.service.log(here.place.id), here.service.jobs.plan_file(here.place.id)
    name = here.visitor.name
    added = proof.ok_to_cover(
        log, house, face, signed_by=name, exceptions=sent.exceptions, supplements=sent.supplements, plan=plan
    )
    first_drawing(here)
    here.note("ok to cover", face)
    return JSONResponse(added.entry.full_json(), status_code=201)


@router.put(
    "/photos/{sha256}/parts",
    response_model=m.PhotoArrived,
    openapi_extra={
        "requestBody": {
            "required": True,
            "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
        }
    },
)
async def put_part(
    sha256: Sha,
    request: Request,
    start: Annotated[int, Query(ge=0, le=10**9)],
    total: Annotated[int, Query(ge=1, le=10**9)],
    here: Annotated[At, Depends(at("log.photo"))],
) -> Response:
    """Take a part of a photo (at most 1 MiB); the entry that names it comes first, the rest can be sent later."""
    part = await request.body()
    log = here.service.log(here.place.id)
    return JSONResponse(
        await run_in_threadpool(picture.take_part, log, sha256, part, start=start, total=total)
    )


@router.get("/photos/{sha256}", response_model=m.PhotoArrived)
def photo_state(sha256: Sha, here: Annotated[At, Depends(READ)]) -> Response:
    """Say how much of a photo is here: half-sent ones go on from there."""
    return JSONResponse(picture.how_far(here.service.log(here.place.id), sha256))


@router.get(
    "/photos/{sha256}/picture",
    response_class=Response,
    responses={200: {"content": {"image/jpeg": {"schema": {"type": "string", "format": "binary"}}}}},
)
def photo(sha256: Sha, here: Annotated[At, Depends(READ)]) -> Response:
    """Give a photo: upright, without its location, encoded anew."""
    return Response(picture.show(here.service.log(here.place.id), sha256), media_type="image/jpeg")


@router.get("/tags", response_model=m.Tags)
def wall_tags(request: Request, here: Annotated[At, Depends(at("people"))]) -> Response:
    """Give a tag for each face, to be printed: a trade scans it and marks a hole."""
    house, _ = here.service.shelf.house(here.place)
    page = here.service.page_for_others(f"{request.url.scheme}://{request.headers['host']}")
    rows = tags(page, here.place.id, (face.id for face in house.hull.faces))
    return JSONResponse(head("tags") | {"tags": rows})


@router.get("/quarantine", response_model=m.Quarantine)
def quarantine(here: Annotated[At, Depends(at("quarantine"))]) -> Response:
    """Give what revoked devices sent."""
    keys = ("id", "device", "person", "body", "sent_at")
    rows = here.service.access.store.aside(here.place.id)
    return JSONResponse(head("quarantine") | {"entries": [dict(zip(keys, row, strict=True)) for row in rows]})


@router.post("/quarantine", response_model=m.Receipts)
def judge_quarantine(sent: m.QuarantineChoice, here: Annotated[At, Depends(at("quarantine"))]) -> Response:
    """Take entries in, or drop them; what is refused stays aside."""
    store, wanted = here.service.access.store, {one.lower() for one in sent.ids}
    rows = [(row[0], row[1], row[3]) for row in store.aside(here.place.id) if row[0].lower() in wanted]
    bodies = [(row[0], row[2]) for row in rows] if sent.take_in else []
    receipts, top = send(here.service.log(here.place.id), bodies, Sender("lead", None, None))
    gone = rows
    if sent.take_in:
        gone = [row for row, r in zip(rows, receipts, strict=True) if r.status != "refused"]
    store.drop_aside(here.place.id, gone)
    here.note("quarantine", f"{'taken in' if sent.take_in else 'dropped'}: {len(gone)}")
    return JSONResponse(head("receipts") | {"receipts": [r.to_json() for r in receipts], "highest": top})
