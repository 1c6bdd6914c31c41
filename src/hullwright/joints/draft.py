"""Joints on their way: found by kind and place, before water, height and run are known."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Stage
from hullwright.joints.model import JointKind

Floats = NDArray[np.float64]


@dataclass(slots=True)
class Draft:
    """A joint as found.

    Parameters
    ----------
    name : str
        Id, unique but for joints of the same faces and kind, which are numbered later.
    kind : JointKind
    points : ndarray (k, 3)
        [m]
    faces : tuple of int
        Face numbers; the first owns it.
    substrates : tuple of str
    gap, depth : float
        [m]
    length : float
        [m]
    count : float
    stage : str
    place : tuple of float
        Sorts joints of one name.
    floor : str
        The story whose floor line it carries, '' for none.
    """

    name: str
    kind: JointKind
    points: Floats
    faces: tuple[int, ...]
    substrates: tuple[str, str]
    gap: float
    depth: float
    length: float = 0.0
    count: float = 0.0
    stage: Stage = "sheathing"
    backed: bool = True
    level: bool = False
    width: float = 0.0
    section_depth: float = 0.0
    rigid: bool = True
    source: str = ""
    place: tuple[float, ...] = ()
    mass: str = ""
    floor: str = ""


def number_names(drafts: Iterable[Draft]) -> None:
    """Give joints of the same name a number, by place: the first keeps the bare name."""
    groups: dict[str, list[Draft]] = {}
    for draft in drafts:
        groups.setdefault(draft.name, []).append(draft)
    for name, group in groups.items():
        if len(group) == 1:
            continue
        group.sort(key=lambda draft: draft.place or tuple(draft.points[0].tolist()))
        for number, draft in enumerate(group[1:], start=2):
            draft.name = f"{name} {number}"
