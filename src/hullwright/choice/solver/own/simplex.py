"""An exact linear program with few working rows: dual simplex over blocks of options.

Each run has a *key* option that fills up to one; beside the keys only as many variables are basic as there are rows
(a dozen). One step is one product of the need table with a direction, whatever the number of runs. On the way the
line search passes every kink that still lets the bound rise, so a step settles many runs at once.
Whatever the rounding, the bound handed back is evaluated afresh from the multipliers, and any multipliers ≥ 0 give a
valid one.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass, field

import numpy as np

from hullwright.choice.instance import Floats, Ints
from hullwright.choice.solver.own.form import NEVER, Form

X, Y, SLACK = 0, 1, 2
_EPS = 1e-9
_FEASIBLE = 1e-8
_STEPS = 400
_KINKS = 24
_FAR = 1e15
_REST = 1e-9


@dataclass(slots=True)
class Basis:
    """Which option fills each run, and the few variables between.

    Parameters
    ----------
    key : ndarray (R,)
        Key option of each run.
    kind : list of int
        X, Y or SLACK of each working variable.
    who : list of (int, int)
        (run, option), (product, 0) or (row, 0).
    full : ndarray (P,) of bool
        Packs that stand at their upper end.
    """

    key: Ints
    kind: list[int]
    who: list[tuple[int, int]]
    full: np.ndarray[tuple[int], np.dtype[np.bool_]]

    def copy(self) -> Basis:
        """Give a basis of its own."""
        return Basis(self.key.copy(), self.kind.copy(), self.who.copy(), self.full.copy())


@dataclass(slots=True)
class Box:
    """Limits of a node: packs in [low, high], some options banned."""

    low: Floats
    high: Floats
    ban: tuple[tuple[int, int], ...] = ()


@dataclass(slots=True)
class Relaxed:
    """Solution of one linear program.

    Parameters
    ----------
    bound : float
        Valid lower bound, inf where nothing fits.
    price : ndarray (m,)
        Multipliers of the rows, ≥ 0.
    packs : ndarray (P,)
        Packs, fractions allowed.
    basis : Basis
        Where the next one starts.
    split : dict
        Runs that are split between options: run to {option: share}.
    steps : int
        Steps taken.
    """

    bound: float
    price: Floats
    packs: Floats
    basis: Basis
    split: dict[int, dict[int, float]] = field(default_factory=dict[int, dict[int, float]])
    steps: int = 0


def first_basis(form: Form) -> Basis:
    """Every run at its least cost, every pack and every other row free: no multiplier but those of the packs."""
    products, rows = form.products, len(form.room)
    kind = [Y] * products + [SLACK] * (rows - products)
    who = [(p, 0) for p in range(products)] + [(i, 0) for i in range(products, rows)]
    price = _start_price(form)
    key = (form.cost + form.need @ price).argmin(axis=1)
    return Basis(key, kind, who, np.zeros(products, dtype=np.bool_))


def _start_price(form: Form) -> Floats:
    price = np.zeros(len(form.room))
    price[: form.products] = form.pack_cost
    return price


def bound_at(form: Form, price: Floats, box: Box) -> float:
    """Bound of some multipliers ≥ 0 in a box: exact, whatever led to them."""
    value = form.cost + form.need @ price
    for run, option in box.ban:
        value[run, option] = NEVER
    pack = form.pack_cost + form.pack_need @ price
    ends = np.minimum(pack * box.low, pack * box.high).sum()
    return float(value.min(axis=1).sum() + ends - price @ form.room) + form.fixed


class Program:
    """One node's linear program, solved from a basis."""

    def __init__(self, form: Form, basis: Basis, box: Box) -> None:
        self.form, self.box = form, box
        self.basis = basis.copy()
        self.flat = form.need.reshape(form.cost.size, len(form.room))
        self.every = np.arange(form.runs)
        self.banned = set(box.ban)
        self.steps = 0
        self._restart()

    def _restart(self) -> None:
        """Take up the basis: multipliers, reduced costs, what is left of the rows."""
        form, basis = self.form, self.basis
        self._invert()
        cost = [self._cost(n) for n in range(len(basis.kind))]
        self.price = -(self.inverse.T @ np.array(cost)) if cost else np.zeros(0)
        value = form.cost + (self.flat @ self.price).reshape(form.cost.shape)
        self.reduced = value - value[self.every, basis.key][:, None]
        for run, low in zip(*self._below(), strict=True):
            self._rekey(int(run), int(low))
        self.left = form.room - form.need[self.every, basis.key].sum(axis=0)
        basic = {self.basis.who[n][0] for n, kind in enumerate(basis.kind) if kind == Y}
        pack = form.pack_cost + form.pack_need @ self.price
        for p in range(form.products):
            if p not in basic:
                # stand where the reduced cost wants it, so that the start is dual feasible
                basis.full[p] = pack[p] < 0
                self.left = self.left - form.pack_need[p] * self._stand(p)

    def _below(self) -> tuple[Ints, Ints]:
        """Runs without working variables where another option is cheaper than the key."""
        reduced = self.allowed(self.reduced)
        low = reduced.argmin(axis=1)
        amiss = reduced[self.every, low] < -_EPS
        for n, kind in enumerate(self.basis.kind):
            if kind == X:
                amiss[self.basis.who[n][0]] = False
        runs = np.flatnonzero(amiss)
        return runs, low[runs]

    def _rekey(self, run: int, option: int) -> None:
        self.basis.key[run] = option
        self.reduced[run] -= self.reduced[run, option]

    def _leave_banned_keys(self) -> None:
        """A banned key without company in its run gives way to the next best option."""
        held = {self.basis.who[n][0] for n, kind in enumerate(self.basis.kind) if kind == X}
        for run, option in self.banned:
            if self.basis.key[run] == option and run not in held:
                reduced = self.allowed(self.reduced)[run]
                best = int(reduced.argmin())
                self.left = self.left - (self.form.need[run, best] - self.form.need[run, option])
                self._rekey(run, best)

    def allowed(self, table: Floats) -> Floats:
        """Give a table with banned options out of reach."""
        if not self.banned:
            return table
        table = table.copy()
        for run, option in self.banned:
            table[run, option] = NEVER
        return table

    def _stand(self, p: int) -> float:
        return float(self.box.high[p] if self.basis.full[p] else self.box.low[p])

    def _cost(self, n: int) -> float:
        (a, b), form = self.basis.who[n], self.form
        if self.basis.kind[n] == X:
            return float(form.cost[a, b] - form.cost[a, self.basis.key[a]])
        return float(form.pack_cost[a]) if self.basis.kind[n] == Y else 0.0

    def _column(self, n: int) -> Floats:
        (a, b), form = self.basis.who[n], self.form
        if self.basis.kind[n] == X:
            column: Floats = form.need[a, b] - form.need[a, self.basis.key[a]]
            return column
        if self.basis.kind[n] == Y:
            return form.pack_need[a]
        unit = np.zeros(len(form.room))
        unit[a] = 1.0
        return unit

    def _invert(self) -> None:
        size = len(self.basis.kind)
        matrix = np.empty((size, size))
        for n in range(size):
            matrix[:, n] = self._column(n)
        self.inverse = np.linalg.inv(matrix) if size else matrix

    def solve(self, cutoff: float = np.inf) -> Relaxed:
        """Step until everything fits, nothing can, or the bound is above the cutoff."""
        fits = False
        while self.steps < _STEPS:
            spot, gap = self._worst()
            if spot < 0:
                fits = True
                break
            self.steps += 1
            if not self._step(spot, gap):
                return Relaxed(np.inf, self.price, self._packs(), self.basis, steps=self.steps)
            if self.steps % 8 == 0 and np.isfinite(cutoff) and self._bound() > cutoff:
                break
        return Relaxed(self._bound(), self.price, self._packs(), self.basis, self._split() if fits else {}, self.steps)

    def _bound(self) -> float:
        return bound_at(self.form, np.maximum(self.price, 0.0), self.box)

    def _values(self) -> Floats:
        return self.inverse @ self.left

    def _worst(self) -> tuple[int, float]:
        """Working variable that is furthest outside its range, and by how much (negative: above)."""
        if self.banned:
            self._leave_banned_keys()
        values = self._values().tolist()
        keys: dict[int, float] = {}
        scores: list[float] = []
        size = np.sqrt((self.inverse * self.inverse).sum(axis=1)).tolist()
        for n, x in enumerate(values):
            kind, (a, b) = self.basis.kind[n], self.basis.who[n]
            low, high = 0.0, np.inf
            if kind == Y:
                low, high = self.box.low[a], self.box.high[a]
            elif kind == X:
                keys[a] = keys.get(a, 1.0) - x
                if (a, b) in self.banned:
                    high = 0.0
            out = low - x if x < low - _FEASIBLE else high - x if x > high + _FEASIBLE else 0.0
            scores.append(out / (size[n] + 1e-12))
        best = max(range(len(scores)), key=lambda n: abs(scores[n]), default=-1)
        for run, option in self.banned:
            if keys.get(run, 0.0) > _FEASIBLE and self.basis.key[run] == option:
                return self._swap(run, values, above=True)
        short = min(keys.items(), key=lambda item: item[1], default=(-1, 0.0))
        if short[1] < -_FEASIBLE:
            return self._swap(short[0], values, above=False)
        if best < 0 or scores[best] == 0.0:
            return -1, 0.0
        return best, scores[best] * (size[best] + 1e-12)

    def _swap(self, run: int, values: list[float], *, above: bool) -> tuple[int, float]:
        """Make the largest working option of a run its key; the old key is to leave."""
        spots = [n for n, kind in enumerate(self.basis.kind) if kind == X and self.basis.who[n][0] == run]
        spot = max(spots, key=lambda n: (self.basis.who[n] not in self.banned, values[n]))
        old, new = int(self.basis.key[run]), self.basis.who[spot][1]
        self.left = self.left - (self.form.need[run, new] - self.form.need[run, old])
        self.basis.key[run] = new
        self.basis.who[spot] = (run, old)
        self.reduced[run] -= self.reduced[run, new]
        self._invert()
        value = float(self._values()[spot])
        assert (value > 0) == above
        return spot, -value

    def _step(self, spot: int, gap: float) -> bool:
        """Let one working variable go to its end; another takes its place. False where nothing stops the way."""
        way = self.inverse[spot] * (1.0 if gap > 0 else -1.0)
        slope = (self.flat @ way).reshape(self.form.cost.shape)
        slope = slope - slope[self.every, self.basis.key][:, None]
        end = _Line(self, way, slope).search(abs(gap)) or _Line(self, way, slope, leap=False).search(abs(gap))
        if end is None:
            return False
        length, entering, flips, turned = end
        self._leave(spot, above=gap < 0)
        self._move(length, way, slope, flips)
        for p in turned:
            self.left = self.left - self.form.pack_need[p] * (
                (self.box.high[p] - self.box.low[p]) * (-1.0 if self.basis.full[p] else 1.0)
            )
            self.basis.full[p] = not self.basis.full[p]
        kind, who = entering
        if kind == Y:
            self.left = self.left + self.form.pack_need[who[0]] * self._stand(who[0])
        self.basis.kind[spot], self.basis.who[spot] = kind, who
        self._invert()
        return True

    def _leave(self, spot: int, *, above: bool) -> None:
        if self.basis.kind[spot] == Y:
            p = self.basis.who[spot][0]
            self.basis.full[p] = above
            self.left = self.left - self.form.pack_need[p] * self._stand(p)

    def _move(self, length: float, way: Floats, slope: Floats, flips: dict[int, int]) -> None:
        self.price = self.price + length * way
        self.reduced += length * slope
        for run, option in flips.items():
            old = int(self.basis.key[run])
            self.left = self.left - (self.form.need[run, option] - self.form.need[run, old])
            self.basis.key[run] = option
            self.reduced[run] -= self.reduced[run, option]

    def _packs(self) -> Floats:
        packs = np.where(self.basis.full, self.box.high, self.box.low)
        for n, x in enumerate(self._values().tolist()):
            if self.basis.kind[n] == Y:
                packs[self.basis.who[n][0]] = x
        return packs

    def _split(self) -> dict[int, dict[int, float]]:
        split: dict[int, dict[int, float]] = {}
        for n, x in enumerate(self._values().tolist()):
            if self.basis.kind[n] == X:
                run, option = self.basis.who[n]
                split.setdefault(run, {int(self.basis.key[run]): 1.0})
                split[run][option] = x
                split[run][int(self.basis.key[run])] -= x
        return split


End = tuple[float, tuple[int, tuple[int, int]], dict[int, int], list[int]]


class _Line:
    """Search along one direction: pass every kink while the bound still rises."""

    def __init__(self, program: Program, way: Floats, slope: Floats, *, leap: bool = True) -> None:
        self.program, self.way, self.slope, self.may_leap = program, way, slope, leap
        self.held = {program.basis.who[n][0] for n, kind in enumerate(program.basis.kind) if kind == X}
        self.fast = np.fromiter(self.held, dtype=np.int64)
        self.heap: list[tuple[float, int, int, int]] = []

    def search(self, rise: float) -> End | None:
        """Length of the way, what stops it, runs that change key on it, packs that change end."""
        rest = _REST * rise  # a rise that is rounding is none
        self._packs_and_slacks()
        start, flips = self._runs(rise)
        turned: list[int] = []
        program = self.program
        if start is not None:
            rise = start
        while self.heap:
            length, kind, a, b = heapq.heappop(self.heap)
            if kind == X and a not in self.held:
                old = flips.get(a, int(program.basis.key[a]))
                rise += float(self.slope[a, b] - self.slope[a, old])
                if rise > rest:
                    flips[a] = b
                    self._next(a, b)
                    continue
            elif kind == Y:
                drop = abs(float(program.form.pack_need[a] @ self.way))
                rise -= drop * float(program.box.high[a] - program.box.low[a])
                if rise > rest:
                    turned.append(a)
                    continue
            return max(length, 0.0), (kind, (a, b)), flips, turned
        return None

    def _packs_and_slacks(self) -> None:
        program = self.program
        form, basis = program.form, program.basis
        basic = {(kind, basis.who[n][0]) for n, kind in enumerate(basis.kind)}
        pack, turn = form.pack_cost + form.pack_need @ program.price, form.pack_need @ self.way
        for p, (d, s) in enumerate(zip(pack.tolist(), turn.tolist(), strict=True)):
            if (Y, p) in basic or program.box.high[p] <= program.box.low[p]:
                continue
            sign = -1.0 if basis.full[p] else 1.0
            if sign * s < -_EPS:
                heapq.heappush(self.heap, (max(sign * d, 0.0) / (-sign * s), Y, p, 0))
        for i, (d, s) in enumerate(zip(program.price.tolist(), self.way.tolist(), strict=True)):
            if (SLACK, i) not in basic and s < -_EPS:
                heapq.heappush(self.heap, (max(d, 0.0) / -s, SLACK, i, 0))

    def _runs(self, rise: float) -> tuple[float | None, dict[int, int]]:
        """Put the first kink of each run on the heap; where there are very many, leap over most of them."""
        reduced, slope = self.program.reduced, self.slope
        with np.errstate(divide="ignore", invalid="ignore"):
            length = np.where(slope < -_EPS, np.maximum(reduced, 0.0) / -slope, np.inf)
        for run, option in self.program.banned:
            length[run, option] = np.inf
        first = length.argmin(axis=1)
        nearest = length[self.program.every, first]
        runs = np.flatnonzero(nearest < NEVER / 1e6)
        if len(runs) > _KINKS and self.may_leap:
            start, flips, runs2 = self._leap(rise, nearest)
            if flips:
                for run in runs2.tolist():
                    self._next(run, flips.get(run, int(self.program.basis.key[run])))
                return start, flips
        for run in runs.tolist():
            heapq.heappush(self.heap, (float(nearest[run]), X, run, int(first[run])))
        return None, {}

    def _leap(self, rise: float, nearest: Floats) -> tuple[float, dict[int, int], Ints]:
        """Bracket the top of the line until few kinks are left inside; take the keys at the lower end."""
        program = self.program
        held = self.fast
        stop = min((item[0] for item in self.heap), default=np.inf)
        if len(held):
            stop = min(stop, float(nearest[held].min()))
        low, high = 0.0, min(stop, float(np.partition(nearest, _KINKS)[_KINKS]) * 2.0 + 1e-12)
        low_key, low_rise = program.basis.key, rise
        high_key, high_rise = self._keys(high, rise)
        while high_rise > _REST * rise and high < min(stop, _FAR):
            low, low_key, low_rise = high, high_key, high_rise
            high = min(stop, high * 2.0)
            high_key, high_rise = self._keys(high, rise)
        for _ in range(60):
            if np.count_nonzero(low_key != high_key) <= _KINKS // 3:
                break
            middle = 0.5 * (low + high)
            key, value = self._keys(middle, rise)
            if value > _REST * rise:
                low, low_key, low_rise = middle, key, value
            else:
                high, high_key = middle, key
        moved = np.flatnonzero(low_key != program.basis.key)
        flips = {int(run): int(low_key[run]) for run in moved}
        return low_rise, flips, np.arange(len(low_key)) if len(low_key) <= 4 * _KINKS else self._open(low_key, high)

    def _open(self, key: Ints, high: float) -> Ints:
        """Runs that may kink again before a little beyond the upper end (all of them where that is cheap)."""
        value = self.program.allowed(self.program.reduced + (2.0 * high) * self.slope)
        at = value[self.program.every, key]
        return np.flatnonzero(value.min(axis=1) < at)

    def _keys(self, length: float, rise: float) -> tuple[Ints, float]:
        value = self.program.allowed(self.program.reduced + length * self.slope)
        key = value.argmin(axis=1)
        # ties stay with the key there is
        every, old = self.program.every, self.program.basis.key
        key = np.where(value[every, key] < value[every, old] - 1e-15, key, old)
        key[self.fast] = old[self.fast]
        return key, rise + float(self.slope[every, key].sum())

    def _next(self, run: int, key: int) -> None:
        reduced, slope = self.program.reduced[run], self.slope[run]
        fall = (slope - slope[key]).tolist()
        over = (reduced - reduced[key]).tolist()
        best, option = np.inf, -1
        for o, (d, s) in enumerate(zip(over, fall, strict=True)):
            if s < -_EPS and d / -s < best and (run, o) not in self.program.banned:
                best, option = d / -s, o
        if option >= 0 and best < NEVER / 1e6:
            heapq.heappush(self.heap, (best, X, run, option))
