"""In what state is each joint: bare, prepared, sealed, proved, covered, punctured. It follows from entries and nothing else."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Any, Final

from hullwright.proof.entries import Entry
from hullwright.proof.ledger import knows
from hullwright.proof.lotbook import lot_key
from hullwright.proof.lots import Answer
from hullwright.proof.proves import AFTER_REPAIR, ANY, FILM, Step, passes, proof_of
from hullwright.proof.site import SiteJoint

CLOSE_ENOUGH: Final = (
    0.01  # m of a joint that may be missing between two done marks: a thumb's width (estimate)
)


class State(StrEnum):
    """States of a joint."""

    BARE = "bare"
    PREPARED = "prepared"
    SEALED = "sealed"
    PROVED = "proved"
    COVERED = "covered"
    PUNCTURED = "punctured"


@dataclass(frozen=True, slots=True)
class JointState:
    """A state with its reasons.

    Parameters
    ----------
    joint : str
    state : State
    missing : tuple of str
        What is missing for the next state, in words.
    open_holes : tuple of str
        Ids of hole entries.
    open_flaws : tuple of str
        Ids of flaws, leaks and failed checks that are not mended.
    lots : tuple of str
        Lots it belongs to.
    """

    joint: str
    state: State
    missing: tuple[str, ...] = ()
    open_holes: tuple[str, ...] = ()
    open_flaws: tuple[str, ...] = ()
    lots: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Give state and reasons."""
        return {
            "joint": self.joint,
            "state": self.state.value,
            "missing": list(self.missing),
            "open_holes": list(self.open_holes),
            "open_flaws": list(self.open_flaws),
            "lots": list(self.lots),
        }


@dataclass(frozen=True, slots=True)
class Book:
    """Standing entries, found by joint and face at once.

    Parameters
    ----------
    entries : tuple of Entry
    by_joint, by_face : mapping
        Entries that name the joint; entries that name a whole face.
    seals, mends : mapping
        Repairs by the id of the hole or flaw.
    tugs : frozenset of (str, str, date)
        Method, crew and day of each first strip that held.
    """

    entries: tuple[Entry, ...]
    by_joint: Mapping[str, Sequence[Entry]]
    by_face: Mapping[str, Sequence[Entry]]
    seals: Mapping[str, Sequence[Entry]]
    mends: Mapping[str, Sequence[Entry]]
    tugs: frozenset[tuple[str, str, date]]

    @staticmethod
    def of(entries: Sequence[Entry]) -> Book:
        """Index standing entries."""
        by_joint: dict[str, list[Entry]] = defaultdict(list)
        by_face: dict[str, list[Entry]] = defaultdict(list)
        seals: dict[str, list[Entry]] = defaultdict(list)
        mends: dict[str, list[Entry]] = defaultdict(list)
        for entry in entries:
            if entry.spot.joint:
                by_joint[entry.spot.joint].append(entry)
            elif entry.spot.face:
                by_face[entry.spot.face].append(entry)
            if entry.kind == "hole sealed":
                seals[entry.what["hole"]].append(entry)
            elif entry.kind == "mended":
                mends[entry.what["flaw"]].append(entry)
        tugs = frozenset(
            (e.what["method"], e.what["crew"], e.stamp.time.date())
            for e in entries
            if e.kind == "tug" and passes(e.kind, e.what)
        )
        return Book(tuple(entries), by_joint, by_face, seals, mends, tugs)

    def about(self, joint: SiteJoint) -> list[Entry]:
        """Give the entries about a joint: those that name it, and those that name a whole face it is on."""
        on_faces = [entry for face in joint.faces for entry in self.by_face.get(face, ())]
        return [*self.by_joint.get(joint.id, ()), *on_faces]


def state_of(joint: SiteJoint, book: Book, answers: Mapping[str, Answer]) -> JointState:
    """Give the state of a joint, but for *covered*, which needs an OK to cover (:mod:`hullwright.proof.cover`).

    Parameters
    ----------
    joint : SiteJoint
    book : Book
        Standing entries of the house.
    answers : mapping of str to Answer
        Answers about film lots by lot id.

    Returns
    -------
    JointState

    Examples
    --------
    >>> state_of(SiteJoint("J1", "pipe", ("F1",), 0.0, "boot"), Book.of([]), {}).state.value
    'bare'
    """
    own = book.about(joint)
    holes = open_holes(book.by_joint.get(joint.id, ()), book)
    reached = _without_holes(joint, own, book, answers)
    if holes:
        words = tuple("seal the hole: " + entry.what["text"] for entry in holes)
        return replace(
            reached, state=State.PUNCTURED, missing=words, open_holes=tuple(entry.id for entry in holes)
        )
    return reached


def open_holes(candidates: Sequence[Entry], book: Book) -> tuple[Entry, ...]:
    """Give the holes among `candidates` that no seal closes."""
    return tuple(entry for entry in candidates if entry.kind == "hole" and entry.id not in book.seals)


def _without_holes(
    joint: SiteJoint, own: Sequence[Entry], book: Book, answers: Mapping[str, Answer]
) -> JointState:
    done = [entry for entry in own if entry.kind == "done"]
    methods = tuple(dict.fromkeys(entry.what["method"] for entry in done)) or (joint.method,)
    lots = tuple(dict.fromkeys(lot_key(entry).id for entry in done))
    lacking = undone(joint, done)
    if lacking:
        before = _before(joint, own, methods[0])
        state = State.BARE if before else State.PREPARED
        return JointState(joint.id, state, before or (lacking,), lots=lots)
    flaws = open_flaws(own, book)
    missing = [f"mend: {entry.kind} of {entry.stamp.time.date().isoformat()}" for entry in flaws]
    if not _smoked(own):
        missing += _unproved(own, book, methods, answers)
    missing += unseen_repairs(book.by_joint.get(joint.id, ()), own, book)
    state = State.SEALED if missing else State.PROVED
    return JointState(
        joint.id, state, tuple(missing), open_flaws=tuple(entry.id for entry in flaws), lots=lots
    )


def undone(joint: SiteJoint, done: Sequence[Entry]) -> str:
    """Say how much of a joint is not done yet; '' where all is."""
    if not done:
        return "seal it"
    if joint.length == 0:
        return ""
    spans = sorted((entry.what.get("from_m", 0.0), entry.what.get("to_m", joint.length)) for entry in done)
    reach = 0.0
    for start, end in spans:
        if start > reach + CLOSE_ENOUGH:
            break
        reach = max(reach, end)
    if reach >= joint.length - CLOSE_ENOUGH:
        return ""
    return f"seal it from {reach:.2f} m on (of {joint.length:.2f} m)"


def open_flaws(own: Sequence[Entry], book: Book) -> tuple[Entry, ...]:
    """Give flaws, staples and failed checks that nothing mended and no later check, made knowing of them, cleared."""
    out = []
    for entry in own:
        check = entry.kind in AFTER_REPAIR
        failed = entry.kind == "flaw" or (check and not passes(entry.kind, entry.what))
        failed = failed or (entry.kind == "staples" and entry.what["count"] > 0)  # stapled tape is a reject
        if failed and entry.id not in book.mends and not (check and _cleared(entry, own)):
            out.append(entry)
    return tuple(out)


def _cleared(entry: Entry, own: Sequence[Entry]) -> bool:
    return any(
        later.kind == entry.kind and passes(later.kind, later.what) and knows(later, entry) for later in own
    )


def _smoked(own: Sequence[Entry]) -> bool:
    """Smoke at the fan test without a leak stands for all steps of a proof."""
    return any(entry.kind == ANY.kind and passes(entry.kind, entry.what) for entry in own)


def _before(joint: SiteJoint, own: Sequence[Entry], method: str) -> tuple[str, ...]:
    kinds = (*proof_of(method).before, *(("primed",) if joint.primer else ())) if method else ("prepared",)
    words = {"prepared": "prepare the surface", "surface": "note the surface dry", "primed": "prime it"}
    there = {entry.kind for entry in own if entry.kind in kinds and passes(entry.kind, entry.what)}
    return tuple(words[kind] for kind in kinds if kind not in there)


def _unproved(
    own: Sequence[Entry], book: Book, methods: Sequence[str], answers: Mapping[str, Answer]
) -> list[str]:
    """Steps of the proof that are missing."""
    steps = [(method, step) for method in methods for step in proof_of(method).steps]
    return list(
        dict.fromkeys(s.words for method, s in steps if not _step_done(s, method, own, book, answers))
    )


def _step_done(
    step: Step, method: str, own: Sequence[Entry], book: Book, answers: Mapping[str, Answer]
) -> bool:
    done = [entry for entry in own if entry.kind == "done" and entry.what["method"] == method]
    if step.kind == FILM:
        return all(answers.get(lot_key(entry).id) is Answer.PROVED for entry in done)
    if step.per_lot:
        return all((method, entry.what["crew"], entry.stamp.time.date()) in book.tugs for entry in done)
    return any(entry.kind == step.kind and passes(entry.kind, entry.what) for entry in own)


def unseen_repairs(broken: Sequence[Entry], own: Sequence[Entry], book: Book) -> list[str]:
    """Say which repairs nobody has looked at who could know of them: a repair undoes the proof until then.

    Parameters
    ----------
    broken : sequence of Entry
        Holes, flaws and failed checks whose repairs count.
    own : sequence of Entry
        Entries among which a look is sought.
    book : Book
    """
    repairs = [r for entry in broken for r in (*book.seals.get(entry.id, ()), *book.mends.get(entry.id, ()))]
    looks = [entry for entry in own if entry.kind in AFTER_REPAIR and passes(entry.kind, entry.what)]
    unseen = [repair for repair in repairs if not any(knows(look, repair) for look in looks)]
    return [f"look at the repair of {repair.stamp.time.date().isoformat()}" for repair in unseen]
