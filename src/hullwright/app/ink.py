"""With the first drawing the marks become ink: they are written into the building file, and no later edit renumbers them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from hullwright.app.marks import write_marks
from hullwright.errors import InputError, OutputError


@dataclass(frozen=True, slots=True)
class Ink:
    """What became of the marks.

    Parameters
    ----------
    written : int
        How many were written into the file.
    said : str
        What is to be said of it; '' where the file had them all.
    """

    written: int = 0
    said: str = ""


def ink(file: str | Path) -> Ink:
    """Write the marks that are only numbered into a building file; a file that can't be written keeps no drawing back.

    Parameters
    ----------
    file : str or Path

    Returns
    -------
    Ink
    """
    name = Path(file).name
    try:
        written = write_marks(file).written
    except (InputError, OutputError) as error:
        lost = f"The marks are not written into {name}: {error.message}. A later edit may renumber them."
        return Ink(0, f"! {lost}")
    return Ink(written, f"{written} marks are written into {name}: later edits keep them." if written else "")
