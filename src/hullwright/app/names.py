"""Under which id is a building file known in log and rights: for good, and never shared by two files.

Files of the same name in two folders are two houses. A file that was renamed or moved keeps its id: where its bytes are those
that were last seen under a path that is gone, or where it lies in the folder of one file that is gone and bears the same
``name:``. Where more than one may be meant it is a new house, for a log that is shared wrongly is worse than one to be looked
for. The ids are kept beside the log, which all folders share; the command line and the service ask here.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from pathlib import Path
from threading import Lock
from typing import Final

from hullwright.app.disk import write_whole
from hullwright.app.files import demo_file

EXAMPLE: Final = "example-"
"""Begins the id of a house that comes with the program."""
_NAME: Final = re.compile(rb"^name:[ \t]*([^#\r\n]*?)[ \t]*(?:#.*)?\r?$", re.MULTILINE)
Seen = tuple[str, str]
"""Name that a file states, and SHA-256 of its bytes."""


class Names:
    """Ids of building files.

    Parameters
    ----------
    file : Path
        Where they are kept.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     names = Names(Path(folder) / "houses.json")
    ...     names.of(Path("/a/shed.yaml")), names.of(Path("/b/shed.yaml")), names.of(Path("/a/shed.yaml"))
    ('shed', 'shed-2', 'shed')
    """

    def __init__(self, file: Path) -> None:
        self.file = file
        self._lock = Lock()
        self._known = self._read(self.file)
        self._seen = {name: (one[0], one[1]) for name, one in self._read(self._beside).items()}
        self._looked: dict[str, tuple[tuple[int, int], Seen]] = {}

    def of(self, path: Path) -> str:
        """Give the id of a building file; a new one is noted, and so is where it lies now.

        Raises
        ------
        OutputError
            Where it can't be noted.
        """
        place = str(path.absolute())
        if path.absolute().parent == demo_file().parent.absolute():
            return EXAMPLE + path.stem
        with self._lock:
            if place not in self._known:
                self._known = self._read(self.file)
            seen = self._look(place)
            if place not in self._known:
                before = self._moved(place, seen)
                name = self._known.pop(before) if before else self._free(path.stem)
                self._known[place] = name
                self._write(self.file, self._known)
            name = self._known[place]
            if seen is not None and self._seen.get(name) != seen:
                self._seen[name] = seen
                self._write(self._beside, self._seen)
            return name

    def _moved(self, place: str, seen: Seen | None) -> str | None:
        """The path under which this file was known before it was moved; None where it is new, or not surely one of them."""
        if seen is None:
            return None
        gone = [one for one in self._known if not Path(one).exists()]
        same = [one for one in gone if self._seen.get(self._known[one], ("", ""))[1] == seen[1]]
        if same:
            return same[0] if len(same) == 1 else None
        folder = Path(place).parent
        named = [
            one
            for one, name in self._known.items()
            if Path(one).parent == folder and seen[0] and self._seen.get(name, ("", ""))[0] == seen[0]
        ]
        return named[0] if len(named) == 1 and named[0] in gone else None

    def _look(self, place: str) -> Seen | None:
        """What a file states and holds now; read again only where it changed."""
        try:
            state = Path(place).stat()
            mark = (state.st_mtime_ns, state.st_size)
            if place not in self._looked or self._looked[place][0] != mark:
                raw = Path(place).read_bytes()
                found = _NAME.search(raw)
                name = found[1].decode("utf-8", "replace").strip("\"'") if found else ""
                self._looked[place] = (mark, (name, hashlib.sha256(raw).hexdigest()))
        except OSError:
            return None
        return self._looked[place][1]

    def _free(self, stem: str) -> str:
        taken, number, name = set(self._known.values()), 2, stem
        while name in taken:
            name, number = f"{stem}-{number}", number + 1
        return name

    @property
    def _beside(self) -> Path:
        return self.file.with_name(f"{self.file.stem}-seen.json")

    @staticmethod
    def _write(file: Path, content: Mapping[str, object]) -> None:
        if file.parent.is_dir():  # looking begins no log; whoever begins one asks again
            write_whole(file, json.dumps(content, ensure_ascii=False, indent=1).encode("utf-8"))

    @staticmethod
    def _read(file: Path) -> dict[str, str]:
        return dict(json.loads(file.read_text("utf-8"))) if file.exists() else {}
