"""Set-ups and coats: the runs they tie together are one group, with a few ways to choose from.

A *group* is what hangs together by set-ups and coats: runs on one face that could share a set-up, runs under one coat.
A *way* of a group is a set of set-ups that are paid and a set of coats that are taken. At given multipliers the best
way of every group is found exactly: Σ over its runs of the best option that the way allows, plus set-ups and coats.
Set-ups that are paid in any case are put in the form beforehand; those of a coat alone go with the coat.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from hullwright.choice.instance import Floats, Goal, Instance, Ints
from hullwright.choice.solver.own.forest import Forest
from hullwright.choice.solver.own.form import NEVER, Form
from hullwright.choice.solver.own.meetings import Meetings
from hullwright.choice.solver.own.simplex import Box

Mask = NDArray[np.bool_]
_SETUPS, _SCENES = 10, 12
_JOINED = 30  # most runs that meetings join to one group
_FREE, _NONE = -1, -2


@dataclass(frozen=True, slots=True)
class Ways:
    """Value of each way of each group at some multipliers.

    Parameters
    ----------
    value : ndarray (T * S, G)
        Value of way ``t * S + s`` (scene of coats t, set of set-ups s); NEVER or more where it is none.
    best : ndarray (G,)
        Best way of each group.
    option : ndarray (R, O)
        Value of each option.
    unknown : float
        Price of an unknown meeting.
    """

    value: Floats
    best: Ints
    option: Floats
    unknown: float = 0.0

    @property
    def least(self) -> Floats:
        """Value of the best way of each group (G,)."""
        least: Floats = self.value[self.best, np.arange(len(self.best))]
        return least


@dataclass(frozen=True, slots=True)
class Shut:
    """What a box shuts out: products, options (run, option), and ways (group, set-up or scene, whether it is to be)."""

    off: frozenset[int] = frozenset()
    ban: tuple[tuple[int, int], ...] = ()
    ways: tuple[tuple[int, int, bool], ...] = ()

    @property
    def any(self) -> bool:
        """Whether anything is shut out."""
        return bool(self.off or self.ban or self.ways)


@dataclass(frozen=True, slots=True)
class Ban:
    """Options (R, O) and ways (T * S, G) that are not to be used."""

    option: Mask
    way: Mask


@dataclass(frozen=True, slots=True)
class Columns:
    """One plan of each group: cost (G,), need (G, m), option of each run (R,), way (G,), and whether it is one (G,)."""

    cost: Floats
    need: Floats
    option: Ints
    way: Ints
    real: Mask


class TooTied(Exception):  # noqa: N818 - not an error: the caller takes another way
    """A group has too many set-ups or coats to look at all sets of them."""


class Groups:
    """All groups of one form.

    Raises
    ------
    TooTied
        Where a group has more than 10 set-ups to decide on, or more than 12 sets of coats.
    """

    def __init__(self, instance: Instance, goal: Goal, form: Form, meetings: Meetings | None = None) -> None:
        self.form, self.meetings = form, meetings
        at = np.maximum(form.rows, 0)
        self.real = form.cost < NEVER / 2
        self.coat = np.where(self.real, instance.coat[at], -1)
        self.every = np.arange(form.runs)
        self._prices(instance, goal)
        key = self._keys(instance, at)
        self._forced(key)
        self._with_coats(key)
        edges = self._join(key)
        self._setups(key)
        self._scenes()
        self.forest = None
        if meetings is not None and len(edges):
            meetings.inside(edges)
            self.forest = Forest(
                meetings.state,
                (meetings.state_clash, meetings.state_unknown),
                self.local,
                meetings.pairs[edges],
            )

    def _prices(self, instance: Instance, goal: Goal) -> None:
        """Cost and need of each set-up, one after the other (F * K), and of each coat."""
        form, p = self.form, self.form.products
        money, hours = instance.setup_money.ravel(), instance.setup_hours.ravel()
        self.kinds = instance.setup_money.shape[1]
        self.key_cost = money.astype(np.float64) if goal.money else np.zeros(len(money))
        self.key_need = np.zeros((len(money), len(form.room)))
        coats = instance.coats
        self.coat_cost = np.array([c.labour if goal.money else 0.0 for c in coats])
        self.coat_need = np.zeros((len(coats), len(form.room)))
        for n, coat in enumerate(coats):
            self.coat_need[n, :p] = coat.use
        for n, name in enumerate(form.names):
            if name in ("money", "hours"):
                self.key_need[:, p + n] = money if name == "money" else hours
                self.coat_need[:, p + n] = [c.labour if name == "money" else c.hours for c in coats]

    def _keys(self, instance: Instance, at: Ints) -> Ints:
        """Set-up that each option needs (face and method as one number), _FREE where it needs none."""
        method = instance.method[at]
        key = instance.face[:, None] * self.kinds + np.maximum(method, 0)
        some = (instance.setup_money.ravel() > 0) | (instance.setup_hours.ravel() > 0)
        free = (method < 0) | ~some[key] if some.size else np.ones_like(self.real)
        return np.where(self.real, np.where(free, _FREE, key), _NONE)

    def _forced(self, key: Ints) -> None:
        """Pay the set-ups that some run needs in any case beforehand."""
        same = np.where(self.real, key, key.max(axis=1)[:, None])
        forced = np.unique(same[(same == same[:, :1]).all(axis=1), 0])
        forced = forced[forced >= 0]
        key[np.isin(key, forced)] = _FREE
        room = self.form.room - self.key_need[forced].sum(axis=0)
        self.form = replace(self.form, room=room, fixed=self.form.fixed + float(self.key_cost[forced].sum()))

    def _with_coats(self, key: Ints) -> None:
        """Let the set-ups that coats alone need go with the coats."""
        for k in np.unique(key[(key >= 0) & (self.coat >= 0)]).tolist():
            users = key == k
            coats = np.unique(self.coat[users])
            if coats[0] < 0 or not all(self._needs(users, c) for c in coats.tolist()):
                continue
            if any(not self._exclude(c, d) for c in coats.tolist() for d in coats.tolist()):
                continue  # both could be taken: the set-up would be paid twice
            self.coat_cost[coats] += self.key_cost[k]
            self.coat_need[coats] += self.key_need[k]
            key[users] = _FREE

    def _needs(self, users: Mask, coat: int) -> bool:
        """Whether a coat can't be taken without a set-up: all its options of some run need it."""
        of = self.coat == coat
        return bool((of.any(axis=1) & (~of | users).all(axis=1)).any())

    def _exclude(self, c: int, d: int) -> bool:
        """Whether two coats share a run, so that only one of them can be taken."""
        return bool(((self.coat == c).any(axis=1) & (self.coat == d).any(axis=1)).any())

    def _join(self, key: Ints) -> Ints:
        """Number the groups: runs that share a set-up or a coat, then those that meet, where ways do not multiply.

        Answers the meetings within groups that close no ring.
        """
        tree = _Joined(len(key))
        for ties in (key, self.coat):
            for number in np.unique(ties[ties >= 0]).tolist():
                runs = np.flatnonzero((ties == number).any(axis=1)).tolist()
                for r in runs[1:]:
                    tree.join(r, runs[0])
        tied: Mask = np.any((key >= 0) | (self.coat >= 0), axis=1)
        edges = self._meet(tree, tied)
        roots = np.array([tree.root(r) for r in range(len(key))], dtype=np.int64)
        self.group = np.unique(roots, return_inverse=True)[1].astype(np.int64)
        self.count = int(self.group.max()) + 1
        self.order = np.argsort(self.group, kind="stable")
        self.starts = np.searchsorted(self.group[self.order], np.arange(self.count))
        self.runs = np.split(self.order, self.starts[1:])
        return edges

    def _meet(self, tree: _Joined, tied: Mask) -> Ints:
        """Join runs that meet, at most one of two groups being tied; answers the meetings within groups without a ring."""
        if self.meetings is None:
            return np.zeros(0, dtype=np.int64)
        bound: dict[int, bool] = {}
        for r in np.flatnonzero(tied).tolist():
            bound[tree.root(r)] = True
        edges: list[int] = []
        rings = _Joined(len(tied))
        for n in self.meetings.active.tolist():
            r, s = (int(x) for x in self.meetings.pairs[n])
            a, b = tree.root(r), tree.root(s)
            if a != b:
                both = bound.get(a, False) and bound.get(b, False)
                if both or tree.size[a] + tree.size[b] > max(_JOINED, tree.size[a] + 1, tree.size[b] + 1):
                    continue
                either = bound.get(a, False) or bound.get(b, False)
                bound[tree.join(r, s)] = either
            if rings.root(r) != rings.root(s):
                rings.join(r, s)
                edges.append(n)
        return np.array(edges, dtype=np.int64)

    def _setups(self, key: Ints) -> None:
        """Number the set-ups within each group."""
        keys = [np.unique(key[runs][key[runs] >= 0]) for runs in self.runs]
        self.most = max(len(k) for k in keys)
        if self.most > _SETUPS:
            raise TooTied
        self.sets = 1 << self.most
        self.local = key.copy()
        self.setup_cost = np.zeros((self.count, self.most))
        self.setup_need = np.zeros((self.count, self.most, len(self.form.room)))
        for g, (runs, mine) in enumerate(zip(self.runs, keys, strict=True)):
            own = key[runs]
            self.local[runs] = np.where(own >= 0, np.searchsorted(mine, np.maximum(own, 0)), own)
            self.setup_cost[g, : len(mine)] = self.key_cost[mine]
            self.setup_need[g, : len(mine)] = self.key_need[mine]

    def _scenes(self) -> None:
        """Sets of coats that go together in each group: which options they allow, what they cost."""
        covers = [self.coat == c for c in range(len(self.coat_cost))]
        runs = [cover.any(axis=1) for cover in covers]
        self.scene_of: list[dict[tuple[int, ...], int]] = [{(): 0} for _ in range(self.count)]
        for c, covered in enumerate(runs):
            if covered.any():
                known = self.scene_of[int(self.group[covered][0])]
                for scene in list(known):
                    if not any((runs[d] & covered).any() for d in scene):
                        known[(*scene, c)] = len(known)
                if len(known) > _SCENES:
                    raise TooTied
        self.scenes = max(len(known) for known in self.scene_of)
        self.coated = np.flatnonzero([len(known) > 1 for known in self.scene_of])
        self.mask = np.repeat((self.real & (self.coat < 0))[None], self.scenes, axis=0)
        self.scene_cost = np.full((self.scenes, self.count), NEVER)
        self.scene_need = np.zeros((self.scenes, self.count, len(self.form.room)))
        self.scene_cost[0] = 0.0
        for g in self.coated.tolist():
            for scene, t in self.scene_of[g].items():
                self.scene_cost[t, g] = sum(float(self.coat_cost[c]) for c in scene)
                for c in scene:
                    self.scene_need[t, g] += self.coat_need[c]
                    self.mask[t][runs[c]] = covers[c][runs[c]]

    def without(self, shut: Shut) -> Ban:
        """What may not be used where products are off, options banned or ways decided."""
        gone = sorted(shut.off)
        option: Mask = np.any(self.form.need[:, :, gone] > 0, axis=2)
        for run, barred in shut.ban:
            option[run, barred] = True
        way: Mask = np.repeat((self.scene_need[:, :, gone] > 0).any(axis=2), self.sets, axis=0)
        every = np.arange(len(way))
        for group, mark, wanted in shut.ways:
            way[:, group] |= self.has(every, mark) != wanted
        return Ban(option, way)

    def has(self, way: Ints, mark: int) -> Mask:
        """Whether ways have a set-up (its number in the group), or are of a scene of coats (numbers behind those)."""
        if mark < self.most:
            on: Mask = (way >> mark) & 1 == 1
            return on
        there: Mask = way // self.sets == mark - self.most
        return there

    def ways(self, price: Floats, ban: Ban | None = None, extra: Floats | None = None) -> Ways:
        """Value of all ways at some multipliers.

        Parameters
        ----------
        price : ndarray (m,)
            Multipliers of the rows.
        ban : Ban or None
            Options and ways not to be used.
        extra : ndarray (R, O) or None
            Added to the value of each option.

        Returns
        -------
        Ways
            Values, and the best way of each group.
        """
        value = self.values(price)
        if extra is not None:
            value = value + extra
        if ban is not None:
            value[ban.option] = NEVER
        return self._all(value, price, None if ban is None else ban.way)

    def unknown(self, price: Floats) -> float:
        """Price of an unknown meeting at some multipliers."""
        names = self.form.names
        return float(price[self.form.products + names.index("unknown")]) if "unknown" in names else 0.0

    def values(self, price: Floats) -> Floats:
        """Value of each option (R, O) at some multipliers."""
        form = self.form
        value: Floats = form.cost + (form.need.reshape(form.cost.size, len(price)) @ price).reshape(
            form.cost.shape
        )
        return value

    def along(self, ray: Floats, box: Box, ban: Ban) -> tuple[bool, Ways]:
        """Whether multipliers prove by themselves that nothing fits in a box, whatever it costs; what takes least."""
        form = self.form
        least, ways = self.lack(ray, ban)
        pack = form.pack_need @ ray
        return least + float(np.minimum(pack * box.low, pack * box.high).sum()) > 0, ways

    def lack(self, ray: Floats, ban: Ban | None) -> tuple[float, Ways]:
        """What is lacking at least at some multipliers, packs left out, whatever it costs; and what takes least."""
        form = self.form
        taken = np.where(
            self.real, (form.need.reshape(form.cost.size, len(ray)) @ ray).reshape(form.cost.shape), NEVER
        )
        if ban is not None:
            taken[ban.option] = NEVER
        ways = self._all(taken, ray, None if ban is None else ban.way, costs=False)
        slack = 1e-6 * float(np.abs(form.room) @ ray) + 2e-6 * float(ray.sum())
        return float(ways.least.sum()) - float(form.room @ ray) - slack, ways

    def ways_at(self, value: Floats, price: Floats) -> Ways:
        """Value of all ways where the value of each option is given."""
        return self._all(value, price, None)

    def _all(self, value: Floats, price: Floats, barred: Mask | None, *, costs: bool = True) -> Ways:
        setup, scene = self.setup_need @ price, self.scene_need @ price
        if costs:
            setup, scene = setup + self.setup_cost, scene + self.scene_cost
        else:
            scene = np.where(self.scene_cost >= NEVER / 2, NEVER, scene)
        sums = np.zeros((self.sets, self.count))
        for k in range(self.most):
            sums[1 << k : 2 << k] = sums[: 1 << k] + setup[:, k]
        unknown = self.unknown(price)
        parts = [self._scene(value, 0, unknown) + sums + scene[0]]
        if self.scenes > 1:
            some = self.coated
            for t in range(1, self.scenes):
                part = np.full((self.sets, self.count), NEVER)
                part[:, some] = (self._scene(value, t, unknown) + sums + scene[t])[:, some]
                parts.append(part)
        every = np.concatenate(parts)
        if barred is not None:
            every[barred] = NEVER
        return Ways(every, every.argmin(axis=0), value, unknown)

    def _scene(self, value: Floats, t: int, unknown: float) -> Floats:
        """Sum of the runs' best options for each set of set-ups and group (S, G)."""
        allowed = np.where(self.mask[t], value, NEVER)
        best = np.empty((self.sets, len(value)))
        best[0] = np.where(self.local == _FREE, allowed, NEVER).min(axis=1)
        for k in range(self.most):
            half = 1 << k
            with_k = np.where(self.local == k, allowed, NEVER).min(axis=1)
            np.minimum(best[:half], with_k, out=best[half : 2 * half])
        if self.forest is not None:
            best[:, self.forest.member] = self._trees(self.forest, allowed, unknown)
        sums: Floats = np.add.reduceat(best[:, self.order], self.starts, axis=1)
        return sums

    def _trees(self, forest: Forest, allowed: Floats, unknown: float) -> Floats:
        """Least value of the trees of meetings for each set of set-ups, at the middle of each tree (S, N)."""
        cells = forest.table(allowed)
        value = np.empty((*cells.shape[:2], self.sets))
        value[:, :, 0] = cells[:, :, 0]
        for k in range(self.most):
            half = 1 << k
            with_k = cells[:, :, k + 1, None] if k + 1 < forest.layers else NEVER
            np.minimum(value[:, :, :half], with_k, out=value[:, :, half : 2 * half])
        return forest.fold(value, unknown)

    def total(self, ways: Ways, price: Floats, box: Box | None) -> float:
        """Valid bound of some multipliers ≥ 0 in a box (none: packs left out); inf where a group has no way left."""
        form = self.form
        least = ways.least
        if least.max(initial=0.0) >= NEVER / 2:
            return np.inf
        ends = 0.0
        if box is not None:
            pack = form.pack_cost + form.pack_need @ price
            ends = float(np.minimum(pack * box.low, pack * box.high).sum())
        return float(least.sum()) + ends - float(price @ form.room) + form.fixed

    def pick(self, way: Ints, value: Floats, unknown: float = 0.0) -> Ints:
        """Best option of each run (R,) under a way of each group, at a price of unknown meetings."""
        allowed = np.where(self.open(way), value, NEVER)
        option: Ints = allowed.argmin(axis=1)
        forest = self.forest
        if forest is not None:
            state = forest.choose(forest.table(allowed).min(axis=2), unknown)
            mine = np.where(forest.state[forest.member] == state[:, None], allowed[forest.member], 2 * NEVER)
            option[forest.member] = mine.argmin(axis=1)
        return option

    def within(self, option: Ints) -> tuple[Mask, Ints]:
        """Whether a meeting within each group (G,) fails under some options, and how many are unknown."""
        fails, unknown = np.zeros(self.count, dtype=np.bool_), np.zeros(self.count, dtype=np.int64)
        if self.forest is not None:
            clash, open_ = self.forest.count(option)
            group = self.group[self.forest.edges[:, 0]]
            fails[group[clash]] = True
            np.add.at(unknown, group[open_], 1)
        return fails, unknown

    def open(self, way: Ints) -> Mask:
        """Options (R, O) that a way of each group allows."""
        scene, sets = (way // self.sets)[self.group], (way % self.sets)[self.group]
        mask = self.mask[0] if self.scenes == 1 else self.mask[scene, self.every]
        on = (sets[:, None] >> np.maximum(self.local, 0)) & 1 == 1
        allowed: Mask = mask & ((self.local == _FREE) | on)
        return allowed

    def way_of(self, option: Ints) -> Ints:
        """Ways (G,) that a plan really uses; -1 where its coats do not go together."""
        local, coat = self.local[self.every, option], self.coat[self.every, option]
        sets = np.zeros(self.count, dtype=np.int64)
        np.bitwise_or.at(sets, self.group[local >= 0], np.int64(1) << local[local >= 0])
        for g in self.coated.tolist():
            used = np.unique(coat[self.runs[g]])
            scene = self.scene_of[g].get(tuple(used[used >= 0].tolist()), -1)
            sets[g] = sets[g] + scene * self.sets if scene >= 0 else -1
        return sets

    def columns(self, option: Ints) -> Columns:
        """Add up one plan of each group, its set-ups and coats with it."""
        form = self.form
        way = self.way_of(option)
        fits = (way >= 0) & ~self._amiss(np.maximum(way, 0), option)
        scene, sets = np.maximum(way, 0) // self.sets, np.maximum(way, 0) % self.sets
        groups = np.arange(self.count)
        on = ((sets[:, None] >> np.arange(self.most)) & 1).astype(np.float64)
        cost = np.add.reduceat(form.cost[self.every, option][self.order], self.starts)
        need = np.add.reduceat(form.need[self.every, option][self.order], self.starts, axis=0)
        cost = cost + (self.setup_cost * on).sum(axis=1) + self.scene_cost[scene, groups]
        need = need + np.einsum("gkm,gk->gm", self.setup_need, on) + self.scene_need[scene, groups]
        return Columns(cost, need, option, way, fits & (cost < NEVER / 2))

    def _amiss(self, way: Ints, option: Ints) -> Mask:
        """Groups in which some run takes what its way does not allow."""
        wrong = ~self.open(way)[self.every, option]
        amiss = np.zeros(self.count, dtype=np.bool_)
        amiss[self.group[wrong]] = True
        return amiss


class _Joined:
    """Numbers that hang together."""

    def __init__(self, count: int) -> None:
        self.parent, self.size = list(range(count)), [1] * count

    def root(self, r: int) -> int:
        """Number that stands for all that hang together with `r`."""
        while self.parent[r] != r:
            self.parent[r] = self.parent[self.parent[r]]
            r = self.parent[r]
        return r

    def join(self, r: int, s: int) -> int:
        """Put two together; answers the number that stands for them."""
        a, b = self.root(r), self.root(s)
        if a != b:
            self.parent[a] = b
            self.size[b] += self.size[a]
        return b
