"""What a fan test leaves out, taken from the building file of the house: volume, envelope, floor area and height."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from hullwright.app.house import House
from hullwright.evidence import Evidence, Figure, Mark
from hullwright.fantest import RawTest
from hullwright.fantest.raw import Building
from hullwright.hull import floor_area, height
from hullwright.units import Show

APART: Final = 0.10
"""Share by which a figure of the test may lie off that of the house before it is said (estimate)."""
_OF_THE_HULL: Final = Evidence(Mark.STATED, "from the building file")


@dataclass(frozen=True, slots=True)
class _Size:
    """A figure that test and house both can give."""

    key: str
    name: str
    of: Callable[[House], Figure]
    show: Callable[[Show, float], str]


_SIZES: Final = (
    _Size("volume_m3", "inner volume", lambda house: house.inner_volume, lambda show, v: show.volume(v)),
    _Size("envelope_m2", "envelope", lambda house: Figure(house.hull.area, "m2", _OF_THE_HULL), lambda show, v: show.area(v)),
    _Size("floor_m2", "floor area", lambda house: floor_area(house.building), lambda show, v: show.area(v)),
    _Size(
        "height_m", "height",
        lambda house: Figure(height(house.hull, house.building), "m", _OF_THE_HULL), lambda show, v: show.run_length(v),
    ),
)  # fmt: skip


def of_house(test: RawTest, house: House) -> tuple[RawTest, tuple[str, ...]]:
    """Fill in what a test does not state of its building, and say where the two differ.

    Parameters
    ----------
    test : RawTest
    house : House

    Returns
    -------
    RawTest
        What the test states stays.
    tuple of str
        One line for each figure that was taken, or that differs by more than :data:`APART`.
    """
    show, building, told = Show(house.building.system), test.building, list[str]()
    taken: dict[str, float] = {}
    for size in _SIZES:
        figure, stated = size.of(house), getattr(building, size.key)
        ours = size.show(show, figure.value)
        if stated is None:
            taken[size.key] = figure.value
            told.append(f"{size.name} {ours}, from the building file [{figure.evidence}]")
        elif abs(stated - figure.value) > APART * figure.value:
            off = (stated - figure.value) / figure.value
            told.append(
                f"{size.name}: the test says {size.show(show, stated)}, the building file {ours} ({off:+.0%}); the test's is used"
            )
    basis = building.envelope_basis or ("outside of the whole hull" if "envelope_m2" in taken else "")
    filled = Building(
        **{size.key: taken.get(size.key, getattr(building, size.key)) for size in _SIZES},
        envelope_basis=basis,
        volume_accuracy=building.volume_accuracy,
        envelope_accuracy=building.envelope_accuracy,
        floor_accuracy=building.floor_accuracy,
    )
    return replace(test, building=filled), tuple(told)
