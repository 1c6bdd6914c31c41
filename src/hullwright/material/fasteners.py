"""Fasteners: nails per panel, which heads stay open, and when strength is in question.

The counts follow from spacing alone. A row of length L at spacing s has ``ceil(L/s) + 1`` nails. Edge rows lie under the seam
bands; only heads in the field stay open to the weather.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from hullwright.evidence import Caution, Evidence, Figure, Mark
from hullwright.material.ask import Ask
from hullwright.material.cautions import NOT_AN_ENGINEER, SEAL_EVERY_BROKEN_FACE
from hullwright.units import INCH

_CODE = Evidence(
    Mark.PUBLISHED,
    "IRC Table R602.3(1), older editions: 6 in edges, 12 in field; depends on edition and wind: local code rules",
)
STARTING_EDGE: Final = Figure(6 * INCH, "m", _CODE)
STARTING_FIELD: Final = Figure(12 * INCH, "m", _CODE)

_RULE = Evidence(
    Mark.PUBLISHED,
    "panel trade association technical topic TT-012(A), seen as restated by a retrofit engineer, not in the original",
)
SHALLOW: Final = Figure(INCH / 16, "m", _RULE)
DEEP: Final = Figure(INCH / 8, "m", _RULE)
SHARE_ALLOWED: Final = Figure(0.20, "", _RULE)
STAPLES_PER_NAIL: Final = Figure(3.0, "", _RULE)
DRY_PANEL: Final = Figure(0.16, "", _RULE)
CLOSE_SPACING: Final = Figure(4 * INCH, "m", _RULE)
ROUNDED_UP: Final = Evidence(Mark.ESTIMATE, "half a fastener is rounded up to a whole one")


@dataclass(frozen=True, slots=True)
class Schedule:
    """Nailing schedule.

    Parameters
    ----------
    edge, field : float
        Spacing along panel edges and along the supports between [m].
    supports : float
        Spacing of studs, rafters or joists [m].
    """

    edge: float
    field: float
    supports: float

    def __post_init__(self) -> None:
        ask = Ask("a nailing schedule")
        ask.positive("edge", self.edge, "m")
        ask.positive("field", self.field, "m")
        ask.positive("supports", self.supports, "m")
        ask.done()


@dataclass(frozen=True, slots=True)
class PanelNails:
    """Nails of one panel.

    Parameters
    ----------
    total : int
        All nails.
    perimeter : int
        Those along the four edges: under the seam bands.
    """

    total: int
    perimeter: int

    @property
    def interior(self) -> int:
        """Heads that no seam band covers."""
        return self.total - self.perimeter


@dataclass(frozen=True, slots=True)
class Overdriven:
    """What overdriven fasteners ask for. A structural flag, never a design.

    Parameters
    ----------
    add : int
        Fasteners to add.
    staples : int
        Approved staples in their stead where a nail has no room.
    engineer : bool
        Whether an engineer is to be asked before anything is added.
    why : str
        The rule that spoke.
    cautions : tuple of Caution
        What to mind, with source and mark.
    """

    add: int
    staples: int
    engineer: bool
    why: str
    cautions: tuple[Caution, ...] = (NOT_AN_ENGINEER, SEAL_EVERY_BROKEN_FACE)


def _spaces(length: float, spacing: float) -> int:
    return math.ceil(length / spacing - 1e-9)


def _panel(along: float, across: float) -> None:
    ask = Ask("the nails of a panel")
    ask.positive("along", along, "m")
    ask.positive("across", across, "m")
    ask.done()


def across_supports(length: float, width: float, schedule: Schedule, *, blocked: bool = False) -> PanelNails:
    """Nails of a panel laid with its long axis across the supports: a roof or floor deck, or a wall panel laid level.

    Parameters
    ----------
    length, width : float
        Panel across the supports, and along them [m]. Both ends land on a support.
    schedule : Schedule
        Spacings.
    blocked : bool
        Whether the long edges are nailed to blocking between supports, at the edge spacing.

    Returns
    -------
    PanelNails
        ``2·(W/e + 1) + (n − 2)·(W/f + 1)``, and with blocking the two long edges at edge spacing.

    Examples
    --------
    >>> from hullwright.units import INCH
    >>> across_supports(96 * INCH, 48 * INCH, Schedule(6 * INCH, 12 * INCH, 24 * INCH))
    PanelNails(total=33, perimeter=24)
    """
    _panel(length, width)
    supports = _spaces(length, schedule.supports) + 1
    ends = 2 * (_spaces(width, schedule.edge) + 1)
    row = _spaces(width, schedule.field) + 1
    between = supports - 2
    extra = 0
    if blocked:
        bay = length / (supports - 1)
        extra = 2 * (supports - 1) * (_spaces(bay, schedule.edge) - 1)
    return PanelNails(total=ends + between * row + extra, perimeter=ends + 2 * between + extra)


def along_supports(
    length: float, width: float, schedule: Schedule, *, plates: bool = True, stud_ends: bool = False
) -> PanelNails:
    """Nails of a panel laid with its long axis along the supports: an upright wall panel on studs.

    Parameters
    ----------
    length, width : float
        Panel along the supports, and across them [m]. Both long edges land on a support.
    schedule : Schedule
        Spacings.
    plates : bool
        Whether top and bottom edge land on plates, nailed at the edge spacing.
    stud_ends : bool
        With `plates`: whether the studs between also get their own nails where they meet the plates.

    Returns
    -------
    PanelNails
        Total and perimeter.

    Examples
    --------
    >>> from hullwright.units import INCH
    >>> along_supports(96 * INCH, 48 * INCH, Schedule(6 * INCH, 12 * INCH, 16 * INCH))
    PanelNails(total=62, perimeter=48)
    """
    _panel(length, width)
    between = _spaces(width, schedule.supports) - 1
    edges = 2 * (_spaces(length, schedule.edge) + 1)
    row = _spaces(length, schedule.field) + 1
    if not plates:
        return PanelNails(total=edges + between * row, perimeter=edges + 2 * between)
    ends = 2 * (_spaces(width, schedule.edge) - 1) + (2 * between if stud_ends else 0)
    return PanelNails(total=edges + ends + between * (row - 2), perimeter=edges + ends)


def sort_depths(depths: Iterable[float]) -> tuple[int, int]:
    """Count overdriven fasteners by depth.

    Parameters
    ----------
    depths : iterable of float
        How far each head lies below the face [m]; 0 for flush.

    Returns
    -------
    tuple of int
        Those over 1/16 in up to 1/8 in, and those over 1/8 in.

    Examples
    --------
    >>> from hullwright.units import INCH
    >>> sort_depths([0, INCH / 16, 3 / 32 * INCH, INCH / 8, 5 / 32 * INCH])
    (2, 1)
    """
    shallow = deep = 0
    ask = Ask("overdriven fasteners")
    for at, depth in enumerate(depths):
        ask.not_negative(f"depths[{at}]", depth, "m")
        if ask.problems:
            continue
        if depth > DEEP.value * (1 + 1e-9):
            deep += 1
        elif depth > SHALLOW.value * (1 + 1e-9):
            shallow += 1
    ask.done()
    return shallow, deep


def overdriven(
    perimeter: int,
    shallow: int,
    deep: int,
    *,
    edge_spacing: float | None = None,
    moisture: float | None = None,
) -> Overdriven:
    """Hold overdriven fasteners against the trade's structural rule.

    At most 20 per cent of the *perimeter* fasteners over 1/16 up to 1/8 in: nothing. More than that, or any over 1/8 in:
    one more fastener for every two overdriven.

    Parameters
    ----------
    perimeter : int
        Perimeter fasteners looked at.
    shallow, deep : int
        Of these, over 1/16 up to 1/8 in, and over 1/8 in.
    edge_spacing : float or None
        Edge spacing [m] where known: at 4 in or less more nails may split the framing.
    moisture : float or None
        Moisture of the panel when driven, share of dry mass, where known: the rule is for dry panels, under 16 per cent.

    Returns
    -------
    Overdriven
        What to add and whether to ask an engineer first.

    Examples
    --------
    >>> overdriven(100, 20, 0).add, overdriven(100, 21, 0).add, overdriven(100, 0, 1).add
    (0, 11, 1)
    """
    _overdriven_numbers(perimeter, shallow, deep, edge_spacing=edge_spacing, moisture=moisture)
    found = shallow + deep
    over_share = found > SHARE_ALLOWED.value * perimeter
    if not (deep or over_share):
        add, why = 0, "no head over 1/8 in, and no more than 20 % of the perimeter heads over 1/16 in"
    else:
        add = math.ceil(found / 2)
        why = "a head over 1/8 in" if deep else "more than 20 % of the perimeter heads over 1/16 in"
        why += ": one more fastener for every two overdriven"
    engineer = False
    if add and edge_spacing is not None and edge_spacing <= CLOSE_SPACING.value * (1 + 1e-9):
        engineer = True
        why += "; at 4 in or closer more nails may split the framing: ask an engineer first"
    if found and moisture is not None and moisture >= DRY_PANEL.value:
        engineer = True
        why += "; the panel was not dry (16 % or more), the rule does not cover that: ask an engineer"
    return Overdriven(add=add, staples=int(STAPLES_PER_NAIL.value) * add, engineer=engineer, why=why)


def _overdriven_numbers(
    perimeter: int, shallow: int, deep: int, *, edge_spacing: float | None, moisture: float | None
) -> None:
    ask = Ask("overdriven fasteners")
    ask.count("perimeter", perimeter)
    ask.count("shallow", shallow)
    ask.count("deep", deep)
    if edge_spacing is not None:
        ask.positive("edge_spacing", edge_spacing, "m")
    if moisture is not None:
        ask.part("moisture", moisture)
    if not ask.problems and shallow + deep > perimeter:
        ask.refuse(
            "perimeter", f"{shallow + deep} overdriven of {perimeter}", "no more overdriven than looked at"
        )
    ask.done()


def open_spots(interior: float, share: float) -> float:
    """Overdriven heads to seal one by one: those that no seam band covers.

    Parameters
    ----------
    interior : float
        Heads not under a seam band.
    share : float
        Share overdriven, found or expected.

    Returns
    -------
    float
        Expected number; not rounded, so that runs add up.

    Examples
    --------
    >>> round(open_spots(100 * 9, 0.2), 6)
    180.0
    """
    ask = Ask("heads to seal")
    ask.not_negative("interior", interior, "heads")
    ask.part("share", share)
    ask.done()
    return interior * share


def seam_per_area(length: float, width: float) -> float:
    """Length of seam per area of an endless field of panels: each seam belongs to two panels.

    Parameters
    ----------
    length, width : float
        Panel [m].

    Returns
    -------
    float
        Seam [m/m2]: ``(L + W)/(L·W)``; times the band's width it is the share of the face under bands.

    Examples
    --------
    >>> seam_per_area(8, 4)  # any unit of length: ft per ft2
    0.375
    """
    _panel(length, width)
    return (length + width) / (length * width)
