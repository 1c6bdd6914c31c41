"""Small things that go with the packs: nozzles, spreaders, rollers, rags, gloves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from hullwright.evidence import ESTIMATE, Figure
from hullwright.material.ask import Ask
from hullwright.material.packs import whole_packs


@dataclass(frozen=True, slots=True)
class Rates:
    """Small things per pack and day.

    Parameters
    ----------
    nozzles_per_tube, spreaders_per_liquid_day, rags_per_liquid_day : Figure
        For liquids.
    rollers_per_tape_crew, sleeves_per_coat_day : Figure
        For tape and for coats.
    gloves_per_person_day : Figure
        Pairs of gloves.
    """

    nozzles_per_tube: Figure
    spreaders_per_liquid_day: Figure
    rags_per_liquid_day: Figure
    rollers_per_tape_crew: Figure
    sleeves_per_coat_day: Figure
    gloves_per_person_day: Figure


RATES: Final = Rates(
    nozzles_per_tube=Figure(1.0, "per cartridge or sausage", ESTIMATE),
    spreaders_per_liquid_day=Figure(1.0, "per crew-day of liquid", ESTIMATE),
    rags_per_liquid_day=Figure(10.0, "per crew-day of liquid", ESTIMATE),
    rollers_per_tape_crew=Figure(1.0, "per crew that lays tape", ESTIMATE),
    sleeves_per_coat_day=Figure(2.0, "per crew-day of coating", ESTIMATE),
    gloves_per_person_day=Figure(2.0, "pairs per person and day", ESTIMATE),
)


@dataclass(frozen=True, slots=True)
class Work:
    """Work that small things go with.

    Parameters
    ----------
    tubes : int
        Cartridges and sausages.
    liquid_days, tape_days, coat_days : float
        Crew-days of each.
    tape_crews : int
        Crews that lay tape at the same time.
    people : float
        People in a crew.
    """

    tubes: int = 0
    liquid_days: float = 0.0
    tape_days: float = 0.0
    coat_days: float = 0.0
    tape_crews: int = 0
    people: float = 1.0

    def __post_init__(self) -> None:
        ask = Ask("the small things")
        ask.count("tubes", self.tubes)
        ask.count("tape_crews", self.tape_crews)
        for key in ("liquid_days", "tape_days", "coat_days"):
            ask.not_negative(key, getattr(self, key), "crew-days")
        ask.positive("people", self.people, "people")
        ask.done()


@dataclass(frozen=True, slots=True)
class Consumable:
    """So many of a small thing.

    Parameters
    ----------
    name : str
        What it is.
    count : int
        Whole pieces (gloves: pairs).
    rate : Figure
        The rate behind it, with its mark.
    """

    name: str
    count: int
    rate: Figure


def consumables(work: Work, rates: Rates = RATES) -> list[Consumable]:
    """Nozzles, spreaders, rollers, rags, gloves.

    Parameters
    ----------
    work : Work
        Packs and crew-days.
    rates : Rates
        Rates; the starting ones are estimates.

    Returns
    -------
    list of Consumable
        Those with at least one piece.

    Examples
    --------
    >>> [(c.name, c.count) for c in consumables(Work(tubes=12, liquid_days=1.5, people=2))]
    [('nozzle', 12), ('spreader', 2), ('rag', 15), ('gloves, pair', 6)]
    """
    days = work.liquid_days + work.tape_days + work.coat_days
    wanted = (
        ("nozzle", rates.nozzles_per_tube, work.tubes),
        ("spreader", rates.spreaders_per_liquid_day, work.liquid_days),
        ("rag", rates.rags_per_liquid_day, work.liquid_days),
        ("tape roller", rates.rollers_per_tape_crew, work.tape_crews),
        ("paint roller sleeve", rates.sleeves_per_coat_day, work.coat_days),
        ("gloves, pair", rates.gloves_per_person_day, days * work.people),
    )
    counted = [Consumable(name, whole_packs(rate.value * base), rate) for name, rate, base in wanted]
    return [item for item in counted if item.count]
