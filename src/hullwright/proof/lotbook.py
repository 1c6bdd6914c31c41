"""Which film lots are in the log: comb entries gathered by method, crew, day and surface."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from hullwright.errors import InputError, Problem, Where
from hullwright.evidence import ESTIMATE, Caution, Evidence, Mark
from hullwright.material.stable import Pooled, Shown, pool
from hullwright.proof.comb import Comb
from hullwright.proof.entries import Entry
from hullwright.proof.lots import Answer, LotKey, LotResult, Need, Placed, assess, shown

CLOCK: Final = Caution(
    "a device clock was more than 5 minutes off: the day of this lot may be wrong", ESTIMATE
)
STOPPING: Final = Caution(
    "readings taken until the lot passes weaken the stated confidence: plan their number beforehand",
    Evidence(Mark.ESTIMATE, "sequential looks at a fixed-sample bound"),
)
THIN_CUT: Final = Caution("a dry cut is below the least dry film: see the lot's cuts", ESTIMATE)
UM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class BookedLot:
    """One lot as logged.

    Parameters
    ----------
    key : LotKey
    product : str
        '' where the entries name none.
    placed : tuple of Placed
    cuts : tuple of (str, float)
        Joint and dry film [m] of destructive cuts.
    joints : tuple of str
        Joints that belong to it.
    clock_off : bool
    """

    key: LotKey
    product: str
    placed: tuple[Placed, ...]
    cuts: tuple[tuple[str, float], ...]
    joints: tuple[str, ...]
    clock_off: bool


@dataclass(frozen=True, slots=True)
class Judged:
    """A lot with its answer; without one where no sheet states its least film.

    Parameters
    ----------
    lot : BookedLot
    result : LotResult or None
    """

    lot: BookedLot
    result: LotResult | None

    def to_json(self) -> dict[str, Any]:
        """Give the lot by ``film lots``, with its cuts."""
        cuts = [{"joint": joint, "dry_um": dry * 1e6} for joint, dry in self.lot.cuts]
        extra = {"product": self.lot.product, "cuts": cuts, "joints": list(self.lot.joints)}
        return {} if self.result is None else {**self.result.to_json(), **extra}


def lot_key(entry: Entry) -> LotKey:
    """Give the lot that an entry with method, crew and surface belongs to; its day is the device's own day."""
    what = entry.what
    return LotKey(what["method"], what["crew"], entry.stamp.time.date(), what["surface"])


def book(entries: Sequence[Entry]) -> tuple[BookedLot, ...]:
    """Gather comb readings, cuts and done marks into lots.

    Parameters
    ----------
    entries : sequence of Entry
        Standing entries.

    Returns
    -------
    tuple of BookedLot
        Sorted by id.
    """
    groups: dict[LotKey, list[Entry]] = defaultdict(list)
    for entry in entries:
        if entry.kind in {"gauge reading", "cut", "done"}:
            groups[lot_key(entry)].append(entry)
    return tuple(_lot(key, groups[key]) for key in sorted(groups, key=lambda key: key.id))


def reading_of(entry: Entry) -> Placed:
    """Turn a gauge reading into a reading.

    Raises
    ------
    InputError
        Where the pair of teeth is not one of the gauge.
    """
    what = entry.what
    last, following = what.get("last_wet_um"), what.get("next_dry_um")
    try:
        comb = Comb(tuple(float(tooth) * UM for tooth in what["notches_um"]))
        reading = comb.between(
            None if last is None else last * UM, None if following is None else following * UM
        )
    except InputError as error:
        problems = [
            Problem(p.message, Where(key=f"entry {entry.id}"), p.got, p.allowed, p.hint)
            for p in error.problems
        ]
        raise InputError("a gauge reading can't be used", problems) from error
    return Placed(reading, entry.spot.joint or entry.spot.face, entry.id)


def judge_lots(lots: Sequence[BookedLot], needs: Mapping[str, Need]) -> tuple[Judged, ...]:
    """Judge each film lot.

    Parameters
    ----------
    lots : sequence of BookedLot
    needs : mapping of str to Need
        Least film by product; where the entries name no product, by method.

    Returns
    -------
    tuple of Judged
        Lots of methods without a film (no comb reading, no need) are left out.
    """
    out = []
    for lot in lots:
        need = needs.get(lot.product) or needs.get(lot.key.method)
        if need is None and not lot.placed:
            continue
        earlier = pool(_shown_before(lot, lots))
        result = None if need is None else assess(lot.key, lot.placed, need, earlier)
        out.append(Judged(lot, None if result is None else _with_cautions(lot, result)))
    return tuple(out)


def same_hand(one: BookedLot, other: BookedLot) -> bool:
    """Say whether two lots are the same crew's of the same product (of the same method, where none is named)."""
    mine, others = ((lot.key.crew.casefold(), lot.product or lot.key.method) for lot in (one, other))
    return mine == others


def hands(lots: Sequence[BookedLot]) -> tuple[tuple[BookedLot, Pooled], ...]:
    """Give the spread of each crew and product over all its lots, by its last lot: what is known of the next one."""
    found: dict[tuple[str, str], BookedLot] = {}
    for lot in sorted(lots, key=lambda one: (one.key.day, one.key.id)):
        if lot.placed:
            found[lot.key.crew.casefold(), lot.product or lot.key.method] = lot
    out = []
    for _, last in sorted(found.items()):
        mine = sorted(
            (one for one in lots if same_hand(one, last)), key=lambda one: (one.key.day, one.key.id)
        )
        pooled = pool([one for one in (shown(lot.placed) for lot in mine) if one is not None])
        out += [] if pooled is None else [(last, pooled)]
    return tuple(out)


def _shown_before(lot: BookedLot, lots: Sequence[BookedLot]) -> list[Shown]:
    """Spreads of the crew's lots of the product on earlier days, oldest first: what a lot is judged by never changes afterwards."""
    before = [one for one in lots if same_hand(one, lot) and one.key.day < lot.key.day]
    found = (shown(one.placed) for one in sorted(before, key=lambda one: (one.key.day, one.key.id)))
    return [one for one in found if one is not None]


def answers(judged: Sequence[Judged]) -> dict[str, Answer]:
    """Give the answer of each judged lot by id."""
    return {item.lot.key.id: item.result.answer for item in judged if item.result is not None}


def _with_cautions(lot: BookedLot, result: LotResult) -> LotResult:
    extra = [CLOCK] if lot.clock_off else []
    if result.answer is Answer.NOT_YET:
        extra.append(STOPPING)
    if any(dry < result.need.least_dry for _, dry in lot.cuts):
        extra.append(THIN_CUT)
    return replace(result, cautions=(*result.cautions, *extra)) if extra else result


def _lot(key: LotKey, entries: Sequence[Entry]) -> BookedLot:
    placed = tuple(reading_of(entry) for entry in entries if entry.kind == "gauge reading")
    cuts = tuple((entry.spot.joint, entry.what["dry_um"] * UM) for entry in entries if entry.kind == "cut")
    joints = tuple(dict.fromkeys(entry.spot.joint for entry in entries if entry.spot.joint))
    products = {str(entry.what.get("product")) for entry in entries if entry.what.get("product")}
    if len(products) > 1:
        problem = Problem(
            "one lot holds several products",
            Where(key=key.id),
            got=", ".join(sorted(products)),
            allowed="one",
            hint="correct the product of the wrong entries",
        )
        raise InputError("this lot can't be judged", [problem])
    return BookedLot(
        key, next(iter(products), ""), placed, cuts, joints, any(entry.clock_off for entry in entries)
    )
