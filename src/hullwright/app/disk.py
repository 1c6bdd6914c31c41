"""A file replaced in one step."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Any

from hullwright.errors import OutputError, Problem, Where


def write_whole(path: Path, content: bytes) -> None:
    """Replace a file in one step: it has the old content or the new, also after a power cut.

    Raises
    ------
    OutputError
        Where the folder can't be written.
    """
    try:
        handle, name = tempfile.mkstemp(prefix=".hullwright-", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(content)
                stream.flush()
                os.fsync(stream.fileno())
            if path.exists():
                Path(name).chmod(path.stat().st_mode & 0o777)
            Path(name).replace(path)
            _settle(path.parent)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise unwritable(path, error) from error


def _settle(folder: Path) -> None:
    """Let the new name reach the disk too, where the system can say so."""
    if hasattr(os, "O_DIRECTORY"):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def unwritable(path: Path, error: OSError) -> OutputError:
    """Say that a file could not be written, without the folders above it."""
    problem = Problem(f"can't write: {error.strerror or error}", Where(path.name))
    return OutputError("it could not be written", [problem])


def without_folders(problem: dict[str, Any]) -> dict[str, Any]:
    """Give a problem as it may be told to another machine: the name of a file, not where it lies on this one.

    Examples
    --------
    >>> problem = {"where": {"file": "/home/a/log.sqlite3"}, "got": "can't open /home/a/log.sqlite3"}
    >>> without_folders(problem)
    {'where': {'file': 'log.sqlite3'}, 'got': ''}
    """
    where, got = problem["where"], problem["got"]
    file = where["file"] or ""
    if "://" in file:  # address of a server: who asks from outside needs neither its name nor its account
        return problem | {"where": where | {"file": "log"}, "got": ""}
    folder, name = os.path.split(file)
    if not folder:
        return problem
    return problem | {"where": where | {"file": name}, "got": "" if folder in got else got}
