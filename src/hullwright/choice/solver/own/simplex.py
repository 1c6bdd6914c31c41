"""An exact linear program with few working rows: dual simplex over blocks of options.

Each run has a *key* option that fills up to one; beside the keys only as many variables are basic as there are rows
(a dozen). One step is one product of the need table with a direction, whatever the number of runs. On the way the
line search passes every kink that still lets the bound rise, so a step settles many runs at once.
Whatever the rounding, the bound handed back is evaluated afresh from the multipliers, and any multipliers ≥ 0 give a
valid one.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from hullwright.choice.instance import Floats, Ints
from hullwright.choice.solver.own.form import NEVER, Form
from hullwright.choice.solver.own.line import EPS, SLACK, Line, X, Y

_FEASIBLE = 1e-8
_STEPS = 400
_PIVOT = 1e-5
_STEEP = 1e12
_SURE = 1e-9


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
    price : ndarray (m,) or None
        Multipliers that gave the best bound, where others than the basis itself says.
    shut : object
        What was barred besides, where groups are looked at.
    """

    key: Ints
    kind: list[int]
    who: list[tuple[int, int]]
    full: np.ndarray[tuple[int], np.dtype[np.bool_]]
    price: Floats | None = None
    shut: object = None

    def copy(self) -> Basis:
        """Give a basis of its own."""
        return Basis(self.key.copy(), self.kind.copy(), self.who.copy(), self.full.copy())


@dataclass(slots=True)
class Box:
    """Limits of a node: packs in [low, high], some options banned."""

    low: Floats
    high: Floats
    ban: tuple[tuple[int, int], ...] = ()
    off: frozenset[int] = frozenset()  # products not to be used, though packs of them may be there
    ways: tuple[tuple[int, int, bool], ...] = ()  # (group, set-up or scene of coats, whether it is to be)
    on: frozenset[int] = frozenset()  # products that count as used, under a limit on them


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
    if box.ban:
        value[tuple(zip(*box.ban, strict=True))] = NEVER
    pack = form.pack_cost + form.pack_need @ price
    ends = np.minimum(pack * box.low, pack * box.high).sum()
    bound = float(value.min(axis=1).sum() + ends - price @ form.room) + form.fixed
    return bound if bound < NEVER / 2 else np.inf  # a run has no option left


class Program:
    """One node's linear program, solved from a basis."""

    def __init__(self, form: Form, basis: Basis, box: Box) -> None:
        self.form, self.box = form, box
        self.basis = basis.copy()
        self.flat = form.need.reshape(form.cost.size, len(form.room))
        self.scale = np.maximum(
            np.abs(self.flat).max(axis=0), np.abs(form.pack_need).max(axis=0, initial=0.0)
        )
        self.every = np.arange(form.runs)
        self.banned = set(box.ban)
        self.barred = np.array(box.ban, dtype=np.int64).reshape(-1, 2).T
        self.steps = self.stalled = 0
        self.ray = np.zeros(len(form.room))  # where nothing fits: the direction that proves it
        self._restart()

    def _restart(self) -> None:
        """Take up the basis: multipliers, reduced costs, what is left of the rows."""
        form, basis = self.form, self.basis
        self._invert()
        cost = [self._cost(n) for n in range(len(basis.kind))]
        self.price = np.zeros(len(cost))
        if cost:
            self.price -= self.inverse.T @ np.array(cost)
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
        amiss = reduced[self.every, low] < -EPS
        for n, kind in enumerate(self.basis.kind):
            if kind == X:
                amiss[self.basis.who[n][0]] = False
        runs = np.flatnonzero(amiss)
        return runs, low[runs]

    @property
    def sound(self) -> bool:
        """Whether no option is better than the key of its run, so that the steps may start from here."""
        return bool(
            self.allowed(self.reduced).min(initial=0.0)
            >= -1e-7 * max(1.0, float(np.abs(self.price).max(initial=0.0)))
        )

    def _rekey(self, run: int, option: int) -> None:
        self.basis.key[run] = option
        self.reduced[run] -= self.reduced[run, option]

    def _leave_banned_keys(self) -> None:
        """A banned key without company in its run gives way to the next best option."""
        held = {self.basis.who[n][0] for n, kind in enumerate(self.basis.kind) if kind == X}
        amiss = self.basis.key[self.barred[0]] == self.barred[1]
        for run, option in self.barred[:, amiss].T.tolist():
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
        table[self.barred[0], self.barred[1]] = NEVER
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
            given: Floats = form.pack_need[a]
            return given
        unit = np.zeros(len(form.room))
        unit[a] = 1.0
        return unit

    def _invert(self) -> None:
        size = len(self.basis.kind)
        matrix = np.empty((size, size))
        for n in range(size):
            matrix[:, n] = self._column(n)
        try:
            self.inverse = np.linalg.inv(matrix) if size else matrix
        except np.linalg.LinAlgError:
            self.inverse = np.linalg.pinv(matrix)
            self._stall()

    def _stall(self) -> None:
        """The columns have become dependent, or all but: no step is to be trusted, and the bound so far stands."""
        self.steps = self.stalled = _STEPS

    def _proves(self, ray: Floats) -> bool:
        """Whether multipliers prove by themselves that nothing fits in the box, whatever it costs."""
        form = self.form
        taken = np.where(form.cost < NEVER / 2, (self.flat @ ray).reshape(form.cost.shape), NEVER)
        pack = form.pack_need @ ray
        lack = (
            float(self.allowed(taken).min(axis=1).sum())
            + float(np.minimum(pack * self.box.low, pack * self.box.high).sum())
            - float(form.room @ ray)
        )
        return lack > _SURE * float(np.abs(form.room) @ ray + self.scale @ ray)

    def solve(self, cutoff: float = np.inf) -> Relaxed:
        """Step until everything fits, nothing can, or the bound is above the cutoff."""
        fits = False
        while self.steps < _STEPS:
            spot, gap = self._worst()
            if self.stalled:
                break
            if spot < 0:
                fits = True
                break
            self.steps += 1
            if not self._step(spot, gap):
                return Relaxed(np.inf, self.price, self._packs(), self.basis, steps=self.steps)
            if self.steps % 8 == 0 and np.isfinite(cutoff) and self._bound() > cutoff:
                break
        if self.stalled:
            return Relaxed(self._bound(), self.price, self.box.low.copy(), self.basis, steps=self.steps)
        return Relaxed(
            self._bound(), self.price, self._packs(), self.basis, self._split() if fits else {}, self.steps
        )

    def _bound(self) -> float:
        return bound_at(self.form, np.maximum(self.price, 0.0), self.box)

    def _values(self) -> Floats:
        values: Floats = self.inverse @ self.left
        return values

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
        for run, share in keys.items():
            if share > _FEASIBLE and (run, int(self.basis.key[run])) in self.banned:
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
        if (value > 0) != above:  # it was rounding that said so
            self._stall()
        return spot, -value

    def _step(self, spot: int, gap: float) -> bool:
        """Let one working variable go to its end; another takes its place. False where nothing stops the way."""
        way = self.inverse[spot] * (1.0 if gap > 0 else -1.0)
        if not float(np.abs(way).max()) < _STEEP:
            self._stall()
            return True
        slope = (self.flat @ way).reshape(self.form.cost.shape)
        slope = slope - slope[self.every, self.basis.key][:, None]
        end = Line(self, way, slope).search(abs(gap)) or Line(self, way, slope, leap=False).search(abs(gap))
        if end is None:
            if self._proves(np.maximum(way, 0.0)):
                self._shoot(way, slope)
                return False
            self._stall()
            return True
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
        self._exchange(spot)
        return True

    def _shoot(self, way: Floats, slope: Floats) -> None:
        """Nothing stops the way: go a good step along it, so that the multipliers say which rows lack room."""
        self.ray = np.maximum(way, 0.0)
        pull = np.abs(slope[self.form.cost < NEVER / 2])
        some = pull[pull > EPS]
        cost = np.abs(self.form.cost[self.form.cost < NEVER / 2])
        size = (
            float(cost.mean()) / float(some.mean())
            if len(some)
            else float(cost.mean()) / max(float(np.abs(way).max()), 1e-6)
        )
        self.price = self.price + 0.5 * size * way

    def _exchange(self, spot: int) -> None:
        """Bring the inverse up to date after one column was exchanged."""
        step = self.inverse @ self._column(spot)
        if abs(step[spot]) < _PIVOT:
            self._invert()
            return
        row = self.inverse[spot] / step[spot]
        step[spot] = 0.0
        self.inverse -= step[:, None] * row
        self.inverse[spot] = row

    def outlook(self, product: int, packs: float) -> list[tuple[float, Floats]]:
        """Bounds of the two boxes on either side of a fraction of packs, after one step each.

        Parameters
        ----------
        product : int
            A product whose packs are a fraction in this solution.
        packs : float
            That fraction.

        Returns
        -------
        list of (float, ndarray)
            Valid bound and its multipliers with at most ⌊packs⌋, and with at least ⌈packs⌉; inf where nothing fits.
        """
        spot = next(
            n for n, kind in enumerate(self.basis.kind) if kind == Y and self.basis.who[n][0] == product
        )
        ends: list[tuple[float, Floats]] = []
        for sign in (-1.0, 1.0):
            low, high = self.box.low.copy(), self.box.high.copy()
            if sign < 0:
                high[product] = np.floor(packs)
            else:
                low[product] = np.ceil(packs)
            way = self.inverse[spot] * sign
            slope = (self.flat @ way).reshape(self.form.cost.shape)
            slope = slope - slope[self.every, self.basis.key][:, None]
            gap = (low[product] - packs) if sign > 0 else (packs - high[product])
            end = Line(self, way, slope).search(gap)
            price = self.price if end is None else np.maximum(self.price + end[0] * way, 0.0)
            box = Box(low, high, self.box.ban)
            ends.append((np.inf if end is None else bound_at(self.form, price, box), price))
        return ends

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
