"""``issue`` and ``revisions``."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator, Sequence
from typing import Final

from rich.console import Console

from hullwright.app import issue as use
from hullwright.app.revisions import Revisions, Step
from hullwright.app.revisions import revisions as list_revisions
from hullwright.cli.main import emit
from hullwright.cli.record import author_of, named, shown, where
from hullwright.cli.tables import console, say
from hullwright.errors import BuildingFileError
from hullwright.proof.drawing import Issued
from hullwright.proof.revision import Change, Difference, Revision
from hullwright.proof.site import Stretch
from hullwright.units import Show

_MOST: Final = 40


def issue(args: Namespace) -> int:
    """Issue the drawing."""
    log = named(args)
    answer = use.issue_file(log, args.file, author=author_of(args), reason=args.reason, plan=args.plan)
    if args.json:
        emit(answer.to_json())
        return 0
    screen, show = console(), shown(args.file)
    where(screen, log)
    number = answer.issued.number
    if answer.ink.said:
        say(screen, answer.ink.said)
    if not answer.new:
        say(screen, f"Nothing changed: revision {number} is still the drawing.", "bold")
        return 0
    say(screen, f"Revision {number} is issued, by {answer.issued.author}.", "bold")
    for line in _changes(answer.revision, show):
        say(screen, f"   {line}")
    if answer.unplanned == len(answer.issued.drawing.joints):
        say(screen, "   It says no methods: issue it with --plan plan.json once there is a plan.")
    elif answer.unplanned:
        say(screen, f"   {answer.unplanned} joints have no planned method: issue with --plan plan.json.")
    if answer.revision is not None:
        say(screen, "   What to patch and prove again: hullwright revisions FILE")
    return 0


def revisions(args: Namespace) -> int:
    """List the revisions."""
    log = named(args)
    try:
        paper = use.paper(args.file)
    except BuildingFileError:
        if not use.issued(log):
            raise
        paper = None  # what was issued is kept, whatever became of the file
    answer = list_revisions(log, paper)
    if args.json:
        emit(answer.to_json())
        return 0
    screen = console()
    where(screen, log)
    show = Show("us" if paper is None else paper.house.building.system)
    _list(screen, answer, show)
    if paper is None:
        say(screen, f"! {args.file} can't be read as it stands: see `hullwright check`", "bold")
    return 0


def _list(screen: Console, answer: Revisions, show: Show) -> None:
    if not answer.steps:
        say(screen, "No drawing is issued yet: `hullwright issue FILE`, or the first entry does it.", "bold")
        return
    last = answer.steps[-1].issued
    say(screen, f"Revision {last.number} is the drawing, of {last.time:%Y-%m-%d}, by {last.author}.", "bold")
    if answer.differs is not None:
        say(screen, "! The building file differs from what was issued: it counts once you issue it.", "bold")
        for line in _changes(answer.differs, show):
            say(screen, f"   {line}")
    for step in reversed(answer.steps):
        _step(screen, step, show)
    for patch in answer.patches:
        say(screen, f"Patch here: {patch.id} on {patch.face}, where {patch.mark} was.", "bold")
    if answer.again:
        say(screen, "Prove again:", "bold")
        for face, stretches in answer.again.items():
            for line in _places(last, stretches, show):
                say(screen, f"   {face}: {line}")


def _step(screen: Console, step: Step, show: Show) -> None:
    one = step.issued
    reason = f": {one.reason}" if one.reason else ""
    say(screen, f"Revision {one.number}, {one.time:%Y-%m-%d %H:%M}, {one.author}{reason}")
    for line in _changes(step.revision, show):
        say(screen, f"   {line}")


def _changes(revision: Revision | None, show: Show) -> Iterator[str]:
    if revision is None:
        return
    for difference in revision.differences:
        yield sentence(difference, show)
    if revision.new or revision.gone:
        came = sum(s.end - s.start for s in revision.new)
        went = sum(s.end - s.start for s in revision.gone)
        yield f"joints: {_sum(revision.new, came, show)} new, {_sum(revision.gone, went, show)} gone"
    if revision.only_renamed:
        yield "only names changed: nothing is lost"
    if revision.replanned:
        yield f"planned otherwise: {len(revision.replanned)} joints"


def _sum(stretches: Sequence[Stretch], length: float, show: Show) -> str:
    pieces = sum(1 for s in stretches if s.end <= s.start)
    words = [show.run_length(length)] if length > 0 else []
    words += [f"{pieces} piece{'' if pieces == 1 else 's'}"] if pieces else []
    return " and ".join(words) or "none"


def sentence(difference: Difference, show: Show) -> str:
    r"""Say one difference.

    Examples
    --------
    >>> moved = Difference((Change.MOVED,), "opening", "window", "W2", "W2", "main/south", 0.3048)
    >>> sentence(moved, Show("us"))
    'window W2 (main/south): moved 1\'-0"'
    """
    d = difference
    name = d.was or d.now if d.sort == "wall or roof" else f"{d.kind} {d.now or d.was} ({d.face})"
    words = []
    for change in d.changes:
        match change:
            case Change.MOVED:
                words.append(f"moved {show.place(d.moved)}")
            case Change.SIZED if d.size_was is not None and d.size_now is not None:
                words.append(f"{_size(d.size_was, show)} became {_size(d.size_now, show)}")
            case Change.RENAMED:
                words.append(f"was called {d.was}" if d.sort != "wall or roof" else f"is called {d.now} now")
            case _:
                words.append(change.value)
    return f"{name}: {', '.join(words)}"


def _size(size: tuple[float, float], show: Show) -> str:
    return f"{show.place(size[0])} × {show.place(size[1])}"


def _places(issued: Issued, stretches: Sequence[Stretch], show: Show) -> Iterator[str]:
    for stretch in stretches[:_MOST]:
        joint = issued.drawing.by_id[stretch.joint]
        whole = joint.piece or stretch.end - stretch.start >= joint.length - 1e-3
        part = "" if whole else f", from {show.place(stretch.start)} to {show.place(stretch.end)}"
        yield f"{joint.name or joint.id}{part}"
    if len(stretches) > _MOST:
        yield f"and {len(stretches) - _MOST} more (--json lists all)"
