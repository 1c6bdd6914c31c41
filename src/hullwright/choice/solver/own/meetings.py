"""Meetings of runs: what a forbidden pair costs at least, and who yields."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hullwright.choice.instance import Floats, Instance, Ints, Limits
from hullwright.choice.solver.own.form import NEVER, Form


class Meetings:
    """The meetings of one form."""

    def __init__(self, instance: Instance, limits: Limits, form: Form) -> None:
        at = np.maximum(form.rows, 0)
        self.pairs = instance.meet
        self.any = len(instance.meet) > 0
        self.material = np.where(form.rows >= 0, instance.material[at], -1) if self.any else np.zeros_like(form.rows)
        self.clash = instance.clash | instance.clash.T
        self.unknown = instance.unknown | instance.unknown.T
        self.most = limits.unknown_meetings

    def failing(self, option: Ints) -> list[int]:
        """Meetings of a plan that are known to fail, then those of unknown pairs beyond their limit."""
        if not self.any:
            return []
        every = np.arange(len(option))
        material = self.material[every, option]
        a, b = material[self.pairs[:, 0]], material[self.pairs[:, 1]]
        real = (a >= 0) & (b >= 0)
        bad = np.flatnonzero(real & self.clash[a, b]) if self.clash.size else np.zeros(0, dtype=np.int64)
        if self.most is None or not self.unknown.size:
            return [int(n) for n in bad]
        unknown = np.flatnonzero(real & self.unknown[a, b])
        return [int(n) for n in bad] + [int(n) for n in (unknown if len(unknown) > self.most else unknown[:0])]

    def over(self, option: Ints) -> int:
        """How many meetings of unknown pairs are too many."""
        if self.most is None or not self.any or not self.unknown.size:
            return 0
        material = self.material[np.arange(len(option)), option]
        a, b = material[self.pairs[:, 0]], material[self.pairs[:, 1]]
        return max(0, int(((a >= 0) & (b >= 0) & self.unknown[a, b]).sum()) - self.most)

    def prices(self, value: Floats) -> tuple[Floats, float]:
        """Price failing pairs at the smaller regret of their two sides.

        Parameters
        ----------
        value : ndarray (R, O)
            Value of each option at some multipliers.

        Returns
        -------
        (ndarray (R, O), float)
            What is added to each option, and what comes off the sum; valid whatever the values.
        """
        extra, off = np.zeros_like(value), 0.0
        if not self.any or not self.clash.any():
            return extra, off
        key = value.argmin(axis=1)
        done: set[int] = set()
        for n in self.failing_pairs(key):
            r, s = (int(x) for x in self.pairs[n])
            if r in done or s in done:
                continue
            kind = int(self.material[r, key[r]])
            here = self.material[r] == kind
            there = (self.material[s] >= 0) & self.clash[kind, np.maximum(self.material[s], 0)]
            price = min(_regret(value[r], here), _regret(value[s], there))
            if 0 < price < NEVER / 2:
                extra[r, here] += price
                extra[s, there] += price
                off += price
                done |= {r, s}
        return extra, off

    def failing_pairs(self, key: Ints) -> list[int]:
        """Meetings known to fail under some options."""
        material = self.material[np.arange(len(key)), key]
        a, b = material[self.pairs[:, 0]], material[self.pairs[:, 1]]
        return [int(n) for n in np.flatnonzero((a >= 0) & (b >= 0) & self.clash[a, b])]

    def yielding(self, option: Ints, value: Floats, ban: NDArray[np.bool_]) -> bool:
        """At each failing meeting bar the side that loses less; False where no side can yield."""
        left = self.over(option)
        bad = set(self.failing_pairs(option)) if self.clash.any() else set[int]()
        todo: list[tuple[float, int, int]] = []
        for n in self.failing(option):
            sides = []
            for run in self.pairs[n].tolist():
                here = self.material[run] == self.material[run, option[run]]
                sides.append((_regret(np.where(ban[run], NEVER, value[run]), here), run, n))
            todo.append(min(sides))
        found = False
        for loss, run, n in sorted(todo):
            if loss >= NEVER / 2 or (n not in bad and left <= 0):
                continue
            left -= n not in bad
            ban[run] |= self.material[run] == self.material[run, option[run]]
            found = True
        return found


def _regret(value: Floats, without: NDArray[np.bool_]) -> float:
    """What the best option outside a set costs more than the best of all."""
    return float(np.where(without, NEVER, value).min() - value.min())
