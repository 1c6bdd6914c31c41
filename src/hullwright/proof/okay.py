"""OK to cover: it stands for what it was signed for, piece by piece.

What a revision, a hole or a withdrawn *done* touched since falls out of it. A covered face stays covered; what fell out is
*opened again* until a supplement is signed for those pieces alone, and covered by it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cached_property
from typing import Any, Final

from hullwright.errors import NoAnswerError, Problem
from hullwright.proof.built import Built
from hullwright.proof.carried import OF_JOINTS, carried
from hullwright.proof.carry import Span, links, without
from hullwright.proof.cover import Blocker, Ready
from hullwright.proof.cover import ready as ready_face
from hullwright.proof.drawing import Drawing, DrawnJoint, Issued
from hullwright.proof.entries import Entry
from hullwright.proof.ledger import standing
from hullwright.proof.made import built_by
from hullwright.proof.matching import SAME_PLACE
from hullwright.proof.site import House
from hullwright.proof.states import Book, JointState, State, state_of

FROM_A_TABLE: Final = "taken in from a table: it counts for nothing until a lead signs here"
NOT_THERE: Final = "without an OK to cover: it counts for nothing"
NOT_SOUND: Final = "something stood in the way and was not named when it was signed"
_DUE: Final = frozenset({"due a hole by a later trade", "not yet due"})


@dataclass(frozen=True)
class Record:
    """All that OKs to cover are judged by.

    Parameters
    ----------
    house : House
        Joints of the last drawing.
    entries : tuple of Entry
        All of the house, as stored.
    row : tuple of Issued
        Issued drawings with their patches; empty where none was issued.
    site : callable
        Gives what the proof must know of a drawing.
    imported : frozenset of str
        Ids of entries that came from a table.
    """

    house: House
    entries: tuple[Entry, ...]
    row: tuple[Issued, ...] = ()
    site: Callable[[Drawing], House] | None = None
    imported: frozenset[str] = frozenset()

    @cached_property
    def drawings(self) -> tuple[Issued, ...]:
        """The issued drawings; where none was issued, the house as it stands."""
        return self.row or (Issued(0, datetime.min.replace(tzinfo=UTC), "", "", 0, _as_drawn(self.house)),)

    @cached_property
    def built(self) -> tuple[Built, ...]:
        """What had been made by each drawing."""
        return built_by(standing(self.entries).entries, self.drawings)

    @cached_property
    def now(self) -> tuple[Entry, ...]:
        """All entries as they lie on the last drawing."""
        return carried(self.entries, self.row, self.site)

    @cached_property
    def stand(self) -> tuple[Entry, ...]:
        """Entries that stand, as they lie on the last drawing."""
        return standing(self.now).entries

    @cached_property
    def states(self) -> Mapping[str, JointState]:
        """State of each joint by what was logged on it, whatever is covered."""
        return {joint.id: state_of(joint, self.book) for joint in self.house.joints}

    @cached_property
    def book(self) -> Book:
        """Entries that stand, by what they are about."""
        return Book.of(self.stand, self.house)

    def about(self, joint: str) -> frozenset[str]:
        """Give the ids of the entries that are about a joint."""
        return frozenset(one.entry.id for one in self.book.by_joint.get(joint, ()))

    def index_of(self, entry: Entry) -> int:
        """Give which drawing an entry that was made here was made on: the one it names, else the last one before it."""
        for i, one in enumerate(self.drawings):
            if one.number == entry.spot.revision:
                return i
        return max((i for i, one in enumerate(self.row) if one.after < entry.receipt.number), default=0)

    def then(self, index: int, number: int) -> tuple[House, tuple[Entry, ...]]:
        """Give the house on one of the drawings, and the log on it as it was before an entry of that number came in."""
        before = tuple(entry for entry in self.entries if 0 < entry.receipt.number < number)
        house = self.house
        if index < len(self.drawings) - 1 and self.site is not None:
            house = self.site(self.drawings[index].drawing)
        return replace(house, photos_here=None), carried(before, self.row[: index + 1], self.site)


@dataclass(frozen=True, slots=True)
class Okay:
    """An OK to cover.

    Parameters
    ----------
    entry : Entry
    index : int
        Which of the issued drawings it was signed on.
    joints : tuple of str
        What it stands for, on that drawing.
    void : str
        Why it counts for nothing; '' where it counts.
    """

    entry: Entry
    index: int
    joints: tuple[str, ...]
    void: str = ""


@dataclass(frozen=True, slots=True)
class Opened:
    """A piece of a covered face that no OK to cover stands for any more.

    Parameters
    ----------
    joint, face : str
    ok : str
        Id of the OK to cover that a supplement names.
    why : str
    """

    joint: str
    face: str
    ok: str
    why: str

    def to_json(self) -> dict[str, Any]:
        """Give the piece, and why it fell out."""
        return {"joint": self.joint, "face": self.face, "ok": self.ok, "why": self.why}


@dataclass(frozen=True, slots=True)
class Covering:
    """What is covered, and what is not any more.

    Parameters
    ----------
    joints : tuple of JointState
        In the order of the house.
    opened : tuple of Opened
    too_early : tuple of Entry
        ``covered`` entries that no OK to cover allows.
    void : tuple of Okay
        OKs to cover that count for nothing.
    faces : frozenset of str
        Faces that are covered.
    """

    joints: tuple[JointState, ...]
    opened: tuple[Opened, ...]
    too_early: tuple[Entry, ...]
    void: tuple[Okay, ...]
    faces: frozenset[str]


def covering(record: Record) -> Covering:
    """Say what is covered.

    Parameters
    ----------
    record : Record

    Returns
    -------
    Covering
    """
    stand = standing(record.entries)
    oks = {entry.id: _okay(record, entry) for entry in stand.of_kind("ok to cover")}
    covers = stand.of_kind("covered")
    counting = [
        (cover, ok)
        for cover in covers
        if (ok := _of(cover, oks)) is not None and _same_face(cover, ok, record)
    ]
    hidden = {joint: ok for cover, ok in counting for joint in _wholly(record, cover, ok)}
    why = {joint: _touched(record, joint, ok) for joint, ok in hidden.items()}
    joints = tuple(
        replace(state, state=State.COVERED)
        if name in hidden and not why[name] and state.state is not State.PUNCTURED
        else state
        for name, state in record.states.items()
    )
    good = {cover.id for cover, _ in counting}
    too_early = tuple(cover for cover in covers if cover.id not in good)
    void = tuple(ok for ok in oks.values() if ok.void)
    faces = {face for _, ok in counting for face in _heirs(record, ok)}
    covered = {state.joint for state in joints if state.state is State.COVERED}
    return Covering(joints, tuple(_opened(record, counting, covered, why)), too_early, void, frozenset(faces))


def supplement_of(record: Record, found: Covering, face: str, ok: str) -> Ready:
    """Say whether the pieces of a covered face that fell out of an OK to cover may be covered again.

    Parameters
    ----------
    record : Record
    found : Covering
    face : str
    ok : str
        Id of the OK to cover that is supplemented.

    Returns
    -------
    Ready
        For those pieces alone.

    Raises
    ------
    NoAnswerError
        Nothing fell out of it.
    """
    fell = {one.joint for one in found.opened if one.face == face and one.ok == ok}
    if not fell:
        known = ", ".join(sorted({f"{one.face} (OK {one.ok[:8]})" for one in found.opened})) or "nothing"
        problem = Problem("nothing of it was opened again", got=f"{face}, {ok}", allowed=known)
        raise NoAnswerError("this OK to cover needs no supplement", [problem])
    return ready_face(record.house, face, record.now, frozenset(fell))


def signed_for(record: Record, found: Ready, only: Sequence[str] | None = None) -> list[str]:
    """Give the joints that an OK to cover of a face stands for: all but those that a later trade is still to make.

    Parameters
    ----------
    record : Record
    found : Ready
        What is in the way, all of it named as exceptions.
    only : sequence of str, optional
        Of these alone, for a supplement.
    """
    due = _due(found.blockers)
    names = [joint.id for joint in record.house.on_face(found.face) if joint.id not in due]
    return names if only is None else [name for name in names if name in set(only)]


def _due(blockers: Sequence[Blocker]) -> set[str]:
    return {one.joint for one in blockers if one.reason in _DUE and one.joint}


def _as_drawn(house: House) -> Drawing:
    joints = tuple(
        DrawnJoint(joint.id, joint.kind, joint.faces, (joint.place,), joint.length) for joint in house.joints
    )
    return Drawing("", "", (), (), joints)


def _okay(record: Record, entry: Entry) -> Okay:
    index = record.index_of(entry)
    if entry.id in record.imported:
        return Okay(entry, index, (), FROM_A_TABLE)
    stated = entry.what.get("joints")
    if isinstance(stated, (list, tuple)):
        return Okay(entry, index, tuple(str(name) for name in stated))
    house, before = record.then(index, entry.receipt.number)
    if not house.on_face(entry.spot.face):
        return Okay(entry, index, (), "its face is not on the drawing that it was signed on")
    found = ready_face(house, entry.spot.face, before)
    if entry.version > 1 and not {one.id for one in found.blockers} <= set(entry.what["exceptions"]):
        return Okay(entry, index, (), NOT_SOUND)
    due = _due(found.blockers)
    return Okay(entry, index, tuple(j.id for j in house.on_face(entry.spot.face) if j.id not in due))


def _of(cover: Entry, oks: Mapping[str, Okay]) -> Okay | None:
    ok = oks.get(str(cover.what.get("ok", "")))
    return None if ok is None or ok.void else ok


def _same_face(cover: Entry, ok: Okay, record: Record) -> bool:
    """Whether what was covered lies on the face of the OK, by whatever name it goes on its drawing."""
    face = ok.entry.spot.face
    if cover.spot.joint:
        return True
    named = {face, *_heirs(record, ok)}
    for i in range(ok.index + 1, len(record.drawings)):
        named.update(_led(record, ok.index, i).faces.get(face, ()))
    return cover.spot.face in named


def _heirs(record: Record, ok: Okay) -> tuple[str, ...]:
    """Faces of the last drawing that lie on the face of an OK."""
    last = len(record.drawings) - 1
    face = ok.entry.spot.face
    return (face,) if ok.index == last else _led(record, ok.index, last).faces.get(face, ())


def _led(record: Record, first: int, last: int) -> Any:
    drawings = [one.drawing for one in record.drawings[first : last + 1]]
    return links(drawings, record.built[first : last + 1])


def _wholly(record: Record, cover: Entry, ok: Okay) -> Iterator[str]:
    """Joints of the last drawing that lie wholly on what an OK was signed for and a cover hid."""
    last = len(record.drawings) - 1
    only = cover.spot.joint
    listed = ok.joints if not only else tuple(name for name in ok.joints if name == only)
    if ok.index == last:
        yield from (name for name in listed if name in record.states)
        return
    spans: dict[str, list[Span]] = {}
    led = _led(record, ok.index, last)
    for name in listed:
        for link in led.of.get(name, ()):
            spans.setdefault(link.joint, []).append((min(link.first, link.last), max(link.first, link.last)))
    for joint in record.drawings[-1].drawing.joints:
        found = spans.get(joint.id)
        if found and (joint.piece or not without((0.0, joint.length), found, least=2 * SAME_PLACE.value)):
            yield joint.id


def _touched(record: Record, joint: str, ok: Okay) -> str:
    """Say what touched a joint since an OK to cover was signed; '' where nothing did."""
    number = ok.entry.receipt.number
    faces = next((one.faces for one in record.house.joints if one.id == joint), ())
    own = record.about(joint)
    for entry in record.stand:
        day = entry.stamp.time.date().isoformat()
        here = entry.spot.joint == joint or entry.id in own
        if entry.receipt.number <= number:
            continue
        if here and entry.kind == "hole":
            return f"a hole of {day}: {entry.what.get('text', '')}"
        if entry.kind == "opened again" and (here or (not entry.spot.joint and entry.spot.face in faces)):
            return f"opened on {day}: {entry.what.get('reason', '')}"
    if record.states[joint].state is State.PROVED:
        return ""
    gone = {
        entry.supersedes
        for entry in record.entries
        if entry.kind == "withdrawn" and entry.receipt.number > number
    }
    for entry in record.now:
        about = entry.spot.joint == joint or (not entry.spot.joint and entry.spot.face in faces)
        if (
            entry.id in gone
            and about
            and entry.kind in OF_JOINTS | {"hole sealed"}
            and entry.receipt.number < number
        ):
            return f"{entry.kind} of {entry.stamp.time.date().isoformat()} was withdrawn"
    return ""


def _opened(
    record: Record, counting: Sequence[tuple[Entry, Okay]], covered: set[str], why: Mapping[str, str]
) -> Iterator[Opened]:
    """Pieces of covered faces that are not covered: new by a revision, touched since, or made by a later trade."""
    latest = {
        face: ok for _, ok in counting for face in _heirs(record, ok) if not ok.entry.what.get("supplements")
    }
    for joint in record.house.joints:
        if joint.id in covered:
            continue
        for face in joint.faces:
            ok = latest.get(face)
            if ok is None:
                continue
            reason = why.get(joint.id) or _fell_out(record, joint.id, ok)
            if reason:
                yield Opened(joint.id, face, ok.entry.id, reason)


def _fell_out(record: Record, joint: str, ok: Okay) -> str:
    since = _since(record, joint, ok.index)
    if since > ok.index:
        return f"new with revision {record.drawings[since].number}"
    later = [
        entry
        for entry in record.stand
        if (entry.spot.joint == joint or entry.id in record.about(joint))
        and entry.receipt.number > ok.entry.receipt.number
        and entry.kind in {"trade through", "hole", "done", "unit set"}
    ]
    return f"a trade came through on {later[0].stamp.time.date().isoformat()}" if later else ""


def _since(record: Record, joint: str, index: int) -> int:
    """First drawing from which a joint of the last one is there as a whole."""
    last = len(record.drawings) - 1
    whole = record.drawings[-1].drawing.by_id.get(joint)
    if whole is None:
        return index
    for i in range(index, last):
        led = _led(record, i, last)
        spans = [
            (min(link.first, link.last), max(link.first, link.last))
            for found in led.of.values()
            for link in found
            if link.joint == joint
        ]
        if spans and (whole.piece or not without((0.0, whole.length), spans, least=2 * SAME_PLACE.value)):
            return i
    return last
