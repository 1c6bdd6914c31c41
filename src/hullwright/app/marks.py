"""``marks``: the mark of everything that joints, card and log call by one, and writing them into the building file."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from hullwright import building as building_room
from hullwright.app.disk import write_whole
from hullwright.app.edit import add_all
from hullwright.app.heads import head
from hullwright.building.model import Building, FixedOver, Mass, Opening, Penetration
from hullwright.building.reader import parse
from hullwright.errors import InputError, OutputError, Problem, Where

_PARTS: Final = re.compile(r"([^0-9]*)([0-9]*)")


@dataclass(frozen=True, slots=True)
class Row:
    """One mark.

    Parameters
    ----------
    mark : str
    stated : bool
        It stands in the file; else it was numbered.
    what, name : str
        Kind of thing, and the name that the user gave it or ''.
    body, where : str
        Body, and its side with the story, roof plane, ceiling or bottom.
    across, up : float
        From the left end of the side and above the story's floor or up the slope; on level faces east and north in plan [m].
    line : int or None
        In the file.
    """

    mark: str
    stated: bool
    what: str
    name: str
    body: str
    where: str
    across: float
    up: float
    line: int | None

    def to_json(self) -> dict[str, Any]:
        """Give the row."""
        return {
            "mark": self.mark,
            "stated": self.stated,
            "what": self.what,
            "name": self.name,
            "body": self.body,
            "where": self.where,
            "across_m": self.across,
            "up_m": self.up,
            "line": self.line,
        }


@dataclass(frozen=True, slots=True)
class Marks:
    """All marks of a house.

    Parameters
    ----------
    building : Building
    rows : tuple of Row
        Openings, penetrations, attachments, each in the order of their places.
    written : int
        How many were written into the file.
    """

    building: Building
    rows: tuple[Row, ...]
    written: int = 0

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``marks --json``."""
        return head("marks") | {
            "name": self.building.name,
            "file": self.building.file,
            "marks": [row.to_json() for row in self.rows],
            "written": self.written,
            "cautions": [],
        }


def marks_of(source: str | Path | Building) -> Marks:
    """Give the marks of a house.

    Parameters
    ----------
    source : path or Building

    Returns
    -------
    Marks

    Raises
    ------
    BuildingFileError
        With every problem of the file, a mark that is used twice among them.
    """
    house = source if isinstance(source, Building) else building_room.read(source)
    return Marks(house, tuple(_rows(house)))


def write_marks(file: str | Path) -> Marks:
    """Write the marks that are only numbered into the building file: comments, order and every other character stay.

    Parameters
    ----------
    file : str or Path

    Returns
    -------
    Marks
        As the file states them now.

    Raises
    ------
    BuildingFileError
        With every problem of the file.
    InputError
        Where the text around a row is in the way; nothing is written then.
    OutputError
        Where the file can't be written, or somebody changed it meanwhile.
    """
    path = Path(file).resolve()
    house = building_room.read(file)
    raw = path.read_bytes()
    text = raw.decode("utf-8")
    new = with_marks(text, house, folder=path.parent)
    if new != text:
        if path.read_bytes() != raw:
            problem = Problem("somebody changed the file meanwhile", Where(str(file)), hint="run it again")
            raise OutputError("nothing was written", [problem])
        write_whole(path, new.encode("utf-8"))
    numbered = sum(not row.stated for row in _rows(house))
    return replace(marks_of(file), written=numbered)


def with_marks(text: str, house: Building, *, folder: Path | None = None) -> str:
    """Give the text of a building file with every mark in it.

    Parameters
    ----------
    text : str
        As `house` was read from.
    house : Building
    folder : Path or None
        Of the file, for the files that it names.

    Returns
    -------
    str
        Read again and compared: every thing has the mark it had, now stated.

    Raises
    ------
    InputError
        Where the text can't be changed without touching more.
    """
    bom, body = ("\ufeff", text[1:]) if text.startswith("\ufeff") else ("", text)
    crlf = "\r\n" in body and body.count("\r\n") == body.count("\n")
    new = add_all(body.replace("\r\n", "\n") if crlf else body, _additions(house), file=house.file)
    again = parse(new, house.file, folder=folder)
    if _by_thing(again) != _by_thing(house) or len(again.stated_marks) != len(_marked(house)):
        problem = Problem(
            "the marks do not read back as they are", Where(house.file or None), hint="write them by hand"
        )
        raise InputError("the marks can't be written into this file", [problem])
    return bom + (new.replace("\n", "\r\n") if crlf else new)


def _additions(house: Building) -> list[tuple[str, Any]]:
    """A key for each row that states no mark, its marks in the order of its places in the file."""
    rows: dict[str, list[tuple[int, str]]] = {}
    for mark, order, where in _marked(house).values():
        if mark.casefold() not in house.stated_marks:
            rows.setdefault(where.key or "", []).append((order, mark))
    found: list[tuple[str, Any]] = []
    for key, members in rows.items():
        marks = [mark for _, mark in sorted(members)]
        found.append((f"{key}.mark", marks[0]) if len(marks) == 1 else (f"{key}.marks", marks))
    return found


def _marked(house: Building) -> dict[tuple[str, str, int], tuple[str, int, Where]]:
    """Mark, number in its row and place in the file of everything that carries a mark; keyed by what it is."""
    found: dict[tuple[str, str, int], tuple[str, int, Where]] = {}
    for opening in house.openings:
        found["opening", opening.id, 0] = opening.mark, opening.order, opening.where
    for row in house.penetrations:
        for number, mark in enumerate(row.marks):
            found["penetration", row.id, number] = mark, row.order[number], row.where
    for thing in house.fixed_over:
        found["later", thing.id, 0] = thing.mark, 0, thing.where
    return found


def _by_thing(house: Building) -> dict[tuple[str, str, int], str]:
    return {thing: mark for thing, (mark, _, _) in _marked(house).items()}


def _rows(house: Building) -> Iterator[Row]:
    for rows in (
        [_opening(house, opening) for opening in house.openings],
        [_piece(house, row, number) for row in house.penetrations for number in range(len(row.marks))],
        [_attached(house, thing) for thing in house.fixed_over],
    ):
        yield from sorted(
            rows, key=lambda row: [(word, int(part or 0)) for word, part in _PARTS.findall(row.mark)]
        )


def _row(
    house: Building, thing: Opening | Penetration | FixedOver, mark: str, place: tuple[str, float, float]
) -> Row:
    return Row(
        mark,
        mark.casefold() in house.stated_marks,
        thing.kind,
        "" if "/" in thing.id else thing.id,
        thing.mass,
        *place,
        thing.where.line,
    )


def _opening(house: Building, opening: Opening) -> Row:
    mass = house.mass(opening.mass)
    side = mass.sides[opening.side or 0]
    where = f"roof {side}" if opening.storey is None else _wall(mass, side, opening.storey)
    return _row(house, opening, opening.mark, (where, opening.offset, opening.sill))


def _piece(house: Building, row: Penetration, number: int) -> Row:
    mass = house.mass(row.mass)
    where: str = row.face
    if row.side is not None:
        side = mass.sides[row.side]
        where = f"roof {side}" if row.storey is None else _wall(mass, side, row.storey)
    return _row(house, row, row.marks[number], (where, *row.places[number]))


def _attached(house: Building, thing: FixedOver) -> Row:
    mass = house.mass(thing.mass)
    return _row(
        house,
        thing,
        thing.mark,
        (_wall(mass, mass.sides[thing.side], thing.storey), thing.offset, thing.height),
    )


def _wall(mass: Mass, side: str, story: int) -> str:
    return side if len(mass.storeys) == 1 else f"{side}, story {mass.storeys[story].name}"
