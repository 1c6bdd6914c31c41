"""The building file from text to :class:`Building`, with every problem told at once."""

from __future__ import annotations

from pathlib import Path
from typing import Final, Literal

from hullwright.building import keys_work
from hullwright.building.beside import read_experience, read_products
from hullwright.building.layer import read_build_up, read_sheathing, read_surfaces
from hullwright.building.marks import Marked, numbered
from hullwright.building.masses import read_masses
from hullwright.building.model import Building
from hullwright.building.nodes import MOST_BYTES, Node, compose, decode
from hullwright.building.openings import read_openings
from hullwright.building.parts import read_ceiling, read_later, read_neighbours, read_through
from hullwright.building.penetrations import read_penetrations
from hullwright.building.seen import Sight
from hullwright.building.spec import BROKEN, Notes, Raw
from hullwright.building.work import (
    plain_map,
    read_aim,
    read_crew,
    read_figures,
    read_other_leakage,
    read_photos,
    read_site,
)
from hullwright.errors import BuildingFileError, Problem, Where

System = Literal["us", "metric"]
_SYSTEM: Final[dict[str, System]] = {"ft": "us", "in": "us", "m": "metric", "mm": "metric"}


def read(path: str | Path) -> Building:
    """Read a building file.

    Parameters
    ----------
    path : str or Path
        The file.

    Returns
    -------
    Building
        The house in SI.

    Raises
    ------
    BuildingFileError
        With every problem found: file, line, key, what was found, what is allowed, what to do.
    """
    name = str(path)
    try:
        with Path(path).open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        problem = Problem(
            "the file can't be opened", Where(name), reason, "a building file", "look at the path"
        )
        raise BuildingFileError(f"{name} can't be opened", [problem]) from error
    return parse(decode(raw, name), file=name, folder=Path(path).parent)


def parse(text: str, file: str = "building file", *, folder: Path | None = None) -> Building:
    """Read the text of a building file.

    Parameters
    ----------
    text : str
        YAML, see docs/building-file.md.
    file : str
        Name for errors.
    folder : Path or None
        Where product sheets and experience that the file names may lie; None: naming any is an error.

    Returns
    -------
    Building
        The house in SI; `assumed` lists every default that was taken.

    Raises
    ------
    BuildingFileError
        With every problem found.

    Examples
    --------
    >>> house = parse('''
    ... units: ft
    ... name: Shed
    ... barrier: {top: roof deck, bottom: slab}
    ... masses:
    ...   - {name: main, size: [24, 16], storeys: [8 ft], roof: {form: gable, pitch: 6:12, ridge: east-west}}
    ... ''')
    >>> house.masses[0].sides, round(house.masses[0].wall_top, 4)
    (('south', 'east', 'north', 'west'), 2.4384)
    """
    root_node = compose(text, file)
    notes = Notes(file, folder=folder)
    _read_units(root_node, notes)
    root: Raw = keys_work.FILE.read(root_node, notes, "")
    building = _building(root, notes)
    if notes.problems:
        problems = sorted(notes.to_tell(), key=lambda p: _order(p.where, file))
        count = len(problems)
        raise BuildingFileError(
            f"{count} {'thing is' if count == 1 else 'things are'} wrong in {file}", problems
        )
    return building


def _order(where: Where, file: str) -> tuple[bool, str, int, int]:
    return where.file != file, where.file or "", where.line or 0, where.column or 0


def _read_units(root: Node, notes: Notes) -> None:
    """Read units first: bare numbers everywhere depend on them; their own problems are told by the main pass."""
    quiet = Notes(notes.file)
    stated = {key.text: value for key, value in root.entries}
    if "units" in stated:
        unit = keys_work.UNITS.read(stated["units"], quiet, "units")
        if unit is not BROKEN:
            notes.bare = unit
            notes.system = _SYSTEM[unit]
            return
    notes.units_known = False


def _building(root: Raw, notes: Notes) -> Building:
    bodies = read_masses(root, notes)
    sight = Sight(bodies.values())
    openings = read_openings(root, bodies, sight, notes)
    penetrations = read_penetrations(root, bodies, sight, openings, notes)
    marked = numbered(
        Marked(openings, penetrations, read_later(root, bodies, notes)),
        [raw["name"] for raw in root["masses"] or [] if raw["name"] is not None],
        notes.marks,
    )
    system: System = root["system"] or notes.system
    return Building(
        name=root["name"] or "",
        system=system,
        currency=root["currency"] or "",
        masses=tuple(body.mass for body in bodies.values() if body.mass),
        neighbours=read_neighbours(root, bodies, notes),
        through=read_through(root, bodies, notes),
        openings=marked.openings,
        penetrations=marked.penetrations,
        fixed_over=marked.later,
        sheathing=read_sheathing(root, bodies, notes),
        surfaces=read_surfaces(root, bodies, notes),
        build_up=read_build_up(root, notes),
        ceiling=read_ceiling(root, bodies, notes),
        site=read_site(root, notes),
        crew=read_crew(root, notes),
        aim=read_aim(root, notes),
        prices=plain_map(root, "prices"),
        stock=plain_map(root, "stock"),
        products=read_products(root, notes),
        use=root["use"] or "any",
        experience=read_experience(root, notes),
        other_leakage=read_other_leakage(root),
        figures=read_figures(root, notes),
        file=notes.file,
        assumed=notes.told(),
        remarks=tuple(notes.remarks),
        stated_marks=frozenset(notes.marks),
        photos=read_photos(root, notes),
    )
