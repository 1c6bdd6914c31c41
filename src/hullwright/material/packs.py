"""Packs: whole ones, and what is lost each evening.

Use is counted in packs as a fraction and rounded up once per product. A product that cures in its pack loses the rest of the
opened pack each evening: half a pack a crew-day on average. That mean is added for the last evening too, where the rounding
up already holds a rest: at most half a pack on the safe side.
"""

from __future__ import annotations

from typing import Final

from hullwright.evidence import Evidence, Figure, Mark
from hullwright.material.ask import Ask
from hullwright.material.columns import whole

HALF_PACK: Final = Figure(
    0.5, "packs per crew-day", Evidence(Mark.ESTIMATE, "an opened pack is half used on average")
)


def evening_loss(crew_days: float, *, cures_in_pack: bool, per_day: float = HALF_PACK.value) -> float:
    """Packs lost because an opened one cures overnight.

    Parameters
    ----------
    crew_days : float
        Days that a crew works with the product; two crews on one day are two.
    cures_in_pack : bool
        Whether an opened pack is lost by the next morning.
    per_day : float
        Mean loss [packs per crew-day].

    Returns
    -------
    float
        Packs.

    Examples
    --------
    >>> evening_loss(4, cures_in_pack=True), evening_loss(4, cures_in_pack=False)
    (2.0, 0.0)
    """
    ask = Ask("the loss overnight")
    ask.not_negative("crew_days", crew_days, "crew-days")
    ask.part("per_day", per_day, "at most the whole opened pack is lost in an evening")
    ask.done()
    return crew_days * per_day if cures_in_pack else 0.0


def pack_use(bought: float, pack: float, *, lost: float = 0.0) -> float:
    """Use in packs.

    Parameters
    ----------
    bought : float
        Volume [m3] or length [m], waste included.
    pack : float
        Volume or length of a pack.
    lost : float
        Packs lost overnight.

    Returns
    -------
    float
        Packs, a fraction.

    Examples
    --------
    >>> round(pack_use(3e-3, 600e-6, lost=1.5), 9)
    6.5
    """
    ask = Ask("the packs")
    ask.not_negative("bought", bought, "m3 or m")
    ask.positive("pack", pack, "m3 or m")
    ask.not_negative("lost", lost, "packs")
    ask.done()
    return bought / pack + lost


def whole_packs(use: float) -> int:
    """Whole packs for a use in packs.

    Parameters
    ----------
    use : float
        Use in packs.

    Returns
    -------
    int
        Rounded up; a hair of float noise over a whole number is forgiven.

    Examples
    --------
    >>> whole_packs(6.5), whole_packs(3.0000000000001)
    (7, 3)
    """
    return int(whole(use))
