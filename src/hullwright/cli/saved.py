"""``backup``, ``verify`` and ``restore``."""

from __future__ import annotations

from argparse import Namespace

from rich.text import Text

from hullwright.app import keep as use
from hullwright.app.keep import Checked
from hullwright.cli.main import emit
from hullwright.cli.tables import console, say


def backup(args: Namespace) -> int:
    """Copy the log into one file."""
    return _say(args, use.backup(args.target, args.data), "Backup written and checked to the last byte")


def verify(args: Namespace) -> int:
    """Check every byte."""
    return _say(args, use.verify(args.saved or args.data), "Every byte checked")


def restore(args: Namespace) -> int:
    """Bring a backup back."""
    return _say(args, use.restore(args.saved, args.data, replace=args.replace), "Log restored and checked")


def _say(args: Namespace, found: Checked, words: str) -> int:
    code = 0 if found.ok else 1
    if args.json:
        emit(found.to_json())
        return code
    screen = console()
    head = words if found.ok else f"NOT SOUND: {len(found.problems)} things are wrong"
    screen.print(Text(f"{head}: {found.path}", style="bold"), soft_wrap=True)  # a path is never broken
    drawings = f"{found.drawings} issued drawing{'' if found.drawings == 1 else 's'}"
    say(screen, f"{found.entries} entries, {found.photos} photos, {drawings}, layout version {found.version}")
    for problem in found.problems[:20]:
        say(screen, f"! {problem}")
    return code
