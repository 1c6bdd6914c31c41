"""One invented test of an invented house, for documentation and tests."""

from __future__ import annotations

from hullwright.fantest.raw import (
    Building,
    Device,
    Gauge,
    Procedure,
    RawTest,
    Readout,
    Run,
    Sense,
    Station,
    Weather,
    ZeroFlow,
)

_PRESSURE = (-61.8, -56.3, -51.2, -46.0, -40.7, -36.1, -30.9, -25.8, -20.9, -15.8)
_FLOW = (291.0, 274.0, 257.5, 240.5, 222.0, 205.0, 184.5, 163.5, 141.5, 116.0)


def example() -> RawTest:
    """Give a depressurization with ten stations; all readings are invented.

    Returns
    -------
    RawTest

    Examples
    --------
    >>> example().building.volume_m3
    500.0
    """
    stations = tuple(Station(p, flow_m3_h=q) for p, q in zip(_PRESSURE, _FLOW, strict=True))
    before, after = ZeroFlow((-1.6,), mean_only=True), ZeroFlow((-1.2,), mean_only=True)
    return RawTest(
        house="invented house",
        date="2026-05-04",
        standard="ISO 9972",
        procedure=Procedure.MULTI,
        preparation="method 2",
        building=Building(500.0, 480.0, 200.0, 5.2, envelope_basis="six-sided, inner dimensions"),
        weather=Weather(21.0, 4.0, altitude_m=120.0, wind_m_s=1.5),
        device=Device("fan 1", Readout.ACTUAL, accuracy=0.05),
        gauge=Gauge("gauge 1", accuracy=0.01, accuracy_pa=0.15),
        runs=(Run(Sense.DEPRESSURIZATION, stations, before, after),),
    )
