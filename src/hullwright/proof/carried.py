"""The log as it lies on the drawing of today: each entry led from the drawing that it was made on through every revision since.

An entry names the drawing it was made on; one that names none was made on the one that was current by its device's clock, or
on the first. What a revision took off the wall is proved by nothing that was logged before.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from types import MappingProxyType
from typing import Any, Final

import numpy as np

from hullwright.joints.renamed import kind as kind_now
from hullwright.proof.built import Built
from hullwright.proof.carry import Link, Links, links, without
from hullwright.proof.drawing import Drawing, DrawnJoint, Issued
from hullwright.proof.entries import Entry, Spot, is_number
from hullwright.proof.held import usable
from hullwright.proof.ledger import standing, without_empty
from hullwright.proof.locate import locate, looks_at_place
from hullwright.proof.made import built_by, drawing_of
from hullwright.proof.matching import SAME_PLACE
from hullwright.proof.place import distance_to
from hullwright.proof.site import House

BY_PLACE: Final = frozenset(
    {
        "gauge reading",
        "film added",
        "cut",
        "width",
        "hole",
        "hole sealed",
        "flaw",
        "mended",
        "photo",
        "trouble",
        "staples",
    }
)
"""Kinds about one place on the wall, where they name one."""
OF_JOINTS: Final = frozenset(
    {
        "done", "prepared", "surface", "primed", "seen", "rolled", "probe", "smoke", "gauge reading", "film added", "cut", "width",
        "pull", "peel", "staples", "unit set", "trade through", "flaw", "mended",
    }
)  # fmt: skip
"""Kinds that speak of the joints on a face where they name the face alone."""
WHOLE_FACE: Final = frozenset({"nailing", "straps", "weather", "photo"})
"""Kinds about a face as a whole: each face that lies on it has it."""
Site = Callable[[Drawing], House]
_SPEAK_OF_ENTRIES: Final = frozenset({"withdrawn", "chosen"})


def carried(entries: Sequence[Entry], row: Sequence[Issued], site: Site | None = None) -> tuple[Entry, ...]:
    """Give the entries as they lie on the last drawing.

    Parameters
    ----------
    entries : sequence of Entry
        All of the house, in the order of the store.
    row : sequence of Issued
        All issued drawings.
    site : callable, optional
        Gives what the proof must know of a drawing: then an entry is taken for the joints that it had on its own drawing, by
        the rules of :mod:`hullwright.proof.locate`, and for no others.

    Returns
    -------
    tuple of Entry
        What lies on several joints now comes once for each, under the same id; what lies on none any more is left out.
        New places that people gave are taken in.
    """
    if not row:
        return tuple(entries)
    given = _placed(entries)
    moved: list[tuple[Entry, int]] = []
    for entry in entries:
        if entry.kind != "placed":
            by = given.get(entry.id)
            made_on = drawing_of(entry if by is None else by, row)
            spoken = entry if by is None else replace(entry, spot=_settled(entry, by))
            moved.append((_named_now(spoken, row[made_on].drawing), made_on))
    if len(row) == 1:
        return tuple(entry for entry, _ in moved)
    taken = _taken(moved, row, site) if site else {}
    built = built_by(standing([entry for entry, _ in moved]).entries, row)
    out: list[Entry] = []
    for entry, made_on in moved:
        if made_on == len(row) - 1 or entry.kind in _SPEAK_OF_ENTRIES:
            out.append(entry)
            continue
        way = _Way.of(tuple(one.drawing for one in row[made_on:]), built[made_on:])
        led = way.lead(entry, taken.get(entry.id))
        out += (replace(one, spot=replace(one.spot, revision=row[-1].number)) for one in led)
    return tuple(out)


def _taken(
    moved: Sequence[tuple[Entry, int]], row: Sequence[Issued], site: Site
) -> dict[str, frozenset[str]]:
    """For entries of earlier drawings that speak of joints: those that they took there."""
    out: dict[str, frozenset[str]] = {}
    stand = {entry.id for entry in standing([entry for entry, _ in moved]).entries}
    for index in range(len(row) - 1):
        before = [entry for entry, on in moved if on <= index]
        led = (entry for entry in carried(before, row[: index + 1], site) if entry.id in stand)
        made = [without_empty(usable(entry) or entry) for entry in led]
        here = {entry.id for entry, on in moved if on == index and entry.kind in OF_JOINTS}
        if here:
            found = locate(made, site(row[index].drawing))
            out |= {
                one.entry.id: frozenset(one.joints)
                for one in found
                if one.entry.id in here and (one.joints or one.left_out)
            }
    return out


def _said(value: object, otherwise: float) -> float:
    """A length that was stated [m]; what is no number is held for review anyway, and is led as if nothing had been stated."""
    return float(value) if is_number(value) else otherwise  # type: ignore[arg-type]  # a number


def _named_now(entry: Entry, drawing: Drawing) -> Entry:
    """Give an entry that names joints and faces as they were called before under the names of its drawing."""
    spot = entry.spot
    named = replace(
        spot,
        joint=drawing.names.get(spot.joint, spot.joint),
        kind=kind_now(spot.kind),
        face=drawing.face_names.get(spot.face, spot.face),
    )
    return entry if named == spot else replace(entry, spot=named)


def _placed(entries: Sequence[Entry]) -> dict[str, Entry]:
    gone = {entry.supersedes for entry in entries if entry.supersedes}
    return {
        entry.what["entry"]: entry
        for entry in entries
        if entry.kind == "placed" and entry.id not in gone and isinstance(entry.what.get("entry"), str)
    }


def _settled(entry: Entry, by: Entry) -> Spot:
    to = by.spot
    return replace(
        entry.spot, joint=to.joint, kind=to.kind or entry.spot.kind, face=to.face or entry.spot.face
    )


@dataclass(frozen=True, slots=True)
class _Way:
    """From one drawing to the last.

    Parameters
    ----------
    old, new : Drawing
    led : Links
    named : mapping of str to DrawnJoint
        Joints of the old drawing by id, and by the id of before.
    """

    old: Drawing
    new: Drawing
    led: Links
    named: Mapping[str, DrawnJoint]

    @staticmethod
    def of(drawings: tuple[Drawing, ...], built: tuple[Built, ...]) -> _Way:
        key = (built[1:-1], *(drawing.shape for drawing in drawings))
        if key not in _ways:
            if len(_ways) >= _MOST_WAYS:
                _ways.clear()
            old = drawings[0]
            named = {joint.was: joint for joint in old.joints if joint.was} | dict(old.by_id)
            _ways[key] = _Way(old, drawings[-1], links(drawings, built), named)
        return _ways[key]

    def lead(self, entry: Entry, taken: frozenset[str] | None = None) -> Iterator[Entry]:
        """Give an entry as it lies on the last drawing, once for each joint or face; `taken` are the joints that it took."""
        spot = entry.spot
        if entry.kind in {"ok to cover", "covered"}:
            yield entry
            return
        joints = self._named_by(entry)
        if taken is not None:
            for joint in (self.old.by_id[name] for name in sorted(taken)):
                yield from self._joint(entry, joint)
        elif joints:
            found = [one for joint in joints for one in self._joint(entry, joint)]
            yield from found or self._lone(entry, joints[0])
        elif spot.joint or spot.run or spot.mark or not spot.face:
            yield entry  # what can't be found on its own drawing needs a place on this one
        elif entry.kind in OF_JOINTS and not looks_at_place(entry):
            for joint in self.old.joints:
                if spot.face in joint.faces:
                    yield from self._joint(entry, joint)
        else:
            yield from self._face(entry)

    def _named_by(self, entry: Entry) -> list[DrawnJoint]:
        spot = entry.spot
        names = [name for name in (spot.joint, *_texts(entry.what.get("of"))) if name]
        found = [self.named[name] for name in names if name in self.named]
        marks = {name.casefold() for name in (spot.mark, *names) if name}
        runs = {name for name in (spot.run, *names) if name}
        more = [
            joint
            for joint in self.old.joints
            if (joint.mark and joint.mark.casefold() in marks) or (joint.run and joint.run in runs)
        ]
        return list({joint.id: joint for joint in (*found, *more)}.values())

    def _joint(self, entry: Entry, joint: DrawnJoint) -> Iterator[Entry]:
        if entry.kind == "done":
            start = _said(entry.what.get("from_m"), 0.0)
            end = _said(entry.what.get("to_m"), joint.length)
            for link in self.led.stretch(joint.id, start, end):
                yield self._on(entry, link.joint, _span(link, self.new.by_id[link.joint]))
            return
        spot = entry.spot
        if entry.kind in BY_PLACE and spot.place is not None:
            at = _along(joint, spot.place)
            for link in self.led.stretch(joint.id, at - SAME_PLACE.value, at + SAME_PLACE.value)[:1]:
                yield self._on(entry, link.joint)
            return
        hit: dict[str, list[Link]] = {}
        for link in self.led.of.get(joint.id, ()):
            hit.setdefault(link.joint, []).append(link)
        for name, found in hit.items():
            whole = self.new.by_id[name]
            spans = [(min(one.first, one.last), max(one.first, one.last)) for one in found]
            if whole.piece or not without((0.0, whole.length), spans, least=2 * SAME_PLACE.value):
                yield self._on(entry, name)

    def _on(self, entry: Entry, name: str, what: Mapping[str, Any] | None = None) -> Entry:
        joint, spot = self.new.by_id[name], entry.spot
        faces = [face for face in self.led.faces.get(spot.face, ()) if face in joint.faces]
        moved = replace(
            spot,
            joint=name,
            kind=joint.kind,
            face=faces[0] if faces else joint.faces[0],
            place=self._shifted(spot.place),
            run="",
            mark="",
        )
        said = {key: value for key, value in {**entry.what, **(what or {})}.items() if key != "of"}
        if entry.kind == "done":
            said["substitute"] = True  # whether it fits was judged on the drawing that it was made on
        if what is not None and not what:
            said = {key: value for key, value in said.items() if key not in {"from_m", "to_m"}}
        return replace(entry, spot=moved, what=MappingProxyType(said))

    def _lone(self, entry: Entry, joint: DrawnJoint) -> Iterator[Entry]:
        """What was on a joint that is gone: a hole is still in the wall, the rest is history."""
        if entry.kind == "hole":
            face = self._face_at(entry.spot.place, (entry.spot.face, *joint.faces))
            if face:
                spot = replace(
                    entry.spot,
                    joint="",
                    kind="",
                    face=face,
                    place=self._shifted(entry.spot.place),
                    run="",
                    mark="",
                )
                yield replace(entry, spot=spot)

    def _face_at(self, place: tuple[float, float, float] | None, faces: Sequence[str]) -> str:
        found = [now for face in faces for now in self.led.faces.get(face, ())]
        del place  # the faces of the joint are near enough: a hole is looked for on its wall
        return found[0] if found else ""

    def _face(self, entry: Entry) -> Iterator[Entry]:
        heirs = self.led.faces.get(entry.spot.face, ())
        if entry.kind in {"nailing", "straps"}:
            heirs = tuple(face for face in heirs if face not in self.led.grown)
        elif entry.kind not in WHOLE_FACE:
            heirs = heirs[:1]
        for face in heirs:
            yield replace(entry, spot=replace(entry.spot, face=face, place=self._shifted(entry.spot.place)))

    def _shifted(self, place: tuple[float, float, float] | None) -> tuple[float, float, float] | None:
        if place is None:
            return None
        x, y, z = (a + b for a, b in zip(place, self.led.shift, strict=True))
        return x, y, z


_MOST_WAYS: Final = 256
_ways: dict[tuple[object, ...], _Way] = {}


def _texts(value: object) -> tuple[str, ...]:
    return tuple(one for one in value if isinstance(one, str)) if isinstance(value, (list, tuple)) else ()


def _span(link: Link, joint: DrawnJoint) -> dict[str, float]:
    """From where to where on the new joint; nothing where it is the whole of it."""
    start, end = sorted((link.first, link.last))
    near = 2 * SAME_PLACE.value
    if joint.piece or (start <= near and end >= joint.length - near):
        return {}
    return {"from_m": start, "to_m": end}


def _along(joint: DrawnJoint, place: tuple[float, float, float]) -> float:
    """Where along a joint a place lies [m]."""
    points = np.asarray(joint.points, dtype=np.float64)
    reached, best = 0.0, (distance_to(place, points[:1]), 0.0)
    for start, end in pairwise(points):
        long = float(np.linalg.norm(end - start))
        if long > 0:
            t = float(np.clip((np.asarray(place) - start) @ (end - start) / long**2, 0.0, 1.0))
            best = min(best, (float(np.linalg.norm(start + t * (end - start) - place)), reached + t * long))
        reached += long
    return best[1]
