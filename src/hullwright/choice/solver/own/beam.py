"""Plans at whole packs: from the runs' best options, a beam of a few changes that fill the packs and the rows.

Every plan costs  bound + Σ regret of the changes + Σ multiplier · what is left over.  The beam looks for changes of
little regret that leave little over and lack nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hullwright.choice.instance import Floats, Ints
from hullwright.choice.solver.own.form import NEVER, Form
from hullwright.choice.solver.own.simplex import Relaxed

_LACK = 2.5
_TINY = 1e-9
_MARGINS = (1.0, 5.0)


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
    lack: float = 2.5
    ramp: float = 0.0


@dataclass(frozen=True, slots=True)
class Moves:
    """Changes of a run to another option: regret, what they take more (in worth), which exclude each other."""

    run: Ints
    option: Ints
    regret: Floats
    take: Floats
    mark: Ints
    same: np.ndarray[tuple[int, int], np.dtype[np.bool_]]


def beam(
    form: Form, there: Relaxed, packs: Floats, shape: Shape, ban: tuple[tuple[int, int], ...] = ()
) -> Ints | None:
    """Find a plan for given whole packs.

    Parameters
    ----------
    form : Form
        The question.
    there : Relaxed
        Linear program at these packs.
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
    price = np.maximum(there.price, 0.0)
    value = form.cost + (form.need.reshape(form.cost.size, len(price)) @ price).reshape(form.cost.shape)
    if ban:
        value[tuple(zip(*ban, strict=True))] = NEVER
    every = np.arange(form.runs)
    key = there.basis.key.copy()
    for run, shares in there.split.items():
        key[run] = max(shares, key=lambda o: shares[o])
    left = form.room - form.need[every, key].sum(axis=0) - form.pack_need.T @ packs
    worth = worth_of(form, price)
    moves = moves_of(form, value - value.min(axis=1)[:, None], key, (worth, shape.moves))
    found = search(moves, (left * worth, price / worth), shape)
    if found is None:
        return None
    key[moves.run[found]] = moves.option[found]
    return key


def search(moves: Moves, start: tuple[Floats, Floats], shape: Shape) -> Ints | None:
    """Find the best set of changes.

    Parameters
    ----------
    moves : Moves
        What can be changed.
    start : (ndarray (m,), ndarray (m,))
        What is left over in worth, and the price of what is left over.
    shape : Shape
        Size of the beam.

    Returns
    -------
    ndarray or None
        Rows of `moves`; None where none makes everything fit.
    """
    found, short = _search(moves, start, shape, 0.0)
    for margin in _MARGINS:
        if found is not None or not np.isfinite(short):
            break
        # nearly: aim at a little left over in each row
        found, _ = _search(moves, start, shape, margin * short)
    return found


def worth_of(form: Form, price: Floats) -> Floats:
    """Worth of a unit of each row is worth: its multiplier, or its free price where that is more."""
    free = np.zeros(len(price))
    free[: form.products] = form.pack_cost + form.pack_need[:, form.products :] @ price[form.products :]
    worth = np.maximum(price, free)
    return np.maximum(worth, max(float(worth.max(initial=0.0)), 1.0) * _TINY)


def moves_of(
    form: Form, regret: Floats, key: Ints, how: tuple[Floats, int], more: Floats | None = None
) -> Moves:
    """Pick the changes of single runs that could matter.

    Parameters
    ----------
    form : Form
        The question.
    regret : ndarray (R, O)
        Regret of each option, that of what gives way to it included.
    key : ndarray (R,)
        Option of each run.
    how : (ndarray (m,), int)
        Worth of the rows, number of changes.
    more : ndarray (R, O, m) or None
        What gives way to each option takes more.

    Returns
    -------
    Moves
        The changes.
    """
    worth, count = how
    regret = regret.copy()
    regret[np.arange(form.runs), key] = NEVER
    flat = regret.ravel()
    # all that could matter: by least regret, by least regret for their size, and what best gives back each row
    near = np.argpartition(flat, min(8 * count, len(flat) - 1))[: 8 * count]
    near = near[flat[near] < NEVER / 2]
    width = form.cost.shape[1]
    take = form.need[near // width, near % width] - form.need[near // width, key[near // width]]
    take = (take if more is None else take + more[near // width, near % width]) * worth
    paid = np.maximum(flat[near], 0.0)
    rows = np.flatnonzero((np.abs(take) > 0).any(axis=0))
    rank = np.minimum(_rank(paid), _rank(paid / (np.abs(take).sum(axis=1) + 1e-12)))
    for row in rows:
        given = np.where(take[:, row] < 0, paid / np.maximum(-take[:, row], 1e-12), np.inf)
        rank = np.where(given < np.inf, np.minimum(rank, 0.5 * len(rows) * _rank(given)), rank)
    pick = np.sort(near[np.argsort(rank, kind="stable")[:count]])
    run, option = pick // form.cost.shape[1], pick % form.cost.shape[1]
    take = form.need[run, option] - form.need[run, key[run]]
    take = (take if more is None else take + more[run, option]) * worth
    return Moves(run, option, flat[pick], take, marks(len(pick)), run[:, None] == run[None, :])


def _rank(score: Floats) -> Floats:
    """Place of each score, 0 the least."""
    rank = np.empty(len(score))
    rank[np.argsort(score, kind="stable")] = np.arange(len(score))
    return rank


def marks(count: int) -> Ints:
    """Numbers that are scattered over all bits, so that sets of changes can be told apart by their xor."""
    x = np.arange(1, count + 1, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15)
    x = (x ^ (x >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    x = (x ^ (x >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return ((x ^ (x >> np.uint64(31))) >> np.uint64(1)).astype(np.int64)


def _search(
    moves: Moves, start: tuple[Floats, Floats], shape: Shape, margin: float
) -> tuple[Ints | None, float]:
    """Best set of changes, as rows of `moves` (None where none makes everything fit), and the least lack met."""
    left, weight = start
    use = np.flatnonzero((np.abs(moves.take).max(axis=0, initial=0.0) > 0) | (left < 0))
    pull = moves.take @ weight  # full price of what a change takes
    base = float(left @ weight)
    take, room = moves.take[:, use], left[use][None, :]
    best, chosen = (base, np.zeros(0, dtype=np.int64)) if (room >= -_TINY).all() else (np.inf, None)
    same = moves.same
    paid, over = np.zeros(1), np.full(1, base)
    blocked, mark = np.zeros((1, len(moves.run)), dtype=np.bool_), np.zeros(1, dtype=np.int64)
    path = np.zeros((1, 0), dtype=np.int64)
    least = np.inf
    for level in range(shape.depth):
        lack_weight = shape.lack + shape.ramp * level
        if not len(moves.run):
            break
        lack = np.where(blocked, np.inf, _lack(room, take))
        least = min(least, float(lack.min()))
        cost = paid[:, None] + moves.regret
        rest = over[:, None] - pull
        total = np.where(blocked, np.inf, cost + rest)
        fits = np.where(lack <= _TINY, total, np.inf)
        top = int(fits.argmin())
        if fits.ravel()[top] < best - 1e-15:
            best = float(fits.ravel()[top])
            chosen = np.append(path[top // len(moves.run)], top % len(moves.run))
        aim = lack if margin == 0.0 else _lack(room - margin, take)
        score = np.where(blocked, np.inf, cost + shape.left * rest + lack_weight * aim)
        # what has paid more regret than the best plan costs in all can't win any more
        score = np.where(cost >= best, np.inf, score)
        keep = _keep(score, mark[:, None] ^ moves.mark, shape.width)
        if not len(keep):
            break
        state, move = keep // len(moves.run), keep % len(moves.run)
        room, paid, over = room[state] - take[move], cost.ravel()[keep], rest.ravel()[keep]
        blocked, mark = blocked[state] | same[move], mark[state] ^ moves.mark[move]
        path = np.concatenate([path[state], move[:, None]], axis=1)
    return chosen, least


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
