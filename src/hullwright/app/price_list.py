"""A supplier's price list against the products of a house, and its prices into the building file."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from hullwright.app.disk import write_whole
from hullwright.app.edit import change
from hullwright.app.heads import head
from hullwright.app.house import House, load
from hullwright.catalog import load as load_catalog
from hullwright.catalog.price_list import PriceList, match, rows_of
from hullwright.errors import InputError, Problem, Where
from hullwright.evidence import Caution, Evidence, Mark

MOST_BYTES: Final = 5 * 2**20
AS_LISTED: Final = Caution(
    "prices are taken as the list says them: taxes, delivery and discounts are yours to check",
    Evidence(Mark.PRACTICE),
)


@dataclass(frozen=True, slots=True)
class Matched:
    """Answer of ``price-list``.

    Parameters
    ----------
    house : House
    file : str
        The list.
    found : PriceList
    written : bool
        Whether the prices are in the building file now.
    """

    house: House
    file: str
    found: PriceList
    written: bool

    @property
    def exit_code(self) -> int:
        """1 where the list gives no price at all."""
        return 0 if self.found.priced else 1

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``price-list --json``."""
        return head("price-list") | {
            "file": self.file,
            "currency": self.house.building.currency,
            "priced": [
                {
                    "product": one.product,
                    "line": one.row.line,
                    "as": one.row.words,
                    "money": one.price,
                    "by": one.by,
                }
                for one in self.found.priced
            ],
            "unmatched": [
                {"line": one.row.line, "as": one.row.words, "why": one.why, "near": one.near}
                for one in self.found.unmatched
            ],
            "without_price_on_list": list(self.found.without),
            "written": self.written,
            "cautions": [AS_LISTED.to_json()],
        }


def price_list(file: str, listing: str, *, write: bool = False) -> Matched:
    """Match a supplier's price list with the products of a house.

    Parameters
    ----------
    file : str
        Building file.
    listing : str
        The list: csv (commas, semicolons or tabs) or a workbook (xlsx).
    write : bool
        Put the matched prices into the building file; comments and order stay.

    Returns
    -------
    Matched

    Raises
    ------
    InputError
        Where one of the two can't be read.
    OutputError
        Where the building file can't be written.
    """
    house = load(file)
    catalog = load_catalog(house.building)
    rows = rows_of(_cells(Path(listing)), listing)
    # numbers in the cells of a workbook come with a point, whatever the country
    signs = "us" if Path(listing).suffix.lower() == ".xlsx" else house.building.system
    found = match(rows, catalog.products, currency=house.building.currency, system=signs)
    write = write and bool(found.priced)
    if write:
        path = Path(file)
        text = path.read_bytes().decode("utf-8-sig")
        for product, money in found.prices.items():
            text = change(text, f'prices["{product}"]', money, file=file)
        write_whole(path, text.encode("utf-8"))
    return Matched(house, listing, found, write)


def _cells(path: Path) -> Sequence[tuple[int, Sequence[str]]]:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise _refused(path, "the file is too large", f"up to {MOST_BYTES} bytes")
        data = path.read_bytes()
    except OSError as error:
        raise _refused(path, f"can't open it: {error.strerror}", "a csv or xlsx file") from error
    if path.suffix.lower() == ".xlsx":
        from hullwright.store.table_xlsx import sheet_rows  # noqa: PLC0415 - loads workbooks only where one comes

        return sheet_rows(data, str(path))
    text = _decoded(data, path)
    sample = text[:20_000]
    split = max(",;\t", key=sample.count)
    try:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=split)
        return [(reader.line_num, row) for row in reader]
    except csv.Error as error:
        raise _refused(
            path, f"this is not csv: {error}", "cells split by commas, semicolons or tabs"
        ) from error


def _decoded(data: bytes, path: Path) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _refused(path, "the file is not text in UTF-8", "csv saved as UTF-8, or xlsx") from error


def _refused(path: Path, message: str, allowed: str) -> InputError:
    return InputError("the price list can't be read", [Problem(message, Where(str(path)), allowed=allowed)])
