"""Meetings within a group: known failures shut out exactly, unknown pairs counted, by one pass along trees of meetings.

The meetings of a group that close no ring form trees. A run stands in one of a few *states*: materials that fail and are
unknown beside the same others are one state. From the leaves to the middle of each tree, every run hands on what its
branch costs at least for each state of the run it meets; the middle adds up the rest. All trees go at once, for all sets
of set-ups at once.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hullwright.choice.instance import Floats, Ints
from hullwright.choice.solver.own.form import NEVER

Mask = NDArray[np.bool_]
_NO_OPTION = -2


class Forest:
    """Trees of meetings.

    Parameters
    ----------
    state : ndarray (R, O)
        State of each option.
    clash, unknown : ndarray (K, K)
        Pairs of states known to fail, and unknown ones that count.
    local : ndarray (R, O)
        Set-up of each option in its group, -1 where it needs none, -2 where it is no option.
    edges : ndarray (E, 2)
        Meetings, without a ring.
    """

    def __init__(self, state: Ints, kinds: tuple[Mask, Mask], local: Ints, edges: Ints) -> None:
        self.state, self.edges = state, edges
        self.clash, self.unknown = kinds
        self.states = len(self.clash)
        self.member = np.unique(edges)
        self.layers = int(local.max(initial=-1)) + 2
        self._cells(local)
        self._schedule()

    def _cells(self, local: Ints) -> None:
        """Order the options of the members by run, state and set-up."""
        place = np.full(len(self.state), -1)
        place[self.member] = np.arange(len(self.member))
        cell = (place[:, None] * self.states + self.state) * self.layers + local + 1
        cell = np.where((place >= 0)[:, None] & (local > _NO_OPTION), cell, -1).ravel()
        some = np.flatnonzero(cell >= 0)
        self.perm = some[np.argsort(cell[some], kind="stable")]
        self.cell, self.first = np.unique(cell[self.perm], return_index=True)
        self.place = place

    def _schedule(self) -> None:
        """Take off leaves round by round: batches of (leaf, run it meets), each such run once a batch."""
        beside: list[dict[int, None]] = [{} for _ in self.member]
        for a, b in self.place[self.edges].tolist():
            beside[a][b] = beside[b][a] = None
        self.batches: list[tuple[Ints, Ints]] = []
        leaves = [m for m, others in enumerate(beside) if len(others) == 1]
        while leaves:
            rounds: list[list[tuple[int, int]]] = []
            used: dict[int, int] = {}
            for leaf in leaves:
                if not beside[leaf]:
                    continue  # the other end of a last pair
                to = next(iter(beside[leaf]))
                turn = used.get(to, 0)
                used[to] = turn + 1
                if turn == len(rounds):
                    rounds.append([])
                rounds[turn].append((leaf, to))
                del beside[leaf][to], beside[to][leaf]
            self.batches += [(np.array(part).T[0], np.array(part).T[1]) for part in rounds]
            leaves = [m for m in used if len(beside[m]) == 1]
        self.inner = np.ones(len(self.member), dtype=np.bool_)
        for leaves_, _ in self.batches:
            self.inner[leaves_] = False

    def table(self, allowed: Floats) -> Floats:
        """Least value of each member, state and set-up (N, K, L), the first of these without a set-up."""
        cells = np.full(len(self.member) * self.states * self.layers, NEVER)
        if len(self.perm):
            cells[self.cell] = np.minimum.reduceat(allowed.ravel()[self.perm], self.first)
        return cells.reshape(len(self.member), self.states, self.layers)

    def pair(self, price: float) -> Floats:
        """What each pair of states costs (K, K) at a price of unknown meetings."""
        return np.where(self.clash, NEVER, price * self.unknown)

    def fold(self, value: Floats, price: float) -> Floats:
        """Hand on from the leaves to the middle of each tree.

        Parameters
        ----------
        value : ndarray (N, K, S)
            Value of each state of each member, for each set of set-ups; what is handed on is added in place.
        price : float
            Price of an unknown meeting.

        Returns
        -------
        ndarray (S, N)
            Least value of each tree at its middle, 0 at its other members.
        """
        pair = self.pair(price)[:, :, None]
        for leaf, to in self.batches:
            part = value[leaf]
            value[to] += (part[:, :, None, :] + pair).min(axis=1)
        least = np.zeros((value.shape[2], len(value)))
        least[:, self.inner] = value[self.inner].min(axis=1).T
        return least

    def choose(self, value: Floats, price: float) -> Ints:
        """Best states of all members (N,) where the value (N, K) of each state is given."""
        value = value.copy()
        self.fold(value[:, :, None], price)
        pair = self.pair(price)
        state: Ints = value.argmin(axis=1)
        for leaf, to in reversed(self.batches):
            state[leaf] = (value[leaf] + pair[:, state[to]].T).argmin(axis=1)
        return state

    def count(self, option: Ints) -> tuple[Mask, Mask]:
        """Which meetings of the trees (E,) fail, and which are unknown, under some options."""
        state = self.state[np.arange(len(option)), option]
        a, b = state[self.edges[:, 0]], state[self.edges[:, 1]]
        return self.clash[a, b], self.unknown[a, b]


def states_of(material: Ints, clash: Mask, unknown: Mask) -> tuple[Ints, Mask, Mask]:
    """Put materials that fail and are unknown beside the same others together.

    Parameters
    ----------
    material : ndarray (R, O)
        Material of each option, -1 for none.
    clash, unknown : ndarray (C, C)
        Pairs known to fail and unknown ones, both ways round.

    Returns
    -------
    (ndarray (R, O), ndarray (K, K), ndarray (K, K))
        State of each option, and both kinds of pairs by states.
    """
    none = len(clash)
    rows = np.zeros((2, none + 1, none + 1), dtype=np.bool_)
    rows[0, :none, :none], rows[1, :none, :none] = clash, unknown
    _, first, number = np.unique(
        np.concatenate([rows[0], rows[1]], axis=1), axis=0, return_index=True, return_inverse=True
    )
    of = number.ravel()[np.where(material >= 0, material, none)].astype(np.int64)
    return of, rows[0][np.ix_(first, first)], rows[1][np.ix_(first, first)]
