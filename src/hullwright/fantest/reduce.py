"""From readings to induced pressures and envelope flows: bias off, device law, densities; many tests in one pass."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hullwright.errors import FanTestError, Problem
from hullwright.fantest.air import MU_REFERENCE, RHO_REFERENCE, Floats, density, viscosity
from hullwright.fantest.raw import Device, Law, Readout, Run, Sense, Station, Weather
from hullwright.fantest.regress import Mask


@dataclass(frozen=True, slots=True)
class Columns:
    """Readings of many one-direction tests as columns.

    Parameters
    ----------
    pressure_pa, flow_m3_h : ndarray, shape (T, N)
        Envelope pressure as measured, signed [Pa]; flow of the air that passes the device [m3/h].
    used : ndarray of bool, shape (T, N), or None
        Which stations count; None for all. A padded or excluded station does not.
    before_pa, after_pa : ndarray, shape (T,)
        Mean zero-flow pressures [Pa]; NaN where not taken.
    sign : ndarray, shape (T,)
        +1 pressurization, -1 depressurization.
    inside_c, outside_c, altitude_m, barometer_pa, inside_humidity, outside_humidity : ndarray, shape (T,)
        [°C], [m], [Pa], 0 to 1; NaN where not stated.
    """

    pressure_pa: Floats
    flow_m3_h: Floats
    used: Mask | None
    before_pa: Floats
    after_pa: Floats
    sign: Floats
    inside_c: Floats
    outside_c: Floats
    altitude_m: Floats
    barometer_pa: Floats
    inside_humidity: Floats
    outside_humidity: Floats


@dataclass(frozen=True, slots=True)
class Reduced:
    """Induced pressures and envelope flows.

    Parameters
    ----------
    bias_pa : ndarray, shape (T,)
        Mean of the zero-flow pressures [Pa]; NaN where none was taken.
    dp_pa : ndarray, shape (T, N)
        Induced pressure in the direction of the test [Pa]; negative where a station points the other way.
    flow_m3_h : ndarray, shape (T, N)
        Flow through the envelope, at the density of the air in the leaks [m3/h].
    factor : ndarray, shape (T,)
        Envelope flow over device flow.
    rho_inside, rho_outside, rho_leak : ndarray, shape (T,)
        Densities [kg/m3]; `rho_leak` that of the air in the leaks.
    mu_leak : ndarray, shape (T,)
        Viscosity of the air in the leaks [Pa s].
    """

    bias_pa: Floats
    dp_pa: Floats
    flow_m3_h: Floats
    factor: Floats
    rho_inside: Floats
    rho_outside: Floats
    rho_leak: Floats
    mu_leak: Floats


def bias(before_pa: Floats, after_pa: Floats) -> Floats:
    """Zero-flow pressure to take off: the mean of before and after, or the one there is.

    Parameters
    ----------
    before_pa, after_pa : ndarray
        Means [Pa]; NaN where not taken.

    Returns
    -------
    ndarray
        [Pa]; NaN where neither was taken.

    Examples
    --------
    >>> import numpy as np
    >>> bias(np.array([-1.6, np.nan]), np.array([-1.2, 2.0])).round(6).tolist()
    [-1.4, 2.0]
    """
    first = np.where(np.isnan(before_pa), after_pa, before_pa)
    second = np.where(np.isnan(after_pa), before_pa, after_pa)
    return np.asarray((first + second) / 2.0)


def reduce_columns(columns: Columns) -> Reduced:
    """Take the bias off and bring the flows to the air in the leaks.

    Parameters
    ----------
    columns : Columns
        Readings.

    Returns
    -------
    Reduced
        Nothing is dropped: a wrong sign gives a negative induced pressure.

    Notes
    -----
    Mass balance: ``q_env = q rho_i/rho_e`` when depressurizing (outdoor air leaks in, indoor air passes the device),
    ``q rho_e/rho_i`` when pressurizing (ISO 9972 clause 6, E779 eqs. 1 and 2).
    """
    rho_in, rho_out = density(
        np.stack([columns.inside_c, columns.outside_c]),
        altitude_m=columns.altitude_m,
        barometer_pa=columns.barometer_pa,
        humidity=np.stack([columns.inside_humidity, columns.outside_humidity]),
    )
    inward = columns.sign < 0
    factor = np.where(inward, rho_in / rho_out, rho_out / rho_in)
    zero = bias(columns.before_pa, columns.after_pa)
    dp = columns.pressure_pa - zero[:, None]
    dp *= columns.sign[:, None]
    leak_c = np.where(inward, columns.outside_c, columns.inside_c)
    return Reduced(
        zero,
        np.asarray(dp),
        np.asarray(columns.flow_m3_h * factor[:, None]),
        factor,
        rho_in,
        rho_out,
        np.where(inward, rho_out, rho_in),
        viscosity(leak_c),
    )


def to_reference(reduced: Reduced, n: Floats, *, viscous: bool) -> Floats:
    """Factor from the coefficient of the day to that of reference air.

    Parameters
    ----------
    reduced : Reduced
        Densities and viscosity of the test.
    n : ndarray, shape (T,)
        Exponent.
    viscous : bool
        False: ISO 9972, ``(rho/rho_0)^(1-n)``. True: E779 eq. 4, that times ``(mu/mu_0)^(2n-1)``.

    Returns
    -------
    ndarray, shape (T,)
        Factor.
    """
    out = (reduced.rho_leak / RHO_REFERENCE) ** (1.0 - n)
    if viscous:
        out = out * (reduced.mu_leak / MU_REFERENCE) ** (2.0 * n - 1.0)
    return np.asarray(out)


def device_density(weather: Weather, sense: Sense) -> float:
    """Density of the air that passes the device [kg/m3]: indoor air when depressurizing, outdoor when pressurizing.

    Parameters
    ----------
    weather : Weather
        Air on both sides.
    sense : Sense
        Direction.

    Returns
    -------
    float

    Examples
    --------
    >>> round(device_density(Weather(20.0, 0.0, altitude_m=0.0), Sense.PRESSURIZATION), 5)
    1.29231
    """
    inward = sense is Sense.DEPRESSURIZATION
    return float(
        density(
            weather.inside_c if inward else weather.outside_c,
            altitude_m=nan_if_none(weather.altitude_m),
            barometer_pa=nan_if_none(weather.barometer_pa),
            humidity=nan_if_none(weather.inside_humidity if inward else weather.outside_humidity),
        )
    )


def nan_if_none(value: float | None) -> float:
    """Give NaN for what was not stated.

    Parameters
    ----------
    value : float or None

    Returns
    -------
    float

    Examples
    --------
    >>> nan_if_none(None), nan_if_none(2.0)
    (nan, 2.0)
    """
    return float("nan") if value is None else value


def law_of(device: Device, station: Station) -> Law | None:
    """Find the calibration law of the setting a station used.

    Parameters
    ----------
    device : Device
        With its laws.
    station : Station
        With its setting; a device with one law needs none.

    Returns
    -------
    Law or None

    Examples
    --------
    >>> law = Law("A", 20.0, 0.5, 10.0, 300.0)
    >>> law_of(Device("fan", Readout.INDICATED, 1.2, laws=(law,)), Station(-50.0, device_pressure_pa=100.0)).setting
    'A'
    """
    if station.setting is None:
        return device.laws[0] if len(device.laws) == 1 else None
    return next((law for law in device.laws if law.setting == station.setting), None)


def device_flows(run: Run, device: Device, weather: Weather) -> Floats:
    """Flow of the air that passes the device at each station.

    Parameters
    ----------
    run : Run
        Stations.
    device : Device
        What its reading means, and its laws.
    weather : Weather
        Air on both sides.

    Returns
    -------
    ndarray, shape (N,)
        [m3/h].

    Raises
    ------
    FanTestError
        Where a station has neither a flow nor a device pressure with a law.

    Examples
    --------
    >>> law = Law("A", 20.0, 0.5, 10.0, 300.0)
    >>> device = Device("fan", Readout.INDICATED, 1.2041, laws=(law,))
    >>> run = Run(Sense.DEPRESSURIZATION, (Station(-50.0, device_pressure_pa=100.0),))
    >>> device_flows(run, device, Weather(20.0, 20.0, altitude_m=0.0)).round(6).tolist()
    [200.0]
    """
    flows: list[float] = []
    problems: list[Problem] = []
    for station in run.stations:
        read = station.flow_m3_h
        law = law_of(device, station)
        if read is None and station.device_pressure_pa is not None and law is not None:
            read = law.coefficient_m3_h * station.device_pressure_pa**law.exponent
        if read is None:
            problems.append(
                Problem(
                    "this station has no flow",
                    station.where,
                    allowed="a flow, or a device pressure with a calibration law of its setting",
                    hint="write the flow, or give the device a law for this setting",
                )
            )
            continue
        flows.append(read)
    if problems:
        raise FanTestError("some stations have no flow", problems)
    out = np.array(flows, dtype=np.float64)
    if device.readout is Readout.ACTUAL:
        return out
    if device.density_kg_m3 is None:
        problem = Problem("the device has no calibration density", allowed="density in kg/m3")
        raise FanTestError("the flow can't be corrected", [problem])
    ratio = device.density_kg_m3 / device_density(weather, run.sense)
    return np.asarray(out * (np.sqrt(ratio) if device.readout is Readout.INDICATED else ratio))


def columns_of(run: Run, device: Device, weather: Weather) -> Columns:
    """Put one direction of one test into columns with one row.

    Parameters
    ----------
    run, device, weather : Run, Device, Weather
        As noted on site.

    Returns
    -------
    Columns
        With T = 1.
    """

    def one(value: float | None) -> Floats:
        return np.array([nan_if_none(value)])

    zero = 0.0 if run.bias_removed else None
    return Columns(
        np.array([[station.pressure_pa for station in run.stations]]),
        device_flows(run, device, weather)[None, :],
        np.array([[station.exclude is None for station in run.stations]]),
        one(run.before.mean if run.before else zero),
        one(run.after.mean if run.after else zero),
        one(float(run.sense.sign)),
        one(weather.inside_c),
        one(weather.outside_c),
        one(weather.altitude_m),
        one(weather.barometer_pa),
        one(weather.inside_humidity),
        one(weather.outside_humidity),
    )
