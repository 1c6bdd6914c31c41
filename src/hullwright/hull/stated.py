"""Do the stated inner volume and floor area go with the hull: what can't be is refused, what is odd is asked."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from hullwright.building.model import Building
from hullwright.errors import NOWHERE, MassingError, Problem, Where
from hullwright.evidence import ESTIMATE, Figure
from hullwright.hull.model import Hull
from hullwright.units import Show

LEAST_SHARE: Final = Figure(0.5, "", ESTIMATE)
"""Least usual share of the hull that is air inside: thick walls and floors of a small house take a third."""
LOWEST_ROOM: Final = Figure(1.8, "m", ESTIMATE)
"""No floor is counted under less than this mean height."""
HIGHEST_ROOM: Final = Figure(10.0, "m", ESTIMATE)
_SLACK: Final = 1e-6


def check_stated(hull: Hull, building: Building) -> None:
    """Hold the stated inner volume and floor area against the hull.

    Parameters
    ----------
    hull : Hull
    building : Building

    Raises
    ------
    MassingError
        The volume is larger than the hull, the floor larger than it can hold; or a question that `sure` does not answer.
    """
    problems = [*_volume(hull, building), *_floor(hull, building)]
    if problems:
        raise MassingError("the build-up does not go with the hull", problems)


def _volume(hull: Hull, building: Building) -> Iterator[Problem]:
    stated, show = building.build_up.inner_volume, Show(building.system)
    if stated is None:
        return
    where, got = building.build_up.places.get("inner_volume"), show.fine_volume(stated)
    whole = show.fine_volume(hull.volume)
    if stated > hull.volume * (1 + _SLACK):
        yield _problem(
            "the inner volume is larger than the hull",
            where,
            got,
            f"less than {whole}, the volume of the hull",
            "check its unit, and whether the file states the whole house; left out, it is worked out from the thicknesses",
        )
    elif stated < LEAST_SHARE.value * hull.volume and "inner_volume" not in building.build_up.sure:
        yield _problem(
            "is this right? the inner volume is less than half of the hull",
            where,
            got,
            f"usually more than half of {whole}",
            "check its unit; if it is right, add `sure: [inner_volume]` beside it",
        )


def _floor(hull: Hull, building: Building) -> Iterator[Problem]:
    stated, show = building.build_up.floor_area, Show(building.system)
    if stated is None:
        return
    where, got = building.build_up.places.get("floor_area"), show.area(stated)
    inside = min(building.build_up.inner_volume or hull.volume, hull.volume)
    most, least = inside / LOWEST_ROOM.value, inside / HIGHEST_ROOM.value
    if stated > hull.volume / LOWEST_ROOM.value * (1 + _SLACK):
        yield _problem(
            "the hull can't hold this floor area",
            where,
            got,
            f"at most {show.area(hull.volume / LOWEST_ROOM.value)}: {show.size(LOWEST_ROOM.value)} of height over it",
            "check its unit, and whether the file states the whole house",
        )
    elif not least <= stated <= most and "floor_area" not in building.build_up.sure:
        yield _problem(
            "is this right? the floor area goes badly with the inner volume",
            where,
            got,
            f"usually {show.area(least)} to {show.area(most)}",
            "check its unit; if it is right, add `sure: [floor_area]` beside it",
        )


def _problem(message: str, where: Where | None, got: str, allowed: str, hint: str) -> Problem:
    return Problem(message, where or NOWHERE, got, allowed, hint)
