"""When is it dry long enough to seal a hole: the next dry spans of a weather table that the lead has at hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

from hullwright.catalog.model import Product
from hullwright.errors import HullwrightError, InputError, Problem, Where
from hullwright.store.table import MOST_BYTES, csv_rows
from hullwright.units import parse_number, read

Span = tuple[datetime, datetime]
_COLUMNS = "time (with its zone), rain_mm or rain_in, and air_c or air_f where known"
_LONGEST_STEP = timedelta(hours=6)


@dataclass(frozen=True, slots=True)
class Hour:
    """One line of the table.

    Parameters
    ----------
    start : datetime
        With its zone.
    rain : float
        [mm] from this line to the next.
    air : float or None
        [degC]
    """

    start: datetime
    rain: float
    air: float | None


def read_weather(file: str) -> tuple[Hour, ...]:
    """Read a table of weather to come.

    Parameters
    ----------
    file : str
        csv with the columns ``time``, ``rain_mm`` (or ``rain_in``) and, where known, ``air_c`` (or ``air_f``), in order of time.

    Returns
    -------
    tuple of Hour

    Raises
    ------
    InputError
        With the line of each problem.
    """
    rows = list(csv_rows(_bytes(file), file))
    header = [name.strip().lower() for name in rows[0][1]] if rows else []
    rain = next((name for name in ("rain_mm", "rain_in") if name in header), None)
    air = next((name for name in ("air_c", "air_f") if name in header), None)
    if "time" not in header or rain is None:
        raise InputError(
            "the weather can't be read",
            [Problem("a column is missing", Where(file, 1), ", ".join(header)[:200], _COLUMNS)],
        )
    hours: list[Hour] = []
    problems: list[Problem] = []
    for line, cells in rows[1:]:
        if not any(cells):
            continue
        try:
            hours.append(_hour(dict(zip(header, (cell.strip() for cell in cells), strict=True)), rain, air))
            if len(hours) > 1 and hours[-1].start <= hours[-2].start:
                problems.append(
                    Problem(
                        "times go backwards",
                        Where(file, line),
                        hours[-1].start.isoformat(),
                        "lines in order of time",
                    )
                )
        except (HullwrightError, ValueError) as error:
            problems.append(
                Problem(
                    "this line can't be read",
                    Where(file, line),
                    ", ".join(cells)[:120],
                    f"{_COLUMNS} ({str(error)[:80]})",
                )
            )
    if problems or len(hours) < 2:
        raise InputError(
            "the weather can't be read", problems[:50] or [Problem("fewer than two lines", Where(file))]
        )
    return tuple(hours)


def dry_spans(
    hours: Sequence[Hour], product: Product | None, now: datetime, *, most: int = 3
) -> tuple[Span, ...]:
    """Give the next spans in which a product can be used and becomes rain-safe.

    Parameters
    ----------
    hours : sequence of Hour
    product : Product or None
        Its sheet says how long it must stay dry, and the range of temperature; without one, any dry hour counts.
    now : datetime
        Nothing before it counts.
    most : int
        Spans to give.

    Returns
    -------
    tuple of (datetime, datetime)
        Dry from, dry to. A line without a temperature is taken as within the range.
    """
    least = timedelta(hours=max(1.0, product.rain_hours if product else 0.0))
    spans: list[Span] = []
    for hour, end in _ends(hours):
        start = max(hour.start, now)
        if end <= now or hour.rain > 0 or not _warm(hour, product):
            continue
        if spans and spans[-1][1] == start:
            spans[-1] = (spans[-1][0], end)
        else:
            spans.append((start, end))
    return tuple(span for span in spans if span[1] - span[0] >= least)[:most]


def _ends(hours: Sequence[Hour]) -> list[tuple[Hour, datetime]]:
    """Each line with its end: the next line, but no gap in the table is taken for dry weather."""
    steps = [later.start - hour.start for hour, later in pairwise(hours)]
    usual = min(steps)
    return [
        (hour, hour.start + (step if step <= min(_LONGEST_STEP, 2 * usual) else usual))
        for hour, step in zip(hours, [*steps, usual], strict=True)
    ]


def _warm(hour: Hour, product: Product | None) -> bool:
    return product is None or hour.air is None or product.temp_low <= hour.air <= product.temp_high


def _hour(row: dict[str, str], rain: str, air: str | None) -> Hour:
    start = datetime.fromisoformat(row["time"])
    if start.utcoffset() is None:
        raise ValueError("the time needs its zone")
    fall = parse_number(row[rain]) * (25.4 if rain == "rain_in" else 1.0)
    if fall < 0:
        raise ValueError("rain below 0")
    known = air is not None and row[air] != ""
    return Hour(start, fall, read(f"{row[air]} {air[-1]}", "temperature") if known and air else None)


def _bytes(file: str) -> bytes:
    try:
        if Path(file).stat().st_size > MOST_BYTES:
            raise InputError(
                "the weather can't be read",
                [Problem("too many bytes", Where(file), allowed=f"up to {MOST_BYTES}")],
            )
        return Path(file).read_bytes()
    except OSError as error:
        raise InputError(
            "the weather can't be read", [Problem("can't open it", Where(file), str(error.strerror))]
        ) from error
