"""How much fresh air a dwelling needs, and how much of it its leaks may be counted for (ASHRAE 62.2)."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

from hullwright.errors import InputError, Problem, Where
from hullwright.evidence import Evidence, Mark

NL_PER_FLOW: Final = 1.44  # 3.6/2.5: Q_inf[L/s] = NL wsf A_F/1.44


class Credit(StrEnum):
    """Edition of the standard whose credit is taken."""

    E2010 = "62.2-2010"
    E2013 = "62.2-2013"
    E2016 = "62.2-2016"


_EVIDENCE: Final = {
    Credit.E2010: Evidence(
        Mark.PUBLISHED, "ASHRAE 62.2-2010, 0.01 cfm/ft2 (seen in a secondary copy); no credit beyond it"
    ),
    Credit.E2013: Evidence(
        Mark.PUBLISHED, "ASHRAE Fundamentals 2021 ch. 17 eq. 11; credit in full as in 62.2-2013"
    ),
    Credit.E2016: Evidence(
        Mark.MEMORY, "62.2-2016: Q_fan = Q_tot - phi Q_inf A_ext, phi = 1 balanced, Q_inf/Q_tot unbalanced"
    ),
}


@dataclass(frozen=True, slots=True)
class Need:
    """Ventilation a dwelling needs.

    Parameters
    ----------
    edition : Credit
        Edition.
    total_m3_h : float
        Whole need [m3/h].
    infiltration_m3_h : float or None
        Credited infiltration [m3/h]; None where the weather factor or the leakage is not known.
    fan_m3_h : float
        What fans must bring [m3/h].
    evidence : Evidence
        Source.
    note : str
        What is missing for a credit.
    """

    edition: Credit
    total_m3_h: float
    infiltration_m3_h: float | None
    fan_m3_h: float
    evidence: Evidence
    note: str = ""

    def to_json(self) -> dict[str, Any]:
        """Give the need as JSON."""
        return {
            "edition": self.edition.value,
            "total_m3_h": self.total_m3_h,
            "infiltration_m3_h": self.infiltration_m3_h,
            "fan_m3_h": self.fan_m3_h,
            "evidence": self.evidence.to_json(),
            "note": self.note,
        }


def total_need(floor_m2: float, bedrooms: int, *, edition: Credit = Credit.E2013) -> float:
    """Whole-dwelling need.

    Parameters
    ----------
    floor_m2 : float
        Floor area [m2].
    bedrooms : int
        Number of bedrooms.
    edition : Credit
        Edition.

    Returns
    -------
    float
        [m3/h]: ``0.15 A_F + 3.5 (N_br + 1)`` L/s (2013 and later); ``0.05 A_F + 3.5 (N_br + 1)`` (2010).

    Examples
    --------
    >>> round(total_need(195.3, 3) / 3.6, 1)  # handbook, Atlanta house: 43 L/s
    43.3
    """
    share = 0.05 if edition is Credit.E2010 else 0.15
    return 3.6 * (share * floor_m2 + 3.5 * (bedrooms + 1))


def ventilation_need(
    floor_m2: float,
    bedrooms: int,
    *,
    nl: float | None = None,
    weather_factor: float | None = None,
    edition: Credit = Credit.E2013,
    balanced: bool = False,
) -> Need:
    """What fans must bring, with the credit for infiltration.

    Parameters
    ----------
    floor_m2 : float
        Floor area [m2].
    bedrooms : int
        Number of bedrooms.
    nl : float or None
        Normalized leakage with exponent 0.4.
    weather_factor : float or None
        Weather and shielding factor of the station (wsf) from the table of the standard [1/h]; no default is given.
    edition : Credit
        Edition.
    balanced : bool
        Whether the fans are balanced (2016 on).

    Returns
    -------
    Need
        Detached dwelling. Without `nl` or `weather_factor` no credit is taken.

    Raises
    ------
    InputError

    Examples
    --------
    >>> need = ventilation_need(200.0, 3, nl=0.2, weather_factor=0.6)
    >>> round(need.total_m3_h, 1), round(need.infiltration_m3_h, 1), round(need.fan_m3_h, 1)
    (158.4, 60.0, 98.4)
    """
    problems = [
        Problem(f"{name} is out of range", Where(key=name), f"{value:g}", allowed)
        for name, value, good, allowed in (
            ("floor_m2", floor_m2, floor_m2 > 0, "more than 0"),
            ("bedrooms", bedrooms, bedrooms >= 0, "0 or more"),
        )
        if not good
    ]
    if problems:
        raise InputError("the ventilation need can't be computed", problems)
    total = total_need(floor_m2, bedrooms, edition=edition)
    if edition is Credit.E2010:
        return Need(
            edition, total, None, total, _EVIDENCE[edition], "this edition has its credit in the need itself"
        )
    if nl is None or weather_factor is None:
        missing = (
            "the normalized leakage" if nl is None else "the weather and shielding factor of the station"
        )
        return Need(edition, total, None, total, _EVIDENCE[edition], f"no credit: {missing} is not stated")
    credit = 3.6 * nl * weather_factor * floor_m2 / NL_PER_FLOW
    counted = credit
    if edition is Credit.E2016 and not balanced:
        counted = credit * min(credit / total, 1.0)  # phi = Q_inf/Q_tot can't exceed 1 by its meaning
    return Need(edition, total, credit, max(total - counted, 0.0), _EVIDENCE[edition])
