"""``film lots``: readings from the log or from a table, judged by the bound, by spots and areas, or by variables."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from hullwright.app.film_table import read_table, table_system
from hullwright.app.hands import HandShown, hands_shown
from hullwright.app.house import load
from hullwright.app.log import Log
from hullwright.app.proof import UNJUDGED, located_on
from hullwright.app.site import catalog_of, needs_of
from hullwright.app.spots import log_of
from hullwright.errors import InputError, Problem, Where
from hullwright.evidence import Caution, Evidence, Mark
from hullwright.material.sheet import printed_share
from hullwright.material.tolerance import CONFIDENCE, SHARE
from hullwright.proof.acceptance import k_method
from hullwright.proof.gauge_verdict import Verdict
from hullwright.proof.lotbook import BookedLot, Judged, book, judge_lots
from hullwright.proof.lots import RISKS, SCHEMA, Answer, Need
from hullwright.proof.pa2 import READINGS_PER_SPOT, SCOPE, SPOTS_PER_AREA, judge, limits
from hullwright.units import read

PA2_HERE: Final = Caution(
    "one lot is taken as one area of up to 100 ft2 (10 m2), the readings of one joint as one spot; wet readings are turned into dry film by "
    "the volume solids",
    Evidence(Mark.ESTIMATE, "own reading of the rule for a comb"),
)
K_HERE: Final = Caution(
    "k belongs to a sampling plan: number of readings and k together keep the risks; readings are taken at the middle of their interval",
    Evidence(Mark.PUBLISHED, "acceptance by variables, spread unknown: ISO 3951, MIL-STD-414"),
)
_HOUSES: Final = frozenset({".yaml", ".yml"})


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a lot.

    Parameters
    ----------
    rule : str
        ``bound``, ``pa2`` or ``k``.
    dry, solids : str or None
        Least dry film and volume solids, both or neither; else by the product sheets.
    share, confidence : str or None
        Share of the length and confidence of the bound.
    level : int
        Restriction level of ``pa2``.
    most : str or None
        Largest dry film of ``pa2``.
    k : float or None
        Acceptance constant of ``k``.
    teeth : str or None
        Teeth of the gauge, for a table that states the last wet tooth only.
    """

    rule: str = "bound"
    dry: str | None = None
    solids: str | None = None
    share: str | None = None
    confidence: str | None = None
    level: int = 3
    most: str | None = None
    k: float | None = None
    teeth: str | None = None


@dataclass(frozen=True, slots=True)
class FilmLots:
    """Answers about film lots.

    Parameters
    ----------
    file : str
    log : Log or None
        None where the readings came from a table.
    judged : tuple of Judged
        By the tolerance bound; without a result where nothing states the least film.
    rows : tuple of mapping
        One object a judged lot, by the rule that was asked for.
    rule : str
    system : str
        Units of the reader.
    hands : tuple of HandShown
        Spread of each crew and product over its lots, and what it would save.
    """

    file: str
    log: Log | None
    judged: tuple[Judged, ...]
    rows: tuple[Mapping[str, Any], ...]
    rule: str
    system: str
    hands: tuple[HandShown, ...] = ()

    @property
    def unjudged(self) -> tuple[str, ...]:
        """Lots whose least film nothing states."""
        return tuple(one.lot.key.id for one in self.judged if one.result is None)

    @property
    def exit_code(self) -> int:
        """0 where there are lots and every one is proved."""
        proved = bool(self.rows) and all(row["answer"] == Answer.PROVED.value for row in self.rows)
        return 0 if proved and not self.unjudged else 1

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """Scope of the rule, and lots that were not judged."""
        scope = {"bound": (RISKS,), "pa2": (SCOPE, PA2_HERE), "k": (K_HERE,)}[self.rule]
        return (*scope, UNJUDGED) if self.unjudged else scope

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``film lots --json``."""
        kept = {} if self.log is None else {"store": str(self.log.path), "house": self.log.house}
        return {
            "schema": dict(SCHEMA),
            **kept,
            "rule": self.rule,
            "lots": [dict(row) for row in self.rows],
            "unjudged": list(self.unjudged),
            "hands": [hand.to_json() for hand in self.hands],
            "cautions": [caution.to_json() for caution in self.cautions],
        }


def film_lots(
    file: str, asked: Asked | None = None, *, store: str | None = None, house: str | None = None
) -> FilmLots:
    """Say of every film lot whether it is proved.

    Parameters
    ----------
    file : str
        Building file, whose log holds the readings; or a table of readings (csv, or a log's own csv or xlsx).
    asked : Asked, optional
    store, house : str or None
        Log and name of the house in it.

    Returns
    -------
    FilmLots

    Raises
    ------
    InputError
        With everything that can't be used.
    """
    wanted = asked or Asked()
    _check(wanted)
    if Path(file).suffix.lower() in _HOUSES:
        log, opened = log_of(file, store, house), load(file)
        catalog, currency = catalog_of(opened), opened.building.currency
        located, joints = located_on(log, opened)
        lots, sheets = book(located, joints), needs_of(catalog)
        system: str = opened.building.system
    else:
        catalog, currency = catalog_of(None), ""
        log, lots, sheets = None, read_table(file, wanted.teeth), needs_of(catalog)
        system = table_system(file, wanted.teeth)
    judged = judge_lots(lots, _needs(lots, wanted, sheets))
    rows = tuple(_row(one, one.result.need, wanted) for one in judged if one.result is not None)
    shown = hands_shown(lots, catalog, currency) if wanted.rule == "bound" else ()
    return FilmLots(file, log, judged, rows, wanted.rule, system, shown)


def _check(asked: Asked) -> None:
    problems = []
    if (asked.dry is None) != (asked.solids is None):
        problems.append(Problem("--dry and --solids go together", hint="least dry film and volume solids"))
    if asked.rule == "k" and asked.k is None:
        problems.append(
            Problem(
                "--k is missing",
                Where(key="k"),
                hint="take it from your sampling plan; 1.9 with 40 readings, for instance",
            )
        )
    if problems:
        raise InputError("the lots can't be judged so", problems)


def _needs(lots: Sequence[BookedLot], asked: Asked, sheets: Mapping[str, Need]) -> Mapping[str, Need]:
    share = SHARE if asked.share is None else printed_share(asked.share).value
    confidence = CONFIDENCE if asked.confidence is None else printed_share(asked.confidence).value
    if not (0 < share < 1 and 0 < confidence < 1):
        raise InputError(
            "the lots can't be judged so",
            [Problem("share and confidence lie between 0 and 1", got=f"{share:g}, {confidence:g}")],
        )
    if asked.dry is not None and asked.solids is not None:
        need = Need(read(asked.dry), printed_share(asked.solids).value)
        sheets = {lot.product or lot.key.method: need for lot in lots if lot.placed}
    return {name: replace(need, share=share, confidence=confidence) for name, need in sheets.items()}


def _row(one: Judged, need: Need, asked: Asked) -> dict[str, Any]:
    base = one.to_json()
    if asked.rule == "bound":
        return base
    ruled = _by_k(one, need, asked.k or 0.0) if asked.rule == "k" else _by_spots(one, need, asked)
    dropped = {"share", "confidence", "share_below", "cautions"}
    return {name: value for name, value in base.items() if name not in dropped} | ruled | {"cautions": []}


def _by_k(one: Judged, need: Need, k: float) -> dict[str, Any]:
    middles = [item.reading.middle for item in one.lot.placed]
    if len(middles) < 2:
        more = 2 - len(middles)
        return _said(Answer.NOT_YET, more, f"not yet: {more} more readings at least", ()) | {"bound_um": None}
    found = k_method(middles, need.least_wet, k)
    index = found.index if abs(found.index) < 1e12 else None
    words = f"{'accepted' if found.accepted else 'refused'}: Q = {found.index:.2f}, k = {k:g}"
    low = tuple(
        dict.fromkeys(p.joint for p in one.lot.placed if p.reading.judge(need.least_wet) is Verdict.THIN)
    )
    answer = Answer.PROVED if found.accepted else Answer.THIN
    return _said(answer, 0 if found.accepted else None, words, low) | {
        "mean_um": found.mean * 1e6,
        "sd_um": found.sd * 1e6,
        "bound_um": (found.mean - k * found.sd) * 1e6,
        "k": k,
        "quality_index": index,
    }


def _by_spots(one: Judged, need: Need, asked: Asked) -> dict[str, Any]:
    dry: dict[str, list[float]] = {}
    for item in one.lot.placed:
        dry.setdefault(item.joint, []).append(item.reading.middle * need.least_dry / need.least_wet)
    spots = {joint: sum(v) / len(v) for joint, v in dry.items() if len(v) >= READINGS_PER_SPOT}
    within = limits(need.least_dry, None if asked.most is None else read(asked.most), level=asked.level)
    shown = {
        "bound_um": None,
        "level": asked.level,
        "spots": [{"joint": joint, "dry_um": film * 1e6} for joint, film in spots.items()],
        "spot_low_um": within.spot_low * 1e6,
        "spot_high_um": None if within.spot_high is None else within.spot_high * 1e6,
        "area_low_um": within.area_low * 1e6,
        "area_high_um": None if within.area_high is None else within.area_high * 1e6,
    }
    if len(spots) < SPOTS_PER_AREA:
        begun = sorted((len(v) for v in dry.values() if len(v) < READINGS_PER_SPOT), reverse=True)
        gaps = [READINGS_PER_SPOT - n for n in (*begun, *([0] * SPOTS_PER_AREA))][
            : SPOTS_PER_AREA - len(spots)
        ]
        words = f"not yet: {SPOTS_PER_AREA - len(spots)} more spots ({sum(gaps)} readings)"
        return _said(Answer.NOT_YET, sum(gaps), words, ()) | shown
    found = judge({"lot": list(spots.values())}, within)
    mean = sum(spots.values()) / len(spots)
    low = tuple(joint for joint, film in spots.items() if film < within.spot_low)
    if found.accepted:
        return (
            _said(Answer.PROVED, 0, "accepted: every spot and the area lie within their limits", ()) | shown
        )
    if low or mean < within.area_low:
        return _said(Answer.THIN, None, "thin: " + (", ".join(low[:5]) or "the area's mean"), low) | shown
    return _said(Answer.NOT_YET, None, "not accepted: thicker than the range allows", ()) | shown


def _said(answer: Answer, more: int | None, sentence: str, thin_at: Sequence[str]) -> dict[str, Any]:
    return {"answer": answer.value, "more_readings": more, "sentence": sentence, "thin_at": list(thin_at)}
