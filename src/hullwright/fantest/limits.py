"""Is a limit met: *met*, *not met* or *not decided by this test*, by the 95 % total interval.

Limits of codes and programmes are data with edition, clause, unit as cited and mark.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Any

from hullwright.errors import FanTestError, Problem
from hullwright.evidence import Evidence, Mark
from hullwright.fantest.analysis import Spread, TestResult, at_level
from hullwright.fantest.bounds import ALLOWED, Bound, parse
from hullwright.fantest.raw import Building
from hullwright.fantest.standards import MARKS, data

DECIDE_AT = 0.95


class Answer(StrEnum):
    """Answer of a test to a limit."""

    MET = "met"
    NOT_MET = "not met"
    OPEN = "not decided by this test"


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a limit.

    Parameters
    ----------
    zones : tuple of int
        Climate zones; empty for all.
    bounds : tuple of Bound
        Bounds.
    every : bool
        Whether all bounds must be kept; else any one will do.
    compactness : tuple of (float, float)
        Where the bound goes by volume over envelope area [m]: points to interpolate; else empty.
    """

    zones: tuple[int, ...]
    bounds: tuple[Bound, ...]
    every: bool = False
    compactness: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit of a code or programme, or one the user wrote.

    Parameters
    ----------
    id, code, edition, clause, applies : str
        Name, code, edition, clause, to what it applies.
    evidence : Evidence
        How far its figures can be trusted.
    rows : tuple of Row
        By climate zone.
    both_directions : bool
        Whether it holds for the mean of both directions only.
    """

    id: str
    code: str
    edition: str
    clause: str
    applies: str
    evidence: Evidence
    rows: tuple[Row, ...]
    both_directions: bool = False

    def to_json(self) -> dict[str, Any]:
        """Give the limit as JSON."""
        return {
            "id": self.id,
            "code": self.code,
            "edition": self.edition,
            "clause": self.clause,
            "applies": self.applies,
            "evidence": self.evidence.to_json(),
            "rows": [
                {
                    "zones": list(row.zones),
                    "all" if row.every else "any": [str(bound) for bound in row.bounds],
                    **(
                        {"compactness": [list(point) for point in row.compactness]} if row.compactness else {}
                    ),
                }
                for row in self.rows
            ],
        }


@dataclass(frozen=True, slots=True)
class Against:
    """Answer to one limit.

    Parameters
    ----------
    limit : str
        As asked.
    answer : Answer
        Met, not met, not decided.
    margin : float or None
        (limit - result) / half-width of the 95 % total interval on the side of the limit; above 1 met, below -1 not.
    bound : Bound
        The bound that decided.
    result : Spread or None
        The result in the unit of the bound.
    because : tuple of str
        Why nothing was decided.
    source : Limit
        The limit.
    """

    limit: str
    answer: Answer
    margin: float | None
    bound: Bound
    result: Spread | None
    because: tuple[str, ...]
    source: Limit

    @property
    def half_width(self) -> float | None:
        """Half-width on the side of the limit, in its unit."""
        if self.result is None:
            return None
        above = self.bound.value >= self.result.value
        return self.result.high - self.result.value if above else self.result.value - self.result.low

    def to_json(self) -> dict[str, Any]:
        """Give the answer as JSON."""
        return {
            "limit": self.limit,
            "answer": self.answer.value,
            "margin": self.margin,
            "limit_value": self.bound.value,
            "unit": self.bound.unit,
            "result": self.result.to_json() if self.result else None,
            "half_width": self.half_width,
            "because": list(self.because),
            "id": self.source.id,
            "code": self.source.code,
            "edition": self.source.edition,
            "clause": self.source.clause,
            "applies": self.source.applies,
            "evidence": self.source.evidence.to_json(),
        }


@cache
def limits() -> Mapping[str, Limit]:
    """All limits that are stored, by id.

    Returns
    -------
    mapping of str to Limit

    Examples
    --------
    >>> limits()["passive-house"].rows[0].bounds[0].value
    0.6
    """
    return MappingProxyType({row["id"]: _limit(row) for row in data("limits.toml")["limit"]})


def _limit(table: dict[str, Any]) -> Limit:
    source = f"{table['code']}, {table['edition']}, {table['clause']}"
    secondary = table["mark"] == "secondary"
    mark = Mark.PUBLISHED if secondary else MARKS[table["mark"]]
    evidence = Evidence(mark, source + (" (seen in a secondary copy only)" if secondary else ""))
    return Limit(
        table["id"],
        table["code"],
        table["edition"],
        table["clause"],
        table["applies"],
        evidence,
        tuple(_row(row) for row in table["rows"]),
        bool(table.get("both_directions", False)),
    )


def _row(row: dict[str, Any]) -> Row:
    zones = tuple(row.get("zones", ()))
    if "compactness" in row:
        points = tuple((float(x), float(y)) for x, y in row["compactness"])
        return Row(zones, (parse(f"{points[0][1]} {row['unit']}"),), compactness=points)
    every = "all" in row
    return Row(zones, tuple(parse(text) for text in row["all" if every else "any"]), every)


def resolve(text: str) -> tuple[Limit, Row]:
    """Find the limit a person asks for.

    Parameters
    ----------
    text : str
        A limit such as ``3 ach50``, or an id with the climate zone where it has any: ``iecc-2018 zone 5``.

    Returns
    -------
    limit : Limit
    row : Row
        The line that applies.

    Raises
    ------
    FanTestError
        With what is allowed.

    Examples
    --------
    >>> str(resolve("iecc-2018 zone 5")[1].bounds[0])
    '3 ach50'
    >>> resolve("0.6 ach50")[0].id
    'stated'
    """
    match = re.fullmatch(
        r"([a-z][a-z0-9.\-]*)(?:(?: |@| ?, ?)(?:climate )?(?:zone |cz ?)?(\d)[a-c]?)?", text.strip().lower()
    )
    if match is None or (match.group(1) not in limits() and not match.group(2) and _reads(text)):
        bound = parse(text)
        stated = Evidence(Mark.STATED, "asked for by the user")
        row = Row((), (bound,))
        return Limit("stated", "stated by the user", "", "", "", stated, (row,)), row
    name, zone = match.groups()
    limit = limits().get(name)
    if limit is None:
        near = difflib.get_close_matches(name, limits(), n=3, cutoff=0.4)
        hint = f"did you mean {' or '.join(near)}?" if near else "ask for the list of limits"
        problem = Problem(
            "no such limit is stored", got=text, allowed=f"an id of the list, or {ALLOWED}", hint=hint
        )
        raise FanTestError(f"unknown limit {text!r}", [problem])
    return limit, _choose(limit, None if zone is None else int(zone), text)


def _reads(text: str) -> bool:
    try:
        parse(text)
    except FanTestError:
        return False
    return True


def _choose(limit: Limit, zone: int | None, text: str) -> Row:
    fitting = [row for row in limit.rows if not row.zones or zone in row.zones]
    if fitting:
        return fitting[0]
    known = sorted({known for row in limit.rows for known in row.zones})
    problem = Problem(
        "this limit goes by climate zone" if zone is None else "this limit has no such climate zone",
        got=text,
        allowed=f"{limit.id} zone N, N one of {', '.join(map(str, known))}",
    )
    raise FanTestError(f"the limit {text!r} is not complete", [problem])


def answer(result: TestResult, text: str) -> Against:
    """Answer one limit by the 95 % total interval of a test.

    Parameters
    ----------
    result : TestResult
        The test.
    text : str
        The limit, as in :func:`resolve`.

    Returns
    -------
    Against
        *met* where the whole interval keeps the bound, *not met* where none of it does. A test that its standard calls
        void, or that lacks a size or a direction the limit asks for, decides nothing.

    Raises
    ------
    FanTestError
        Where the limit can't be read.
    """
    limit, row = resolve(text)
    result = at_level(result, DECIDE_AT)
    reasons = [f"void by its standard: {flag.text}" for flag in result.void]
    if limit.both_directions and len(result.directions) < 2:
        reasons.append("the limit is for the mean of both directions; one was measured")
    found = [_hold(result, text, limit, bound, tuple(reasons)) for bound in _bounds(row, result.raw.building)]
    rank = [Answer.NOT_MET, Answer.OPEN, Answer.MET]
    pick = min if row.every else max
    return pick(found, key=lambda one: (rank.index(one.answer), -1e9 if one.margin is None else one.margin))


def _bounds(row: Row, building: Building) -> tuple[Bound, ...]:
    if not row.compactness:
        return row.bounds
    (x0, y0), (x1, y1) = row.compactness
    volume, area = building.volume_m3, building.envelope_m2
    if not volume or not area:
        return row.bounds
    x = min(max(volume / area, x0), x1)  # the code itself is constant beyond its two points
    base = row.bounds[0]
    return (Bound(y0 + (y1 - y0) * (x - x0) / (x1 - x0), base.unit, base.kind, base.pressure_pa),)


def _hold(result: TestResult, text: str, limit: Limit, bound: Bound, reasons: tuple[str, ...]) -> Against:
    scale = bound.measure(result.raw.building)
    if isinstance(scale, str):
        return Against(text, Answer.OPEN, None, bound, None, (*reasons, scale), limit)
    found = result.spread(scale)
    above = bound.value >= found.value
    half = found.high - found.value if above else found.value - found.low
    margin = (bound.value - found.value) / half if half > 0 else None
    verdict = Answer.OPEN
    if not reasons:
        if found.high <= bound.value:
            verdict = Answer.MET
        elif found.low > bound.value:
            verdict = Answer.NOT_MET
        else:
            reasons = (f"the limit lies within the {DECIDE_AT:.0%} interval of the result",)
    return Against(text, verdict, margin, bound, found, reasons, limit)
