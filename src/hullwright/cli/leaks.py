"""``leaks`` and ``hunt``."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from rich.console import Console

from hullwright.app import files
from hullwright.app import leaks as use
from hullwright.app.leakpicture import leak_picture
from hullwright.app.leaks import Leakage
from hullwright.cli.main import emit
from hullwright.cli.tables import cautions, console, say, table
from hullwright.errors import InputError, Problem
from hullwright.units import Show


def leaks(args: Namespace) -> int:
    """Say where the leakage is."""
    answer = use.leaks(args.file, test=args.test, found=args.found)
    _picture(args, answer)
    if args.json:
        emit(answer.to_json())
        return 0
    screen = console()
    _head(screen, answer)
    _rows(screen, answer, args.most)
    cautions(screen, use.CAUTIONS)
    return 0


def _picture(args: Namespace, answer: Leakage) -> None:
    if args.picture:
        files.write_new(Path(args.picture), leak_picture(answer))


def _head(screen: Console, answer: Leakage) -> None:
    spread = answer.spread()
    made = "after the test" if answer.test else "as planned"
    say(
        screen,
        f"{answer.planned.plan.name}: {spread['p50']:.2f} air changes an hour at 50 Pa {made} ({spread['p10']:.2f} to {spread['p90']:.2f} in 8 of 10)",
        "bold",
    )
    if answer.surprise()[1]:
        say(screen, answer.surprise()[1], "bold")
    say(screen, answer.apart()[1])
    if answer.posterior:
        drawn = answer.posterior
        say(
            screen,
            f"Drawn by a sampler: effective sample size {drawn.effective:,.0f} of {len(drawn.flows):,} draws, chains agree to {drawn.mixing:.3f} (1 is perfect).",
            "dim",
        )


def _rows(screen: Console, answer: Leakage, most: int) -> None:
    show = Show(answer.planned.house.building.system)
    rows = answer.rows()
    lines = [
        (row["name"], row["kind"], f"{_hole(show, row['ela_cm2']['value'])} ({_hole(show, row['ela_cm2']['low'])} to {_hole(show, row['ela_cm2']['high'])})",
         f"{row['share']:.1%}", f"{row['chance_first']:.0%}", f"{row['spread_factor']:.2g}")
        for row in sorted(rows, key=lambda row: -row["share"])[:most]
    ]  # fmt: skip
    unit = "in2" if show.us else "cm2"
    heads = ["where", "what", f"leakage area, 8 of 10 [{unit}]", "share", "largest of all", "spread before"]
    screen.print(table(heads, lines, title=f"The {len(lines)} largest of {len(rows)}", right=(2, 3, 4, 5)))
    say(
        screen,
        "Spread before: factor each way that holds 95 % of what such a piece leaks, before any test (component table and a factor of ten where it has no row; marks in --json).",
        "dim",
    )


def _hole(show: Show, cm2: float) -> str:
    return f"{cm2 / 6.4516:.2f}" if show.us else f"{cm2:.2f}"


def hunt(args: Namespace) -> int:
    """Print the walk."""
    if not args.test:
        raise InputError(
            "a hunt needs a test",
            [Problem("--test is missing", hint="hullwright hunt house.yaml --test readings.yaml")],
        )
    answer = use.hunt(args.file, test=args.test, found=args.found, target=args.target)
    _picture(args, answer.leakage)
    if args.json:
        emit(answer.to_json())
        return 0
    screen, show = console(), Show(answer.leakage.planned.house.building.system)
    _head(screen, answer.leakage)
    if answer.target is not None:
        chance = answer.leakage.chance_met(answer.target)
        verdict = "met: stop and run the full series" if answer.stop else "not yet"
        say(
            screen,
            f"Target {answer.target:g} with {answer.confidence:.0%}: {verdict} (chance now {chance:.0%}).",
            "bold",
        )
    found = answer.to_json()
    rows = [
        (
            str(k),
            stop["stop"],
            f"{stop['minutes']:.1f}",
            f"{stop['clock_minutes']:.0f}",
            _hole(show, stop["expected_cm2"]),
            stop["method"],
            ", ".join(stop["bring"]),
        )
        for k, stop in enumerate(found["walk"][: args.most], 1)
    ]
    unit = "in2" if show.us else "cm2"
    heads = ["", "stop", "min", "clock", f"expected [{unit}]", "how to look", "bring"]
    screen.print(table(heads, rows, title="The walk: most leakage per minute first", right=(0, 2, 3, 4)))
    for when in ("before", "while it runs", "after"):
        say(screen, f"Test day, {when}:", "bold")
        for step in answer.day:
            if step.when == when:
                say(
                    screen,
                    f"  [ ] {'DANGER: ' if step.danger else ''}{step.text}  [{step.evidence.mark.value}]",
                )
    say(screen, "Take out again:", "bold")
    for text in found["take_out_again"]:
        say(screen, f"  [ ] {text}")
    cautions(screen, use.CAUTIONS)
    return 0
