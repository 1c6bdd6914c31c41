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
NORMAL_95: Final = 1.959963984540054  # 97.5 % point of the standard normal
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
    spread : Figure
        Factor each way that holds 95 % of its own part of the spread [-].
    evidence : Evidence
        Of the mean.
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
    spread: Figure
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
    own = np.log([c.spread.value for c in components]) / NORMAL_95
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
def _data() -> dict[str, Any]:
    text = (files("hullwright.leaks") / "data" / "components.toml").read_text(encoding="utf-8")
    found: dict[str, Any] = tomllib.loads(text)
    return found


def table() -> dict[str, dict[str, Any]]:
    """Component table by key: best, low, high, unit, evidence mark and source."""
    rows: dict[str, dict[str, Any]] = _data()["component"]
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
        Best value, and the factor each way that spans the table's low and high.

    Examples
    --------
    >>> figure, factor = published("attic-hatch-plain")
    >>> figure.value, figure.unit, round(factor, 2)
    (30.0, 'cm2 each', 1.92)
    """
    row = table()[key]
    figure = Figure(float(row["best"]), str(row["unit"]), Evidence(Mark(row["mark"]), str(row["source"])))
    return figure, math.sqrt(float(row["high"]) / float(row["low"]))


def spread(kind: str, sort: str = "joint") -> Figure:
    """How much a component of this kind varies about its mean.

    Parameters
    ----------
    kind : str
        Joint kind, or name of a unit or service.
    sort : str
        ``joint``, ``unit``, ``material`` or ``service``.

    Returns
    -------
    Figure
        Factor each way that holds 95 % [-]: from the table's row where one fits, at least 3, else ten.

    Notes
    -----
    A row's low and high are taken as its 95 % span. Below three no single joint of one crew is believed (estimate).

    Examples
    --------
    >>> round(spread("sill to foundation").value, 2), spread("pipe").value, spread("valley").value
    (4.0, 3.0, 10.0)
    """
    data = _data()["spread"]
    row = data["of"].get(kind)
    if row is not None:
        figure, factor = published(row)
        if factor < data["least"]:
            why = f"the table's span of {table()[row]['name']} is narrower, too narrow for one joint of one house"
            return Figure(data["least"], "-", Evidence(Mark(data["least_mark"]), why))
        return Figure(factor, "-", Evidence(Mark.MEMORY, f"{figure.evidence.source}; {table()[row]['name']}"))
    if sort in data["sort"]:
        return Figure(data["sort"][sort], "-", Evidence(Mark.ESTIMATE, ""))
    return Figure(data["any"], "-", Evidence(Mark(data["any_mark"]), data["any_source"]))
