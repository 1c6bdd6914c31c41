"""``figures``."""

from __future__ import annotations

from argparse import Namespace

from hullwright.app import figure_list as use
from hullwright.cli.main import emit
from hullwright.cli.tables import console, say, table


def figures(args: Namespace) -> int:
    """List the figures that a building file may state."""
    answer = use.figures(args.file, like=args.like)
    if args.json:
        emit(answer.to_json())
        return 0
    rows = [
        (one.name, "" if one.figure is None else f"{one.figure.value:g}", one.unit, _mark(one))
        for one in answer.figures
    ]
    screen = console()
    say(
        screen,
        "What `figures:` in the building file may state, in the unit given here; what you state wins.",
        "bold",
    )
    screen.print(table(["name", "value", "unit", "evidence"], rows, right=[1]))
    return 0


def _mark(one: use.NamedFigure) -> str:
    return "only where stated" if one.figure is None else str(one.figure.evidence)
