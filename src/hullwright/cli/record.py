"""``log``: add, list, correct, withdraw, choose, settle, import, export, photo, rules."""

from __future__ import annotations

import os
from argparse import Namespace
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any, Final

from rich.console import Console
from rich.text import Text

from hullwright.app import log as use
from hullwright.app.log import Added, Log
from hullwright.app.said_where import SaidWhere, group_said, spot_said
from hullwright.app.spoken import Spoken, face_names, joint_names, spoken
from hullwright.app.spots import find_entry, log_of
from hullwright.cli.main import emit
from hullwright.cli.tables import cautions, console, say, table
from hullwright.errors import InputError, Problem, Where
from hullwright.proof.drawing import Drawing
from hullwright.proof.entries import Entry, is_number
from hullwright.proof.entries import shown as shown_value
from hullwright.proof.figures_in import answered, changed, figures
from hullwright.units import MIL, Show

AUTHOR: Final = "HULLWRIGHT_AUTHOR"
MOST_NAMED: Final = 4  # joints that are named for one reason; `states` lists all
_SHORT: Final = frozenset({"sha256", "entry", "hole", "flaw", "ok", "reading"})
_NAMES_AN_ENTRY: Final = frozenset({"hole", "flaw", "ok", "reading"})


def log(_args: Namespace) -> int:
    """Say that a verb is needed."""
    verbs = "add, list, correct, withdraw, choose, settle, import, export, photo, rules"
    raise InputError(
        "log does what", [Problem("a verb is missing", allowed=verbs, hint="hullwright log list FILE")]
    )


def named(args: Namespace) -> Log:
    """Give the log that a command means."""
    return log_of(args.file, args.data, args.house)


def add_entry(args: Namespace) -> int:
    """Log a fact."""
    log_, what = named(args), answered(args.kind, figures(args.kind, args.figures), args.sure)
    what = {
        name: find_entry(log_, value).id if name in _NAMES_AN_ENTRY else value for name, value in what.items()
    }
    if "of" in what:
        what["of"] = group_said(args.file, what["of"], _patched(args, log_, of=True))
    spot = spot_said(args.file, said_where(args), _patched(args, log_))
    added = use.add(log_, args.kind, what, author=author_of(args), spot=spot)
    named(args)  # where this began the log, the house is noted beside it now
    return _added(args, added)


def list_entry(args: Namespace) -> int:
    """List entries."""
    joint, face = joint_names(args.file, args.joint), face_names(args.file, args.face)
    answer = use.list_log(named(args), kind=args.kind, joint=joint, face=face, history=args.history)
    if args.json:
        emit(answer.to_json())
        return 0
    screen, show, words = console(), shown(args.file), spoken(args.file)
    where(screen, answer.log)
    if not answer.entries:
        say(
            screen,
            "Nothing is logged here yet. Begin with: hullwright log add FILE nailing passed=yes --face FACE",
        )
    else:
        screen.print(
            table(
                ["no.", "when", "who", "what", "figures", "joint or face"],
                [_row(e, show, words) for e in answer.entries],
                right=[0],
            )
        )
        _say_held(screen, answer.entries, args.file)
    for rival in answer.rivals:
        numbers = ", ".join(
            str(entry.receipt.number) for entry in answer.log.entries() if entry.id in rival.entries
        )
        say(
            screen,
            f"! Two corrections of one entry stand ({numbers}): hullwright log choose FILE NUMBER",
            "bold",
        )
    cautions(screen, answer.log.cautions)
    return 0


def correct_entry(args: Namespace) -> int:
    """Correct an entry."""
    log_ = named(args)
    old = find_entry(log_, args.entry)
    what = answered(old.kind, changed(old.kind, old.what, figures(old.kind, args.figures)), args.sure)
    return _added(args, use.correct(log_, old.id, what, author=author_of(args)))


def withdraw_entry(args: Namespace) -> int:
    """Withdraw an entry."""
    log_ = named(args)
    return _added(
        args, use.withdraw(log_, find_entry(log_, args.entry).id, args.reason, author=author_of(args))
    )


def choose_entry(args: Namespace) -> int:
    """Choose between rivals."""
    log_ = named(args)
    return _added(
        args, use.choose(log_, find_entry(log_, args.entry).id, args.reason, author=author_of(args))
    )


def settle_entry(args: Namespace) -> int:
    """Give entries another joint."""
    log_, author = named(args), author_of(args)
    if args.proposed == bool(args.entry):
        raise InputError(
            "which entry", [Problem("name one entry, or --proposed for all that have a proposal")]
        )
    if args.entry:
        if not (args.joint or args.run or args.mark or args.place):
            raise InputError(
                "which joint", [Problem("--joint is missing", hint="`hullwright states` proposes one")]
            )
        spot = spot_said(args.file, said_where(args), _patched(args, log_))
        return _added(args, use.settle(log_, find_entry(log_, args.entry).id, spot, author=author))
    from hullwright.app.settle import settle_proposed  # noqa: PLC0415  loads numbers only where they are needed

    answer = settle_proposed(log_, args.file, author=author)
    if args.json:
        emit(answer.to_json())
        return answer.exit_code
    screen = console()
    where(screen, log_)
    say(
        screen,
        f"{len(answer.settled)} entries have a joint again; {len(answer.left)} still need a place.",
        "bold",
    )
    words = spoken(args.file)
    rows = [
        (
            item.entry.kind,
            words.joint(item.entry.spot.joint),
            words.joint(item.joint) if item.joint else "none near; settle it by hand",
        )
        for item in (*answer.settled, *answer.left)
    ]
    if rows:
        screen.print(table(["what", "was at", "now at"], rows))
    return answer.exit_code


def import_entry(args: Namespace) -> int:
    """Take a table in."""
    answer = use.import_log(named(args), args.table)
    first = next(iter(answer.outcome.stored), None)
    drawing = first_drawing(args, answer.log, first.stamp.author) if first else ""
    if args.json:
        emit(answer.to_json())
        return answer.exit_code
    screen = console()
    where(screen, answer.log)
    out = answer.outcome
    say(
        screen,
        f"{args.table}: {len(out.stored)} entries stored, {len(out.already)} were here already.",
        "bold",
    )
    if answer.held:
        _say_held(screen, out.stored, args.file)
    for name in out.differing:
        say(
            screen,
            f"! {name} differs from what is kept under this id: not stored; correct the kept one instead",
        )
    if drawing:
        say(screen, drawing)
    cautions(screen, answer.log.cautions)
    return answer.exit_code


def export_entry(args: Namespace) -> int:
    """Write the log to a table."""
    answer = use.export_log(named(args), args.table)
    if args.json:
        emit(answer.to_json())
        return 0
    screen = console()
    where(screen, answer.log)
    say(screen, f"{answer.entries} entries written to {args.table}, corrected ones too.")
    return 0


def photo_entry(args: Namespace) -> int:
    """Log a photo."""
    from hullwright.app.photo_log import add_photo  # noqa: PLC0415  loads pictures only where one comes

    spot = spot_said(args.file, said_where(args), _patched(args, named(args)))
    of = group_said(args.file, args.of, _patched(args, named(args), of=bool(args.of)))
    return _added(
        args,
        add_photo(named(args), args.picture, author=author_of(args), spot=spot, note=args.note, of=of),
    )


def rules_entry(args: Namespace) -> int:
    """Print the table that all states follow from."""
    from hullwright.proof.rules import METHODS, listing  # noqa: PLC0415  reads the table only where it is printed

    found = listing()
    if args.method:
        found["proofs"] = [row for row in found["proofs"] if row["method"] == args.method]
        if not found["proofs"]:
            problem = Problem("no such method", Where(key="method"), args.method, ", ".join(METHODS))
            raise InputError("no such method", [problem])
    if args.json:
        emit({"schema": {"name": "log rules", "version": 1}, **found, "cautions": []})
        return 0
    screen = console()
    say(screen, "Nobody types a state: it follows from what was logged, by this table.", "bold")
    columns = {
        "proofs": ["method", "joints", "prepared by", "all of this makes it proved", "mark"],
        "stages": ["stage", "begins with", "before that", "mark"],
        "entries": ["entry", "is about", "where only a face is named", "does", "mark"],
        "figures": ["figure", "value", "says", "mark"],
    }
    for part in ("proofs",) if args.method else tuple(columns):
        screen.print(table(columns[part], [tuple(row.values()) for row in found[part]]))
    return 0


def said_where(args: Namespace) -> SaidWhere:
    """Take the place that the options say."""
    keys = ("joint", "run", "mark", "face", "at", "place")
    return SaidWhere(**{key: getattr(args, key) or "" for key in keys})


def where(screen: Console, log_: Log) -> None:
    """Print which log it is and where it lies."""
    screen.print(
        Text(f"Log of {log_.house}: {log_.path}", style="dim"), soft_wrap=True
    )  # a path is never broken


def shown(file: str) -> Show:
    """Give the units of the house; US customary where its file can't be read now: what was logged is kept all the same."""
    from hullwright.app.house import load  # noqa: PLC0415  reads the file only for tables

    try:
        return Show(load(file).building.system)
    except InputError:
        return Show("us")


def _say_held(screen: Console, entries: Iterable[Entry], file: str) -> None:
    """Say which entries are held for review, why, and what to do."""
    from hullwright.app.review import reasons  # noqa: PLC0415  reads the sheets only for tables

    own = tuple(entries)
    why = reasons(own, file)
    for entry in own:
        for reason in why.get(entry.id, ()):
            say(screen, f"! {entry.receipt.number} is held for review: {reason}", "bold")
    if why:
        say(
            screen,
            "  What is held is kept and proves nothing. Correct it (log correct FILE NUMBER NAME=VALUE, or --sure NAME "
            "where it is right), withdraw it, or add the product sheet.",
        )


def first_drawing(args: Namespace, log_: Log, author: str) -> str:
    """Issue the first drawing with the first entry; gives what is to be said of it, '' where one was there."""
    from hullwright.app.issue import first_issue_of  # noqa: PLC0415  reads the house only for the first entry

    return first_issue_of(log_, args.file, author=author)


def _patched(args: Namespace, log_: Log, *, of: bool = False) -> Drawing | None:
    """The issued drawing, where a joint is named that only it may hold."""
    from hullwright.app.on_drawing import patched  # noqa: PLC0415  reads the drawings only for a joint

    return patched(log_) if args.joint or of else None


def author_of(args: Namespace) -> str:
    """Give who says so.

    Raises
    ------
    InputError
        Nobody is named.
    """
    name = args.by or os.environ.get(AUTHOR, "")
    if not name:
        raise InputError(
            "who says so", [Problem("--by is missing", Where(key="by"), hint=f"--by NAME, or set {AUTHOR}")]
        )
    return str(name)


def _added(args: Namespace, added: Added) -> int:
    from hullwright.app.record_jobs import judged  # noqa: PLC0415  reads the sheets only for a gauge reading

    drawing = first_drawing(args, added.log, added.entry.stamp.author)
    added = judged(added, args.file)
    if args.json:
        emit(_reviewed(args, added).to_json())
        return 0
    screen, entry = console(), added.entry
    where(screen, added.log)
    spot = spoken(args.file).spot(entry.spot)
    say(
        screen,
        f"{entry.receipt.number}: {entry.kind}{f' on {spot}' if spot else ''}, by {entry.stamp.author}. Kept.",
        "bold",
    )
    if entry.what:
        say(screen, f"   {figures_text(entry.what, shown(args.file))}")
    if added.gauge is not None:
        show = shown(args.file)
        films = f"least {show.film(added.gauge.least)}, aim {show.film(added.gauge.aim)} wet"
        say(screen, f"   {added.gauge.words[:1].upper()}{added.gauge.words[1:]} ({films}).", "bold")
    _say_taken(screen, added, args.file)
    if words := use.said_at_once(added.log, entry):
        say(screen, f"! {words}", "bold")
    if drawing:
        say(screen, f"   {drawing}")
    _say_held(screen, [entry], args.file)
    cautions(screen, added.log.cautions)
    return 0


def _say_taken(screen: Console, added: Added, file: str) -> None:
    """Say what the entry leaves out and why, alike reasons once, and what it lacks."""
    if added.lacking:
        say(screen, f"! {added.lacking[:1].upper()}{added.lacking[1:]}.", "bold")
    words, why = spoken(file), dict[str, list[str]]()
    for joint, reason in added.left_out:
        why.setdefault(reason, []).append(words.joint(joint))
    if why:
        say(screen, f"   Left out: {len(added.left_out)}.")
    for reason, joints in why.items():
        more = f" and {len(joints) - MOST_NAMED} more" if len(joints) > MOST_NAMED else ""
        say(screen, f"     {reason}: {'; '.join(joints[:MOST_NAMED])}{more}")


def _reviewed(args: Namespace, added: Added) -> Added:
    from hullwright.app.review import reasons  # noqa: PLC0415  reads the sheets only where an entry names one

    return replace(added, held=reasons([added.entry], args.file).get(added.entry.id, ()))


def _row(entry: Entry, show: Show, words: Spoken) -> tuple[str, ...]:
    return (
        str(entry.receipt.number),
        f"{entry.stamp.time:%Y-%m-%d %H:%M}",
        entry.stamp.author,
        entry.kind,
        figures_text(entry.what, show),
        words.spot(entry.spot),
    )


def figures_text(what: Mapping[str, Any], show: Show) -> str:
    """Print the figures of an entry as the trade reads them."""
    return "; ".join(_words(name, value, show) for name, value in what.items() if name != "notches_um")


def _words(name: str, value: Any, show: Show) -> str:
    """One figure: its name without the unit, its value with the reader's."""
    if isinstance(value, bool):
        return _plain(name) if value else f"not {_plain(name)}"
    if is_number(value):
        return _number(name, float(value), show)
    if isinstance(value, Iterable) and not isinstance(value, str | Mapping):
        return f"{_plain(name)} {', '.join(map(_item, value)) or 'none'}"
    text = value if isinstance(value, str) else shown_value(value)
    return f"{_plain(name)} {text[:8] if name in _SHORT else text}"


def _item(value: object) -> str:
    return value if isinstance(value, str) else shown_value(value)


def _number(name: str, value: float, show: Show) -> str:
    for unit, printed in (("_um", _tooth), ("_m", _length(name)), ("_c", _celsius)):
        if name.endswith(unit):
            return f"{_plain(name.removesuffix(unit))} {printed(value, show)}"
    return f"{_plain(name)} {value:g}"


def _plain(name: str) -> str:
    return name.replace("_", " ")


def _tooth(um: float, show: Show) -> str:
    return f"{um * 1e-6 / MIL:.3g} mil" if show.us else f"{um:.0f} µm"


def _length(name: str) -> Callable[[float, Show], str]:
    small = name in {"width_m", "size_m"}
    return lambda metres, show: show.size(metres) if small else show.run_length(metres)


def _celsius(value: float, show: Show) -> str:
    return show.temperature(value)
