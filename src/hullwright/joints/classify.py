"""Which joint of the trade is that edge? Rules by the kinds of both faces, inside or outside angle, and direction.

There is no catch-all: an edge without a rule has no joint, and the continuity report lists it as open.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from hullwright.hull.model import Edge, Face, FaceKind
from hullwright.joints.model import JointKind

Run = Literal["level", "upright", "sloped"]
FLUSH: Final = 1.0  # deg: flatter than that is one plane
_LEVEL: Final = 2e-3  # rise per length that still counts as level
_UPRIGHT: Final = 2e-3  # run per length that still counts as upright

_ROOFS: Final = frozenset({FaceKind.ROOF, FaceKind.FLAT_ROOF})
_FOUNDATION: Final = frozenset({FaceKind.BASEMENT_WALL, FaceKind.SLAB_EDGE})
_NEIGHBOURS: Final = {
    FaceKind.PARTY_WALL: JointKind.PARTY_WALL,
    FaceKind.SHAFT_WALL: JointKind.SHAFT,
    FaceKind.GARAGE_WALL: JointKind.GARAGE_CONTACT,
}
_CONCRETE: Final = frozenset({FaceKind.GROUND, *_FOUNDATION})


@dataclass(frozen=True, slots=True)
class Angle:
    """How two faces meet.

    Parameters
    ----------
    dihedral : float
        > 0 outside, < 0 inside [deg].
    direction : str
        ``level``, ``upright`` or ``sloped``.
    same_substrate : bool
    """

    dihedral: float
    direction: Run
    same_substrate: bool

    @property
    def flush(self) -> bool:
        """One plane."""
        return abs(self.dihedral) < FLUSH

    @property
    def outside(self) -> bool:
        """Outside angle."""
        return self.dihedral >= FLUSH


def direction(edge: Edge) -> Run:
    """Direction of an edge.

    Examples
    --------
    >>> import numpy as np
    >>> direction(Edge(0, 1, np.zeros(3), np.array([0.0, 0.0, 2.0]), 90.0))
    'upright'
    """
    x, y, z = (edge.end - edge.start).tolist()
    length = math.hypot(x, y, z)
    if abs(z) <= _LEVEL * length:
        return "level"
    if math.hypot(x, y) <= _UPRIGHT * length:
        return "upright"
    return "sloped"


def _corner(angle: Angle) -> JointKind:
    return JointKind.OUTSIDE_CORNER if angle.outside else JointKind.INSIDE_CORNER


def _one_plane(angle: Angle) -> JointKind:
    """Two sheathed faces in one plane: another material, or simply where panels end."""
    if not angle.same_substrate:
        return JointKind.CHANGE_OF_MATERIAL
    return JointKind.SEAM_UPRIGHT if angle.direction == "upright" else JointKind.SEAM_LEVEL


def _walls(angle: Angle) -> JointKind:
    return _one_plane(angle) if angle.flush else _corner(angle)


def _wall_concrete(angle: Angle) -> JointKind:
    if angle.direction == "level":
        return JointKind.SILL
    return JointKind.CHANGE_OF_MATERIAL if angle.flush else _corner(angle)


def _roofs(angle: Angle) -> JointKind:
    if angle.flush:
        return _one_plane(angle)
    if not angle.outside:
        return JointKind.VALLEY
    return JointKind.RIDGE if angle.direction == "level" else JointKind.HIP


def _roof_wall(angle: Angle) -> JointKind | None:
    if angle.flush:
        return None
    level = angle.direction == "level"
    if angle.outside:
        return JointKind.EAVE if level else JointKind.RAKE
    return JointKind.ROOF_TO_WALL_HEAD if level else JointKind.ROOF_TO_WALL_SIDE


def _over_air(angle: Angle) -> JointKind:
    if angle.flush:
        return JointKind.CHANGE_OF_MATERIAL
    return JointKind.CANTILEVER if angle.outside else JointKind.SOFFIT


def _floor_roof(angle: Angle) -> JointKind | None:
    if angle.flush:
        return None
    if not angle.outside:
        return JointKind.SOFFIT
    return JointKind.EAVE if angle.direction == "level" else JointKind.RAKE


def _parapet_top_wall(angle: Angle) -> JointKind | None:
    if angle.flush:
        return None
    return JointKind.PARAPET_EDGE if angle.outside else JointKind.ROOF_TO_WALL_HEAD


def _parapet_inside_roof(angle: Angle) -> JointKind | None:
    if angle.flush:
        return None
    return JointKind.PARAPET_EDGE if angle.outside else JointKind.PARAPET_BASE


def _top_roof(angle: Angle) -> JointKind:
    if angle.flush:
        return _one_plane(angle)
    return JointKind.PARAPET_EDGE if angle.outside else JointKind.VALLEY


def _ceiling(angle: Angle) -> JointKind | None:
    return None if angle.flush else JointKind.WALL_TO_CEILING


def _always(kind: JointKind) -> Callable[[Angle], JointKind | None]:
    return lambda _: kind


_K = FaceKind
_Rule = Callable[[Angle], JointKind | None]


def _pairs(*rows: tuple[FaceKind, FaceKind, _Rule]) -> dict[frozenset[FaceKind], _Rule]:
    return {frozenset((first, second)): rule for first, second, rule in rows}


RULES: Final[dict[frozenset[FaceKind], _Rule]] = _pairs(
    (_K.WALL, _K.WALL, _walls),
    (_K.WALL, _K.PARAPET_INSIDE, _walls),
    (_K.PARAPET_INSIDE, _K.PARAPET_INSIDE, _walls),
    (_K.WALL, _K.GROUND, _wall_concrete),
    (_K.WALL, _K.SLAB_EDGE, _wall_concrete),
    (_K.WALL, _K.BASEMENT_WALL, _wall_concrete),
    (_K.SLAB_EDGE, _K.GROUND, _always(JointKind.SLAB_EDGE)),
    (_K.BASEMENT_WALL, _K.GROUND, _always(JointKind.BASEMENT_FLOOR)),
    (_K.SLAB_EDGE, _K.SLAB_EDGE, _always(JointKind.FOUNDATION_CORNER)),
    (_K.BASEMENT_WALL, _K.BASEMENT_WALL, _always(JointKind.FOUNDATION_CORNER)),
    (_K.SLAB_EDGE, _K.BASEMENT_WALL, _always(JointKind.FOUNDATION_CORNER)),
    (_K.ROOF, _K.ROOF, _roofs),
    (_K.ROOF, _K.FLAT_ROOF, _roofs),
    (_K.FLAT_ROOF, _K.FLAT_ROOF, _roofs),
    (_K.ROOF, _K.WALL, _roof_wall),
    (_K.FLAT_ROOF, _K.WALL, _roof_wall),
    (_K.ROOF, _K.BASEMENT_WALL, _roof_wall),
    (_K.FLAT_ROOF, _K.BASEMENT_WALL, _roof_wall),
    (_K.ROOF, _K.SLAB_EDGE, _roof_wall),
    (_K.FLAT_ROOF, _K.SLAB_EDGE, _roof_wall),
    (_K.ROOF, _K.GROUND, _always(JointKind.SILL)),
    (_K.PARAPET_TOP, _K.PARAPET_TOP, _roofs),
    (_K.PARAPET_TOP, _K.PARAPET_INSIDE, _parapet_top_wall),
    (_K.PARAPET_TOP, _K.WALL, _parapet_top_wall),
    (_K.PARAPET_TOP, _K.ROOF, _top_roof),
    (_K.PARAPET_TOP, _K.FLAT_ROOF, _top_roof),
    (_K.PARAPET_INSIDE, _K.FLAT_ROOF, _parapet_inside_roof),
    (_K.PARAPET_INSIDE, _K.ROOF, _parapet_inside_roof),
    (_K.FLOOR_OVER_AIR, _K.WALL, _over_air),
    (_K.FLOOR_OVER_AIR, _K.SLAB_EDGE, _over_air),
    (_K.FLOOR_OVER_AIR, _K.BASEMENT_WALL, _over_air),
    (_K.FLOOR_OVER_AIR, _K.PARAPET_INSIDE, _over_air),
    (_K.FLOOR_OVER_AIR, _K.GROUND, _over_air),
    (_K.FLOOR_OVER_AIR, _K.ROOF, _floor_roof),
    (_K.FLOOR_OVER_AIR, _K.FLAT_ROOF, _floor_roof),
    (_K.FLOOR_OVER_AIR, _K.FLOOR_OVER_AIR, _walls),
    (_K.CEILING, _K.WALL, _ceiling),
    (_K.CEILING, _K.ROOF, _ceiling),
    (_K.CEILING, _K.FLAT_ROOF, _roofs),
    (_K.CEILING, _K.PARAPET_INSIDE, _ceiling),
    (_K.CEILING, _K.PARAPET_TOP, _roofs),
    (_K.CEILING, _K.CEILING, _walls),
)


def kind_of(left: Face, right: Face, edge: Edge) -> JointKind | None:
    """Joint kind of a hull edge.

    Parameters
    ----------
    left, right : Face
        Faces on both sides.
    edge : Edge

    Returns
    -------
    JointKind or None
        None where no rule fits: the edge stays open and is reported.
    """
    angle = Angle(edge.dihedral, direction(edge), left.substrate == right.substrate)
    kinds = {left.kind, right.kind}
    for neighbour, joint in _NEIGHBOURS.items():
        if neighbour in kinds:
            return _neighbour(kinds - {neighbour}, joint, angle)
    if angle.flush and left.cold != right.cold:
        return JointKind.GARAGE_CONTACT
    rule = RULES.get(frozenset(kinds))
    return rule(angle) if rule else None


def _neighbour(others: set[FaceKind], joint: JointKind, angle: Angle) -> JointKind:
    """Edges of party, shaft and garage walls: their outline, but the sill on concrete below and corners of their own."""
    if not others:
        return _walls(angle)
    if others <= _CONCRETE and angle.direction == "level":
        return JointKind.SILL
    return joint


_RANK: Final = {
    kind: rank
    for rank, kind in enumerate(
        (
            _K.PARTY_WALL,
            _K.SHAFT_WALL,
            _K.GARAGE_WALL,
            _K.PARAPET_TOP,
            _K.PARAPET_INSIDE,
            _K.WALL,
            _K.BASEMENT_WALL,
            _K.SLAB_EDGE,
            _K.FLOOR_OVER_AIR,
            _K.ROOF,
            _K.FLAT_ROOF,
            _K.CEILING,
            _K.GROUND,
        )
    )
}
_FROM_THE_ROOF: Final = frozenset(
    {JointKind.ROOF_TO_WALL_HEAD, JointKind.ROOF_TO_WALL_SIDE, JointKind.PARAPET_BASE, JointKind.VALLEY}
)


def owner(kind: JointKind, faces: tuple[Face, ...]) -> Face:
    """Face whose set-up a joint shares: where the crew stands.

    Eave, rake, sill and corners belong to the wall (ladder or scaffold), the outline of a party, shaft or garage wall to that
    wall, joints at the foot of a wall on a roof to the roof; among like faces the first by id.

    Parameters
    ----------
    kind : JointKind
    faces : tuple of Face

    Returns
    -------
    Face
    """
    if kind in _FROM_THE_ROOF:
        return min(faces, key=lambda face: (face.kind not in _ROOFS, _RANK[face.kind], face.id))
    return min(faces, key=lambda face: (_RANK[face.kind], face.id))
