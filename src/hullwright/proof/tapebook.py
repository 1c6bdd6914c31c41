"""Which tape lots are in the log, and what was seen on them: rolled, probed, tugged, stapled."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from hullwright.proof.bayes import BetaShare
from hullwright.proof.entries import Entry
from hullwright.proof.lotbook import lot_key
from hullwright.proof.lots import LotKey
from hullwright.proof.tape import SHARE_LIMIT, TapeLot, TapeResult, assess_tape

TAPES: Final = frozenset({"tape", "stretch"})


@dataclass(frozen=True, slots=True)
class JudgedTape:
    """A lot of tape with its answer.

    Parameters
    ----------
    key : LotKey
    lot : TapeLot
    result : TapeResult
    joints, unrolled : tuple of str
        Its joints, and those that nobody saw rolled.
    """

    key: LotKey
    lot: TapeLot
    result: TapeResult
    joints: tuple[str, ...]
    unrolled: tuple[str, ...]

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


def judge_tape(
    entries: Sequence[Entry], *, limit: float = SHARE_LIMIT.value, prior: BetaShare | None = None
) -> tuple[JudgedTape, ...]:
    """Judge every lot of tape.

    Parameters
    ----------
    entries : sequence of Entry
        Standing entries. A lot is a method × crew × day × surface of the done marks; checks count by the joint they name.
    limit : float
        Largest share of failing places that is accepted.
    prior : BetaShare, optional

    Returns
    -------
    tuple of JudgedTape
        Sorted by id.

    Examples
    --------
    >>> judge_tape([])
    ()
    """
    taped_anew = {entry.what["flaw"] for entry in entries if entry.kind == "mended"} & {
        entry.id for entry in entries if entry.kind == "staples"
    }
    lots: dict[LotKey, dict[str, None]] = defaultdict(dict)
    checks: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        if entry.kind == "done" and entry.what["method"] in TAPES and entry.spot.joint:
            lots[lot_key(entry)][entry.spot.joint] = None
        elif entry.kind in {"probe", "rolled", "staples"} and entry.id not in taped_anew:
            checks[entry.spot.joint].append(entry)
    tugs = [entry for entry in entries if entry.kind == "tug"]
    return tuple(
        _judge(key, tuple(lots[key]), checks, tugs, (limit, prior))
        for key in sorted(lots, key=lambda key: key.id)
    )


def _judge(
    key: LotKey,
    joints: tuple[str, ...],
    checks: dict[str, list[Entry]],
    tugs: Sequence[Entry],
    asked: tuple[float, BetaShare | None],
) -> JudgedTape:
    own = [entry for joint in joints for entry in checks.get(joint, ())]
    rolled = {entry.spot.joint for entry in own if entry.kind == "rolled"}
    unrolled = tuple(joint for joint in joints if joint not in rolled)
    seen_by = tuple(dict.fromkeys(str(e.what["seen_by"]) for e in own if e.kind == "rolled"))
    lot = TapeLot(
        probed=sum(entry.what["tried"] for entry in own if entry.kind == "probe"),
        failed=sum(entry.what["failed"] for entry in own if entry.kind == "probe"),
        rolled_seen_by=() if unrolled else seen_by,
        first_tug_held=_first_tug(key, tugs),
        staples=sum(entry.what["count"] for entry in own if entry.kind == "staples"),
    )
    return JudgedTape(key, lot, assess_tape(lot, limit=asked[0], prior=asked[1]), joints, unrolled)


def _first_tug(key: LotKey, tugs: Sequence[Entry]) -> bool | None:
    """Whether the tug of this crew, method and day held; a repeat after new tape counts, the last one speaks."""
    own = [
        e
        for e in tugs
        if (e.what["method"], e.what["crew"], e.stamp.time.date()) == (key.method, key.crew, key.day)
    ]
    return bool(own[-1].what["held"]) if own else None
