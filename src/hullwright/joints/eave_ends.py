"""How eaves end: at a hip, at an inside corner, or open at a gable; and the hip rafters that run out at the corners."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.joints.draft import Draft
from hullwright.joints.model import JointKind

Floats = NDArray[np.float64]
SAME: Final = 0.01  # m: ends nearer than that are one corner
_INSIDE: Final = frozenset(
    {
        JointKind.VALLEY,
        JointKind.INSIDE_CORNER,
        JointKind.ROOF_TO_WALL_HEAD,
        JointKind.ROOF_TO_WALL_SIDE,
    }
)


@dataclass(frozen=True, slots=True)
class EaveEnd:
    """An end of an eave where no common rafter stands.

    Parameters
    ----------
    line : Draft
        The eave.
    point : ndarray (3,)
        [m]
    hip : bool
        A hip comes down here: one hip rafter runs out. Else it is an inside corner, where nothing does.
    """

    line: Draft
    point: Floats
    hip: bool


def closed_ends(lines: Iterable[Draft], edges: Sequence[Draft]) -> list[EaveEnd]:
    """Ends of eaves at hips and inside corners; ends at gables are open and left out.

    Parameters
    ----------
    lines : iterable of Draft
        Eaves.
    edges : sequence of Draft
        All joints along hull edges.

    Returns
    -------
    list of EaveEnd
    """
    near = [edge for edge in edges if edge.kind is JointKind.HIP or edge.kind in _INSIDE]
    found: list[EaveEnd] = []
    for line in lines:
        beside = [edge for edge in near if not set(edge.faces).isdisjoint(line.faces)]
        for point in line.points:
            kinds = {edge.kind for edge in beside if _ends_at(edge, point)}
            if kinds:
                found.append(EaveEnd(line, point, JointKind.HIP in kinds and kinds.isdisjoint(_INSIDE)))
    return found


def _ends_at(edge: Draft, point: Floats) -> bool:
    return bool((np.linalg.norm(edge.points - point, axis=1) < SAME).any())


def places(
    length: float, *, spacing: float | None, count: int | None, closed: tuple[bool, bool], from_right: bool
) -> Floats:
    """Places of common rafters along a side [m].

    Parameters
    ----------
    length : float
        Of the side [m].
    spacing : float or None
        On centre, measured from the left end of the side [m] …
    count : int or None
        … or so many with equal spaces between them.
    closed : tuple of bool
        Whether the left and the right end are hips or inside corners. A row stated by count then keeps a space from them; on centre
        the caller leaves out what falls on such a corner.
    from_right : bool
        Measure from the right end: the left one is not there.

    Returns
    -------
    ndarray

    Examples
    --------
    >>> places(3.0, spacing=0.6, count=None, closed=(True, True), from_right=False).round(1).tolist()
    [0.0, 0.6, 1.2, 1.8, 2.4, 3.0]
    >>> places(3.0, spacing=None, count=4, closed=(True, True), from_right=False).round(1).tolist()
    [0.6, 1.2, 1.8, 2.4]
    """
    if spacing is not None:
        spots: Floats = spacing * np.arange(0.0, np.floor(length / spacing + 1e-6) + 1)
        return length - spots[::-1] if from_right else spots
    if count == 1:
        return np.array([length / 2])
    number = count or 0
    step = length / max(number - 1 + sum(closed), 1)
    row: Floats = step * (np.arange(number, dtype=np.float64) + closed[0])
    return row
