"""What was read on site, and nothing derived from it.

Pressures are inside minus outside, signed, as the gauge showed them: bias not yet taken off. Flows are as the device
showed them. Everything else is computed from these, so that any reading can be checked or corrected later.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Any, Final

import numpy as np

from hullwright.errors import Where

NOWHERE: Final = Where()


class Sense(StrEnum):
    """Which way the fan moves the air."""

    DEPRESSURIZATION = "depressurization"
    PRESSURIZATION = "pressurization"

    @property
    def sign(self) -> int:
        """Sign of the induced pressure, inside minus outside."""
        return 1 if self is Sense.PRESSURIZATION else -1


class Procedure(StrEnum):
    """How many pressures were held."""

    MULTI = "multi-point"
    TWO = "two-point"
    SINGLE = "single-point"


class Readout(StrEnum):
    """What the flow reading of the device means."""

    ACTUAL = "actual"
    """Volume flow of the air that passes the device."""
    INDICATED = "indicated"
    """Orifice or nozzle signal, calibrated for air of a stated density: q = q_read sqrt(rho_cal/rho)."""
    STANDARD = "standard"
    """Mass flow printed as a volume of air of a stated density: q = q_read rho_cal/rho."""


@dataclass(frozen=True, slots=True)
class Station:
    """One held pressure.

    Parameters
    ----------
    pressure_pa : float
        Envelope pressure as measured, inside minus outside [Pa].
    flow_m3_h : float or None
        Flow as the device showed it [m3/h].
    device_pressure_pa : float or None
        Pressure signal of the device [Pa], where its own calibration law gives the flow.
    setting : str or None
        Which opening, ring or range of the device was used.
    exclude : str or None
        Why this station does not count; None for a station that counts.
    where : Where
        Where it stands in the file.
    """

    pressure_pa: float
    flow_m3_h: float | None = None
    device_pressure_pa: float | None = None
    setting: str | None = None
    exclude: str | None = None
    where: Where = NOWHERE


@dataclass(frozen=True, slots=True)
class ZeroFlow:
    """Envelope pressure with the fan off and covered.

    Parameters
    ----------
    readings_pa : tuple of float
        Readings [Pa]; one number where only the mean was kept.
    mean_only : bool
        Whether that one number is a mean.
    """

    readings_pa: tuple[float, ...]
    mean_only: bool = False

    @property
    def mean(self) -> float:
        """Mean of all readings [Pa]."""
        return float(np.mean(self.readings_pa))

    @property
    def positive(self) -> float | None:
        """Mean of the positive readings [Pa]."""
        above = [value for value in self.readings_pa if value > 0]
        return float(np.mean(above)) if above and not self.mean_only else None

    @property
    def negative(self) -> float | None:
        """Mean of the negative readings [Pa]."""
        below = [value for value in self.readings_pa if value < 0]
        return float(np.mean(below)) if below and not self.mean_only else None

    @property
    def standard_error(self) -> float | None:
        """Standard error of the mean [Pa]; None from fewer than three readings."""
        if self.mean_only or len(self.readings_pa) < 3:
            return None
        return float(np.std(self.readings_pa, ddof=1) / np.sqrt(len(self.readings_pa)))


@dataclass(frozen=True, slots=True)
class Law:
    """Calibration of one device setting: flow = coefficient * pressure^exponent.

    Parameters
    ----------
    setting : str
        Name of the opening, ring or range.
    coefficient_m3_h : float
        [m3/(h Pa^exponent)].
    exponent : float
        Pure number.
    low_pa, high_pa : float
        Device pressures between which the maker states the law [Pa].
    """

    setting: str
    coefficient_m3_h: float
    exponent: float
    low_pa: float
    high_pa: float


@dataclass(frozen=True, slots=True)
class Device:
    """The fan with its flow meter.

    Parameters
    ----------
    name : str
        As the tester names it, with serial number: tells whether two tests shared it.
    readout : Readout
        What its reading means.
    density_kg_m3 : float or None
        Density of the air it was calibrated for; None with ``actual``.
    accuracy : float or None
        Share of the reading, 95 %, such as 0.05.
    laws : tuple of Law
        Where device pressures were noted.
    """

    name: str
    readout: Readout
    density_kg_m3: float | None = None
    accuracy: float | None = None
    laws: tuple[Law, ...] = ()


@dataclass(frozen=True, slots=True)
class Gauge:
    """The pressure gauge.

    Parameters
    ----------
    name : str
        As the tester names it.
    accuracy : float or None
        Share of the reading, 95 %.
    accuracy_pa : float or None
        Least error [Pa], 95 %, such as 0.15.
    """

    name: str = ""
    accuracy: float | None = None
    accuracy_pa: float | None = None


@dataclass(frozen=True, slots=True)
class Weather:
    """Air on both sides.

    Parameters
    ----------
    inside_c, outside_c : float
        Air temperatures [°C].
    altitude_m, barometer_pa : float or None
        One of both is needed for the density; the barometer wins.
    inside_humidity, outside_humidity : float or None
        0 to 1; None counts as dry air.
    wind_m_s : float or None
        Wind near the building [m/s].
    """

    inside_c: float
    outside_c: float
    altitude_m: float | None = None
    barometer_pa: float | None = None
    inside_humidity: float | None = None
    outside_humidity: float | None = None
    wind_m_s: float | None = None


@dataclass(frozen=True, slots=True)
class Building:
    """What the flow is divided by.

    Parameters
    ----------
    volume_m3, envelope_m2, floor_m2, height_m : float or None
        Inner volume [m3], envelope [m2], floor area [m2], lowest above-grade floor to highest ceiling [m].
    envelope_basis : str
        How the envelope was counted: six-sided or above grade, inner or outer dimensions.
    volume_accuracy, envelope_accuracy, floor_accuracy : float or None
        Shares, 95 %.
    """

    volume_m3: float | None = None
    envelope_m2: float | None = None
    floor_m2: float | None = None
    height_m: float | None = None
    envelope_basis: str = ""
    volume_accuracy: float | None = None
    envelope_accuracy: float | None = None
    floor_accuracy: float | None = None


@dataclass(frozen=True, slots=True)
class Weights:
    """Standard deviation of one station, for the weighted fit that stands beside the unweighted one.

    Parameters
    ----------
    pressure_pa : float
        Of the envelope pressure [Pa].
    flow_share, flow_m3_h : float
        Of the flow: share of the reading plus a constant [m3/h].
    """

    pressure_pa: float
    flow_share: float
    flow_m3_h: float = 0.0


@dataclass(frozen=True, slots=True)
class Run:
    """All stations of one direction.

    Parameters
    ----------
    sense : Sense
        Direction as the tester stated it.
    stations : tuple of Station
        In the order they were held.
    before, after : ZeroFlow or None
        Zero-flow pressures.
    bias_removed : bool
        The gauge took the bias off itself: pressures are induced pressures already.
    """

    sense: Sense
    stations: tuple[Station, ...]
    before: ZeroFlow | None = None
    after: ZeroFlow | None = None
    bias_removed: bool = False


@dataclass(frozen=True, slots=True)
class RawTest:
    """One fan test as noted on site.

    Parameters
    ----------
    house, date, stage : str
        What was tested, when, at which stage of the work.
    standard : str
        Name of a standard of :func:`hullwright.fantest.standards.standards`.
    procedure : Procedure
        Multi-point, two-point or single-point.
    preparation : str
        Preparation method.
    building, weather, device, gauge : Building, Weather, Device, Gauge
        As above.
    runs : tuple of Run
        One or two directions.
    weights : Weights or None
        For the weighted fit.
    wind_share : float or None
        Allowance for wind, share of the flow, 95 %, where the tester states one.
    repeatability : float or None
        Scatter of one reading of the flow, share, 95 %, for tests with a single unrepeated reading.
    done : str
        What was done to the house since the test before.
    masked : tuple of str
        Zones taped off or shut out of the test.
    source : str
        File.
    remarks : tuple of str
        What was noticed while it was read and is no mistake.
    """

    house: str
    date: str
    standard: str
    procedure: Procedure
    preparation: str
    building: Building
    weather: Weather
    device: Device
    gauge: Gauge
    runs: tuple[Run, ...]
    stage: str = ""
    weights: Weights | None = None
    wind_share: float | None = None
    repeatability: float | None = None
    done: str = ""
    masked: tuple[str, ...] = ()
    source: str = ""
    remarks: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Give all that was read, unchanged."""
        return {key: _plain(value) for key, value in asdict(self).items()}


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_plain(item) for item in value]
    return value
