"""How is a limit written: ``3 ach50``, ``0.25 cfm75/ft2``, ``1.2 m3/(h m2) at 50 Pa``, ``0.7 cm2/m2 eqla``."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from hullwright.errors import FanTestError, Problem
from hullwright.fantest.raw import Building
from hullwright.fantest.scales import (
    CM2_PER_IN2,
    ELA_FACTOR,
    EQLA_FACTOR,
    M3_H_PER_CFM,
    PRESSURES,
    Scale,
    nl_scale,
)
from hullwright.typed import comma_hint
from hullwright.units import FOOT

ALLOWED: Final = (
    "a number with one of: ach50 (or 1/h at 50 Pa), cfm50, cfm50/ft2, cfm75/ft2, m3/h at 50 Pa, m3/(h m2) at 50 Pa, "
    "L/s at 75 Pa, L/(s m2) at 75 Pa, cm2 ela, in2 eqla, cm2/m2 eqla, in2/100ft2 ela, nl; per-area limits count the "
    "envelope unless 'of floor' follows"
)
MOST: Final = 1e9
_FLOW_M3_H: Final = {"cfm": M3_H_PER_CFM, "m3/h": 1.0, "l/s": 3.6, "m3/s": 3600.0}
_AREA_M2: Final = {"m2": 1.0, "ft2": FOOT**2, "100ft2": 100 * FOOT**2}
_HOLE_CM2: Final = {"cm2": 1.0, "in2": CM2_PER_IN2, "m2": 1e4, "ft2": FOOT**2 * 1e4}
_SUPER: Final = str.maketrans({"²": "2", "³": "3", "·": " ", "*": " "})


@dataclass(frozen=True, slots=True)
class Bound:
    """A number a result must not exceed, in the unit it was written in.

    Parameters
    ----------
    value : float
        The number.
    unit : str
        Its unit, tidied.
    kind : str
        ``ach``, ``flow``, ``hole`` or ``nl``.
    pressure_pa : float
        Pressure of the flow [Pa].
    scale : float
        Size of the unit: m3/h, cm2 or 1.
    per : str
        ``envelope``, ``floor`` or '' for none.
    per_m2 : float
        Size of the area unit [m2].
    """

    value: float
    unit: str
    kind: str
    pressure_pa: float
    scale: float = 1.0
    per: str = ""
    per_m2: float = 1.0

    def __str__(self) -> str:
        """The bound as text."""
        return f"{self.value:g} {self.unit}"

    def measure(self, building: Building) -> Scale | str:
        """How this building is measured in the unit of the bound.

        Parameters
        ----------
        building : Building
            Sizes.

        Returns
        -------
        Scale or str
            Text says what is missing.
        """
        if self.kind == "nl":
            return nl_scale(building) or "floor area or height is not stated"
        if self.kind == "ach":
            if not building.volume_m3:
                return "the volume is not stated"
            return Scale(50.0, 1.0 / building.volume_m3, building.volume_accuracy or 0.0)
        base = {"flow": 1.0, "ela": ELA_FACTOR, "eqla": EQLA_FACTOR}[self.kind] / self.scale
        if not self.per:
            return Scale(self.pressure_pa, base)
        floor = self.per == "floor"
        area = building.floor_m2 if floor else building.envelope_m2
        if not area:
            return f"the {self.per} area is not stated"
        accuracy = building.floor_accuracy if floor else building.envelope_accuracy
        return Scale(self.pressure_pa, base * self.per_m2 / area, accuracy or 0.0)


def parse(text: str) -> Bound:
    """Read a limit as a person writes it.

    Parameters
    ----------
    text : str
        Number and unit.

    Returns
    -------
    Bound

    Raises
    ------
    FanTestError
        With what is allowed.

    Examples
    --------
    >>> bound = parse("0.25 cfm75/ft2")
    >>> bound.value, bound.pressure_pa, bound.per
    (0.25, 75.0, 'envelope')
    >>> parse("3 ACH50").kind
    'ach'
    """
    plain = re.sub(r"\s+", " ", text.strip().lower().translate(_SUPER))
    match = re.fullmatch(r"(?:<=?|≤|at most|less than)? ?(\d+(?:\.\d*)?|\.\d+) ?(.+)", plain)
    bound = _unit(float(match.group(1)), match.group(2)) if match else None
    if bound is None or not 0 < bound.value <= MOST:
        problem = Problem("this limit can't be read", got=text[:60], allowed=ALLOWED, hint=comma_hint(text))
        raise FanTestError(f"can't read the limit {text!r}", [problem])
    return bound


def _unit(value: float, unit: str) -> Bound | None:
    unit, per = _per(unit)
    if re.fullmatch(r"(ach ?50|ach at 50 pa|n50|1/h at 50 pa|/h at 50 pa|1/h|h-1)", unit):
        return Bound(value, "ach50", "ach", 50.0)
    if unit == "nl":
        return Bound(value, "nl", "nl", 4.0)
    hole = re.fullmatch(r"(cm2|in2|m2|ft2)(?:/ ?(m2|ft2|100 ?ft2))? (ela|eqla)", unit)
    if hole:
        return _hole(value, hole, per)
    return _flow(value, unit, per)


def _per(unit: str) -> tuple[str, str]:
    for word in ("floor", "envelope"):
        tail = re.fullmatch(rf"(.+?) (?:of|of the|per) {word}(?: area)?", unit)
        if tail:
            return tail.group(1), word
    return unit, "envelope"


def _hole(value: float, hole: re.Match[str], per: str) -> Bound | None:
    size, area, kind = hole.groups()
    area = area.replace(" ", "") if area else None
    pressure = 4.0 if kind == "ela" else 10.0
    label = f"{size}/{area} {kind} of {per}" if area else f"{size} {kind}"
    return Bound(
        value, label, kind, pressure, _HOLE_CM2[size], per if area else "", _AREA_M2[area] if area else 1.0
    )


def _flow(value: float, unit: str, per: str) -> Bound | None:
    short = re.fullmatch(r"cfm ?(\d+)(?: ?/ ?(ft2|sf))?", unit)
    if short:
        size, pressure, area = "cfm", float(short.group(1)), "ft2" if short.group(2) else None
    else:
        form = re.fullmatch(
            r"(?:(cfm|m3/h|l/s|m3/s)(?: ?/ ?(m2|ft2))?|(m3|l)/\( ?(h|s) (m2) ?\)|(m3|l)/(h|s)/(m2))"
            r" ?(?:at|@) ?(\d+) ?pa",
            unit,
        )
        if not form:
            return None
        flow, area, top, bottom, area_2, top_3, bottom_3, area_3, at = form.groups()
        size = flow or f"{top or top_3}/{bottom or bottom_3}"
        area, pressure = area or area_2 or area_3, float(at)
    if pressure not in PRESSURES or size not in _FLOW_M3_H:
        return None
    label = f"{size}/{area} at {pressure:g} Pa of {per}" if area else f"{size} at {pressure:g} Pa"
    return Bound(
        value,
        label,
        "flow",
        pressure,
        _FLOW_M3_H[size],
        per if area else "",
        _AREA_M2[area] if area else 1.0,
    )
