"""What is each entry about: joints, stretches of them, a place on the wall, a face.

One drawing: entries are looked for on the current one. What can't be found proves nothing and stands under *needs a place*;
what is wrong with the wall counts all the same, for the face if for nothing nearer.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from hullwright.proof.entries import Entry
from hullwright.proof.held import STANDS_ANYWAY, Sheets, held
from hullwright.proof.proves import passes
from hullwright.proof.rules import ABOUT, ENDS, REACH, THERE
from hullwright.proof.site import House, Located, Point, SiteJoint, Stretch
from hullwright.proof.wall import Near, Wall, along

NEEDS_PLACE: Final = "needs a place"
HELD: Final = "held for review"
GAUGED: Final = frozenset({"liquid", "coat", ""})
"""Methods whose film takes a gauge; '' where nobody planned one."""
_DAMAGE: Final = frozenset({"hole", "flaw"})
_LEFT: Final = frozenset({"unsealed", "bare"})
_LOOKED_UP: Final = frozenset({"product", "method"})


@dataclass(slots=True)
class _Facts:
    """What is known of the site before entries with a place are looked up."""

    wall: Wall
    came: Mapping[str, Sequence[Entry]]
    differs: frozenset[str]
    laid: dict[str, set[str]] = field(default_factory=dict[str, set[str]])

    def gauged(self, joint: SiteJoint) -> bool:
        """Whether a film was laid there, or is planned where nothing was laid."""
        return bool(self.laid.get(joint.id, {joint.method}) & GAUGED)


def locate(entries: Sequence[Entry], house: House, sheets: Sheets | None = None) -> tuple[Located, ...]:
    """Say of each entry what it is about.

    Parameters
    ----------
    entries : sequence of Entry
        Standing entries, in the order of the store.
    house : House
        As drawn now.
    sheets : Sheets, optional
        Products and methods that are known; an entry with another is held for review.

    Returns
    -------
    tuple of Located
        In the same order.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from hullwright.proof.entries import Spot, Stamp
    >>> house = House((SiteJoint("P1", "pipe", ("F1",), 0.0, "boot"), SiteJoint("S1", "horizontal seam", ("F1",), 2.0, "liquid")))
    >>> what = {"method": "liquid", "crew": "A", "surface": "wood panel"}
    >>> done = Entry("e", "done", Stamp("lead", "p1", datetime(2024, 5, 3, tzinfo=UTC), 1), Spot(face="F1"), what)
    >>> found = locate([done], house)[0]
    >>> found.joints, found.left_out
    (('S1',), (('P1', 'a piece: say it by its mark or joint'),))
    """
    wall = Wall(house.joints)
    differs = frozenset(entry.spot.face for entry in entries if entry.kind == "as laid differs")
    facts = _Facts(wall, _came(entries, wall), differs)
    found: dict[int, Located] = {}  # by the very entry: one may come once for each joint that it lies on now
    placed: list[Entry] = []
    for entry in entries:
        if sheets is not None and _unknown(entry, sheets):
            found[id(entry)] = Located(entry, place=entry.spot.place, lacking=HELD)
        elif looks_at_place(entry) and wall.has_face(entry.spot.face):
            found[id(entry)] = Located(entry, (), entry.spot.place, (entry.spot.face,))
        elif ABOUT[entry.kind].about == "place":
            placed.append(entry)
        else:
            one = _by_name(entry, facts)
            found[id(entry)] = one
            if entry.kind == "done":
                for joint in one.joints:
                    facts.laid.setdefault(joint, set()).add(entry.what["method"])
    found |= {id(one.entry): one for one in _by_place(placed, facts)}
    by_name = {one.entry.id: one for one in found.values() if one.entry.kind == "gauge reading"}
    for entry in placed:
        thin = by_name.get(str(entry.what.get("reading", "")))
        if entry.kind == "film added" and thin is not None and found[id(entry)].lacking:
            found[id(entry)] = Located(entry, thin.stretches, thin.place, thin.faces, (), thin.lacking)
    return tuple(found[id(entry)] for entry in entries)


def looks_at_place(entry: Entry) -> bool:
    """Say whether somebody looked at one place on a wall and at no joint: it clears a repair there and proves no joint.

    Parameters
    ----------
    entry : Entry
    """
    spot = entry.spot
    named = spot.joint or spot.run or spot.mark or entry.what.get("of")
    return entry.kind == "seen" and spot.place is not None and not named


def due(joint: SiteJoint, came: Mapping[str, Sequence[Entry]]) -> bool:
    """Say whether the stage of a joint has come: it is there to be sealed."""
    return joint.stage in THERE or joint.id in came


def _unknown(entry: Entry, sheets: Sheets) -> bool:
    if entry.kind in STANDS_ANYWAY or not _LOOKED_UP & set(entry.what):
        return False
    return bool(held(entry, sheets))


def came(entries: Sequence[Entry], house: House) -> dict[str, list[Entry]]:
    """Give the entries that ended the stage of each joint, where one did.

    A log of before knew no such entries: there a joint was due once somebody had logged work on that very joint.
    """
    return _came(entries, Wall(house.joints))


def _came(entries: Sequence[Entry], wall: Wall) -> dict[str, list[Entry]]:
    out: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        stages = ENDS.get(entry.kind, frozenset())
        if entry.version == 1 and entry.kind == "done" and entry.spot.joint:
            stages = frozenset({"services", "later"})
        if stages:
            targets, _ = _named(entry, wall)
            for joint in targets or wall.on_face(entry.spot.face):
                if joint.stage in stages:
                    out[joint.id].append(entry)
    return out


def _named(entry: Entry, wall: Wall) -> tuple[tuple[SiteJoint, ...], tuple[tuple[str, str], ...]]:
    """Joints that an entry names by joint, run, mark or as a group, and the names that stand for none."""
    spot, out, lost = entry.spot, dict[str, SiteJoint](), list[tuple[str, str]]()
    for name in (spot.joint or spot.run or spot.mark, *entry.what.get("of", ())):
        joints = wall.called(name) if name else ()
        if name and not joints and not wall.has_face(name):
            lost.append((name, "no such joint, run or mark on this drawing"))
        out |= {joint.id: joint for joint in joints}
    return tuple(out.values()), tuple(lost)


def _by_name(entry: Entry, facts: _Facts) -> Located:
    about = ABOUT[entry.kind]
    spot, wall = entry.spot, facts.wall
    if about.about in {"house", "entry", "lot"}:
        one = wall.joint(spot.joint)
        whole = (Stretch(one.id, 0.0, one.length),) if one else ()
        return Located(entry, whole, spot.place, () if one else _faces(entry, wall))
    if about.about == "face":
        return Located(entry, (), spot.place, _faces(entry, wall))
    joints, lost = _named(entry, wall)
    if spot.joint or spot.run or spot.mark or entry.what.get("of"):
        return _about_named(entry, facts, joints, lost)
    return _about_face(entry, facts)


def _faces(entry: Entry, wall: Wall) -> tuple[str, ...]:
    names = (entry.spot.face, *(name for name in entry.what.get("of", ()) if wall.has_face(name)))
    return tuple(dict.fromkeys(name for name in names if name))


def _about_named(
    entry: Entry, facts: _Facts, joints: Sequence[SiteJoint], lost: tuple[tuple[str, str], ...]
) -> Located:
    left = list(lost)
    taken = []
    for joint in joints:
        why = _misfit(entry, joint, facts, named=True) if entry.kind == "done" else ""
        if why:
            left.append((joint.id, why))
        else:
            taken.append(joint)
    stretches = tuple(_stretch(entry, joint, alone=len(joints) == 1) for joint in taken)
    lacking = "" if taken else (NEEDS_PLACE if not joints else "takes no joint")
    return Located(entry, stretches, entry.spot.place, (), tuple(left), lacking)


def _about_face(entry: Entry, facts: _Facts) -> Located:
    """An entry that names a face only: what that can be taken for is said by the table."""
    wall, face = facts.wall, entry.spot.face
    rule = ABOUT[entry.kind].whole_face
    if not passes(entry.kind, entry.what):
        rule = "everything"  # bad news is never passed over for want of a place
    joints = wall.on_face(face)
    if rule == "nothing" or not joints:
        return Located(entry, faces=(face,) if joints else (), lacking=NEEDS_PLACE)
    left, taken = list[tuple[str, str]](), list[SiteJoint]()
    for joint in joints:
        why = "" if rule == "everything" else _misfit_of_face(entry, joint, facts)
        if why:
            left.append((joint.id, why))
        else:
            taken.append(joint)
    lacking = "" if taken else NEEDS_PLACE
    stretches = tuple(Stretch(joint.id, 0.0, joint.length) for joint in taken)
    return Located(entry, stretches, None, (face,), tuple(left) if entry.kind == "done" else (), lacking)


def _misfit_of_face(entry: Entry, joint: SiteJoint, facts: _Facts) -> str:
    if joint.piece:
        return "a piece: say it by its mark or joint"
    if entry.kind == "done":
        return _misfit(entry, joint, facts, named=False)
    laid = facts.laid.get(joint.id, set())
    return "" if laid else "nothing was done there yet"


def _misfit(entry: Entry, joint: SiteJoint, facts: _Facts, *, named: bool) -> str:
    """Say why a *done* does not take a joint; '' where it does."""
    ended = facts.came.get(joint.id, ())
    if joint.stage not in THERE and not (ended if named else any(after(entry, one) for one in ended)):
        return f"not yet due: its stage ({joint.stage}) has not come"
    if named and (entry.version == 1 or entry.what.get("substitute")):
        return ""  # who names a joint of before, or says that it is a substitute, means that very joint
    if not joint.method:
        return "" if named else "no plan says how it is sealed: name the run or joint"
    return _other_than_planned(entry.what, joint)


def _other_than_planned(what: Mapping[str, Any], joint: SiteJoint) -> str:
    if joint.method in _LEFT:
        return "left unsealed by the plan"
    if joint.method != what["method"]:
        return f"planned with {joint.method}, not {what['method']}"
    product = what.get("product", "")
    if product and joint.product and _same(product) != _same(joint.product):
        return f"planned with {joint.product}, not {product}"
    return ""


def _same(text: str) -> str:
    return " ".join(text.casefold().split())


def after(later: Entry, earlier: Entry) -> bool:
    """Say whether one entry was written after another: on one device by its own numbers, else by those of the store."""
    if later.stamp.device == earlier.stamp.device:
        return later.stamp.sequence > earlier.stamp.sequence
    return later.receipt.number > earlier.receipt.number


def _stretch(entry: Entry, joint: SiteJoint, *, alone: bool) -> Stretch:
    """The part that was said, where one joint was named; else all of it."""
    if not alone or joint.piece:
        return Stretch(joint.id, 0.0, joint.length)
    start, end = float(entry.what.get("from_m", 0.0)), float(entry.what.get("to_m", joint.length))
    return Stretch(joint.id, max(0.0, start), min(end, joint.length))


def _by_place(entries: Sequence[Entry], facts: _Facts) -> Iterable[Located]:
    """Entries about a place on the wall: the joint follows from it; one that was named only helps."""
    by_face: dict[str, list[tuple[Entry, Point]]] = defaultdict(list)
    for entry in entries:
        spot = entry.spot
        joint = facts.wall.joint(spot.joint)
        face = spot.face or (joint.faces[0] if joint else "")
        if entry.what.get("of") or spot.place is None or not facts.wall.has_face(face):
            yield _without_place(entry, facts)
        else:
            by_face[face].append((entry, spot.place))
    for face, items in by_face.items():
        near = facts.wall.near(face, [place for _, place in items])
        for k, (entry, place) in enumerate(items):
            yield _at_place(entry, place, face, Near(near.joints, near.distance[k]), facts)


def _without_place(entry: Entry, facts: _Facts) -> Located:
    joints, lost = _named(entry, facts.wall)
    faces = _faces(entry, facts.wall)
    if entry.kind == "gauge reading":
        joints = tuple(joint for joint in joints if facts.gauged(joint))
    stretches = tuple(Stretch(joint.id, 0.0, joint.length) for joint in joints)
    if joints:
        tapped = tuple(name for name in entry.what.get("of", ()) if facts.wall.has_face(name))
        return Located(entry, stretches, None, tapped, lost)
    if entry.kind == "photo" and faces and not entry.spot.joint:
        return Located(entry, (), None, faces, lost)
    if entry.kind in _DAMAGE and faces:
        if entry.kind == "flaw" and not entry.spot.joint:
            whole = tuple(Stretch(joint.id, 0.0, joint.length) for joint in facts.wall.on_face(faces[0]))
            return Located(entry, whole, None, faces)
        return Located(entry, (), None, faces, lost)
    if entry.kind == "gauge reading" and entry.spot.face in facts.differs:
        return Located(entry, (), None, (entry.spot.face,))
    return Located(entry, (), None, faces, lost, NEEDS_PLACE)


def _at_place(entry: Entry, place: Point, face: str, near: Near, facts: _Facts) -> Located:
    stated = facts.wall.joint(entry.spot.joint)
    measured = entry.kind in {"gauge reading", "film added", "cut"}
    reach = REACH["damage" if entry.kind in _DAMAGE else "measured"]
    best: SiteJoint | None = None
    within = np.flatnonzero(near.distance <= REACH["stated"]).tolist()
    for k in sorted(within, key=near.distance.__getitem__):
        joint, distance = near.joints[k], float(near.distance[k])
        if measured and not facts.gauged(joint):
            continue
        if stated is not None and joint.id == stated.id:
            best = joint
            break
        if best is None and distance <= reach:
            best = joint
    if best is not None:
        at = 0.0 if best.piece else along(best.points, place)
        return Located(entry, (Stretch(best.id, at, at),), place)
    if entry.kind in _DAMAGE or entry.kind == "photo" or face in facts.differs:
        return Located(entry, (), place, (face,))
    return Located(entry, (), place, (), (), NEEDS_PLACE)
