"""Balance: the mean film that was laid, the waste learned from a lift of work, and the refusal of solids by weight."""

from __future__ import annotations

from dataclasses import dataclass

from hullwright.errors import InputError, Problem, Where
from hullwright.material.ask import Ask
from hullwright.material.film import Liquid


@dataclass(frozen=True, slots=True)
class MeanFilm:
    """Mean film proven by mass balance.

    Parameters
    ----------
    wet, dry : float
        Mean thickness [m].
    """

    wet: float
    dry: float


def mass_balance(used: float, area: float, liquid: Liquid) -> MeanFilm:
    """Mean film from the volume that went on an area.

    Parameters
    ----------
    used : float
        Volume as sold that was laid [m3]: waste and left-overs already taken off.
    area : float
        Covered area [m2].
    liquid : Liquid
        Solids and thinning. Its waste is not used.

    Returns
    -------
    MeanFilm
        ``wet = V·(1 + T)/A``, ``dry = V·VS/A``.

    Examples
    --------
    >>> mean = mass_balance(1e-3, 2.0, Liquid(0.6))
    >>> round(mean.wet * 1e6), round(mean.dry * 1e6)
    (500, 300)
    """
    ask = Ask("the mean film")
    ask.positive("used", used, "m3")
    ask.positive("area", area, "m2")
    ask.done()
    wet = used * (1.0 + liquid.thinned) / area
    return MeanFilm(wet=wet, dry=used * liquid.solids / area)


def learned_waste(mean_wet: float, area: float, opened: float) -> float:
    """Waste of a lift of work, learned from readings and opened packs.

    Parameters
    ----------
    mean_wet : float
        Measured mean wet film [m], unthinned.
    area : float
        Covered area [m2].
    opened : float
        Volume of the packs opened, full rests taken back off [m3].

    Returns
    -------
    float
        ``W = 1 − film·area/opened``.

    Raises
    ------
    InputError
        Where more would have been laid than was opened: a reading, the area or the count is wrong.

    Examples
    --------
    >>> round(learned_waste(500e-6, 17.0, 0.01), 6)
    0.15
    """
    ask = Ask("the learned waste")
    ask.positive("mean_wet", mean_wet, "m")
    ask.positive("area", area, "m2")
    ask.positive("opened", opened, "m3")
    if not ask.problems and mean_wet * area > opened:
        laid = f"{mean_wet * area * 1e3:.4g} L laid, {opened * 1e3:.4g} L opened"
        ask.refuse("opened", laid, "at least what was laid", "count the packs and check the readings again")
    ask.done()
    return 1.0 - mean_wet * area / opened


def solids_by_volume(volume: float | None, weight: float | None = None) -> float:
    """Solids to be used, or a refusal.

    Parameters
    ----------
    volume, weight : float or None
        Solids by volume and by weight as the sheet has them, share.

    Returns
    -------
    float
        Solids by volume.

    Raises
    ------
    InputError
        Where only the solids by weight are known, or none.

    Examples
    --------
    >>> solids_by_volume(0.55, 0.68)
    0.55
    """
    if volume is not None:
        return Liquid(volume).solids
    if weight is None:
        got, hint = "no solids", "take the solids by volume from the product sheet"
    else:
        got = f"{weight:g} by weight only"
        hint = "ask the maker for the solids by volume: weight says nothing on thickness"
    problem = Problem(
        "the film can't be worked out without solids by volume",
        Where(key="solids"),
        got,
        "solids by volume",
        hint,
    )
    raise InputError("no solids by volume", [problem])
