"""The same sums for many joints at once: one number per joint, as NumPy columns."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hullwright.material.ask import Ask
from hullwright.material.film import Liquid
from hullwright.material.tape import Laying

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Column = Sequence[float] | Floats | float


def column(ask: Ask, key: str, values: Column, *, above_zero: bool = False) -> Floats:
    """Check a column: finite, 0 or more.

    Parameters
    ----------
    ask : Ask
        Collects what is wrong, with the first bad row.
    key : str
        Name of the column.
    values : array_like
        The numbers.
    above_zero : bool
        Whether 0 is refused too.

    Returns
    -------
    ndarray
        The column as floats.

    Examples
    --------
    >>> ask = Ask("a column")
    >>> _ = column(ask, "length", [1.0, -2.0])
    >>> str(ask.problems[0].where), ask.problems[0].got
    ('length[1]', '-2.0')
    """
    try:
        out = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        ask.refuse(key, values, "numbers only")
        return np.zeros(0)
    good = np.isfinite(out) & ((out > 0) if above_zero else (out >= 0))
    if not good.all():
        flat = np.atleast_1d(out).ravel()
        row = int(np.argmin(np.atleast_1d(good).ravel()))
        wanted = "a finite number above 0" if above_zero else "a finite number, 0 or more"
        ask.refuse(f"{key}[{row}]", float(flat[row]), wanted)
    return out


def same_rows(ask: Ask, *columns: Floats) -> tuple[Floats, ...]:
    """Bring columns to one length; a single number stands for all rows.

    Parameters
    ----------
    ask : Ask
        Collects what is wrong; raises what it has.
    *columns : ndarray
        Checked columns.

    Returns
    -------
    tuple of ndarray (R,)
        The columns.

    Examples
    --------
    >>> [c.shape for c in same_rows(Ask("a sum"), np.zeros(3), np.array(1.0))]
    [(3,), (3,)]
    """
    ask.done()
    rows = {c.size for c in columns if c.ndim}
    if len(rows - {1}) > 1 or any(c.ndim > 1 for c in columns):
        ask.refuse("columns", [c.shape for c in columns], "columns of one length, or single numbers")
    ask.done()
    return tuple(np.broadcast_arrays(*(np.atleast_1d(c) for c in columns)))


def line_volumes(
    lengths: Column, widths: Column, dry: Column, liquid: Liquid, *, gap_sections: Column = 0.0
) -> Floats:
    """Product as sold for many films along joints.

    Parameters
    ----------
    lengths, widths, dry : array_like (R,)
        Length, width of the film, dry film [m].
    liquid : Liquid
        Solids, thinning, waste.
    gap_sections : array_like (R,)
        Filled gap section [m2].

    Returns
    -------
    ndarray (R,)
        Volume [m3], gap fill and waste included.

    Raises
    ------
    InputError
        Where a number is negative or not finite, with its row.

    Examples
    --------
    >>> line_volumes([10.0, 20.0], 0.1, 300e-6, Liquid(0.6)).round(6)
    array([0.0005, 0.001 ])
    """
    ask = Ask("the films along the joints")
    length = column(ask, "lengths", lengths)
    width = column(ask, "widths", widths, above_zero=True)
    film = column(ask, "dry", dry, above_zero=True)
    gap = column(ask, "gap_sections", gap_sections)
    length, width, film, gap = same_rows(ask, length, width, film, gap)
    section = width * film * liquid.wet_per_dry + gap
    return np.asarray(length * section * liquid.bought_per_laid)


def cover_volumes(areas: Column, fills: Column, counts: Column, dry: float, liquid: Liquid) -> Floats:
    """Product as sold for many kinds of piece.

    Parameters
    ----------
    areas, fills : array_like (R,)
        Area [m2] and filled volume [m3] of one piece.
    counts : array_like (R,)
        How many of each.
    dry : float
        Dry film [m].
    liquid : Liquid
        Solids, thinning, waste.

    Returns
    -------
    ndarray (R,)
        Volume [m3].

    Examples
    --------
    >>> cover_volumes([0.05], [1e-5], [10], 300e-6, Liquid(0.6)).round(6)
    array([0.00035])
    """
    ask = Ask("the films on the pieces")
    area = column(ask, "areas", areas)
    fill = column(ask, "fills", fills)
    count = column(ask, "counts", counts)
    ask.positive("dry", dry, "m")
    area, fill, count = same_rows(ask, area, fill, count)
    return np.asarray(count * (area * dry * liquid.wet_per_dry + fill) * liquid.bought_per_laid)


def tape_lengths(lengths: Column, laying: Laying, *, t_joints: Column = 0.0) -> Floats:
    """Tape for many straight runs, laps included.

    Parameters
    ----------
    lengths : array_like (R,)
        Joints [m].
    laying : Laying
        Strip and lap.
    t_joints : array_like (R,)
        Ends that lap over another tape.

    Returns
    -------
    ndarray (R,)
        Tape [m]: ``L + t·lap + (n − 1)·lap``.

    Examples
    --------
    >>> tape_lengths([10.0, 0.0], Laying(strip=3.0, lap=0.05), t_joints=[2, 0])
    array([10.25,  0.  ])
    """
    ask = Ask("the tape for the joints")
    length = column(ask, "lengths", lengths)
    ends = column(ask, "t_joints", t_joints)
    length, ends = same_rows(ask, length, ends)
    covered = length + np.where(length > 0, ends, 0.0) * laying.lap
    strips = np.ceil((covered - laying.lap) / (laying.strip - laying.lap) - 1e-9)
    joins = np.where(strips > 1, strips - 1, 0.0)
    return np.asarray(covered + joins * laying.lap)


def whole(use: Column) -> Ints:
    """Whole packs for uses in packs: rounded up, a hair of float noise forgiven.

    Parameters
    ----------
    use : array_like
        Use in packs.

    Returns
    -------
    ndarray of int
        Packs.

    Examples
    --------
    >>> whole([0.0, 0.2, 3.0, 3.01])
    array([0, 1, 3, 4])
    """
    ask = Ask("whole packs")
    packs = column(ask, "use", use)
    ask.done()
    return np.ceil(packs * (1 - 1e-12) - 1e-9).astype(np.int64)
