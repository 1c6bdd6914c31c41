"""Under which id is a building file known in log and rights: for good, and never shared by two files.

Files of the same name in two folders are two houses. The ids are kept beside the log, which both folders share.
"""

from __future__ import annotations

import json
from pathlib import Path
from threading import Lock

from hullwright.app.disk import write_whole


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
        self._known = self._read()

    def of(self, path: Path) -> str:
        """Give the id of a building file; a new one is noted.

        Raises
        ------
        OutputError
            Where it can't be noted.
        """
        place = str(path.absolute())
        with self._lock:
            if place not in self._known:
                self._known = self._read()
            if place not in self._known:
                self._known[place] = self._free(path.stem)
                text = json.dumps(self._known, ensure_ascii=False, indent=1)
                write_whole(self.file, text.encode("utf-8"))
            return self._known[place]

    def _free(self, stem: str) -> str:
        taken, number, name = set(self._known.values()), 2, stem
        while name in taken:
            name, number = f"{stem}-{number}", number + 1
        return name

    def _read(self) -> dict[str, str]:
        if not self.file.exists():
            return {}
        return {str(place): str(name) for place, name in json.loads(self.file.read_text("utf-8")).items()}
