"""What the log proves: film lots, states, ready to cover, OK to cover, holes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from hullwright.app.dry_hours import Span
from hullwright.app.house import Source, load
from hullwright.app.log import Added, Log, write
from hullwright.app.on_drawing import OnDrawing, left_by_revisions, on_drawing
from hullwright.app.site import catalog_of, needs_of
from hullwright.errors import InputError, Problem, Where
from hullwright.evidence import ESTIMATE, Caution
from hullwright.proof.cover import Ready, check_ok
from hullwright.proof.cover import ready as ready_face
from hullwright.proof.entries import Entry, Spot
from hullwright.proof.fastener_log import FaceFasteners, count_overdriven
from hullwright.proof.holes import Register, Ticket, register
from hullwright.proof.locate import locate
from hullwright.proof.lotbook import Judged, book, judge_lots, unplaced
from hullwright.proof.lots import RISKS, Answer, Need
from hullwright.proof.lots import SCHEMA as LOTS_SCHEMA
from hullwright.proof.okay import Covering, covering, signed_for, supplement_of
from hullwright.proof.patches import Patch
from hullwright.proof.place import Proposal, needs_place
from hullwright.proof.site import Located, SiteJoint
from hullwright.proof.start import GASKET_FIRST, gaskets_late, not_to_start, started_too_early
from hullwright.proof.states import JointState
from hullwright.proof.tape import SHARE_LIMIT
from hullwright.proof.tapebook import JudgedTape, judge_tape

TAPE_LIMIT = Caution(
    "no share of failing tape is published: the limit is yours to set, 10 % where none was said",
    SHARE_LIMIT.evidence,
)
UNJUDGED = Caution(
    "lots without a product sheet are listed but not judged: name the product in the entries", ESTIMATE
)


@dataclass(frozen=True, slots=True)
class Lots:
    """Answers about all film lots.

    Parameters
    ----------
    log : Log
    judged : tuple of Judged
    """

    log: Log
    judged: tuple[Judged, ...]

    @property
    def exit_code(self) -> int:
        """0 where every lot is proved."""
        return 0 if all(one.result and one.result.answer is Answer.PROVED for one in self.judged) else 1

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``film lots --json``."""
        unjudged = [one.lot.key.id for one in self.judged if one.result is None]
        return {
            "schema": dict(LOTS_SCHEMA),
            "store": str(self.log.path),
            "house": self.log.house,
            "lots": [one.to_json() for one in self.judged if one.result is not None],
            "unjudged": unjudged,
            "cautions": [caution.to_json() for caution in ((RISKS, UNJUDGED) if unjudged else (RISKS,))],
        }


@dataclass(frozen=True, slots=True)
class TapeLots:
    """Answers about all lots of tape.

    Parameters
    ----------
    log : Log
    judged : tuple of JudgedTape
    """

    log: Log
    judged: tuple[JudgedTape, ...]

    @property
    def exit_code(self) -> int:
        """0 where every lot is proved."""
        return 0 if all(one.result.answer == "proved" for one in self.judged) else 1

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``tape lots --json``."""
        return {
            "schema": {"name": "tape lots", "version": 1},
            "store": str(self.log.path),
            "house": self.log.house,
            "lots": [one.to_json() for one in self.judged],
            "cautions": [TAPE_LIMIT.to_json()],
        }


@dataclass(frozen=True, slots=True)
class States:
    """State of every joint.

    Parameters
    ----------
    log : Log
    joints : tuple of JointState
    covered_too_early : tuple of Entry
        ``covered`` entries that no sound OK to cover allows.
    started_too_early : tuple of Entry
        ``done`` marks on faces whose nailing was not signed off.
    not_to_start : mapping of str to tuple of str
        Faces on which no run may start yet, with what is in the way.
    lost : tuple of Proposal
        Entries that need a place.
    fasteners : tuple of FaceFasteners
    revision : int
        Number of the drawing that it is of; 0 where none was issued.
    covering : Covering
    patches : tuple of Patch
        Holes that revisions left in the wall.
    unclear : tuple of Located
        Entries that take not all that they name, or prove nothing: what was left out, or what they lack.
    gaskets_late : tuple of Entry
        Gaskets that were logged after the plate was nailed down.
    drawing_differs : bool
        The building file as it stands is not what was issued last.
    """

    log: Log
    joints: tuple[JointState, ...]
    covered_too_early: tuple[Entry, ...]
    started_too_early: tuple[Entry, ...]
    not_to_start: Mapping[str, tuple[str, ...]]
    lost: tuple[Proposal, ...]
    fasteners: tuple[FaceFasteners, ...]
    revision: int
    covering: Covering
    patches: tuple[Patch, ...]
    unclear: tuple[Located, ...] = ()
    gaskets_late: tuple[Entry, ...] = ()
    drawing_differs: bool = False

    def to_json(self) -> dict[str, Any]:
        """Give states, counts and what is out of order."""
        counts: dict[str, int] = defaultdict(int)
        for joint in self.joints:
            counts[joint.state.value] += 1
        return {
            "schema": {"name": "log states", "version": 1},
            "store": str(self.log.path),
            "house": self.log.house,
            "counts": dict(counts),
            "joints": [joint.to_json() for joint in self.joints],
            "covered_too_early": [entry.id for entry in self.covered_too_early],
            "started_too_early": [entry.id for entry in self.started_too_early],
            "not_to_start": {face: list(words) for face, words in self.not_to_start.items()},
            "needs_place": [proposal.to_json() for proposal in self.lost],
            "fasteners": [face.to_json() for face in self.fasteners],
            "revision": self.revision,
            "drawing_differs": self.drawing_differs,
            "covered_faces": sorted(self.covering.faces),
            "opened_again": [one.to_json() for one in self.covering.opened],
            "oks_that_do_not_count": [
                {"entry": ok.entry.id, "face": ok.entry.spot.face, "why": ok.void}
                for ok in self.covering.void
            ],
            "patches": [patch.to_json() for patch in self.patches],
            "unclear": [one.to_json() for one in self.unclear],
            "gaskets_late": [entry.id for entry in self.gaskets_late],
            "cautions": [GASKET_FIRST.to_json()] if self.gaskets_late else [],
        }


def located_on(
    log: Log, building: Source | None, plan: str | None = None
) -> tuple[tuple[Located, ...], Mapping[str, SiteJoint]]:
    """Give the standing entries with what they are about, and the joints of the house by id.

    Parameters
    ----------
    log : Log
    building : path or Building, optional
        Without it entries are taken by the joint that they name.
    plan : str or None
        ``plan.json``.
    """
    if building is None:
        return unplaced(log.standing()), {}
    on = _on(log, building, plan)
    located = locate(on.record.stand, on.house, on.house.sheets)
    return located, {joint.id: joint for joint in on.house.joints}


def lots(
    log: Log,
    building: Source | None = None,
    *,
    needs: Mapping[str, Need] | None = None,
    plan: str | None = None,
) -> Lots:
    """Say of every film lot whether it is proved.

    Parameters
    ----------
    log : Log
    building : path or Building, optional
        Whose product sheets state the least films; without it the generic sheets.
    needs : mapping of str to Need, optional
        Least film by product id (or method), in place of the sheets.
    plan : str or None
        ``plan.json``: methods and products of the joints.

    Returns
    -------
    Lots
    """
    stated = needs if needs is not None else needs_of(catalog_of(building))
    located, joints = located_on(log, building, plan)
    return Lots(log, judge_lots(book(located, joints), stated))


def tape(
    log: Log, building: Source | None = None, *, plan: str | None = None, limit: float = SHARE_LIMIT.value
) -> TapeLots:
    """Say of every lot of tape whether it is proved: rolled and seen, probed, first strip tugged.

    Parameters
    ----------
    log : Log
    building : path or Building, optional
    plan : str or None
        ``plan.json``.
    limit : float
        Largest share of failing places that is accepted.

    Returns
    -------
    TapeLots
    """
    located, joints = located_on(log, building, plan)
    return TapeLots(log, judge_tape(located, joints, limit=limit).judged)


def states(log: Log, building: Source, *, plan: str | None = None) -> States:
    """Give the state of every joint of a house.

    Parameters
    ----------
    log : Log
    building : path or Building
    plan : str or None
        ``plan.json``.

    Returns
    -------
    States
    """
    on = _on(log, building, plan)
    house, found, now = on.house, covering(on.record), on.record.stand
    located = locate(now, house, house.sheets)
    return States(
        log,
        found.joints,
        found.too_early,
        started_too_early(house.joints, located, house.unnailed),
        not_to_start((face for joint in house.joints for face in joint.faces), now, house.unnailed),
        needs_place(on.record.now, on.lines),
        count_overdriven(now),
        on.number,
        found,
        on.patches,
        tuple(one for one in located if one.left_out or one.lacking),
        gaskets_late(located),
        on.differs,
    )


def ready(log: Log, building: Source, face: str, *, plan: str | None = None) -> Ready:
    """Say whether a face may be covered, and what is in the way.

    Parameters
    ----------
    log : Log
    building : path or Building
    face : str
    plan : str or None
        ``plan.json``.

    Returns
    -------
    Ready
    """
    on = _on(log, building, plan)
    face = on.drawing.face_names.get(face, face)
    return replace(ready_face(on.house, face, on.record.now), revision=on.number, drawing_differs=on.differs)


def ok_to_cover(
    log: Log,
    building: Source,
    face: str,
    *,
    signed_by: str,
    exceptions: Sequence[str] = (),
    supplements: str = "",
    plan: str | None = None,
) -> Added:
    """Sign the OK to cover of a face: nothing in the way, or each exception named.

    It stands for the pieces that are on the drawing now, but for those that a later trade is still to make.

    Parameters
    ----------
    log : Log
    building : path or Building
    face : str
    signed_by : str
    exceptions : sequence of str
        Ids of blockers, as ``ready`` gives them.
    supplements : str
        Id of an earlier OK to cover: this one is for the pieces alone that fell out of that.
    plan : str or None

    Returns
    -------
    Added

    Raises
    ------
    NoAnswerError
        With each blocker that is not named, or nothing fell out of the earlier one.
    """
    on = _on(log, building, plan)
    face = on.drawing.face_names.get(face, face)
    if supplements:
        cover = covering(on.record)
        found = supplement_of(on.record, cover, face, supplements)
        only = [one.joint for one in cover.opened if one.face == face and one.ok == supplements]
    else:
        found, only = ready_face(on.house, face, on.record.now), None
    check_ok(found, exceptions)
    what = {
        "signed_by": signed_by,
        "exceptions": list(exceptions),
        "joints": signed_for(on.record, found, only),
        **({"supplements": supplements} if supplements else {}),
    }
    return write(log, "ok to cover", what, author=signed_by, spot=Spot(face=face, revision=on.number))


def holes(log: Log) -> Register:
    """Give the register of holes.

    Parameters
    ----------
    log : Log

    Returns
    -------
    Register
    """
    return register(log.entries())


def open_patches(log: Log, building: Source | None, *, plan: str | None = None) -> list[dict[str, Any]]:
    """Give the patches that are not closed yet: they belong to the register until then.

    Parameters
    ----------
    log : Log
    building : path, Building or None
        None where its file can't be used now: then a patch is open until somebody says that it is done, and has no state.
    plan : str or None

    Returns
    -------
    list of dict
        Joint, mark, revision, face, outline and state.
    """
    if building is None:
        return [patch.to_json() for patch in left_by_revisions(log)]
    on = _on(log, building, plan)
    if not on.patches:
        return []
    states = {one.joint: one.state.value for one in covering(on.record).joints}
    rows = [patch.to_json() | {"state": states[patch.id]} for patch in on.patches]
    return [row for row in rows if row["state"] not in {"proved", "covered"}]


def ticket(log: Log, hole: str, product: str, detail: str, *, dry: Sequence[Span] = ()) -> Ticket:
    """Write a ticket for an open hole.

    Parameters
    ----------
    log : Log
    hole : str
        Id of its entry.
    product, detail : str
    dry : sequence of (datetime, datetime), optional
        Next dry hours, where weather is known.

    Returns
    -------
    Ticket

    Raises
    ------
    InputError
        Where no such hole is open.
    """
    found = next((one for one in holes(log).open if one.entry.id == hole), None)
    if found is None:
        raise InputError(
            "no such hole is open",
            [Problem("not an open hole", Where(key="hole"), hole, "an id from the register")],
        )
    return Ticket(found, product, detail, tuple(dry))


def _on(log: Log, building: Source, plan: str | None) -> OnDrawing:
    return on_drawing(log, load(building), plan)
