"""May this face be covered: what is still bare, unproved, without a photo, holed, or due a hole by a later trade.

A signed OK to cover when nothing is, or with each exception named. Nothing becomes *covered* without one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from hullwright.errors import NoAnswerError, Problem
from hullwright.evidence import Caution, Evidence, Mark
from hullwright.proof.entries import Entry
from hullwright.proof.ledger import Standing, standing
from hullwright.proof.lots import Answer
from hullwright.proof.site import House, Later, SiteJoint
from hullwright.proof.start import may_start
from hullwright.proof.states import Book, JointState, State, open_holes, state_of, unseen_repairs

SCHEMA: Final = {"name": "ready", "version": 1}
Answers = Callable[[Sequence[Entry]], Mapping[str, Answer]]
CODE: Final = Caution(
    "covering may also need an inspection by the local building official",
    Evidence(Mark.PRACTICE, "local code"),
)


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
    """

    face: str
    joints: int
    blockers: tuple[Blocker, ...]
    states: Mapping[str, int]
    revision: int = 0

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
            "cautions": [CODE.to_json()],
        }


def ready(house: House, face: str, entries: Sequence[Entry], answers: Answers) -> Ready:
    """Say whether a face may be covered.

    Parameters
    ----------
    house : House
    face : str
    entries : sequence of Entry
        All entries of the house as stored.
    answers : callable
        Turns standing entries into answers about film lots.

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
    >>> [blocker.id for blocker in ready(house, "F1", [], lambda entries: {}).blockers]
    ['F1:nailing', 'J1:bare', 'J1:photo']
    """
    joints = house.on_face(face)
    if not joints:
        names = sorted({name for joint in house.joints for name in joint.faces})
        raise NoAnswerError(
            f"no joint lies on face {face}", [Problem("unknown face", got=face, allowed=", ".join(names))]
        )
    now = standing(entries)
    book, lots = Book.of(now.entries), answers(now.entries)
    states = {joint.id: state_of(joint, book, lots) for joint in joints}
    due = [
        later
        for later in house.later
        if later.face == face and not (later.joint and book.by_joint.get(later.joint))
    ]
    waiting = {later.joint for later in due}
    looked_at = [joint for joint in joints if joint.id not in waiting]
    nailed = face not in house.unnailed
    blockers = [
        *_face_blockers(face, book, due, nailed=nailed),
        *_joint_blockers(house, looked_at, now, book, states),
    ]
    counts = {state.value: sum(1 for item in states.values() if item.state is state) for state in State}
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


def _face_blockers(face: str, book: Book, due: Sequence[Later], *, nailed: bool) -> list[Blocker]:
    on_face = book.by_face.get(face, ())
    out = []
    for words in may_start(face, on_face, nailed=nailed):
        name = words.split(maxsplit=1)[0]
        out.append(Blocker(f"{face}:{name}", "", words, ("have nailing and straps inspected",)))
    for entry in open_holes(on_face, book):
        reason = "temporary hole" if entry.what.get("temporary") else "punctured"
        out.append(Blocker(f"{face}:hole {entry.id}", "", reason, ("seal it: " + entry.what["text"],)))
    looks = unseen_repairs(on_face, on_face, book)
    out += [Blocker(f"{face}:repair", "", "repair not looked at", tuple(looks))] if looks else []
    out += [Blocker(f"{face}:later {x.id}", x.joint, "due a hole by a later trade", (x.text,)) for x in due]
    return out


def _joint_blockers(
    house: House, joints: Sequence[SiteJoint], now: Standing, book: Book, states: Mapping[str, JointState]
) -> list[Blocker]:
    rivals = {entry_id for group in now.rivals for entry_id in group.entries}
    out: list[Blocker] = []
    for joint in joints:
        found = states[joint.id]
        if found.state is not State.PROVED:
            reason = "unproved" if found.state is State.SEALED else found.state.value
            out.append(Blocker(f"{joint.id}:{reason}", joint.id, reason, found.missing))
        own = book.about(joint)
        photos = {entry.what["sha256"] for entry in own if entry.kind == "photo"}
        if not photos:
            out.append(Blocker(f"{joint.id}:photo", joint.id, "without a photo", ("take a photo",)))
        elif house.photos_here is not None and not house.photos_here & photos:
            out.append(Blocker(f"{joint.id}:photo", joint.id, "photo not sent yet", ("send the photo",)))
        if any(entry.id in rivals for entry in own):
            out.append(Blocker(f"{joint.id}:rivals", joint.id, "two corrections stand", ("choose one",)))
    return out
