"""The tree on whole packs: boxes of pack counts, each with its exact linear program, the least bound first.

The multipliers of every program solved give a bound for any other box as well (it is linear in the packs), so many
boxes are settled without a program of their own, and whole packs near a fractional solution are ranked for the beams.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from hullwright.choice.instance import Floats, Ints
from hullwright.choice.solver.effort import Progress
from hullwright.choice.solver.ledger import LIMIT_TOLERANCE, PACK_TOLERANCE
from hullwright.choice.solver.own.beam import Shape, beam
from hullwright.choice.solver.own.form import NEVER, Form
from hullwright.choice.solver.own.simplex import Basis, Box, Program, Relaxed, first_basis

_WHOLE = 1e-6
_TRIALS = 2
_SPARED = (0.2, 1.0)
_MIXED = 10
_CHOICES = 1000
_FORKS = 10
PAUSE = 4
# Sums in another order differ in their last digits: a plan keeps so much away from where it would no longer be allowed.
_HAIR = 0.01 * LIMIT_TOLERANCE


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan of a form: option of each run and its value."""

    option: Ints
    value: float


@dataclass(slots=True)
class Work:
    """How much may be done and what has been.

    Parameters
    ----------
    nodes, beams : int
        Most linear programs of nodes, most beams.
    gap : float
        Stop where (value - bound) ÷ value is at most this.
    """

    nodes: int
    beams: int
    gap: float
    done: int = 0
    beamed: int = 0


def plan_of(form: Form, option: Ints) -> Plan | None:
    """Add up a plan; None where it does not keep the rows."""
    every = np.arange(form.runs)
    cost = form.cost[every, option]
    if np.any(cost >= NEVER / 2):
        return None
    return sum_up(form, option, float(cost.sum()), form.need[every, option].sum(axis=0))


def sum_up(form: Form, option: Ints, cost: float, need: Floats) -> Plan | None:
    """Make a plan of what its options cost and need in all; None where it does not keep the rows."""
    p = form.products
    packs = np.maximum(np.ceil(need[:p] - form.room[:p]), form.low)
    if np.any(packs > form.high) or (
        form.most is not None
        and len(form.used.union(np.flatnonzero(need[:p] > PACK_TOLERANCE).tolist())) > form.most
    ):
        return None
    need = need + form.pack_need.T @ packs
    if np.any(need[p:] > form.room[p:] - _HAIR * np.maximum(1.0, np.abs(form.room[p:]))):
        return None
    return Plan(option, cost + float(form.pack_cost @ packs) + form.fixed)


# Valid bound of some multipliers in a box, where the form holds only a part of all plans.
# (no box: packs left out, nothing barred).
Outer = Callable[[Floats, Box | None], float]


class Pool:
    """Bounds that are linear in the packs, one for each set of multipliers."""

    def __init__(self, form: Form, outer: Outer | None = None) -> None:
        self.form, self.outer = form, outer
        self.base: list[float] = []
        self.slope: list[Floats] = []
        # packs y with base + slope · y > 0 are known to fit nothing, where there are none of the products off
        self.cuts: list[tuple[float, Floats, list[int]]] = []

    def add(self, price: Floats) -> None:
        """Take up some multipliers."""
        form = self.form
        price = np.maximum(price, 0.0)
        self.slope.append(form.pack_cost + form.pack_need @ price)
        if self.outer is not None:
            self.base.append(self.outer(price, None))
            return
        value = form.cost + (form.need.reshape(form.cost.size, -1) @ price).reshape(form.cost.shape)
        self.base.append(float(value.min(axis=1).sum() - price @ form.room) + form.fixed)

    def bound(self, low: Floats, high: Floats) -> float:
        """Best bound of a box."""
        slope = np.array(self.slope)
        return float((np.array(self.base) + np.minimum(slope * low, slope * high).sum(axis=1)).max())

    def rank(self, packs: Floats) -> Floats:
        """Best bound at each of several pack vectors (n, P)."""
        slope = np.array(self.slope[-60:])
        value: Floats = (np.array(self.base[-60:])[:, None] + slope @ packs.T).max(axis=0)
        for base, slope, off in self.cuts:
            value[(base + packs @ slope > 0) & (packs[:, off] <= 0).all(axis=1)] = np.inf
        return value


@dataclass(slots=True)
class _Node:
    box: Box
    basis: Basis


class Tree:
    """Search of one form."""

    def __init__(self, form: Form, work: Work, plan: Plan | None = None, outer: Outer | None = None) -> None:
        self.form, self.work, self.plan, self.outer = form, work, plan, outer
        self.shape = Shape()
        self.empty = 0  # trials at which nothing fits that are not counted, each time
        self.pool = Pool(form, outer)
        self.count = itertools.count()
        self.heap: list[tuple[float, int, _Node]] = []
        self.tried: set[bytes] = set()
        self.root: Relaxed | None = None
        self.points: list[tuple[float, int, Floats, Relaxed]] = []
        self.best: list[Floats] = []
        self.floor = np.inf
        self.least = -np.inf  # a bound known from elsewhere: where the plan is near it, all is done
        self.progress: Progress | None = None

    @property
    def value(self) -> float:
        """Value of the best plan so far."""
        return np.inf if self.plan is None else self.plan.value

    @property
    def cutoff(self) -> float:
        """Bound from which a box holds nothing of interest."""
        return self.value * (1.0 - self.work.gap) if np.isfinite(self.value) else np.inf

    @property
    def bound(self) -> float:
        """Proven bound: the least of all open boxes, or what was cut off."""
        least = self.heap[0][0] if self.heap else np.inf
        return min(least, self.floor)

    def run(self) -> None:
        """Search until proved or the work is used up."""
        self.floor = np.inf  # least bound of the boxes that were closed for the gap's sake
        basis = first_basis(self.form)
        for box in self._roots():
            self._push(-np.inf, box, basis)
        while self.heap and self.work.done < self.work.nodes and self.cutoff > self.least:
            bound, _, node = heapq.heappop(self.heap)
            if self.pool.base:
                lifted = self.pool.bound(node.box.low, node.box.high)
                if lifted > bound + 1e-12 and self.heap and lifted > self.heap[0][0]:
                    self._push(lifted, node.box, node.basis)
                    continue
                bound = max(bound, lifted)
            if bound >= self.cutoff:
                self.floor = min(self.floor, bound)
                continue
            self._open(bound, node)
            if self.progress is not None and not self.progress(
                self.value, min(bound, self.bound), self.work.done
            ):
                break

    def _roots(self) -> list[Box]:
        """All packs there are; under a limit on products, each choice of so many of them."""
        form = self.form
        box = self._counted(Box(form.low, form.high, on=form.used))
        there = [
            p for p in range(form.products) if (form.high[p] > 0 or form.there[p]) and p not in form.used
        ]
        free = 0 if form.most is None else form.most - len(form.used)
        if form.most is None or len(there) <= free or free < 1 or math.comb(len(there), free) > _CHOICES:
            return [box]
        boxes: list[Box] = []
        for chosen in itertools.combinations(there, free):
            part = box
            for p in set(there) - set(chosen):
                part = self._off(part, p)
            boxes.append(replace(part, on=form.used | frozenset(chosen)))
        return boxes

    def _push(self, bound: float, box: Box, basis: Basis) -> None:
        if bound >= self.cutoff:
            self.floor = min(self.floor, bound)
        else:
            heapq.heappush(self.heap, (bound, next(self.count), _Node(box, basis)))

    def _program(self, box: Box, basis: Basis, cutoff: float = np.inf) -> tuple[Program, Relaxed]:
        """Solve the linear program of a box from a basis; its bound holds for all plans in the box."""
        program = Program(self.form, basis, box)
        return program, program.solve(cutoff)

    def _open(self, bound: float, node: _Node) -> None:
        program, result = self._program(node.box, node.basis, self.cutoff)
        self.work.done += 1
        if not np.isfinite(result.bound):
            return
        bound = max(bound, result.bound)
        if not (node.box.ban or node.box.off or node.box.ways):
            self.pool.add(result.price)
        if bound >= self.cutoff:
            self.floor = min(self.floor, bound)
            return
        self._beams(result, node.box)
        self._branch(bound, (program, result), node.box)

    def _branch(self, bound: float, solved: tuple[Program, Relaxed], box: Box) -> None:
        program, result = solved
        away = np.abs(result.packs - np.round(result.packs))
        many = self._many(result, box)
        if many is not None:
            self._push(bound, self._off(box, many), result.basis)
            self._push(bound, self._on(box, many), result.basis)
        elif away.max(initial=0.0) > _WHOLE:
            p, ends = self._fork(program, result, away)
            packs = result.packs[p]
            high, low = box.high.copy(), box.low.copy()
            high[p], low[p] = np.floor(packs), np.ceil(packs)
            for side, (promised, price) in zip(
                (replace(box, high=high), replace(box, low=low)), ends, strict=True
            ):
                # what one step promises holds for the form's part of all plans only
                valid = promised if self.outer is None else self.outer(np.maximum(price, 0.0), side)
                self._push(max(bound, valid), side, result.basis)
        else:
            self._leaf(bound, result, box)

    def _leaf(self, bound: float, result: Relaxed, box: Box) -> None:
        """Packs are whole: decide on a run that is split, or take the plan that is none."""
        if result.split:
            self._branch_run(bound, result, box)
            return
        self._take(result.basis.key)
        self.floor = min(self.floor, bound)

    def _fork(
        self, program: Program, result: Relaxed, away: Floats
    ) -> tuple[int, list[tuple[float, Floats]]]:
        """Product to branch on: the one whose two sides promise the best bounds after one step."""
        best, chosen = -np.inf, (0, list[tuple[float, Floats]]())
        most = self.cutoff if np.isfinite(self.cutoff) else NEVER
        free = (
            self.form.pack_cost
            + self.form.pack_need[:, self.form.products :] @ result.price[self.form.products :]
        )
        some = np.flatnonzero(away > _WHOLE)
        for p in some[np.argsort(-(away * free)[some], kind="stable")][:_FORKS].tolist():
            ends = program.outlook(p, float(result.packs[p]))
            gains = sorted(min(end, most) - result.bound for end, _ in ends)
            if gains[0] + 0.2 * gains[1] > best:
                best, chosen = gains[0] + 0.2 * gains[1], (p, ends)
        return chosen

    def _branch_run(self, bound: float, result: Relaxed, box: Box) -> None:
        run, shares = max(result.split.items(), key=lambda item: -max(item[1].values()))
        option = max(shares, key=lambda o: shares[o])
        others = tuple(
            (run, o) for o in range(self.form.cost.shape[1]) if o != option and (run, o) not in box.ban
        )
        self._push(bound, replace(box, ban=(*box.ban, (run, option))), result.basis)
        self._push(bound, replace(box, ban=box.ban + others), result.basis)

    def _many(self, result: Relaxed, box: Box) -> int | None:
        """Product to decide on where more are used than may be; None where they are few enough."""
        form = self.form
        if form.most is None:
            return None
        use = self._use(result)
        used = [p for p in np.flatnonzero(use > _WHOLE).tolist() if p not in box.on]
        if not used or len(used) + len(box.on) <= form.most:
            return None
        price = result.price[: form.products]
        return min(used, key=lambda p: (price[p] * use[p], p))

    def _use(self, result: Relaxed) -> Floats:
        """What a relaxed solution uses of each product."""
        form = self._blocks()
        key = result.basis.key
        use: Floats = form.need[np.arange(form.runs), key, : form.products].sum(axis=0)
        for run, shares in result.split.items():
            use = use - form.need[run, key[run], : form.products]
            for option, share in shares.items():
                use = use + share * form.need[run, option, : form.products]
        return np.where(np.abs(use) < 1e-9, 0.0, use)

    def _blocks(self) -> Form:
        """Form that the programs' keys count in."""
        return self.form

    def _off(self, box: Box, p: int) -> Box:
        """Box without a product."""
        high = box.high.copy()
        high[p] = 0.0
        ban = box.ban
        if self.form.there[p]:  # packs are there: to buy none is not enough
            users = np.argwhere((self.form.need[:, :, p] > 0) & (self.form.cost < NEVER / 2))
            ban = tuple(dict.fromkeys((*ban, *((int(r), int(o)) for r, o in users))))
        return replace(box, high=high, ban=ban)

    def _on(self, box: Box, p: int) -> Box:
        """Box with a product that counts as used; the last one that may shuts all others out."""
        low = box.low.copy()
        if not self.form.there[p]:
            low[p] = max(low[p], 1.0)
        return self._counted(replace(box, low=low, on=box.on | {p}))

    def _counted(self, box: Box) -> Box:
        if self.form.most is not None and len(box.on) >= self.form.most:
            for p in range(self.form.products):
                if p not in box.on:
                    box = self._off(box, p)
        return box

    def _beams(self, result: Relaxed, box: Box) -> None:
        """Look for a plan: at the whole packs with the best linear program near this node."""
        if self.work.beamed >= self.work.beams or (self.plan is not None and self.work.done % PAUSE):
            return
        self._first(result, box)
        left, empty = _TRIALS, self.empty
        while left > 0:
            found = self._near(result.packs, box)
            if found is None or (self.points and self.points[0][0] <= found[0]):
                break
            fits = self._try(found[1], result.basis)
            if fits or empty <= 0:
                left -= 1
            else:
                empty -= 1
        self._best_point()

    def _best_point(self) -> None:
        """Look for a plan at the best whole packs that were found."""
        if self.points and self.points[0][0] < self.value:
            _, _, packs, there = heapq.heappop(self.points)
            self.work.beamed += 1
            self.best.append(packs)
            self._plan(packs, there)

    def _first(self, result: Relaxed, box: Box) -> None:
        """Look for whole packs to begin with."""
        if not self.points and self.plan is None:
            self._dive(*self._fewer(result, box))

    def _plan(self, packs: Floats, there: Relaxed) -> None:
        """Beam at whole packs; where it finds nothing, again from a program that leaves some room in each row."""
        option = beam(self.form, there, packs, self.shape)
        if option is None and self.plan is None:
            for share in _SPARED:
                spared = replace(self.form, room=self.form.room - share * grain_of(self.form))
                loose = Program(spared, there.basis, Box(packs, packs)).solve()
                option = beam(self.form, loose, packs, self.shape) if np.isfinite(loose.bound) else None
                if option is not None:
                    break
        self._take(option)

    def _take(self, option: Ints | None) -> None:
        plan = None if option is None else plan_of(self.form, option)
        if plan is not None and plan.value < self.value:
            self.plan = plan

    def _try(self, packs: Floats, basis: Basis) -> bool:
        """Solve the program at whole packs: a bound, and a place for a beam; answers whether anything fits there."""
        self.tried.add(packs.astype(np.int32).tobytes())
        program, there = self._program(self._point(packs), basis, self.value)
        if np.isfinite(there.bound):
            self.pool.add(there.price)
        else:
            self._cut(program, packs)
        if there.bound < self.value:
            heapq.heappush(self.points, (there.bound, next(self.count), packs, there))
        return bool(np.isfinite(there.bound))

    def _point(self, packs: Floats) -> Box:
        """Box of whole packs."""
        return Box(packs, packs)

    def _cut(self, program: Program, packs: Floats) -> None:
        """Learn from whole packs at which nothing fits."""
        del packs
        self.pool.add(program.price)

    def _fewer(self, result: Relaxed, box: Box) -> tuple[Relaxed, Box]:
        """Leave out the least used products until few enough are left."""
        many = self._many(result, box)
        for _ in range(self.form.products):
            if many is None or not np.isfinite(result.bound):
                break
            box = self._off(box, many)
            _, result = self._program(box, result.basis)
            many = self._many(result, box)
        return result, box

    def _dive(self, result: Relaxed, box: Box) -> None:
        """Round one product after the other, each time the least in doubt, and solve again."""
        for _ in range(2 * len(box.low)):
            away = np.abs(result.packs - np.round(result.packs))
            loose = np.flatnonzero(box.high > box.low)
            if not len(loose) or not np.isfinite(result.bound) or away.max() <= _WHOLE:
                break
            p = int(loose[np.where(away[loose] > _WHOLE, away[loose], 1.0).argmin()])
            p = p if away[p] > _WHOLE else int(away.argmax())
            packs = np.clip(np.round(result.packs[p]), box.low[p], box.high[p])
            _, trial = self._program(_pinned(box, p, packs), result.basis)
            if not np.isfinite(trial.bound):
                other = packs + (1.0 if result.packs[p] > packs else -1.0)
                packs = np.clip(other, box.low[p], box.high[p])
                _, trial = self._program(_pinned(box, p, packs), result.basis)
            box = _pinned(box, p, packs)
            self.pool.add(trial.price)
            result = trial
        if (
            np.isfinite(result.bound)
            and np.abs(result.packs - np.round(result.packs)).max(initial=0.0) <= _WHOLE
        ):
            self._try(np.round(result.packs), result.basis)

    def _near(self, packs: Floats, box: Box) -> tuple[float, Floats] | None:
        """Whole packs that are best by all bounds known and were not tried: next to a fractional or a good point."""
        whole = np.concatenate([_corners(packs), *(_steps(good) for good in self.best[-2:])])
        inside = (whole >= self.form.low).all(axis=1) & (whole <= self.form.high).all(axis=1)
        if self.form.most is not None:
            inside &= np.count_nonzero(whole, axis=1) <= self.form.most
        del box
        rank = np.where(inside, self.pool.rank(whole), np.inf)
        for n in np.argsort(rank, kind="stable")[:40].tolist():
            if rank[n] >= self.value:
                return None
            if whole[n].astype(np.int32).tobytes() not in self.tried:
                return float(rank[n]), whole[n]
        return None


def _pinned(box: Box, p: int, packs: float) -> Box:
    """Box with the packs of one product decided."""
    low, high = box.low.copy(), box.high.copy()
    low[p] = high[p] = packs
    return replace(box, low=low, high=high)


def grain_of(form: Form) -> Floats:
    """What an option takes of each row in the middle."""
    need = np.abs(form.need.reshape(form.cost.size, len(form.room)))
    count = np.maximum((need > 0).sum(axis=0), 1)
    grain: Floats = need.sum(axis=0) / count
    return grain


def _corners(packs: Floats) -> Floats:
    """Whole packs below and above fractional ones, in every mix."""
    some = np.flatnonzero(np.abs(packs - np.round(packs)) > _WHOLE)[:_MIXED]
    grid = np.array(list(itertools.product((0.0, 1.0), repeat=len(some)))).reshape(2 ** len(some), len(some))
    whole = np.repeat(np.round(packs)[None, :], len(grid), axis=0)
    whole[:, some] = np.floor(packs[some]) + grid
    return whole


def _steps(packs: Floats) -> Floats:
    """Whole packs one pack more, one less, or one exchanged."""
    unit = np.eye(len(packs))
    swaps = (unit[:, None, :] - unit[None, :, :]).reshape(len(packs) ** 2, len(packs))
    whole: Floats = packs + np.concatenate([unit, -unit, swaps])
    return whole
