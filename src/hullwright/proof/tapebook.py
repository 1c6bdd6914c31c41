"""Is tape proved, day by day: rolled and seen by run, the first strip held its tug, probes until shown and then five a day.

Probes of a product, crew and surface add up over the days until they show that few enough places fail (28 with none failing);
from then on each day needs five. A day on which a probe fails stands alone: it is open until its own probes show it. This is
the one answer that ``states``, ``ready`` and ``tape`` give.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from types import MappingProxyType
from typing import Any, Final

from hullwright.proof.bayes import BetaShare
from hullwright.proof.entries import Entry
from hullwright.proof.locate import after
from hullwright.proof.lots import LotKey
from hullwright.proof.rules import FIVE_A_DAY
from hullwright.proof.site import Located, SiteJoint
from hullwright.proof.tape import CONFIDENCE, SHARE_LIMIT, TapeLot, TapeResult, assess_tape, probes_needed
from hullwright.proof.workday import same_name, work_days

TAPES: Final = frozenset({"tape", "stretch"})
_Series = tuple[str, str, str, str]


@dataclass(frozen=True, slots=True)
class JudgedTape:
    """A day of tape with its answer.

    Parameters
    ----------
    key : LotKey
    lot : TapeLot
        What was seen on that day's tape.
    result : TapeResult
    joints, unrolled : tuple of str
        Its joints, and those that nobody saw rolled.
    """

    key: LotKey
    lot: TapeLot
    result: TapeResult
    joints: tuple[str, ...]
    unrolled: tuple[str, ...]

    @property
    def probed(self) -> bool:
        """Whether nothing more is to be probed."""
        return self.result.more_probes == 0

    def to_json(self) -> dict[str, Any]:
        """Give the lot."""
        return {
            "id": self.key.id,
            "probed": self.lot.probed,
            "failed": self.lot.failed,
            "staples": self.lot.staples,
            "joints": list(self.joints),
            "not_seen_rolled": list(self.unrolled),
            **self.result.to_json(),
        }


@dataclass(frozen=True, slots=True)
class Tape:
    """All tape of a house.

    Parameters
    ----------
    judged : tuple of JudgedTape
        Sorted by id.
    of_done : mapping of (str, str) to JudgedTape
        By the id of a done entry and its joint.
    """

    judged: tuple[JudgedTape, ...] = ()
    of_done: Mapping[tuple[str, str], JudgedTape] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(slots=True)
class _Day:
    """Entries of one day of a series."""

    key: LotKey
    dones: list[tuple[Entry, str]] = field(default_factory=list[tuple[Entry, str]])

    @property
    def joints(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(joint for _, joint in self.dones))


def judge_tape(
    located: Sequence[Located],
    joints: Mapping[str, SiteJoint] | None = None,
    *,
    limit: float = SHARE_LIMIT.value,
    prior: BetaShare | None = None,
) -> Tape:
    """Judge every day of tape.

    Parameters
    ----------
    located : sequence of Located
    joints : mapping of str to SiteJoint, optional
        Of the house, by id: where an entry names no product the planned one is meant.
    limit : float
        Largest share of failing places that is accepted.
    prior : BetaShare, optional

    Returns
    -------
    Tape

    Examples
    --------
    >>> judge_tape([]).judged
    ()
    """
    own = [one for one in located if not one.lacking]
    series = _series(own, joints or {})
    seen = _Seen.of(own)
    judged: list[JudgedTape] = []
    of_done: dict[tuple[str, str], JudgedTape] = {}
    for name in sorted(series):
        days = series[name]
        held = _first_tug(name, own, joints or {})
        lots = {day: seen.lot(one, held) for day, one in days.items()}
        needed = probes_needed(0, limit=limit, confidence=CONFIDENCE, prior=prior)
        total = sum(lot.probed for lot in lots.values() if not lot.failed)
        before = 0  # probes on earlier days, those on which one failed left out
        for day in sorted(days):
            one, lot = days[day], lots[day]
            result = _result(lot, total, shown=before >= needed, asked=(limit, prior))
            before += 0 if lot.failed else lot.probed
            unrolled = tuple(joint for joint in one.joints if joint not in seen.rolled(one))
            found = JudgedTape(one.key, lot, result, one.joints, unrolled)
            judged.append(found)
            of_done |= {(done.id, joint): found for done, joint in one.dones}
    return Tape(tuple(sorted(judged, key=lambda one: one.key.id)), of_done)


def _result(lot: TapeLot, total: int, *, shown: bool, asked: tuple[float, BetaShare | None]) -> TapeResult:
    """Answer of one day: alone where a probe failed, five probes once the hand is shown, else the probes of all days."""
    limit, prior = asked
    if lot.failed:
        return assess_tape(lot, limit=limit, prior=prior)
    found = assess_tape(replace(lot, probed=total), limit=limit, prior=prior)
    if not shown:
        return found
    more = max(0, FIVE_A_DAY - lot.probed)
    missing = tuple(words for words in found.missing if "more probes" not in words)
    missing = (*missing, f"{more} more probes of this day") if more else missing
    answer = "bad" if found.answer == "bad" else ("not yet" if missing else "proved")
    return replace(found, missing=missing, more_probes=more, answer=answer)


class _Seen:
    """Rolled, probed, stapled: by joint."""

    def __init__(self) -> None:
        self._by_joint: dict[str, list[Entry]] = defaultdict(list)

    @staticmethod
    def of(located: Sequence[Located]) -> _Seen:
        """Index the checks that stand: a strip that was stapled and taped anew counts no staples."""
        anew = {one.entry.what["flaw"] for one in located if one.entry.kind == "mended"}
        out = _Seen()
        for one in located:
            kind = one.entry.kind
            if kind == "staples" and one.entry.id in anew:
                continue
            if kind in {"probe", "rolled", "staples"}:
                for joint in one.joints:
                    out._by_joint[joint].append(one.entry)
        return out

    def about(self, day: _Day, kind: str) -> list[Entry]:
        """Give checks of a kind on the tape of a day, each once; none that was made before that tape lay there."""
        found: dict[str, Entry] = {}
        for done, joint in day.dones:
            for entry in self._by_joint.get(joint, ()):
                if entry.kind == kind and (not_before(entry, done)):
                    found[entry.id] = entry
        return list(found.values())

    def rolled(self, day: _Day) -> frozenset[str]:
        """Give the joints of a day that somebody saw rolled."""
        return frozenset(
            joint
            for done, joint in day.dones
            if any(e.kind == "rolled" and not_before(e, done) for e in self._by_joint.get(joint, ()))
        )

    def lot(self, day: _Day, held: bool | None) -> TapeLot:
        """Sum up what was seen on the tape of a day."""
        probes = self.about(day, "probe")
        rolled = tuple(dict.fromkeys(str(one.what["seen_by"]) for one in self.about(day, "rolled")))
        return TapeLot(
            probed=sum(one.what["tried"] for one in probes),
            failed=sum(one.what["failed"] for one in probes),
            rolled_seen_by=rolled if set(day.joints) <= self.rolled(day) else (),
            first_tug_held=held,
            staples=sum(one.what["count"] for one in self.about(day, "staples")),
        )


def not_before(check: Entry, done: Entry) -> bool:
    """Say whether a check speaks of what was done: it was written later, or on the same day in whatever order."""
    return after(check, done) or check.stamp.time.date() == done.stamp.time.date()


def _series(located: Sequence[Located], joints: Mapping[str, SiteJoint]) -> dict[_Series, dict[date, _Day]]:
    dones = [one for one in located if one.entry.kind == "done" and one.entry.what["method"] in TAPES]
    days = work_days(one.entry for one in dones)
    out: dict[_Series, dict[date, _Day]] = defaultdict(dict)
    names: dict[str, str] = {}
    for one in dones:
        what = one.entry.what
        for text in (what["crew"], what["surface"]):
            names.setdefault(same_name(text), text.strip())
        for stretch in one.stretches:
            product = _product(one.entry, joints.get(stretch.joint))
            key = (what["method"], same_name(product), same_name(what["crew"]), same_name(what["surface"]))
            day = days[one.entry.id]
            lot = LotKey(what["method"], names[key[2]], day, names[key[3]], product)
            out[key].setdefault(day, _Day(lot)).dones.append((one.entry, stretch.joint))
    return out


def _product(entry: Entry, joint: SiteJoint | None) -> str:
    said = str(entry.what.get("product", ""))
    return said or (joint.product if joint is not None and joint.method == entry.what["method"] else "")


def _first_tug(name: _Series, located: Sequence[Located], joints: Mapping[str, SiteJoint]) -> bool | None:
    """Whether the tug of this product, crew and surface held; a repeat after new tape counts, the last one speaks.

    Where a tug names no product or surface, that of the joint it was made on is meant; where it names no joint either, any.
    """
    method, product, crew, surface = name
    held: bool | None = None
    for one in located:
        entry = one.entry
        if entry.kind != "tug" or (entry.what["method"], same_name(entry.what["crew"])) != (method, crew):
            continue
        joint = joints.get(one.joints[0]) if one.joints else None
        said = same_name(_product(entry, joint)), same_name(str(entry.what.get("surface", "")))
        if all(not mine or mine == its for mine, its in zip(said, (product, surface), strict=True)):
            held = bool(entry.what["held"])
    return held
