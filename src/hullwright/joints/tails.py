"""Framing that runs through the layer at eaves and rakes: rafter tails, lookouts, ridge beams.

Rafter tails stand on centre from the left end of the side, seen from outside, on the part of it that has an eave: from the very end
at a gable, from the first space on at a hip or an inside corner, where no common rafter stands. At a hip corner one hip rafter runs
out; it belongs to the side that ends there on the right hand where that side has tails, else to the other (common practice, no
source). Lookouts stand on centre up each rake, the first one spacing from the eave. A single ridge beam sits at the highest point
of the rakes; several are spread evenly over the side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Building, Through
from hullwright.errors import InputError, Problem
from hullwright.hull.model import Hull
from hullwright.joints.draft import Draft
from hullwright.joints.eave_ends import SAME, EaveEnd, closed_ends, places
from hullwright.joints.figures import figure
from hullwright.joints.model import JointKind
from hullwright.joints.naming import HIP_ROW, ROWS, TAILS

Floats = NDArray[np.float64]
_LINE: Final = {"rafter tails": JointKind.EAVE, "lookouts": JointKind.RAKE, "ridge beams": JointKind.RAKE}
_PIECE: Final = {
    "rafter tails": JointKind.RAFTER_TAIL,
    "lookouts": JointKind.RAFTER_TAIL,
    "ridge beams": JointKind.BEAM,
}

_SAID: Final = {"rafter tails": "rafter tail", "lookouts": "lookout", "ridge beams": "ridge beam"}
_END: Final = {1: "left end", 2: "right end"}

_PARALLEL: Final = 1e-4
_FLUSH: Final = (
    2e-3  # m: an outline as stated may lie this far off the plane that its wall was made flush with
)


@dataclass(frozen=True, slots=True)
class _Piece:
    """A piece on its way: its row and number on its side, what it was called, the joint it passes, where."""

    row: int
    number: int
    was: str
    line: Draft
    point: Floats


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
    rows = [(through, _lines(building, hull, through, edges)) for through in building.through]
    problems = [_no_line(building, through) for through, lines in rows if not lines]
    if problems:
        raise InputError("framing through the layer can't be placed", problems)
    ends = [closed_ends(lines, edges) for _, lines in rows]
    drafts: list[Draft] = []
    for (through, lines), closed in zip(rows, ends, strict=True):
        pieces = _places(building, through, lines, closed)
        drafts += [_draft(building, hull, through, piece) for piece in pieces]
    throughs = [through for through, _ in rows]
    return drafts + [_draft(building, hull, *found) for found in _hips(building, throughs, ends)]


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
    start, along, length = _side(building, through)
    outward = np.array([along[1], -along[0], 0.0])
    walls = {  # by place, not by name: where flush masses merge the face has the name of one of them
        number
        for number, face in enumerate(hull.faces)
        if through.mass in face.masses
        and face.normal @ outward > 1 - _PARALLEL
        and abs(face.offset - float(start @ outward[:2])) < _FLUSH
    }
    kind = _LINE[through.kind]
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


def _places(
    building: Building, through: Through, lines: Sequence[Draft], closed: Sequence[EaveEnd]
) -> list[_Piece]:
    """Pieces of one row; those on a side keep their number whatever part of it is an eave."""
    if through.kind == "lookouts":
        return [_piece(through, i, *found) for i, found in enumerate(_up_the_rakes(lines, through), start=1)]
    if through.kind == "ridge beams" and through.count == 1:
        top = max(lines, key=lambda line: float(line.points[:, 2].max()))
        return [_piece(through, 1, top, top.points[int(np.argmax(top.points[:, 2]))])]
    start, along, length = _side(building, through)
    if through.kind == "rafter tails":
        barred = [float((end.point[:2] - start) @ along) for end in closed]
        spots = _commons(through, lines, (start, along, length), barred)
    else:
        spots, barred = _beams(through, length), []
    half = min(through.width, length) / 2
    found: list[_Piece] = []
    spans = [((line.points[:, :2] - start) @ along).tolist() for line in lines]
    for number, stated in enumerate(spots.tolist(), start=1):
        if any(abs(stated - bar) < through.width for bar in barred):
            continue
        spot = min(max(stated, half), length - half)  # its whole width on the side
        for line, ends in zip(lines, spans, strict=True):
            share = (spot - ends[0]) / (ends[1] - ends[0]) if abs(ends[1] - ends[0]) > 1e-9 else -1.0
            if -1e-6 <= share <= 1 + 1e-6:
                point = line.points[0] + share * (line.points[1] - line.points[0])
                found.append(_piece(through, number, line, point))
                break
    return found


def _commons(
    through: Through, lines: Sequence[Draft], side: tuple[Floats, Floats, float], barred: Sequence[float]
) -> Floats:
    start, along, length = side
    ends = np.concatenate([(line.points[:, :2] - start) @ along for line in lines])
    return places(
        length,
        spacing=through.spacing,
        count=through.count,
        closed=(any(bar < SAME for bar in barred), any(bar > length - SAME for bar in barred)),
        from_right=bool(ends.min() > SAME and ends.max() > length - SAME),
    )


def _beams(through: Through, length: float) -> Floats:
    if through.spacing is None and through.count:
        evenly: Floats = (np.arange(through.count) + 0.5) * length / through.count
        return evenly
    return places(
        length, spacing=through.spacing, count=through.count, closed=(False, False), from_right=False
    )


def _hips(
    building: Building, throughs: Sequence[Through], ends: Sequence[Sequence[EaveEnd]]
) -> list[tuple[Through, _Piece]]:
    """One hip rafter at each hip corner, whichever of the two sides have tails."""
    offers: list[tuple[bool, str, int, Through, EaveEnd]] = []
    for through, closed in zip(throughs, ends, strict=True):
        if through.kind != "rafter tails":
            continue
        start, along, length = _side(building, through)
        offers += [
            (float((end.point[:2] - start) @ along) < length / 2, through.mass, through.side, through, end)
            for end in closed
            if end.hip
        ]
    offers.sort(key=lambda offer: offer[:3])
    taken: list[tuple[Through, _Piece]] = []
    for left, _, _, through, end in offers:
        if all(np.linalg.norm(piece.point - end.point) >= SAME for _, piece in taken):
            was = f"hip {'left' if left else 'right'}"
            taken.append((through, _Piece(HIP_ROW, 1 if left else 2, was, end.line, end.point)))
    return taken


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


def _piece(through: Through, number: int, line: Draft, point: Floats) -> _Piece:
    return _Piece(ROWS[through.kind], number, str(number), line, point)


def _draft(building: Building, hull: Hull, through: Through, piece: _Piece) -> Draft:
    side = f"{through.mass}/{building.mass(through.mass).sides[through.side]}"
    row = f"{side}:{through.kind}"
    return Draft(
        name=f"{side}/{TAILS}.{piece.row}.{piece.number}",
        was=f"{row}:{piece.was}",
        kind=_PIECE[through.kind],
        points=piece.point[None, :],
        faces=piece.line.faces,
        substrates=(hull.faces[piece.line.faces[0]].substrate, "wood"),
        gap=figure(building, "ring_gap"),
        depth=figure(building, "panel_thickness"),
        count=1.0,
        width=through.width,
        section_depth=through.depth,
        source=row,
        mass=through.mass,
        title=f"{_SAID[through.kind]} {piece.number}"
        if piece.row != HIP_ROW
        else f"hip rafter, {_END[piece.number]}",
    )
