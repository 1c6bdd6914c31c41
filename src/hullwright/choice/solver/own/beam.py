"""Plans at whole packs: from the runs' best options, a beam of a few changes that fill the packs and the rows.

Every plan costs  bound + Σ regret of the changes + Σ multiplier · what is left over.  The beam looks for changes of
little regret that leave little over and lack nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hullwright.choice.instance import Floats, Ints
from hullwright.choice.solver.own.form import NEVER, Form

_LACK = 2.5
_TINY = 1e-9


@dataclass(frozen=True, slots=True)
class Shape:
    """Size of a beam.

    Parameters
    ----------
    moves, width, depth : int
        Changes considered, states kept, changes made at most.
    left : float
        Weight of what is left over (1: its full price).
    """

    moves: int = 150
    width: int = 120
    depth: int = 9
    left: float = 0.5


@dataclass(frozen=True, slots=True)
class _Moves:
    """Changes of a run to another option: regret, what they take more, and which exclude each other."""

    run: Ints
    option: Ints
    regret: Floats
    take: Floats
    mark: Ints


def beam(form: Form, price: Floats, packs: Floats, shape: Shape, ban: tuple[tuple[int, int], ...] = ()) -> Ints | None:
    """Find a plan for given whole packs.

    Parameters
    ----------
    form : Form
        The question.
    price : ndarray (m,)
        Multipliers of the rows, from the linear program at these packs.
    packs : ndarray (P,)
        Whole packs.
    shape : Shape
        Size of the beam.
    ban : tuple of (run, option)
        Options not to be used.

    Returns
    -------
    ndarray (R,) or None
        Option of each run; None where the beam found nothing that fits.
    """
    value = form.cost + (form.need.reshape(form.cost.size, -1) @ price).reshape(form.cost.shape)
    for run, option in ban:
        value[run, option] = NEVER
    every = np.arange(form.runs)
    key = value.argmin(axis=1)
    left = form.room - form.need[every, key].sum(axis=0) - form.pack_need.T @ packs
    worth = _worth(form, price)
    moves = _moves(form, value - value[every, key][:, None], key, (worth, shape.moves))
    found = _search(moves, (left * worth, price / worth), shape)
    if found is None:
        return None
    key[moves.run[found]] = moves.option[found]
    return key


def _worth(form: Form, price: Floats) -> Floats:
    """What a unit of each row is worth: its multiplier, or its free price where that is more."""
    free = np.zeros(len(price))
    free[: form.products] = form.pack_cost + form.pack_need[:, form.products :] @ price[form.products :]
    worth = np.maximum(price, free)
    return np.maximum(worth, max(float(worth.max()), 1.0) * _TINY)


def _moves(form: Form, regret: Floats, key: Ints, how: tuple[Floats, int]) -> _Moves:
    worth, count = how
    regret = regret.copy()
    regret[np.arange(form.runs), key] = NEVER
    flat = regret.ravel()
    size = np.abs((form.need - form.need[np.arange(form.runs), key][:, None, :]) @ worth).ravel()
    # all that could matter, then half by least regret and half by least regret for their size
    near = np.argpartition(flat, min(8 * count, len(flat) - 1))[: 8 * count]
    near = near[flat[near] < NEVER / 2]
    first = near[np.argsort(flat[near], kind="stable")]
    second = near[np.argsort(flat[near] / (size[near] + 1e-12), kind="stable")]
    pick = np.unique(np.concatenate([first[: count // 2], second[: count // 2]]))
    run, option = pick // form.cost.shape[1], pick % form.cost.shape[1]
    take = (form.need[run, option] - form.need[run, key[run]]) * worth
    mark = _marks(len(pick))
    return _Moves(run, option, flat[pick], take, mark)


def _marks(count: int) -> Ints:
    """Numbers that are scattered over all bits, so that sets of changes can be told apart by their xor."""
    x = np.arange(1, count + 1, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15)
    x = (x ^ (x >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    x = (x ^ (x >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return ((x ^ (x >> np.uint64(31))) >> np.uint64(1)).astype(np.int64)


def _search(moves: _Moves, start: tuple[Floats, Floats], shape: Shape) -> Ints | None:
    """Best set of changes, as rows of `moves`; None where none makes everything fit."""
    left, weight = start
    use = np.flatnonzero((np.abs(moves.take).max(axis=0, initial=0.0) > 0) | (left < 0))
    pull = moves.take @ weight  # full price of what a change takes
    base = float(left @ weight)
    take, room = moves.take[:, use], left[use][None, :]
    best, chosen = (base, np.zeros(0, dtype=np.int64)) if (room >= -_TINY).all() else (np.inf, None)
    same = moves.run[:, None] == moves.run[None, :]
    paid, over = np.zeros(1), np.full(1, base)
    blocked, mark = np.zeros((1, len(moves.run)), dtype=np.bool_), np.zeros(1, dtype=np.int64)
    path = np.zeros((1, 0), dtype=np.int64)
    for _ in range(shape.depth):
        if not len(moves.run):
            break
        lack = _lack(room, take)
        cost = paid[:, None] + moves.regret
        rest = over[:, None] - pull
        total = np.where(blocked, np.inf, cost + rest)
        fits = np.where(lack <= _TINY, total, np.inf)
        top = int(fits.argmin())
        if fits.ravel()[top] < best - 1e-15:
            best = float(fits.ravel()[top])
            chosen = np.append(path[top // len(moves.run)], top % len(moves.run))
        score = np.where(blocked, np.inf, cost + shape.left * rest + _LACK * lack)
        # what has paid more regret than the best plan costs in all can't win any more
        score = np.where(cost >= best, np.inf, score)
        keep = _keep(score, mark[:, None] ^ moves.mark, shape.width)
        if not len(keep):
            break
        state, move = keep // len(moves.run), keep % len(moves.run)
        room, paid, over = room[state] - take[move], cost.ravel()[keep], rest.ravel()[keep]
        blocked, mark = blocked[state] | same[move], mark[state] ^ moves.mark[move]
        path = np.concatenate([path[state], move[:, None]], axis=1)
    return chosen


def _lack(room: Floats, take: Floats) -> Floats:
    """What is lacking after each change in each state (W, N), in cost."""
    lack = np.zeros((len(room), len(take)))
    part = np.empty_like(lack)
    for n in range(room.shape[1]):
        np.subtract(take[:, n], room[:, n : n + 1], out=part)
        np.maximum(part, 0.0, out=part)
        lack += part
    return lack


def _keep(score: Floats, mark: Ints, width: int) -> Ints:
    """Best states, each set of changes once."""
    flat = score.ravel()
    some = min(3 * width, len(flat) - 1)
    near = np.argpartition(flat, some)[: some + 1]
    near = near[np.isfinite(flat[near])]
    near = near[np.lexsort((near, flat[near]))]
    _, first = np.unique(mark.ravel()[near], return_index=True)
    return near[np.sort(first)][:width]
