"""Over-application: what wider and thicker than the sheet costs on this house.

Wider and thicker multiply; the fill of the gaps does not grow with them, so the whole grows less than the film alone. Both
are given.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from hullwright.evidence import Caution, Evidence, Mark
from hullwright.material.ask import Ask
from hullwright.material.cautions import SHEET_RULES
from hullwright.material.columns import Column, Floats, Ints, column, same_rows, whole
from hullwright.material.film import Liquid

ABOUT_A_THIRD: Final = Caution(
    "A crew that finds its way on a mock-up first is said to save about 30 % of the tubes; the sums here are not fitted to that.",
    Evidence(Mark.PRACTICE),
)


@dataclass(frozen=True, slots=True)
class SheetLiquid:
    """One liquid as its sheet has it.

    Parameters
    ----------
    product : str
        Its id.
    dry : float
        Target dry film [m].
    liquid : Liquid
        Solids, thinning, waste.
    pack : float
        Pack [m3].
    price : float
        Money a pack.
    """

    product: str
    dry: float
    liquid: Liquid
    pack: float
    price: float

    def __post_init__(self) -> None:
        ask = Ask(f"the over-application of {self.product}")
        ask.positive("dry", self.dry, "m")
        ask.positive("pack", self.pack, "m3")
        ask.not_negative("price", self.price, "money a pack")
        ask.done()


@dataclass(frozen=True, slots=True)
class OverTable:
    """Cost of a grid of widths and films; rows by extra width (E), columns by dry film (T).

    Parameters
    ----------
    product, currency : str
        Liquid and currency.
    sheet_dry : float
        Dry film of the sheet [m].
    widths : tuple of float
        Film widths of the sheet that occur [m], narrowest first.
    extra_widths, drys : ndarray (E,), (T,)
        The grid [m].
    film : ndarray (E, T)
        Volume as sold for the films [m3], waste included.
    gap : float
        Volume as sold for the gap fill [m3].
    packs : ndarray of int (E, T)
        Whole packs, gap fill included.
    money : ndarray (E, T)
        Packs × price.
    more_film, more : ndarray (E, T)
        Share more than by the sheet: films alone, and with the gap fill.
    sheet_packs : int
        Packs by the sheet.
    sheet_money : float
        Money by the sheet.
    """

    product: str
    currency: str
    sheet_dry: float
    widths: tuple[float, ...]
    extra_widths: Floats
    drys: Floats
    film: Floats
    gap: float
    packs: Ints
    money: Floats
    more_film: Floats
    more: Floats
    sheet_packs: int
    sheet_money: float
    cautions: tuple[Caution, ...] = (SHEET_RULES, ABOUT_A_THIRD)

    @property
    def saving_film(self) -> Floats:
        """Share saved by going back to the sheet, films alone: ``1 − 1/(1 + more)``."""
        return np.asarray(1.0 - 1.0 / (1.0 + self.more_film))

    @property
    def saving(self) -> Floats:
        """Share saved by going back to the sheet, gap fill included."""
        return np.asarray(1.0 - 1.0 / (1.0 + self.more))

    def to_json(self) -> dict[str, Any]:
        """The table as an object: one cell per width and film."""
        cells = [
            {
                "extra_width_mm": float(self.extra_widths[i] * 1e3),
                "dry_um": float(self.drys[j] * 1e6),
                "volume_l": float((self.film[i, j] + self.gap) * 1e3),
                "packs": int(self.packs[i, j]),
                "money": float(self.money[i, j]),
                "more_film": float(self.more_film[i, j]),
                "more": float(self.more[i, j]),
                "saving_film": float(self.saving_film[i, j]),
                "saving": float(self.saving[i, j]),
            }
            for i in range(len(self.extra_widths))
            for j in range(len(self.drys))
        ]
        return {
            "schema": {"name": "over_application", "version": 1},
            "product": self.product,
            "currency": self.currency,
            "sheet": {
                "widths_mm": [width * 1e3 for width in self.widths],
                "dry_um": self.sheet_dry * 1e6,
                "packs": self.sheet_packs,
                "money": self.sheet_money,
            },
            "gap_l": self.gap * 1e3,
            "cells": cells,
            "cautions": [caution.to_json() for caution in self.cautions],
        }


@dataclass(frozen=True, slots=True)
class LiquidRuns:
    """Runs of one liquid, as columns.

    Parameters
    ----------
    lengths : array_like (R,)
        Lengths [m].
    widths : array_like (R,)
        Width of film by the sheet [m].
    gap_sections : array_like (R,)
        Filled gap section [m2].
    """

    lengths: Column
    widths: Column
    gap_sections: Column = 0.0


def over_application(
    runs: LiquidRuns,
    sheet: SheetLiquid,
    *,
    extra_widths: Sequence[float],
    drys: Sequence[float],
    currency: str,
) -> OverTable:
    """Work out what wider and thicker than the sheet costs.

    Parameters
    ----------
    runs : LiquidRuns
        This house's runs in the liquid.
    sheet : SheetLiquid
        The liquid.
    extra_widths : sequence of float (E,)
        Width beyond the sheet [m], 0 for the sheet's.
    drys : sequence of float (T,)
        Dry films [m].
    currency : str
        Currency of the price.

    Returns
    -------
    OverTable
        The grid.

    Raises
    ------
    InputError
        Where a number is wrong or there is nothing to coat.

    Examples
    --------
    >>> from hullwright.units import INCH, MIL
    >>> sheet = SheetLiquid("sausage", 15 * MIL, Liquid(1.0), 600e-6, 14.0)
    >>> table = over_application(LiquidRuns([100.0], [2.25 * INCH]), sheet,
    ...                          extra_widths=[0, 1.5 * INCH], drys=[15 * MIL, 22 * MIL], currency="USD")
    >>> (100 * table.more_film).round(1)
    array([[  0. ,  46.7],
           [ 66.7, 144.4]])
    """
    ask = Ask("the over-application table")
    lengths = column(ask, "lengths", runs.lengths)
    widths = column(ask, "widths", runs.widths, above_zero=True)
    gaps = column(ask, "gap_sections", runs.gap_sections)
    extra = column(ask, "extra_widths", extra_widths)
    dry = column(ask, "drys", drys, above_zero=True)
    lengths, widths, gaps = same_rows(ask, lengths, widths, gaps)
    extra, dry = np.atleast_1d(extra), np.atleast_1d(dry)
    if float(np.sum(lengths)) <= 0:
        ask.refuse("lengths", float(np.sum(lengths)), "some length in this liquid")
    ask.done()
    per_dry = sheet.liquid.wet_per_dry * sheet.liquid.bought_per_laid
    area = np.sum(lengths * (widths + extra[:, None]), axis=1)
    film = area[:, None] * dry[None, :] * per_dry
    gap = float(np.sum(lengths * gaps)) * sheet.liquid.bought_per_laid
    base = float(np.sum(lengths * widths)) * sheet.dry * per_dry
    packs = whole((film + gap) / sheet.pack)
    sheet_packs = int(whole((base + gap) / sheet.pack))
    return OverTable(
        product=sheet.product,
        currency=currency,
        sheet_dry=sheet.dry,
        widths=tuple(float(width) for width in np.unique(widths)),
        extra_widths=extra,
        drys=dry,
        film=film,
        gap=gap,
        packs=packs,
        money=np.asarray(packs * sheet.price, dtype=np.float64),
        more_film=film / base - 1.0,
        more=(film + gap) / (base + gap) - 1.0,
        sheet_packs=sheet_packs,
        sheet_money=sheet_packs * sheet.price,
    )
