"""Invented houses as instances, for tests and benchmarks: any number of runs from a seed.

Every figure below is an `estimate`: flaws per 100 m, leakage by kind and the factors follow the project's own starting
values; prices, labour and pack sizes are invented. Nothing here is used for a real house.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hullwright.choice.instance import Coat, Floats, Goal, Instance, Ints, Limits

# method: (flaws per 100 m on a flat seam, hours a metre, products with packs a metre)
# products: 0 tape, 1 wide tape, 2 primer, 3 stretch tape, 4 liquid in sausages, 5 liquid in pails,
#           6 sealant, 7 backer, 8 boots, 9 coat
PRICE = np.array([38.0, 54.0, 34.0, 58.0, 19.0, 92.0, 9.0, 28.0, 42.0, 230.0])
_ROLL, _WIDE, _STRETCH, _SAUSAGE, _PAIL = 1 / 27.4, 1 / 22.9, 1 / 22.9, 1 / 9.0, 1 / 52.0
LINE = (
    (1.5, 0.035, {0: _ROLL}, 0),
    (1.2, 0.055, {0: _ROLL, 2: 1 / 60.0}, 0),
    (1.0, 0.045, {1: _WIDE, 2: 1 / 90.0}, 0),
    (1.2, 0.040, {3: _STRETCH}, 1),
    (0.6, 0.070, {4: _SAUSAGE}, 2),
    (0.6, 0.075, {5: _PAIL, 7: 1 / 300.0}, 3),
)
# kind of line: (sound leakage tape, liquid [cm2/m]; mean flaw [cm2]; g of tape, stretch, liquid; share of all runs;
# water that passes [L/m]; share that enters)
KINDS = (
    (0.02, 0.01, 0.3, (1.0, 1.0, 1.0), 0.40, 60.0, 0.1),
    (0.03, 0.01, 0.3, (1.5, 1.2, 1.0), 0.08, 60.0, 0.1),
    (0.08, 0.03, 1.0, (3.0, 2.0, 1.1), 0.06, 30.0, 0.1),
    (0.02, 0.01, 0.3, (1.3, 1.0, 1.2), 0.05, 60.0, 0.1),
    (0.05, 0.01, 0.6, (4.0, 2.0, 1.2), 0.04, 90.0, 0.1),
    (0.10, 0.04, 1.0, (2.5, 1.8, 1.3), 0.06, 200.0, 0.1),
    (0.10, 0.04, 1.0, (3.0, 2.0, 1.2), 0.03, 400.0, 0.8),
    (0.03, 0.02, 0.3, (1.3, 1.2, 1.0), 0.10, 60.0, 0.1),
)
# piece: (flaws each: tape, primed, wide, stretch, sausage, boot; mean flaw [cm2]; share of all runs; water each [L])
PIECES = (
    ((0.40, 0.33, 0.30, 0.10, 0.05, 0.04), 0.8, 0.06, 4.0),
    ((0.30, 0.25, 0.22, 0.15, 0.05, 0.05), 0.8, 0.03, 4.0),
    ((1.00, 0.85, 0.75, 0.50, 0.12, 0.20), 1.5, 0.03, 3.0),
    ((0.80, 0.70, 0.60, 0.50, 0.12, 0.12), 0.6, 0.03, 8.0),
    ((0.30, 0.25, 0.22, 0.06, 0.03, 0.03), 0.4, 0.03, 6.0),
)
_PIECE_HOURS = np.array([0.10, 0.14, 0.11, 0.12, 0.16, 0.15])
_PIECE_USE = (
    {0: 0.5 / 27.4},
    {0: 0.5 / 27.4, 2: 0.01},
    {1: 0.5 / 22.9},
    {3: 0.4 / 22.9},
    {4: 0.06, 6: 0.02},
    {8: 0.1},
)
_PIECE_METHOD = (0, 0, 0, 1, 2, 4)
_RATE, _RUNS_A_FACE, _METHODS = 42.0, 25, 6
_AIR_TARGET, _WATER_LIMIT = 60.0, 10.0  # cm2 and L of a house of 300 runs


@dataclass(frozen=True, slots=True)
class Trial:
    """A question to the solver."""

    instance: Instance
    limits: Limits
    goal: Goal


def trial(
    runs: int, seed: int, *, share: float = 0.35, extras: frozenset[str] | set[str] = frozenset()
) -> Trial:
    """Build an invented house.

    Parameters
    ----------
    runs : int
        Number of runs; six options each, ten products.
    seed : int
        Same seed, same house.
    share : float
        Where the budget lies between the cheapest plan and the one of least harm (0 to 1), fractional packs.
    extras : set of str
        Any of 'setup', 'coats', 'hours', 'products', 'meetings', 'stock'.

    Returns
    -------
    Trial
        Instance, limits and goal in budget mode.

    Examples
    --------
    >>> trial(40, 1).instance.options
    240
    """
    rng = np.random.default_rng([seed, runs])
    instance = _base(runs, rng)
    scale = max(runs, 1) / 300.0
    goal = Goal(1 / (_AIR_TARGET * scale), 1 / (_WATER_LIMIT * scale))
    if "setup" in extras:
        instance = _with_setup(instance, rng)
    if "coats" in extras:
        instance = _with_coats(instance, rng)
    if "meetings" in extras:
        instance = _with_meetings(instance, rng)
    return Trial(*_limited(instance, goal, (share, extras)), goal)


def _kinds(runs: int, rng: np.random.Generator) -> Ints:
    shares = np.array([k[4] for k in KINDS] + [p[2] for p in PIECES])
    return rng.choice(len(shares), size=runs, p=shares / shares.sum()).astype(np.int64)


def _base(runs: int, rng: np.random.Generator) -> Instance:
    kind = _kinds(runs, rng)
    line = kind < len(KINDS)
    amount = np.where(line, rng.lognormal(1.0, 0.6, runs), rng.integers(1, 5, runs))
    state = rng.choice([1.0, 1.3, 1.0, 2.0], size=(runs, 1)) * rng.lognormal(0.0, 0.25, (runs, 6))
    wet = rng.lognormal(-0.3, 0.7, (runs, 1))
    lines, pieces = _line_rates(), _piece_rates()
    sound, flaws, area, water, hours, use, method = (
        np.concatenate([a, b])[kind] for a, b in zip(lines, pieces, strict=True)
    )
    count = flaws * state * amount[:, None]
    access = rng.lognormal(0.0, 0.2, (runs, 1))
    effort = hours * amount[:, None] * access * rng.lognormal(0.0, 0.25, (runs, 6))
    options = runs * 6
    return Instance(
        first=np.arange(runs + 1, dtype=np.int64) * 6,
        air=(sound * amount[:, None] + count * area[:, None]).ravel(),
        water=(count * water[:, None] * wet).ravel(),
        labour=(effort * _RATE).ravel(),
        hours=effort.ravel(),
        use=(use * amount[:, None, None]).reshape(options, len(PRICE)),
        price=PRICE.copy(),
        stock=np.full(len(PRICE), np.inf),
        owned=np.zeros(len(PRICE)),
        method=method.ravel(),
        face=np.arange(runs, dtype=np.int64) // _RUNS_A_FACE,
        setup_money=np.zeros((runs // _RUNS_A_FACE + 1, _METHODS)),
        setup_hours=np.zeros((runs // _RUNS_A_FACE + 1, _METHODS)),
        coat=np.full(options, -1, dtype=np.int64),
    )


def _uses(uses: tuple[dict[int, float], ...]) -> Floats:
    out = np.zeros((len(uses), len(PRICE)))
    for row, use in enumerate(uses):
        out[row, list(use)] = list(use.values())
    return out


def _line_rates() -> tuple[NDArray[Any], ...]:
    family = np.array([0, 0, 0, 1, 2, 2])
    g = np.array([k[3] for k in KINDS])[:, family]
    flaws = np.array([m[0] for m in LINE]) / 100.0 * g
    sound = np.array([[k[0]] * 4 + [k[1]] * 2 for k in KINDS])
    water = np.array([k[5] * k[6] * 0.05 for k in KINDS])
    area = np.array([k[2] for k in KINDS])
    shape = (len(KINDS), 6)
    hours = np.broadcast_to(np.array([m[1] for m in LINE]), shape)
    use = np.broadcast_to(_uses(tuple(m[2] for m in LINE)), (*shape, len(PRICE)))
    return sound, flaws, area, water, hours, use, np.broadcast_to(np.array([m[3] for m in LINE]), shape)


def _piece_rates() -> tuple[NDArray[Any], ...]:
    shape = (len(PIECES), 6)
    flaws, area = np.array([p[0] for p in PIECES]), np.array([p[1] for p in PIECES])
    water = np.array([p[3] * 0.1 for p in PIECES])
    use = np.broadcast_to(_uses(_PIECE_USE), (*shape, len(PRICE)))
    method = np.broadcast_to(np.array(_PIECE_METHOD), shape)
    return np.zeros(shape), flaws, area, water, np.broadcast_to(_PIECE_HOURS, shape), use, method


def _with_setup(instance: Instance, rng: np.random.Generator) -> Instance:
    faces = len(instance.setup_money)
    hours = np.array([0.1, 0.15, 0.35, 0.5, 0.1, 0.8]) * rng.lognormal(0.0, 0.3, (faces, _METHODS))
    return replace(instance, setup_hours=hours, setup_money=hours * _RATE)


def _with_coats(instance: Instance, rng: np.random.Generator) -> Instance:
    """Give every other face a coat: the runs on it that are lines get a seventh option."""
    runs = instance.runs
    line = instance.method.reshape(runs, 6)[:, 5] == 3
    covered = np.flatnonzero(line & (instance.face % 2 == 0))
    faces = np.unique(instance.face[covered])
    number = np.searchsorted(faces, instance.face[covered])
    spot = instance.first[covered + 1]
    last = spot - 1

    def grown(column: NDArray[Any], values: NDArray[Any]) -> NDArray[Any]:
        return np.insert(column, spot, values, axis=0)

    sizes = np.full(runs, 6)
    sizes[covered] += 1
    area = rng.uniform(15.0, 60.0, len(faces))
    coats = tuple(
        Coat(int(f), float(a * 0.08 * _RATE), float(a * 0.08), np.eye(len(PRICE))[9] * a / 42.0)
        for f, a in zip(faces, area, strict=True)
    )
    zero = np.zeros(len(covered))
    return replace(
        instance,
        first=np.concatenate([[0], np.cumsum(sizes)]),
        air=grown(instance.air, instance.air[last] * 0.5),
        water=grown(instance.water, instance.water[last] * 0.5),
        labour=grown(instance.labour, zero),
        hours=grown(instance.hours, zero),
        use=grown(instance.use, np.zeros((len(covered), len(PRICE)))),
        method=grown(instance.method, np.full(len(covered), 5)),
        coat=grown(instance.coat, number),
        coats=coats,
    )


def _with_meetings(instance: Instance, rng: np.random.Generator) -> Instance:
    """Let neighbours meet; liquid on plain tape is known to fail in one of two makes, primer and stretch unknown."""
    a = np.arange(instance.runs - 1, dtype=np.int64)
    a = a[rng.random(len(a)) < 0.5]
    liquid = instance.use[:, 4] > 0
    material = np.select(
        [instance.coat >= 0, liquid, instance.use[:, 5] > 0, instance.use[:, 3] > 0, instance.use[:, 1] > 0],
        [4, 1, 2, 3, 5],
        0,
    )
    clash, unknown = np.zeros((6, 6), dtype=np.bool_), np.zeros((6, 6), dtype=np.bool_)
    clash[0, 1] = clash[3, 2] = True
    unknown[3, 1] = unknown[0, 4] = True
    pairs = np.stack([a, a + 1], axis=1) if len(a) else np.zeros((0, 2), dtype=np.int64)
    return replace(instance, meet=pairs, material=material.astype(np.int64), clash=clash, unknown=unknown)


def _limited(
    instance: Instance, goal: Goal, wish: tuple[float, frozenset[str] | set[str]]
) -> tuple[Instance, Limits]:
    share, extras = wish
    if instance.runs == 0:
        return instance, Limits()
    harm = goal.air_weight * instance.air + goal.water_weight * instance.water
    unit = instance.labour + instance.use @ instance.price + np.where(instance.coat >= 0, np.inf, 0.0)
    low, best = _pick_least(instance, unit), _pick_least(instance, np.where(np.isfinite(unit), harm, np.inf))
    opened = instance.use[low].sum(axis=0)
    ends = instance.labour[low].sum() + np.ceil(opened) @ instance.price, unit[best].sum()
    extra = 0.0
    if "setup" in extras:
        extra = float(instance.setup_money[:-1, :2].sum())
    budget = float(ends[0] + share * max(ends[1] - ends[0], 0.0) + extra)
    limits = Limits(budget=budget)
    if "hours" in extras:
        ends = instance.hours[low].sum(), instance.hours[best].sum()
        setup = float(instance.setup_hours[:-1, :2].sum()) if "setup" in extras else 0.0
        limits = replace(limits, hours=float(ends[0] + 0.8 * share * (ends[1] - ends[0])) + setup)
    if "products" in extras:
        limits = replace(limits, products=5)
    if "meetings" in extras:
        limits = replace(limits, unknown_meetings=max(1, len(instance.meet) // 20))
    if "stock" in extras:
        need = instance.use[best].sum(axis=0)
        stock = np.where(np.arange(len(PRICE)) >= 3, np.ceil(0.3 * need), np.inf)
        instance = replace(instance, stock=stock, owned=np.minimum(np.eye(len(PRICE))[3] * 2, stock))
    return instance, limits


def _pick_least(instance: Instance, score: Floats) -> Ints:
    """Row with the least score in each run."""
    least = np.minimum.reduceat(score, instance.first[:-1])
    runs = np.repeat(np.arange(instance.runs), np.diff(instance.first))
    best = np.flatnonzero(score <= least[runs])
    rows: Ints = best[np.concatenate([[True], np.diff(runs[best]) > 0])].astype(np.int64)
    return rows
