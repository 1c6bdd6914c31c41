"""A mass as the other parts of the file need it: sides and storeys to be named."""

from __future__ import annotations

import math
from dataclasses import dataclass

from hullwright.building.model import Mass, Point, Roof, Storey
from hullwright.building.sides import find_side
from hullwright.building.spec import Notes, nearest
from hullwright.errors import Where


@dataclass(frozen=True, slots=True)
class Body:
    """What other parts of the file need to know of a mass: it may be there although the mass has another fault.

    Parameters
    ----------
    outline, sides : tuple
        As in :class:`Mass`; empty where the outline is wrong.
    numbers : tuple of int
        Number of each side as listed.
    storeys : tuple of Storey
        Empty where they are wrong.
    roof : Roof or None
    mass : Mass or None
        The whole, where nothing is wrong.
    """

    name: str
    outline: tuple[Point, ...]
    sides: tuple[str, ...]
    numbers: tuple[int, ...]
    storeys: tuple[Storey, ...]
    inside: bool
    roof: Roof | None
    mass: Mass | None

    def side(self, text: str, where: Where, notes: Notes) -> int | None:
        """Index of a side, None where it is unknown (noted) or the outline is wrong."""
        if not self.sides:
            return None
        found = find_side(text, self.sides, self.numbers)
        if found is None:
            notes.wrong(
                where,
                f"mass `{self.name}` has no side `{text}`",
                got=text,
                allowed=", ".join(self.sides) + f", or side 1 to side {len(self.sides)}",
                hint=nearest(text, self.sides),
            )
        return found

    def length(self, side: int) -> float:
        """Length of a side [m]."""
        return math.dist(self.outline[side], self.outline[(side + 1) % len(self.outline)])

    def storey(self, text: str | None, where: Where, notes: Notes) -> int | None:
        """Index of a storey by name or number; left out it is the only one."""
        if not self.storeys:
            return None
        names = [storey.name for storey in self.storeys]
        if text is None:
            if len(names) == 1:
                return 0
            notes.wrong(
                where,
                f"mass `{self.name}` has {len(names)} storeys: say which",
                allowed=f"storey: {', '.join(names)}",
                hint="add the key `storey`",
            )
            return None
        if text in names:
            return names.index(text)
        if text.isdigit() and 1 <= int(text) <= len(names):
            return int(text) - 1
        notes.wrong(
            where,
            f"mass `{self.name}` has no storey `{text}`",
            got=text,
            allowed=", ".join(names),
            hint=nearest(text, names),
        )
        return None
