"""The record of a house on the drawing that was issued: what states, ready and OK to cover are worked out from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from hullwright.app.drawn import differs_from, drawn
from hullwright.app.house import House
from hullwright.app.log import Log
from hullwright.app.site import catalog_of, drawn_lines, photos_of, plan_methods, site_of
from hullwright.errors import InputError, Problem, Where
from hullwright.proof.drawing import Drawing, Issued
from hullwright.proof.ledger import standing
from hullwright.proof.okay import Record
from hullwright.proof.patches import Patch, not_closed, with_patches
from hullwright.proof.place import JointLine
from hullwright.proof.site import House as SiteHouse
from hullwright.store.database import Store
from hullwright.store.drawings import drawings, imported
from hullwright.store.entries import list_entries
from hullwright.store.photos import photo_hashes


@dataclass(frozen=True, slots=True)
class OnDrawing:
    """A house, its log and its drawings, read at one time.

    Parameters
    ----------
    record : Record
    patches : tuple of Patch
        That stand on the last drawing.
    number : int
        Of the drawing that stands; 0 where none was issued.
    drawing : Drawing
    differs : bool
        The building file as it stands is not what was issued last: it counts once it is issued.
    """

    record: Record
    patches: tuple[Patch, ...]
    number: int
    drawing: Drawing
    differs: bool = False

    @property
    def house(self) -> SiteHouse:
        """What the proof must know of the house."""
        return self.record.house

    @property
    def lines(self) -> tuple[JointLine, ...]:
        """Joints as they lie, for entries that need a place."""
        return drawn_lines(self.drawing)


def on_drawing(log: Log, building: House, plan: str | None = None) -> OnDrawing:
    """Read the record of a house on the drawing that was issued last; where none was, on the house as it stands.

    Parameters
    ----------
    log : Log
    building : House
        As its file stands now: used where no drawing was issued.
    plan : str or None
        ``plan.json``, for joints that were issued without a planned method.

    Returns
    -------
    OnDrawing
    """
    with Store(log.path) as store:
        here, row = photo_hashes(store), drawings(store, log.house)
        entries, tables = list_entries(store, log.house), imported(store, log.house)
    differs = bool(row) and differs_from(row[-1].drawing, building)
    row, patches = with_patches(row, standing(entries).entries)
    drawing = row[-1].drawing if row else drawn(building, "")

    methods, catalog = methods_of(plan, building) if plan else {}, catalog_of(building)

    def site(one: Drawing) -> SiteHouse:
        return replace(site_of(one, methods, catalog), photos=photos_of(building))

    house = replace(site(drawing), photos_here=here)
    stood = row or (Issued(0, datetime.min.replace(tzinfo=UTC), "", "", 0, drawing),)
    record = Record(house, entries, stood, site, tables)
    return OnDrawing(record, patches, row[-1].number if row else 0, drawing, differs)


def methods_of(plan: str, building: House) -> Mapping[str, tuple[str, bool, str]]:
    """Read the methods of a plan of this house.

    Raises
    ------
    InputError
        Where it is of another.
    """
    found = plan_methods(plan, building)
    if not found:
        problem = Problem("none of its runs is in the building file", Where(plan))
        raise InputError("the plan is of another house", [problem])
    return found


def patched(log: Log) -> Drawing | None:
    """Give the drawing that was issued last with its patches; None where none was issued."""
    with Store(log.path) as store:
        row, entries = drawings(store, log.house), list_entries(store, log.house)
    return with_patches(row, standing(entries).entries)[0][-1].drawing if row else None


def left_by_revisions(log: Log) -> tuple[Patch, ...]:
    """Give the holes that revisions left in the wall and nobody said to have closed, on the drawing that was issued last."""
    with Store(log.path) as store:
        row, entries = drawings(store, log.house), list_entries(store, log.house)
    return not_closed(row, standing(entries).entries)
