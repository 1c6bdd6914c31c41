"""What the log teaches: use against plan, rates, experience for the next house."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from hullwright.app.earlier import read_experience
from hullwright.app.files import write_new
from hullwright.app.house import Source, load
from hullwright.app.issue import issued
from hullwright.app.log import Log
from hullwright.app.site import beside_film, catalog_of, opened, target_of
from hullwright.app.spoken import on_drawing
from hullwright.catalog import Catalog
from hullwright.choice.options import practised
from hullwright.choice.unit_rates import planned_flaws, planned_hours
from hullwright.errors import InputError, NoAnswerError, Problem, Where
from hullwright.joints.renamed import kind, method
from hullwright.proof.entries import Entry
from hullwright.proof.experience import Experience
from hullwright.proof.experience import experience as sum_up
from hullwright.proof.mockup import Target
from hullwright.proof.packs_open import OpenPack, open_packs
from hullwright.proof.rates import Group, Inspection, Rates, Work, learn_rates
from hullwright.proof.use import Forecast, OverUse, Stock, UseDay, Yield, forecast, learn_yield, over_use


@dataclass(frozen=True, slots=True)
class UseLine:
    """Use of one product in one method.

    Parameters
    ----------
    product, method : str
    days : tuple of UseDay
    unmatched_packs : float
        Packs logged on days without any length done.
    learned : Yield
    over : OverUse or None
        None where the product is no film along a joint.
    ahead : Forecast or None
        None where nothing was said of what is left.
    """

    product: str
    method: str
    days: tuple[UseDay, ...]
    unmatched_packs: float
    learned: Yield
    over: OverUse | None
    ahead: Forecast | None

    def to_json(self) -> dict[str, Any]:
        """Give the line."""
        return {
            "product": self.product,
            "method": self.method,
            "days": len(self.days),
            "length_m": sum(day.metres for day in self.days),
            "packs": sum(day.packs for day in self.days),
            "cured_packs": sum(day.cured for day in self.days),
            "unmatched_packs": self.unmatched_packs,
            **self.learned.to_json(),
            "over": None if self.over is None else self.over.to_json(),
            "ahead": None if self.ahead is None else self.ahead.to_json(),
        }


@dataclass(frozen=True, slots=True)
class Use:
    """Use against plan."""

    log: Log
    lines: tuple[UseLine, ...]
    currency: str
    packs: tuple[OpenPack, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``use --json``."""
        return {
            "schema": {"name": "use", "version": 1},
            "store": str(self.log.path),
            "house": self.log.house,
            "currency": self.currency,
            "lines": [line.to_json() for line in self.lines],
            "open_packs": [pack.to_json() for pack in self.packs],
            "cautions": [],
        }


@dataclass(frozen=True, slots=True)
class Rest:
    """What is left to do with one product and method.

    Parameters
    ----------
    product, method : str
    metres : float
        Still to do [m].
    metres_per_day : float
        [m]
    start : date
    packs : float
        Unopened packs on site.
    lead_days : int
    """

    product: str
    method: str
    metres: float
    metres_per_day: float
    start: date
    packs: float
    lead_days: int

    def schedule(self) -> list[tuple[date, float]]:
        """Spread the rest over the days, Monday to Friday."""
        if not (self.metres > 0 and self.metres_per_day > 0):
            raise InputError("what is left needs metres and metres a day above 0")
        out, left, day = [], self.metres, self.start
        while left > 1e-9:
            if day.weekday() < 5:
                out.append((day, min(left, self.metres_per_day)))
                left -= self.metres_per_day
            day += timedelta(days=1)
            if len(out) > 2000:
                raise InputError(
                    "what is left would take more than 2 000 days: check metres and metres a day"
                )
        return out


def use(
    log: Log,
    building: Source | None = None,
    *,
    rest: Sequence[Rest] = (),
    planned: Mapping[str, float] | None = None,
) -> Use:
    """Hold use against plan.

    Parameters
    ----------
    log : Log
    building : path or Building, optional
        For product sheets, prices and the length of joints.
    rest : sequence of Rest, optional
        What is left to do, for packs to finish and the day they run out.
    planned : mapping of str to float, optional
        Metres per pack by product; else from sheet and joints as the plan counts them (waste, open gaps, fillets; without a
        house the film alone).

    Returns
    -------
    Use

    Raises
    ------
    InputError
        Where neither a sheet nor `planned` says what a product should yield.
    """
    house = None if building is None else load(building)
    catalog = catalog_of(house)
    lengths = {} if house is None else {joint.id: joint.length for joint in house.joints.joints}
    entries = log.standing() if house is None else on_drawing(log.standing(), house)
    days = _use_days(entries, lengths)
    ahead = {(item.product, item.method): item for item in rest}
    beside = {key: 0.0 if house is None else beside_film(house, catalog, _laid(entries, key)) for key in days}
    lines = [
        _use_line(
            key,
            used,
            (catalog, target_of(catalog, key[0], more=beside[key])),
            (planned or {}).get(key[0]),
            ahead.get(key),
        )
        for key, used in sorted(days.items())
    ]
    unknown = [f"{product} × {method}" for product, method in ahead if (product, method) not in days]
    if unknown:
        raise NoAnswerError(
            "nothing was logged yet of what is left", [Problem("no use logged", got=name) for name in unknown]
        )
    currency = "" if house is None else house.building.currency
    return Use(log, tuple(lines), currency, open_packs(entries))


def rates(log: Log, building: Source | None = None) -> Rates:
    """Learn hours and flaws by method, kind and crew, prior and data apart.

    Parameters
    ----------
    log : Log
    building : path or Building, optional
        Whose own figures and crew are the priors, as its plan counts with them; without it the starting figures.

    Returns
    -------
    Rates
    """
    catalog, entries = catalog_of(building), log.standing()
    work = [Work(_group(e), e.what["quantity"], e.what["hours"]) for e in entries if e.kind == "hours"]
    looked = [
        Inspection(_group(e), e.what["quantity"], e.what["flaws"], bool(e.what.get("pieces", False)))
        for e in entries
        if e.kind == "looked"
    ]
    crew = None if building is None else opened(building).building.crew.practised
    hours = _planned(catalog, planned_hours, crew, work)
    flaws = _planned(catalog, planned_flaws, crew, looked)
    return learn_rates(work, looked, hours_prior=hours, flaw_prior=flaws)


def experience(
    log: Log, building: Source | None = None, *, earlier: Sequence[str] = (), out: str | None = None
) -> Experience:
    """Sum up what this house taught, and earlier houses with it.

    Parameters
    ----------
    log : Log
    building : path or Building, optional
    earlier : sequence of str
        Experience files to add.
    out : str or None
        New file to write.

    Returns
    -------
    Experience

    Raises
    ------
    InputError
        Where an earlier file can't be used.
    OutputError
        Where `out` is there already or can't be written.
    """
    yields = [(line.product, line.method, line.learned.data) for line in use(log, building).lines]
    found = replace(sum_up(rates(log, building), yields), drawings=_drawn(log))
    for file in earlier:
        found = found.merge(read_experience(file))
    if out:
        write_new(Path(out), json.dumps(found.to_json(), indent=1) + "\n")
    return found


def _drawn(log: Log) -> tuple[tuple[int, str], ...]:
    """Number and hash of the drawing that was issued last."""
    return tuple((one.number, one.drawing.sha256) for one in issued(log)[-1:])


def _group(entry: Entry) -> Group:
    return Group(method(entry.what["method"]), kind(entry.spot.kind), entry.what["crew"])


def _planned(
    catalog: Catalog,
    rate: Callable[..., float | None],
    crew: tuple[str, ...] | None,
    items: Sequence[Work] | Sequence[Inspection],
) -> dict[tuple[str, str], float]:
    """Give what the plan counts with, by method and kind; without a house for a crew that knows its methods."""
    found: dict[tuple[str, str], float] = {}
    for way, on in {(item.group.method, item.group.kind) for item in items}:
        value = rate(catalog, way, on, practised=crew is None or practised(way, crew))
        if value:
            found[way, on] = value
    return found


def _use_days(
    entries: Sequence[Entry], lengths: Mapping[str, float]
) -> dict[tuple[str, str], list[tuple[date, float, float, int]]]:
    """Metres, packs and cured packs by product and method, day by day; metres as said, else as done that day."""
    sums: dict[tuple[str, str], dict[date, list[float]]] = defaultdict(
        lambda: defaultdict(lambda: [0.0, 0.0, 0.0])
    )
    said: set[tuple[str, str, date]] = set()
    for entry in entries:
        if entry.kind == "used":
            key, day = (entry.what["product"], entry.what["method"]), entry.stamp.time.date()
            row = sums[key][day]
            row[0] += entry.what.get("quantity", 0.0)
            row[1] += entry.what["packs"]
            row[2] += entry.what.get("cured", 0)
            if "quantity" in entry.what:
                said.add((*key, day))
    for entry in entries:
        if entry.kind == "done":
            method, day = entry.what["method"], entry.stamp.time.date()
            for (product, used_method), days in sums.items():
                same = method == used_method and entry.what.get("product", product) == product
                if same and day in days and (product, method, day) not in said:
                    days[day][0] += _done_length(entry, lengths)
    return {
        key: [(day, row[0], row[1], round(row[2])) for day, row in sorted(days.items())]
        for key, days in sums.items()
    }


def _laid(entries: Sequence[Entry], key: tuple[str, str]) -> set[str]:
    """Joints that are logged as done with a product and method."""
    product, method = key
    return {
        entry.spot.joint
        for entry in entries
        if entry.kind == "done"
        and entry.what["method"] == method
        and entry.what.get("product", product) == product
    }


def _done_length(entry: Entry, lengths: Mapping[str, float]) -> float:
    whole = lengths.get(entry.spot.joint, 0.0)
    return max(0.0, float(entry.what.get("to_m", whole) - entry.what.get("from_m", 0.0)))


def _use_line(
    key: tuple[str, str],
    used: Sequence[tuple[date, float, float, int]],
    known: tuple[Catalog, Target | None],
    planned: float | None,
    rest: Rest | None,
) -> UseLine:
    (product, method), (catalog, target) = key, known
    days = tuple(
        UseDay(day, metres, packs, cured) for day, metres, packs, cured in used if metres > 0 and packs > 0
    )
    unmatched = sum(packs for _, metres, packs, _ in used if metres <= 0)
    learned = learn_yield(days, planned or _sheet_yield(catalog, product, target))
    sheet = catalog.products.get(product)
    over = None
    if days and target is not None and sheet is not None:
        over = over_use(days, target, pack_volume=sheet.pack, pack_money=sheet.price)
    ahead = None if rest is None else forecast(learned, rest.schedule(), Stock(rest.packs, rest.lead_days))
    return UseLine(product, method, days, unmatched, learned, over, ahead)


def _sheet_yield(catalog: Catalog, product: str, target: Target | None) -> float:
    """Metres per pack as the plan counts them: waste, open gaps and fillets within."""
    sheet = catalog.products.get(product)
    if sheet is not None and target is not None:
        return sheet.pack * (1.0 - sheet.waste) / target.section
    if sheet is not None and sheet.pack_unit == "m":
        return sheet.pack * (1.0 - sheet.waste)
    problem = Problem(
        "neither sheet nor plan says what it yields",
        Where(key=product),
        product,
        "metres per pack",
        "state it",
    )
    raise InputError("use can't be held against a plan", [problem])
