"""Runs that are tied together: the tree on whole packs over groups, and plans in which runs and groups change.

Bounds are those of the groups' linear program (:mod:`.master`). Plans: from the program's own plans of the groups, a
beam over changes of single runs within the way of their group and of whole groups to another way; at failing meetings
one side yields.
"""

from __future__ import annotations

import heapq
from dataclasses import replace

import numpy as np

from hullwright.choice.instance import Floats, Goal, Instance, Ints, Limits
from hullwright.choice.solver.effort import Progress
from hullwright.choice.solver.own.beam import Moves, marks, moves_of, search, worth_of
from hullwright.choice.solver.own.form import NEVER, Form, Part, make_form, with_row, without_dominated
from hullwright.choice.solver.own.giveway import GiveWay
from hullwright.choice.solver.own.groups import Columns, Groups, Mask, Shut
from hullwright.choice.solver.own.master import Master
from hullwright.choice.solver.own.meetings import Meetings
from hullwright.choice.solver.own.polish import Polish
from hullwright.choice.solver.own.simplex import Basis, Box, Program, Relaxed
from hullwright.choice.solver.own.tree import PAUSE, Plan, Tree, Work, grain_of, sum_up

_YIELDS = 8
_RISES = (1.5, 3.0)  # how fast the polish makes dearer what is broken: gently, then harder
_AFTER = 4  # once there is a plan, only a part of the steps
_STEPS, _MANY = 150, 350  # of the polish: more where meetings are to be mended
_SOME = 1e-6
_LEAST, _DEARER = 16, 8  # a node of groups is several programs: fewer of them for the same work
_SPARED = (0.2, 1.0, 3.0)
_OTHERS, _WAYS = 6, 60
_EMPTY = 8
_PARTS, _WHOLE_SETS, _PRICES = 60, 8, 1
_ROUNDS, _ROWS = 4, 4  # of rows for meetings between groups
_CLOSE, _TENFOLD = 5e-3, 10.0  # no way down where the gap is as small as this, or ten times that asked for
_QUICK = 4  # rounds of each program on the way down
_DECIDED = 6  # most set-ups and coats decided on the way
_DOWN = 40  # most steps down to whole packs


class GroupTree(Tree):
    """Search of one question whose runs are tied."""

    def __init__(self, instance: Instance, limits: Limits, goal: Goal, work: Work) -> None:
        form = make_form(instance, limits, goal, Part(np.arange(instance.runs, dtype=np.int64)))
        form = without_dominated(form, _alike(instance, form))
        self.meetings = Meetings(instance, limits, form)
        if self.meetings.most is not None and bool(self.meetings.state_unknown.any()) and self.meetings.any:
            form = with_row(form, "unknown", float(self.meetings.most))
        self.groups = Groups(instance, goal, form, self.meetings)
        self.master = Master(self.groups, self.meetings)
        self._across(instance, goal, form)
        self.polish = Polish(self.groups, self.meetings)
        self.steps = _MANY if self.meetings.any and bool(self.meetings.clash.any()) else _STEPS
        self.yielded = np.zeros_like(self.groups.real)
        super().__init__(self.groups.form, work, None, outer=self._outer)
        self.empty, self.close = _EMPTY, max(_CLOSE, _TENFOLD * work.gap)
        self.prices: list[Floats] = []
        self.off = frozenset[int]()  # products off where whole packs are tried

    def _across(self, instance: Instance, goal: Goal, form: Form) -> None:
        """Give rows to meetings between groups that fail in the program of the whole."""
        for _ in range(_ROUNDS if len(self.meetings.loose) and self.meetings.clash.any() else 0):
            base = self.groups.form
            _, root = self.master.solve(Box(base.low, base.high), None)
            if not np.isfinite(root.bound):
                return
            rows = self.meetings.across(self._shares(root))[:_ROWS]
            if not rows:
                return
            for row in rows:
                form = with_row(form, "meeting", 1.0, row)
            self.groups = Groups(instance, goal, form, self.meetings)
            self.master = Master(self.groups, self.meetings)

    def _shares(self, result: Relaxed) -> Floats:
        """Share of each option (R, O) in a relaxed solution."""
        share = np.zeros(self.groups.real.shape)
        key, every = result.basis.key, self.groups.every
        share[every, self.master.option(key)] = 1.0
        for g, parts in result.split.items():
            runs = self.groups.runs[g]
            share[runs] = 0.0
            for n, part in parts.items():
                share[runs, self.master.pick[runs, n]] += part
        return share

    def begin(self, pick: Ints) -> None:
        """Take up a plan at hand, given by its option rows, and what is next to it."""
        option = pick - self.form.rows[:, 0]
        self._take(option)
        if self.plan is not None:
            self._polish(option, np.zeros(len(self.form.room)), Box(self.form.low, self.form.high))

    def _point(self, packs: Floats) -> Box:
        return Box(packs, packs, off=self.off)

    def _cut(self, program: Program, packs: Floats) -> None:
        shut = self.master.shut(self._point(packs))
        if program.ray.any():
            super()._cut(program, packs)
            base, _ = self.groups.lack(program.ray, self.master.ban(shut))
            self.pool.cuts.append((base, self.form.pack_need @ program.ray, sorted(shut.off)))
        else:
            super()._cut(program, packs)

    def _outer(self, price: Floats, box: Box | None) -> float:
        return self.master.bound(price, box)[0]

    def _roots(self) -> list[Box]:
        return [self._counted(Box(self.form.low, self.form.high))]

    def _program(self, box: Box, basis: Basis, cutoff: float = np.inf) -> tuple[Program, Relaxed]:
        self.solved, result = self.master.solve(box, basis, cutoff)
        return self.solved, result

    def _blocks(self) -> Form:
        return self.master.form()

    def _off(self, box: Box, p: int) -> Box:
        high = box.high.copy()
        high[p] = 0.0
        return replace(box, high=high, off=box.off | {p})

    def _many(self, result: Relaxed, box: Box) -> int | None:
        """Product to decide on where more are used than may be: the one whose loss costs the bound least."""
        if super()._many(result, box) is None:
            return None
        price = np.maximum(result.price, 0.0)
        used = [int(p) for p in np.flatnonzero(self._use(result) > _SOME) if p not in box.on | box.off]
        return min(used, key=lambda p: (self.master.bound(price, self._off(box, p))[0], p))

    def _beams(self, result: Relaxed, box: Box) -> None:
        """Look for a plan with as few products as may be used."""
        if self.work.beamed >= self.work.beams or (self.plan is not None and self.work.done % PAUSE):
            return
        if super()._many(result, box) is not None or not result.bound < self.value:
            return
        self.off = box.off
        if box.ways or box.ban:  # what is decided there is worth a try by itself
            self.work.beamed += 1
            self._polish(self.master.option(_majority(result)), np.maximum(result.price, 0.0), box)
            self._first(result, box)
            self._best_point()
        else:
            super()._beams(result, box)

    def _first(self, result: Relaxed, box: Box) -> None:
        """Follow the better side of each pack, set-up and coat that is split, down to where none is."""
        if self.plan is not None and self.value - result.bound <= self.close * abs(self.value):
            return
        program = self.solved
        for _ in range(_DOWN):
            if not result.bound < self.value:
                return
            sides = self._sides(program, result, box)
            if not sides:
                break
            best = None
            for side in sides:
                found = self.master.solve(side, result.basis, self.value, _QUICK)
                if best is None or found[1].bound < best[0][1].bound:
                    best = found, side
                if found[1].bound < self.value and side.ways == box.ways:
                    break
            assert best is not None
            (program, result), box = best
        else:
            return
        packs = np.round(result.packs)
        if np.isfinite(result.bound):
            self.tried.add(packs.astype(np.int32).tobytes())
            if result.bound < self.value:
                heapq.heappush(self.points, (result.bound, next(self.count), packs, result))

    def _sides(self, program: Program, result: Relaxed, box: Box) -> list[Box]:
        """Both sides of the decision that weighs most, the better one first where that is known; none where all is whole."""
        away = np.abs(result.packs - np.round(result.packs))
        way = None
        if len(box.ways) < _DECIDED and (self._ways_first(result, away) or away.max(initial=0.0) <= _SOME):
            way = self._open_way(result, box)
        if way is not None:
            return [replace(box, ways=(*box.ways, (*way, wanted))) for wanted in (True, False)]
        if away.max(initial=0.0) <= _SOME:
            return []
        p, ends = self._fork(program, result, away)
        below, above = float(np.floor(result.packs[p])), float(np.ceil(result.packs[p]))
        sides = [_within(box, p, box.low[p], below), _within(box, p, above, box.high[p])]
        if box.low[p] > self.form.low[p] or box.high[p] < self.form.high[p]:  # a second time: for good
            sides = [_within(box, p, below, below), _within(box, p, above, above)]
        return sides if ends[0][0] <= ends[1][0] else sides[::-1]

    def _ways_first(self, result: Relaxed, away: Floats) -> bool:
        """Whether a group between two plans weighs more than any pack that is split."""
        form, price = self.form, np.maximum(result.price, 0.0)
        free = form.pack_cost + form.pack_need[:, form.products :] @ price[form.products :]
        return self._between(result) > float((away * free).max(initial=0.0))

    def _branch(self, bound: float, solved: tuple[Program, Relaxed], box: Box) -> None:
        """Decide first on what weighs most: a product too many, a group between two plans, or a pack that is split."""
        _, result = solved
        away = np.abs(result.packs - np.round(result.packs))
        if super()._many(result, box) is not None:
            self._sets(bound, result, box)
        elif self._ways_first(result, away):
            self._leaf(bound, result, box)
        else:
            super()._branch(bound, solved, box)

    def _sets(self, bound: float, result: Relaxed, box: Box) -> None:
        """More products than may be used: split into sets that may, the most promising ones whole, the rest in parts.

        The bound of each part is that of the multipliers at hand, with the products left out that it leaves out.
        """
        self.prices.append(np.maximum(result.price, 0.0))
        parts: list[tuple[float, int, Box]] = [(bound, next(self.count), box)]
        whole = 0
        for _ in range(_PARTS):
            if not parts or whole >= _WHOLE_SETS:
                break
            least, _, part = heapq.heappop(parts)
            free = self._undecided(part)
            if not free:
                whole += 1
                self._push(least, part, result.basis)
                continue
            off = [(self._priced(self._off(part, p)), p) for p in free]
            promised, p = max(off, key=lambda item: (item[0], -item[1]))
            sides = [(max(least, promised), self._off(part, p)), (least, self._on(part, p))]
            if not self._undecided(sides[1][1]):
                sides[1] = (max(least, self._priced(sides[1][1])), sides[1][1])
            for value, side in sides:
                if value < self.cutoff:
                    heapq.heappush(parts, (value, next(self.count), side))
                else:
                    self.floor = min(self.floor, value)
        for value, _, part in parts:
            self._push(value, part, result.basis)

    def _undecided(self, box: Box) -> list[int]:
        """Products that could be used and are not decided on, none where all that are left may be used."""
        form, most = self.form, self.form.most
        there = [
            p
            for p in range(form.products)
            if p not in box.off and p not in box.on and (box.high[p] > 0 or form.there[p])
        ]
        return there if most is not None and len(there) + len(box.on) > most else []

    def _priced(self, box: Box) -> float:
        """Best bound of a box at the multipliers at hand."""
        return max(self.master.bound(price, box)[0] for price in self.prices[-_PRICES:])

    def _between(self, result: Relaxed) -> float:
        """Cost that hangs on the group least decided: what its plans differ in, times the smaller share."""
        best = 0.0
        for g, shares in result.split.items():
            cost = self.master.cost[g, [o for o, share in shares.items() if share > _SOME]]
            if len(cost) > 1:
                best = max(best, float(np.ptp(cost)) * (1.0 - max(shares.values())))
        return best

    def _leaf(self, bound: float, result: Relaxed, box: Box) -> None:
        """Packs are whole: decide on a set-up, a coat or a run that is split, or take the plan that is none."""
        if not result.split:
            self._take(self.master.option(result.basis.key))
        way, run = self._open_way(result, box), None
        if way is None:
            run = self._open_run(result)
        sides: list[Box] = []
        if way is not None:
            sides = [replace(box, ways=(*box.ways, (*way, wanted))) for wanted in (True, False)]
        elif run is not None:
            r, o = run
            others = tuple((r, n) for n in np.flatnonzero(self.groups.real[r]).tolist() if n != o)
            sides = [replace(box, ban=(*box.ban, run)), replace(box, ban=(*box.ban, *others))]
        if not sides:
            self.floor = min(self.floor, bound)
        for side in sides:
            self._push(bound, side, result.basis)

    def _open_way(self, result: Relaxed, box: Box) -> tuple[int, int] | None:
        """Set-up or scene of coats of a group that is least decided, None where all are."""
        groups, best, found = self.groups, 0.0, None
        decided = {(g, mark) for g, mark, _ in box.ways}
        for g, shares in result.split.items():
            ways, share = self.master.way[g, list(shares)], np.array(list(shares.values()))
            weight = float(np.ptp(self.master.cost[g, list(shares)])) + 1e-12
            for mark in range(groups.most + groups.scenes):
                part = float(share[groups.has(ways, mark)].sum())
                least = min(part, 1.0 - part)
                if least > _SOME and least * weight > best and (g, mark) not in decided:
                    best, found = least * weight, (g, mark)
        return found

    def _open_run(self, result: Relaxed) -> tuple[int, int] | None:
        """Run and option that are least decided, None where all are."""
        best, found = 0.0, None
        for g, shares in result.split.items():
            share = np.array(list(shares.values()))
            for r in self.groups.runs[g].tolist():
                option = self.master.pick[r, list(shares)]
                weight = float(np.ptp(self.form.cost[r, option])) + 1e-12
                for o in np.unique(option).tolist():
                    part = float(share[option == o].sum())
                    least = min(part, 1.0 - part)
                    if least > _SOME and least * weight > best:
                        best, found = least * weight, (r, o)
        return found

    def _take(self, option: Ints | None) -> None:
        """Keep a plan where it is allowed and better."""
        plan = None if option is None else self.plan_of(option)
        if plan is not None and plan.value < self.value and not self.amiss(plan.option):
            self.plan = plan

    def plan_of(self, option: Ints) -> Plan | None:
        """Add up a plan, set-ups and coats with it; None where it does not keep the rows."""
        found = self.groups.columns(option)
        if not found.real.all():
            return None
        return sum_up(self.form, option, float(found.cost.sum()), found.need.sum(axis=0))

    def amiss(self, option: Ints) -> bool:
        """Whether meetings fail, or too many are unknown."""
        meetings = self.meetings
        if not meetings.any:
            return False
        return meetings.over(option) > 0 or bool(meetings.clash.any() and meetings.failing_pairs(option))

    def _plan(self, packs: Floats, there: Relaxed) -> None:
        """Beam at whole packs; where it finds nothing, again from a program that leaves some room in each row."""
        before, price = self.value, np.maximum(there.price, 0.0)
        self.off = there.basis.shut.off if isinstance(there.basis.shut, Shut) else frozenset()
        box = self._point(packs)
        if self._settle(packs, there):
            if self.plan is not None and self.value < before:
                self._polish(self.plan.option, price, box)
            return
        if self._polish(self.master.option(_majority(there)), price, box) or self.plan is not None:
            return
        whole, spare = self.groups.form, np.array(grain_of(self.groups.form))
        spare[: len(packs)][(packs <= 0) & ~whole.there] = 0.0
        for share in _SPARED:
            self.groups.form = replace(whole, room=whole.room - share * spare)
            _, loose = self.master.solve(box, None)
            self.groups.form = whole
            if not np.isfinite(loose.bound) or self._settle(packs, loose):
                return

    def _polish(self, option: Ints, price: Floats, box: Box) -> bool:
        """Mend and better a plan one or two changes at a time; answers whether it is one then."""
        off = Shut(self.master.shut(box).off) if self.form.most is not None else Shut()
        ban = self.master.ban(off) if off.any else None
        for rise in _RISES if self.plan is None else _RISES[:1]:
            self.polish.rise = rise
            steps = self.steps if self.plan is None else self.steps // _AFTER
            state = self.polish.better(option, price, steps, ban)
            if state is not None and state.broken <= 0:
                self._take(state.option)
                return True
        return False

    def _settle(self, packs: Floats, there: Relaxed) -> bool:
        """Beam at whole packs, with sides that yield until no meeting fails; answers whether there is a plan."""
        price = np.maximum(there.price, 0.0)
        option = self.master.option(_majority(there))
        ban = self.master.ban(self.master.shut(self._point(packs)))
        for _ in range(_YIELDS):
            value = self.groups.values(price)
            value[self.yielded | ban.option] = NEVER
            changed = self._beam(packs, price, option, (value, ban.way))
            if changed is None:
                return False
            if not self.amiss(changed):
                self._take(changed)
                return True
            if not self.meetings.yielding(changed, self._open_cost(changed, value, price), self.yielded):
                return False
            option = changed
        return False

    def _open_cost(self, option: Ints, value: Floats, price: Floats) -> Floats:
        """Value of each option, with the set-up that it would need on top."""
        groups = self.groups
        setup = (groups.setup_cost + groups.setup_need @ price)[groups.group]
        local = np.maximum(groups.local, 0)
        shut = ~groups.open(np.maximum(groups.way_of(option), 0))
        if not groups.most:
            return np.where(shut, NEVER, value)
        dear = value + np.take_along_axis(setup, local, axis=1)
        return np.where(shut & (groups.local >= 0), dear, value)

    def _beam(self, packs: Floats, price: Floats, option: Ints, how: tuple[Floats, Mask]) -> Ints | None:
        """Change single runs and whole groups until all fits and little is left over.

        `how`: value of each option (R, O), and ways that are barred (T * S, G).
        """
        groups, form = self.groups, self.form
        value, _ = how
        option = self._open_again(option, value, price)
        here = groups.columns(option)
        if not here.real.all() or np.any(value[groups.every, option] >= NEVER / 2):
            return None
        worth = worth_of(form, price)
        left = form.room - here.need.sum(axis=0) - form.pack_need.T @ packs
        if self.master.counted >= 0:
            left[self.master.counted] -= self.meetings.unknown_at(option)
        regret = np.where(groups.open(groups.way_of(option)), value, NEVER)
        regret = np.where(regret < NEVER / 2, regret - value[groups.every, option][:, None], NEVER)
        single, give = self._single(option, regret, price, worth)
        whole, plans = self._whole(here, how, price, worth)
        moves = self._together(single, whole, give)
        found = search(moves, (left * worth, price / worth), self.shape)
        if found is None:
            return None
        for n in found.tolist():
            if n < len(single.run):
                option[single.run[n]] = single.option[n]
                for run, to in give.changes(int(single.run[n]), int(single.option[n])) if give else ():
                    option[run] = to
            else:
                runs = groups.runs[int(whole.run[n - len(single.run)])]
                option[runs] = plans[int(whole.option[n - len(single.run)])][runs]
        return option

    def _open_again(self, option: Ints, value: Floats, price: Floats) -> Ints:
        """Take the best options in the groups that take what is barred by now; the others stay as they are."""
        groups = self.groups
        barred = np.zeros(groups.count, dtype=np.bool_)
        barred[groups.group[value[groups.every, option] >= NEVER / 2]] = True
        if not barred.any():
            return option.copy()
        best = groups.pick(np.maximum(groups.way_of(option), 0), value, groups.unknown(price))
        return np.where(barred[groups.group], best, option)

    def _single(
        self, option: Ints, regret: Floats, price: Floats, worth: Floats
    ) -> tuple[Moves, GiveWay | None]:
        """Changes of single runs; where these meet others, with what gives way to them."""
        if not len(self.meetings.active):
            return moves_of(self.form, regret, option, (worth, self.shape.moves)), None
        give = GiveWay(self.meetings, option, regret)
        counted, unknown = self.master.counted, self.groups.unknown(price)
        more = give.more(self.form.need)
        if counted >= 0:
            more[:, :, counted] += give.unknown
        moves = moves_of(
            self.form, give.regret + unknown * give.unknown, option, (worth, self.shape.moves), more
        )
        return replace(moves, same=moves.same | give.against(moves)), give

    def _whole(
        self, here: Columns, how: tuple[Floats, Mask], price: Floats, worth: Floats
    ) -> tuple[Moves, list[Ints]]:
        """Changes of whole groups to other ways: `run` is the group, `option` the plan it comes from."""
        groups = self.groups
        value, barred = how
        ways = groups.ways_at(value, price)
        every, now = np.arange(groups.count), here.cost + here.need @ price
        table, plans = np.where(barred, NEVER, ways.value), list[Ints]()
        table[np.maximum(groups.way_of(here.option), 0), every] = NEVER
        found: list[tuple[float, int, int, Floats]] = []
        for n in range(_OTHERS if groups.most + groups.scenes > 1 else 0):
            way = table.argmin(axis=0)
            some = table[way, every] < NEVER / 2
            table[way, every] = NEVER
            plan = groups.columns(groups.pick(way, value, ways.unknown))
            plans.append(plan.option)
            regret = plan.cost + plan.need @ price - now
            for g in np.flatnonzero(some & plan.real).tolist():
                runs = groups.runs[g]
                if np.any(plan.option[runs] != here.option[runs]):
                    found.append((float(regret[g]), g, n, (plan.need[g] - here.need[g]) * worth))
        found.sort(key=lambda item: item[:3])
        found = found[:_WAYS]
        group = np.array([g for _, g, _, _ in found], dtype=np.int64)
        take = np.array([t for *_, t in found]).reshape(len(found), len(price))
        which = np.array([n for _, _, n, _ in found], dtype=np.int64)
        return Moves(
            group, which, np.array([r for r, *_ in found]), take, which, group[:, None] == group[None, :]
        ), plans

    def _together(self, single: Moves, whole: Moves, give: GiveWay | None) -> Moves:
        """One table of both; a change of a group shuts out all changes within it."""
        across = self.groups.group[single.run][:, None] == whole.run[None, :]
        if give:
            across |= give.touched(single, self.groups.group)[:, whole.run]
        same: Mask = np.block([[single.same, across], [across.T, whole.same]])
        return Moves(
            np.concatenate([single.run, whole.run]),
            np.concatenate([single.option, whole.option]),
            np.concatenate([single.regret, whole.regret]),
            np.concatenate([single.take, whole.take]),
            marks(len(same)),
            same,
        )


def _within(box: Box, p: int, least: float, most: float) -> Box:
    """Box with the packs of one product between two ends."""
    low, high = box.low.copy(), box.high.copy()
    low[p], high[p] = least, most
    return replace(box, low=low, high=high)


def _alike(instance: Instance, form: Form) -> Ints:
    """Number of method, coat and material of each option (R, O)."""
    at = np.maximum(form.rows, 0)
    columns = [instance.method[at].ravel(), instance.coat[at].ravel()]
    if len(instance.meet):
        columns.append(instance.material[at].ravel())
    number = np.unique(np.stack(columns, axis=1), axis=0, return_inverse=True)[1]
    alike: Ints = number.reshape(form.cost.shape).astype(np.int64)
    return alike


def _majority(there: Relaxed) -> Ints:
    """Plan of each group that has the largest share."""
    key = there.basis.key.copy()
    for group, shares in there.split.items():
        key[group] = max(shares, key=lambda o: shares[o])
    return key


def solve_grouped(
    instance: Instance,
    limits: Limits,
    goal: Goal,
    work: Work,
    progress: Progress | None = None,
    *,
    start: Ints | None = None,
) -> tuple[Ints | None, float]:
    """Solve a question with set-ups, coats or meetings.

    Parameters
    ----------
    instance, limits, goal : Instance, Limits, Goal
        The question.
    work : Work
        Counted work.
    progress : callable or None
        Asked now and then whether to go on.
    start : ndarray (R,) or None
        Picked option rows of a plan at hand.

    Returns
    -------
    (ndarray (R,) or None, float)
        Picked option rows and a valid bound.

    Raises
    ------
    TooTied
        Where too many set-ups or coats hang together.
    """
    own = Work(min(work.nodes, _LEAST + work.nodes // _DEARER), work.beams, work.gap)
    tree = GroupTree(instance, limits, goal, own)
    tree.progress = progress
    if start is not None:
        tree.begin(start)
    tree.run()
    work.done += own.done
    if tree.plan is None:
        return None, tree.bound
    rows: Ints = tree.form.rows[np.arange(tree.form.runs), tree.plan.option]
    return rows, tree.bound
