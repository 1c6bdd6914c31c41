"""The linear program over plans of groups: each group takes one of the plans found so far, more are found as needed.

At the multipliers of the program the best plan of every group is looked up; where it beats those at hand it is put in.
Every look-up gives a valid bound. When none is better any more, program and bound agree: that is the best bound that
multipliers can give.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from hullwright.choice.instance import Floats, Ints
from hullwright.choice.solver.own.form import NEVER, Form
from hullwright.choice.solver.own.groups import Ban, Columns, Groups, Mask, Shut, Ways
from hullwright.choice.solver.own.meetings import Meetings
from hullwright.choice.solver.own.simplex import Basis, Box, Program, Relaxed, first_basis

_FIRST = 24
_ROUNDS = 40
_NEAR = 3e-5
_CENTRE = 0.5
_PUSHES = 24
_NEXT = 2


class Master:
    """Plans of groups found so far, as a form with one block of plans a group."""

    def __init__(self, groups: Groups, meetings: Meetings) -> None:
        self.groups, self.meetings = groups, meetings
        form = groups.form
        self.size = np.zeros(groups.count, dtype=np.int64)
        self.cost = np.full((groups.count, _FIRST), NEVER)
        self.need = np.zeros((groups.count, _FIRST, len(form.room)))
        self.pick = np.zeros((form.runs, _FIRST), dtype=np.int64)
        self.known: set[tuple[int, bytes]] = set()
        self.way = np.zeros((groups.count, _FIRST), dtype=np.int64)
        self.bans: dict[Shut, Ban] = {}
        self.counted = form.products + form.names.index("unknown") if "unknown" in form.names else -1

    def form(self, shut: Shut | None = None) -> Form:
        """Form of all plans of groups so far, without those that a box shuts out."""
        width = int(self.size.max())
        cost, need = self.cost[:, :width], self.need[:, :width]
        if shut is not None and shut.any:
            gone: Mask = np.any(need[:, :, sorted(shut.off)] > 0, axis=2)
            for run, option in shut.ban:
                gone[self.groups.group[run]] |= self.pick[run, :width] == option
            cost, need = cost.copy(), need.copy()
            for group, mark, wanted in shut.ways:
                other = self.groups.has(self.way[group, :width], mark) != wanted
                if (
                    wanted and mark < self.groups.most
                ):  # decided that it is paid: paid for nothing, where unused
                    cost[group, other] += self.groups.setup_cost[group, mark]
                    need[group, other] += self.groups.setup_need[group, mark]
                else:
                    gone[group] |= other
            cost[gone] = NEVER
        base = self.groups.form
        rows = np.zeros((self.groups.count, width), dtype=np.int64)
        return replace(base, cost=cost, need=np.ascontiguousarray(need), rows=rows)

    def ban(self, shut: Shut) -> Ban:
        """What may not be used."""
        if shut not in self.bans:
            self.bans[shut] = self.groups.without(shut)
        return self.bans[shut]

    def shut(self, box: Box) -> Shut:
        """What a box shuts out."""
        form = self.groups.form
        none = np.flatnonzero((box.high <= 0) & ~form.there)
        return Shut(frozenset(none.tolist()) | box.off, box.ban, box.ways)

    def add(self, new: Columns, wanted: Mask) -> int:
        """Take up plans of groups that are not known yet; answers how many."""
        added = 0
        fails, unknown = self.groups.within(new.option)
        for g in np.flatnonzero(wanted & new.real & ~fails).tolist():
            runs = self.groups.runs[g]
            picked = new.option[runs]
            key = (g, picked.tobytes())
            if key in self.known:
                continue
            self.known.add(key)
            n = int(self.size[g])
            if n == self.cost.shape[1]:
                self._grow()
            self.cost[g, n], self.need[g, n], self.pick[runs, n] = new.cost[g], new.need[g], picked
            self.way[g, n] = new.way[g]
            if self.counted >= 0:
                self.need[g, n, self.counted] += unknown[g]
            self.size[g] += 1
            added += 1
        return added

    def _grow(self) -> None:
        more = self.cost.shape[1]
        self.cost = np.concatenate([self.cost, np.full((len(self.cost), more), NEVER)], axis=1)
        self.need = np.concatenate([self.need, np.zeros_like(self.need)], axis=1)
        self.pick = np.concatenate([self.pick, np.zeros_like(self.pick)], axis=1)
        self.way = np.concatenate([self.way, np.zeros_like(self.way)], axis=1)

    def option(self, key: Ints) -> Ints:
        """Option of each run (R,) where each group takes one of its plans."""
        option: Ints = self.pick[self.groups.every, key[self.groups.group]]
        return option

    def bound(self, price: Floats, box: Box | None) -> tuple[float, Ways]:
        """Valid bound of some multipliers ≥ 0 in a box (none: packs left out), and the ways at them."""
        groups = self.groups
        shut = Shut() if box is None else self.shut(box)
        ban = self.ban(shut) if shut.any else None
        ways = groups.ways(price, ban)
        best = groups.total(ways, price, box)
        if self.meetings.any and np.isfinite(best):
            extra, less = self.meetings.prices(ways.option)
            if less:
                dearer = groups.ways(price, ban, extra)
                best = max(best, groups.total(dearer, price, box) - less)
        return best, ways

    def look(self, ways: Ways, price: Floats, least: Floats) -> int:
        """Take up the best plan of each group, and some next best, where they beat the plans at hand."""
        groups, added = self.groups, 0
        value = ways.value
        for n in range(_NEXT if groups.most + groups.scenes > 1 else 1):
            if n:
                value = value.copy()
                value[ways.best if n == 1 else value.argmin(axis=0), np.arange(groups.count)] = NEVER
            way = value.argmin(axis=0) if n else ways.best
            new = groups.columns(groups.pick(way, ways.option, ways.unknown))
            worth = new.cost + new.need @ price + ways.unknown * groups.within(new.option)[1]
            added += self.add(new, worth < least - 1e-9 * np.maximum(np.abs(least), 1e-9))
        return added

    def solve(
        self, box: Box, start: Basis | None, cutoff: float = np.inf, rounds: int = _ROUNDS
    ) -> tuple[Program, Relaxed]:
        """Solve the program of a box; its bound is valid for all plans, inf where there is none in the box."""
        shut, plain = self.shut(box), Box(box.low, box.high)
        price = np.zeros(len(self.groups.form.room)) if start is None or start.price is None else start.price
        best, ways = self.bound(price, box)
        if not np.isfinite(best):
            return self._none(box, price)
        centre = price
        self.look(ways, price, self._least(price, shut))
        basis = start if start is not None and start.shut == shut and start.price is not None else None
        push = 0
        program = result = None
        for _ in range(rounds):
            program, result = self._restricted(shut, plain, basis)
            basis = result.basis
            price = np.maximum(program.price, 0.0)
            if not np.isfinite(result.bound):
                push += 1
                proved, least = self.groups.along(program.ray, box, self.ban(shut))
                if proved:
                    return program, _elsewhere(result, box, np.inf)
                new = self.groups.columns(self.groups.pick(least.best, least.option, least.unknown))
                self.add(new, np.ones(self.groups.count, dtype=np.bool_))
                basis, price = None, centre + 2.0**push * price
                bound, ways = self.bound(price, box)
                best = max(best, bound)
                if best >= cutoff or push > _PUSHES:
                    return program, _elsewhere(result, box, best)
                self.look(ways, price, self._least(price, shut))
                continue
            added = 0
            for point in (_CENTRE * centre + (1.0 - _CENTRE) * price, price):
                bound, ways = self.bound(point, box)
                if bound > best:
                    best, centre = bound, point
                added = self.look(ways, price, self._least(price, shut))
                if added:
                    break
            if best >= cutoff or not added or result.bound - best <= _NEAR * abs(result.bound):
                break
        assert program is not None
        assert result is not None
        result.basis.price, result.basis.shut = centre, shut
        return program, Relaxed(best, centre, result.packs, result.basis, result.split, result.steps)

    def _restricted(self, shut: Shut, box: Box, basis: Basis | None) -> tuple[Program, Relaxed]:
        """Solve the program over the plans at hand."""
        form = self.form(shut)
        program = Program(form, basis or first_basis(form), box)
        if basis is not None and (program.stalled or not program.sound):
            # a new plan beats a group that is split: start afresh
            program = Program(form, first_basis(form), box)
        return program, program.solve()

    def _none(self, box: Box, price: Floats) -> tuple[Program, Relaxed]:
        form = self.form()
        if not form.cost.shape[1]:  # no plan of any group is known: the form of the runs stands in
            form = self.groups.form
        program = Program(form, first_basis(form), Box(box.low, box.high))
        return program, Relaxed(np.inf, price, box.low.copy(), program.basis)

    def _least(self, price: Floats, shut: Shut) -> Floats:
        """Value of the best plan at hand of each group (G,)."""
        form = self.form(shut)
        if not form.cost.shape[1]:
            return np.full(self.groups.count, NEVER)
        least: Floats = (form.cost + form.need @ price).min(axis=1)
        return least


def _elsewhere(result: Relaxed, box: Box, bound: float) -> Relaxed:
    """A bound without a solution."""
    return Relaxed(bound, np.maximum(result.price, 0.0), box.low.copy(), result.basis, {}, result.steps)
