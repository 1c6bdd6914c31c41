"""Defaults of the building file as a person would write them, each with its evidence.

They do not depend on the file's units: the same house stated in feet and in metres is the same house.
"""

from __future__ import annotations

from typing import Final

from hullwright.building.spec import Default
from hullwright.evidence import ESTIMATE, Evidence, Mark

COMMON: Final = Evidence(Mark.PRACTICE)
_NAILS: Final = Evidence(Mark.MEMORY, "IRC Table R602.3(1), depends on the edition")

LEVEL_ZERO: Final = Default("0", COMMON)
INSIDE: Final = Default("yes", COMMON)
FRAME: Final = Default("vinyl flange", COMMON)

PANEL_WIDTH: Final = Default("4 ft", COMMON)
PANEL_LENGTH: Final = Default("8 ft", COMMON)
PANEL_GAP: Final = Default("1/8 in", COMMON)
STAGGER: Final = Default("4 ft", COMMON)
WALL_FRAMING: Final = Default("16 in", COMMON)
ROOF_FRAMING: Final = Default("24 in", COMMON)
LAY: Final = Default("level", COMMON)
BLOCKING: Final = Default("no", COMMON)
LEAST_OFFCUT: Final = Default("12 in", ESTIMATE)
SUBSTRATE: Final = {
    "wall": Default("coated panel", ESTIMATE),
    "roof": Default("wood panel", ESTIMATE),
    "floor": Default("wood panel", ESTIMATE),
    "ceiling": Default("gypsum board", ESTIMATE),
}
NAIL_EDGE: Final = Default("6 in", _NAILS)
NAIL_FIELD: Final = Default("12 in", _NAILS)
OVERDRIVEN: Final = Default("20 %", ESTIMATE)

SURFACE: Final = Default("clean", ESTIMATE)
BUILD_UP: Final = {
    "wall": Default("6 in", ESTIMATE),
    "roof": Default("12 in", ESTIMATE),
    "floor": Default("4 in", ESTIMATE),
    "ceiling": Default("1/2 in", ESTIMATE),
}
BARE_DAYS: Final = Default("30", ESTIMATE)
MONTHLY_RAIN: Final = Default("90 mm", ESTIMATE)
NORTH: Final = Default("0 deg", COMMON)
PEOPLE: Final = Default("2", ESTIMATE)
RATE: Final = Default("60", ESTIMATE)
DAY: Final = Default("8", COMMON)
CURRENCY: Final = Default(
    "USD", Evidence(Mark.ESTIMATE, "currency of the invented prices of the built-in product set")
)
CONFIDENCE: Final = Default("90 %", ESTIMATE)
WEIGHT: Final = Default("1", ESTIMATE)
AIR_TARGET: Final = Default("1", ESTIMATE)

RIGID: Final = {"cable group": False}
STAGE: Final = {"beam": "sheathing", "chimney": "sheathing", "chase": "sheathing", "hatch": "openings"}
EAVES: Final = Default("none", ESTIMATE)
