"""Tape: length with laps and roll ends, stretch tape, primer, release liner.

Laps of 2 in (51 mm) and more at strip ends and T-joints are trade practice; the product sheet rules.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from hullwright.evidence import ESTIMATE, Caution, Evidence, Figure, Mark
from hullwright.material.ask import Ask
from hullwright.material.cautions import LINER_SLIPS, ROLL_THE_TAPE, SHEET_RULES
from hullwright.units import INCH

END_LAP: Final = Figure(2 * INCH, "m", Evidence(Mark.MEMORY, "trade: end lap and T-joint lap 2 in or more"))
BOND_SIDE: Final = Figure(
    1 * INCH, "m", Evidence(Mark.MEMORY, "trade: 1 to 1.5 in bond on each side of a gap")
)
ROLL_REST: Final = Figure(0.3, "m", ESTIMATE)
"""Rest of a roll that is too short to use, mean."""
STRIP: Final = Figure(3.0, "m", ESTIMATE)
"""Longest strip that one pair of hands lays and rolls in one go."""


@dataclass(frozen=True, slots=True)
class Laying:
    """How tape is laid.

    Parameters
    ----------
    strip : float
        Longest strip laid in one go [m].
    lap : float
        Lap of one strip on the next, and of a stem over the tape it meets at a T-joint [m].

    Raises
    ------
    InputError
        Where the strip is no longer than its lap.

    Examples
    --------
    >>> Laying(strip=3.0, lap=0.05).strips(10.0)
    4
    """

    strip: float = STRIP.value
    lap: float = END_LAP.value

    def __post_init__(self) -> None:
        ask = Ask("tape")
        ask.positive("strip", self.strip, "m")
        ask.not_negative("lap", self.lap, "m")
        if not ask.problems and self.strip <= self.lap:
            ask.refuse("strip", f"strip {self.strip:g} m, lap {self.lap:g} m", "a strip longer than its lap")
        ask.done()

    def strips(self, length: float) -> int:
        """Strips for one straight run of a length [m]: ``ceil((L − lap)/(strip − lap))``, at least one."""
        if length <= 0:
            return 0
        return max(1, math.ceil((length - self.lap) / (self.strip - self.lap) - 1e-9))


@dataclass(frozen=True, slots=True)
class TapeUse:
    """Tape for some runs.

    Parameters
    ----------
    length : float
        Tape with all laps [m].
    strips : int
        Strips to cut.
    """

    length: float
    strips: int
    cautions: tuple[Caution, ...] = (SHEET_RULES, ROLL_THE_TAPE)


def run_tape(length: float, laying: Laying, *, t_joints: int = 0, past: float = 0.0) -> TapeUse:
    """Tape for one straight run.

    Parameters
    ----------
    length : float
        Length of the joint [m].
    laying : Laying
        Strip and lap.
    t_joints : int
        Ends of this run that lap over another tape.
    past : float
        Tape that runs past each of the two ends, such as round a corner [m].

    Returns
    -------
    TapeUse
        ``L + (n − 1)·lap + t·lap + 2·past`` and the strips.

    Examples
    --------
    >>> use = run_tape(10.0, Laying(strip=3.0, lap=0.05), t_joints=2)
    >>> use.strips, round(use.length, 3)
    (4, 10.25)
    """
    ask = Ask("the tape for a run")
    ask.not_negative("length", length, "m")
    ask.count("t_joints", t_joints)
    ask.not_negative("past", past, "m")
    ask.done()
    if length == 0:
        return TapeUse(0.0, 0)
    covered = length + 2 * past + t_joints * laying.lap
    strips = laying.strips(covered)
    return TapeUse(length=covered + (strips - 1) * laying.lap, strips=strips)


def rolls(length: float, roll: float, *, rest: float = ROLL_REST.value, waste: float = 0.0) -> float:
    """Rolls for a length of tape, as a fraction: sum over runs first, round up once.

    Parameters
    ----------
    length : float
        Tape with laps [m].
    roll : float
        Length of a roll [m].
    rest : float
        Rest of each roll too short to use [m].
    waste : float
        Share of what is used that is lost otherwise: torn, dropped, misplaced.

    Returns
    -------
    float
        ``L/((1 − W)·(roll − rest))``.

    Raises
    ------
    InputError
        Where a number is outside its range or the rest as long as the roll.

    Examples
    --------
    >>> round(rolls(297.0, 30.0, rest=0.3), 6)
    10.0
    """
    ask = Ask("rolls of tape")
    ask.not_negative("length", length, "m")
    ask.positive("roll", roll, "m")
    ask.not_negative("rest", rest, "m")
    ask.loss("waste", waste)
    if not ask.problems and rest >= roll:
        ask.refuse("rest", f"{rest:g} m of a roll of {roll:g} m", "less than a roll")
    ask.done()
    return length / ((1.0 - waste) * (roll - rest))


def bond_each_side(width: float, gap: float) -> float:
    """Bond on each side of a gap under a centred tape.

    Parameters
    ----------
    width, gap : float
        Tape and gap [m].

    Returns
    -------
    float
        ``(width − gap)/2`` [m]; hold it against :data:`BOND_SIDE` and the sheet.

    Examples
    --------
    >>> round(bond_each_side(4, 1 / 8), 2), round(bond_each_side(6, 1 / 8), 2)  # any unit of length
    (1.94, 2.94)
    """
    ask = Ask("the bond of a tape")
    ask.positive("width", width, "m")
    ask.not_negative("gap", gap, "m")
    if not ask.problems and gap >= width:
        ask.refuse("gap", f"{gap:g} m under a tape of {width:g} m", "a gap narrower than the tape")
    ask.done()
    return (width - gap) / 2.0


@dataclass(frozen=True, slots=True)
class StretchRing:
    """Stretch tape round a pipe.

    Parameters
    ----------
    length : float
        Tape, unstretched at the pipe [m].
    stretch : float
        Stretch at the outer edge of the flange: 0.9 is 90 per cent longer.
    """

    length: float
    stretch: float


def stretch_ring(diameter: float, flange: float, *, lap: float = END_LAP.value) -> StretchRing:
    """Stretch tape round a pipe, its outer half turned out on the layer.

    Parameters
    ----------
    diameter : float
        Outside diameter of the pipe [m].
    flange : float
        Width turned out on the layer [m].
    lap : float
        Lap of the ends [m].

    Returns
    -------
    StretchRing
        ``π·D + lap`` and the stretch ``2·flange/D`` that the outer edge needs: hold it against the sheet.

    Examples
    --------
    >>> ring = stretch_ring(0.1, 0.05, lap=0.05)
    >>> round(ring.length, 4), ring.stretch
    (0.3642, 1.0)
    """
    ask = Ask("stretch tape round a pipe")
    ask.positive("diameter", diameter, "m")
    ask.positive("flange", flange, "m")
    ask.not_negative("lap", lap, "m")
    ask.done()
    return StretchRing(length=math.pi * diameter + lap, stretch=2 * flange / diameter)


def primer(length: float, width: float, spread: float, *, waste: float = 0.0) -> float:
    """Primer under tape.

    Parameters
    ----------
    length, width : float
        Primed band [m].
    spread : float
        Coverage of the sheet [m2/m3].
    waste : float
        Share of what is used that is lost.

    Returns
    -------
    float
        Volume [m3]: ``L·w/(spread·(1 − W))``.

    Examples
    --------
    >>> from hullwright.units import read
    >>> round(primer(100.0, 0.1, read("5 m2/L", "coverage"), waste=0.2) * 1000, 3)  # L
    2.5
    """
    ask = Ask("primer")
    ask.not_negative("length", length, "m")
    ask.positive("width", width, "m")
    ask.positive("spread", spread, "m2/m3")
    ask.loss("waste", waste)
    ask.done()
    return length * width / (spread * (1.0 - waste))


@dataclass(frozen=True, slots=True)
class Liner:
    """Release liner that comes off.

    Parameters
    ----------
    length, area : float
        Liner to bag [m], [m2].
    pieces : int
        Pieces: one a strip and split.
    cautions : tuple of Caution
        What to mind.
    """

    length: float
    area: float
    pieces: int
    cautions: tuple[Caution, ...] = (LINER_SLIPS,)


def liner(use: TapeUse, width: float, *, splits: int = 1) -> Liner:
    """Release liner of some tape.

    Parameters
    ----------
    use : TapeUse
        Tape laid.
    width : float
        Tape [m].
    splits : int
        Parts that the liner is split into across its width.

    Returns
    -------
    Liner
        Length, area and pieces to bag.

    Examples
    --------
    >>> liner(TapeUse(12.0, 4), 0.1, splits=2).pieces
    8
    """
    ask = Ask("release liner")
    ask.positive("width", width, "m")
    ask.count("splits", splits)
    if not ask.problems and splits < 1:
        ask.refuse("splits", splits, "1 or more")
    ask.done()
    return Liner(length=use.length * splits, area=use.length * width, pieces=use.strips * splits)
