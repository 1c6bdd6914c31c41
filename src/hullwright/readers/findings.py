"""Findings file: what the smoke walk saw, in the order it was seen."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final, Literal

from hullwright.building.kinds import Number, Text, Word
from hullwright.building.measures import Quantity
from hullwright.building.nodes import MOST_BYTES, compose, decode
from hullwright.building.spec import Key, ListOf, Notes, Raw, Table
from hullwright.errors import InputError, Problem, Where
from hullwright.leaks.findings import Finding

STARTER: Final = """\
# What the walk found, in order. `on` names a joint, run, face or kind as `hullwright joints` prints them.
findings:
  - on: main/south            # looked at the whole face with smoke
    kind: eave                # only its eave
    seen: nothing
  - on: main/east
    seen: leak
    note: fold at the lower left corner of the second window
  - on: main/east
    kind: rough-opening corner
    seen: sealed
    moved: 35 m3/h            # the fan fell by that at 50 Pa
    minutes: 12
"""

FINDING: Final = Table(
    "a finding",
    {
        "on": Key(Text("a joint, run, face or kind"), "What was looked at: a joint, run, face or kind.", required=True),
        "kind": Key(Text("a kind of joint"), "Narrows it to one kind of joint."),
        "seen": Key(Word(("nothing", "leak", "sealed", "masked")), "nothing, leak, sealed (mended) or masked (masked off).", required=True),
        "moved": Key(Quantity("flow change", "cfm|m3/h"), "By how much the fan flow at 50 Pa fell."),
        "spread": Key(Quantity("flow spread", "cfm|m3/h"), "Standard deviation of `moved`."),
        "minutes": Key(Number("minutes"), "Time it took."),
        "note": Key(Text("a note"), "Anything worth keeping."),
    },
)  # fmt: skip
FILE: Final = Table(
    "a findings file",
    {"findings": Key(ListOf(FINDING, noun="findings"), "The findings in order.", required=True)},
)


def read_findings(path: str | Path, *, system: Literal["us", "metric"] = "us") -> tuple[Finding, ...]:
    """Read a findings file.

    Parameters
    ----------
    path : str or Path
    system : str
        ``us`` (bare flows in cfm) or ``metric`` (m3/h).

    Raises
    ------
    InputError
        With every problem found.
    """
    name = str(path)
    try:
        with Path(path).open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except OSError as error:
        raise InputError(
            f"{name} can't be opened",
            [Problem(error.strerror or "unreadable", Where(name), hint="look at the path")],
        ) from error
    notes = Notes(name, system=system)
    table: Any = FILE.read(compose(decode(raw, name), name), notes, "")
    if notes.problems:
        raise InputError(f"{name} can't be used as a findings file", notes.problems)
    return tuple(_finding(row) for row in table["findings"])


def _finding(row: Raw) -> Finding:
    def hourly(key: str) -> float | None:
        return None if row[key] is None else float(row[key]) * 3600.0

    return Finding(
        row["seen"],
        row["on"],
        row["kind"] or "",
        hourly("moved"),
        hourly("spread"),
        row["minutes"],
        row["note"] or "",
        row.where,
    )
