"""Tables and lines that a person likes to read. Colour is never the only carrier of meaning."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Sequence

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from hullwright.evidence import Caution

PIPE_WIDTH = 120


def console() -> Console:
    """Give a console on standard output; where that is no terminal, wide enough for the tables."""
    width = None if sys.stdout.isatty() else int(os.environ.get("COLUMNS", PIPE_WIDTH))
    return Console(highlight=False, width=width, soft_wrap=False)


def table(
    columns: Sequence[str], rows: Iterable[Sequence[str]], *, title: str = "", right: Iterable[int] = ()
) -> Table:
    """Build a table.

    Parameters
    ----------
    columns : sequence of str
        Heads.
    rows : iterable of sequences of str
        Cells.
    title : str
        Above the table, flush left.
    right : iterable of int
        Columns that are flush right (numbers).

    Returns
    -------
    rich.table.Table
    """
    flush = set(right)
    out = Table(
        box=SIMPLE_HEAD,
        title=Text(title) if title else None,
        title_justify="left",
        title_style="bold",
        pad_edge=False,
    )
    for number, name in enumerate(columns):
        out.add_column(Text(name), justify="right" if number in flush else "left", overflow="fold")
    for row in rows:
        out.add_row(*(Text(cell) for cell in row))
    return out


def say(screen: Console, text: str, style: str = "") -> None:
    """Print plain words: what stands in a file is never read as markup."""
    screen.print(Text(text, style=style))


def cautions(screen: Console, items: Iterable[Caution]) -> None:
    """Print cautions with their source."""
    for item in items:
        say(screen, f"! {item.text}  [{item.evidence}]", "dim")


def assumed(screen: Console, texts: Sequence[str], *, most: int = 6) -> None:
    """Print what was assumed because the file does not say it."""
    if not texts:
        return
    say(screen, f"Assumed, because the file does not say it ({len(texts)}):", "bold")
    for text in texts[:most]:
        say(screen, f"  {text}")
    if len(texts) > most:
        say(screen, f"  and {len(texts) - most} more: see --json or the summary page")
