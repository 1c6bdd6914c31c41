"""Test day: what must be so before the fan starts, the first walk, and what must be undone after.

Steps are data with their source; those that a house does not call for are left out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal

from hullwright.evidence import Evidence, Mark

_IECC: Final = Evidence(
    Mark.PUBLISHED,
    "IECC residential, test preparation list (R402.4.1.2, editions 2012–2018; look at the edition in force)",
)
_ISO: Final = Evidence(Mark.MEMORY, "ISO 9972:2015, preparation methods 1 to 3")
_SAFE: Final = Evidence(Mark.PUBLISHED, "ASHRAE Handbook—Fundamentals 2021, ch. 16")
_E779: Final = Evidence(Mark.MEMORY, "ASTM E779, section on hazards")
_OURS: Final = Evidence(Mark.PRACTICE)

When = Literal["before", "while it runs", "after"]


@dataclass(frozen=True, slots=True)
class Step:
    """One line of the list.

    Parameters
    ----------
    text : str
    when : str
    evidence : Evidence
    need : str
        Only for houses with this (``flue``, ``fireplace``, ``garage``, ``liquid``, ``tape``); '' for all.
    seal : bool
        A temporary seal that must be taken out again.
    danger : bool
        Someone can be hurt: shown first.
    """

    text: str
    when: When
    evidence: Evidence
    need: str = ""
    seal: bool = False
    danger: bool = False


STEPS: Final = (
    Step("All combustion appliances off by a person trained for it; no fire, no glowing ash in fireplace or stove.", "before", _SAFE, danger=True),
    Step("A carbon monoxide alarm is in the house and works.", "before", _SAFE, danger=True),
    Step("No depressurization where loose asbestos, vermiculite, lead dust or mould could be drawn in: pressurize, or do not test.", "before", _E779, danger=True),
    Step("Eye and hearing protection at the fan; a guard at each door while the house is under pressure.", "before", _E779, danger=True),
    Step("Outside doors and windows closed, not sealed.", "before", _IECC),
    Step("Inside doors open.", "before", _IECC),
    Step("Dampers (bath, kitchen, dryer) closed, not sealed.", "before", _IECC),
    Step("Outside openings of continuous ventilation and heat recovery closed and sealed.", "before", _IECC, seal=True),
    Step("Heating and cooling off, registers fully open.", "before", _IECC),
    Step("Fireplace and stove doors closed, not sealed; ash covered.", "before", _IECC, need="fireplace"),
    Step("Traps full of water.", "before", _OURS),
    Step("Every hole of the trades is made: what is drilled later was not tested.", "before", _IECC),
    Step("Openings without their units are boarded and sealed at the rough opening (shell stage); write down which.", "before", _OURS, need="openings", seal=True),
    Step("The ceiling is up, or the barrier at the roof deck is whole; where not, mask that zone off and write it down.", "before", _OURS, need="ceiling", seal=True),
    Step("Liquid flashing has cured as its sheet says before 50 Pa is put on it.", "before", Evidence(Mark.SHEET, "each product's own sheet"), need="liquid"),
    Step("Tape is rolled and has had its time to bond.", "before", Evidence(Mark.SHEET, "each product's own sheet"), need="tape"),
    Step("The door to the garage is closed, the garage door open.", "before", _OURS, need="garage"),
    Step("State which preparation method was used (1 in use, 2 envelope, 3 special purpose).", "before", _ISO),
    Step("Zero-flow pressures for 30 s at least, fan covered.", "before", _ISO),
    Step("Rough pressure of about 50 Pa: ten minutes of smoke in the order of the hunt list, before any series of readings.", "while it runs", _OURS),
    Step("After each fix read the fan at the same pressure again and write down by how much it moved.", "while it runs", _OURS),
    Step("Stop when the target is met with the confidence asked for; then run the full series of stations.", "while it runs", _OURS),
    Step("Zero-flow pressures again, fan covered.", "while it runs", _ISO),
    Step("Warm damp air is not pressed into a cold wall for longer than the readings need.", "while it runs", _E779),
    Step("Appliances back on and re-lit by a person trained for it; draught looked at.", "after", _SAFE, danger=True),
    Step("Every temporary seal taken out again: tick each one.", "after", _OURS),
)  # fmt: skip


def steps_for(has: Iterable[str]) -> tuple[Step, ...]:
    """Steps for a house, dangers first within each part of the day.

    Parameters
    ----------
    has : iterable of str
        What the house has, of the words that :class:`Step` knows under `need`.

    Examples
    --------
    >>> [s.when for s in steps_for([])][0], sum(s.seal for s in steps_for(["openings"]))
    ('before', 2)
    """
    there = {"", *has}
    order = {"before": 0, "while it runs": 1, "after": 2}
    return tuple(sorted((s for s in STEPS if s.need in there), key=lambda s: (order[s.when], not s.danger)))


def seals(steps: Iterable[Step]) -> tuple[str, ...]:
    """Temporary seals to take out again."""
    return tuple(step.text for step in steps if step.seal)
