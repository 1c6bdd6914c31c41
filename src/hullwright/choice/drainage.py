"""Rain that gets in, summed along the drainage paths for a plan as a whole.

A joint with flaws lets in the share ``1 - exp(-G·b·c·f)`` of the water that comes to it: G flaws a metre or piece (each counted by
its size), b the width a flaw takes water from, c the share of that which enters, f the metres or pieces for each metre of stream that
comes. A joint left open lets in its share, ``water.open_share`` of what meets it, spread by the run's factor. For few flaws that is
the N·c·b·S of the sums; it never passes what comes, and what enters does not pass below.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.choice.sums import Terms
from hullwright.exposure import Chain, Exposure, weight
from hullwright.exposure.adding import added
from hullwright.exposure.beads import SPREAD
from hullwright.joints.model import JointSet

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_NEARLY_ALL: Final = 0.9
_SAME_HEIGHT: Final = 2  # digits of a metre


@dataclass(frozen=True, slots=True)
class Drainage:
    """Drainage paths by run.

    Parameters
    ----------
    fallen : float
        What falls on the hull over the days exposed [L].
    node, run : ndarray (K,)
        Which run lets water in at which node of the paths; each pair once.
    flawed : ndarray (K,)
        Metres or pieces of the run for each metre of stream that passes there [1/m, or pieces/m].
    opened : ndarray (K,)
        Metres or pieces for each metre of what a unit left open takes from.
    chain : Chain
        From node to node, top down.
    """

    fallen: float
    node: Ints
    run: Ints
    flawed: Floats
    opened: Floats
    chain: Chain

    @property
    def nodes(self) -> int:
        """Number of nodes."""
        return len(self.chain.own)

    def appetite(self, terms: Terms, flaws: Floats) -> Floats:
        """Exponents of the flaws (K,), for flaws a unit of each run (R,) counted by size."""
        found: Floats = (flaws * terms.gather * terms.enters)[self.run] * self.flawed
        return found

    def thirst(self, terms: Terms) -> Floats:
        """Exponents of what is left open (K,)."""
        return _exponent(terms.open[self.run] * self.opened)

    def expected(self, terms: Terms) -> Floats:
        """Exponents at the expected number of flaws (K,)."""
        return self.appetite(terms, terms.flaws) + self.thirst(terms)

    def entered(self, terms: Terms) -> tuple[Floats, float]:
        """Water that enters by run (R,), and that runs off, at the expected number of flaws [L].

        Parameters
        ----------
        terms : Terms
            Terms of the chosen options, one entry a run.
        """
        exponent = self.expected(terms)
        whole = added(self.node, exponent, self.nodes)
        entered, off = self.chain.run(taken(whole))
        part = np.divide(exponent, whole[self.node], out=np.zeros(len(exponent)), where=exponent > 0)
        return added(self.run, entered[self.node] * part, len(terms.quantity)), float(off)

    def changed(self, terms: Terms, rows: Sequence[tuple[int, Terms]]) -> Floats:
        """Water that enters the whole house where one run is sealed otherwise, for each change by itself (V,) [L].

        Parameters
        ----------
        terms : Terms
            Terms of the chosen options, one entry a run.
        rows : sequence of (run, Terms)
            The run, and terms of one entry that takes the place of its own.
        """
        exponent = self.expected(terms)
        whole = np.repeat(added(self.node, exponent, self.nodes)[:, None], len(rows), axis=1)
        order = np.argsort(self.run, kind="stable")
        bounds = np.searchsorted(self.run[order], np.arange(len(terms.quantity) + 1))
        for column, (run, other) in enumerate(rows):
            here = order[bounds[run] : bounds[run + 1]]
            flaws = float((other.flaws * other.gather * other.enters)[0]) * self.flawed[here]
            opened = _exponent(float(other.open[0]) * self.opened[here])
            whole[self.node[here], column] += flaws + opened - exponent[here]
        # What was taken off and put on again may leave a hair below nothing.
        entered, _ = self.chain.run(taken(np.maximum(whole, 0.0)))
        total: Floats = entered.sum(axis=0)
        return total


def taken(exponent: Floats) -> Floats:
    """Share that enters."""
    share: Floats = -np.expm1(-exponent)
    return share


def _exponent(share: Floats) -> Floats:
    """Exponent that takes a share; beyond nine tenths it goes on straight, for no share is all."""
    below = -np.log1p(-np.minimum(share, _NEARLY_ALL))
    found: Floats = below + np.maximum(share - _NEARLY_ALL, 0.0) / (1.0 - _NEARLY_ALL)
    return found


def drainage(exposure: Exposure, joints: JointSet) -> Drainage:
    """Take nodes of one run at one height together: they let in the same share.

    Parameters
    ----------
    exposure : Exposure
    joints : JointSet

    Returns
    -------
    Drainage
    """
    streams = exposure.streams
    letting = np.full(len(joints.joints), -1, dtype=np.int64)
    for number, run in enumerate(joints.runs):
        letting[list(run.joints)] = number
    group = _groups(exposure, joints, letting)
    links = streams.links.merged(group)
    runs = max(len(joints.runs), 1)
    on = letting[streams.joint] >= 0
    pair, place = np.unique(group[streams.node[on]] * runs + letting[streams.joint[on]], return_inverse=True)
    size = np.array([weight(one) for one in joints.joints])[streams.joint[on]]
    reach = links.reach[pair // runs]
    flawed, opened = (
        np.divide(added(place, size * water[on], len(pair)), reach, out=np.zeros(len(pair)), where=reach > 0)
        for water in (streams.passing, streams.open)
    )
    wet = (flawed > 0) | (opened > 0)
    return Drainage(
        streams.fallen, (pair // runs)[wet], (pair % runs)[wet], flawed[wet], opened[wet], links.chain()
    )


def _groups(exposure: Exposure, joints: JointSet, letting: Ints) -> Ints:
    """Number of the group of each node (N,)."""
    streams, count = exposure.streams, len(joints.joints)
    nodes = len(streams.links.own)
    joint = np.full(nodes, -1, dtype=np.int64)
    # Nail heads take at nodes of other joints: those are no place of their own.
    own = np.array([joints.joints[j].kind not in SPREAD for j in streams.joint.tolist()], dtype=np.bool_)
    joint[streams.node[own]] = streams.joint[own]
    heights = [round(float(one.points[:, 2].min()), _SAME_HEIGHT) for one in joints.joints]
    keys: dict[tuple[object, ...], int] = {}
    return np.array(
        [
            keys.setdefault(
                (int(letting[j]), heights[j], node < count) if j >= 0 and letting[j] >= 0 else ("", node),
                len(keys),
            )
            for node, j in enumerate(joint.tolist())
        ],
        dtype=np.int64,
    )
