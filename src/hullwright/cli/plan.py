"""``plan``, ``order``, ``curve`` and ``demo``."""

from __future__ import annotations

import signal
import sys
import time
from argparse import Namespace
from pathlib import Path
from types import FrameType
from typing import Self

from rich.console import Console

from hullwright.app import folder, summary, words
from hullwright.app import plan as use
from hullwright.app.files import demo_file
from hullwright.app.from_record import house_from_record
from hullwright.app.plan import Ordered, Planned, Wish
from hullwright.cli.amounts import amount
from hullwright.cli.main import emit
from hullwright.cli.tables import assumed, cautions, console, say, table
from hullwright.units import Show


class Watch:
    """Tells how far the search is, on standard error; Ctrl-C stops it and keeps the best plan found."""

    def __init__(self, *, quiet: bool) -> None:
        self.quiet, self.stop, self.said, self.began = quiet, False, 0.0, time.monotonic()

    def __enter__(self) -> Self:
        """Take over Ctrl-C."""
        self.before = signal.signal(signal.SIGINT, self._asked)
        return self

    def __exit__(self, *_: object) -> None:
        """Give Ctrl-C back."""
        signal.signal(signal.SIGINT, self.before)
        if self.said:
            print(file=sys.stderr)

    def _asked(self, _number: int, _frame: FrameType | None) -> None:
        if self.stop:
            raise KeyboardInterrupt
        self.stop = True

    def __call__(self, value: float, bound: float, work: int) -> bool:
        """Show value, bound and gap; answer whether to go on."""
        now = time.monotonic()
        if not self.quiet and now - self.began > 1.0 and now - self.said > 0.25:
            gap = (value - bound) / value if value > 0 else 0.0
            print(
                f"\r  plan {value:.4g}, bound {bound:.4g}, gap {gap:.2%}, {work} nodes (Ctrl-C takes the plan as it is) ",
                end="",
                file=sys.stderr,
                flush=True,
            )
            self.said = now
        return not self.stop


def _wish(args: Namespace, watch: Watch) -> Wish:
    return Wish(
        budget=_number("--budget", args.budget, "money"),
        target=_number("--target", args.target, "air changes"),
        confidence=args.confidence,
        quick=args.quick,
        progress=watch,
    )


def _number(option: str, text: str | None, quantity: str) -> float | None:
    return None if text is None else amount(option, text, quantity)


def _quiet(args: Namespace) -> bool:
    return bool(args.json) or not sys.stderr.isatty()


def plan(args: Namespace) -> int:
    """Make the plan, print it, write its folder."""
    with Watch(quiet=_quiet(args)) as watch:
        planned = use.plan(
            house_from_record(args.file), _wish(args, watch), curve_points=0 if args.no_files else 21
        )
    ordered = use.order(planned)
    target = None if args.no_files else Path(args.out) if args.out else folder.default_folder(args.file)
    written = folder.write(planned, ordered, target) if target else ()
    if args.json:
        emit(planned.to_json() | {"folder": str(target) if target else None})
        return 0
    _print(console(), planned, ordered)
    if target:
        print(f"\n{len(written)} files in {target}: open {target / 'summary.html'}")
    return 0


def _print(screen: Console, planned: Planned, ordered: Ordered) -> None:
    made, show = planned.plan, Show(planned.house.building.system)
    say(screen, made.name, "bold")
    say(screen, words.answer_words(planned), "bold")
    say(
        screen,
        f"{show.water(made.water_l.p50)} ({show.water(made.water_l.p10)} to {show.water(made.water_l.p90)}) of water while bare. {words.value_words(planned)}",
    )
    say(screen, words.unit_words(planned))
    for text in planned.from_record:
        say(screen, text, "bold")
    own = summary.own_words(planned)
    if own:
        say(screen, "Your own products", "bold")
    for text in own:
        say(screen, f"  {text}")
    screen.print(
        table(summary.KIND_HEADS, summary.kind_rows(planned), title="What is done", right=(2, 3, 4, 5))
    )
    say(
        screen,
        f"With it: set-ups and return trips {made.setup_money:,.0f} {made.currency}, {made.setup_hours:.1f} h; "
        f"rests of opened packs {made.left_over_money:,.0f} {made.currency}.",
    )
    screen.print(
        table(summary.ORDER_WORDS, summary.order_lines(ordered), title="What to buy", right=range(1, 7))
    )
    _films(screen, planned)
    if made.step:
        step = made.step
        say(
            screen,
            f"Next step: {_more(step.money, made.currency)} for {step.name}: {step.before} → {step.after}.",
        )
    if made.fixed:
        say(screen, made.fixed.words(made.currency, target=made.mode == "target"))
        for text in made.fixed.unmet:
            say(screen, f"  not kept: {text}")
    if made.unverified_meetings:
        one = made.unverified_meetings == 1
        unknown = (
            "1 meeting of materials is" if one else f"{made.unverified_meetings} meetings of materials are"
        )
        say(screen, f"{unknown} not known to fit: patch test first (in the page).")
    for text in made.estimates:
        say(screen, f"Rests on: {text}")
    assumed(screen, planned.house.assumed)
    cautions(screen, made.cautions)


def _films(screen: Console, planned: Planned) -> None:
    """Aim, readings and extra film of each product, together."""
    show = Show(planned.house.building.system)
    for film in planned.films:
        say(screen, film.words(show))


def _more(money: float, currency: str) -> str:
    """Money of a next step, which may lie in packs that are open anyway."""
    return f"less than 1 {currency} more" if money < 1 else f"{money:,.0f} {currency} more"


def order(args: Namespace) -> int:
    """Print what to buy."""
    with Watch(quiet=_quiet(args)) as watch:
        ordered = use.order(use.plan(house_from_record(args.file), _wish(args, watch)))
    if args.json:
        emit(ordered.to_json())
        return 0
    screen, made = console(), ordered.order
    say(
        screen,
        f"{ordered.planned.plan.name}: {made.money:,.0f} {made.currency} of material, {made.hours:,.0f} hours",
        "bold",
    )
    say(
        screen,
        f"For all products together {made.money_p50:,.0f} {made.currency} suffice in 50 of 100 cases, {made.money_p90:,.0f} in 90 of 100 (a line by itself suffices more often).",
    )
    screen.print(table(summary.ORDER_WORDS, summary.order_lines(ordered), right=range(1, 7)))
    small = [[item.name, str(item.count), str(item.rate)] for item in made.small]
    screen.print(table(["with it", "how many", "rate"], small, right=[1]))
    screen.print(
        table(
            summary.OVER_HEADS,
            summary.over_lines(ordered),
            title="What wider than the sheet and thicker than the aim would cost, on lines (pieces not counted)",
            right=(3, 4, 5),
        )
    )
    _films(screen, ordered.planned)
    cautions(screen, made.cautions)
    return 0


def curve(args: Namespace) -> int:
    """Print the curve."""
    with Watch(quiet=_quiet(args)) as watch:
        drawn = use.curve(house_from_record(args.file), _wish(args, watch))
    if args.json:
        emit(drawn.to_json())
        return 0
    house, found = drawn.house, drawn.curve
    screen, show = console(), Show(house.building.system)
    rows = [
        (
            f"{p.budget:,.0f}",
            f"{p.spent:,.0f}",
            f"{p.ach50:.2f}",
            show.water(p.water_l),
            f"{p.objective:.4g}",
            f"{p.bound:.4g}",
            f"{_gap(p.objective, p.bound):.2%}",
        )
        for p in found.points
    ]
    heads = [f"budget [{found.currency}]", "spent", "ACH50", "water", "goal", "bound", "gap"]
    screen.print(
        table(
            heads,
            rows,
            title=f"{house.building.name}: the best plan for each amount of money",
            right=range(7),
        )
    )
    if found.step:
        say(
            screen,
            f"Next step: {_more(found.step.money, found.currency)} for {found.step.name}: {found.step.before} → {found.step.after}.",
        )
    cautions(screen, found.cautions)
    return 0


def _gap(value: float, bound: float) -> float:
    return (value - bound) / value if value > 0 else 0.0


def demo(args: Namespace) -> int:
    """Plan the demo house, which is invented."""
    args.file, args.budget, args.target, args.confidence, args.no_files = (
        str(demo_file()),
        None,
        None,
        None,
        False,
    )
    args.out = args.out or str(Path("hullwright-out") / "demo-plan")
    return plan(args)
