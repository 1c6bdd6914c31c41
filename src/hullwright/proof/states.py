"""In what state is each joint: not yet due, bare, prepared, sealed, proved, covered, punctured. It follows from entries and nothing else.

What an entry is about is found first (:mod:`hullwright.proof.locate`); what proves a method stands in one table
(:mod:`hullwright.proof.rules`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, Final

from hullwright.proof.entries import Entry
from hullwright.proof.gauge_verdict import Verdict
from hullwright.proof.ledger import knows
from hullwright.proof.locate import HELD, came, due, locate
from hullwright.proof.lotbook import Film, answers, film, judge_lots, reading_of, spans_of
from hullwright.proof.lots import Answer
from hullwright.proof.proves import AFTER_REPAIR, STANDS_FOR, passes
from hullwright.proof.rules import ENDS, STEPS, proof_of, takes_gauge
from hullwright.proof.site import House, Located, SiteJoint, Stretch
from hullwright.proof.tapebook import Tape, judge_tape, not_before

CLOSE_ENOUGH: Final = (
    0.01  # m of a joint that may be missing between two done marks: a thumb's width (estimate)
)


class State(StrEnum):
    """States of a joint."""

    NOT_DUE = "not yet due"
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
    """Standing entries, found by what they are about, with the answers about lots.

    Parameters
    ----------
    house : House
    located : tuple of Located
        In the order of the store.
    by_joint, by_face : mapping
        By joint; and those about a face as a whole, or a place on it that is on no joint.
    seals, mends : mapping
        Repairs by the id of the hole or flaw.
    film : Film
    answers : mapping of str to Answer
        About film lots, by lot id.
    tape : Tape
    came : mapping
        Entries that ended the stage of a joint.
    """

    house: House
    located: tuple[Located, ...]
    by_joint: Mapping[str, Sequence[Located]]
    by_face: Mapping[str, Sequence[Located]]
    seals: Mapping[str, Sequence[Entry]]
    mends: Mapping[str, Sequence[Entry]]
    film: Film
    answers: Mapping[str, Answer]
    tape: Tape
    came: Mapping[str, Sequence[Entry]]

    @staticmethod
    def of(entries: Sequence[Entry], house: House) -> Book:
        """Index standing entries.

        Parameters
        ----------
        entries : sequence of Entry
            In the order of the store.
        house : House
        """
        located = locate(entries, house, house.sheets)
        joints = {joint.id: joint for joint in house.joints}
        by_joint: dict[str, list[Located]] = defaultdict(list)
        by_face: dict[str, list[Located]] = defaultdict(list)
        for one in located:
            for joint in one.joints:
                by_joint[joint].append(one)
            for face in one.faces:
                by_face[face].append(one)
        counted = [one.entry for one in located if one.lacking != HELD]
        lots = film(located, joints)
        judged = judge_lots(lots.lots, house.needs)
        return Book(
            house,
            located,
            by_joint,
            by_face,
            _by_name(counted, "hole sealed", "hole"),
            _by_name(counted, "mended", "flaw"),
            replace(lots, judged=judged),
            answers(judged),
            judge_tape(located, joints),
            came(entries, house),
        )


def _by_name(entries: Sequence[Entry], kind: str, name: str) -> dict[str, list[Entry]]:
    out: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        if entry.kind == kind:
            out[entry.what[name]].append(entry)
    return out


def state_of(joint: SiteJoint, book: Book) -> JointState:
    """Give the state of a joint, but for *covered*, which needs an OK to cover (:mod:`hullwright.proof.cover`).

    Parameters
    ----------
    joint : SiteJoint
    book : Book
        Standing entries of the house.

    Returns
    -------
    JointState

    Examples
    --------
    >>> pipe = SiteJoint("J1", "pipe", ("F1",), 0.0, "boot")
    >>> state_of(pipe, Book.of([], House((pipe,)))).state.value
    'bare'
    """
    own = book.by_joint.get(joint.id, ())
    holes = open_holes(own, book)
    reached = _without_holes(joint, own, book)
    if holes:
        words = tuple("seal the hole: " + entry.what["text"] for entry in holes)
        return replace(
            reached, state=State.PUNCTURED, missing=words, open_holes=tuple(entry.id for entry in holes)
        )
    return reached


def open_holes(candidates: Sequence[Located], book: Book) -> tuple[Entry, ...]:
    """Give the holes among `candidates` that no seal closes."""
    return tuple(
        one.entry for one in candidates if one.entry.kind == "hole" and one.entry.id not in book.seals
    )


def _without_holes(joint: SiteJoint, own: Sequence[Located], book: Book) -> JointState:
    if not due(joint, book.came):
        kinds = [kind for kind, stages in ENDS.items() if joint.stage in stages]
        words = f"not yet due: log `{kinds[0]}`" if kinds else f"not yet due: {joint.stage}"
        return JointState(joint.id, State.NOT_DUE, (words,))
    done = [one for one in own if one.entry.kind == "done" and not one.lacking]
    lots = tuple(dict.fromkeys(lot for one in done for lot in _lot(one.entry, joint, book)))
    lacking = undone(joint, [s for one in done for s in one.stretches if s.joint == joint.id])
    entries = [one.entry for one in own if not one.lacking]
    if lacking:
        method = done[0].entry.what["method"] if done else joint.method
        before = _before(joint, entries, method)
        return JointState(joint.id, State.BARE if before else State.PREPARED, before or (lacking,), lots=lots)
    flaws = open_flaws(entries, book)
    missing = [f"mend: {entry.kind} of {entry.stamp.time.date().isoformat()}" for entry in flaws]
    missing += _unproved(joint, own, done, book)
    missing += unseen_repairs(entries, entries, book)
    state = State.SEALED if missing else State.PROVED
    return JointState(
        joint.id, state, tuple(missing), open_flaws=tuple(entry.id for entry in flaws), lots=lots
    )


def _lot(done: Entry, joint: SiteJoint, book: Book) -> tuple[str, ...]:
    key = done.id, joint.id
    if key in book.film.of_done:
        return (book.film.of_done[key],)
    return (book.tape.of_done[key].key.id,) if key in book.tape.of_done else ()


def undone(joint: SiteJoint, done: Sequence[Stretch]) -> str:
    """Say how much of a joint is not done yet; '' where all is."""
    if not done:
        return "seal it"
    if joint.piece:
        return ""
    reach = 0.0
    for start, end in spans_of(done)[joint.id]:
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


def _before(joint: SiteJoint, own: Sequence[Entry], method: str) -> tuple[str, ...]:
    planned = proof_of(method, joint.form).before if method else ("prepared",)
    kinds = (*planned, *(("primed",) if joint.primer else ()))
    words = {"prepared": "prepare the surface", "surface": "note the surface dry", "primed": "prime it"}
    there = {entry.kind for entry in own if entry.kind in kinds and passes(entry.kind, entry.what)}
    return tuple(words[kind] for kind in kinds if kind not in there)


@dataclass(frozen=True, slots=True)
class _Case:
    """What a step of a proof is looked for in."""

    joint: SiteJoint
    own: Sequence[Located]
    done: Sequence[Located]
    book: Book

    def checked(self, *kinds: str) -> tuple[Entry, ...]:
        """Checks that found nothing wrong and speak of all that was done here, not of what was there before."""
        return tuple(
            one.entry
            for one in self.own
            if one.entry.kind in kinds
            and not one.lacking
            and passes(one.entry.kind, one.entry.what)
            and all(not_before(one.entry, done.entry) for done in self.done)
        )


def _unproved(joint: SiteJoint, own: Sequence[Located], done: Sequence[Located], book: Book) -> list[str]:
    """Steps of the proof that are missing, by the table."""
    case = _Case(joint, own, done, book)
    methods = tuple(dict.fromkeys(one.entry.what["method"] for one in done))
    smoked = bool(case.checked("smoke"))
    out: list[str] = []
    for method in methods:
        laid = replace(case, done=tuple(one for one in done if one.entry.what["method"] == method))
        for step in proof_of(method, joint.form).needs:
            if not (smoked and step in STANDS_FOR):
                out += _STEPS[step](laid)
    return list(dict.fromkeys(out))


def _said(step: str) -> Callable[[_Case], list[str]]:
    """A step that one check of its own kind does."""
    return lambda case: [] if case.checked(step) else [STEPS[step]]


def _photo(case: _Case) -> list[str]:
    if not photos_asked(case.joint, case.book.house.photos) or case.checked("photo"):
        return []
    return [STEPS["photo"]]


def photos_asked(joint: SiteJoint, plan: Mapping[str, int]) -> int:
    """Say how many photos the plan of photos asks for of the group that a joint belongs to."""
    return plan.get(photo_group(joint), 0)


def photo_group(joint: SiteJoint) -> str:
    """Name the group of the plan of photos that a joint belongs to: a face's, an opening's, penetrations', tails'."""
    if joint.kind == "rafter tail":
        return "tails"
    if not joint.piece or joint.kind == "three-way corner" or joint.kind.startswith("overdriven"):
        return "opening" if joint.mark and not joint.piece else "face"
    return "opening" if "corner" in joint.kind else "penetrations"


def _film(case: _Case) -> list[str]:
    """Each part of the first coat lies in a lot that is proved, or under a later coat whose lot is."""
    joint, book = case.joint, case.book
    parts = [
        (stretch, int(one.entry.what.get("coat", 1)), book.answers.get(book.film.of_done.get((one.entry.id, joint.id), "")))
        for one in case.done
        for stretch in one.stretches
        if stretch.joint == joint.id
    ]  # fmt: skip
    first = min(coat for _, coat, _ in parts)
    good = [stretch for stretch, coat, answer in parts if coat > first and answer is Answer.PROVED]
    for stretch, coat, answer in parts:
        if coat == first and answer is not Answer.PROVED and not _inside(stretch, good):
            return [STEPS["film"]]
    return []


def _inside(stretch: Stretch, over: Sequence[Stretch]) -> bool:
    spans = spans_of(over).get(stretch.joint, [])
    return any(a <= stretch.start + CLOSE_ENOUGH and b >= stretch.end - CLOSE_ENOUGH for a, b in spans)


def _reading(case: _Case) -> list[str]:
    """One reading that is not too thin, where there is something flat."""
    joint, book = case.joint, case.book
    seen = case.checked("seen")
    if not takes_gauge(joint.kind, joint.section) or any(one.what.get("flat") is False for one in seen):
        return []
    for reading in case.checked("gauge reading"):
        for done in case.done:
            product = str(reading.what.get("product") or done.entry.what.get("product") or joint.product)
            need = book.house.needs.get(product) or book.house.needs.get(done.entry.what["method"])
            if need is not None and reading_of(reading).reading.judge(need.least_wet) is not Verdict.THIN:
                return []
    return [STEPS["reading"]]


def _tape(words: str) -> Callable[[_Case], list[str]]:
    """Steps that the day of the tape answers for all its joints (:mod:`hullwright.proof.tapebook`)."""

    def step(case: _Case) -> list[str]:
        for one in case.done:
            day = case.book.tape.of_done.get((one.entry.id, case.joint.id))
            if day is None or (day.lot.first_tug_held is not True if words == "tug" else not day.probed):
                return [STEPS[words]]
        return []

    return step


_STEPS: Final[Mapping[str, Callable[[_Case], list[str]]]] = {
    "film": _film,
    "reading": _reading,
    "seen": _said("seen"),
    "photo": _photo,
    "rolled": _said("rolled"),
    "tug": _tape("tug"),
    "probes": _tape("probes"),
    "probe": _said("probe"),
}


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
