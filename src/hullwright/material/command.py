"""The film sums by hand, as one result: how thick wet, how far a pack goes, how thick a bead."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

from hullwright.evidence import STATED, Caution, Evidence, Mark
from hullwright.material.ask import Ask
from hullwright.material.cautions import (
    FILL_FIRST,
    GAP_NOT_COUNTED,
    NO_WASTE_COUNTED,
    SHEET_RULES,
    SOLIDS_BY_VOLUME,
    WASTE_DIVIDES,
)
from hullwright.material.film import WASTE_CONVENTION, Line
from hullwright.units import FOOT, GALLON, INCH, MIL, Show

_SUMS: Final = Evidence(
    Mark.PUBLISHED,
    "wet and dry film by volume solids: ASTM D4414-95(2020), 4.2; 1 US gal = 231 in3: NIST Handbook 44",
)
FILL_FROM: Final = INCH / 4
"""Gap from which :data:`~hullwright.material.cautions.FILL_FIRST` is shown [m]."""


@dataclass(frozen=True, slots=True)
class FilmSum:
    """Film sums of one joint and one pack.

    Parameters
    ----------
    line : Line
        Film, liquid, gap.
    pack : float
        Label volume of a pack [m3].
    length : float or None
        Length of the joint [m], for the packs.

    Raises
    ------
    InputError
        Where a number is outside its range.

    Examples
    --------
    >>> from hullwright.material.film import Gap, Liquid
    >>> answer = FilmSum(Line(0.1016, 12 * MIL, Liquid(0.6)), 20 * GALLON / 128)
    >>> round(answer.to_json()["length_per_pack_m"], 2), round(answer.to_json()["bead_mm"], 2)
    (11.46, 8.11)
    """

    line: Line
    pack: float
    length: float | None = None

    def __post_init__(self) -> None:
        ask = Ask("the film by hand")
        ask.positive("pack", self.pack, "m3")
        if self.length is not None:
            ask.positive("length", self.length, "m")
        ask.done()

    @property
    def length_per_pack(self) -> float:
        """How far a pack goes, gap fill and waste included [m]."""
        return self.line.length_per(self.pack)

    @property
    def coverage(self) -> float:
        """Theoretical coverage of the product as sold, no gap and no waste [m2/m3]."""
        return self.line.liquid.solids / self.line.dry

    @property
    def packs(self) -> int | None:
        """Whole packs for the length, None where no length is given."""
        if self.length is None:
            return None
        return math.ceil(self.length / self.length_per_pack * (1 - 1e-12) - 1e-9)

    @property
    def left_over(self) -> float | None:
        """Rest of the last pack [m3], None where no length is given."""
        if self.packs is None or self.length is None:
            return None
        return self.packs * self.pack - self.length * self.line.bought

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What to mind with these numbers."""
        gap = self.line.gap
        found = [SHEET_RULES, SOLIDS_BY_VOLUME]
        found.append(WASTE_DIVIDES if self.line.liquid.waste else NO_WASTE_COUNTED)
        if not gap.section:
            found.append(GAP_NOT_COUNTED)
        if gap.width > FILL_FROM * (1 + 1e-9):
            found.append(FILL_FIRST)
        return tuple(found)

    def to_json(self) -> dict[str, Any]:
        """The object that other programs read.

        ``coverage_m2_l`` is theoretical, of the product as sold; ``length_per_pack_m`` holds gap fill and waste; ``bead_mm``
        supplies the film alone, ``bead_with_gap_mm`` film and gap fill in one pass.
        """
        line = self.line
        out: dict[str, Any] = {
            "schema": {"name": "film", "version": 1},
            "wet_um": line.wet * 1e6,
            "dry_um": line.dry * 1e6,
            "coverage_m2_l": self.coverage * 1e-3,
            "length_per_pack_m": self.length_per_pack,
            "gap_share": line.gap_share,
            "bead_mm": line.bead * 1e3,
            "bead_with_gap_mm": line.bead_with_gap * 1e3,
            "volume_per_m_l": line.bought * 1e3,
            "waste": line.liquid.waste,
            "waste_convention": WASTE_CONVENTION,
        }
        if self.packs is not None and self.left_over is not None:
            out |= {"packs": self.packs, "left_over_l": self.left_over * 1e3}
        out["evidence"] = {"sums": _SUMS.to_json(), "inputs": STATED.to_json()}
        out["cautions"] = [caution.to_json() for caution in self.cautions]
        return out

    def rows(self, show: Show) -> list[tuple[str, str]]:
        """Answer as labels and texts.

        Parameters
        ----------
        show : Show
            Units of the reader.

        Returns
        -------
        list of tuple of str
            Label and text, in the order a crew needs them.

        Examples
        --------
        >>> from hullwright.material.film import Liquid
        >>> FilmSum(Line(0.1016, 12 * MIL, Liquid(0.6)), 20 * GALLON / 128).rows(Show("us"))[0]
        ('wet film', '20 mil (dry 12 mil)')
        """
        line = self.line
        rows = [
            ("wet film", f"{_film(line.wet, show)} (dry {_film(line.dry, show)})"),
            ("coverage, no gap, no waste", _coverage(self.coverage, show)),
            ("one round bead", f"{_bead(line.bead, show)} for the film"),
        ]
        if line.gap.section:
            rows.append(("", f"{_bead(line.bead_with_gap, show)} for film and gap in one pass"))
            rows.append(("the gap takes", f"{100 * line.gap_share:.0f} % of the material"))
        if line.liquid.waste:
            rows.append(("waste", f"{100 * line.liquid.waste:g} % of what is used"))
        rows.append(("a pack goes", show.run_length(self.length_per_pack)))
        if self.packs is not None and self.length is not None and self.left_over is not None:
            rest = show.liquid(max(self.left_over, 0.0))
            rows.append(("packs", f"{self.packs} for {show.run_length(self.length)}, {rest} left"))
        return rows


def _film(metres: float, show: Show) -> str:
    """Film to the tooth of a comb gauge: half a mil below 10 mil, else whole."""
    mils = metres / MIL
    if show.us and mils < 10:
        return f"{mils:.1f} mil"
    return show.film(metres)


def _coverage(square_metres_per_cubic_metre: float, show: Show) -> str:
    if show.us:
        return f"{square_metres_per_cubic_metre * GALLON / FOOT**2:.1f} ft2/gal"
    return f"{square_metres_per_cubic_metre * 1e-3:.2f} m2/L"


def _bead(metres: float, show: Show) -> str:
    if show.us:
        return f"{metres / INCH:.2f} in"
    return f"{metres * 1e3:.1f} mm"
