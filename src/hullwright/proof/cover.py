"""May this face be covered: what is still bare, unproved, without a photo, punctured, or due a hole by a later trade.

A signed OK to cover when nothing is, or with each exception named. Nothing becomes *covered* without one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from hullwright.errors import NoAnswerError, Problem
from hullwright.evidence import Caution, Evidence, Mark
from hullwright.proof.entries import Entry
from hullwright.proof.fastener_log import count_overdriven, open_question
from hullwright.proof.ledger import Standing, standing
from hullwright.proof.locate import HELD
from hullwright.proof.site import House, Later, SiteJoint
from hullwright.proof.start import may_start
from hullwright.proof.states import (
    Book,
    JointState,
    State,
    open_flaws,
    open_holes,
    photo_group,
    state_of,
    unseen_repairs,
)

SCHEMA: Final = {"name": "ready", "version": 1}
CODE: Final = Caution(
    "covering may also need an inspection by the local building official",
    Evidence(Mark.PRACTICE, "local code"),
)
WHAT_TO_DO: Final = "correct it, withdraw it, or give the product sheet"
_GROUPS: Final = {
    "face": "face", "opening": "opening", "penetrations": "group of penetrations", "tails": "row of tails",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Blocker:
    """One thing in the way of covering a face.

    Parameters
    ----------
    id : str
        Name by which an OK to cover can except it: ``J12:unproved``.
    joint : str
        '' where it concerns the face.
    reason : str
    missing : tuple of str
        What to do.
    """

    id: str
    joint: str
    reason: str
    missing: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Give id, joint, reason and what to do."""
        return {"id": self.id, "joint": self.joint, "reason": self.reason, "missing": list(self.missing)}


@dataclass(frozen=True, slots=True)
class Ready:
    """The answer for one face.

    Parameters
    ----------
    face : str
    joints : int
    blockers : tuple of Blocker
    states : mapping of str to int
        Joints in each state.
    revision : int
        Number of the drawing that it is of; 0 where none was issued.
    drawing_differs : bool
        The building file as it stands is not what was issued last.
    """

    face: str
    joints: int
    blockers: tuple[Blocker, ...]
    states: Mapping[str, int]
    revision: int = 0
    drawing_differs: bool = False

    @property
    def ready(self) -> bool:
        """Whether nothing is in the way."""
        return not self.blockers

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``ready FACE --json``."""
        return {
            "schema": dict(SCHEMA),
            "face": self.face,
            "ready": self.ready,
            "joints": self.joints,
            "states": dict(self.states),
            "blockers": [blocker.to_json() for blocker in self.blockers],
            "revision": self.revision,
            "drawing_differs": self.drawing_differs,
            "cautions": [CODE.to_json()],
        }


def ready(house: House, face: str, entries: Sequence[Entry], only: frozenset[str] | None = None) -> Ready:
    """Say whether a face may be covered.

    Parameters
    ----------
    house : House
    face : str
    entries : sequence of Entry
        All entries of the house as stored.
    only : frozenset of str, optional
        Of these joints alone, for a supplement: the rest of the face is covered, and its overview photo was settled then.

    Returns
    -------
    Ready

    Raises
    ------
    NoAnswerError
        Where no joint lies on such a face.

    Examples
    --------
    >>> house = House((SiteJoint("J1", "pipe", ("F1",), 0.0, "boot"),))
    >>> [blocker.id for blocker in ready(house, "F1", []).blockers]
    ['F1:nailing', 'F1:photo', 'J1:photo', 'J1:bare']
    """
    joints = house.on_face(face)
    if not joints:
        names = sorted({name for joint in house.joints for name in joint.faces})
        raise NoAnswerError(
            f"no joint lies on face {face}", [Problem("unknown face", got=face, allowed=", ".join(names))]
        )
    now = standing(entries)
    book = Book.of(now.entries, house)
    states = {joint.id: state_of(joint, book) for joint in joints}
    waiting = {name for name, found in states.items() if found.state is State.NOT_DUE}
    later = [one for one in house.later if one.face == face and (not one.joint or one.joint in waiting)]
    if only is not None:
        joints = tuple(joint for joint in joints if joint.id in only)
        waiting, later = waiting & only, [one for one in later if one.joint in only]
    here = [joint for joint in joints if joint.id not in waiting]
    blockers = [
        *_face_blockers(face, book, now, later),
        *(Blocker(f"{name}:not yet due", name, "not yet due", states[name].missing)
          for name in sorted(waiting - {one.joint for one in later})),
        *photo_blockers(face, here, book, overview=only is None),
        *_joint_blockers(here, now, book, states),
    ]  # fmt: skip
    counts = {state.value: sum(1 for joint in joints if states[joint.id].state is state) for state in State}
    return Ready(face, len(joints), tuple(blockers), {name: count for name, count in counts.items() if count})


def check_ok(found: Ready, exceptions: Sequence[str]) -> None:
    """Refuse an OK to cover that leaves something in the way unnamed.

    Raises
    ------
    NoAnswerError
        With each blocker that is not named.
    """
    unnamed = [blocker for blocker in found.blockers if blocker.id not in set(exceptions)]
    if unnamed:
        problems = [
            Problem(
                f"{blocker.joint or found.face} is {blocker.reason}",
                got=blocker.id,
                allowed="nothing in the way, or named as an exception",
                hint="; ".join(blocker.missing),
            )
            for blocker in unnamed
        ]
        raise NoAnswerError(f"face {found.face} can't be covered yet", problems)


def _face_blockers(face: str, book: Book, now: Standing, due: Sequence[Later]) -> list[Blocker]:
    on_face = book.by_face.get(face, ())
    entries = [one.entry for one in on_face]
    out = []
    for words in may_start(face, entries, nailed=face not in book.house.unnailed):
        name = words.split(maxsplit=1)[0]
        out.append(Blocker(f"{face}:{name}", "", words, ("have nailing and straps inspected",)))
    for entry in open_holes([one for one in on_face if not one.joints], book):
        reason = "temporary hole" if entry.what.get("temporary") else "punctured"
        out.append(Blocker(f"{face}:hole {entry.id}", "", reason, ("seal it: " + entry.what["text"],)))
    flaws = open_flaws([one.entry for one in on_face if one.entry.kind == "flaw" and not one.joints], book)
    out += [
        Blocker(f"{face}:flaw {flaw.id}", "", "a flaw is open", ("mend it: " + flaw.what["text"],))
        for flaw in flaws
    ]
    looks = unseen_repairs(entries, entries, book)
    out += [Blocker(f"{face}:repair", "", "repair not looked at", tuple(looks))] if looks else []
    out += [Blocker(f"{face}:later {x.id}", x.joint, "due a hole by a later trade", (x.text,)) for x in due]
    out += _strength(face, now)
    out += [
        Blocker(f"{face}:held {entry.id}", "", f"{entry.kind} held for review", (WHAT_TO_DO,))
        for entry in _held(face, book, now)
    ]
    return out


def _strength(face: str, now: Standing) -> list[Blocker]:
    """Fasteners: what strength asks, and heads that are holes in the layer."""
    out = []
    question = open_question(face, now.entries)
    if question:
        out.append(Blocker(f"{face}:fasteners", "", "a question of strength is open", (question,)))
    out += [
        Blocker(f"{face}:heads", "", "heads not sealed", (f"seal {one.to_seal} heads",))
        for one in count_overdriven(now.entries)
        if one.face == face and one.to_seal
    ]
    return out


def _held(face: str, book: Book, now: Standing) -> list[Entry]:
    """Entries that are held for review and name the face, or a joint, run or mark on it."""
    unknown = [one.entry for one in book.located if one.lacking == HELD]
    on_face = book.house.on_face(face)
    names = {face, *(name for joint in on_face for name in (joint.id, joint.run, *joint.was))} - {""}
    marks = {joint.mark.casefold() for joint in on_face} - {""}
    out: dict[str, Entry] = {}
    for entry in (*now.held, *unknown):
        spot, of = entry.spot, entry.what.get("of")
        said = {spot.face, spot.joint, spot.run, *(name for name in _listed(of) if isinstance(name, str))}
        marked = {spot.mark, *said}
        if said & names or {name.casefold() for name in marked} & marks:
            out[entry.id] = entry
    return list(out.values())


def _listed(value: object) -> Sequence[object]:
    return value if isinstance(value, (list, tuple)) else ()


def photo_blockers(face: str, joints: Sequence[SiteJoint], book: Book, *, overview: bool) -> list[Blocker]:
    """Say which photos of the plan of photos are lacking on a face, or not sent yet.

    Parameters
    ----------
    face : str
    joints : sequence of SiteJoint
        Those on it that are due.
    book : Book
    overview : bool
        That of the face too.
    """
    groups: dict[str, tuple[str, list[SiteJoint]]] = {face: ("face", [])} if overview else {}
    for joint in joints:
        group = photo_group(joint)
        if group != "face":
            name = (joint.mark if group == "opening" else joint.run) or joint.run or joint.id
            groups.setdefault(name, (group, []))[1].append(joint)
    out = []
    for name, (group, members) in groups.items():
        asked = book.house.photos.get(group, 0)
        about = (
            book.by_face.get(face, ())
            if name == face
            else [o for m in members for o in book.by_joint.get(m.id, ())]
        )
        photos = {one.entry.what["sha256"] for one in about if one.entry.kind == "photo"}
        words = (f"take {asked - len(photos)} more",) if asked - len(photos) > 1 else ("take a photo",)
        here = photos if book.house.photos_here is None else photos & book.house.photos_here
        if len(photos) < asked:
            out.append(Blocker(f"{name}:photo", "", f"{_GROUPS[group]} without a photo", words))
        elif len(here) < asked:
            out.append(Blocker(f"{name}:photo", "", "photo not sent yet", ("send the photo",)))
    return out


def _joint_blockers(
    joints: Sequence[SiteJoint], now: Standing, book: Book, states: Mapping[str, JointState]
) -> list[Blocker]:
    rivals = {entry_id for group in now.rivals for entry_id in group.entries}
    out: list[Blocker] = []
    for joint in joints:
        found = states[joint.id]
        if found.state is not State.PROVED:
            reason = "unproved" if found.state is State.SEALED else found.state.value
            out.append(Blocker(f"{joint.id}:{reason}", joint.id, reason, found.missing))
        if any(one.entry.id in rivals for one in book.by_joint.get(joint.id, ())):
            out.append(Blocker(f"{joint.id}:rivals", joint.id, "two corrections stand", ("choose one",)))
    return out
