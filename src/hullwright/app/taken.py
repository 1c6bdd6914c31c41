"""What does an entry that was just kept take, what does it leave out and why, and what does it need: said on its receipt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from hullwright.app.house import House
from hullwright.app.log import Log
from hullwright.app.on_drawing import methods_of
from hullwright.app.site import catalog_of, site_house, site_of
from hullwright.proof.carried import carried
from hullwright.proof.drawing import Drawing
from hullwright.proof.entries import Entry
from hullwright.proof.ledger import standing
from hullwright.proof.locate import HELD, NEEDS_PLACE, locate
from hullwright.proof.rules import ABOUT
from hullwright.proof.site import House as SiteHouse
from hullwright.proof.site import Located
from hullwright.store.database import Store
from hullwright.store.drawings import drawings
from hullwright.store.entries import list_entries

_DECIDE: Final = ("done", "unit set", "trade through", "as laid differs")
"""Kinds in the log that decide what an entry takes: whoever sends a reading never waits for all readings to be read."""
_ABOUT: Final = frozenset({"run", "place"})
_WHAT_TO_DO: Final = {
    NEEDS_PLACE: "needs a place: say the joint, run, mark, or the place on the face; it proves nothing before",
    HELD: "held for review: it proves nothing before it is corrected or a product sheet is given",
}


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of one entry on the drawing that stands.

    Parameters
    ----------
    left_out : tuple of (str, str)
        Joints that it names, or lie on the face it names, and that it does not take, with the reason.
    lacking : str
        '' or why it proves nothing, with what to do.
    """

    left_out: tuple[tuple[str, str], ...] = ()
    lacking: str = ""

    def to_json(self) -> dict[str, Any]:
        """Give what was left out, and what is lacking."""
        return {
            "left_out": [{"joint": joint, "why": why} for joint, why in self.left_out],
            "lacking": self.lacking,
        }


def taken(log: Log, house: House, sent: Sequence[Entry], plan: str | None = None) -> dict[str, Taken]:
    """Say what entries take that were just kept.

    Parameters
    ----------
    log : Log
    house : House
        As its file stands: used where no drawing was issued.
    sent : sequence of Entry
        With their receipts.
    plan : str or None
        ``plan.json``, for joints that were issued without a planned method.

    Returns
    -------
    dict of str to Taken
        By id, of the entries that leave something out or prove nothing.
    """
    asked = {entry.id: entry for entry in sent if entry.kind in ABOUT and ABOUT[entry.kind].about in _ABOUT}
    if not asked:
        return {}
    with Store(log.path) as store:
        before = list_entries(store, log.house, kinds=_DECIDE)
        row = drawings(store, log.house)
    known = {entry.id: entry for entry in before}
    entries = tuple({**asked, **known}.values())
    methods, catalog = methods_of(plan, house) if plan else {}, catalog_of(house)

    def site(one: Drawing) -> SiteHouse:
        return site_of(one, methods, catalog)

    on = site(row[-1].drawing) if row else site_house(house, plan)
    now = standing(carried(entries, row, site))
    found: dict[str, list[Located]] = {}
    for one in locate(now.entries, on, on.sheets):
        found.setdefault(one.entry.id, []).append(one)
    out = {name: _one(found[name]) for name in asked if name in found}
    return {name: one for name, one in out.items() if one != Taken()}


def _one(found: Sequence[Located]) -> Taken:
    left = dict(pair for one in found for pair in one.left_out)
    lacking = next((one.lacking for one in found), "") if all(one.lacking for one in found) else ""
    return Taken(tuple(left.items()), _WHAT_TO_DO.get(lacking, lacking))
