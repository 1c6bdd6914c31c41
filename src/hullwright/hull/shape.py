"""A mass as planes: walls, bottom, roof, each with its label."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from hullwright.building.model import Building, Mass, Neighbour, Point
from hullwright.hull.model import FaceKind
from hullwright.hull.outline import Line, corners, line, offset_point, side_facing
from hullwright.hull.plane_shapes import inside
from hullwright.hull.planes import FLUSH, PARALLEL, Label, Table, Vector

_NEIGHBOUR_KIND = {
    "party wall": FaceKind.PARTY_WALL,
    "garage wall": FaceKind.GARAGE_WALL,
    "shaft": FaceKind.SHAFT_WALL,
}
_BOTTOM_KIND = {
    "slab": FaceKind.GROUND,
    "crawl space": FaceKind.GROUND,
    "basement": FaceKind.GROUND,
    "outside air": FaceKind.FLOOR_OVER_AIR,
    "on mass": None,
}
BOTTOMS = {
    "slab": "slab",
    "crawl space": "crawl floor",
    "basement": "basement floor",
    "outside air": "floor over air",
    "on mass": "floor over air",
}
"""What the lowest face of a body is called, by where the layer runs there."""

_BELOW_BASE = {
    "slab": FaceKind.SLAB_EDGE,
    "crawl space": FaceKind.BASEMENT_WALL,
    "basement": FaceKind.BASEMENT_WALL,
    "outside air": FaceKind.WALL,
    "on mass": FaceKind.WALL,
}
WALL_TAIL = {
    FaceKind.WALL: "",
    FaceKind.SLAB_EDGE: " slab edge",
    FaceKind.BASEMENT_WALL: " foundation wall",
    FaceKind.PARTY_WALL: " party wall",
    FaceKind.GARAGE_WALL: " garage wall",
    FaceKind.SHAFT_WALL: " shaft wall",
}


@dataclass(frozen=True, slots=True)
class RoofPlane:
    """A roof plane that cuts the mass: label number, outward normal, offset [m]."""

    label: int
    normal: Vector
    offset: float


@dataclass(frozen=True, slots=True)
class Parapet:
    """The hollow inside a parapet.

    Parameters
    ----------
    insets : tuple of float
        How far in it starts, by side [m]; 0 where a higher mass stands against the side and there is none.
    floor : float
        Height of the roof in it [m].
    sides : tuple of int
        Label numbers of its sides.
    bottom : int
        Label number of its floor.
    """

    insets: tuple[float, ...]
    floor: float
    sides: tuple[int, ...]
    bottom: int


@dataclass(frozen=True, slots=True)
class Shape:
    """One mass, ready to be made into a solid.

    Parameters
    ----------
    lines : tuple of Line
        Walls in plan, outward normals.
    levels : tuple of float
        Heights of the bottom, of each change along the walls, and of the top of the prism [m].
    walls : tuple of tuple of int
        Label number by band (from the bottom up) and side.
    bottom, top : int
        Label numbers.
    flat : bool
        The top of the prism is a face (flat roof, ceiling, parapet); else the roof planes cut it.
    """

    mass: Mass
    lines: tuple[Line, ...]
    levels: tuple[float, ...]
    walls: tuple[tuple[int, ...], ...]
    bottom: int
    top: int
    flat: bool
    roof: tuple[RoofPlane, ...]
    parapet: Parapet | None

    def outline(self, growth: float = 0.0) -> list[Point]:
        """Corners in plan with every wall moved out by `growth` [m]."""
        return corners(self.lines, growth, self.mass.outline)

    def hollow(self, parapet: Parapet, growth: float = 0.0) -> list[Point]:
        """Corners in plan of the hollow inside the parapet, every side moved in by `growth` [m]."""
        lines = [
            (a, b, d - inset - growth if inset else d + 2 * growth)  # cuts through where there is none
            for (a, b, d), inset in zip(self.lines, parapet.insets, strict=True)
        ]
        return corners(lines, 0.0, self.mass.outline)


def shapes(building: Building, table: Table) -> list[Shape]:
    """Make a shape of each mass, sorted by name; flush walls, floors and roofs share planes of `table`."""
    known = _Known(table, [], [])
    made = []
    for mass in sorted(building.masses, key=lambda m: m.id):
        neighbours = [n for n in building.neighbours if n.mass == mass.id]
        others = [m for m in building.masses if m.inside and m.id != mass.id]
        made.append(_Maker(mass, neighbours, others, known).shape())
    return made


@dataclass(frozen=True, slots=True)
class _Known:
    """Planes, heights and wall lines that the masses before have set."""

    table: Table
    heights: list[float]
    lines: list[Line]


class _Maker:
    """Makes one shape."""

    def __init__(
        self,
        mass: Mass,
        neighbours: Sequence[Neighbour],
        others: Sequence[Mass],
        known: _Known,
    ) -> None:
        self.mass, self.neighbours, self.others = mass, neighbours, others
        self.table, self.heights, self.known = known.table, known.heights, known.lines
        self.lines = tuple(self._line(p, q) for p, q in _sides(mass.outline))
        self.points = corners(self.lines, 0.0, mass.outline)
        self.base, self.eave = self._height(mass.base), self._height(mass.wall_top)
        self.low = self._height(mass.bottom.level)

    def shape(self) -> Shape:
        mass = self.mass
        ceiling = mass.inside and mass.top == "ceiling"
        flat = ceiling or mass.roof.form == "flat"
        parapet = not ceiling and mass.roof.form == "flat" and mass.roof.parapet_height > 0
        top = self._height(self.eave + mass.roof.parapet_height) if parapet else self.eave
        levels, walls = self._walls(top)
        roof = () if flat else tuple(self._roof())
        kind = FaceKind.CEILING if ceiling else FaceKind.PARAPET_TOP if parapet else FaceKind.FLAT_ROOF
        part = "ceiling" if ceiling else "parapet top" if parapet else "roof"
        return Shape(
            mass,
            self.lines,
            levels if flat else (*levels[:-1], self._over(roof)),
            walls,
            self._level(self.low, BOTTOMS[mass.bottom.kind], _BOTTOM_KIND[mass.bottom.kind], up=False),
            self._level(top, part, kind if flat else None, up=True),
            flat,
            roof,
            self._parapet() if parapet else None,
        )

    def _line(self, p: Point, q: Point) -> Line:
        new = line(p, q)
        for old in self.known:
            dot = old[0] * new[0] + old[1] * new[1]
            if abs(dot) > PARALLEL and all(abs(old[0] * x + old[1] * y - old[2]) < FLUSH for x, y in (p, q)):
                return old if dot > 0 else (-old[0], -old[1], -old[2])
        self.known.append(new)
        return new

    def _height(self, z: float) -> float:
        for old in self.heights:
            if abs(old - z) < FLUSH:
                return old
        self.heights.append(z)
        return z

    def _add(self, part: str, side: str, kind: FaceKind | None, plane: tuple[int, int], **more: bool) -> int:
        return self.table.label(
            Label(self.mass.id, part, side, kind, *plane, cold=not self.mass.inside, **more)
        )

    def _level(self, z: float, part: str, kind: FaceKind | None, *, up: bool) -> int:
        sign = 1.0 if up else -1.0
        plane = self.table.plane((0.0, 0.0, sign), sign * z, [(x, y, z) for x, y in self.points])
        return self._add(part, "", kind, plane)

    def _walls(self, top: float) -> tuple[tuple[float, ...], tuple[tuple[int, ...], ...]]:
        cuts = {self.low, top}
        if self.low < self.base - FLUSH:
            cuts.add(self.base)
        for neighbour in self.neighbours:
            for storey in neighbour.storeys:
                cuts.add(self._height(self.mass.floor(storey)))
                if storey + 1 < len(self.mass.storeys):
                    cuts.add(self._height(self.mass.floor(storey + 1)))
        levels = tuple(sorted(z for z in cuts if self.low <= z <= top))
        planes = [
            self.table.plane((a, b, 0.0), d, [(*p, 0.0), (*q, 0.0)])
            for (a, b, d), (p, q) in zip(self.lines, _sides(self.points), strict=True)
        ]
        known: dict[tuple[int, FaceKind, bool, bool], int] = {}
        bands = []
        for low, high in pairwise(levels):
            band = []
            for side, plane in enumerate(planes):
                kind, rated, declared = self._wall_kind(side, (low + high) / 2)
                key = (side, kind, rated, declared)
                if key not in known:
                    name = self.mass.sides[side]
                    known[key] = self._add(
                        name + WALL_TAIL[kind], name, kind, plane, rated=rated, declared=declared
                    )
                band.append(known[key])
            bands.append(tuple(band))
        return levels, tuple(bands)

    def _wall_kind(self, side: int, z: float) -> tuple[FaceKind, bool, bool]:
        if z < self.base:
            return _BELOW_BASE[self.mass.bottom.kind], False, False
        last = len(self.mass.storeys) - 1
        storey = next((s for s in range(last) if z < self.mass.floor(s + 1)), last)
        for neighbour in self.neighbours:
            if neighbour.side == side and (not neighbour.storeys or storey in neighbour.storeys):
                return _NEIGHBOUR_KIND[neighbour.kind], neighbour.rated, True
        return FaceKind.WALL, False, False

    def _roof(self) -> Iterable[RoofPlane]:
        roof = self.mass.roof
        if roof.form == "hip":
            for side, (a, b, d) in enumerate(self.lines):
                yield self._roof_plane(side, (a, b), d)
            return
        turn = math.radians(roof.ridge)
        along = (math.sin(turn), math.cos(turn))
        downhill = [along] if roof.form == "shed" else [(along[1], -along[0]), (-along[1], along[0])]
        for a, b in downhill:
            side = side_facing(self.lines, self.points, (a, b))
            na, nb, _ = self.lines[side]
            if na * a + nb * b > 1 - 1e-7:  # the same direction but for rounding: take the wall's own
                a, b = na, nb  # noqa: PLW2901
            yield self._roof_plane(side, (a, b), max(a * x + b * y for x, y in self.points))

    def _roof_plane(self, side: int, downhill: Point, reach: float) -> RoofPlane:
        pitch = math.radians(self.mass.roof.pitch)
        s, c = math.sin(pitch), math.cos(pitch)
        normal = (s * downhill[0], s * downhill[1], c)
        offset = s * reach + c * self.eave
        spots = [(x, y, (offset - normal[0] * x - normal[1] * y) / c) for x, y in self.points]
        number, facing = self.table.plane(normal, offset, spots)
        name = self.mass.sides[side]
        label = self._add(f"roof {name}", name, FaceKind.ROOF, (number, facing))
        return RoofPlane(label, *self.table.oriented(number, facing))

    def _over(self, roof: Sequence[RoofPlane]) -> float:
        """Give a height above all of the roof [m]."""
        return 1.0 + max(
            (r.offset - r.normal[0] * x - r.normal[1] * y) / r.normal[2] for r in roof for x, y in self.points
        )

    def _parapet(self) -> Parapet:
        thick = self.mass.roof.parapet_thickness
        walled = [self._walled(p, q) for p, q in _sides(self.points)]
        insets = [
            0.0 if w and all(walled[j] for j in _in_line(self.lines, i)) else thick
            for i, w in enumerate(walled)
        ]
        sides = []
        for i, ((a, b, d), ends) in enumerate(zip(self.lines, _sides(self.points), strict=True)):
            spots = [(*offset_point(p, (a, b), -insets[i]), 0.0) for p in ends]
            plane = self.table.plane((-a, -b, 0.0), insets[i] - d, spots)
            name = self.mass.sides[i]
            sides.append(self._add(f"{name} parapet inside", name, FaceKind.PARAPET_INSIDE, plane))
        bottom = self._level(self.eave, "roof", FaceKind.FLAT_ROOF, up=True)
        return Parapet(tuple(insets), self.eave, tuple(sides), bottom)

    def _walled(self, p: Point, q: Point) -> bool:
        """Whether a higher mass stands against the whole of a side: there is no parapet there."""
        a, b, _ = line(p, q)
        low, high = self.eave, self.eave + self.mass.roof.parapet_height
        shares = [0.005, *(k / 8 for k in range(1, 8)), 0.995]
        spots = [(p[0] + t * (q[0] - p[0]) + 0.01 * a, p[1] + t * (q[1] - p[1]) + 0.01 * b) for t in shares]
        tall = [m for m in self.others if m.bottom.level <= low + FLUSH and m.wall_top >= high - FLUSH]
        return bool(tall) and all(any(inside(spot, [m.outline]) for m in tall) for spot in spots)


def _in_line(lines: Sequence[Line], side: int) -> Iterable[int]:
    """Give the sides next to one that run on in its line."""
    for other in (side - 1, (side + 1) % len(lines)):
        if abs(lines[side][0] * lines[other][1] - lines[side][1] * lines[other][0]) < 1e-6:
            yield other


def _sides(points: Sequence[Point]) -> list[tuple[Point, Point]]:
    return [(points[i], points[(i + 1) % len(points)]) for i in range(len(points))]
