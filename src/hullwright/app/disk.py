"""A file replaced in one step."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

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
