"""Questions at which a search failed a check of its own: kept for those who mend it, a few and small ones."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Final

from hullwright.app.disk import write_whole
from hullwright.choice.solver import Case
from hullwright.errors import HullwrightError
from hullwright.store.location import home_of, store_path

FOLDER: Final = "solver-cases"
MOST: Final = 20
"""Cases that are kept; the oldest goes for a new one."""
LARGEST: Final = 4_000_000
"""Bytes of a case; a larger one is not kept."""


_SHORTEST: Final = 3  # "0, ": bytes of a number at least


class Cases:
    """Keeps what a search is asked where it fails a check, and says so.

    A case holds figures only, no name. Nothing that goes wrong here stops the work: then the case is not kept, and the note
    says that.

    Parameters
    ----------
    folder : Path or None
        Where; None: beside the log, where the data of this user are.

    Examples
    --------
    >>> Cases().notes
    ()
    """

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = folder
        self._kept: list[str] = []

    def __call__(self, case: Case) -> None:
        """Keep a case."""
        self._kept.append(self._written(case))

    @property
    def notes(self) -> tuple[str, ...]:
        """What the answer says about it, for those who read it as JSON; nothing where all searches held."""
        return tuple(
            "solved by the general solver: a check of the own search failed; "
            + (
                f"the figures of the question are kept as {FOLDER}/{name} in the data folder"
                if name
                else "its figures could not be kept"
            )
            for name in dict.fromkeys(self._kept)
        )

    def _written(self, case: Case) -> str:
        """Write it; the name of the file, '' where it is not to be."""
        try:
            content = b"" if _large(case) else json.dumps(case.to_json(), allow_nan=False).encode()
            if not content or len(content) > LARGEST:
                return ""
            folder = self._folder or home_of(store_path()) / FOLDER
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            # the same question has the same name: asked again it takes no more room
            path = folder / f"case-{hashlib.sha256(content).hexdigest()[:16]}.json"
            write_whole(path, content)
            _thin(folder, path)
        except (HullwrightError, OSError, ValueError):
            return ""
        return path.name


def _large(case: Case) -> bool:
    """Whether it would be too large however short its numbers are: then it isn't even written out."""
    return _SHORTEST * (case.instance.use.size + 6 * case.instance.options) > LARGEST


def _thin(folder: Path, newest: Path) -> None:
    """Leave the newest cases alone."""
    others = sorted(
        (path for path in folder.glob("case-*.json") if path != newest),
        key=lambda path: (path.stat().st_mtime, path.name),
    )
    for path in others[: max(0, len(others) + 1 - MOST)]:
        path.unlink(missing_ok=True)
