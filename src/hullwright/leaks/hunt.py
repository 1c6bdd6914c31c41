"""Hunt list: the walk that finds most leakage per minute.

A *stop* is what can be looked at from one place: the joints of one face in one band of height. The order makes the sum of
(leakage found × time when it is found) small: without walking that is Smith's rule, most leakage per minute first (Smith
1956, *Various optimizers for single-stage production*); with walking and ladders a start by that rule is mended by moving
and turning stretches of the walk.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hullwright.leaks.components import Component, flow_per_area
from hullwright.leaks.evidence_seen import SEEN_BEST, SEEN_HALF

Floats = NDArray[np.float64]


@cache
def looking() -> dict[str, Any]:
    """How each kind is looked at, with paces and marks."""
    return tomllib.loads((files("hullwright.leaks") / "data" / "looking.toml").read_text(encoding="utf-8"))


def way_to_look(kind: str) -> tuple[str, tuple[str, ...]]:
    """Method of ASTM E1186 for a kind of joint, and what to bring."""
    data = looking()
    row = data[data["kinds"].get(kind, "smoke")]
    return str(row["name"]), tuple(row["bring"])


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of the walk.

    Parameters
    ----------
    name : str
        Face and height band, in words.
    members : tuple of int
        Component numbers.
    minutes : float
        Looking and ladder [min].
    at : tuple of float
        Where one stands [m].
    gain : float
        Leakage that is expected to be seen there [m3/h at 50 Pa].
    method : str
    bring : tuple of str
    """

    name: str
    members: tuple[int, ...]
    minutes: float
    at: tuple[float, float, float]
    gain: float
    method: str
    bring: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Visit:
    """A stop in its turn: minutes for it with the way there, and the clock when it is done [min]."""

    stop: Stop
    minutes: float
    clock: float


def expected_seen(flows: Floats) -> Floats:
    """Leakage of each component that a look is expected to find (J,).

    Parameters
    ----------
    flows : ndarray (draws, J)
        Posterior draws [m3/h at 50 Pa].

    Returns
    -------
    ndarray (J,)
        Mean over the draws of flow × chance to be seen [m3/h at 50 Pa].

    Examples
    --------
    >>> import numpy as np
    >>> [float(x) for x in expected_seen(np.array([[0.0, 1000.0]])).round(1)]
    [0.0, 950.0]
    """
    chance = SEEN_BEST.value * (1.0 - 0.5 ** (flows / SEEN_HALF.value))
    seen: Floats = (flows * chance).mean(axis=0)
    return seen


def metres_up(low: float, high: float) -> str:
    """Words for a height above the ground, from `low` to `high` [m]."""
    return f"{low:.0f}–{high:.0f} m up"


def feet_up(low: float, high: float) -> str:
    """Words for a height above the ground, from `low` to `high` [m], in feet.

    Examples
    --------
    >>> feet_up(6.0, 9.0)
    '20–30 ft up'
    """
    return f"{low / 0.3048:.0f}–{high / 0.3048:.0f} ft up"


def stops(
    components: Sequence[Component],
    seen: Floats,
    *,
    band: float = 3.0,
    up: Callable[[float, float], str] = metres_up,
) -> tuple[Stop, ...]:
    """Group components into stops.

    Parameters
    ----------
    components : sequence of Component
    seen : ndarray (J,)
        From :func:`expected_seen`; components with 0 (already looked at and mended) make no stop.
    band : float
        Height of a band [m].
    up : callable
        Words for a height, from and to [m].
    """
    pace = looking()["pace"]
    groups: dict[tuple[str, int, str], list[int]] = {}
    for number, c in enumerate(components):
        if seen[number] > 0 and c.sort != "material":
            way = looking()["kinds"].get(c.kind, "smoke")
            groups.setdefault((c.face, int(max(c.height, 0.0) // band), way), []).append(number)
    out: list[Stop] = []
    for (face, level, way), numbers in sorted(groups.items()):
        chosen = [components[k] for k in numbers]
        pieces = sum(c.quantity for c in chosen if c.sort != "joint" or _piece(c))
        metres = sum(c.quantity for c in chosen if c.sort == "joint" and not _piece(c))
        minutes = metres / pace["line_m_per_min"] + pieces * pace["piece_min"]
        high = max(c.height for c in chosen)
        minutes += pace["ladder_min"] if high > pace["ladder_from_m"] else 0.0
        middle = (
            np.nanmean(np.array([c.at for c in chosen]), axis=0)
            if any(c.at[0] == c.at[0] for c in chosen)
            else np.zeros(3)
        )
        method, bring = str(looking()[way]["name"]), tuple(looking()[way]["bring"])
        if high > pace["ladder_from_m"]:
            bring = (*bring, "ladder or scaffold with fall protection")
        height = "from the ground" if level == 0 else up(level * band, (level + 1) * band)
        name = f"{face or 'house'}, {height}"
        out.append(
            Stop(
                name,
                tuple(numbers),
                float(minutes),
                (float(middle[0]), float(middle[1]), float(middle[2])),
                float(seen[numbers].sum()),
                method,
                bring,
            )
        )
    return tuple(out)


def _piece(component: Component) -> bool:
    from hullwright.joints.model import JointKind  # noqa: PLC0415 - one word needed

    try:
        return JointKind(component.kind).piece
    except ValueError:
        return True


def walk(places: Sequence[Stop], *, start: tuple[float, float, float] | None = None) -> tuple[Visit, ...]:
    """Put the stops in the order that finds most leakage per minute.

    Parameters
    ----------
    places : sequence of Stop
    start : tuple of float, optional
        Where the walk begins [m]; by default nothing is walked to the first stop.

    Returns
    -------
    tuple of Visit
    """
    if not places:
        return ()
    ways = _ways(places, start)
    gain = np.array([s.gain for s in places])
    look = np.array([s.minutes for s in places])
    firsts = sorted(range(len(places)), key=lambda k: -gain[k] / max(look[k], 1e-9))[:6]
    trials = [_mend(_greedy(gain, look, ways, first), gain, look, ways) for first in firsts]
    order = min(trials, key=lambda trial: cost(trial, gain, look, ways))
    visits: list[Visit] = []
    clock, before = 0.0, len(places)
    for k in order:
        spent = float(ways[before, k] + look[k])
        clock += spent
        visits.append(Visit(places[k], spent, clock))
        before = k
    return tuple(visits)


def _ways(places: Sequence[Stop], start: tuple[float, float, float] | None) -> Floats:
    """Walking minutes from row to column; the last row is the start."""
    at = np.array([s.at[:2] for s in places])
    first = (
        np.full((1, len(at)), 0.0)
        if start is None
        else np.linalg.norm(at - np.array(start[:2]), axis=1)[None, :]
    )
    between = np.linalg.norm(at[:, None] - at[None], axis=2)
    minutes: Floats = np.vstack([between, first]) / float(looking()["pace"]["walk_m_per_min"])
    return minutes


def _greedy(gain: Floats, look: Floats, ways: Floats, first: int) -> list[int]:
    left, order, at = set(range(len(gain))) - {first}, [first], first
    while left:
        rate = {k: float(gain[k] / max(look[k] + ways[at, k], 1e-9)) for k in left}
        at = max(sorted(left), key=rate.__getitem__)
        order.append(at)
        left.remove(at)
    return order


def cost(order: Sequence[int], gain: Floats, look: Floats, ways: Floats) -> float:
    """Sum of leakage × the minute it is found: what the walk makes small."""
    index = np.asarray(order)
    before = np.concatenate([[len(gain)], index[:-1]])
    return float(gain[index] @ np.cumsum(ways[before, index] + look[index]))


def _mend(order: list[int], gain: Floats, look: Floats, ways: Floats, *, rounds: int = 6) -> list[int]:
    """Move stretches of up to three stops and turn stretches round as long as that helps."""
    best = cost(order, gain, look, ways)
    for _ in range(rounds):
        before = best
        for i in range(len(order)):
            for trial in _neighbours(order, i):
                value = cost(trial, gain, look, ways)
                if value < best - 1e-9:
                    order, best = trial, value
        if best > before - 1e-9:
            break
    return order


def _neighbours(order: list[int], i: int, reach: int = 10) -> Iterator[list[int]]:
    near = range(max(0, i - reach), min(len(order), i + reach + 1))
    for length in (1, 2, 3):
        stretch, rest = order[i : i + length], order[:i] + order[i + length :]
        for j in near:
            if j != i:
                yield rest[:j] + stretch + rest[j:]
    for j in near:
        if j > i + 1:
            yield order[:i] + order[i : j + 1][::-1] + order[j + 1 :]


def cm2(flow: float) -> float:
    """Flow at 50 Pa [m3/h] as effective leakage area at 4 Pa [cm2]."""
    return flow / flow_per_area(50.0)
