"""Which gauge readings of a lot count: several within 12 in are one, and what was too thin and got more film is read anew."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from hullwright.proof.ledger import knows
from hullwright.proof.locate import after
from hullwright.proof.lots import Placed
from hullwright.proof.rules import REACH
from hullwright.proof.site import Located, Point

_EDGE = 1e-9  # m: 12 in that are 12 in but for rounding are within


@dataclass(frozen=True, slots=True)
class Read:
    """A reading with its place.

    Parameters
    ----------
    placed : Placed
    located : Located
    """

    placed: Placed
    located: Located


def same_spot(one: Located, other: Located) -> bool:
    """Say whether two places are one spot: within 12 in; without a place, on one joint.

    Where somebody named the joint and not the place nobody knows how far apart two readings on it were.
    """
    if one.place is not None and other.place is not None:
        return near(one.place, other.place)
    return (one.joints or one.faces)[:1] == (other.joints or other.faces)[:1]


def near(one: Point, other: Point) -> bool:
    """Say whether two places lie within 12 in of each other [m]."""
    return math.dist(one, other) <= REACH["same_spot"] + _EDGE


def replaced(reads: Sequence[Read], added: Sequence[Located]) -> frozenset[str]:
    """Give the readings whose place got more film and was read again by somebody who knew of it.

    Parameters
    ----------
    reads : sequence of Read
    added : sequence of Located
        Entries *film added*.

    Returns
    -------
    frozenset of str
        Ids of entries; all stay in the record.
    """
    by_id = {read.placed.entry: read for read in reads}
    out: set[str] = set()
    for film in added:
        named = by_id.get(str(film.entry.what.get("reading", "")))
        at = named.located if named is not None else film
        around = [r for r in reads if _one_band(r.located, at) and same_spot(r.located, at)]
        if any(knows(read.located.entry, film.entry) for read in around):
            out |= {read.placed.entry for read in around if not knows(read.located.entry, film.entry)
                    and after(film.entry, read.located.entry)}  # fmt: skip
    return frozenset(out)


def _one_band(one: Located, other: Located) -> bool:
    return one.joints[:1] == other.joints[:1]


def apart(reads: Sequence[Read]) -> tuple[Read, ...]:
    """Give the readings that count: of those on one spot the lowest.

    Parameters
    ----------
    reads : sequence of Read

    Returns
    -------
    tuple of Read
        In the order given. The lowest of all is taken first, then the lowest of those that lie further than 12 in from it …
    """
    taken: list[Read] = []
    for read in sorted(reads, key=lambda one: (one.placed.reading.middle, one.placed.reading.low)):
        if not any(same_spot(read.located, other.located) for other in taken):
            taken.append(read)
    kept = {id(read) for read in taken}
    return tuple(read for read in reads if id(read) in kept)
