"""Tables out: csv and xlsx. Text that a spreadsheet would take for a formula is kept as text."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from datetime import datetime

Cell = str | float | int | None
Row = Sequence[Cell]


def csv_text(heads: Sequence[str], rows: Sequence[Row]) -> bytes:
    """Write a csv (UTF-8 with mark, so that spreadsheets read µ and ²).

    Parameters
    ----------
    heads : sequence of str
        With units in brackets.
    rows : sequence of rows

    Returns
    -------
    bytes
    """
    stream = io.StringIO(newline="")
    writer = csv.writer(stream)
    writer.writerow(heads)
    writer.writerows([_plain(cell) for cell in row] for row in rows)
    return ("\ufeff" + stream.getvalue()).encode()


def _plain(cell: Cell) -> Cell:
    """Put an apostrophe before text that starts like a formula (formula injection)."""
    if isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return "'" + cell
    return round(cell, 6) if isinstance(cell, float) else cell


def workbook(sheets: Sequence[tuple[str, Sequence[str], Sequence[Row]]], notes: Sequence[str] = ()) -> bytes:
    """Write an xlsx with one sheet per table.

    Parameters
    ----------
    sheets : sequence of (name, heads, rows)
    notes : sequence of str
        Cautions and assumptions, on a last sheet.

    Returns
    -------
    bytes
        The same content gives the same bytes.
    """
    import xlsxwriter  # noqa: PLC0415 - only here

    stream = io.BytesIO()
    book = xlsxwriter.Workbook(
        stream,
        {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "strings_to_numbers": False,
        },
    )
    book.set_properties({"created": datetime(2000, 1, 1)})  # noqa: DTZ001 - a fixed date: the file says when it was made by its own time stamp
    bold = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
    wrap = book.add_format({"text_wrap": True, "valign": "top"})
    figures = book.add_format({"num_format": "#,##0.##"})
    for name, heads, rows in sheets:
        page = book.add_worksheet(name)
        page.freeze_panes(1, 0)
        page.set_landscape()
        page.fit_to_pages(1, 0)
        page.repeat_rows(0)
        page.write_row(0, 0, heads, bold)
        for number, row in enumerate(rows, start=1):
            for column, cell in enumerate(row):
                if isinstance(cell, str):
                    page.write_string(number, column, cell)
                elif cell is not None:
                    page.write_number(number, column, cell, figures)
        page.autofit(420)
        if rows:
            page.autofilter(0, 0, len(rows), len(heads) - 1)
    page = book.add_worksheet("notes")
    page.set_column(0, 0, 110)
    for number, note in enumerate(notes):
        page.write_string(number, 0, note, wrap)
    book.close()
    return stream.getvalue()
