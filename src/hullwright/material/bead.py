"""Beads: how thick, how far apart, how deep, how fast.

Sections are pure geometry; a volume V [m3] runs ``V/A`` metres at section A [m2]. The US form of the same is
``ft/gal = 231/(12·w·d) = 19.25/(w·d)`` with w and d in inches.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from hullwright.errors import InputError, Problem, Where
from hullwright.evidence import Caution, Evidence, Figure, Mark
from hullwright.material.ask import Ask
from hullwright.material.cautions import SHEET_RULES, THREE_SIDES
from hullwright.units import INCH

_HANDBOOK = Evidence(
    Mark.PUBLISHED, "architectural detailing handbook, seen as restated; agrees with ASTM C1193 as remembered"
)
LEAST_DEPTH: Final = Figure(INCH / 4, "m", _HANDBOOK)
MOST_DEPTH: Final = Figure(INCH / 2, "m", _HANDBOOK)
LEAST_WIDTH: Final = Figure(INCH / 4, "m", _HANDBOOK)
MOST_WIDTH: Final = Figure(2 * INCH, "m", _HANDBOOK)
ROD_OVERSIZE: Final = Figure(
    1.25, "", Evidence(Mark.MEMORY, "closed-cell rod 25 to 33 % over the joint: ASTM C1193, C1330")
)
ROD_SIZES: Final = tuple(
    Figure(inches * INCH, "m", Evidence(Mark.MEMORY, "trade sizes of backer rod"))
    for inches in (1 / 4, 3 / 8, 1 / 2, 5 / 8, 3 / 4, 7 / 8, 1, 1.25, 1.5, 2, 2.5, 3)
)


@dataclass(frozen=True, slots=True)
class SealantJoint:
    """A butt joint with sealant on a backer rod.

    Parameters
    ----------
    width, depth : float
        Width of the joint and depth of the sealant [m].
    rod : float
        Trade size of the closed-cell backer rod [m].
    cautions : tuple of Caution
        What to mind.
    """

    width: float
    depth: float
    rod: float
    cautions: tuple[Caution, ...] = (SHEET_RULES, THREE_SIDES)

    @property
    def section(self) -> float:
        """Section of the sealant, taken as a rectangle [m2]: the rod's round back takes a little more."""
        return self.width * self.depth


def rectangular(width: float, depth: float) -> float:
    """Section of a rectangular bead [m2].

    Parameters
    ----------
    width, depth : float
        Sides [m].

    Returns
    -------
    float
        Section [m2].

    Examples
    --------
    >>> from hullwright.units import FOOT, GALLON, INCH
    >>> round(length_per(GALLON, rectangular(INCH / 4, INCH / 4)) / FOOT)  # ft/gal
    308
    """
    ask = Ask("a rectangular bead")
    ask.positive("width", width, "m")
    ask.positive("depth", depth, "m")
    ask.done()
    return width * depth


def round_bead(diameter: float) -> float:
    """Section of a round bead [m2].

    Parameters
    ----------
    diameter : float
        Diameter [m].

    Returns
    -------
    float
        Section [m2]: ``π·D²/4``.

    Examples
    --------
    >>> round(round_bead(0.01) * 1e6, 2)
    78.54
    """
    ask = Ask("a round bead")
    ask.positive("diameter", diameter, "m")
    ask.done()
    return math.pi * diameter**2 / 4.0


def fillet(leg: float) -> float:
    """Section of a fillet with equal legs [m2].

    Parameters
    ----------
    leg : float
        Leg on each face [m].

    Returns
    -------
    float
        Section [m2]: ``L²/2``, a flat face; a hollow one takes less, a full one more.

    Examples
    --------
    >>> fillet(0.01)
    5e-05
    """
    ask = Ask("a fillet")
    ask.positive("leg", leg, "m")
    ask.done()
    return leg**2 / 2.0


def length_per(volume: float, section: float) -> float:
    """How far a volume goes.

    Parameters
    ----------
    volume : float
        Volume of a pack [m3].
    section : float
        Section of the bead [m2].

    Returns
    -------
    float
        Length [m], nothing lost.

    Examples
    --------
    >>> round(length_per(600e-6, 36e-6), 2)
    16.67
    """
    ask = Ask("the length of a bead")
    ask.positive("volume", volume, "m3")
    ask.positive("section", section, "m2")
    ask.done()
    return volume / section


def one_bead(section: float) -> float:
    """Diameter of the one straight round bead that holds a section.

    Parameters
    ----------
    section : float
        Section to be supplied [m2], such as width × wet film.

    Returns
    -------
    float
        Diameter [m]: ``sqrt(4·A/π)``.

    Examples
    --------
    >>> from hullwright.units import INCH, MIL
    >>> round(one_bead(4 * INCH * 20 * MIL) / INCH, 4)
    0.3192
    """
    ask = Ask("the bead for a film")
    ask.positive("section", section, "m2")
    ask.done()
    return math.sqrt(4.0 * section / math.pi)


def sealant_depth(width: float) -> float:
    """Depth of sealant in a butt joint: half the width, 1/4 in at least, 1/2 in at most.

    Parameters
    ----------
    width : float
        Joint width [m], 1/4 to 2 in.

    Returns
    -------
    float
        Depth [m].

    Raises
    ------
    InputError
        Where the joint is too narrow or too wide for a sealant joint.

    Examples
    --------
    >>> from hullwright.units import INCH
    >>> [round(sealant_depth(w * INCH) / INCH, 4) for w in (0.25, 0.75, 1.25)]
    [0.25, 0.375, 0.5]
    """
    ask = Ask("a sealant joint")
    ask.positive("width", width, "m")
    low, high = LEAST_WIDTH.value, MOST_WIDTH.value
    if not ask.problems and not low * (1 - 1e-9) <= width <= high * (1 + 1e-9):
        hint = (
            "widen the joint, or bridge it with a film"
            if width < low
            else "close the joint with a rigid piece first"
        )
        ask.refuse("width", f"{width:g} m", f"{low:g} to {high:g} m (1/4 to 2 in)", hint)
    ask.done()
    return min(MOST_DEPTH.value, max(LEAST_DEPTH.value, width / 2.0))


def backer_rod(width: float) -> float:
    """Trade size of closed-cell backer rod for a joint: the next one at or over 1.25 times the width.

    Parameters
    ----------
    width : float
        Joint width [m].

    Returns
    -------
    float
        Rod diameter [m].

    Raises
    ------
    InputError
        Where no trade size is large enough.

    Examples
    --------
    >>> from hullwright.units import INCH
    >>> round(backer_rod(INCH / 2) / INCH, 4)
    0.625
    """
    ask = Ask("a backer rod")
    ask.positive("width", width, "m")
    ask.done()
    need = ROD_OVERSIZE.value * width
    for size in ROD_SIZES:
        if size.value >= need * (1 - 1e-9):
            return size.value
    largest = ROD_SIZES[-1].value
    problem = Problem(
        "no backer rod is large enough for this joint",
        Where(key="width"),
        got=f"{width:g} m, wants a rod of {need:g} m",
        allowed=f"a joint up to {largest / ROD_OVERSIZE.value:g} m",
        hint="close it with a rigid piece first",
    )
    raise InputError("no backer rod fits", [problem])


def sealant_joint(width: float) -> SealantJoint:
    """Sealant joint of a width: depth by the rule, rod by the trade's sizes.

    Parameters
    ----------
    width : float
        Joint width [m].

    Returns
    -------
    SealantJoint
        Depth, rod, cautions.

    Examples
    --------
    >>> joint = sealant_joint(0.0127)
    >>> joint.depth, round(joint.rod, 6)
    (0.00635, 0.015875)
    """
    return SealantJoint(width=width, depth=sealant_depth(width), rod=backer_rod(width))


def movement_share(movement: float, width: float) -> float:
    """Change of a joint as a share of its width, to be held against the sealant's class (ASTM C920).

    Parameters
    ----------
    movement : float
        Change of the width, opening or closing [m].
    width : float
        Width at installation [m].

    Returns
    -------
    float
        Share: 0.25 is class 25.

    Examples
    --------
    >>> movement_share(1 / 16, 1 / 8)  # a panel gap that moves by half its width
    0.5
    """
    ask = Ask("the movement of a joint")
    ask.not_negative("movement", movement, "m")
    ask.positive("width", width, "m")
    ask.done()
    return movement / width


def pace(flow: float, section: float) -> float:
    """Pace of the gun along the joint that lays a section.

    Parameters
    ----------
    flow : float
        Flow of the gun [m3/s].
    section : float
        Section to be laid per metre of joint [m2]. For a zig-zag this is the pace along the joint, not of the nozzle.

    Returns
    -------
    float
        Pace [m/s]; times 60 in m/min.

    Examples
    --------
    600 mL in two minutes, 4 in at 20 mil:

    >>> from hullwright.units import INCH, MIL
    >>> round(pace(600e-6 / 120, 4 * INCH * 20 * MIL) * 60, 2)  # m/min
    5.81
    """
    ask = Ask("the pace of the gun")
    ask.positive("flow", flow, "m3/s")
    ask.positive("section", section, "m2")
    ask.done()
    return flow / section


def gun_flow(speed: float, section: float) -> float:
    """Flow of a gun from a trial: so fast, so thick.

    Parameters
    ----------
    speed : float
        Pace along the joint [m/s].
    section : float
        Section laid [m2].

    Returns
    -------
    float
        Flow [m3/s].

    Examples
    --------
    >>> round(gun_flow(0.1, 5e-5) * 60e3, 6)  # L/min
    0.3
    """
    ask = Ask("the flow of the gun")
    ask.positive("speed", speed, "m/s")
    ask.positive("section", section, "m2")
    ask.done()
    return speed * section
