"""What did this house teach, as a file without names that the next building file takes in.

Only sums leave the house: no authors, crews, devices, dates or places. Sums of several houses add up exactly.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, NoReturn

from hullwright.errors import InputError, Problem, Where
from hullwright.evidence import Evidence, Figure, Mark
from hullwright.joints import renamed
from hullwright.proof.bayes import BetaShare, GammaRate, LogStats
from hullwright.proof.rates import Rates, hours_prior_of

SCHEMA: Final = {"name": "experience", "version": 1}
Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Count:
    """Flaws over what was looked at.

    Parameters
    ----------
    flaws : int
    looked_at : float
        Metres, or pieces.
    pieces : bool
    """

    flaws: int
    looked_at: float
    pieces: bool


@dataclass(frozen=True, slots=True)
class Experience:
    """Sums over one or more houses.

    Parameters
    ----------
    houses : int
    flaws : mapping of (method, kind) to Count
    hours : mapping of (method, kind) to LogStats
        Hours per metre or piece.
    yields : mapping of (product, method) to LogStats
        Metres per pack.
    drawings : tuple of (int, str)
        Number of the revision and hash of the drawing that each house stood on, where one was issued: no author and no date.
    """

    houses: int
    flaws: Mapping[Key, Count]
    hours: Mapping[Key, LogStats]
    yields: Mapping[Key, LogStats]
    drawings: tuple[tuple[int, str], ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Give the file."""
        return {
            "schema": dict(SCHEMA),
            "houses": self.houses,
            "drawings": [{"revision": number, "sha256": digest} for number, digest in self.drawings],
            "flaws": [
                {"method": m, "kind": k, "flaws": c.flaws, "looked_at": c.looked_at, "pieces": c.pieces}
                for (m, k), c in sorted(self.flaws.items())
            ],
            "hours": [{"method": m, "kind": k, **_stats(s)} for (m, k), s in sorted(self.hours.items())],
            "yields": [{"product": p, "method": m, **_stats(s)} for (p, m), s in sorted(self.yields.items())],
            "cautions": [],
        }

    def merge(self, other: Experience) -> Experience:
        """Join the experience of two sets of houses."""
        flaws = dict(self.flaws)
        for key, count in other.flaws.items():
            old = flaws.get(key, Count(0, 0.0, count.pieces))
            flaws[key] = Count(old.flaws + count.flaws, old.looked_at + count.looked_at, count.pieces)
        return Experience(
            self.houses + other.houses,
            flaws,
            _merge(self.hours, other.hours),
            _merge(self.yields, other.yields),
            (*self.drawings, *other.drawings),
        )

    def flaw_figures(self, priors: Mapping[Key, float]) -> dict[Key, Figure]:
        """Give flaws per metre, or share of pieces, in place of estimates.

        Parameters
        ----------
        priors : mapping of (method, kind) to float
            The estimates so far, weighing as one flaw.

        Returns
        -------
        dict of (method, kind) to Figure
            Posterior means, with their source said.
        """
        out = {}
        for key, count in self.flaws.items():
            prior = priors.get(key)
            if prior is None:
                continue
            unit = "piece" if count.pieces else "m"
            source = (
                f"experience file: {self.houses} house(s), {count.flaws} flaws in {count.looked_at:g} {unit}"
            )
            out[key] = Figure(
                _posterior(prior, count), "" if count.pieces else "1/m", Evidence(Mark.EARLIER, source)
            )
        return out

    def hour_figures(self, priors: Mapping[Key, float]) -> dict[Key, Figure]:
        """Give hours per metre or piece in place of estimates.

        Parameters
        ----------
        priors : mapping of (method, kind) to float
            Mean hours so far, weighing as one stretch of work.

        Returns
        -------
        dict of (method, kind) to Figure
            Posterior means: that of the logarithm, and half its variance for the mean of what is skewed.

        Examples
        --------
        >>> none = Experience(1, {}, {("tape", "ridge"): LogStats(0, 0.0, 0.0)}, {})
        >>> round(none.hour_figures({("tape", "ridge"): 0.05})["tape", "ridge"].value, 12)
        0.05
        """
        out: dict[Key, Figure] = {}
        for key, data in self.hours.items():
            if key not in priors:
                continue
            after = hours_prior_of(priors[key]).update(data)
            mean = math.exp(after.centre + after.scale / after.shape / 2.0)
            source = f"experience file: {self.houses} house(s), {data.n} stretches of work"
            out[key] = Figure(mean, "h", Evidence(Mark.EARLIER, source))
        return out


def experience(rates: Rates, yields: Iterable[tuple[str, str, LogStats]]) -> Experience:
    """Take the sums of one house; crews are added together.

    Parameters
    ----------
    rates : Rates
    yields : iterable of (product, method, LogStats)

    Returns
    -------
    Experience

    Examples
    --------
    >>> experience(Rates((), ()), [("P", "liquid", LogStats.of([5.0, 6.0]))]).to_json()["yields"][0]["n"]
    2
    """
    flaws: dict[Key, Count] = {}
    for rate in rates.flaws:
        key = (rate.group.method, rate.group.kind)
        old = flaws.get(key)
        pieces = isinstance(rate.posterior, BetaShare)
        flaws[key] = Count(
            rate.flaws + (old.flaws if old else 0), rate.quantity + (old.looked_at if old else 0.0), pieces
        )
    hours: dict[Key, LogStats] = defaultdict(lambda: LogStats(0, 0.0, 0.0))
    for hour in rates.hours:
        key = (hour.group.method, hour.group.kind)
        hours[key] = hours[key].merge(hour.data)
    by_product: dict[Key, LogStats] = defaultdict(lambda: LogStats(0, 0.0, 0.0))
    for product, method, stats in yields:
        by_product[product, method] = by_product[product, method].merge(stats)
    return Experience(1, flaws, dict(hours), dict(by_product))


def experience_from_json(data: object, file: str = "") -> Experience:
    """Read an experience file.

    Parameters
    ----------
    data : object
        Parsed JSON.
    file : str
        Its name, for messages.

    Returns
    -------
    Experience

    Raises
    ------
    InputError
        Where it is not such a file, or a sum is impossible.

    Examples
    --------
    >>> one = experience(Rates((), ()), [("P", "liquid", LogStats.of([5.0, 6.0]))])
    >>> experience_from_json(one.to_json()) == one
    True
    """
    if not isinstance(data, Mapping) or data.get("schema") != SCHEMA:
        _refuse("this is not an experience file", file, "schema", str(SCHEMA))
    try:
        flaws = {_key(r): _count(r) for r in _rows(data, "flaws")}
        hours = {_key(r): _read_stats(r) for r in _rows(data, "hours")}
        yields = {
            (_name(r["product"]), renamed.method(_name(r["method"]))): _read_stats(r)
            for r in _rows(data, "yields")
        }
        houses = int(data["houses"])
        drawings = tuple(_drawing(r) for r in _rows(data, "drawings")) if "drawings" in data else ()
    except (KeyError, TypeError, ValueError, OverflowError) as error:
        _refuse(f"a figure is missing or impossible ({error})", file, "", "the file as hullwright wrote it")
    if houses < 1:
        _refuse("no house in it", file, "houses", "1 or more")
    return Experience(houses, flaws, hours, yields, drawings)


def _posterior(prior: float, count: Count) -> float:
    if count.pieces:
        return BetaShare(1.0, 1.0 / prior - 1.0).update(count.flaws, round(count.looked_at)).mean
    return GammaRate(1.0, 1.0 / prior).update(count.flaws, count.looked_at).mean


def _merge(one: Mapping[Key, LogStats], two: Mapping[Key, LogStats]) -> dict[Key, LogStats]:
    out = dict(one)
    for key, stats in two.items():
        out[key] = out[key].merge(stats) if key in out else stats
    return out


def _stats(stats: LogStats) -> dict[str, Any]:
    return {"n": stats.n, "mean_log": stats.mean_log, "sum_squares": stats.sum_squares}


def _rows(data: Mapping[str, Any], key: str) -> Sequence[Mapping[str, Any]]:
    rows = data[key]
    if not isinstance(rows, list):
        raise TypeError(f"{key} is not a list")
    return rows


def _name(value: object) -> str:
    if not isinstance(value, str) or not 0 < len(value) <= 200:
        raise ValueError(f"bad name {value!r:.80}")
    return value


def _key(row: Mapping[str, Any]) -> Key:
    """Method and joint kind in words of today; a file of before has others."""
    return renamed.method(_name(row["method"])), renamed.kind(_name(row["kind"]))


def _drawing(row: Mapping[str, Any]) -> tuple[int, str]:
    return int(_finite(row["revision"], least=1)), _name(row["sha256"])


def _finite(value: object, *, least: float) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not least <= value < 1e12:
        raise ValueError(f"bad figure {value!r:.80}")
    return float(value)


def _count(row: Mapping[str, Any]) -> Count:
    flaws, looked = int(_finite(row["flaws"], least=0)), _finite(row["looked_at"], least=0)
    if row["pieces"] not in (True, False) or (row["pieces"] and flaws > looked):
        raise ValueError("more pieces failed than were looked at")
    return Count(flaws, looked, bool(row["pieces"]))


def _read_stats(row: Mapping[str, Any]) -> LogStats:
    n, squares = int(_finite(row["n"], least=0)), _finite(row["sum_squares"], least=0)
    return LogStats(n, _finite(row["mean_log"], least=-1e6), squares)


def _refuse(message: str, file: str, key: str, allowed: str) -> NoReturn:
    raise InputError(
        "the experience file can't be used",
        [Problem(message, Where(file or None, key=key or None), allowed=allowed)],
    )
