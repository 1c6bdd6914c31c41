"""Do the readings look right: unit slips, outliers, impossible sizes. Asked, never mended.

The bounds are our own (mark: estimate) unless a source stands beside them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np

from hullwright.evidence import Mark
from hullwright.fantest.direction import Direction
from hullwright.fantest.flags import Flag
from hullwright.fantest.raw import Procedure, RawTest, Readout, Run, Station
from hullwright.fantest.reduce import law_of
from hullwright.fantest.regress import fit

OWN: Final = "own rule of plausibility"
CHAN: Final = "Chan, Joh, Sherman 2013: n 0.646, SD 0.057 in about 7 000 homes; window of 2 SD is our rule"
_RATIOS: Final = ((2.118880, "cfm and L/s"), (1.699011, "cfm and m3/h"), (3.6, "L/s and m3/h"))


def plausibility_flags(raw: RawTest, directions: tuple[Direction, ...]) -> tuple[Flag, ...]:
    """Look for readings and sizes that can hardly be meant.

    Parameters
    ----------
    raw : RawTest
        As read.
    directions : tuple of Direction
        Results.

    Returns
    -------
    tuple of Flag
        Questions to the tester; nothing is changed.
    """
    out = [Flag(text, OWN, Mark.ESTIMATE, "check") for text in (*raw.remarks, *_sizes(raw))]
    out += [Flag(text, OWN, Mark.ESTIMATE, "check") for text in _between(directions)]
    for direction in directions:
        name = direction.sense.value
        out += [Flag(text, OWN, Mark.ESTIMATE, "check", name) for text in _readings(raw, direction)]
        if raw.procedure is not Procedure.SINGLE and not 0.53 <= direction.n <= 0.76:
            text = f"n = {direction.n:.3f} is outside 0.53 to 0.76, where nearly all houses lie: check the set-up"
            out.append(Flag(text, CHAN, Mark.PUBLISHED, "check", name))
        out += [
            Flag(text, "calibration range of the device", Mark.STATED, "outside", name)
            for text in _device(raw, direction.run)
        ]
    return tuple(out)


def _sizes(raw: RawTest) -> Iterator[str]:
    building = raw.building
    volume, area, floor = building.volume_m3, building.envelope_m2, building.floor_m2
    # No body of this volume has a smaller surface than the ball: A >= (36 pi)^(1/3) V^(2/3).
    if volume and area and area < (36 * math.pi * volume**2) ** (1 / 3):
        yield (
            f"an envelope of {area:.0f} m2 can't enclose {volume:.0f} m3 (a ball needs more): are the units right, and "
            "is the envelope six-sided?"
        )
    if volume and floor and not 1.8 <= volume / floor <= 10.0:
        yield f"volume over floor area is {volume / floor:.2f} m: are both in the units stated?"
    if building.height_m is not None and not 1.8 <= building.height_m <= 400.0:
        yield f"a height of {building.height_m:.2f} m: is the unit right?"
    for side, value in (("inside", raw.weather.inside_c), ("outside", raw.weather.outside_c)):
        if not -45.0 <= value <= 50.0:
            yield f"{value:.1f} °C {side}: is the unit right?"
    barometer = raw.weather.barometer_pa
    if barometer is not None and not 6e4 <= barometer <= 1.09e5:
        yield f"a barometer of {barometer:.0f} Pa: is the unit right?"


def _readings(raw: RawTest, direction: Direction) -> Iterator[str]:
    highest = float(direction.dp_pa[direction.used].max())
    if highest < 2.0:
        yield f"the highest pressure is {highest:.3g} Pa: were the readings in inches of water (1 inH2O = 249 Pa)?"
    elif highest > 250.0:
        yield f"the highest pressure is {highest:.0f} Pa: is the unit right?"
    volume = raw.building.volume_m3
    if volume and not 0.05 <= direction.flow(50.0) / volume <= 60.0:
        yield f"{direction.flow(50.0) / volume:.3g} air changes an hour at 50 Pa: are the units of flow and volume right?"
    if direction.n <= 0:
        yield "the flow falls while the pressure rises: were two columns or two stations mixed up?"
    if raw.procedure is Procedure.MULTI:
        yield from _outliers(direction)


def _outliers(direction: Direction) -> Iterator[str]:
    """Stations that lie far off the line through the others (|externally studentized residual| > 4)."""
    used = np.flatnonzero(direction.used)
    if len(used) < 5:
        return
    x, y = np.log(direction.dp_pa[used]), np.log(direction.flow_m3_h[used])
    for place, index in enumerate(used):
        keep = np.arange(len(used)) != place
        line = fit(x[keep][None, :], y[keep][None, :])
        spread = math.hypot(float(line.sd[0]), float(line.s_line(x[place])[0]))
        off = float(y[place] - line.at(x[place])[0])
        if abs(off) > max(4.0 * spread, 0.02):
            yield (
                f"station {index + 1} ({direction.dp_pa[index]:.1f} Pa) lies {off:+.1%} off the line through the others: "
                "look at its reading; to leave it out, exclude it with a reason"
            )


def _between(directions: tuple[Direction, ...]) -> Iterator[str]:
    if len(directions) < 2:
        return
    flows = sorted(direction.flow(50.0) for direction in directions)
    ratio = flows[-1] / flows[0]
    for factor, units in _RATIOS:
        if abs(ratio / factor - 1.0) < 0.03:
            yield f"the two directions differ by a factor {ratio:.2f}: were {units} mixed?"
            return
    if ratio > 1.4:
        yield f"the two directions differ by a factor {ratio:.2f}: did a damper, hatch or membrane open or lift?"


def _device(raw: RawTest, run: Run) -> Iterator[str]:
    for number, station in enumerate(run.stations, start=1):
        law = law_of(raw.device, station)
        pressure = station.device_pressure_pa
        if law is None or pressure is None:
            continue
        if not law.low_pa <= pressure <= law.high_pa:
            yield (
                f"station {number}: device pressure {pressure:g} Pa is outside {law.low_pa:g} to {law.high_pa:g} Pa of "
                f"setting {law.setting}"
            )
        yield from _cross_check(raw, number, station)


def _cross_check(raw: RawTest, number: int, station: Station) -> Iterator[str]:
    """Compare a flow that was noted with the flow that the device pressure gives."""
    law = law_of(raw.device, station)
    pressure = station.device_pressure_pa
    if station.flow_m3_h is None or law is None or not pressure or raw.device.readout is Readout.ACTUAL:
        return
    ratio = station.flow_m3_h / (law.coefficient_m3_h * pressure**law.exponent)
    if abs(ratio - 1.0) <= 0.05:
        return
    larger = max(ratio, 1.0 / ratio)
    slip = next((f" ({units} mixed?)" for factor, units in _RATIOS if abs(larger / factor - 1.0) < 0.05), "")
    yield f"station {number}: the flow noted is {ratio:.2f} times what the device pressure gives{slip}"
