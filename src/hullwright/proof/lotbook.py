"""Which film lots are in the log: readings and done marks gathered by product, crew, day, surface and coat."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from types import MappingProxyType
from typing import Any, Final

from hullwright.errors import InputError, Problem, Where
from hullwright.evidence import ESTIMATE, Caution, Evidence, Mark
from hullwright.material.stable import Pooled, Shown, pool
from hullwright.proof.comb import Comb
from hullwright.proof.entries import Entry
from hullwright.proof.lots import Answer, LotKey, LotResult, Need, Placed, assess, shown
from hullwright.proof.readings_apart import Read, apart, replaced
from hullwright.proof.rules import LOT
from hullwright.proof.site import Located, SiteJoint, Stretch
from hullwright.proof.workday import same_name, work_days

CLOCK: Final = Caution(
    "a device clock was more than 5 minutes off: the day of this lot may be wrong", ESTIMATE
)
STOPPING: Final = Caution(
    "readings taken until the lot passes weaken the stated confidence: plan their number beforehand",
    Evidence(Mark.ESTIMATE, "sequential looks at a fixed-sample bound"),
)
THIN_CUT: Final = Caution("a dry cut is below the least dry film: see the lot's cuts", ESTIMATE)
UM: Final = 1e-6
_IN_LOTS: Final = frozenset({"gauge reading", "cut", "done", "film added"})


@dataclass(frozen=True, slots=True)
class BookedLot:
    """One lot as logged.

    Parameters
    ----------
    key : LotKey
    product : str
        '' where the entries name none.
    placed : tuple of Placed
        Readings that count: several within 12 in are one, their lowest.
    cuts : tuple of (str, float)
        Joint and dry film [m] of destructive cuts.
    joints : tuple of str
        Joints that belong to it.
    clock_off : bool
    stretches : tuple of Stretch
        What was marked done.
    taken : int
        Readings taken, those on one spot and those read anew too.
    replaced : tuple of str
        Ids of readings whose place got more film and was read again.
    """

    key: LotKey
    product: str
    placed: tuple[Placed, ...]
    cuts: tuple[tuple[str, float], ...]
    joints: tuple[str, ...]
    clock_off: bool
    stretches: tuple[Stretch, ...] = ()
    taken: int = 0
    replaced: tuple[str, ...] = ()

    @property
    def length(self) -> float:
        """Length that was marked done [m]; what was marked twice counts once."""
        return sum(end - start for spans in spans_of(self.stretches).values() for start, end in spans)


@dataclass(frozen=True, slots=True)
class Judged:
    """A lot with its answer; without one where no sheet states its least film.

    Parameters
    ----------
    lot : BookedLot
    result : LotResult or None
    joined : tuple of str
        Lots that it is judged together with, because one of them is shorter than 30 ft.
    """

    lot: BookedLot
    result: LotResult | None
    joined: tuple[str, ...] = ()

    @property
    def says(self) -> tuple[str, ...]:
        """What people should know of the lot beside its answer."""
        lot, out = self.lot, list[str]()
        if lot.placed and not lot.stretches:
            out.append("readings, but nothing was marked done with this product that day")
        if lot.stretches and not lot.taken:
            out.append("marked done, without a reading")
        if lot.taken > len(lot.placed):
            out.append(
                f"{lot.taken} readings on {len(lot.placed)} spots: those within 12 in are one, their lowest"
            )
        if lot.replaced:
            out.append(f"{len(lot.replaced)} read again after film was added")
        if self.joined:
            out.append("shorter than 30 ft: judged together with " + ", ".join(self.joined))
        return tuple(out)

    def to_json(self) -> dict[str, Any]:
        """Give the lot by ``film lots``, with its cuts."""
        cuts = [{"joint": joint, "dry_um": dry * 1e6} for joint, dry in self.lot.cuts]
        extra = {
            "product": self.lot.product,
            "cuts": cuts,
            "joints": list(self.lot.joints),
            "length_m": self.lot.length,
            "taken": self.lot.taken,
            "replaced": list(self.lot.replaced),
            "joined": list(self.joined),
            "says": list(self.says),
        }
        return {} if self.result is None else {**self.result.to_json(), **extra}


@dataclass(frozen=True, slots=True)
class Film:
    """All film lots of a house.

    Parameters
    ----------
    lots : tuple of BookedLot
    of_done : mapping of (str, str) to str
        Lot id by the id of a done entry and its joint.
    judged : tuple of Judged
        Empty until they were judged.
    """

    lots: tuple[BookedLot, ...]
    of_done: Mapping[tuple[str, str], str] = field(default_factory=lambda: MappingProxyType({}))
    judged: tuple[Judged, ...] = ()


def spans_of(stretches: Sequence[Stretch]) -> dict[str, list[tuple[float, float]]]:
    """Join stretches that overlap, joint by joint [m]."""
    out: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for one in sorted(stretches, key=lambda stretch: (stretch.joint, stretch.start, stretch.end)):
        spans = out[one.joint]
        if spans and one.start <= spans[-1][1]:
            spans[-1] = (spans[-1][0], max(spans[-1][1], one.end))
        else:
            spans.append((one.start, one.end))
    return out


def unplaced(entries: Sequence[Entry]) -> tuple[Located, ...]:
    """Take entries by the joint that they name, where no house is at hand."""
    return tuple(
        Located(
            entry,
            (Stretch(entry.spot.joint, 0.0, 0.0),) if entry.spot.joint else (),
            entry.spot.place,
            (entry.spot.face,) if entry.spot.face else (),
        )
        for entry in entries
    )


def book(located: Sequence[Located], joints: Mapping[str, SiteJoint] | None = None) -> tuple[BookedLot, ...]:
    """Gather readings, cuts and done marks into lots.

    Parameters
    ----------
    located : sequence of Located
    joints : mapping of str to SiteJoint, optional
        Of the house, by id: pieces are in no lot, and where an entry names no product the planned one is meant.

    Returns
    -------
    tuple of BookedLot
        Sorted by id.
    """
    return film(located, joints).lots


def film(located: Sequence[Located], joints: Mapping[str, SiteJoint] | None = None) -> Film:
    """Gather readings, cuts and done marks into lots, and say in which lot each done mark is.

    Parameters
    ----------
    located : sequence of Located
    joints : mapping of str to SiteJoint, optional

    Returns
    -------
    Film
    """
    known = joints or {}
    own = [one for one in located if one.entry.kind in _IN_LOTS and not one.lacking]
    days = work_days(one.entry for one in own)
    parts: list[tuple[Located, Stretch | None, tuple[Any, ...], str]] = []
    for one in own:
        whole = one.stretches if one.entry.kind == "done" else one.stretches[:1]
        for stretch in whole or (None,):
            joint = known.get(stretch.joint) if stretch else None
            if joint is not None and joint.piece:
                continue
            key = _group(one.entry, days[one.entry.id])
            parts.append((one, stretch, key, _product(one.entry, joint)))
    named: dict[tuple[Any, ...], dict[str, str]] = defaultdict(dict)
    for _, _, key, product in parts:
        if product:
            named[key].setdefault(same_name(product), product)
    groups: dict[tuple[Any, ...], list[tuple[Located, Stretch | None]]] = defaultdict(list)
    for one, stretch, key, product in parts:
        only = next(iter(named[key])) if len(named[key]) == 1 else ""
        groups[*key, same_name(product) or only].append((one, stretch))
    names = _first_written([one.entry for one in own])
    lots, of_done = [], {}
    for key, items in groups.items():
        product = named[key[:-1]].get(key[-1]) or str(key[-1])
        lot = _lot(LotKey(key[0], names[key[1]], key[2], names[key[3]], product, key[4]), items)
        lots.append(lot)
        for one, stretch in items:
            if one.entry.kind == "done" and stretch is not None:
                of_done[one.entry.id, stretch.joint] = lot.key.id
    return Film(tuple(sorted(lots, key=lambda lot: lot.key.id)), of_done)


def _group(entry: Entry, day: date) -> tuple[Any, ...]:
    what = entry.what
    return (
        what["method"], same_name(what["crew"]), day, same_name(what["surface"]), int(what.get("coat", 1)),
    )  # fmt: skip


def _product(entry: Entry, joint: SiteJoint | None) -> str:
    """Product that an entry names; else the planned one, where its method is the planned one."""
    said = str(entry.what.get("product", ""))
    if said or joint is None or joint.method != entry.what["method"]:
        return said
    return joint.product


def _first_written(entries: Sequence[Entry]) -> dict[str, str]:
    """Crews and surfaces as they were written first."""
    out: dict[str, str] = {}
    for entry in entries:
        for key in ("crew", "surface"):
            out.setdefault(same_name(entry.what[key]), str(entry.what[key]).strip())
    return out


def reading_of(entry: Entry) -> Placed:
    """Turn a gauge reading into a reading.

    Raises
    ------
    InputError
        Where the pair of notches is not one of the gauge.
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
        Lots of methods without a film (no reading, no need) are left out.
    """
    out: list[Judged] = []
    for lot in sorted(lots, key=lambda one: (one.key.coat, one.key.day, one.key.id)):
        need = needs.get(lot.product) or needs.get(lot.key.method)
        if need is None and not lot.placed:
            continue
        if need is not None and lot.key.coat > 1:
            need = _second_coat(lot, need, out)
        earlier = pool(_shown_before(lot, lots))
        result = None if need is None else assess(lot.key, lot.placed, need, earlier)
        out.append(Judged(lot, None if result is None else _with_cautions(lot, result)))
    found = {one.lot.key.id: one for one in _join_short(out)}
    return tuple(found[lot.key.id] for lot in lots if lot.key.id in found)


def _second_coat(lot: BookedLot, need: Need, before: Sequence[Judged]) -> Need:
    """What a later coat has to bring: the sheet's least film less what the coats under it were shown to have.

    Both are shown with half the risk each, so that their sum keeps the stated confidence (Bonferroni).
    """
    half = replace(need, confidence=1.0 - (1.0 - need.confidence) / 2.0)
    joints = set(lot.joints)
    under = [one for one in before if one.lot.key.coat < lot.key.coat and joints & set(one.lot.joints)]
    shown_dry = []
    for one in under:
        bound = assess(one.lot.key, one.lot.placed, half).bound
        shown_dry.append(max(0.0, bound or 0.0) * half.least_dry / half.least_wet)
    lacking = need.least_dry - min(shown_dry, default=0.0)
    return replace(half, least_dry=max(lacking, 1e-9))


def _join_short(judged: Sequence[Judged]) -> list[Judged]:
    """Judge a lot under 30 ft together with the next one of the same hand, where that proves both; else each stays alone."""
    out = {one.lot.key.id: one for one in judged}
    wait = LOT["wait_days"]
    for one in sorted(judged, key=lambda item: item.lot.key.day):
        one = out[one.lot.key.id]  # noqa: PLW2901  it may have been joined by the one before
        if (
            one.result is None
            or one.result.answer is not Answer.NOT_YET
            or not 0 < one.lot.length < LOT["short"]
        ):
            continue
        later = [
            other
            for other in out.values()
            if other.result is not None
            and _same_lot_but_day(one.lot.key, other.lot.key)
            and 0 < (other.lot.key.day - one.lot.key.day).days <= wait
            and other.lot.length > 0
        ]
        other = min(later, key=lambda item: item.lot.key.day, default=None)
        if other is None or other.result is None:
            continue
        both = assess(one.lot.key, (*one.lot.placed, *other.lot.placed), other.result.need)
        if both.answer is Answer.PROVED:
            for mine, its in ((one, other), (other, one)):
                joined = tuple(dict.fromkeys((*mine.joined, its.lot.key.id)))
                key = mine.lot.key
                result = both if mine is one else replace(both, key=key)
                out[key.id] = Judged(mine.lot, _with_cautions(mine.lot, result), joined)
    return list(out.values())


def _same_lot_but_day(one: LotKey, other: LotKey) -> bool:
    return all(
        same_name(a) == same_name(b) for a, b in zip(_without_day(one), _without_day(other), strict=True)
    )


def _without_day(key: LotKey) -> tuple[str, ...]:
    return key.product or key.method, key.crew, key.surface, str(key.coat)


def same_hand(one: BookedLot, other: BookedLot) -> bool:
    """Say whether two lots are the same crew's of the same product (of the same method, where none is named)."""
    mine, others = ((same_name(lot.key.crew), lot.product or lot.key.method) for lot in (one, other))
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


def _lot(key: LotKey, items: Sequence[tuple[Located, Stretch | None]]) -> BookedLot:
    reads = [Read(_placed(one, stretch), one) for one, stretch in items if one.entry.kind == "gauge reading"]
    anew = replaced(reads, [one for one, _ in items if one.entry.kind == "film added"])
    count = apart([read for read in reads if read.placed.entry not in anew])
    return BookedLot(
        key,
        key.product,
        tuple(read.placed for read in count),
        tuple(
            (s.joint if s else "", one.entry.what["dry_um"] * UM)
            for one, s in items
            if one.entry.kind == "cut"
        ),
        tuple(dict.fromkeys(stretch.joint for _, stretch in items if stretch is not None)),
        any(one.entry.clock_off for one, _ in items),
        tuple(s for one, s in items if one.entry.kind == "done" and s is not None),
        len(reads),
        tuple(sorted(anew)),
    )


def _placed(one: Located, stretch: Stretch | None) -> Placed:
    return replace(reading_of(one.entry), joint=stretch.joint if stretch else one.entry.spot.face)
