"""Set-ups and coats: a face is one group, with a few sets of methods and coats to choose from.

At given multipliers the best of all sets of methods (and of each coat, or none) is found for every face at once:
Σ over its runs of the best option that the set allows, plus the set-ups of the set. That sum is a valid bound.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from hullwright.choice.instance import Floats, Goal, Instance, Ints
from hullwright.choice.solver.own.form import NEVER, Form
from hullwright.choice.solver.own.simplex import Box

_METHODS = 8


@dataclass(frozen=True, slots=True)
class Ways:
    """Value of each way (coat and set of methods) on each face.

    Parameters
    ----------
    value : ndarray (T * S, F)
        Value of way ``t * S + s``; NEVER where it is none.
    best : ndarray (F,)
        Best way of each face.
    """

    value: Floats
    best: Ints


def fits(instance: Instance) -> bool:
    """Whether faces can be taken as groups: few methods, coats that keep to their runs' one face and exclude each other."""
    used = np.unique(instance.method[instance.method >= 0])
    if len(used) > _METHODS:
        return False
    runs = np.repeat(np.arange(instance.runs), np.diff(instance.first))
    for number in range(len(instance.coats)):
        faces = np.unique(instance.face[runs[instance.coat == number]])
        if len(faces) > 1:
            return False
    return _exclusive(instance, runs)


def _exclusive(instance: Instance, runs: Ints) -> bool:
    """Whether all coats of a face share a run, so that only one of them can be taken."""
    by_face: dict[int, list[set[int]]] = {}
    for number in range(len(instance.coats)):
        covered = runs[instance.coat == number]
        if len(covered):
            by_face.setdefault(int(instance.face[covered[0]]), []).append(set(covered.tolist()))
    return all(bool(a & b) for sets in by_face.values() for i, a in enumerate(sets) for b in sets[:i])


class Faces:
    """All ways of all faces of one form."""

    def __init__(self, instance: Instance, goal: Goal, form: Form) -> None:
        self.form = form
        at = np.maximum(form.rows, 0)
        self.real = form.cost < NEVER / 2
        self.methods = np.unique(instance.method[instance.method >= 0])
        self.method = np.where(self.real, instance.method[at], -2)
        self.coat = np.where(self.real, instance.coat[at], -1)
        self.face, self.number = np.unique(instance.face, return_inverse=True)
        self.order = np.argsort(self.number, kind="stable")
        self.starts = np.searchsorted(self.number[self.order], np.arange(len(self.face)))
        self.sets = 1 << len(self.methods)
        self._fixed_parts(instance, goal)
        self._scenes(instance)

    def _fixed_parts(self, instance: Instance, goal: Goal) -> None:
        """Cost and need of each set-up (F, K) and coat (C)."""
        form, p = self.form, self.form.products
        picked = np.ix_(self.face, self.methods)
        money, hours = instance.setup_money[picked], instance.setup_hours[picked]
        self.setup_cost = money if goal.money else np.zeros_like(money)
        self.setup_need = np.zeros((*money.shape, len(form.room)))
        count = len(instance.coats)
        self.coat_cost = np.array([c.labour if goal.money else 0.0 for c in instance.coats])
        self.coat_need = np.zeros((count, len(form.room)))
        for n, coat in enumerate(instance.coats):
            self.coat_need[n, :p] = coat.use
        for n, name in enumerate(form.names):
            if name == "money":
                self.setup_need[:, :, p + n] = money
                self.coat_need[:, p + n] = [c.labour for c in instance.coats]
            elif name == "hours":
                self.setup_need[:, :, p + n] = hours
                self.coat_need[:, p + n] = [c.hours for c in instance.coats]

    def _scenes(self, instance: Instance) -> None:
        """Which options each scene (no coat; first, second … coat of the face) allows, and the coat it takes."""
        self.scene_coat = [np.full(len(self.face), -1, dtype=np.int64)]
        self.scene_mask = [self.real & (self.coat < 0)]
        of_face: dict[int, list[int]] = {}
        for number in range(len(instance.coats)):
            runs = np.flatnonzero((self.coat == number).any(axis=1))
            if len(runs):
                of_face.setdefault(int(self.number[runs[0]]), []).append(number)
        for n in range(max((len(c) for c in of_face.values()), default=0)):
            chosen = np.array([of_face.get(f, [])[n : n + 1] or [-1] for f in range(len(self.face))]).ravel()
            here = (self.coat == chosen[self.number][:, None]) & (self.coat >= 0)
            covered = here.any(axis=1)[:, None]
            self.scene_coat.append(chosen)
            self.scene_mask.append(np.where(covered, here, self.real & (self.coat < 0)))

    def ways(self, price: Floats, extra: Floats | None = None) -> Ways:
        """Value of all ways at some multipliers.

        Parameters
        ----------
        price : ndarray (m,)
            Multipliers of the rows.
        extra : ndarray (R, O) or None
            Added to the value of each option.

        Returns
        -------
        Ways
            Values, and the best way of each face.
        """
        form = self.form
        value = form.cost + (form.need.reshape(form.cost.size, len(price)) @ price).reshape(form.cost.shape)
        if extra is not None:
            value = value + extra
        setup = self.setup_cost + self.setup_need @ price
        coats = self.coat_cost + self.coat_need @ price
        sums = np.zeros((self.sets, len(self.face)))
        for s in range(1, self.sets):
            k = s.bit_length() - 1
            sums[s] = sums[s ^ (1 << k)] + setup[:, k]
        parts = [
            np.where(
                (n == 0) | (coat >= 0),
                self._scene(value, mask) + sums + np.where(coat >= 0, coats[coat], 0.0),
                NEVER,
            )
            if len(coats)
            else self._scene(value, mask) + sums
            for n, (mask, coat) in enumerate(zip(self.scene_mask, self.scene_coat, strict=True))
        ]
        every = np.minimum(np.concatenate(parts), NEVER)
        return Ways(every, every.argmin(axis=0))

    def _scene(self, value: Floats, mask: NDArray[np.bool_]) -> Floats:
        """Sum of the runs' best options for each set of methods and face (S, F)."""
        best = np.empty((self.sets, len(value)))
        best[0] = np.where(mask & (self.method == -1), value, NEVER).min(axis=1)
        for k, method in enumerate(self.methods.tolist()):
            with_k = np.where(mask & (self.method == method), value, NEVER).min(axis=1)
            half = 1 << k
            np.minimum(best[:half], with_k, out=best[half : 2 * half])
        sums: Floats = np.add.reduceat(best[:, self.order], self.starts, axis=1)
        return sums

    def bound(self, price: Floats, box: Box, extra: Floats | None = None) -> float:
        """Valid bound of some multipliers ≥ 0 in a box, whatever ways are taken."""
        form = self.form
        ways = self.ways(price, extra)
        pack = form.pack_cost + form.pack_need @ price
        ends = float(np.minimum(pack * box.low, pack * box.high).sum())
        total = float(ways.value[ways.best, np.arange(len(self.face))].sum())
        return total + ends - float(price @ form.room) + form.fixed

    def restrict(self, way: Ints, ban: NDArray[np.bool_] | None = None) -> Form:
        """Form with the ways of all faces decided: fewer options, their set-ups and coats paid."""
        form, faces = self.form, np.arange(len(self.face))
        scene, sets = way // self.sets, way % self.sets
        chosen = np.array([self.scene_coat[t][f] for t, f in zip(scene, faces, strict=True)])
        mask = np.zeros_like(self.real)
        for t in range(len(self.scene_mask)):
            mask |= self.scene_mask[t] & (scene[self.number] == t)[:, None]
        on = (sets[:, None] >> np.arange(len(self.methods))) & 1 == 1
        for k, method in enumerate(self.methods.tolist()):
            mask &= ~((self.method == method) & ~on[self.number, k][:, None])
        if ban is not None:
            mask &= ~ban
        need = self.setup_need[on].sum(axis=0) + self.coat_need[chosen[chosen >= 0]].sum(axis=0)
        cost = float(self.setup_cost[on].sum() + self.coat_cost[chosen[chosen >= 0]].sum())
        return replace(
            form, cost=np.where(mask, form.cost, NEVER), room=form.room - need, fixed=form.fixed + cost
        )

    def way_of(self, option: Ints) -> Ints:
        """Ways that a plan really uses."""
        every = np.arange(len(option))
        method, coat = self.method[every, option], self.coat[every, option]
        way = np.zeros(len(self.face), dtype=np.int64)
        for k, number in enumerate(self.methods.tolist()):
            way[np.unique(self.number[method == number])] += 1 << k
        for t in range(1, len(self.scene_coat)):
            taken = np.unique(self.number[(coat >= 0) & (coat == self.scene_coat[t][self.number])])
            way[taken] += t * self.sets
        return way
