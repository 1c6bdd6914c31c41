"""What does the mock-up say: film by mass balance and by comb, pace and bead that hit the target, saving on the house."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from hullwright.errors import Problem, QuantityError
from hullwright.evidence import ESTIMATE, Caution
from hullwright.material.distributions import chi_square_quantile
from hullwright.material.film import NO_GAP, Gap, joint_section
from hullwright.material.tolerance import LEAST_READINGS
from hullwright.proof.comb import Reading
from hullwright.proof.lots import estimate_film

Z95: Final = 1.959963984540054
HABIT: Final = Caution("one mock-up is one sample of a crew's habit: the wall may differ", ESTIMATE)


@dataclass(frozen=True, slots=True)
class Target:
    """What the sheet asks along a joint.

    Parameters
    ----------
    width, wet : float
        Band width and wet film [m].
    gap, depth : float
        Gap and depth of its fill [m].
    more : float
        Section of fillets, and of what goes into gaps as a mean over several joints [m2].
    """

    width: float
    wet: float
    gap: float = 0.0
    depth: float = 0.0
    more: float = 0.0

    @property
    def section(self) -> float:
        """Material per metre of joint [m2]: film, gap fill and fillet."""
        gap = Gap(self.gap, self.depth) if self.gap and self.depth else NO_GAP
        return joint_section(self.width, self.wet, gap, self.more)

    @property
    def bead(self) -> float:
        """Diameter of one straight round bead that supplies it [m]: D = √(4A/π)."""
        return math.sqrt(4.0 * self.section / math.pi)


@dataclass(frozen=True, slots=True)
class MockUp:
    """One mock-up as measured.

    Parameters
    ----------
    length, width : float
        [m]
    volume : float
        Material that left the packs [m3].
    seconds : float
        Gunning time [s]; 0 where not taken.
    gap, depth : float
        [m]
    readings : tuple of Reading
        Comb readings while wet.
    volume_u, width_u : float
        Standard uncertainties [m3], [m].
    """

    length: float
    width: float
    volume: float
    seconds: float = 0.0
    gap: float = 0.0
    depth: float = 0.0
    readings: tuple[Reading, ...] = ()
    volume_u: float = 0.0
    width_u: float = 0.0

    def __post_init__(self) -> None:
        sizes = (self.length, self.width, self.volume)
        rest = (self.seconds, self.gap, self.depth, self.volume_u, self.width_u)
        if not all(math.isfinite(x) and x > 0 for x in sizes) or not all(
            math.isfinite(x) and x >= 0 for x in rest
        ):
            problem = Problem(
                "a size is missing or negative",
                got=str((*sizes, *rest)),
                allowed="length, width and volume above 0, the others 0 or more",
            )
            raise QuantityError("the mock-up can't be used", [problem])
        if self.gap * self.depth * self.length >= self.volume:
            raise QuantityError(
                "the gap alone takes more material than was used: measure gap, depth or packs again"
            )

    @property
    def section(self) -> float:
        """Material per metre [m2]."""
        return self.volume / self.length

    @property
    def section_u(self) -> float:
        """Standard uncertainty of the material per metre [m2]."""
        return self.volume_u / self.length

    @property
    def gap_share(self) -> float:
        """Share of the material that the gap took."""
        return self.gap * self.depth / self.section

    @property
    def film(self) -> float:
        """Mean wet film by mass balance [m]: (V/L − gap·depth)/width."""
        return (self.section - self.gap * self.depth) / self.width

    @property
    def film_u(self) -> float:
        """Standard uncertainty of that film [m]."""
        return math.hypot(self.section_u / self.width, self.film * self.width_u / self.width)


@dataclass(frozen=True, slots=True)
class Agreement:
    """Mass balance against comb.

    Parameters
    ----------
    by_mass, by_comb : float
        Mean wet films [m].
    difference, half_width : float
        Mass minus comb, and the half-width of its 95 % interval [m].
    agree : bool
    """

    by_mass: float
    by_comb: float
    difference: float
    half_width: float
    agree: bool

    def to_json(self) -> dict[str, Any]:
        """Give both films in µm, and what to look at where they differ."""
        hint = ""
        if not self.agree:
            hint = (
                "more material used than the comb shows: nozzle and spreader waste, wider band, deeper gap"
                if self.difference > 0
                else "the comb shows more than was used: count the packs again, read the comb along the band"
            )
        return {
            "by_mass_um": self.by_mass * 1e6,
            "by_comb_um": self.by_comb * 1e6,
            "difference": {
                "value": self.difference * 1e6,
                "low": (self.difference - self.half_width) * 1e6,
                "high": (self.difference + self.half_width) * 1e6,
                "level": 0.95,
            },
            "agree": self.agree,
            "hint": hint,
        }


@dataclass(frozen=True, slots=True)
class Saving:
    """Material saved on a whole house against the crew's habit.

    Parameters
    ----------
    share, share_low, share_high : float
        Of the habit's material, with its 95 % interval.
    volume, volume_low, volume_high : float
        [m3]
    """

    share: float
    share_low: float
    share_high: float
    volume: float
    volume_low: float
    volume_high: float

    def to_json(self) -> dict[str, Any]:
        """Give share and litres, with intervals."""
        return {
            "share": {"value": self.share, "low": self.share_low, "high": self.share_high, "level": 0.95},
            "volume_l": {
                "value": self.volume * 1e3,
                "low": self.volume_low * 1e3,
                "high": self.volume_high * 1e3,
                "level": 0.95,
            },
            "cautions": [HABIT.to_json()],
        }


def agreement(mock: MockUp) -> Agreement:
    """Test whether mass balance and comb agree.

    Parameters
    ----------
    mock : MockUp
        With two readings or more.

    Returns
    -------
    Agreement
        |difference| ≤ 1.96·√(u_mass² + u_comb²).

    Raises
    ------
    QuantityError
        Fewer than two readings.

    Examples
    --------
    >>> from hullwright.proof.comb import Comb
    >>> comb = Comb((1e-4, 2e-4, 3e-4, 4e-4, 5e-4, 6e-4))
    >>> reads = tuple(comb.read(x) for x in (4e-4, 5e-4, 4e-4, 3e-4, 4e-4))
    >>> agreement(MockUp(3.0, 0.1, 1.35e-4, readings=reads, volume_u=5e-6)).agree
    True
    """
    by_comb, u_comb = comb_mean(mock.readings)
    half = Z95 * math.hypot(mock.film_u, u_comb)
    difference = mock.film - by_comb
    return Agreement(mock.film, by_comb, difference, half, abs(difference) <= half)


def comb_mean(readings: Sequence[Reading]) -> tuple[float, float]:
    """Give mean wet film and its standard uncertainty [m] from comb readings.

    Where the comb can't resolve the spread its whole step stays as uncertainty (step/√12): more readings on the same
    tooth tell nothing new.
    """
    if len(readings) < 2:
        raise QuantityError(f"two comb readings or more are needed, got {len(readings)}")
    mean, sd, fit = estimate_film(readings)
    return mean, sd if fit is None else fit.se_mean


def spread_of(readings: Sequence[Reading]) -> tuple[float, float, float]:
    """Give the spread of the wet film that readings show, with its 95 % interval [m].

    Parameters
    ----------
    readings : sequence of Reading
        Three or more.

    Returns
    -------
    value, low, high : float
        √(s² − step²/12): standard deviation of the middles less what the gauge's rounding adds (Sheppard's correction), not below step/√12
        where the gauge can't resolve it; interval by chi-square.

    Examples
    --------
    >>> from hullwright.proof.comb import Comb
    >>> comb = Comb(tuple(float(mil) for mil in range(10, 32, 2)))
    >>> [round(x, 2) for x in spread_of([comb.read(float(wet)) for wet in (20, 22, 18, 24, 20, 22, 20, 26, 22, 18)])]
    [2.46, 1.69, 4.5]
    """
    if len(readings) < LEAST_READINGS:
        raise QuantityError(f"three readings or more show a spread, got {len(readings)}")
    middles = np.array([reading.middle for reading in readings])
    rounding = max(reading.step for reading in readings) ** 2 / 12.0
    seen = float(np.var(middles, ddof=1))
    value = math.sqrt(max(seen - rounding, rounding))
    df = len(readings) - 1
    low, high = (value * math.sqrt(df / chi_square_quantile(p, df)) for p in (0.975, 0.025))
    return value, low, high


def pace(mock: MockUp, target: Target) -> float:
    """Give the pace at which the same gun stroke lays the target [m/s].

    Parameters
    ----------
    mock : MockUp
        With its gunning time.
    target : Target

    Returns
    -------
    float
        (V/time)/(w·t + gap·depth).

    Raises
    ------
    QuantityError
        No time taken.

    Examples
    --------
    >>> round(pace(MockUp(3.0, 0.1, 3e-4, seconds=60), Target(0.1, 5e-4)), 4)
    0.1
    """
    if mock.seconds == 0:
        raise QuantityError("the mock-up has no gunning time: take it with a watch")
    return mock.volume / mock.seconds / target.section


def saving(habit: MockUp, then: Target | MockUp, *, house_length: float) -> Saving:
    """Give what is saved on the whole house when the crew works to the target instead of its habit.

    Parameters
    ----------
    habit : MockUp
        Done as the crew is used to.
    then : Target or MockUp
        The sheet's target, or the second mock-up as really achieved.
    house_length : float
        Joint length that the method will cover [m].

    Returns
    -------
    Saving
        Interval from the stated uncertainties (delta method).

    Examples
    --------
    >>> found = saving(MockUp(1.0, 0.09525, 0.09525 * 5.588e-4), Target(0.05715, 3.81e-4), house_length=100)
    >>> round(found.share, 3)
    0.591
    """
    u_then = then.section_u if isinstance(then, MockUp) else 0.0
    share = 1.0 - then.section / habit.section
    ratio = then.section / habit.section
    u_share = math.hypot(u_then / habit.section, ratio * habit.section_u / habit.section)
    volume = (habit.section - then.section) * house_length
    u_volume = house_length * math.hypot(habit.section_u, u_then)
    return Saving(
        share,
        share - Z95 * u_share,
        share + Z95 * u_share,
        volume,
        volume - Z95 * u_volume,
        volume + Z95 * u_volume,
    )
