"""A fan test that was typed or pasted, and the list of its day before there is a plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from hullwright.app.fantest import FanTest
from hullwright.app.house import House
from hullwright.fantest import analyse, answer
from hullwright.leaks.testday import steps_for
from hullwright.readers.fantest_files import read_fantest


def analyse_text(text: str, name: str, *, against: Sequence[str] = (), level: float = 0.95) -> FanTest:
    """Analyse readings.

    Parameters
    ----------
    text : str
        As in a fan-test file.
    name : str
        Its ending (yaml, csv) tells the kind; stands in problems.
    against : sequence of str
        Limits by id, or such as ``3 ach50``.
    level : float
        Coverage of the intervals.

    Returns
    -------
    FanTest

    Raises
    ------
    FanTestError
        With every problem.
    """
    result = analyse(read_fantest(text.encode("utf-8", errors="replace"), name), level=level)
    return FanTest(result, tuple(answer(result, limit) for limit in against))


def day_steps(house: House) -> list[dict[str, Any]]:
    """Give the list of the test day by what the building file states; sealing methods are taken as both, to be safe."""
    building, hull = house.building, house.hull
    has = {"liquid", "tape"}
    has |= {"openings"} if building.openings else set()
    has |= {"garage"} if any(face.kind.value == "garage wall" for face in hull.faces) else set()
    has |= {"fireplace"} if any(p.kind in ("chimney", "flue") for p in building.penetrations) else set()
    has |= {"ceiling"} if any(mass.top == "ceiling" for mass in building.masses if mass.inside) else set()
    return [
        {"text": s.text, "when": s.when, "evidence": s.evidence.to_json(), "danger": s.danger, "seal": s.seal}
        for s in steps_for(has)
    ]
