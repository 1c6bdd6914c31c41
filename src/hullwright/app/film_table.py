"""Comb readings from a table: a log's own table, or one line a reading as it stands in a notebook."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Final

from hullwright.errors import HullwrightError, InputError, Problem, Where
from hullwright.proof.comb import Comb, Reading
from hullwright.proof.lotbook import BookedLot, book, unplaced
from hullwright.proof.lots import LotKey, Placed
from hullwright.store.table import MOST_BYTES, csv_rows, import_csv
from hullwright.units import MIL, parse_number, read

UNITS: Final = {"mil": MIL, "um": 1e-6, "mm": 1e-3}
LOT: Final = ("method", "crew", "day", "surface")
ALSO: Final = ("joint", "product")
_COLUMNS: Final = "last_wet_mil (or _um), next_dry_mil (or --teeth), method, crew, day, surface; joint and product where known"

Pair = tuple[float, float]  # last wet tooth (0: none), next dry tooth (inf: none)


def read_table(file: str, teeth: str | None = None) -> tuple[BookedLot, ...]:
    """Read lots from a table.

    Parameters
    ----------
    file : str
        A csv or xlsx as ``log export`` writes it; or a csv with the columns ``last_wet_mil`` (or ``_um``), ``next_dry_mil``,
        ``method``, ``crew``, ``day``, ``surface``, ``joint``, ``product``. An empty tooth is *none wet*, or *none dry*.
    teeth : str or None
        Teeth of the gauge with their unit, where the table has no column for the next dry tooth.

    Returns
    -------
    tuple of BookedLot

    Raises
    ------
    InputError
        With line and column of every problem.
    """
    data = _bytes(file)
    if Path(file).suffix.lower() == ".xlsx":
        from hullwright.store.table_xlsx import import_xlsx  # noqa: PLC0415  loads workbooks only where one comes

        return book(unplaced(import_xlsx(data, file)))
    rows = list(csv_rows(data, file))
    header = [name.strip().lower() for name in rows[0][1]] if rows else []
    if "kind" in header:
        return book(unplaced(import_csv(data, file)))
    return _lots(rows[1:], header, file, teeth)


def table_system(file: str, teeth: str | None = None) -> str:
    """Say in which units a table was written: mil and inches, or metric."""
    with Path(file).open("rb") as stream:
        head = stream.readline(2000)
    return "us" if b"_mil" in head or any(unit in (teeth or "") for unit in ("mil", "in")) else "metric"


def gauge(teeth: str) -> Comb:
    """Read the teeth of a gauge.

    Examples
    --------
    >>> [round(tooth * 1e6, 1) for tooth in gauge("18, 20, 22 mil").teeth]
    [457.2, 508.0, 558.8]
    """
    parts = teeth.replace(",", " ").replace(";", " ").split()
    unit = parts.pop() if parts and not parts[-1][0].isdigit() else ""
    return Comb(tuple(read(f"{part} {unit}".strip()) for part in parts))


def _bytes(file: str) -> bytes:
    path = Path(file)
    try:
        if path.stat().st_size > MOST_BYTES:
            raise InputError(
                "the table is too large",
                [Problem("too many bytes", Where(file), f"{path.stat().st_size}", f"up to {MOST_BYTES}")],
            )
        return path.read_bytes()
    except OSError as error:
        problem = Problem(
            "can't open it",
            Where(file),
            str(error.strerror),
            hint="a building file, or a csv of comb readings",
        )
        raise InputError("the readings can't be read", [problem]) from error


def _lots(
    rows: Sequence[tuple[int, list[str]]], header: Sequence[str], file: str, teeth: str | None
) -> tuple[BookedLot, ...]:
    wet, dry = _column(header, "last_wet"), _column(header, "next_dry")
    comb = None if teeth is None else gauge(teeth)
    missing = [name for name in LOT if name not in header]
    if wet is None or missing or (dry is None and comb is None):
        got = ", ".join(header)[:200]
        raise InputError(
            "the readings can't be used", [Problem("a column is missing", Where(file, 1), got, _COLUMNS)]
        )
    problems: list[Problem] = []
    groups: dict[LotKey, list[tuple[Pair, str, str]]] = defaultdict(list)
    for line, cells in rows:
        if not any(cells):
            continue
        try:
            row = dict(zip(header, (cell.strip() for cell in cells), strict=True))
            pair = _pair(row, wet, dry, comb)
            groups[_key(row)].append((pair, row.get("joint") or f"line {line}", row.get("product", "")))
        except (HullwrightError, ValueError) as error:
            inner = error.problems[0] if isinstance(error, HullwrightError) and error.problems else None
            problems.append(
                Problem(
                    inner.message if inner else str(error),
                    Where(file, line),
                    inner.got if inner else "",
                    inner.allowed if inner else "",
                )
            )
    if problems:
        raise InputError("the readings can't be used", problems[:50])
    return tuple(_lot(key, groups[key], comb) for key in sorted(groups, key=lambda key: key.id))


def _lot(key: LotKey, items: Sequence[tuple[Pair, str, str]], comb: Comb | None) -> BookedLot:
    used = comb or Comb(tuple(sorted({edge for pair, _, _ in items for edge in pair if 0 < edge < math.inf})))
    placed = tuple(Placed(Reading(low, high, used), joint) for (low, high), joint, _ in items)
    products = {product for _, _, product in items if product}
    if len(products) > 1:
        raise InputError(
            "one lot holds several products",
            [Problem("one product a lot", Where(key=key.id), ", ".join(sorted(products)))],
        )
    joints = tuple(dict.fromkeys(joint for _, joint, _ in items))
    return BookedLot(key, next(iter(products), ""), placed, (), joints, clock_off=False)


def _column(header: Sequence[str], name: str) -> str | None:
    return next((column for column in header if column in {f"{name}_{unit}" for unit in UNITS}), None)


def _pair(row: Mapping[str, str], wet: str, dry: str | None, comb: Comb | None) -> Pair:
    low = _tooth(row[wet], wet)
    if comb is not None:
        reading = comb.read(low) if dry is None else comb.between(low, _tooth(row[dry], dry))
        return reading.low, reading.high
    high = _tooth(row[dry or ""], dry or "")
    pair = (0.0 if low is None else low, math.inf if high is None else high)
    if not pair[0] < pair[1] or pair == (0.0, math.inf):
        raise InputError(
            "no reading",
            [Problem("the next dry tooth lies above the last wet one", got=f"{row[wet]}, {row[dry or '']}")],
        )
    return pair


def _tooth(cell: str, column: str) -> float | None:
    if not cell or cell.lower() == "none":
        return None
    return parse_number(cell) * UNITS[column.rpartition("_")[2]]


def _key(row: Mapping[str, str]) -> LotKey:
    for name in LOT:
        if not row[name]:
            raise InputError(
                "no lot", [Problem(f"{name} is empty: a lot is one method, crew, day and surface")]
            )
    try:
        day = date.fromisoformat(row["day"])
    except ValueError as error:
        raise InputError(
            "no day", [Problem("no day", got=row["day"], allowed="such as 2025-05-12")]
        ) from error
    return LotKey(row["method"], row["crew"], day, row["surface"])
