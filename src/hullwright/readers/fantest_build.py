"""From the tree of a fan-test file to a raw test: keys, units, what is missing; all problems at once, nothing guessed."""

from __future__ import annotations

from typing import Final

from hullwright.errors import FanTestError, Where
from hullwright.fantest.raw import (
    Building,
    Device,
    Gauge,
    Law,
    Procedure,
    RawTest,
    Readout,
    Run,
    Sense,
    Station,
    Weather,
    Weights,
    ZeroFlow,
)
from hullwright.fantest.standards import Standard, find
from hullwright.readers.fantest_pieces import Pieces, Table, tidy
from hullwright.readers.fantest_sizes import day
from hullwright.readers.fantest_tree import Node
from hullwright.units import TABLES

ROOT: Final = (
    "format", "house", "date", "stage", "done", "masked", "standard", "procedure", "preparation", "units", "building", "air",
    "device", "gauge", "weights", "wind_allowance", "repeatability", "directions",
)  # fmt: skip
UNITS: Final = ("pressure", "flow", "length", "area", "volume", "temperature", "speed")
BUILDING: Final = (
    "volume", "envelope", "envelope_basis", "floor", "height", "volume_accuracy", "envelope_accuracy", "floor_accuracy",
)  # fmt: skip
AIR: Final = ("inside", "outside", "altitude", "barometer", "inside_humidity", "outside_humidity", "wind")
DEVICE: Final = ("name", "reads", "density", "accuracy", "laws")
LAW: Final = ("setting", "coefficient", "exponent", "from", "to")
GAUGE: Final = ("name", "accuracy", "accuracy_pressure")
WEIGHTS: Final = ("pressure", "flow_share", "flow")
DIRECTION: Final = ("direction", "zero_before", "zero_after", "bias_removed", "stations")
STATION: Final = ("pressure", "flow", "device_pressure", "setting", "exclude")
_SENSES: Final = {
    "depressurization": Sense.DEPRESSURIZATION,
    "depressurisation": Sense.DEPRESSURIZATION,
    "pressurization": Sense.PRESSURIZATION,
    "pressurisation": Sense.PRESSURIZATION,
}


def build(root: Node, file: str) -> RawTest:
    """Build a raw test.

    Parameters
    ----------
    root : Node
        Tree of the file.
    file : str
        Name for errors.

    Returns
    -------
    RawTest

    Raises
    ------
    FanTestError
        With every problem of the file.
    """
    builder = _Builder(file)
    test = builder.test(root)
    if builder.problems or test is None:
        raise FanTestError(f"{file} can't be used as a fan test", builder.problems)
    return test


SYSTEMS: Final = {
    "us": {
        "volume": "ft3",
        "area": "ft2",
        "length": "ft",
        "temperature": "f",
        "flow": "cfm",
        "pressure": "pa",
    },
    "metric": {
        "volume": "m3",
        "area": "m2",
        "length": "m",
        "temperature": "c",
        "flow": "m3/h",
        "pressure": "pa",
    },
}
"""Units of bare numbers by system; pressures of a fan test are read in pascal in both (ISO 9972, ASTM E779)."""


class _Builder(Pieces):
    """Reads the parts of a test, one method each."""

    def test(self, root: Node) -> RawTest | None:
        top = self.table(root, ROOT, "")
        self.units(top.get("units"))
        standard = self.standard(top, root)
        procedure = self.procedure(top.get("procedure"), standard, root)
        building = self.building(top.get("building"))
        weather = self.air(top.get("air"), root)
        device = self.device(top.get("device"), root)
        gauge = self.gauge(top.get("gauge"))
        runs = tuple(
            run for node in self.items(top, "directions", root) if (run := self.run(node)) is not None
        )
        weights = self.weights(top.get("weights"))
        wind, repeat = self.share(top.get("wind_allowance")), self.share(top.get("repeatability"))
        date = self.date(top.get("date"))
        if self.problems or standard is None or procedure is None or weather is None or device is None:
            return None
        test = RawTest(
            house=self.text(top.get("house")),
            date=date,
            standard=self.text(top["standard"]),
            procedure=procedure,
            preparation=self.text(top.get("preparation")),
            building=building,
            weather=weather,
            device=device,
            gauge=gauge,
            runs=runs,
            stage=self.text(top.get("stage")),
            weights=weights,
            wind_share=wind,
            repeatability=repeat,
            done=self.text(top.get("done")),
            masked=self.words(top.get("masked")),
            source=self.file,
            remarks=self.idle(),
        )
        self.settings(test)
        return test

    def date(self, node: Node | None) -> str:
        """Day of the test; '' where none is stated."""
        text = self.text(node)
        if node is None or not text:
            return ""
        found = day(text, Where(node.where.file, node.where.line, node.where.column, "date"))
        if isinstance(found, str):
            return found
        self.problems.append(found)
        return ""

    def units(self, node: Node | None) -> None:
        """Units of bare numbers: us or metric for what a house is measured in, or one unit a quantity."""
        system = "" if node is None or isinstance(node.value, dict) else self.text(node).lower()
        if system in SYSTEMS:
            self.bare.update(SYSTEMS[system])
            return
        for name, unit in self.table(node, UNITS, "units").items():
            text = tidy(self.text(unit)).lower()
            if text in TABLES[name]:
                self.bare[name] = text
            else:
                self.problem("unknown unit", unit.where, self.text(unit), ", ".join(sorted(TABLES[name])))

    def standard(self, top: Table, root: Node) -> Standard | None:
        node = self.needed(
            top, "standard", root, "the standard that was followed, such as ISO 9972 or ASTM E779"
        )
        if node is None:
            return None
        try:
            return find(self.text(node))
        except FanTestError as error:
            self.problem(error.problems[0].message, node.where, self.text(node), error.problems[0].allowed)
            return None

    def procedure(self, node: Node | None, standard: Standard | None, root: Node) -> Procedure | None:
        if node is not None:
            return self.choice(node, {kind.value: kind for kind in Procedure})
        if standard is None:
            return None
        if Procedure.MULTI.value in standard.procedures:
            return Procedure.MULTI
        allowed = ", ".join(standard.procedures)
        self.problem(
            f"{standard.title} needs a procedure", root.where, "", f"procedure: one of {allowed}", "procedure"
        )
        return None

    def building(self, node: Node | None) -> Building:
        part = self.table(node, BUILDING, "building")
        return Building(
            self.positive(part.get("volume"), "volume"),
            self.positive(part.get("envelope"), "area"),
            self.positive(part.get("floor"), "area"),
            self.positive(part.get("height"), "length"),
            self.text(part.get("envelope_basis")),
            self.share(part.get("volume_accuracy")),
            self.share(part.get("envelope_accuracy")),
            self.share(part.get("floor_accuracy")),
        )

    def air(self, node: Node | None, root: Node) -> Weather | None:
        part = self.table(node, AIR, "air")
        place = node or root
        inside = self.quantity(self.needed(part, "inside", place, "air temperature inside"), "temperature")
        outside = self.quantity(self.needed(part, "outside", place, "air temperature outside"), "temperature")
        altitude = self.quantity(part.get("altitude"), "length")
        barometer = self.positive(part.get("barometer"), "pressure")
        if "altitude" not in part and "barometer" not in part:
            allowed = (
                "altitude above sea level, or the barometer read at the house (not reduced to sea level)"
            )
            self.problem("the density of the air can't be told", place.where, "", allowed, "air")
        if inside is None or outside is None:
            return None
        return Weather(
            inside,
            outside,
            altitude,
            barometer,
            self.share(part.get("inside_humidity"), most=1.0),
            self.share(part.get("outside_humidity"), most=1.0),
            self.positive(part.get("wind"), "speed", zero=True),
        )

    def device(self, node: Node | None, root: Node) -> Device | None:
        part = self.table(node, DEVICE, "device")
        allowed = (
            "actual (volume flow of the air that passes), indicated (calibrated for air of a density) or standard "
            "(mass flow as volume of air of a density)"
        )
        reads = self.needed(part, "reads", node or root, allowed)
        readout = self.choice(reads, {kind.value: kind for kind in Readout}) if reads else None
        density = self.density(part.get("density"))
        laws = tuple(law for item in self.items(part, "laws", None) if (law := self.law(item)) is not None)
        if readout is None:
            return None
        if readout is not Readout.ACTUAL and "density" not in part:
            allowed = "density: the density the device was calibrated for, such as 1.2041 kg/m3"
            self.problem(
                "the calibration density is missing", (node or root).where, "", allowed, "device.density"
            )
        if readout is Readout.ACTUAL and laws:
            allowed = "reads: indicated, with the density the laws were measured at"
            self.problem(
                "a calibration law holds for one density of the air",
                reads.where if reads else None,
                "actual",
                allowed,
            )
        name = self.text(part.get("name"))
        return Device(name, readout, density, self.share(part.get("accuracy")), laws)

    def law(self, node: Node) -> Law | None:
        part = self.table(node, LAW, "device.laws")
        values = [
            self.quantity(
                self.needed(part, "coefficient", node, "flow at 1 Pa of device pressure, with its unit"),
                "flow",
            ),
            self.number(self.needed(part, "exponent", node, "exponent of the device pressure")),
            self.quantity(self.needed(part, "from", node, "least device pressure of the law"), "pressure"),
            self.quantity(self.needed(part, "to", node, "largest device pressure of the law"), "pressure"),
        ]
        coefficient, exponent, low, high = values
        if coefficient is None or exponent is None or low is None or high is None:
            return None
        if not (coefficient > 0 and exponent > 0 and 0 <= low < high):
            allowed = "coefficient and exponent above 0, from below to"
            self.problem("this calibration law makes no sense", node.where, "", allowed, "device.laws")
        return Law(self.text(part.get("setting")), coefficient * 3600.0, exponent, low, high)

    def gauge(self, node: Node | None) -> Gauge:
        part = self.table(node, GAUGE, "gauge")
        least = self.positive(part.get("accuracy_pressure"), "pressure", zero=True)
        return Gauge(self.text(part.get("name")), self.share(part.get("accuracy")), least)

    def weights(self, node: Node | None) -> Weights | None:
        if node is None:
            return None
        part = self.table(node, WEIGHTS, "weights")
        pressure = self.positive(
            self.needed(part, "pressure", node, "standard deviation"), "pressure", zero=True
        )
        flow_share = self.share(self.needed(part, "flow_share", node, "standard deviation, such as 2 %"))
        flow = self.positive(part.get("flow"), "flow", zero=True)
        if pressure is None or flow_share is None:
            return None
        return Weights(pressure, flow_share, (flow or 0.0) * 3600.0)

    def run(self, node: Node) -> Run | None:
        part = self.table(node, DIRECTION, "directions")
        sense = self.choice(
            self.needed(part, "direction", node, "depressurization or pressurization"), _SENSES
        )
        stations = [self.station(item) for item in self.items(part, "stations", node)]
        before, after = self.zero(part.get("zero_before")), self.zero(part.get("zero_after"))
        removed = self.choice(
            part.get("bias_removed"), {"true": True, "yes": True, "false": False, "no": False}
        )
        if removed and (before or after):
            allowed = "zero-flow pressures, or bias_removed: true, not both"
            self.problem("the bias would be taken off twice", node.where, "", allowed, "bias_removed")
        if sense is None:
            return None
        return Run(sense, tuple(s for s in stations if s is not None), before, after, bool(removed))

    def zero(self, node: Node | None) -> ZeroFlow | None:
        if node is None or node.empty:
            return None
        if isinstance(node.value, dict):
            part = self.table(node, ("mean",), "zero")
            mean = self.quantity(self.needed(part, "mean", node, "mean zero-flow pressure"), "pressure")
            return None if mean is None else ZeroFlow((mean,), mean_only=True)
        if isinstance(node.value, str):
            value = self.quantity(node, "pressure")
            return None if value is None else ZeroFlow((value,), mean_only=True)
        readings = [self.quantity(item, "pressure") for item in node.value]
        known = tuple(value for value in readings if value is not None)
        return ZeroFlow(known) if known else None

    def station(self, node: Node) -> Station | None:
        part = self.table(node, STATION, "stations")
        pressure = self.quantity(
            self.needed(part, "pressure", node, "envelope pressure, inside minus outside, signed"), "pressure"
        )
        flow = self.quantity(part.get("flow"), "flow")
        signal = self.positive(part.get("device_pressure"), "pressure")
        if "flow" not in part and "device_pressure" not in part:
            self.problem(
                "this station has no flow", node.where, "", "flow, or device_pressure with a law", "stations"
            )
        if pressure is None:
            return None
        return Station(
            pressure,
            None if flow is None else flow * 3600.0,
            signal,
            self.text(part.get("setting")) or None,
            self.text(part.get("exclude")) or None,
            node.where,
        )

    def settings(self, test: RawTest) -> None:
        """Every station that needs a law must find one."""
        known = [law.setting for law in test.device.laws]
        for run in test.runs:
            for station in run.stations:
                needs = station.flow_m3_h is None
                named = station.setting is not None
                if (needs and not known) or (named and known and station.setting not in known):
                    allowed = f"a setting of the device laws: {', '.join(known) or 'none is given'}"
                    self.problem(
                        "no calibration law for this station", station.where, station.setting or "", allowed
                    )
                elif needs and not named and len(known) > 1:
                    self.problem(
                        "which setting was used here?", station.where, "", f"setting: {', '.join(known)}"
                    )
