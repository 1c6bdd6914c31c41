"""Files that a building file names: product sheets and experience. Only what lies in its own folder, or below, is read."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from hullwright.building.kinds import scalar
from hullwright.building.loose import Loose
from hullwright.building.nodes import MOST_BYTES, Node, compose, decode
from hullwright.building.spec import BROKEN, Notes, Raw, Schema
from hullwright.errors import BuildingFileError, Where

MOST_SHEETS: Final = 500
ENDINGS: Final = (".yaml", ".yml")
_SHEET: Final = Loose("a product sheet")
_INSIDE: Final = "a path in the folder of the building file, or below it"


@dataclass(frozen=True, slots=True)
class Named:
    """A file or folder as named, with the place where it is named."""

    text: str
    where: Where


@dataclass(frozen=True, slots=True)
class FileName:
    """The name of a file or folder.

    Parameters
    ----------
    what : str
    allowed : str
        Said where it ends in none of `endings`.
    endings : tuple of str
        Any where empty.
    """

    what: str
    allowed: str = ""
    endings: tuple[str, ...] = ()

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to Named."""
        text = scalar(node, notes, path, self.what)
        if text is None:
            return BROKEN
        where = notes.where(node, path)
        if self.endings and not text.lower().endswith(self.endings):
            return notes.wrong(where, f"this is not {self.what}", got=text, allowed=self.allowed)
        return Named(text, where)

    def schema(self) -> Schema:
        """String."""
        return {"type": "string"}


def read_products(root: Raw, notes: Notes) -> tuple[dict[str, Any], ...]:
    """Read own product sheets: those in the file itself, those that it names, and those of the folder that it names."""
    sheets: list[dict[str, Any]] = []
    for item in root["products"] or ():
        if not isinstance(item, Named):
            sheets.append(item)
        elif (path := _inside(item, notes)) is not None and _there(item, path.is_file(), notes):
            sheets += _sheet(path, item.where, notes)
    folder: Named | None = root["products_folder"]
    if folder is not None and (path := _inside(folder, notes)) is not None:
        for file in _files(folder, path, notes):
            sheets += _sheet(file, folder.where, notes)
    return tuple(sheets)


def read_experience(root: Raw, notes: Notes) -> tuple[str, ...]:
    """Give the experience files that are named, as paths; what stands in them is read where it is used."""
    named = root["experience"] or []
    found: list[str] = []
    for item in named if isinstance(named, list) else [named]:
        path = _inside(item, notes)
        if path is not None and _there(item, path.is_file(), notes):
            found.append(str(path))
    return tuple(found)


def _inside(named: Named, notes: Notes) -> Path | None:
    """Path of what is named, None after noting that it can't be read here."""
    if notes.folder is None:
        notes.wrong(
            named.where,
            "no other file is read here: this house came without its folder",
            got=named.text,
            allowed="product sheets and figures written into the building file itself",
        )
        return None
    path = notes.folder / named.text
    try:
        inside = path.resolve().is_relative_to(notes.folder.resolve())
    except (OSError, ValueError, RuntimeError):
        inside = False
    if not inside:
        notes.wrong(
            named.where, "this lies outside the folder of the building file", got=named.text, allowed=_INSIDE
        )
        return None
    return path


def _there(named: Named, there: bool, notes: Notes) -> bool:
    if not there:
        notes.wrong(
            named.where, "there is no such file", got=named.text, allowed=_INSIDE, hint="look at the path"
        )
    return there


def _files(named: Named, folder: Path, notes: Notes) -> list[Path]:
    try:
        files = sorted(file for file in folder.iterdir() if file.suffix.lower() in ENDINGS and file.is_file())
    except OSError as error:
        reason = error.strerror or str(error)
        notes.wrong(named.where, f"the folder can't be read: {reason}", got=named.text, allowed=_INSIDE)
        return []
    files = [
        file
        for file in files
        if _inside(Named(str(file.relative_to(notes.folder or folder)), named.where), notes)
    ]
    if not 0 < len(files) <= MOST_SHEETS:
        allowed = f"1 to {MOST_SHEETS} product sheets, each a file that ends in .yaml"
        notes.wrong(
            named.where,
            "the folder holds no product sheets, or too many",
            got=f"{len(files)} in {named.text}",
            allowed=allowed,
        )
        return []
    return files


def _sheet(path: Path, named_at: Where, notes: Notes) -> list[dict[str, Any]]:
    """Read one sheet; its own problems name its own file and line."""
    try:
        with path.open("rb") as stream:
            text = decode(stream.read(MOST_BYTES + 1), str(path))
        node = compose(text, str(path))
    except OSError as error:
        notes.wrong(
            named_at, f"{path} can't be opened: {error.strerror or error}", got=str(path), allowed=_INSIDE
        )
        return []
    except BuildingFileError as error:
        notes.problems.extend(error.problems)
        return []
    own = Notes(str(path), notes.bare, notes.system, notes.problems)
    sheet = _SHEET.read(node, own, "sheet")
    return [] if sheet is BROKEN else [sheet]
