"""Plans repaired and polished one or two changes at a time, at their true cost: whole packs, set-ups, meetings.

The score of a plan is its value plus what it breaks (limits, stock, meetings) at a price: a little above the multipliers
at first, so that what is mended is mended at little loss, then more and more, until nothing is broken any more.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hullwright.choice.instance import Floats, Ints
from hullwright.choice.solver.ledger import LIMIT_TOLERANCE, PACK_TOLERANCE
from hullwright.choice.solver.own.form import NEVER
from hullwright.choice.solver.own.groups import Ban, Columns, Groups, Mask
from hullwright.choice.solver.own.meetings import Meetings

_PAIRED, _CHECKED, _WAYS = 50, 6, 4
_MILD, _STRICT, _MOST = 1.3, 1e3, 1e5
_GAIN = 1e-9


@dataclass(frozen=True, slots=True)
class State:
    """A plan with its sums.

    Parameters
    ----------
    option : ndarray (R,)
        Option of each run.
    cost : float
        Cost without packs.
    need : ndarray (m,)
        What it takes of each row.
    clashes, unknown : float, int
        Meetings known to fail, each at its weight, and unknown ones.
    parts : Columns
        The sums of each group.
    score : float
        Value and what is broken.
    broken : float
        What is broken alone.
    """

    option: Ints
    cost: float
    need: Floats
    clashes: float
    unknown: int
    parts: Columns
    score: float
    broken: float


@dataclass(frozen=True, slots=True)
class Steps:
    """Changes of single runs, and of whole groups (numbered behind the runs, to one of the other plans)."""

    run: Ints
    option: Ints
    cost: Floats
    need: Floats
    clashes: Floats
    unknown: Floats


class Polish:
    """Steps from plan to better plan."""

    def __init__(self, groups: Groups, meetings: Meetings) -> None:
        self.groups, self.meetings, self.form = groups, meetings, groups.form
        form, p = self.form, self.form.products
        real = form.cost < NEVER / 2
        need = np.abs(form.need[real])
        self.grain = np.maximum(need.sum(axis=0) / np.maximum((need > 0).sum(axis=0), 1), 1e-9)
        self.unit = float(np.abs(form.cost[real]).mean()) + 1e-12
        self.p = p
        self.others: list[Columns] = []
        self.barred: Mask | None = None
        self.many = np.array([len(runs) > 1 for runs in groups.runs])
        self.factor, self.weight = 1.0, self.unit / self.grain[p:]
        both = (
            np.concatenate([meetings.pairs, meetings.pairs[:, ::-1]])
            if meetings.any
            else np.zeros((0, 2), int)
        )
        self.ends = both.astype(np.int64)
        self.rise = 1.5  # how fast what is broken becomes dearer
        self.pair = np.ones(len(meetings.pairs) if meetings.any else 0)

    def state(self, option: Ints) -> State | None:
        """Add up a plan; None where its runs do not go together."""
        found = self.groups.columns(option)
        if not found.real.all():
            return None
        clashes, unknown = self._meet(option)
        cost, need = float(found.cost.sum()), found.need.sum(axis=0)
        value, broken = self._score(np.array([cost]), need[None], np.array([clashes]), np.array([unknown]))
        return State(
            option, cost, need, clashes, unknown, found, float(value[0] + broken[0]), float(broken[0])
        )

    def _meet(self, option: Ints) -> tuple[float, int]:
        if not self.meetings.any:
            return 0.0, 0
        unknown = 0 if self.meetings.most is None else self.meetings.over(option) + self.meetings.most
        if self.meetings.most is not None and self.meetings.over(option) == 0:
            unknown = self._count(self.meetings.unknown, option)
        failing = self.meetings.failing_pairs(option) if self.meetings.clash.any() else []
        return float(self.pair[failing].sum()), unknown

    def _count(self, matrix: np.ndarray[tuple[int, int], np.dtype[np.bool_]], option: Ints) -> int:
        material = self.meetings.material[self.groups.every, option]
        a, b = material[self.meetings.pairs[:, 0]], material[self.meetings.pairs[:, 1]]
        return int(((a >= 0) & (b >= 0) & matrix[a, b]).sum()) if matrix.size else 0

    def _score(self, cost: Floats, need: Floats, clashes: Floats, unknown: Floats) -> tuple[Floats, Floats]:
        """Value of plans, and what they break in the same unit."""
        form, p = self.form, self.p
        packs = np.maximum(np.ceil(need[:, :p] - form.room[:p]), form.low)
        value = cost + packs @ form.pack_cost
        beyond = np.maximum(need[:, :p] - form.room[:p] - form.high, 0.0)
        over = (beyond / self.grain[:p] + np.where(packs > form.high, 0.1, 0.0)).sum(axis=1)
        rest = need[:, p:] + packs @ form.pack_need[:, p:] - form.room[p:]
        slack = -0.5 * LIMIT_TOLERANCE * np.maximum(1.0, np.abs(form.room[p:]))
        rest = np.where(rest > slack, np.maximum(rest - slack, 0.0), 0.0) @ self.weight
        broken = over + clashes
        if form.most is not None:
            broken = broken + np.maximum((need[:, :p] > PACK_TOLERANCE).sum(axis=1) - form.most, 0)
            broken = broken + np.where(
                (need[:, :p] > PACK_TOLERANCE).sum(axis=1) > form.most, 0.01 * _least_used(need[:, :p]), 0.0
            )
        if self.meetings.most is not None:
            broken = broken + np.maximum(unknown - self.meetings.most, 0)
        return value, self.factor * (self.unit * broken + rest)

    def steps(self, state: State) -> Steps:
        """All changes of a single run that keep the coats as they are."""
        groups, form = self.groups, self.form
        every, option = groups.every, state.option
        way = groups.way_of(option)
        scene = (way // groups.sets)[groups.group]
        open_ = groups.mask[0] if groups.scenes == 1 else groups.mask[scene, every]
        open_ = open_.copy()
        if self.barred is not None:
            open_ &= ~self.barred
        open_[every, option] = False
        run, to = np.nonzero(open_)
        cost = form.cost[run, to] - form.cost[run, option[run]]
        need = form.need[run, to] - form.need[run, option[run]]
        if groups.most:
            cost, need = self._setups(state, run, to, cost, need)
        clashes, unknown = self._meetings(option, run, to)
        return self._with_groups(state, Steps(run, to, cost, need, clashes, unknown))

    def _with_groups(self, state: State, steps: Steps) -> Steps:
        """Add the changes of whole groups to the other plans at hand (their meetings are counted when one is made)."""
        parts = [steps]
        for n, other in enumerate(self.others):
            change = other.cost - state.parts.cost
            some = np.flatnonzero(
                other.real & ((change != 0) | (other.need != state.parts.need).any(axis=1)) & self.many
            )
            none = np.zeros(len(some))
            need = other.need[some] - state.parts.need[some]
            parts.append(Steps(self.form.runs + some, np.full(len(some), n), change[some], need, none, none))
        return Steps(
            *(
                np.concatenate([getattr(p, name) for p in parts])
                for name in ("run", "option", "cost", "need", "clashes", "unknown")
            )
        )

    def _made(self, option: Ints, steps: Steps, which: list[int]) -> Ints:
        """A plan after some changes."""
        option = option.copy()
        for n in which:
            run = int(steps.run[n])
            if run < self.form.runs:
                option[run] = steps.option[n]
            else:
                runs = self.groups.runs[run - self.form.runs]
                option[runs] = self.others[int(steps.option[n])].option[runs]
        return option

    def _look(self, price: Floats, ban: Ban | None) -> list[Columns]:
        """Other plans of the groups: the best ways at the multipliers, and the best of each set of coats."""
        groups = self.groups
        if groups.most + groups.scenes <= 1:
            return []
        ways = groups.ways(price, ban)
        table, every = ways.value.copy(), np.arange(groups.count)
        found = []
        for t in range(groups.scenes if groups.scenes > 1 else 0):
            part = table[t * groups.sets : (t + 1) * groups.sets]
            found.append(np.where(part.min(axis=0) < NEVER / 2, t * groups.sets + part.argmin(axis=0), 0))
        for _ in range(_WAYS if groups.most else 0):
            best = table.argmin(axis=0)
            table[best, every] = NEVER
            found.append(best)
        return [groups.columns(groups.pick(way, ways.option)) for way in found]

    def _setups(self, state: State, run: Ints, to: Ints, cost: Floats, need: Floats) -> tuple[Floats, Floats]:
        """Set-ups that a change opens, and those whose last user it takes away."""
        groups = self.groups
        local = groups.local[groups.every, state.option]
        users = np.zeros((groups.count, groups.most), dtype=np.int64)
        some = local >= 0
        np.add.at(users, (groups.group[some], local[some]), 1)
        g, new, old = groups.group[run], groups.local[run, to], local[run]
        opens = (new >= 0) & (users[g, np.maximum(new, 0)] == 0)
        shuts = (old >= 0) & (users[g, np.maximum(old, 0)] == 1) & (new != old)
        cost, need = cost.copy(), need.copy()
        cost[opens] += groups.setup_cost[g[opens], new[opens]]
        need[opens] += groups.setup_need[g[opens], new[opens]]
        cost[shuts] -= groups.setup_cost[g[shuts], old[shuts]]
        need[shuts] -= groups.setup_need[g[shuts], old[shuts]]
        return cost, need

    def _meetings(self, option: Ints, run: Ints, to: Ints) -> tuple[Floats, Floats]:
        none = np.zeros(len(run))
        if not len(self.ends):
            return none, none
        clash, unknown, ones = self.meetings.clash, self.meetings.unknown, np.ones(len(self.pair))
        counted = self.meetings.most is not None and unknown.any()
        return (
            self._around((clash, self.pair), option, run, to) if clash.any() else none,
            self._around((unknown, ones), option, run, to) if counted else none,
        )

    def _around(
        self,
        marked: tuple[np.ndarray[tuple[int, int], np.dtype[np.bool_]], Floats],
        option: Ints,
        run: Ints,
        to: Ints,
    ) -> Floats:
        """Weight of marked meetings that each change makes more."""
        matrix, weight = marked
        material = self.meetings.material
        here, there = self.ends.T
        beside = material[there, option[there]]
        mine = material[here]
        hit = (
            (mine >= 0) & (beside >= 0)[:, None] & matrix[np.maximum(mine, 0), np.maximum(beside, 0)[:, None]]
        )
        count = np.zeros(material.shape)
        np.add.at(count, here, hit * np.concatenate([weight, weight])[:, None])
        more: Floats = count[run, to] - count[run, option[run]]
        return more

    def better(self, option: Ints, price: Floats, most: int, ban: Ban | None = None) -> State | None:
        """Step until nothing helps or so many steps are made.

        Parameters
        ----------
        option : ndarray (R,)
            Where to start.
        price : ndarray (m,)
            Multipliers of the rows.
        most : int
            Most steps.
        ban : Ban or None
            Options and ways not to be used.

        Returns
        -------
        State or None
            Where the steps end; None where the start does not go together.
        """
        self.weight = np.maximum(price[self.p :], 1e-3 * self.unit / self.grain[self.p :])
        self.pair[:] = 1.0
        self.factor, self.barred = _MILD, None if ban is None else ban.option
        self.others = self._look(price, ban)
        state = self.state(option)
        if state is not None and state.broken <= 0:  # it is a plan: stay among plans
            self.factor = _STRICT
            state = self.state(option)
        for _ in range(most):
            after = None if state is None else self._step(state)
            if after is not None:
                state = after
            elif state is None or state.broken <= 0 or self.factor > _MOST:
                break
            else:
                self._rise(state)
                state = self.state(state.option)
        return state

    def _rise(self, state: State) -> None:
        """Stuck: make all that is broken dearer, and the meetings that fail now more than others."""
        self.factor *= self.rise
        if state.clashes > 0:
            self.pair[self.meetings.failing_pairs(state.option)] *= self.rise

    def _step(self, state: State) -> State | None:
        steps = self.steps(state)
        if not len(steps.run):
            return None
        value, broken = self._score(
            state.cost + steps.cost,
            state.need + steps.need,
            state.clashes + steps.clashes,
            state.unknown + steps.unknown,
        )
        score = value + broken
        best = int(score.argmin())
        if score[best] < state.score - _GAIN * abs(state.score):
            after = self.state(self._made(state.option, steps, [best]))
            if after is not None and after.score < state.score:
                return after
        return self._pair(state, steps, score)

    def _pair(self, state: State, steps: Steps, score: Floats) -> State | None:
        """Two changes at once: those that cost least and those that save most, each with each."""
        a, b = self._likely(steps, score)
        if not len(a) or not len(b):
            return None
        need = state.need + (steps.need[a][:, None] + steps.need[b][None]).reshape(
            len(a) * len(b), len(state.need)
        )
        both = [
            (now + part[a][:, None] + part[b][None]).ravel()
            for now, part in (
                (state.cost, steps.cost), (state.clashes, steps.clashes), (state.unknown, steps.unknown),
            )
        ]  # fmt: skip
        value, broken = self._score(both[0], need, both[1], both[2])
        total = value + broken
        total[(steps.run[a][:, None] == steps.run[b][None]).ravel()] = np.inf
        near = np.argpartition(total, min(_CHECKED, len(total) - 1))[:_CHECKED]
        for n in near[np.argsort(total[near], kind="stable")].tolist():
            if not total[n] < state.score - _GAIN * abs(state.score):
                return None
            after = self.state(self._made(state.option, steps, [int(a[n // len(b)]), int(b[n % len(b)])]))
            if after is not None and after.score < state.score - _GAIN * abs(state.score):
                return after
        return None

    def _likely(self, steps: Steps, score: Floats) -> tuple[Ints, Ints]:
        """Changes that better the plan but break something, and those that give room for little."""
        gain = np.flatnonzero(steps.cost < 0)
        gain = gain[np.argsort(score[gain], kind="stable")[:_PAIRED]]
        cheap = np.argsort(score, kind="stable")[:_PAIRED]
        freed = np.maximum(-steps.need / self.grain, 0.0).sum(axis=1)
        worth = np.where(freed > 0, steps.cost / np.maximum(freed, 1e-12), np.inf)
        saving = np.argsort(worth, kind="stable")[:_PAIRED]
        return np.union1d(gain, cheap[: _PAIRED // 3]), np.union1d(cheap, saving)


def _least_used(need: Floats) -> Floats:
    """Packs of the product that is used least, of those that are used (n,)."""
    least: Floats = np.where(need > PACK_TOLERANCE, need, np.inf).min(axis=1)
    return np.where(np.isfinite(least), np.minimum(least, 50.0), 0.0)
