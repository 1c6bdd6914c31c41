"""Meetings of runs: what a forbidden pair costs at least, and who yields."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hullwright.choice.instance import Floats, Instance, Ints, Limits
from hullwright.choice.solver.own.forest import states_of
from hullwright.choice.solver.own.form import NEVER, Form

_OVER = 0.02  # shares that fail side by side, from which a row is worth its while


class Meetings:
    """The meetings of one form."""

    def __init__(self, instance: Instance, limits: Limits, form: Form) -> None:
        at = np.maximum(form.rows, 0)
        self.pairs = instance.meet
        self.any = len(instance.meet) > 0
        self.material = (
            np.where(form.rows >= 0, instance.material[at], -1) if self.any else np.zeros_like(form.rows)
        )
        self.clash = instance.clash | instance.clash.T
        self.unknown = instance.unknown | instance.unknown.T
        self.most = limits.unknown_meetings
        counted = self.unknown if self.most is not None else np.zeros_like(self.unknown)
        self.state, self.state_clash, self.state_unknown = states_of(self.material, self.clash, counted)
        self.active = self._active()
        self.loose = self.active  # meetings that no group looks at by itself

    def _active(self) -> Ints:
        """Meetings (their numbers) at which some pair of options fails or is unknown and counted."""
        if not self.any:
            return np.zeros(0, dtype=np.int64)
        there = np.zeros((len(self.state), len(self.state_clash)), dtype=np.bool_)
        there[np.arange(len(self.state))[:, None], self.state] = True
        bad = (self.state_clash | self.state_unknown).astype(np.int64)
        a, b = there[self.pairs[:, 0]].astype(np.int64), there[self.pairs[:, 1]]
        return np.flatnonzero(((a @ bad > 0) & b).any(axis=1)).astype(np.int64)

    def inside(self, edges: Ints) -> None:
        """Say which meetings the groups look at by themselves: the others stay to be priced."""
        self.loose = np.setdiff1d(self.active, edges)

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
        return [int(n) for n in bad] + [
            int(n) for n in (unknown if len(unknown) > self.most else unknown[:0])
        ]

    def over(self, option: Ints) -> int:
        """How many meetings of unknown pairs are too many."""
        return 0 if self.most is None else max(0, self.unknown_at(option) - self.most)

    def unknown_at(self, option: Ints) -> int:
        """How many meetings are of unknown pairs."""
        if not self.any or not self.unknown.size:
            return 0
        material = self.material[np.arange(len(option)), option]
        a, b = material[self.pairs[:, 0]], material[self.pairs[:, 1]]
        return int(((a >= 0) & (b >= 0) & self.unknown[a, b]).sum())

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
        if not len(self.loose) or not self.clash.any():
            return extra, off
        key = value.argmin(axis=1)
        done: set[int] = set()
        for n in np.intersect1d(self.failing_pairs(key), self.loose).tolist():
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

    def across(self, share: Floats) -> list[Floats]:
        """Rows for meetings between groups that fail under shares of options.

        Parameters
        ----------
        share : ndarray (R, O)
            Share that each option has in a relaxed solution.

        Returns
        -------
        list of ndarray (R, O)
            What each option takes of a row with room for one: the options of both runs that all fail side by side.
        """
        found: list[tuple[float, Floats]] = []
        for n in self.loose.tolist():
            r, s = (int(x) for x in self.pairs[n])
            done: set[bytes] = set()
            for a in np.unique(self.state[r]).tolist():
                there: NDArray[np.bool_] = self.state_clash[a]
                if not there.any():
                    continue
                here = np.asarray(self.state_clash[:, there].all(axis=1))
                if here.tobytes() in done:
                    continue
                done.add(here.tobytes())
                row = np.zeros(share.shape)
                row[r], row[s] = here[self.state[r]], there[self.state[s]]
                over = float((row * share).sum()) - 1.0
                if over > _OVER:
                    found.append((over, row))
        found.sort(key=lambda item: -item[0])
        return [row for _, row in found]

    def failing_pairs(self, key: Ints) -> list[int]:
        """Meetings known to fail under some options."""
        material = self.material[np.arange(len(key)), key]
        a, b = material[self.pairs[:, 0]], material[self.pairs[:, 1]]
        return [int(n) for n in np.flatnonzero((a >= 0) & (b >= 0) & self.clash[a, b])]

    def yielding(self, option: Ints, value: Floats, ban: NDArray[np.bool_]) -> bool:
        """At failing meetings bar the runs that lose least for what they mend; False where none can yield.

        Parameters
        ----------
        option : ndarray (R,)
            A plan.
        value : ndarray (R, O)
            Value of each option at the multipliers.
        ban : ndarray (R, O) of bool
            Barred options; more are added.
        """
        option, found = option.copy(), False
        for _ in range(len(self.pairs) + 1):
            failing = self.failing(option)
            bad = set(self.failing_pairs(option)) if self.clash.any() else set[int]()
            if not failing or (not bad and self.over(option) <= 0):
                break
            runs = sorted({int(r) for n in failing for r in self.pairs[n]})
            loss, run, to = min(self._loss(r, option, (value, ban), failing) for r in runs)
            if loss >= NEVER / 2:
                break
            ban[run] |= self.material[run] == self.material[run, option[run]]
            option[run], found = to, True
        return found

    def _loss(
        self, run: int, option: Ints, how: tuple[Floats, NDArray[np.bool_]], failing: list[int]
    ) -> tuple[float, int, int]:
        """What a run loses for each meeting it mends by its best other material, and the option it takes."""
        value, ban = how
        here = self.material[run]
        mends = sum(run in self.pairs[n] for n in failing)
        around = self.pairs[(self.pairs == run).any(axis=1)]
        others = np.where(around[:, 0] == run, around[:, 1], around[:, 0])
        beside = self.material[others, option[others]]
        beside = beside[beside >= 0]
        fails = np.zeros(len(here))
        for material in beside.tolist():
            fails += (here >= 0) & self.clash[np.maximum(here, 0), material]
            if self.most is not None:
                fails += 0.5 * ((here >= 0) & self.unknown[np.maximum(here, 0), material])
        lost = value[run] - value[run, option[run]]
        lost = np.where(
            ban[run] | (here == here[option[run]]) | (value[run] >= NEVER / 2), NEVER, np.maximum(lost, 0.0)
        )
        mended = np.maximum(mends - fails, 0.01)
        score = np.where(lost < NEVER / 2, (lost + 1e-9) / mended, NEVER)
        to = int(score.argmin())
        return float(score[to]), run, to


def _regret(value: Floats, without: NDArray[np.bool_]) -> float:
    """What the best option outside a set costs more than the best of all."""
    return float(np.where(without, NEVER, value).min() - value.min())
