"""Changes of runs that meet others: whoever would fail beside the new option gives way, at the least loss.

A plan in which no meeting fails stays one: each change comes with the best option, for every run it meets and would fail
beside, that goes with all that run meets. Two changes that would fail beside each other shut each other out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hullwright.choice.instance import Floats, Ints
from hullwright.choice.solver.own.beam import Moves
from hullwright.choice.solver.own.form import NEVER
from hullwright.choice.solver.own.meetings import Meetings

Mask = NDArray[np.bool_]


class GiveWay:
    """All changes of one plan.

    Parameters
    ----------
    meetings : Meetings
        Where runs meet.
    option : ndarray (R,)
        The plan.
    regret : ndarray (R, O)
        Regret of each option by itself, NEVER where it is none.
    """

    def __init__(self, meetings: Meetings, option: Ints, regret: Floats) -> None:
        self.meetings, self.option = meetings, option
        pairs = meetings.pairs[meetings.active]
        self.here, self.there = np.concatenate([pairs, pairs[:, ::-1]]).T
        self.state, self.clash = meetings.state, meetings.state_clash
        self.now = self.state[np.arange(len(option)), option]
        self._answers(regret)
        self._unknown()

    def _answers(self, regret: Floats) -> None:
        """What each run met answers to each state of the other (2E, K), and what that loses."""
        here, there, clash = self.here, self.there, self.clash
        mine = clash[
            self.state[here], self.now[there][:, None]
        ]  # options that fail beside the other as it is
        count = np.zeros(self.state.shape, dtype=np.int64)
        np.add.at(count, here, mine)
        theirs = clash[self.state[there], self.now[here][:, None]]
        free = count[there] - theirs == 0  # goes with all others that are met there
        states = np.arange(len(clash))
        goes = free[:, None, :] & ~clash[states[None, :, None], self.state[there][:, None, :]]
        lost = np.where(goes, regret[there][:, None, :], NEVER)
        self.answer = lost.argmin(axis=2)
        least = np.take_along_axis(lost, self.answer[:, :, None], axis=2)[:, :, 0]
        paid = np.where(mine, np.take_along_axis(least, self.state[here], axis=1), 0.0)
        total = np.zeros(regret.shape)
        np.add.at(total, here, paid)
        self.fails = mine
        self.regret = np.where((regret < NEVER / 2) & (total < NEVER / 2), regret + total, NEVER)

    def _unknown(self) -> None:
        """How many more meetings are unknown after each change (R, O)."""
        unknown, state = self.meetings.state_unknown, self.state
        self.unknown = np.zeros(state.shape)
        if not unknown.any():
            return
        here, there = self.here, self.there
        answer = np.take_along_axis(self.answer, state[here], axis=1)
        beside = np.where(self.fails, state[there[:, None], answer], self.now[there][:, None])
        more = (
            unknown[state[here], beside].astype(np.int64) - unknown[self.now[here], self.now[there]][:, None]
        )
        np.add.at(self.unknown, here, more)

    def more(self, need: Floats) -> Floats:
        """What those that give way take more (R, O, m)."""
        more = np.zeros_like(need)
        edge, option = np.nonzero(self.fails)
        to = self.answer[edge, self.state[self.here[edge], option]]
        there = self.there[edge]
        np.add.at(more, (self.here[edge], option), need[there, to] - need[there, self.option[there]])
        return more

    def changes(self, run: int, option: int) -> list[tuple[int, int]]:
        """Who gives way to an option of a run, and to which of its own."""
        edges = np.flatnonzero((self.here == run) & self.fails[:, option])
        state = self.state[run, option]
        return [(int(self.there[e]), int(self.answer[e, state])) for e in edges]

    def _touched(self, moves: Moves) -> tuple[Ints, Ints, Ints]:
        """Change, run and its new state, for each run that each change touches."""
        found: list[tuple[int, int, int]] = []
        for n, (run, option) in enumerate(zip(moves.run.tolist(), moves.option.tolist(), strict=True)):
            touched = [(run, option), *self.changes(run, option)]
            found += [(n, r, int(self.state[r, o])) for r, o in touched]
        move, run_, state = np.array(found, dtype=np.int64).reshape(-1, 3).T
        return move, run_, state

    def against(self, moves: Moves) -> Mask:
        """Which changes shut each other out (N, N): they touch the same run, or would fail side by side."""
        move, run, state = self._touched(moves)
        runs = len(self.option)
        known = np.sort(self.here * runs + self.there)
        key = run[:, None] * runs + run
        place = np.minimum(np.searchsorted(known, key), max(len(known) - 1, 0))
        beside = known[place] == key if len(known) else np.zeros_like(key, dtype=np.bool_)
        first, second = np.nonzero((run[:, None] == run) | (beside & self.clash[state[:, None], state]))
        out = np.zeros((len(moves.run), len(moves.run)), dtype=np.bool_)
        out[move[first], move[second]] = True
        return out

    def touched(self, moves: Moves, group: Ints) -> Mask:
        """Groups that each change touches (N, G)."""
        move, run, _ = self._touched(moves)
        touched = np.zeros((len(moves.run), int(group.max()) + 1), dtype=np.bool_)
        touched[move, group[run]] = True
        return touched
