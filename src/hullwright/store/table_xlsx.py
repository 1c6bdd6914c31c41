"""A log typed into a workbook: first sheet, same columns as the csv table; zip bombs refused before they open."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from datetime import date, datetime
from typing import Any, Final

from openpyxl import load_workbook

from hullwright.errors import InputError, Problem, Where
from hullwright.proof.entries import Entry
from hullwright.store.table import MOST_BYTES, entries_from

MOST_UNPACKED: Final = 200 * 2**20
MOST_COLUMNS: Final = 200


def import_xlsx(data: bytes, file: str = "") -> tuple[Entry, ...]:
    """Read entries from the first sheet of a workbook.

    Parameters
    ----------
    data : bytes
    file : str
        Its name, for messages.

    Returns
    -------
    tuple of Entry

    Raises
    ------
    InputError
        Where it is no workbook, too large, or a row can't be used; with row and column of each problem.
    """
    return entries_from(iter(sheet_rows(data, file)), file)


def sheet_rows(data: bytes, file: str = "") -> list[tuple[int, list[str]]]:
    """Read the first sheet of a workbook as texts, each row with its number.

    Parameters
    ----------
    data : bytes
    file : str
        Its name, for messages.

    Returns
    -------
    list of (int, list of str)

    Raises
    ------
    InputError
        Where it is no workbook, or too large.
    """
    _refuse_bombs(data, file)
    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        try:
            return list(_rows(book))
        finally:
            book.close()
    except Exception as error:  # its readers raise all sorts on damaged files
        raise _refused("this is not a workbook that can be read", file, str(error)[:120]) from error


def _rows(book: Any) -> Iterator[tuple[int, list[str]]]:
    sheet = book.worksheets[0]
    width = 0
    for line, values in enumerate(sheet.iter_rows(max_col=MOST_COLUMNS, values_only=True), start=1):
        cells = [cell_text(value) for value in values]
        if line == 1:
            width = max((i + 1 for i, cell in enumerate(cells) if cell), default=0)
        filled = max((i + 1 for i, cell in enumerate(cells) if cell), default=0)
        yield line, (cells + [""] * width)[: max(width, filled)]


def cell_text(value: object) -> str:
    """Give a cell as the text that a csv table would hold: whole numbers without a point, times by ISO 8601."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    if isinstance(value, (datetime, date)):
        return value.isoformat()
    return str(value)


def _refuse_bombs(data: bytes, file: str) -> None:
    if len(data) > MOST_BYTES:
        raise _refused("the file is too large", file, f"{len(data)} bytes")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            unpacked = sum(item.file_size for item in archive.infolist())
    except (zipfile.BadZipFile, ValueError, NotImplementedError, OSError) as error:
        raise _refused("this is not a workbook", file, str(error)[:120]) from error
    if unpacked > MOST_UNPACKED:
        raise _refused("the workbook unpacks to too much", file, f"{unpacked} bytes")


def _refused(message: str, file: str, got: str) -> InputError:
    allowed = f"an xlsx workbook, up to {MOST_BYTES} bytes packed and {MOST_UNPACKED} unpacked"
    return InputError(
        "the table can't be taken in; nothing was stored",
        [Problem(message, Where(file or None), got, allowed)],
    )
