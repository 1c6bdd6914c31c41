"""What can leak: one component per joint, unit, area of material or service, each with a log-normal prior.

Sources: component variability about a factor of ten (ASHRAE Handbook—Fundamentals 2021, ch. 16); effective leakage
areas of components (the same handbook, 1997–2005 editions, "Effective air leakage areas, low-rise residential"; marks in
``data/components.toml``).
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from hullwright.evidence import Evidence, Figure, Mark

Floats = NDArray[np.float64]

FLOW_EXPONENT: Final = 0.65
AIR_DENSITY: Final = 1.2041  # kg/m3 at 20 °C, 101 325 Pa


def flow_per_area(pressure: float = 50.0, exponent: float = FLOW_EXPONENT) -> float:
    """Flow through 1 cm2 of effective leakage area (4 Pa, discharge coefficient 1).

    Parameters
    ----------
    pressure : float
        [Pa]
    exponent : float
        Of the power law.

    Returns
    -------
    float
        [m3/h per cm2]

    Notes
    -----
    ``Q = A sqrt(2 · 4 / rho) (p / 4)^n``: ASHRAE Handbook—Fundamentals 2021, ch. 16, eq. 41 and 43.

    Examples
    --------
    >>> round(flow_per_area(4.0), 5), round(flow_per_area(50.0), 4)
    (0.92793, 4.7919)
    """
    return float(1e-4 * math.sqrt(2 * 4.0 / AIR_DENSITY) * 3600 * (pressure / 4.0) ** exponent)


@dataclass(frozen=True, slots=True)
class Component:
    """One thing that can leak.

    Parameters
    ----------
    id : str
        Joint id, or a name.
    kind : str
        Joint kind or component name, for people.
    sort : str
        ``joint``, ``unit``, ``material`` or ``service``.
    mean : float
        Expected effective leakage area at 4 Pa [cm2].
    gsd : float
        Geometric standard deviation of its own part of the spread.
    evidence : Evidence
    at : tuple of float
        Place [m], nan where it has none.
    face : str
    height : float
        Above ground [m].
    quantity : float
        Metres or pieces to look at.
    """

    id: str
    kind: str
    sort: str
    mean: float
    gsd: float
    evidence: Evidence
    at: tuple[float, float, float]
    face: str
    height: float
    quantity: float


@dataclass(frozen=True, slots=True)
class Prior:
    """Columns of the components.

    ``ln x = location + house·z0 + own·z`` with independent standard normal z; x in m3/h at 50 Pa.

    Parameters
    ----------
    location, own : ndarray (J,)
    house : float
        Spread shared by all that the crew made.
    shared : ndarray (J,)
        1 where the shared factor acts, 0 where it does not (units, materials).
    """

    location: Floats
    own: Floats
    house: float
    shared: Floats

    @property
    def mean(self) -> Floats:
        """Expected flow of each component (J,) [m3/h at 50 Pa]."""
        exact: Floats = np.exp(self.location + (self.own**2 + (self.house * self.shared) ** 2) / 2)
        return exact


def prior(components: Sequence[Component], *, house_gsd: float, exponent: float = FLOW_EXPONENT) -> Prior:
    """Columns of the prior; each component keeps its stated mean.

    Parameters
    ----------
    components : sequence of Component
        With means above 0.
    house_gsd : float
        Geometric standard deviation of the factor shared by house and crew.
    exponent : float
        Flow exponent that turns areas into flows at 50 Pa.
    """
    mean = np.array([c.mean for c in components]) * flow_per_area(50.0, exponent)
    own = np.log([c.gsd for c in components])
    shared = np.array([1.0 if c.sort == "joint" else 0.0 for c in components])
    house = math.log(house_gsd)
    return Prior(np.log(mean) - (own**2 + (house * shared) ** 2) / 2, own, house, shared)


def draw(columns: Prior, size: int, seed: int) -> Floats:
    """Draw from the prior.

    Returns
    -------
    ndarray (size, J)
        [m3/h at 50 Pa]
    """
    rng = np.random.default_rng(seed)
    common = rng.standard_normal((size, 1)) * columns.house * columns.shared
    drawn: Floats = np.exp(
        columns.location + common + columns.own * rng.standard_normal((size, len(columns.own)))
    )
    return drawn


@cache
def table() -> dict[str, dict[str, Any]]:
    """Component table by key: best, low, high, unit, evidence mark and source."""
    text = (files("hullwright.leaks") / "data" / "components.toml").read_text(encoding="utf-8")
    rows: dict[str, dict[str, Any]] = tomllib.loads(text)["component"]
    return rows


def published(key: str) -> tuple[Figure, float]:
    """One row of the component table.

    Parameters
    ----------
    key : str
        Such as ``attic-hatch-plain``.

    Returns
    -------
    tuple
        Best value and the geometric standard deviation that puts the table's span at ± 2 of it (at least 1.5).

    Examples
    --------
    >>> figure, gsd = published("attic-hatch-plain")
    >>> figure.value, figure.unit
    (30.0, 'cm2 each')
    """
    row = table()[key]
    figure = Figure(float(row["best"]), str(row["unit"]), Evidence(Mark(row["mark"]), str(row["source"])))
    return figure, max(1.5, (float(row["high"]) / float(row["low"])) ** 0.25)
