"""The sums of the choice: expected leakage area and water of every option, all at once.

For a run of quantity q (m or pieces), with sound leakage a and flaws λ a unit (place, surface and crew counted in):

    N = λ·q,   A = a·q + N·ā  [cm2],   W = N·c·b·S + o·q·S'  [L]

ā is the mean open area of a flaw, S the water that passes the joint per metre of width [L/m], b the width a flaw takes
water from [m], c the share that enters, o what a joint left bare takes [m a unit], and S' the water that reaches such a joint,
by its length [L/m]. This W counts each run as if nothing were lost above it: the solver goes by it. What is printed is summed along
the drainage paths (:mod:`hullwright.choice.drainage`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

AIR_DENSITY: Final = 1.2041
"""Dry air at 20 °C and 101.325 kPa [kg/m3]."""
EXPONENT: Final = 0.65
"""Flow exponent where none is stated (common practice)."""


@dataclass(frozen=True, slots=True)
class Terms:
    """Terms of the sums, one entry an option.

    Parameters
    ----------
    quantity : ndarray (M,)
        Metres or pieces.
    sound : ndarray (M,)
        Leakage area of sound work, a unit [cm2].
    flaws : ndarray (M,)
        Expected flaws a unit.
    hole : ndarray (M,)
        Mean open area of a flaw [cm2].
    gather, enters : ndarray (M,)
        Width a flaw takes water from [m] and share of it that enters.
    open : ndarray (M,)
        Width of open joint, times the share that enters, a unit [m].
    passing : ndarray (M,)
        Water that passes the joint, per metre of width where a flaw takes it from [L/m].
    reaching : ndarray (M,)
        Water that reaches it where it is left bare, by its length [L/m].

    Examples
    --------
    Tape on 100 m of seam, 1.5 flaws of 0.3 cm2:

    >>> one = np.ones(1)
    >>> t = Terms(100 * one, 0.02 * one, 0.015 * one, 0.3 * one, 0.05 * one, 0.1 * one, 0 * one, 90 * one, 90 * one)
    >>> round(float(t.air[0]), 3), round(float(t.water[0]), 4)
    (2.45, 0.675)
    """

    quantity: Floats
    sound: Floats
    flaws: Floats
    hole: Floats
    gather: Floats
    enters: Floats
    open: Floats
    passing: Floats
    reaching: Floats

    @property
    def number(self) -> Floats:
        """Expected flaws N."""
        return self.quantity * self.flaws

    @property
    def sound_air(self) -> Floats:
        """Leakage area of sound work [cm2]."""
        return self.quantity * self.sound

    @property
    def air(self) -> Floats:
        """Expected leakage area A [cm2]."""
        return self.sound_air + self.number * self.hole

    @property
    def flaw_water(self) -> Floats:
        """Water through one flaw [L]."""
        return self.gather * self.enters * self.passing

    @property
    def open_water(self) -> Floats:
        """Water through a joint left bare [L]."""
        return self.quantity * self.open * self.reaching

    @property
    def water(self) -> Floats:
        """Expected water W, nothing lost above [L]."""
        return self.number * self.flaw_water + self.open_water

    def take(self, rows: NDArray[np.int64]) -> Terms:
        """Terms of some options."""
        return Terms(
            self.quantity[rows],
            self.sound[rows],
            self.flaws[rows],
            self.hole[rows],
            self.gather[rows],
            self.enters[rows],
            self.open[rows],
            self.passing[rows],
            self.reaching[rows],
        )


def flow(area: float, pressure: float = 50.0, exponent: float = EXPONENT) -> float:
    """Air flow through an effective leakage area at 4 Pa.

    Parameters
    ----------
    area : float
        Effective leakage area at 4 Pa, discharge coefficient 1 [cm2].
    pressure : float
        Pressure difference [Pa].
    exponent : float
        Flow exponent n.

    Returns
    -------
    float
        Flow [m3/h]: ``A·sqrt(2·4/ρ)·(p/4)^n``.

    Examples
    --------
    >>> round(flow(1.0), 4), round(flow(1.0) * 0.588578, 2)  # m3/h, cfm
    (4.7919, 2.82)
    """
    at_four = area * 1e-4 * (2 * 4.0 / AIR_DENSITY) ** 0.5 * 3600.0
    return float(at_four * (pressure / 4.0) ** exponent)


def area(rate: float, pressure: float = 50.0, exponent: float = EXPONENT) -> float:
    """Effective leakage area at 4 Pa of an air flow: :func:`flow` turned round.

    Parameters
    ----------
    rate : float
        Flow [m3/h].
    pressure : float
        Pressure difference at which it flows [Pa].
    exponent : float
        Flow exponent n.

    Returns
    -------
    float
        Area [cm2].

    Examples
    --------
    >>> round(area(flow(90.0)), 9)
    90.0
    """
    return rate / flow(1.0, pressure, exponent)
