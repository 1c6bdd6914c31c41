"""From joint to joint: shares in which water goes on, and the sum from the top down.

At each node a share of what comes is taken in; the rest goes on in fixed shares to nodes below, or off. Nothing is made or lost.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.exposure.adding import added
from hullwright.joints.scan import ranges

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_LEFT: Final = 1e-13  # share of all water below which what is still on its way round a ring runs off


@dataclass(frozen=True, slots=True)
class Step:
    """Nodes whose water is known once that of all steps before is known.

    Parameters
    ----------
    node : ndarray (n,)
        Nodes with inflow from others.
    start : ndarray (n,)
        First link of each.
    source, share : ndarray
        Links into them: where from, and which share of what leaves there.
    """

    node: Ints
    start: Ints
    source: Ints
    share: Floats


@dataclass(frozen=True, slots=True)
class Chain:
    """How water goes on from node to node.

    Parameters
    ----------
    own : ndarray (N,)
        Water that falls and meets this node first [L].
    away : float
        Water that falls and meets no node [L].
    off : ndarray (N,)
        Share of what leaves a node that runs off.
    steps : tuple of Step
        From the top down.
    """

    own: Floats
    away: float
    off: Floats
    steps: tuple[Step, ...]

    def run(self, taken: Floats) -> tuple[Floats, Floats]:
        """Sum from the top down.

        Parameters
        ----------
        taken : ndarray (N,) or (N, B)
            Share of what reaches each node that it takes in, 0 to 1; B draws at once.

        Returns
        -------
        entered : ndarray (N,) or (N, B)
            Water taken in by each node [L].
        off : ndarray () or (B,)
            Water that runs off [L].

        Examples
        --------
        Ten liters come to a joint that takes half, and on to one that takes a fifth of what is left:

        >>> on = Links(np.array([10.0, 0.0]), 0.0, np.array([0.0, 10.0]), np.array([0]), np.array([1]), np.array([10.0]))
        >>> entered, off = on.chain().run(np.array([0.5, 0.2]))
        >>> entered.tolist(), float(off)
        ([5.0, 1.0], 4.0)
        """
        own = self.own.reshape(-1, *(1,) * (taken.ndim - 1))
        comes = np.broadcast_to(own, taken.shape).copy()
        leaves = (1.0 - taken) * comes
        for step in self.steps:
            share = step.share.reshape(-1, *(1,) * (taken.ndim - 1))
            comes[step.node] += np.add.reduceat(share * leaves[step.source], step.start, axis=0)
            leaves[step.node] = (1.0 - taken[step.node]) * comes[step.node]
        entered = taken * comes
        away = (leaves * self.off.reshape(own.shape)).sum(axis=0) + self.away
        return entered, away


@dataclass(frozen=True, slots=True)
class Links:
    """Water from node to node, as if none entered.

    Parameters
    ----------
    own : ndarray (N,)
        Water that falls and meets this node first [L].
    away : float
        Water that falls and meets no node [L].
    off : ndarray (N,)
        Water that runs off from each node [L].
    source, target : ndarray (K,)
    amount : ndarray (K,)
        Water that goes on from one to the other [L].
    """

    own: Floats
    away: float
    off: Floats
    source: Ints
    target: Ints
    amount: Floats

    @property
    def reach(self) -> Floats:
        """Water that reaches each node (N,), once [L]."""
        return self.own + added(self.target, self.amount, len(self.own))

    def merged(self, group: Ints) -> Links:
        """Take nodes together: `group` gives the number of the new node of each; links within one are left out.

        Examples
        --------
        >>> three = Links(np.array([4.0, 6.0, 0.0]), 0.0, np.array([0.0, 0.0, 10.0]), np.array([0, 1]), np.array([2, 2]), np.array([4.0, 6.0]))
        >>> two = three.merged(np.array([0, 0, 1]))
        >>> two.own.tolist(), two.amount.tolist()
        ([10.0, 0.0], [10.0])
        """
        count = int(group.max(initial=-1)) + 1
        source, target = group[self.source], group[self.target]
        apart = (source != target) & (self.amount > 0)
        pair, number = np.unique(source[apart] * count + target[apart], return_inverse=True)
        return Links(
            added(group, self.own, count),
            self.away,
            added(group, self.off, count),
            pair // max(count, 1),
            pair % max(count, 1),
            added(number, self.amount[apart], len(pair)),
        )

    def ringless(self) -> tuple[Links, Ints]:
        """Open rings: no water meets a joint twice, it goes on to what follows that. Gives the links, and the level of each node (N,).

        Examples
        --------
        >>> ring = Links(np.array([8.0, 2.0]), 0.0, np.array([9.0, 1.0]), np.array([0, 1]), np.array([1, 0]), np.array([3.0, 4.0]))
        >>> opened, order = ring.ringless()
        >>> sorted(zip(opened.source.tolist(), opened.target.tolist()))
        [(1, 0)]
        """
        count = len(self.own)
        level, back = _levels(count, self.source, self.target, self.amount)
        if not back.any():
            return self, level
        off = self.off.copy()
        more: list[tuple[int, int, float]] = []
        for link in np.flatnonzero(back).tolist():
            source = int(self.source[link])
            ran, passed = self._past(source, (int(self.target[link]), float(self.amount[link])), level)
            off[source] += ran
            more += [(source, target, part) for target, part in passed]
        kept = ~back
        opened = Links(
            self.own,
            self.away,
            off,
            np.concatenate([self.source[kept], np.array([one[0] for one in more], dtype=np.int64)]),
            np.concatenate([self.target[kept], np.array([one[1] for one in more], dtype=np.int64)]),
            np.concatenate([self.amount[kept], np.array([one[2] for one in more], dtype=np.float64)]),
        ).merged(np.arange(count))
        return opened, _levels(count, opened.source, opened.target, opened.amount)[0]

    def _past(
        self, source: int, first: tuple[int, float], level: Ints
    ) -> tuple[float, list[tuple[int, float]]]:
        """Water from a node past one that it has met before: what of it runs off [L], and what comes to which node then [L]."""
        count = len(self.own)
        leaves = self.off + added(self.source, self.amount, count)
        leads = _leading(source, self.source, self.target, count)
        least = _LEFT * float(self.own.sum())
        rest, ran = [first], 0.0
        passed: list[tuple[int, float]] = []
        for node, amount in rest:  # grows as it is read
            if amount < least:
                ran += amount
                continue
            share = amount / float(leaves[node])
            ran += share * float(self.off[node])
            for on in np.flatnonzero(self.source == node).tolist():
                target, part = int(self.target[on]), share * float(self.amount[on])
                ahead = not leads[target] or (level[target], target) > (level[source], source)
                (passed if ahead else rest).append((target, part))
        return ran, passed

    def chain(self) -> Chain:
        """Put the nodes in order, from the top down."""
        opened, level = self.ringless()
        source, target = opened.source, opened.target
        count = len(opened.own)
        leaves = opened.off + added(source, opened.amount, count)
        share = opened.amount / leaves[source]
        # What leaves a node and is handed on nowhere runs off.
        off = np.divide(opened.off, leaves, out=np.ones(count), where=leaves > 0)
        order = np.lexsort((source, target, level[target]))
        bounds = np.searchsorted(level[target][order], np.arange(1, int(level.max(initial=0)) + 2))
        steps: list[Step] = []
        for first, last in pairwise(bounds.tolist()):
            if last > first:
                links = order[first:last]
                node, start = np.unique(target[links], return_index=True)
                steps.append(Step(node, start, source[links], share[links]))
        return Chain(opened.own, opened.away, off, tuple(steps))


def _levels(count: int, source: Ints, target: Ints, amount: Floats) -> tuple[Ints, NDArray[np.bool_]]:
    """Order of the nodes from the top down (N,), and the links that go against it because they close a ring (K,)."""
    level = np.zeros(count, dtype=np.int64)
    waits = np.bincount(target, minlength=count)
    by_source = np.argsort(source, kind="stable")
    first = np.searchsorted(source[by_source], np.arange(count + 1))
    done = np.zeros(count, dtype=np.bool_)
    ready = np.flatnonzero(waits == 0)
    step = 0
    while True:
        level[ready], done[ready] = step, True
        _, number = ranges(first[ready], first[ready + 1] - first[ready])
        np.subtract.at(waits, target[by_source[number]], 1)
        step += 1
        left = np.flatnonzero(~done)
        if not len(left):
            return level, level[source] >= level[target]
        ready = left[waits[left] == 0]
        if not len(ready):
            ready = _opening(count, left, (source, target, amount))


def _leading(node: int, source: Ints, target: Ints, count: int) -> NDArray[np.bool_]:
    """Nodes from which water comes to a node (N,), itself too."""
    found = np.zeros(count, dtype=np.bool_)
    found[node] = True
    before = 0
    while found.sum() > before:
        before = int(found.sum())
        found[source[found[target]]] = True
    return found


def _opening(count: int, left: Ints, links: tuple[Ints, Ints, Floats]) -> Ints:
    """Where to open the rings among the nodes left: at the one that gets least water from the others."""
    source, target, amount = links
    ring = np.zeros(count, dtype=np.bool_)
    ring[left] = True
    while True:  # nodes that lead to no other of them are in no ring
        inner = ring[source] & ring[target]
        leads = np.bincount(source[inner], minlength=count) > 0
        if bool((ring == (ring & leads)).all()):
            break
        ring &= leads
    water = added(target[inner], amount[inner], count)
    at = np.flatnonzero(ring)
    return at[[int(np.argmin(water[at]))]]
