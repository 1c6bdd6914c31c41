"""Fan tests as tables: one csv with three parts, or a workbook with three sheets, to the same tree as YAML.

The parts are ``test`` (key, value), ``laws`` (calibration of the device, may be missing) and ``readings``.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from hullwright.errors import FanTestError, Problem, Where
from hullwright.readers.fantest_tree import Node, decode, refuse

MOST_ROWS: Final = 100_000
MOST_UNZIPPED: Final = 60_000_000
PARTS: Final = ("test", "laws", "readings")
KINDS: Final = {
    "station": "stations",
    "zero before": "zero_before",
    "zero after": "zero_after",
    "zero before mean": "zero_before_mean",
    "zero after mean": "zero_after_mean",
}


@dataclass(frozen=True, slots=True)
class Line:
    """One row of a table.

    Parameters
    ----------
    cells : tuple of str
        Text of each cell.
    number : int
        Row, from 1.
    """

    cells: tuple[str, ...]
    number: int

    @property
    def blank(self) -> bool:
        """Whether nothing stands in the row, or a remark."""
        return not any(self.cells) or self.cells[0].startswith("#")

    def where(self, file: str, column: int, key: str | None = None) -> Where:
        """Place of one cell, `column` from 0."""
        return Where(file, self.number, column + 1, key)


def tree_of_csv(raw: bytes, file: str) -> Node:
    """Read the three parts of a csv.

    Parameters
    ----------
    raw : bytes
    file : str
        Name for errors.

    Returns
    -------
    Node
        The tree a YAML file would give.

    Raises
    ------
    FanTestError
        With every row that can't be placed.
    """
    text = decode(raw, file)
    first = next((line for line in text.splitlines() if line.strip() and not line.startswith("#")), "")
    mark = ";" if first.count(";") > first.count(",") else "\t" if "\t" in first and "," not in first else ","
    try:
        rows = list(csv.reader(io.StringIO(text), delimiter=mark, strict=True))
    except csv.Error as error:
        raise refuse(file, Problem("this can't be read as csv", Where(file), str(error))) from error
    if len(rows) > MOST_ROWS:
        raise refuse(
            file, Problem("too many rows for one test", Where(file), str(len(rows)), f"at most {MOST_ROWS}")
        )
    parts: dict[str, list[Line]] = {}
    part: list[Line] | None = None
    for number, row in enumerate(rows, start=1):
        line = Line(tuple(cell.strip() for cell in row), number)
        if line.blank:
            continue
        name = line.cells[0].strip("[]").lower()
        if name in PARTS and not any(line.cells[1:]):
            part = parts.setdefault(name, [])
        elif part is None:
            allowed = "a row with the word test, laws or readings before the rows of that part"
            raise refuse(
                file, Problem("no part of the file begins here", line.where(file, 0), line.cells[0], allowed)
            )
        else:
            part.append(line)
    return assemble(parts, dict.fromkeys(PARTS, file), file)


def tree_of_xlsx(raw: bytes, file: str) -> Node:
    """Read the sheets of a workbook.

    Parameters
    ----------
    raw : bytes
    file : str
        Name for errors.

    Returns
    -------
    Node

    Raises
    ------
    FanTestError
        Not a workbook, too large once unpacked, or rows that can't be placed.
    """
    book = _workbook(raw, file)
    parts: dict[str, list[Line]] = {}
    places: dict[str, str] = {}
    for sheet in book.worksheets:
        name = sheet.title.strip().lower()
        if name in PARTS:
            places[name] = f"{file}[{sheet.title}]"
            parts[name] = _lines(sheet.iter_rows(values_only=True), places[name])
    book.close()
    return assemble(parts, places, file)


def _workbook(raw: bytes, file: str) -> Any:
    import openpyxl  # noqa: PLC0415 - heavy, needed for workbooks only

    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            size = sum(item.file_size for item in archive.infolist())
        book = (
            openpyxl.load_workbook(io.BytesIO(raw), read_only=True, data_only=True)
            if size <= MOST_UNZIPPED
            else None
        )
    except Exception as error:  # a broken workbook raises whatever its parser meets first
        hint = "save it again as .xlsx, or hand over csv or yaml"
        problem = Problem("this is not a workbook", Where(file), type(error).__name__, ".xlsx", hint)
        raise refuse(file, problem) from error
    if book is None:
        got, allowed = f"{size / 1e6:.0f} MB", f"at most {MOST_UNZIPPED / 1e6:g} MB"
        raise refuse(file, Problem("the workbook is too large once unpacked", Where(file), got, allowed))
    return book


def _lines(rows: Iterable[Sequence[Any]], place: str) -> list[Line]:
    out: list[Line] = []
    for number, row in enumerate(rows, start=1):
        if number > MOST_ROWS:
            raise refuse(
                place,
                Problem("too many rows for one test", Where(place, number), allowed=f"at most {MOST_ROWS}"),
            )
        line = Line(tuple(_cell(value) for value in row), number)
        if not line.blank:
            out.append(line)
    return out


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, dt.datetime):
        return value.date().isoformat()
    return repr(value) if isinstance(value, float) else str(value).strip()


def assemble(parts: dict[str, list[Line]], places: dict[str, str], file: str) -> Node:
    """Put the parts together.

    Parameters
    ----------
    parts : dict of str to list of Line
        Rows of each part.
    places : dict of str to str
        What to call each part in errors.
    file : str
        Name of the whole.

    Returns
    -------
    Node

    Raises
    ------
    FanTestError
    """
    missing = [name for name in ("test", "readings") if not parts.get(name)]
    if missing:
        raise refuse(
            file,
            Problem(
                f"the part {' and the part '.join(missing)} is missing or empty",
                Where(file),
                ", ".join(parts) or "no part",
                "the parts test and readings, laws where the device needs them",
                "hullwright fantest --new writes a file to start from",
            ),
        )
    problems: list[Problem] = []
    root = _keys(parts["test"], places["test"], problems)
    if parts.get("laws"):
        rows = _rows(
            parts["laws"],
            places["laws"],
            problems,
            {"setting", "coefficient", "exponent", "from", "to", "sure"},
        )
        device = root.setdefault("device", Node({}, Where(places["laws"])))
        if isinstance(device.value, dict):
            device.value["laws"] = Node(rows, Where(places["laws"]))
    columns = {"direction", "kind", "pressure", "flow", "device_pressure", "setting", "exclude", "sure"}
    rows = _rows(parts["readings"], places["readings"], problems, columns)
    root["directions"] = Node(_directions(rows, problems), Where(places["readings"]))
    if problems:
        raise FanTestError(f"{file} can't be used as a fan test", problems)
    return Node(root, Where(file))


def _keys(lines: list[Line], place: str, problems: list[Problem]) -> dict[str, Node]:
    root: dict[str, Node] = {}
    for line in lines:
        path, value = line.cells[0].strip().lower(), line.cells[1] if len(line.cells) > 1 else ""
        if path == "key" or not value:
            continue
        table = root
        *above, last = path.split(".")
        for name in above:
            node = table.setdefault(name, Node({}, line.where(place, 0, name)))
            if not isinstance(node.value, dict):
                node = Node({}, node.where)
            table = node.value if isinstance(node.value, dict) else {}
        if last in table:
            problems.append(
                Problem("this key stands there twice", line.where(place, 0), path, "each key once")
            )
        table[last] = Node(value, line.where(place, 1, path))
    return root


def _rows(lines: list[Line], place: str, problems: list[Problem], known: set[str]) -> list[Node]:
    heads: list[tuple[str, str]] = []
    for column, cell in enumerate(lines[0].cells):
        match = re.fullmatch(r"([^\[\(]*?)\s*(?:[\[\(]([^\]\)]*(?:\([^)]*\))?[^\]\)]*)[\]\)])?", cell)
        name = re.sub(r"[\s\-]+", "_", match.group(1).strip().lower()) if match else cell
        if cell and name not in known:
            problems.append(
                Problem("unknown column", lines[0].where(place, column), cell, ", ".join(sorted(known)))
            )
        heads.append((name, (match.group(2) or "").strip() if match else ""))
    return [_row(line, heads, place) for line in lines[1:]]


def _row(line: Line, heads: list[tuple[str, str]], place: str) -> Node:
    table: dict[str, Node] = {}
    for column, ((name, unit), cell) in enumerate(zip(heads, line.cells, strict=False)):
        if not cell:
            continue
        bare = re.fullmatch(r"[-−+]?[\d.,]+(?:[eE][-+]?\d+)?", cell)
        table[name] = Node(f"{cell} {unit}" if unit and bare else cell, line.where(place, column, name))
    return Node(table, line.where(place, 0))


def _directions(rows: list[Node], problems: list[Problem]) -> list[Node]:
    """Sort the readings by direction and kind."""
    out: dict[str, dict[str, Any]] = {}
    for row in rows:
        assert isinstance(row.value, dict)
        cells = dict(row.value)
        direction, kind = cells.pop("direction", None), cells.pop("kind", None)
        if direction is None or kind is None:
            allowed = "a direction and a kind in every row"
            problems.append(Problem("direction or kind is missing", row.where, allowed=allowed))
            continue
        name, sort = str(direction.value).strip().lower(), str(kind.value).strip().lower()
        if sort not in KINDS:
            problems.append(Problem("unknown kind of reading", kind.where, sort, ", ".join(KINDS)))
            continue
        run = out.setdefault(name, {"direction": direction, "where": row.where})
        if sort == "station":
            run.setdefault("stations", []).append(Node(cells, row.where))
        elif "pressure" in cells:
            run.setdefault(KINDS[sort], []).append(cells["pressure"])
            if "sure" in cells:  # of a reading in a list of its own: the list is what can be sure
                run.setdefault("sure", []).append(
                    Node(KINDS[sort].removesuffix("_mean"), cells["sure"].where)
                )
        else:
            problems.append(Problem("this zero-flow reading has no pressure", row.where))
    return [_run(run) for run in out.values()]


def _run(run: dict[str, Any]) -> Node:
    where: Where = run["where"]
    table: dict[str, Node] = {"direction": run["direction"]}
    for zero in ("zero_before", "zero_after"):
        if zero in run:
            table[zero] = Node(run[zero], where)
        elif f"{zero}_mean" in run:
            table[zero] = Node({"mean": run[f"{zero}_mean"][0]}, where)
    if "sure" in run:
        table["sure"] = Node(run["sure"], where)
    table["stations"] = Node(run.get("stations", []), where)
    return Node(table, where)
