"""How does the log go to a spreadsheet and come back: csv, formulas guarded."""

from __future__ import annotations

import csv
import io
import json
import math
import re
import uuid
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from hullwright.errors import InputError, Problem, Where
from hullwright.proof.entries import Entry, entry_from_json, loads
from hullwright.proof.figures_in import figures, neighbours, unitless
from hullwright.proof.kinds import check, fields_of
from hullwright.proof.old_names import kind_now

COLUMNS: Final = (
    "number", "id", "kind", "author", "device", "device_time", "device_sequence", "known", "joint", "joint_kind", "face",
    "x_m", "y_m", "z_m", "plan", "supersedes", "what", "server_time", "clock_offset_s", "version", "run", "mark", "revision",
)  # fmt: skip
_IGNORED: Final = frozenset({"number", "server_time", "clock_offset_s"})
_REQUIRED: Final = ("kind", "author", "device_time")
_GUARDED: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "'")
_NUMBER: Final = re.compile(r"[+-]?[0-9]{1,18}(\.[0-9]{0,20})?([eE][+-]?[0-9]{1,3})?")
_NAMESPACE: Final = uuid.UUID("5b0e3c52-6c9b-4f7b-9d2a-3d2a57cf1c6e")
MOST_BYTES: Final = 50 * 2**20
MOST_PROBLEMS: Final = 50


def export_csv(entries: Sequence[Entry]) -> str:
    """Write entries as csv.

    Parameters
    ----------
    entries : sequence of Entry

    Returns
    -------
    str
        One row an entry under the names of its own version, figures as JSON in `what`; a text that a spreadsheet would take for a formula gets an apostrophe.

    Examples
    --------
    >>> export_csv([]).strip().startswith("number,id,kind")
    True
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    writer.writerows(table_rows(entries))
    return out.getvalue()


def table_rows(entries: Sequence[Entry]) -> list[list[object]]:
    """Give one row an entry, in the order of :data:`COLUMNS`, formulas guarded.

    Parameters
    ----------
    entries : sequence of Entry

    Returns
    -------
    list of list
        Texts and numbers.
    """
    rows = []
    for entry in entries:
        body = entry.full_json() | entry.as_sent()
        if entry.version == 1:
            body["version"] = ""  # which had no such key
        place = body.pop("place_m") or ("", "", "")
        body |= dict(zip(("x_m", "y_m", "z_m"), place, strict=True))
        body["what"] = json.dumps(body["what"], sort_keys=True, ensure_ascii=False)
        rows.append([_guard(body.get(column, "")) for column in COLUMNS])
    return rows


def import_csv(text: str | bytes, file: str = "") -> tuple[Entry, ...]:
    """Read entries from csv.

    Parameters
    ----------
    text : str or bytes
        UTF-8. Columns as exported; figures as JSON in `what` or each in a column ``what.NAME``, with the unit in the name
        (``what.last_wet_um``) or in the cell (``what.last_wet``: ``20 mil``). Without an `id` a row gets
        one made of its content, so that reading the same file twice stores it once.
    file : str
        Its name, for messages.

    Returns
    -------
    tuple of Entry

    Raises
    ------
    InputError
        With file, line and column of each problem.
    """
    return entries_from(csv_rows(text, file), file)


def entries_from(cells: Iterator[tuple[int, list[str]]], file: str) -> tuple[Entry, ...]:
    """Read entries from rows of cells, the header first.

    Parameters
    ----------
    cells : iterator of (int, list of str)
        Line, counted from 1, and its cells.
    file : str
        Name, for messages.

    Returns
    -------
    tuple of Entry

    Raises
    ------
    InputError
        With line and column of each problem.
    """
    first = next(cells, None)
    columns = _header(None if first is None else first[1], file)
    problems: list[Problem] = []
    entries: list[Entry] = []
    seen: Counter[str] = Counter()
    for line, row in cells:
        if not any(row):
            continue
        try:
            named = _named(row, columns, Where(file or None, line))
            entries.append(_entry(named, Where(file or None, line), seen, len(entries) + 1))
        except InputError as error:
            problems += error.problems
        if len(problems) >= MOST_PROBLEMS:
            problems.append(Problem("and perhaps more: reading stopped here", Where(file or None, line)))
            break
    if problems:
        raise InputError("the table can't be taken in; nothing was stored", problems)
    return tuple(entries)


def _named(row: Sequence[str], columns: Sequence[str], where: Where) -> dict[str, str]:
    if len(row) != len(columns):
        got, allowed = f"{len(row)} cells", f"{len(columns)}, as in the header"
        raise InputError(
            "a row can't be used", [Problem("another number of cells than the header", where, got, allowed)]
        )
    return dict(zip(columns, map(_unguard, row), strict=True))


def _decoded(text: str | bytes, file: str) -> str:
    if len(text) > MOST_BYTES:
        raise _refused("the file is too large", file, f"{len(text)} bytes", f"up to {MOST_BYTES} bytes")
    if isinstance(text, str):
        return text
    try:
        return text.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _refused("the file is not text in UTF-8", file, str(error), "csv saved as UTF-8") from error


def csv_rows(text: str | bytes, file: str) -> Iterator[tuple[int, list[str]]]:
    """Read the rows of a csv in UTF-8 with their lines.

    Raises
    ------
    InputError
        Where it is too large, not UTF-8, or no csv.
    """
    reader = csv.reader(io.StringIO(_decoded(text, file), newline=""), strict=True)
    try:
        for row in reader:
            yield reader.line_num, row
    except csv.Error as error:
        raise _refused(
            "this is not csv", file, str(error), "cells split by commas, quotes doubled", reader.line_num
        ) from error


def _header(header: Sequence[str] | None, file: str) -> list[str]:
    columns = [name.strip() for name in header or ()]
    known = [name for name in columns if name in COLUMNS or name.startswith("what.")]
    missing = [name for name in _REQUIRED if name not in columns]
    strange = [name for name in columns if name not in known]
    if missing or strange or len(set(columns)) != len(columns):
        got = ", ".join(strange)[:200] or ("" if missing else "a column twice")
        allowed = ", ".join(COLUMNS) + ", what.NAME; needed: " + ", ".join(_REQUIRED)
        raise _refused("the columns are not those of a log", file, got, allowed, 1)
    return columns


def _entry(row: Mapping[str, str], where: Where, seen: Counter[str], order: int) -> Entry:
    body: dict[str, Any] = {
        key: row[key] for key in row if key in COLUMNS and key not in _IGNORED and row[key] != ""
    }
    problems: list[Problem] = []
    for key in ("device_sequence", "known", "version", "revision"):
        if key in body:
            body[key] = _number(body[key])
    place = [body.pop(axis, None) for axis in ("x_m", "y_m", "z_m")]
    if any(value is not None for value in place):
        body["place_m"] = [_number(value) if value is not None else None for value in place]
    body["what"] = _what(row, where, problems)
    body.setdefault("device", "table")
    body.setdefault("device_sequence", order)
    body.setdefault("id", _made_id(body, seen))
    if problems:
        raise InputError("a row can't be used", problems)
    entry = entry_from_json(body, where)
    # A row that was in a log before is kept whatever its figures are; a row written by hand is refused where its form is wrong.
    return entry if row.get("number") else check(entry, where, sizes=False)


def _what(row: Mapping[str, str], where: Where, problems: list[Problem]) -> object:
    what: object = {}
    if row.get("what"):
        try:
            what = loads(row["what"])
        except (ValueError, RecursionError) as error:
            problems.append(
                Problem("what is not JSON", Where(where.file, where.line, key="what"), str(error)[:120])
            )
    if not isinstance(what, dict):
        return what
    kind = row.get("kind", "")
    said = {key.removeprefix("what."): cell for key, cell in row.items() if key.startswith("what.") and cell}
    fields = {field.name: field.type for field in fields_of(kind, said)}
    with_unit: list[str] = []
    for name, cell in said.items():
        if unitless(name, fields) or (fields.get(name) == "number" and isinstance(_number(cell), str)):
            with_unit.append(f"{name}={cell}")
        else:
            what[name] = _cell(cell, fields.get(name, "text"))
    return what | _said(kind, with_unit, what, where) if with_unit else what


def _said(kind: str, words: Sequence[str], what: Mapping[str, Any], where: Where) -> dict[str, Any]:
    """Figures whose cells carry their unit: ``20 mil``; the gauge tells the tooth that was not said."""
    try:
        said = figures(kind, words)
    except InputError as error:
        moved = [
            Problem(
                p.message, Where(where.file, where.line, key=f"what.{p.where.key}"), p.got, p.allowed, p.hint
            )
            for p in error.problems
        ]
        raise InputError("a row can't be used", moved) from error
    return neighbours({**what, **said}) if kind_now(kind) == "gauge reading" else said


def _cell(cell: str, kind: str) -> object:
    if kind == "text":
        return cell
    if kind in {"numbers", "texts"}:
        parts = (
            [part.strip() for part in cell.replace(";", " ").split()]
            if kind == "numbers"
            else cell.split(";")
        )
        return [_number(part) for part in parts] if kind == "numbers" else [part.strip() for part in parts]
    if kind == "flag":
        return {"true": True, "yes": True, "1": True, "false": False, "no": False, "0": False}.get(
            cell.strip().lower(), cell
        )
    return _number(cell)


def _number(cell: str) -> object:
    """A number where it is one; else the text: a figure that is none is held for review."""
    bare = cell.strip()  # which takes more for a space than int() does
    match = _NUMBER.fullmatch(bare)
    if match is None:
        return cell
    if match.group(1) is None and match.group(2) is None:
        return int(bare)
    value = float(bare)
    return value if math.isfinite(value) else cell


def _made_id(body: Mapping[str, Any], seen: Counter[str]) -> str:
    """An id made of the row: the same file gives the same ids; equal rows are told apart by their count."""
    text = json.dumps(
        {key: value for key, value in body.items() if key != "device_sequence"}, sort_keys=True, default=str
    )
    seen[text] += 1
    return str(uuid.uuid5(_NAMESPACE, f"{text}#{seen[text]}"))


def _guard(value: object) -> object:
    if isinstance(value, str) and value.startswith(_GUARDED):
        return "'" + value
    return "" if value is None else value


def _unguard(cell: str) -> str:
    return cell.removeprefix("'")


def _refused(message: str, file: str, got: str, allowed: str, line: int | None = None) -> InputError:
    return InputError(
        "the table can't be taken in; nothing was stored",
        [Problem(message, Where(file or None, line), got, allowed)],
    )
