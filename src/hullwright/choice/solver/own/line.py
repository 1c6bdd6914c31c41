"""The line search of the own linear program: how far a direction raises the bound, and what stops it."""

from __future__ import annotations

import heapq
from typing import TYPE_CHECKING

import numpy as np

from hullwright.choice.instance import Floats, Ints
from hullwright.choice.solver.own.form import NEVER

if TYPE_CHECKING:
    from hullwright.choice.solver.own.simplex import Program

X, Y, SLACK = 0, 1, 2
EPS = 1e-9
# What a kink turns on must stand out from the rounding of the sum that it is: else two columns of the basis are one,
# but for rounding, and nothing that is worked out with it holds.
_GRAIN = 1e-9
_KINKS = 24
_FAR = 1e15
_REST = 1e-9
_FEW = 12
_MORE = 9

End = tuple[float, tuple[int, tuple[int, int]], dict[int, int], list[int]]


class Line:
    """Search along one direction: pass every kink while the bound still rises."""

    def __init__(self, program: Program, way: Floats, slope: Floats, *, leap: bool = True) -> None:
        self.program, self.way, self.slope, self.may_leap = program, way, slope, leap
        self.held = {program.basis.who[n][0] for n, kind in enumerate(program.basis.kind) if kind == X}
        self.fast = np.fromiter(self.held, dtype=np.int64)
        self.flat = max(EPS, _GRAIN * float(np.abs(way) @ program.scale))
        self.heap: list[tuple[float, int, int, int]] = []

    def search(self, rise: float) -> End | None:
        """Length of the way, what stops it, runs that change key on it, packs that change end."""
        self._packs_and_slacks()
        few = self.heap.copy()
        if self._few():
            end = self._pass(rise, _REST * rise, {})
            if end is None or end[1][0] != _MORE:
                return end
            self.heap = few
        start, flips = self._runs(rise)
        return self._pass(rise if start is None else start, _REST * rise, flips)

    def _pass(self, rise: float, rest: float, flips: dict[int, int]) -> End | None:
        """Pass one kink after the other until the bound no longer rises (a rise that is rounding is none)."""
        turned: list[int] = []
        program = self.program
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

    def _lengths(self) -> tuple[Ints, Floats]:
        """First kink of each run: which option, and how far it is (inf: none)."""
        length = np.full(self.slope.shape, np.inf)
        np.divide(self.program.reduced, -self.slope, out=length, where=self.slope < -self.flat)
        if self.program.banned:
            length[self.program.barred[0], self.program.barred[1]] = np.inf
        first = length.argmin(axis=1)
        return first, length[self.program.every, first]

    def _few(self) -> bool:
        """Put only the nearest kinks on the heap, and a mark behind them."""
        self.first, self.nearest = self._lengths()
        if len(self.nearest) <= 2 * _FEW:
            return False
        for run in np.argpartition(self.nearest, _FEW)[: _FEW + 1].tolist():
            if self.nearest[run] < NEVER / 1e6:
                heapq.heappush(self.heap, (float(self.nearest[run]), X, run, int(self.first[run])))
        mark = float(np.partition(self.nearest, _FEW)[_FEW])
        if mark < NEVER / 1e6:
            heapq.heappush(self.heap, (mark, _MORE, 0, 0))
        return True

    def _packs_and_slacks(self) -> None:
        program = self.program
        form, basis = program.form, program.basis
        basic = {(kind, basis.who[n][0]) for n, kind in enumerate(basis.kind)}
        pack, turn = form.pack_cost + form.pack_need @ program.price, form.pack_need @ self.way
        for p, (d, s) in enumerate(zip(pack.tolist(), turn.tolist(), strict=True)):
            if (Y, p) in basic or program.box.high[p] <= program.box.low[p]:
                continue
            sign = -1.0 if basis.full[p] else 1.0
            if sign * s < -EPS:
                heapq.heappush(self.heap, (max(sign * d, 0.0) / (-sign * s), Y, p, 0))
        for i, (d, s) in enumerate(zip(program.price.tolist(), self.way.tolist(), strict=True)):
            if (SLACK, i) not in basic and s < -EPS:
                heapq.heappush(self.heap, (max(d, 0.0) / -s, SLACK, i, 0))

    def _runs(self, rise: float) -> tuple[float | None, dict[int, int]]:
        """Put the first kink of each run on the heap; where there are very many, leap over most of them."""
        first, nearest = self.first, self.nearest
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
        low, high = 0.0, min(stop, max(float(np.partition(nearest, _KINKS)[_KINKS]), 0.0) * 2.0 + 1e-12)
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
        return (
            low_rise,
            flips,
            np.arange(len(low_key)) if len(low_key) <= 4 * _KINKS else self._open(low_key, high),
        )

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
            if s < -self.flat and d / -s < best and (run, o) not in self.program.banned:
                best, option = d / -s, o
        if option >= 0 and best < NEVER / 1e6:
            heapq.heappush(self.heap, (best, X, run, option))
