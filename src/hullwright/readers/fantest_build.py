"""From the tree of a fan-test file to a raw test: keys, units, what is missing; all problems at once, nothing guessed."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable
from typing import Final, TypeVar

from hullwright.errors import FanTestError, Problem, QuantityError, Where
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
from hullwright.readers.fantest_tree import Node
from hullwright.units import FOOT, POUND, TABLES, read

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
_DENSITY: Final = {"kg/m3": 1.0, "lb/ft3": POUND / FOOT**3}
_WATER: Final = re.compile(r"\bin(?:ch(?:es)?)?\.? ?(?:of )?(?:h2o|water|w\.? ?[gc]\.?)", re.IGNORECASE)

Table = dict[str, Node]
T = TypeVar("T")


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


class _Builder:
    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []
        self.bare: dict[str, str] = {}

    # -- the parts ---------------------------------------------------------------------------------------------------

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
        if self.problems or standard is None or procedure is None or weather is None or device is None:
            return None
        test = RawTest(
            house=self.text(top.get("house")),
            date=self.text(top.get("date")),
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
        )
        self.settings(test)
        return test

    def units(self, node: Node | None) -> None:
        for name, unit in self.table(node, UNITS, "units").items():
            text = _tidy(self.text(unit)).lower()
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

    # -- the pieces --------------------------------------------------------------------------------------------------

    def problem(
        self, message: str, where: Where | None, got: str, allowed: str, key: str | None = None
    ) -> None:
        place = where or Where(self.file)
        place = Where(place.file, place.line, place.column, key or place.key)
        self.problems.append(Problem(message, place, got, allowed))

    def table(self, node: Node | None, known: Iterable[str], name: str) -> Table:
        if node is None or node.empty:
            return {}
        if not isinstance(node.value, dict):
            self.problem("a table of keys is wanted here", node.where, node.shown(), ", ".join(known), name)
            return {}
        keys = list(known)
        for key, value in node.value.items():
            if key not in keys:
                near = difflib.get_close_matches(key, keys, n=1, cutoff=0.5)
                place = Where(
                    value.where.file, value.where.line, value.where.column, f"{name}.{key}" if name else key
                )
                hint = f"did you mean {near[0]}?" if near else ""
                self.problems.append(Problem("unknown key", place, key, ", ".join(keys), hint))
        return {key: value for key, value in node.value.items() if key in keys and not value.empty}

    def items(self, part: Table, key: str, above: Node | None) -> list[Node]:
        """Members of a list; with `above` the list must be there."""
        node = part.get(key)
        if node is None:
            if above is not None:
                self.problem(f"{key} is missing", above.where, "", f"a list of {key}", key)
            return []
        if not isinstance(node.value, list):
            self.problem(
                f"a list of {key} is wanted here", node.where, node.shown(), "- one after the other", key
            )
            return []
        return node.value

    def needed(self, part: Table, key: str, above: Node, what: str) -> Node | None:
        node = part.get(key)
        if node is None:
            self.problem(f"{key} is missing", above.where, "", what, key)
        return node

    def text(self, node: Node | None) -> str:
        if node is None or node.empty:
            return ""
        if not isinstance(node.value, str):
            self.problem("a text is wanted here", node.where, node.shown(), "one line of text")
            return ""
        return node.value.strip()

    def words(self, node: Node | None) -> tuple[str, ...]:
        if node is None or node.empty:
            return ()
        if isinstance(node.value, list):
            return tuple(self.text(item) for item in node.value)
        return tuple(word.strip() for word in self.text(node).split(";") if word.strip())

    def quantity(self, node: Node | None, kind: str) -> float | None:
        if node is None:
            return None
        text = _tidy(self.text(node))
        if not text:
            return None
        try:
            value = read(text.lstrip("+"), kind, bare=self.bare.get(kind))
        except QuantityError as error:
            bare = re.fullmatch(r"[-−+]?[\d.]+(?:[eE][-+]?\d+)?", text)
            hint = (
                f"write the unit, or units: {{{kind}: …}} for the whole file"
                if bare and kind not in self.bare
                else ""
            )
            found = error.problems[0]
            self.problems.append(
                Problem(
                    f"this {kind} can't be read",
                    node.where,
                    self.text(node),
                    found.allowed,
                    hint or found.hint,
                )
            )
            return None
        if not math.isfinite(value):
            self.problem(f"this {kind} is not a number", node.where, text, "a finite number")
            return None
        return value

    def positive(self, node: Node | None, kind: str, *, zero: bool = False) -> float | None:
        value = self.quantity(node, kind)
        if node is not None and value is not None and (value < 0 or (value == 0 and not zero)):
            self.problem(f"this {kind} is not above zero", node.where, self.text(node), "more than 0")
            return None
        return value

    def number(self, node: Node | None) -> float | None:
        if node is None:
            return None
        try:
            value = float(self.text(node))
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            self.problem(
                "this is not a number", node.where, self.text(node), "a plain number with a decimal point"
            )
            return None
        return value

    def share(self, node: Node | None, *, most: float = 0.999) -> float | None:
        """A share: ``5 %`` or ``0.05``."""
        if node is None:
            return None
        text = self.text(node).replace("±", "").strip()
        match = re.fullmatch(r"(\d+(?:\.\d*)?|\.\d+) ?(%?)", text)
        value = float(match.group(1)) / (100.0 if match.group(2) else 1.0) if match else math.nan
        if not 0 <= value <= most:
            self.problem(
                "this share can't be used", node.where, text, f"such as 5 % or 0.05; at most {most:.4g}"
            )
            return None
        return value

    def density(self, node: Node | None) -> float | None:
        if node is None:
            return None
        match = re.fullmatch(r"(\d*\.?\d+) ?(kg/m3|kg/m³|lb/ft3|lb/ft³)", self.text(node))
        value = float(match.group(1)) * _DENSITY[match.group(2).replace("³", "3")] if match else 0.0
        if not 0.5 <= value <= 2.0:
            self.problem(
                "this density can't be used",
                node.where,
                self.text(node),
                "such as 1.2041 kg/m3, 0.0752 lb/ft3",
            )
            return None
        return value

    def choice(self, node: Node | None, known: dict[str, T]) -> T | None:
        if node is None:
            return None
        text = self.text(node).lower()
        if text not in known:
            near = difflib.get_close_matches(text, known, n=1, cutoff=0.5)
            hint = f"did you mean {near[0]}?" if near else ""
            self.problems.append(
                Problem("this word is not known here", node.where, text, ", ".join(known), hint)
            )
            return None
        return known[text]


def _tidy(text: str) -> str:
    return _WATER.sub("inwg", text.strip())
