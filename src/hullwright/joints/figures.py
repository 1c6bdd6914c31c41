"""Figures that the sums of the joints start from; a figure of the same name in the building file wins."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from typing import Final

from hullwright.building.model import Building
from hullwright.errors import InputError, Problem, Where
from hullwright.evidence import ESTIMATE, Evidence, Figure, Mark
from hullwright.hull.stories import RIM_DEPTH
from hullwright.units import INCH

_PRACTICE: Final = Evidence(Mark.PRACTICE)

DEFAULTS: Final[Mapping[str, Figure]] = {
    # Depth of a seam that is filled: a 7/16 in panel.
    "panel_thickness": Figure(7 / 16 * INCH, "m", _PRACTICE),
    # Floor framing below a floor line: a level seam that falls on it has wood behind.
    "rim_depth": RIM_DEPTH,
    # Gap between layer and frame of a unit with a flange, and of one without.
    "flange_gap": Figure(INCH / 16, "m", ESTIMATE),
    "frame_gap": Figure(INCH / 4, "m", ESTIMATE),
    # Ring round a pipe, box or tail.
    "ring_gap": Figure(INCH / 8, "m", ESTIMATE),
    # Sheathing to concrete: trowelled concrete is less even than panel edges.
    "sill_gap": Figure(INCH / 4, "m", ESTIMATE),
    # A seam this close to a floor line is the floor line.
    "same_line": Figure(INCH / 2, "m", ESTIMATE),
}


def check(building: Building) -> None:
    """Refuse a figure without a dot in its name that is none of ours; names with a dot are the catalog's, which checks them.

    Parameters
    ----------
    building : Building

    Raises
    ------
    InputError
        Every such name at once, each with the nearest known one.
    """
    problems = [
        Problem(
            f"no figure {name!r}",
            Where(building.file or None, key=f"figures.{name}"),
            name,
            "; ".join(DEFAULTS),
            _near(name),
        )
        for name in building.figures
        if "." not in name and name not in DEFAULTS
    ]
    if problems:
        raise InputError("some figures can't be used", problems)


def _near(name: str) -> str:
    match = difflib.get_close_matches(name, list(DEFAULTS), 1)
    return f"did you mean {match[0]}?" if match else "`hullwright figures` lists every name"


def figure(building: Building, name: str) -> float:
    """Value of a figure: the building file's own where it states one.

    Parameters
    ----------
    building : Building
    name : str
        Key of :data:`DEFAULTS`.

    Returns
    -------
    float
        Value in SI.

    Examples
    --------
    >>> round(DEFAULTS["rim_depth"].value, 4)
    0.3048
    """
    return building.figures.get(name, DEFAULTS[name]).value
