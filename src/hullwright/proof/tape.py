"""Is the tape of this lot proved: rolled and seen, edges and laps probed, first strip tugged.

No share of bad tape pieces is published; the limit is the user's. Staples in a tape are a reject (seen in taped decks
that came loose, FEMA P-55).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Final

from hullwright.errors import QuantityError
from hullwright.evidence import ESTIMATE, Caution, Evidence, Figure, Mark
from hullwright.proof.bayes import BetaShare

SHARE_LIMIT: Final = Figure(0.10, "", ESTIMATE)
CONFIDENCE: Final = 0.95
STAPLED: Final = Caution(
    "staples in the tape: take it off and tape anew", Evidence(Mark.PUBLISHED, "FEMA P-55, chapter 11")
)
_MOST_PROBES: Final = 100_000


@dataclass(frozen=True, slots=True)
class TapeLot:
    """What was seen on one lot of tape.

    Parameters
    ----------
    probed, failed : int
        Pieces whose edges and laps were probed, and of these failed.
    rolled_seen_by : tuple of str
        Who saw it rolled.
    first_tug_held : bool or None
        Tug on the first strip of the day; None where none was made.
    staples : int
        Staples found in the tape.
    """

    probed: int
    failed: int
    rolled_seen_by: tuple[str, ...]
    first_tug_held: bool | None
    staples: int = 0


@dataclass(frozen=True, slots=True)
class TapeResult:
    """The answer about one lot of tape.

    Parameters
    ----------
    answer : str
        ``proved``, ``not yet`` or ``bad``.
    missing : tuple of str
        What has still to be done.
    more_probes : int
        Further probes, all sound, that would prove it.
    share : BetaShare
        Share of failing pieces, after the probes.
    chance_within : float
        Chance that the share is within the limit.
    limit : float
    """

    answer: str
    missing: tuple[str, ...]
    more_probes: int
    share: BetaShare
    chance_within: float
    limit: float

    def to_json(self) -> dict[str, Any]:
        """Give the answer and its figures."""
        return {
            "answer": self.answer,
            "missing": list(self.missing),
            "more_probes": self.more_probes,
            "share_failing": self.share.to_json(),
            "chance_within": self.chance_within,
            "limit": self.limit,
            "cautions": [STAPLED.to_json()] if "staples" in " ".join(self.missing) else [],
        }


def assess_tape(
    lot: TapeLot,
    *,
    limit: float = SHARE_LIMIT.value,
    confidence: float = CONFIDENCE,
    prior: BetaShare | None = None,
) -> TapeResult:
    """Say whether a lot of tape is proved.

    Parameters
    ----------
    lot : TapeLot
    limit : float
        Largest share of failing pieces that is accepted.
    confidence : float
    prior : BetaShare, optional
        Default Beta(1, 1): nothing known.

    Returns
    -------
    TapeResult

    Examples
    --------
    >>> assess_tape(TapeLot(28, 0, ("lead",), True)).answer
    'proved'
    >>> assess_tape(TapeLot(20, 0, ("lead",), None)).missing
    ('tug test of the first strip', '8 more probes')
    """
    before = prior or BetaShare(1.0, 1.0)
    after = before.update(lot.failed, lot.probed)
    within = after.chance_below(limit)
    more = probes_needed(lot.failed, limit=limit, confidence=confidence, prior=before) - lot.probed
    more = 0 if within >= confidence else max(more, 1)
    missing = [
        *([] if lot.staples == 0 else [f"{lot.staples} staples out, tape anew"]),
        *([] if lot.rolled_seen_by else ["rolled and seen by somebody"]),
        *(["tug test of the first strip"] if lot.first_tug_held is None else []),
        *(["first strip came off: find out why, tape anew"] if lot.first_tug_held is False else []),
        *([f"{more} more probes"] if more else []),
    ]
    bad = lot.staples > 0 or lot.first_tug_held is False or after.chance_below(limit) < 1 - confidence
    answer = "bad" if bad else ("not yet" if missing else "proved")
    return TapeResult(answer, tuple(missing), more, after, within, limit)


def probes_needed(failed: int, *, limit: float, confidence: float, prior: BetaShare | None = None) -> int:
    """Give the fewest probes, `failed` of them failing, that show the share to be within the limit.

    Raises
    ------
    QuantityError
        Limit or confidence outside (0, 1), negative count, more than 100 000 probes.

    Examples
    --------
    >>> probes_needed(0, limit=0.1, confidence=0.95), probes_needed(1, limit=0.1, confidence=0.95)
    (28, 45)
    """
    if not (0 < limit < 1 and 0 < confidence < 1 and failed >= 0):
        raise QuantityError(
            f"limit and confidence must lie between 0 and 1, got {limit}, {confidence}, {failed}"
        )
    before = prior or BetaShare(1.0, 1.0)
    low, high = failed - 1, max(failed, 1)
    while before.update(failed, high).chance_below(limit) < confidence:
        low, high = high, high * 2
        if high > _MOST_PROBES:
            raise QuantityError(f"no practical number of probes shows a share within {limit}")
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (
            (low, middle)
            if before.update(failed, middle).chance_below(limit) >= confidence
            else (middle, high)
        )
    return high


def zero_failure_count(*, confidence: float, sound_share: float) -> int:
    """Give the pieces that must all be sound to show a share of sound pieces.

    n = ln(1 − C)/ln(R), rounded up.

    Examples
    --------
    >>> zero_failure_count(confidence=0.95, sound_share=0.95)
    59
    """
    if not (0 < confidence < 1 and 0 < sound_share < 1):
        raise QuantityError(f"confidence and share must lie between 0 and 1, got {confidence}, {sound_share}")
    return math.ceil(math.log(1 - confidence) / math.log(sound_share) - 1e-12)
