"""A table of many fan tests, one row a station, to columns for the vectorised pass."""

from __future__ import annotations

import csv
import io
import itertools
import re
import sys
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.errors import FanTestError, Problem, QuantityError, Where
from hullwright.fantest.reduce import Columns
from hullwright.quantities import Verdict, ask, quantity, refuse, verdict
from hullwright.quantities.judge import system_of
from hullwright.readers.fantest_tree import decode
from hullwright.typed import comma_hint
from hullwright.units import read

MOST_ROWS: Final = 20_000_000
MOST_BYTES: Final = 1_500_000_000
MOST_CELLS: Final = 200_000_000
CHUNK: Final = 50_000
MOST_TOLD: Final = 200
"""Problems of a column that are told."""
_Floats = NDArray[np.float64]

NEEDED: Final = ("test", "direction", "pressure", "flow", "zero_before", "inside", "outside")
"""Columns that must be there, and one of altitude and barometer."""
MAY: Final = ("zero_after", "altitude", "barometer", "volume", "exclude", "sure")
_KIND: Final = {
    "pressure": "pressure", "zero_before": "pressure", "zero_after": "pressure", "barometer": "pressure", "flow": "flow",
    "inside": "temperature", "outside": "temperature", "altitude": "length", "volume": "volume",
}  # fmt: skip
QUANTITY: Final = {
    "pressure": "envelope pressure", "zero_before": "zero-flow pressure", "zero_after": "zero-flow pressure",
    "barometer": "barometer", "flow": "fan flow", "inside": "inside temperature", "outside": "air temperature",
    "altitude": "altitude", "volume": "inner volume",
}  # fmt: skip
"""Column to its quantity."""
_SIGN: Final = {
    "depressurization": -1.0,
    "depressurisation": -1.0,
    "pressurization": 1.0,
    "pressurisation": 1.0,
}


@dataclass(frozen=True, slots=True)
class TestTable:
    """Many one-direction tests.

    Parameters
    ----------
    names, directions : tuple of str
        Of each row of `columns`.
    columns : Columns
        Readings.
    volume_m3 : ndarray, shape (T,)
        Volumes [m3]; NaN where not stated.
    """

    __test__ = False  # tells test collectors that this is no test class

    names: tuple[str, ...]
    directions: tuple[str, ...]
    columns: Columns
    volume_m3: _Floats


def read_table(raw: bytes, name: str) -> TestTable:
    r"""Read a table of many tests.

    Parameters
    ----------
    raw : bytes
        A csv with the columns ``test, direction, pressure [Pa], flow [m3/h], zero before [Pa], inside [C],
        outside [C]`` and ``altitude [m]`` or ``barometer [Pa]``; ``zero after [Pa]``, ``volume [m3]`` and ``exclude``
        (a reason) may be there. Units stand in brackets. The flow is that of the air passing the device.
    name : str
        For errors.

    Returns
    -------
    TestTable
        Tests in the order they first appear.

    Raises
    ------
    FanTestError
        With every cell that can't be read.

    Examples
    --------
    >>> head = "test,direction,pressure [Pa],flow [m3/h],zero before [Pa],inside [C],outside [C],altitude [m]\n"
    >>> rows = "a,depressurization,-50,300,0,20,10,0\na,depressurization,-30,215,0,20,10,0\n"
    >>> table = read_table((head + rows).encode(), "many.csv")
    >>> table.names, table.columns.flow_m3_h.round(3).tolist()
    (('a',), [[300.0, 215.0]])
    """
    try:
        return _table(decode(raw, name, most=MOST_BYTES), name)
    except csv.Error as error:
        raise _refused(name, [Problem("this can't be read as csv", Where(name), str(error))]) from error


def _table(text: str, name: str) -> TestTable:
    rows = csv.reader(io.StringIO(text), strict=True)
    problems: list[Problem] = []
    places, units = _heads(next(rows), name, problems)
    if problems:
        raise _refused(name, problems)
    parts: dict[str, list[_Floats]] = {key: [] for key in places if key in _KIND}
    words: dict[str, list[str]] = {key: [] for key in places if key not in _KIND}
    number = 2
    while chunk := list(itertools.islice(rows, CHUNK)):
        body = [(n, row) for n, row in enumerate(chunk, start=number) if any(cell.strip() for cell in row)]
        number += len(chunk)
        if number > MOST_ROWS:
            problem = Problem("too many rows", Where(name), f"more than {MOST_ROWS}", hint="split the table")
            raise _refused(name, [problem])
        rows_read = _Rows(
            [n for n, _ in body],
            _cells(body, places.get("sure")),
            [bool(reason) for reason in _cells(body, places.get("exclude"))],
        )
        for key, at in places.items():
            cells = _cells(body, at)
            if key in _KIND:
                spot = (name, at, key, units[key])
                values = _numbers(cells, rows_read.lines, spot, problems)
                parts[key].append(values)
                problems += _weighed(values, cells, rows_read, spot)
            else:
                words[key] += [sys.intern(cell) for cell in cells]
                problems += _unknown(cells, [n for n, _ in body], (name, at)) if key == "direction" else []
        if problems:
            raise _refused(name, problems[:200])
    return _fold(
        words, {key: np.concatenate(part) if part else np.empty(0) for key, part in parts.items()}, name
    )


def _refused(name: str, problems: list[Problem]) -> FanTestError:
    return FanTestError(f"{name} can't be used as a table of tests", problems)


@dataclass(frozen=True, slots=True)
class _Rows:
    """What stands beside the numbers of a piece of the table: lines, what each row is sure of, which do not count."""

    lines: list[int]
    sure: list[str]
    excluded: list[bool]


def _cells(body: list[tuple[int, list[str]]], at: int | None) -> list[str]:
    """Cells of a column; '' where a row has none."""
    if at is None:
        return [""] * len(body)
    return [row[at].strip() if at < len(row) else "" for _, row in body]


def _weighed(values: _Floats, cells: list[str], rows: _Rows, at: tuple[str, int, str, str]) -> list[Problem]:
    """Say which values of a column can't be, and which are odd where their row is not sure of them; what is missing is neither."""
    name, column, key, unit = at
    row = quantity(QUANTITY[key])
    si = values / 3600.0 if key == "flow" else values
    slack = 1e-9
    usual = (si >= row.low - abs(row.low) * slack) & (si <= row.high + abs(row.high) * slack)
    out: list[Problem] = []
    for k in np.flatnonzero(~np.isnan(si) & ~usual)[:MOST_TOLD]:
        where = Where(name, rows.lines[k], column + 1, key)
        found, system = verdict(row.name, float(si[k])), system_of(f"1 {unit}", row.kind)
        text = f"{cells[k][:40]} {unit}"
        if found is Verdict.IMPOSSIBLE:
            out.append(refuse(row.name, text, system=system, where=where))
        elif found is Verdict.ODD and not rows.excluded[k] and key not in re.split(r"[;,\s]+", rows.sure[k]):
            answer = f"write {key} into the column `sure` of this row"
            out.append(ask(row.name, text, system=system, answer=answer, where=where))
    return out


def _unknown(cells: list[str], numbers: list[int], at: tuple[str, int]) -> list[Problem]:
    allowed = "depressurization, pressurization"
    return [
        Problem("unknown direction", Where(at[0], number, at[1] + 1), word, allowed)
        for number, word in zip(numbers, cells, strict=True)
        if word.lower() not in _SIGN
    ]


def _heads(row: list[str], name: str, problems: list[Problem]) -> tuple[dict[str, int], dict[str, str]]:
    places: dict[str, int] = {}
    units: dict[str, str] = {}
    for column, cell in enumerate(row):
        match = re.fullmatch(r"([^\[]*?)\s*(?:\[([^\]]*)\])?", cell.strip())
        key = re.sub(r"\s+", "_", match.group(1).lower()) if match else cell
        where = Where(name, 1, column + 1, key)
        unit = (match.group(2) or "").strip() if match else ""
        if key not in NEEDED + MAY:
            problems.append(Problem("unknown column", where, cell, ", ".join(NEEDED + MAY)))
        elif key in places:
            problems.append(Problem("this column stands there twice", where, cell))
        elif key in _KIND:
            try:
                read(1.0, _KIND[key], bare=unit)
            except QuantityError as error:
                problems.append(
                    Problem("the unit of this column is not known", where, cell, error.problems[0].allowed)
                )
        places[key], units[key] = column, unit
    missing = [key for key in NEEDED if key not in places]
    if "altitude" not in places and "barometer" not in places:
        missing.append("altitude or barometer")
    problems.extend(Problem("a column is missing", Where(name, 1), "", key) for key in missing)
    return places, units


def _numbers(
    cells: list[str], numbers: list[int], at: tuple[str, int, str, str], problems: list[Problem]
) -> _Floats:
    """Numbers of one column in SI; an empty cell is NaN."""
    name, column, key, unit = at
    try:
        plain = np.array([cell or "nan" for cell in cells], dtype=np.float64)
    except ValueError:
        plain = np.full(len(cells), np.nan)
        for row, cell in enumerate(cells):
            try:
                plain[row] = float(cell or "nan")
            except ValueError:
                where = Where(name, numbers[row], column + 1, key)
                problems.append(
                    Problem("this is not a number", where, cell[:60], f"a number in {unit}", comma_hint(cell))
                )
    zero, one = read(0.0, _KIND[key], bare=unit), read(1.0, _KIND[key], bare=unit)
    scale = 3600.0 if key == "flow" else 1.0
    with np.errstate(over="ignore", invalid="ignore"):  # what is too large is refused as such
        return np.asarray((zero + (one - zero) * plain) * scale)


def _fold(cells: dict[str, list[str]], values: dict[str, _Floats], name: str) -> TestTable:
    """One row a station to one row a test."""
    order: dict[tuple[str, str], int] = {}
    filled: list[int] = []
    index = np.empty(len(cells["test"]), dtype=np.int64)
    place = np.empty(len(index), dtype=np.int64)
    first: list[int] = []
    for row, key in enumerate(zip(cells["test"], cells["direction"], strict=True)):
        test = order.get(key)
        if test is None:
            test = order[key] = len(order)
            filled.append(0)
            first.append(row)
        index[row], place[row] = test, filled[test]
        filled[test] += 1
    _same(values, index, first, cells, name)
    shape = (len(order), max(filled, default=0))
    if shape[0] * shape[1] > MOST_CELLS:
        got = f"{shape[0]} tests, the longest of {shape[1]} stations"
        raise _refused(name, [Problem("the table is too uneven", Where(name), got, hint="split the table")])
    pressure, flow, used = np.full(shape, np.nan), np.full(shape, np.nan), np.zeros(shape, dtype=np.bool_)
    pressure[index, place], flow[index, place] = values["pressure"], values["flow"]
    used[index, place] = [not reason for reason in cells.get("exclude", [""] * len(index))]
    nothing = np.full(len(order), np.nan)

    def head(key: str) -> _Floats:
        return values[key][first] if key in values else nothing

    sign = np.array([_SIGN[direction.lower()] for _, direction in order], dtype=np.float64)
    columns = Columns(
        pressure,
        flow,
        used,
        head("zero_before"),
        head("zero_after"),
        sign,
        head("inside"),
        head("outside"),
        head("altitude"),
        head("barometer"),
        nothing,
        nothing,
    )
    names = tuple(test for test, _ in order)
    return TestTable(names, tuple(direction for _, direction in order), columns, head("volume"))


def _same(
    values: dict[str, _Floats],
    index: NDArray[np.int64],
    first: list[int],
    cells: dict[str, list[str]],
    name: str,
) -> None:
    """What belongs to the whole test must be the same in each of its rows (or stand in the first only)."""
    problems: list[Problem] = []
    for key in sorted(set(values) - {"pressure", "flow"}):
        whole = values[key][np.array(first, dtype=np.int64)][index]
        bad = np.flatnonzero(~np.isnan(values[key]) & (values[key] != whole))
        problems += [
            Problem(
                f"the {key.replace('_', ' ')} of test {cells['test'][row]} differs between its rows",
                Where(name, None, None, key),
                f"{values[key][row]:g} (SI)",
                "one value for each test and direction",
            )
            for row in bad[:20]
        ]
    if problems:
        raise _refused(name, problems)
