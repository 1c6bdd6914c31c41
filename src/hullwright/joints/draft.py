"""Joints on their way: found by kind and place, before water, height and run are known."""

from __future__ import annotations

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
        Id, or its stem where joints are numbered later.
    was : str
        Id of before, numbered later too.
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
    mark : str
        Of the opening, penetration or attachment that it belongs to.
    number : int
        Of its line on the face, or among the edges of the same faces; 0 where it is the only one.
    part : int
        Of a line that is cut into several; 0 where it is whole.
    offset : float
        From the left end of its face (from the bottom, for what runs up) to its first point [m].
    title : str
        What people call it where its kind does not say enough.
    before : JointKind or None
        What kind it was before, where that is another than today's.
    """

    name: str
    was: str
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
    mark: str = ""
    number: int = 0
    part: int = 0
    offset: float = 0.0
    title: str = ""
    before: JointKind | None = None
