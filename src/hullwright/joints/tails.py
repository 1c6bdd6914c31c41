"""Framing that runs through the layer at eaves and rakes: rafter tails, lookouts, ridge beams.

Rafter tails stand on centre from the left end of the side, seen from outside, on the part of it that has an eave. Lookouts stand
on centre up each rake, the first one spacing from the eave. A single ridge beam sits at the highest point of the rakes; several
are spread evenly over the side.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Building, Through
from hullwright.errors import InputError, Problem
from hullwright.hull.model import Hull
from hullwright.joints.draft import Draft
from hullwright.joints.figures import figure
from hullwright.joints.model import JointKind

Floats = NDArray[np.float64]
_LINE: Final = {"rafter tails": JointKind.EAVE, "lookouts": JointKind.RAKE, "ridge beams": JointKind.RAKE}
_PIECE: Final = {
    "rafter tails": JointKind.RAFTER_TAIL,
    "lookouts": JointKind.RAFTER_TAIL,
    "ridge beams": JointKind.BEAM,
}


def on_centre(length: float, spacing: float | None, count: int | None) -> Floats:
    """Places of pieces along a side [m].

    Parameters
    ----------
    length : float
        Of the side [m].
    spacing : float or None
        On centre [m]: one at each end of a whole number of spaces, ``floor(L/s) + 1`` pieces.
    count : int or None
        Number of pieces where no spacing is stated, the first and last at the ends.

    Returns
    -------
    ndarray

    Examples
    --------
    >>> len(on_centre(12.0, 0.6, None))
    21
    """
    if spacing is not None:
        places: Floats = spacing * np.arange(0.0, np.floor(length / spacing + 1e-6) + 1)
        return places
    if count == 1:
        return np.array([length / 2])
    return np.linspace(0.0, length, count or 0)


def tail_drafts(building: Building, hull: Hull, edges: Sequence[Draft]) -> list[Draft]:
    """Pieces of framing through the layer.

    Parameters
    ----------
    building : Building
    hull : Hull
    edges : sequence of Draft
        Joints along hull edges, among them eaves and rakes.

    Returns
    -------
    list of Draft

    Raises
    ------
    InputError
        Where a side has no eave or rake for the pieces stated on it.
    """
    drafts: list[Draft] = []
    problems: list[Problem] = []
    for through in building.through:
        lines = _lines(building, hull, through, edges)
        if lines:
            drafts += _pieces(building, hull, through, lines)
        else:
            problems.append(_no_line(building, through))
    if problems:
        raise InputError("framing through the layer can't be placed", problems)
    return drafts


def _no_line(building: Building, through: Through) -> Problem:
    mass = building.mass(through.mass)
    line = _LINE[through.kind].value
    return Problem(
        f"{through.kind} of {through.mass}: the layer has no {line} on side {mass.sides[through.side]}",
        through.where,
        got=f"roof {mass.roof.form}, barrier at the {mass.top}",
        allowed=f"a side with {'an eave' if line == 'eave' else 'a rake'} of the layer",
        hint="name the right side, or leave them out: framing above a ceiling barrier does not pass it",
    )


def _lines(building: Building, hull: Hull, through: Through, edges: Sequence[Draft]) -> list[Draft]:
    side = building.mass(through.mass).sides[through.side]
    walls = {
        number
        for number, face in enumerate(hull.faces)
        if through.mass in face.masses and face.side == side and abs(face.tilt - 90) < 1
    }
    kind = _LINE[through.kind]
    start, along, length = _side(building, through)
    lines: list[Draft] = []
    for draft in edges:
        if draft.kind is not kind or walls.isdisjoint(draft.faces):
            continue
        span = np.sort((draft.points[:, :2] - start) @ along)
        if span[0] < length - 1e-3 and span[1] > 1e-3:
            lines.append(draft)
    return lines


def _side(building: Building, through: Through) -> tuple[Floats, Floats, float]:
    outline = building.mass(through.mass).outline
    start = np.array(outline[through.side])
    step = np.array(outline[(through.side + 1) % len(outline)]) - start
    length = float(np.linalg.norm(step))
    return start, step / length, length


def _places(building: Building, through: Through, lines: Sequence[Draft]) -> list[tuple[int, Draft, Floats]]:
    """Number along the side, line and point of each piece; pieces of a side keep their number whatever part of it is an eave."""
    start, along, length = _side(building, through)
    if through.kind == "lookouts":
        return [(i, line, point) for i, (line, point) in enumerate(_up_the_rakes(lines, through))]
    if through.kind == "ridge beams" and through.count == 1:
        top = max(lines, key=lambda line: float(line.points[:, 2].max()))
        return [(0, top, top.points[int(np.argmax(top.points[:, 2]))])]
    spots = on_centre(length, through.spacing, through.count)
    if through.kind == "ridge beams" and through.count:
        spots = (np.arange(through.count) + 0.5) * length / through.count
    half = min(through.width, length) / 2
    spots = np.clip(spots, half, length - half)
    found: list[tuple[int, Draft, Floats]] = []
    spans = [((line.points[:, :2] - start) @ along).tolist() for line in lines]
    for number, spot in enumerate(spots.tolist()):
        for line, ends in zip(lines, spans, strict=True):
            share = (spot - ends[0]) / (ends[1] - ends[0]) if abs(ends[1] - ends[0]) > 1e-9 else -1.0
            if -1e-6 <= share <= 1 + 1e-6:
                found.append((number, line, line.points[0] + share * (line.points[1] - line.points[0])))
                break
    return found


def _up_the_rakes(lines: Sequence[Draft], through: Through) -> list[tuple[Draft, Floats]]:
    """Lookouts: on centre up each rake, or a stated number spread over all of them."""
    found: list[tuple[Draft, Floats]] = []
    total = sum(line.length for line in lines)
    before = 0.0
    for line in lines:
        low, high = sorted(line.points, key=lambda point: float(point[2]))
        if through.spacing is not None:
            number = int(np.ceil(line.length / through.spacing - 1e-6)) - 1
            places = np.arange(1, number + 1) * through.spacing
        else:
            places = (np.arange(through.count or 0) + 0.5) * total / (through.count or 1) - before
            places = places[(places >= 0) & (places < line.length)]
        found += [(line, low + place / line.length * (high - low)) for place in places.tolist()]
        before += line.length
    return found


def _pieces(building: Building, hull: Hull, through: Through, lines: Sequence[Draft]) -> list[Draft]:
    side = building.mass(through.mass).sides[through.side]
    return [
        Draft(
            name=f"{through.mass}/{side}:{through.kind}:{number + 1}",
            kind=_PIECE[through.kind],
            points=point[None, :],
            faces=line.faces,
            substrates=(hull.faces[line.faces[0]].substrate, "wood"),
            gap=figure(building, "ring_gap"),
            depth=figure(building, "panel_thickness"),
            count=1.0,
            width=through.width,
            section_depth=through.depth,
            source=f"{through.mass}/{side}:{through.kind}",
            mass=through.mass,
        )
        for number, line, point in _places(building, through, lines)
    ]
