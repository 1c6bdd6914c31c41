"""Marks of openings, penetrations and later attachments: as stated on the drawing's schedule, else numbered by wall from left to right.

A mark is what joints, card and record call a thing by. What the file states never changes; what it leaves out is numbered by body in
the order of the file, wall by wall, from left to right, and skips the marks that are stated.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count
from typing import Any, Final

from hullwright.building.kinds import scalar
from hullwright.building.model import FixedOver, Opening, Penetration
from hullwright.building.nodes import Node
from hullwright.building.spec import BROKEN, Notes, Raw, Schema
from hullwright.errors import Where

PREFIX: Final = {"window": "W", "door": "D", "garage door": "G", "skylight": "S"}
PIECE: Final = "P"
ATTACHED: Final = "A"
MOST: Final = 16
_WORD: Final = re.compile(r"[\w#.-]+(?: [\w#.-]+)*")
_ALLOWED: Final = f"letters, digits, blanks and . - # _, at most {MOST} characters, such as W1 or 101A"
_FACES: Final = ("wall", "roof", "ceiling", "bottom")


@dataclass(frozen=True, slots=True)
class MarkText:
    """A mark as the user writes it."""

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to str."""
        text = scalar(node, notes, path, _ALLOWED)
        if text is None:
            return BROKEN
        if len(text) > MOST or not _WORD.fullmatch(text):
            return notes.wrong(
                notes.where(node, path), "this can't be a mark", got=node.shown(), allowed=_ALLOWED
            )
        return text

    def schema(self) -> Schema:
        """String; numbers are read as their text."""
        return {"type": ["string", "number"]}


def stated(raw: Raw, places: int, notes: Notes) -> tuple[str, ...]:
    """Give the marks that a row states, one for each of its places in the order of the file; none where it states none.

    Parameters
    ----------
    raw : Raw
        The row, with its keys `mark` and `marks`.
    places : int
        How many places it has.
    notes : Notes
        Takes the marks in, and every problem: both keys, another number of marks than of places, a mark used before.
    """
    if "mark" in raw and "marks" in raw:
        notes.wrong(raw.place("marks"), "state either `mark` or `marks`, not both", hint="remove one")
        return ()
    found: list[str] = [raw["mark"]] if raw["mark"] is not None else list(raw["marks"] or ())
    if not found:
        return ()
    key = "mark" if "mark" in raw else "marks"
    if len(found) != places:
        example = ", ".join(f"W{number}" for number in range(1, min(places, 4) + 1))
        notes.wrong(
            raw.place(key),
            f"this row has {places} place{'s' * (places != 1)} and {len(found)} mark{'s' * (len(found) != 1)}",
            got=", ".join(found),
            allowed="mark: W1" if places == 1 else f"marks: [{example}{', …' * (places > 4)}]",
            hint="give each place a mark of its own, in the order of the places, or leave them out",
        )
        return ()
    for text in found:
        _take(text, raw.place(key), notes)
    return tuple(found)


def _take(text: str, where: Where, notes: Notes) -> None:
    folded = text.casefold()
    if folded not in notes.marks:
        notes.marks[folded] = where
        return
    first = notes.marks[folded]
    notes.wrong(
        where,
        f"the mark `{text}` is used twice",
        got=f"first on line {first.line}",
        allowed="each mark once in the house, whatever it marks",
    )


@dataclass(frozen=True, slots=True)
class Marked:
    """Everything that carries a mark, each with one."""

    openings: tuple[Opening, ...]
    penetrations: tuple[Penetration, ...]
    later: tuple[FixedOver, ...]


def numbered(things: Marked, bodies: Sequence[str], taken: Iterable[str]) -> Marked:
    """Number what has no mark.

    Parameters
    ----------
    things : Marked
    bodies : sequence of str
        Their names in the order of the file.
    taken : iterable of str
        Marks that are stated, case folded.
    """
    place = {name: number for number, name in enumerate(bodies)}
    used = set(taken)
    marks = _openings(things.openings, place, used)
    pieces = _pieces(things.penetrations, place, used)
    later = _later(things.later, place, used)
    return Marked(
        tuple(replace(o, mark=marks[i]) if not o.mark else o for i, o in enumerate(things.openings)),
        tuple(
            replace(p, marks=tuple(pieces[i, k] for k in range(len(p.places)))) if not p.marks else p
            for i, p in enumerate(things.penetrations)
        ),
        tuple(replace(f, mark=later[i]) if not f.mark else f for i, f in enumerate(things.later)),
    )


def _free(prefix: str, used: set[str]) -> Iterable[str]:
    """Numbers of a prefix that nothing is marked with."""
    return (mark for mark in (f"{prefix}{number}" for number in count(1)) if mark.casefold() not in used)


def _openings(openings: Sequence[Opening], place: Mapping[str, int], used: set[str]) -> dict[int, str]:
    free = {kind: iter(_free(prefix, used)) for kind, prefix in PREFIX.items()}

    def order(i: int) -> tuple[Any, ...]:
        o = openings[i]
        return place[o.mass], o.storey is None, o.side, o.storey or 0, o.offset, o.sill, o.id

    return {
        i: next(free[openings[i].kind])
        for i in sorted(range(len(openings)), key=order)
        if not openings[i].mark
    }


def _pieces(
    rows: Sequence[Penetration], place: Mapping[str, int], used: set[str]
) -> dict[tuple[int, int], str]:
    free = iter(_free(PIECE, used))

    def order(spot: tuple[int, int]) -> tuple[Any, ...]:
        p = rows[spot[0]]
        return place[p.mass], _FACES.index(p.face), p.side or 0, p.storey or 0, *p.places[spot[1]], p.id

    spots = [(i, k) for i, row in enumerate(rows) if not row.marks for k in range(len(row.places))]
    return {spot: next(free) for spot in sorted(spots, key=order)}


def _later(things: Sequence[FixedOver], place: Mapping[str, int], used: set[str]) -> dict[int, str]:
    free = iter(_free(ATTACHED, used))

    def order(i: int) -> tuple[Any, ...]:
        f = things[i]
        return place[f.mass], f.side, f.storey, f.offset, f.height, f.id

    return {i: next(free) for i in sorted(range(len(things)), key=order) if not things[i].mark}
