"""Where an opening or penetration that had been cut went away, the hole in the wall stays: a patch, until it is sealed.

What was never cut leaves none: only an entry that speaks of it shows that it was there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from shapely.geometry import MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from hullwright.material.distributions import Floats
from hullwright.proof.built import PATCH
from hullwright.proof.carried import carried
from hullwright.proof.drawing import Drawing, DrawnFace, DrawnJoint, DrawnPart, Issued
from hullwright.proof.entries import Entry
from hullwright.proof.made import PATCH_OF, built_by, names_of
from hullwright.proof.matching import SAME_PLACE, Plane, match


@dataclass(frozen=True, slots=True)
class Patch:
    """A hole that a revision left in the wall.

    Parameters
    ----------
    id : str
        Of its joint: mark, 0, number of the revision that left it.
    mark : str
        Of what had been there.
    revision : int
    face : str
        On the drawing that it stands on.
    outline : tuple of Point
        What is to be closed [m].
    """

    id: str
    mark: str
    revision: int
    face: str
    outline: tuple[tuple[float, float, float], ...]

    def to_json(self) -> dict[str, Any]:
        """Give the patch."""
        return {
            "joint": self.id,
            "mark": self.mark,
            "revision": self.revision,
            "face": self.face,
            "outline_m": [[round(x, 4) for x in point] for point in self.outline],
        }

    def joint(self) -> DrawnJoint:
        """Give the joint of the patch: one piece at its middle, of the size of what is to be closed."""
        points = np.asarray(self.outline)
        x, y, z = points.mean(axis=0).tolist()
        spread = points.max(axis=0) - points.min(axis=0)
        width, height = float(np.hypot(spread[0], spread[1])), float(spread[2])
        if height < 1e-3:  # on a level face
            width, height = float(spread[0]), float(spread[1])
        return DrawnJoint(
            self.id,
            PATCH,
            (self.face,),
            ((x, y, z),),
            0.0,
            stage="sheathing",
            run=f"{self.face}/0",
            width=width,
            depth=height,
            name=f"patch where {self.mark} was",
        )


def with_patches(
    row: Sequence[Issued], entries: Sequence[Entry]
) -> tuple[tuple[Issued, ...], tuple[Patch, ...]]:
    """Add to each issued drawing the patches that stand on it.

    Parameters
    ----------
    row : sequence of Issued
    entries : sequence of Entry
        Those that stand.

    Returns
    -------
    tuple
        The drawings with the joints of their patches; the patches of the last one.
    """
    if len(row) < 2:
        return tuple(row), ()
    built = built_by(entries, row)
    out = [row[0]]
    standing: tuple[Patch, ...] = ()
    for i in range(1, len(row)):
        standing = _next(row[i - 1].drawing, row[i], built[i - 1].marks, standing)
        joints = tuple(sorted((*row[i].drawing.joints, *(p.joint() for p in standing)), key=lambda j: j.id))
        drawing = replace(row[i].drawing, joints=joints) if standing else row[i].drawing
        out.append(replace(row[i], drawing=drawing))
    return tuple(out), standing


def not_closed(row: Sequence[Issued], entries: Sequence[Entry]) -> tuple[Patch, ...]:
    """Give the patches on the last drawing of which nobody said that they are done.

    Parameters
    ----------
    row : sequence of Issued
    entries : sequence of Entry
        Those that stand.
    """
    drawn, patches = with_patches(row, entries)
    done = {name for entry in carried(entries, drawn) if entry.kind == "done" for name in names_of(entry)}
    return tuple(patch for patch in patches if patch.id not in done)


def _next(old: Drawing, new: Issued, cut: frozenset[str], before: Sequence[Patch]) -> tuple[Patch, ...]:
    """Patches on a drawing: those of the one before that are left, and what went away since."""
    matched = match(old, new.drawing)
    shift = np.asarray(matched.shift)
    kept = {was for was, _ in matched.unmoved}
    faces = {face.id: face for face in new.drawing.faces}
    heirs: dict[str, list[DrawnFace]] = {}
    for pair in matched.pairs:
        heirs.setdefault(pair.old, []).append(faces[pair.new])
    out: list[Patch] = []
    for patch in before:
        ring = np.asarray(patch.outline) + shift
        out += _left(patch.id, (patch.mark, patch.revision), ring, heirs.get(patch.face, ()), new.drawing)
    for part in old.parts:
        if part.cuts and part.mark in cut and part.mark not in kept:
            name = f"{part.mark}{PATCH_OF}{new.number}"
            ring = _ring(part, old) + shift
            out += _left(name, (part.mark, new.number), ring, heirs.get(part.face, ()), new.drawing)
    return tuple(out)


def _left(
    name: str, said: tuple[str, int], ring: Floats, faces: Sequence[DrawnFace], drawing: Drawing
) -> Iterator[Patch]:
    """What of a hole is neither in a new opening nor off the wall; slivers under half an inch are none."""
    pieces: list[tuple[str, Floats]] = []
    for face in faces:
        plane = Plane(face, np.zeros(3))
        if float(plane.off(ring).max()) > SAME_PLACE.value:
            continue
        open_now = [
            _shape(part, plane, drawing) for part in drawing.parts if part.cuts and part.face == face.id
        ]
        rest = Polygon(plane.flat(ring)).intersection(plane.area)
        rest = rest.difference(unary_union([one.buffer(SAME_PLACE.value / 2) for one in open_now]))
        if float(rest.area) < float(Polygon(plane.flat(ring)).area) * (1 - 1e-9):
            half = SAME_PLACE.value / 2
            rest = rest.buffer(-half, join_style="mitre").buffer(half, join_style="mitre")
        pieces += [(face.id, plane.lift(np.array(one.exterior.coords)[:-1])) for one in _polygons(rest)]
    for i, (face_id, outline) in enumerate(pieces, start=1):
        points = tuple((float(x), float(y), float(z)) for x, y, z in outline.tolist())
        yield Patch(name if len(pieces) == 1 else f"{name}.{i}", *said, face_id, points)


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    return [one for one in shape.geoms if isinstance(one, Polygon)] if isinstance(shape, MultiPolygon) else []


def _ring(part: DrawnPart, drawing: Drawing) -> Floats:
    """Outline of a part in space; of a round one a circle."""
    points: Floats = np.asarray(part.outline, dtype=np.float64)
    if len(points) > 2:
        return points
    plane = Plane(next(face for face in drawing.faces if face.id == part.face), np.zeros(3))
    circle = Point(*plane.flat(points[:1])[0]).buffer(part.width / 2, quad_segs=4)
    return plane.lift(np.array(circle.exterior.coords)[:-1])


def _shape(part: DrawnPart, plane: Plane, drawing: Drawing) -> Polygon:
    return Polygon(plane.flat(_ring(part, drawing)))
