"""Pieces: what one pipe, rafter tail, box, corner, fastener or T-joint takes.

Every piece comes down to a film area and a filled volume (:class:`Cover`). The band of constant width ``b`` round a convex
outline of perimeter ``P`` with rounded corners has the area ``P·b + π·b²`` (Steiner's formula); where a crew brushes square
corners it is ``P·b + 4·b²`` round a rectangle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from hullwright.material.ask import Ask
from hullwright.material.bead import fillet
from hullwright.material.film import Liquid


@dataclass(frozen=True, slots=True)
class Cover:
    """What one piece takes.

    Parameters
    ----------
    area : float
        Area of film [m2].
    fill : float
        Volume of wet material in fillets and gaps [m3].
    edge : float
        Length of the line between piece and layer that is sealed [m].

    Examples
    --------
    >>> cover = Cover(area=0.05, fill=1e-5, edge=0.4)
    >>> round(cover.laid(500e-6) * 1e6, 1), round((cover * 3).area, 2)
    (35.0, 0.15)
    """

    area: float
    fill: float
    edge: float

    def __add__(self, other: Cover) -> Cover:
        """Two pieces as one."""
        return Cover(self.area + other.area, self.fill + other.fill, self.edge + other.edge)

    def __mul__(self, count: float) -> Cover:
        """So many like pieces."""
        return Cover(self.area * count, self.fill * count, self.edge * count)

    def laid(self, wet: float) -> float:
        """Wet material laid for a wet film [m] on the area, fills included [m3]."""
        ask = Ask("a piece")
        ask.positive("wet", wet, "m")
        ask.done()
        return self.area * wet + self.fill

    def bought(self, dry: float, liquid: Liquid) -> float:
        """Product as sold for a dry film [m], waste included [m3]."""
        return self.laid(dry * liquid.wet_per_dry) * liquid.bought_per_laid


def pipe(
    diameter: float, leg: float, *, on_pipe: float, fillet_leg: float = 0.0, tilt_deg: float = 0.0
) -> Cover:
    """Collar round a pipe.

    Parameters
    ----------
    diameter : float
        *Outside* diameter of the pipe [m].
    leg : float
        Width of the ring on the layer [m].
    on_pipe : float
        Height of the collar on the pipe [m]; 0 under a boot.
    fillet_leg : float
        Leg of the fillet in the corner [m]; 0 for none.
    tilt_deg : float
        Angle between the pipe and the square to the layer [deg]: a vertical pipe through a roof has the roof's pitch.

    Returns
    -------
    Cover
        Ring, collar and fillet. The outline is an ellipse with axes D and D/cos(tilt); its perimeter by Ramanujan's second
        formula (better than 1e-6 up to 60°). The fillet is taken with a right-angled section, its volume at the centroid
        (Pappus).

    Examples
    --------
    >>> from hullwright.units import INCH
    >>> collar = pipe(4.5 * INCH, 2 * INCH, on_pipe=2 * INCH, fillet_leg=3 / 8 * INCH)
    >>> round(collar.area / INCH**2, 1)
    69.1
    """
    ask = Ask("a pipe collar")
    ask.positive("diameter", diameter, "m")
    ask.positive("leg", leg, "m")
    ask.not_negative("on_pipe", on_pipe, "m")
    ask.not_negative("fillet_leg", fillet_leg, "m")
    if not 0 <= tilt_deg <= 75:
        ask.refuse("tilt_deg", tilt_deg, "0 to 75 deg", "give the angle from the square to the layer")
    ask.done()
    around = _ellipse(diameter, diameter / math.cos(math.radians(tilt_deg)))
    ring = around * leg + math.pi * leg**2
    fill = fillet(fillet_leg) * (around + 2 * math.pi * fillet_leg / 3) if fillet_leg else 0.0
    return Cover(area=ring + math.pi * diameter * on_pipe, fill=fill, edge=around)


def _ellipse(a: float, b: float) -> float:
    h = ((a - b) / (a + b)) ** 2
    return math.pi / 2 * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))


def rectangle(width: float, height: float, leg: float, *, on_piece: float, fillet_leg: float = 0.0) -> Cover:
    """Collar round a rectangular piece: rafter tail, beam, box, duct.

    Parameters
    ----------
    width, height : float
        Outline of the piece [m].
    leg : float
        Width of the ring on the layer [m], corners brushed square.
    on_piece : float
        Width of the film on the piece [m]; 0 for a flat flange.
    fillet_leg : float
        Leg of the fillet in the corner [m]; 0 for none.

    Returns
    -------
    Cover
        ``P·(leg + on_piece) + 4·leg²``; the fillet along the four sides, its mitres left out (under 2 per cent).

    Examples
    --------
    A 2x8 rafter tail:

    >>> from hullwright.units import INCH, MIL
    >>> tail = rectangle(1.5 * INCH, 7.25 * INCH, 2 * INCH, on_piece=2 * INCH, fillet_leg=3 / 8 * INCH)
    >>> round(tail.area / INCH**2, 1), round(tail.laid(30 * MIL) / INCH**3, 2)
    (86.0, 3.81)
    """
    ask = Ask("a collar round a rectangular piece")
    ask.positive("width", width, "m")
    ask.positive("height", height, "m")
    ask.positive("leg", leg, "m")
    ask.not_negative("on_piece", on_piece, "m")
    ask.not_negative("fillet_leg", fillet_leg, "m")
    ask.done()
    around = 2 * (width + height)
    fill = fillet(fillet_leg) * around if fillet_leg else 0.0
    return Cover(area=around * (leg + on_piece) + 4 * leg**2, fill=fill, edge=around)


def cables(count: int, diameter: float, leg: float, *, on_cable: float, hole: float, depth: float) -> Cover:
    """Group of cables through one hole: each has its collar, the rest of the hole is filled.

    Parameters
    ----------
    count : int
        Number of cables, 1 or more.
    diameter : float
        Outside diameter of one [m].
    leg : float
        Width of the film on the layer round the hole [m].
    on_cable : float
        Length of the collar on each cable [m].
    hole : float
        Diameter of the hole [m]; all cables must fit.
    depth : float
        Depth to which it is filled [m].

    Returns
    -------
    Cover
        One ring round the hole, its face, a collar on each cable, and the filled rest of the hole.

    Examples
    --------
    >>> group = cables(3, 0.012, 0.05, on_cable=0.05, hole=0.040, depth=0.011)
    >>> round(group.fill * 1e6, 1)
    10.1
    """
    ask = Ask("a group of cables")
    ask.count("count", count)
    for key, value in (("diameter", diameter), ("leg", leg), ("hole", hole), ("depth", depth)):
        ask.positive(key, value, "m")
    ask.not_negative("on_cable", on_cable, "m")
    ask.done()
    rest = math.pi / 4 * (hole**2 - count * diameter**2)
    if count < 1 or rest <= 0 or (count > 1 and hole < 2 * diameter):
        ask.refuse(
            "hole",
            f"{count} cables of {diameter:g} m in {hole:g} m",
            "at least one cable, and a hole they fit",
        )
    ask.done()
    ring = math.pi * leg * (hole + leg)
    area = ring + rest + count * math.pi * diameter * on_cable
    return Cover(area=area, fill=rest * depth, edge=math.pi * (hole + count * diameter))


def spot(diameter: float) -> Cover:
    """Spot over a fastener head.

    Parameters
    ----------
    diameter : float
        Diameter of the spot [m].

    Returns
    -------
    Cover
        A disc.

    Examples
    --------
    >>> from hullwright.units import INCH, MIL
    >>> round(spot(1.5 * INCH).laid(20 * MIL) / INCH**3, 4)
    0.0353
    """
    ask = Ask("a fastener spot")
    ask.positive("diameter", diameter, "m")
    ask.done()
    return Cover(area=math.pi * diameter**2 / 4, fill=0.0, edge=math.pi * diameter)


def opening_corner(leg: float, *, depth: float, face: float, fillet_leg: float = 0.0) -> Cover:
    """Corner of a rough opening: sill and jamb inside it, and the wall face round it.

    Parameters
    ----------
    leg : float
        Length from the corner along sill and jamb [m].
    depth : float
        Depth of the opening that is covered [m].
    face : float
        Width on the wall face [m].
    fillet_leg : float
        Leg of the fillet in the inside corner [m].

    Returns
    -------
    Cover
        ``2·leg·depth + 2·leg·face + face²``.

    Examples
    --------
    >>> round(opening_corner(0.15, depth=0.10, face=0.05).area, 4)
    0.0475
    """
    ask = Ask("the corner of a rough opening")
    for key, value in (("leg", leg), ("depth", depth), ("face", face)):
        ask.positive(key, value, "m")
    ask.not_negative("fillet_leg", fillet_leg, "m")
    ask.done()
    fill = fillet(fillet_leg) * depth if fillet_leg else 0.0
    return Cover(area=2 * leg * (depth + face) + face**2, fill=fill, edge=2 * leg + depth)


def three_way_corner(leg: float, *, fillet_leg: float = 0.0) -> Cover:
    """Corner where three faces meet.

    Parameters
    ----------
    leg : float
        Reach on each face, both ways [m].
    fillet_leg : float
        Leg of the fillets along the three edges [m]: an inside corner; 0 for an outside corner.

    Returns
    -------
    Cover
        ``3·leg²`` and three fillets.

    Examples
    --------
    >>> round(three_way_corner(0.1).area, 6)
    0.03
    """
    ask = Ask("a three-way corner")
    ask.positive("leg", leg, "m")
    ask.not_negative("fillet_leg", fillet_leg, "m")
    ask.done()
    fill = 3 * leg * fillet(fillet_leg) if fillet_leg else 0.0
    return Cover(area=3 * leg**2, fill=fill, edge=3 * leg)


def t_joint(band: float, past: float) -> Cover:
    """Patch over a T-joint: a square over the crossing bands and past them on each side, as a second layer.

    Parameters
    ----------
    band : float
        Width of the bands that meet [m].
    past : float
        Reach past the band [m].

    Returns
    -------
    Cover
        ``(band + 2·past)²``.

    Examples
    --------
    >>> round(t_joint(0.1, 0.05).area, 6)
    0.04
    """
    ask = Ask("a T-joint patch")
    ask.positive("band", band, "m")
    ask.not_negative("past", past, "m")
    ask.done()
    side = band + 2 * past
    return Cover(area=side**2, fill=0.0, edge=1.5 * side)


def fillet_run(length: float, leg: float) -> Cover:
    """Fillet along an inside corner, no film.

    Parameters
    ----------
    length : float
        Length [m].
    leg : float
        Leg on each face [m].

    Returns
    -------
    Cover
        Fill only.

    Examples
    --------
    >>> fillet_run(2.0, 0.01).fill
    0.0001
    """
    ask = Ask("a fillet")
    ask.not_negative("length", length, "m")
    ask.done()
    return Cover(area=0.0, fill=length * fillet(leg), edge=length)
