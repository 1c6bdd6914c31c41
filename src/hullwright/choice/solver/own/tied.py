"""Runs that are tied together: set-ups and coats of a face, meetings.

The way of each face (its methods and coat) is found at the multipliers, the runs within by the tree. Bounds are those
of all ways together; plans come from the ways at hand, improved face by face. At failing meetings one side yields.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from hullwright.choice.instance import Floats, Goal, Instance, Ints, Limits
from hullwright.choice.solver.effort import Progress
from hullwright.choice.solver.own.faces import Faces
from hullwright.choice.solver.own.form import NEVER, Form, Part, make_form
from hullwright.choice.solver.own.meetings import Meetings
from hullwright.choice.solver.own.simplex import Box, Program, Relaxed, first_basis
from hullwright.choice.solver.own.tree import Plan, Tree, Work, plan_of

_ROUNDS = 12
_YIELDS = 12
_TRIALS = 24
_TOGGLES, _NEAR, _GLANCE = 16, 6, 0.15
_RENEWALS = 4
_BETWEEN = (0.25, 0.5, 0.75, 1.0)


class Tied:
    """Search of one question with ties."""

    def __init__(self, instance: Instance, limits: Limits, goal: Goal, work: Work) -> None:
        self.instance, self.work = instance, work
        self.form = make_form(instance, limits, goal, Part(np.arange(instance.runs, dtype=np.int64)))
        self.faces = Faces(instance, goal, self.form)
        self.meetings = Meetings(instance, limits, self.form)
        self.box = Box(self.form.low, self.form.high)
        self.ban = np.zeros_like(self.faces.real)
        self.bound = -np.inf
        self.plan: Plan | None = None
        self.price = np.zeros(len(self.form.room))
        self.progress: Progress | None = None
        self.stopped = False

    def _ask(self, value: float, bound: float, work: int) -> bool:
        """Ask whether to go on, with what is known of the whole (the trees within know their part only)."""
        del value, bound
        if self.progress is not None and not self.stopped:
            best = np.inf if self.plan is None else self.plan.value
            self.stopped = not self.progress(best, min(self.bound, best), self.work.done + work)
        return not self.stopped

    def run(self) -> None:
        """Find ways, improve them, search the runs within, let one side of each failing meeting yield."""
        way = self._root()
        if way is None:
            return
        way = self._improve(way)
        for share in (1.0, 0.5, 0.5):
            self._yield(way)
            better = self._settle(self._search(way, share), way)
            if better is None:
                break
            way = better
        if self.plan is not None and self.faces.coat_cost.size:
            self._toggle()
        self._prove(way)

    def _toggle(self) -> None:
        """Try other ways of single faces with whole packs: each coat taken or dropped, then what loses least."""
        assert self.plan is not None
        way = self.faces.way_of(self.plan.option)
        every = np.arange(len(way))
        ways = self.faces.ways(self.price)
        loss = ways.value - ways.value[way, every]
        sets = self.faces.sets
        trials: list[tuple[float, int, int]] = []
        for t in range(len(ways.value) // sets):
            part = loss[t * sets : (t + 1) * sets]
            best = part.argmin(axis=0)
            trials += [
                (float(part[best[f], f]), f, t * sets + int(best[f]))
                for f in every.tolist()
                if t != way[f] // sets
            ]
        loss[way, every] = NEVER
        near = np.argsort(loss, axis=None, kind="stable")[:_NEAR].tolist()
        trials += [(float(loss.ravel()[n]), n % len(way), n // len(way)) for n in near]
        for lost, face, other in sorted(trials)[:_TOGGLES]:
            before = self.plan.value
            if lost >= NEVER / 2 or way[face] == other:
                continue
            trial = way.copy()
            trial[face] = other
            _, relaxed = self._relaxed(trial)
            if relaxed.bound < before:
                self._settle(self._search(trial, _GLANCE), trial)
            if self.plan.value < before:
                way = self.faces.way_of(self.plan.option)

    def _yield(self, way: Ints) -> None:
        """Let sides yield in the linear program alone, as long as its best options meet badly."""
        for _ in range(_YIELDS if self.meetings.any else 0):
            form, relaxed = self._relaxed(way)
            if not np.isfinite(relaxed.bound):
                return
            value = self._values(form, np.maximum(relaxed.price, 0.0))
            if not self.meetings.yielding(relaxed.basis.key, value, self.ban):
                return

    def _prove(self, way: Ints) -> None:
        """Tree for the bound alone: boxes are bounded by all ways."""
        form = replace(self._form(way), used=frozenset(), cost=self.faces.restrict(way).cost)
        work = Work(self.work.nodes, 0, self.work.gap)
        tree = Tree(form, work, self.plan, outer=self.outer)
        tree.renew = self._renew
        tree.progress = self._ask
        tree.run()
        self.work.done += work.done
        self.bound = max(self.bound, tree.bound if self.plan is None else min(tree.bound, self.plan.value))

    def _renew(self, box: Box, price: Floats) -> tuple[Program, Relaxed]:
        """Ways that reach a box: dearer rows until what the ways take fits."""
        price = np.maximum(price, 0.0)
        program, result = self._reach(box, price)
        for n in range(_RENEWALS):
            if np.isfinite(result.bound):
                break
            price = 0.5 * price + 2.0**n * np.maximum(program.price, 0.0)
            program, result = self._reach(box, price)
        return program, result

    def _reach(self, box: Box, price: Floats) -> tuple[Program, Relaxed]:
        form = self.faces.restrict(self.faces.ways(price).best)
        program = Program(form, first_basis(form), box)
        return program, program.solve()

    def outer(self, price: Floats, box: Box) -> float:
        """Bound of all ways and plans at some multipliers, or at better ones on the way to the best so far."""
        best = self._at(price, box)
        if not len(self.faces.scene_coat) > 1:
            return best
        for share in _BETWEEN:
            best = max(best, self._at((1.0 - share) * price + share * self.price, box))
        return best

    def _at(self, price: Floats, box: Box) -> float:
        value = self._values(self.form, price)
        extra, off = self.meetings.prices(value)
        return self.faces.bound(price, box, extra) - off if off else self.faces.bound(price, box)

    def _relaxed(self, way: Ints) -> tuple[Form, Relaxed]:
        form = self._form(way)
        self.work.done += 1
        return form, Program(form, first_basis(form), self.box).solve()

    def _form(self, way: Ints) -> Form:
        form = self.faces.restrict(way, self.ban)
        if form.most is None:
            return form
        coats = [self.faces.scene_coat[w // self.faces.sets][f] for f, w in enumerate(way.tolist())]
        used = {
            int(p)
            for c in coats
            if c >= 0
            for p in np.flatnonzero(self.faces.coat_need[c, : form.products] > 0)
        }
        return replace(form, used=frozenset(used))

    def _root(self) -> Ints | None:
        """Ways of the faces and multipliers that agree with each other as far as they can."""
        plain = replace(self.form, cost=np.where(self.faces.coat >= 0, NEVER, self.form.cost))
        start = Program(plain, first_basis(plain), self.box).solve()
        price = np.maximum(start.price, 0.0)
        best: tuple[float, Ints] | None = None
        push = 1.0
        for _ in range(_ROUNDS):
            way = self.faces.ways(price).best
            _, relaxed = self._relaxed(way)
            if not np.isfinite(relaxed.bound):
                price = 0.5 * price + push * np.maximum(relaxed.price, 0.0)
                push = min(2.0 * push, 8.0)
                continue
            push = 1.0
            if best is None or relaxed.bound < best[0]:
                best = relaxed.bound, way
            now = np.maximum(relaxed.price, 0.0)
            bound = self.outer(now, self.box)
            if bound > self.bound:
                self.bound, self.price = bound, now
            price = 0.5 * (price + now)
        return None if best is None else best[1]

    def _improve(self, way: Ints) -> Ints:
        """Try the next best ways of single faces, those that lose least first."""
        ways = self.faces.ways(self.price)
        _, relaxed = self._relaxed(way)
        value = relaxed.bound
        every = np.arange(len(way))
        loss = ways.value - ways.value[way, every]
        loss[way, every] = NEVER
        for flat in np.argsort(loss, axis=None, kind="stable")[:_TRIALS].tolist():
            other, face = divmod(flat, len(way))
            if loss[other, face] >= NEVER / 2:
                break
            trial = way.copy()
            trial[face] = other
            _, relaxed = self._relaxed(trial)
            if relaxed.bound < value * (1 - 1e-6):
                way, value = trial, relaxed.bound
        return way

    def _search(self, way: Ints, share: float) -> Tree:
        """Search the runs within the ways; keep what is a plan."""
        work = Work(max(6, int(share * self.work.nodes)), max(3, int(share * self.work.beams)), self.work.gap)
        tree = Tree(self._form(way), work)
        tree.progress = self._ask
        tree.run()
        self.work.done += work.done
        if tree.plan is not None:
            self._keep(tree.plan.option)
        return tree

    def _keep(self, option: Ints) -> bool:
        """Keep a plan where it is allowed and better; say whether it is allowed."""
        if self.meetings.failing(option) and (self.meetings.over(option) or self._clashing(option)):
            return False
        plan = self._add_up(option)
        if plan is None:
            return False
        if self.plan is None or plan.value < self.plan.value:
            self.plan = plan
        return True

    def _clashing(self, option: Ints) -> bool:
        return bool(self.meetings.clash.any()) and bool(self.meetings.failing_pairs(option))

    def _add_up(self, option: Ints) -> Plan | None:
        return plan_of(self._form(self.faces.way_of(option)), option)

    def _settle(self, tree: Tree, way: Ints) -> Ints | None:
        """Let sides yield until no meeting fails; then the ways that the plan really uses, if they are others."""
        for _ in range(_YIELDS):
            if tree.plan is None:
                return None
            option = tree.plan.option
            if self._keep(option):
                break
            value = self._value(tree)
            if not self.meetings.yielding(option, value, self.ban):
                return None
            tree = self._search(way, 0.3)
        if self.plan is None:
            return None
        used = self.faces.way_of(self.plan.option)
        return used if np.any(used != way) else None

    def _value(self, tree: Tree) -> Floats:
        return self._values(
            tree.form, np.maximum(tree.root.price if tree.root is not None else self.price, 0.0)
        )

    def _values(self, form: Form, price: Floats) -> Floats:
        """Value of each option of a form at some multipliers."""
        value: Floats = form.cost + (form.need.reshape(form.cost.size, len(price)) @ price).reshape(
            form.cost.shape
        )
        return value


def solve_tied(
    instance: Instance, limits: Limits, goal: Goal, work: Work, progress: Progress | None = None
) -> tuple[Ints | None, float]:
    """Solve a question with set-ups, coats or meetings.

    Parameters
    ----------
    instance, limits, goal : Instance, Limits, Goal
        The question; faces must fit (:func:`hullwright.choice.solver.own.faces.fits`).
    work : Work
        Counted work.
    progress : callable or None
        Asked now and then whether to go on.

    Returns
    -------
    (ndarray (R,) or None, float)
        Picked option rows and a valid bound.
    """
    tied = Tied(instance, limits, goal, work)
    tied.progress = progress
    tied.run()
    if tied.plan is None:
        return None, tied.bound
    rows: Ints = tied.form.rows[np.arange(tied.form.runs), tied.plan.option]
    return rows, tied.bound
