"""Joints and runs.

A *joint* is one line or one piece that must be sealed. A *run* is the joints of one kind on one face (or one row of
like pieces) that a crew does in one go. There is no catch-all kind: what has no kind is an open end.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Stage

Floats = NDArray[np.float64]


class JointKind(StrEnum):
    """The joint kinds of the trade."""

    SEAM_LEVEL = "horizontal seam"
    SEAM_UPRIGHT = "vertical seam"
    FLOOR_LINE = "floor line"
    OUTSIDE_CORNER = "outside corner"
    INSIDE_CORNER = "inside corner"
    SILL = "sill to foundation"
    SLAB_EDGE = "slab edge"
    FOUNDATION_CORNER = "foundation corner"
    BASEMENT_FLOOR = "foundation wall to floor"
    EAVE = "eave"
    RAKE = "rake"
    RIDGE = "ridge"
    HIP = "hip"
    VALLEY = "valley"
    ROOF_TO_WALL_HEAD = "roof to wall, head"
    ROOF_TO_WALL_SIDE = "roof to wall, side"
    PARAPET_BASE = "parapet base"
    PARAPET_EDGE = "parapet edge"
    SOFFIT = "soffit"
    CANTILEVER = "cantilever"
    OPENING_HEAD = "opening head"
    OPENING_JAMB = "opening jamb"
    OPENING_SILL = "opening sill"
    OPENING_CORNER = "rough-opening corner"
    THREE_WAY_CORNER = "three-way corner"
    CURB = "curb"
    PIPE = "pipe"
    BOX = "box or duct"
    CABLES = "cable group"
    BEAM = "beam"
    FLUE = "flue"
    RAFTER_TAIL = "rafter tail"
    OVERDRIVEN = "overdriven fastener"
    OVERDRIVEN_COVERED = "overdriven fastener under tape or liquid"
    CHANGE_OF_MATERIAL = "change of material"
    WALL_TO_CEILING = "wall to ceiling"
    PARTITION_PLATE = "partition top plate"
    HATCH = "attic hatch"
    CHASE = "chase"
    LIGHT_OR_FAN = "light or fan"
    GARAGE_CONTACT = "wall to cold garage"
    PARTY_WALL = "party wall edge"
    SHAFT = "shaft edge"
    FIXED_OVER = "seal behind a later attachment"
    PATCH = "patch"

    @property
    def piece(self) -> bool:
        """Whether it is counted in pieces; else it is measured in metres."""
        return self in PIECES


PIECES = frozenset(
    {
        JointKind.OPENING_CORNER,
        JointKind.THREE_WAY_CORNER,
        JointKind.PIPE,
        JointKind.BOX,
        JointKind.CABLES,
        JointKind.BEAM,
        JointKind.FLUE,
        JointKind.RAFTER_TAIL,
        JointKind.OVERDRIVEN,
        JointKind.OVERDRIVEN_COVERED,
        JointKind.HATCH,
        JointKind.CHASE,
        JointKind.LIGHT_OR_FAN,
    }
)


@dataclass(frozen=True, slots=True)
class Hole:
    """A hole that something left in the layer when it went away: it is closed with a patch.

    Parameters
    ----------
    id : str
        Of the patch.
    mark : str
        Of what had been there.
    face : str
        Id of its face.
    outline : ndarray (k, 3)
        Corners in order [m].
    """

    id: str
    mark: str
    face: str
    outline: Floats


@dataclass(frozen=True, slots=True)
class Joint:
    """One joint.

    Parameters
    ----------
    id : str
        Stable: made of marks, faces and numbers on a face, no word, unit or running number over the house.
    kind : JointKind
    points : ndarray (k, 3)
        Polyline; a piece has one point; a count over a face (overdriven fasteners) the face's middle [m].
    length : float
        [m], 0 for pieces.
    count : float
        Pieces, 0 for lines. Fractions are expected numbers (overdriven fasteners).
    faces : tuple of str
        Face ids on both sides, the one that owns the joint first; one where both sides lie on one face.
    substrates : tuple of str
        Substrate on both sides (an opening's frame is a side).
    gap : float
        Gap to be bridged [m].
    depth : float
        Depth that a gap filler goes in [m].
    backed : bool
        Framing or blocking behind.
    level : bool
        Runs level (a level lap on a roof faces the water).
    upslope : float
        Run-off length above it: slope length on roofs, height of wall above it on walls [m].
    height : float
        Above ground, of its highest point [m].
    stage : str
        When it comes into existence.
    mass : str
        Mass it came from.
    width, section_depth : float
        Section of a piece that passes the layer [m] (round: section_depth 0).
    rigid, rated : bool
    run : str
        Run it belongs to.
    source : str
        Id of the opening, penetration or thing fixed later it belongs to, or ''.
    roof_water : bool
        Whether `upslope` is the run-off length of a roof; else it is the height of wall above.
    floor : str
        The story whose floor line it carries (``upper 1``): a floor line, or the foot of a wall that is set back or hangs
        out; '' for none.
    was : str
        Id of before, by which logs, decisions and plans of then name it.
    name : str
        What people read: "east wall, horizontal seam 2".
    mark : str
        Of the opening, penetration or later attachment that it belongs to, or ''.
    number : int
        Number of its line on the face; 0 where it has none.
    part : int
        Of a line that is cut into several; 0 where it is whole.
    offset : float
        From the left end of its face (from the bottom, for what runs up) to its first point [m].
    """

    id: str
    kind: JointKind
    points: Floats
    length: float
    count: float
    faces: tuple[str, ...]
    substrates: tuple[str, ...]
    gap: float
    depth: float
    backed: bool
    level: bool
    upslope: float
    height: float
    stage: Stage
    mass: str
    width: float = 0.0
    section_depth: float = 0.0
    rigid: bool = True
    rated: bool = False
    run: str = ""
    source: str = ""
    roof_water: bool = False
    floor: str = ""
    was: str = ""
    name: str = ""
    mark: str = ""
    number: int = 0
    part: int = 0
    offset: float = 0.0

    def __post_init__(self) -> None:
        """Call a joint made by hand by its id."""
        if not self.was:
            object.__setattr__(self, "was", self.id)
        if not self.name:
            object.__setattr__(self, "name", self.id)


@dataclass(frozen=True, slots=True)
class Run:
    """Joints of one kind on one face that a crew does in one go.

    Parameters
    ----------
    id : str
    kind : JointKind
    face : str
        Face whose set-up it shares and whose coat may cover it.
    joints : tuple of int
        Numbers of its joints.
    quantity : float
        Metres or pieces.
    stage : str
    substrates : tuple of str
    backed, rated, rigid, level : bool
    gap, depth : float
        Mean over its joints [m].
    upslope : float
        Length-weighted mean [m].
    height : float
        Highest point above ground [m].
    width, section_depth : float
        Mean section of pieces [m].
    bridged : bool
        A whole-face coat can bridge it (seams, fasteners, floor lines within the face; not rings, openings, edges).
    at_edge : bool
        A seam between two faces that lie in one plane.
    was : str
        Id of before.
    name : str
        What people read: "east wall, horizontal seam, no backing".
    """

    id: str
    kind: JointKind
    face: str
    joints: tuple[int, ...]
    quantity: float
    stage: Stage
    substrates: tuple[str, ...]
    backed: bool
    rated: bool
    rigid: bool
    level: bool
    gap: float
    depth: float
    upslope: float
    height: float
    width: float
    section_depth: float
    bridged: bool
    at_edge: bool = False
    was: str = ""
    name: str = ""

    def __post_init__(self) -> None:
        """Call a run made by hand by its id."""
        if not self.was:
            object.__setattr__(self, "was", self.id)
        if not self.name:
            object.__setattr__(self, "name", self.id)


@dataclass(frozen=True, slots=True)
class Panels:
    """Panels of one face: counts for nails and waste.

    Parameters
    ----------
    face : str
    whole, cut : int
        Whole panels and cut pieces.
    fasteners : float
        Fasteners in all.
    under_bands : float
        Of these, heads that lie under a seam band (edge rows).
    """

    face: str
    whole: int
    cut: int
    fasteners: float
    under_bands: float


@dataclass(frozen=True, slots=True)
class OpenPlace:
    """A stretch of face edge without a joint: where the layer is not continuous [m]."""

    face: str
    start: Floats
    end: Floats
    note: str

    @property
    def length(self) -> float:
        """Length [m]."""
        return float(np.linalg.norm(self.end - self.start))


@dataclass(frozen=True, slots=True)
class Meeting:
    """Two runs that meet at a place: three-way corner, T-joint, a seam that runs into a corner.

    Parameters
    ----------
    runs : tuple of int
        Run numbers.
    at : ndarray (3,)
        [m]
    lower : int
        Run number of the piece that must go on first where water runs from the other over it (shingle order); -1 where it does not matter.
    """

    runs: tuple[int, int]
    at: Floats
    lower: int


@dataclass(frozen=True, slots=True)
class JointSet:
    """All joints of a house.

    Parameters
    ----------
    joints : tuple of Joint
        Sorted by id.
    runs : tuple of Run
        Sorted by their ids of before.
    panels : tuple of Panels
    open_places : tuple of OpenPlace
        The continuity report's findings: empty where every face edge carries a joint.
    joint_share : float
        Share of face-edge length that carries a joint.
    meetings : tuple of Meeting
        Each pair of runs once.
    """

    joints: tuple[Joint, ...]
    runs: tuple[Run, ...]
    panels: tuple[Panels, ...]
    open_places: tuple[OpenPlace, ...]
    joint_share: float
    meetings: tuple[Meeting, ...]
