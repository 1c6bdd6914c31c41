"""Planes and labels of all masses: planes that lie within a hair of each other become one.

What is drawn flush must be flush to the last bit, else a union leaves slits of rounding width. So every face of every
mass refers to a plane in one table, and vertices are worked out from planes, not the other way round.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from hullwright.hull.model import FaceKind

Vector = tuple[float, float, float]

FLUSH: Final = 5e-4
"""Two walls, floors or roofs closer than this are one plane [m]: rounding of drawn figures, far below what is built."""

SAME_SLOPE: Final = 5e-5
"""The same for sloped planes [m]: tighter, so that the planes of a hip still meet in one point."""

PARALLEL: Final = 0.999


@dataclass(frozen=True, slots=True)
class Label:
    """What a face of a mass is, before the masses are united.

    Parameters
    ----------
    mass : str
    part : str
        ``south``, ``roof south``, ``slab``, … : the tail of the face's id.
    side : str
        Side of the mass, '' for level faces.
    kind : FaceKind or None
        None for faces that must not be seen in the end (a bottom that stands on another mass, the cut of a roof).
    plane : int
        Number in the table.
    facing : int
        1 where its outward normal is the plane's, -1 where it is opposite.
    rated, declared : bool
        Fire-resistance rated; a party, garage or shaft wall by the user's word.
    cold : bool
        Face of a mass outside the hull.
    """

    mass: str
    part: str
    side: str
    kind: FaceKind | None
    plane: int
    facing: int
    rated: bool = False
    declared: bool = False
    cold: bool = False


@dataclass(slots=True)
class Table:
    """All planes and labels of a house."""

    normals: list[Vector] = field(default_factory=list)
    offsets: list[float] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)

    def plane(self, normal: Vector, offset: float, points: Sequence[Vector]) -> tuple[int, int]:
        """Find or add the plane `normal @ x == offset`; `points` of the face must lie within a hair of a plane found.

        Parameters
        ----------
        normal : (x, y, z)
            Outward unit normal.
        offset : float
            [m]
        points : sequence of (x, y, z)
            Points that span the face [m].

        Returns
        -------
        tuple of (int, int)
            Number in the table and 1 or -1 for facing along or against it.
        """
        x, y, z = normal
        for number, (a, b, c) in enumerate(self.normals):
            dot = a * x + b * y + c * z
            if abs(dot) < PARALLEL:
                continue
            d, hair = self.offsets[number], SAME_SLOPE if 1e-9 < abs(z) < 1 - 1e-9 else FLUSH
            if all(abs(a * px + b * py + c * pz - d) < hair for px, py, pz in points):
                return number, 1 if dot > 0 else -1
        self.normals.append(normal)
        self.offsets.append(offset)
        return len(self.normals) - 1, 1

    def label(self, label: Label) -> int:
        """Add a label and give its number."""
        self.labels.append(label)
        return len(self.labels) - 1

    def oriented(self, plane: int, facing: int) -> tuple[Vector, float]:
        """Outward normal and offset of a plane as a face sees it."""
        x, y, z = self.normals[plane]
        return (facing * x, facing * y, facing * z), facing * self.offsets[plane]
