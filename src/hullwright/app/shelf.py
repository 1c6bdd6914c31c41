"""The houses of a folder: found, read, written whole, never over what somebody changed meanwhile."""

from __future__ import annotations

import hashlib
import re
from collections import OrderedDict
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock
from typing import Final

from hullwright import building as building_room
from hullwright.app.disk import unwritable, write_whole
from hullwright.app.files import demo_file
from hullwright.app.house import House
from hullwright.app.ink import Ink, ink
from hullwright.app.names import EXAMPLE, Names
from hullwright.app.refusals import ChangedError, ForbiddenError, UnknownError
from hullwright.building.nodes import MOST_BYTES, decode
from hullwright.errors import BuildingFileError, InputError, OutputError, Problem, Where

NAME: Final = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
LONGEST: Final = 60
KEPT: Final = 8
"""Houses whose joints are kept in memory."""


@dataclass(frozen=True, slots=True)
class Place:
    """A house on the shelf.

    Parameters
    ----------
    id : str
        Name in addresses and in the log.
    path : Path
        Its building file.
    example : bool
        Comes with the program: read only.
    """

    id: str
    path: Path
    example: bool


@dataclass(frozen=True, slots=True)
class Text:
    """A building file as it is on disk.

    Parameters
    ----------
    text : str
    hash : str
        SHA-256 of its bytes, hexadecimal.
    """

    text: str
    hash: str


@dataclass
class Shelf:
    """Building files of a folder, and the examples.

    Parameters
    ----------
    folder : Path
        Where building files lie.
    drafts : Path
        Where texts are kept that can't be used yet.
    names : Names
        Ids of building files.
    """

    folder: Path
    drafts: Path
    names: Names
    _houses: OrderedDict[tuple[str, str], House] = field(default_factory=OrderedDict)
    _lock: Lock = field(default_factory=Lock)

    def places(self) -> tuple[Place, ...]:
        """Give all houses, those of the folder first."""
        own = [
            Place(self.names.of(path), path, example=False)
            for path in sorted(self.folder.glob("*.yaml"))
            if path.is_file() and not path.is_symlink() and good_name(path.stem) and not _of_ours(path)
        ]
        examples = [
            Place(EXAMPLE + path.stem, path, example=True)
            for path in sorted(demo_file().parent.glob("*.yaml"))
        ]
        return (*own, *examples)

    def find(self, name: str) -> Place:
        """Give a house by its id.

        Raises
        ------
        UnknownError
            Where there is none.
        """
        for place in self.places():
            if place.id == name:
                return place
        raise UnknownError("there is no such house")

    def text(self, place: Place) -> Text:
        """Read a building file as text."""
        return Text(*_read(place.path, place.id))

    def house(self, place: Place) -> tuple[House, str]:
        """Give the house and the hash of the file it was read from; worked out once for each content.

        Raises
        ------
        BuildingFileError, MassingError
            Where the file on disk can't be used.
        """
        text, digest = _read(place.path, place.id)
        return self.known(place.id, digest, text, place.path.name), digest

    def known(self, name: str, digest: str, text: str, file: str) -> House:
        """Give the house of a text; worked out once for each content.

        Raises
        ------
        BuildingFileError, MassingError
            Where the text can't be used.
        """
        with self._lock:
            found = self._houses.get((name, digest))
            if found is not None:
                self._houses.move_to_end((name, digest))
                return found
        house = House(building_room.parse(text, file=file))
        with self._lock:
            house = self._houses.setdefault((name, digest), house)
            while len(self._houses) > KEPT:
                self._houses.popitem(last=False)
        return house

    def put(self, place: Place, text: str, based_on: str) -> Text:
        """Replace a building file whole.

        Parameters
        ----------
        place : Place
        text : str
        based_on : str
            Hash of the text that was changed.

        Returns
        -------
        Text
            As it is on disk now.

        Raises
        ------
        BuildingFileError
            With every problem; the text is kept as a draft, the file stays.
        ChangedError
            Where the file changed on disk meanwhile; the text is kept as a draft.
        ForbiddenError
            Where it is an example.
        """
        if place.example:
            raise ForbiddenError("an example is read only", [Problem("copy it first", got=place.id)])
        self.keep_draft(place.id, "building", text)
        building_room.parse(text, file=place.path.name)
        with self._lock:
            _, now = _read(place.path, place.id)
            if now != based_on:
                raise ChangedError(
                    "the building file changed on disk since it was read; nothing was overwritten",
                    [
                        Problem(
                            "another version is on disk",
                            Where(place.path.name),
                            now,
                            based_on,
                            "look at both, then send the text again with the hash of the one on disk",
                        )
                    ],
                )
            write_whole(place.path, text.encode("utf-8"))
        self.drop_draft(place.id, "building")
        return self.text(place)

    def ink(self, place: Place) -> Ink:
        """Write the marks that are only numbered into a building file; drafts and all else stay, an example as a whole."""
        if place.example:
            return Ink()
        with self._lock:
            return ink(place.path)

    def new(self, name: str, text: str) -> Place:
        """Write a new building file.

        Parameters
        ----------
        name : str
            Small letters, digits and single hyphens; becomes the file's name.
        text : str

        Returns
        -------
        Place

        Raises
        ------
        InputError
            Where the name can't be used or is taken, or the text is wrong (kept as a draft then).
        """
        if not good_name(name) or name.startswith(EXAMPLE):
            allowed = f"small letters, digits and hyphens, up to {LONGEST}, not starting with {EXAMPLE}"
            raise InputError(
                "this name can't be used", [Problem("not a name", Where(key="name"), name[:80], allowed)]
            )
        path = self.folder / f"{name}.yaml"
        if any(place.id == name for place in self.places()):
            raise _taken(name)
        self.keep_draft(name, "building", text)
        building_room.parse(text, file=path.name)
        try:
            path.open("x").close()  # takes the name; whoever comes second is told
        except FileExistsError as error:
            raise _taken(name) from error
        except OSError as error:
            raise unwritable(path, error) from error
        try:
            write_whole(path, text.encode("utf-8"))
        except OutputError:
            path.unlink(missing_ok=True)  # no half a house, and the name is free again
            raise
        self.drop_draft(name, "building")
        return Place(self.names.of(path), path, example=False)

    def keep_draft(self, house: str, name: str, text: str) -> None:
        """Keep a text that a person typed, whatever comes of it."""
        if len(text) > MOST_BYTES:
            raise BuildingFileError(
                "the text is too large", [Problem("too many characters", got=str(len(text)))]
            )
        path = self._draft(house, name)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise unwritable(path, error) from error
        write_whole(path, text.encode("utf-8", errors="replace"))

    def draft(self, house: str, name: str) -> str | None:
        """Give a kept text, None where there is none."""
        path = self._draft(house, name)
        return path.read_text("utf-8") if path.is_file() else None

    def drop_draft(self, house: str, name: str) -> None:
        """Forget a kept text."""
        self._draft(house, name).unlink(missing_ok=True)

    def _draft(self, house: str, name: str) -> Path:
        if not good_name(house) or not good_name(name):
            raise UnknownError("there is no such house")
        return self.drafts / house / f"{name}.txt"


def _taken(name: str) -> InputError:
    return InputError(
        "there is a house of that name", [Problem("the name is taken", Where(key="name"), name)]
    )


def _of_ours(path: Path) -> bool:
    """Whether a file is one of the examples: they are listed as such, once."""
    return path.absolute().parent == demo_file().parent.absolute()


def good_name(name: str) -> bool:
    """Whether a name can be part of an address and of a file name on every system.

    Examples
    --------
    >>> good_name("my-house-2"), good_name("../etc"), good_name("A b")
    (True, False, False)
    """
    return len(name) <= LONGEST and NAME.fullmatch(name) is not None


def _read(path: Path, name: str) -> tuple[str, str]:
    try:
        with path.open("rb") as stream:
            raw = stream.read(MOST_BYTES + 1)
    except FileNotFoundError as error:
        raise UnknownError("there is no such house") from error
    except OSError as error:
        problem = Problem("the file can't be opened", Where(path.name), error.strerror or "")
        raise BuildingFileError(f"{name} can't be opened", [problem]) from error
    return decode(raw, path.name), hashlib.sha256(raw).hexdigest()
