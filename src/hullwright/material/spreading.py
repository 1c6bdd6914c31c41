"""Spreading: zig-zag beads, parallel beads and notched spreaders that leave a film."""

from __future__ import annotations

import math

from hullwright.material.ask import Ask
from hullwright.material.bead import length_per, one_bead, rectangular, round_bead


def zigzag_factor(width: float, period: float) -> float:
    """Length of a zig-zag bead over the length of the joint.

    Parameters
    ----------
    width : float
        Width of the band [m].
    period : float
        Distance between two successive points on the same edge [m].

    Returns
    -------
    float
        ``sqrt((p/2)² + W²)/(p/2)``.

    Examples
    --------
    >>> round(zigzag_factor(4, 2), 3)  # any unit of length
    4.123
    """
    ask = Ask("a zig-zag bead")
    ask.positive("width", width, "m")
    ask.positive("period", period, "m")
    ask.done()
    return math.hypot(period / 2.0, width) / (period / 2.0)


def zigzag_bead(width: float, wet: float, period: float) -> float:
    """Diameter of the zig-zag bead that supplies a film.

    Parameters
    ----------
    width, wet : float
        Band and wet film [m].
    period : float
        Distance between two successive points on the same edge [m].

    Returns
    -------
    float
        Diameter [m]: ``sqrt(4·W·t/(π·f))``.

    Examples
    --------
    >>> from hullwright.units import INCH, MIL
    >>> round(zigzag_bead(4 * INCH, 20 * MIL, 2 * INCH) / INCH, 3)
    0.157
    """
    factor = zigzag_factor(width, period)
    return one_bead(rectangular(width, wet) / factor)


def parallel_spacing(diameter: float, wet: float) -> float:
    """Spacing of parallel round beads that are spread to a film.

    Parameters
    ----------
    diameter : float
        Bead [m].
    wet : float
        Wet film wanted [m].

    Returns
    -------
    float
        Spacing, centre to centre [m]: ``π·D²/(4·t)``.

    Examples
    --------
    >>> from hullwright.units import INCH, MIL
    >>> round(parallel_spacing(INCH / 8, 20 * MIL) / INCH, 2)
    0.61
    """
    return length_per(round_bead(diameter), wet)


def parallel_film(diameter: float, spacing: float) -> float:
    """Wet film that parallel round beads are spread to.

    Parameters
    ----------
    diameter, spacing : float
        Bead and spacing, centre to centre [m].

    Returns
    -------
    float
        Wet film [m].

    Examples
    --------
    >>> from hullwright.units import INCH, MIL
    >>> round(parallel_film(3 / 16 * INCH, 1.38 * INCH) / MIL)
    20
    """
    return length_per(round_bead(diameter), spacing)


def v_notch(depth: float, spacing: float) -> float:
    """Mean wet film behind a spreader with 90° V notches, full notches.

    Real spreading leaves less, with the angle of the tool (from memory, unverified): take a reading.

    Parameters
    ----------
    depth, spacing : float
        Depth of a notch, and spacing of the notches [m]; they touch at ``spacing = 2·depth``.

    Returns
    -------
    float
        Film [m]: ``h²/s``.

    Raises
    ------
    InputError
        Where the notches would overlap.

    Examples
    --------
    >>> from hullwright.units import INCH, MIL
    >>> round(v_notch(INCH / 8, INCH / 4) / MIL, 1)
    62.5
    """
    return _notch(depth, depth, spacing, v_shaped=True)


def square_notch(width: float, height: float, spacing: float) -> float:
    """Mean wet film behind a spreader with square notches, full notches.

    Parameters
    ----------
    width, height, spacing : float
        Notch and spacing of the notches [m].

    Returns
    -------
    float
        Film [m]: ``w·h/s``.

    Examples
    --------
    >>> round(square_notch(0.006, 0.003, 0.012), 6)
    0.0015
    """
    return _notch(width, height, spacing, v_shaped=False)


def _notch(width: float, depth: float, spacing: float, *, v_shaped: bool) -> float:
    ask = Ask("a notched spreader")
    ask.positive("notch width", width, "m")
    ask.positive("notch depth", depth, "m")
    ask.positive("spacing", spacing, "m")
    ask.done()
    mouth = 2.0 * depth if v_shaped else width
    if mouth > spacing * (1 + 1e-9):
        ask.refuse("spacing", spacing, f"at least the mouth of a notch, {mouth:g} m")
    ask.done()
    return (depth**2 if v_shaped else width * depth) / spacing
