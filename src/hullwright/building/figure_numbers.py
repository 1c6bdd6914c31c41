"""Numbers under ``figures``: which quantity each is, by its name."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from hullwright.building.kinds import scalar
from hullwright.building.nodes import Node
from hullwright.building.spec import BROKEN, Notes, Schema
from hullwright.errors import QuantityError
from hullwright.typed import comma_hint
from hullwright.units import parse_number

GROUPS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "flaws": "flaws per length", "flaws_unrolled": "flaws per length", "unrolled_sound": "factor", "place": "factor",
        "surface": "factor", "factor": "factor", "slow": "factor", "access": "factor", "unsealed": "leakage per length",
        "sound": "leakage per length", "unsealed_each": "leakage of a piece", "flaw_area": "leakage of a piece",
        "each": "flaws per piece", "each_unrolled": "flaws per piece", "water": "share of water", "hours": "hours per length",
        "hours_each": "hours per piece", "prep_each": "hours per piece", "access_height": "height of access",
        "setup_money": "setup money", "setup_hours": "setup hours", "size": "detail size", "leak": "unit leakage",
        "site": "surface temperature", "film": "factor", "gap": "share of a length",
    }
)  # fmt: skip
"""First part of a dotted name to its quantity."""
OWN: Final[Mapping[str, str]] = MappingProxyType(
    {
        "film.reading": "hours per piece", "film.hour": "pay", "film.lot_length": "joint length", "film.lot_area": "reference roof",
        "hours.coat": "hours per area", "gap.depth": "fill depth", "leak.exponent": "leakage exponent", "water.flaw_width": "size for water",
        "water.fishmouth_width": "size for water", "water.crater_width": "size for water", "water.intensity": "rain intensity",
        "water.limit": "liters", "water.limit_roof": "reference roof", "panel_thickness": "detail size",
        "rim_depth": "detail size", "flange_gap": "detail size", "frame_gap": "detail size", "ring_gap": "detail size",
        "sill_gap": "detail size", "same_line": "detail size",
    }
)  # fmt: skip
"""Names that are of another quantity than their group."""


def figure_quantity(name: str) -> str | None:
    """Give the quantity of a figure, None where no figure goes by this name.

    Examples
    --------
    >>> figure_quantity("flaws.tape"), figure_quantity("hours.coat"), figure_quantity("flaps.tape")
    ('flaws per length', 'hours per area', None)
    """
    return OWN.get(name) or GROUPS.get(name.partition(".")[0])


@dataclass(frozen=True, slots=True)
class FigureNumber:
    """A number whose quantity follows from the name under which it stands."""

    @property
    def quantities(self) -> tuple[str, ...]:
        """What it may read."""
        return tuple(dict.fromkeys((*GROUPS.values(), *OWN.values())))

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to float."""
        text = scalar(node, notes, path, "a number")
        if text is None:
            return BROKEN
        try:
            value = parse_number(text)
        except QuantityError:
            value = math.nan
        if not math.isfinite(value):
            hint = comma_hint(text) or "write a plain number"
            return notes.wrong(
                notes.where(node, path),
                "this number can't be used",
                got=node.shown(),
                allowed="a number",
                hint=hint,
            )
        of = figure_quantity(path.removeprefix("figures.").removesuffix(".value"))
        return value if of is None else notes.weigh(of, value, node, path)

    def schema(self) -> Schema:
        """Number."""
        return {"type": "number"}
