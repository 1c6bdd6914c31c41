"""Film: wet and dry thickness, how far a volume goes, what a gap takes.

Sources: the ratio of dry to wet film is the share of solids by volume, thinning included (ASTM D4414-95(2020), 4.2);
1 US gal = 231 in3 (NIST Handbook 44, Appendix C), so one gallon covers 231/144/0.001 = 1604.1667 ft2 at 1 mil.

Waste is a *share of what is used*: bought = laid ÷ (1 − W). The other convention, laid × (1 + W), gives less: at 15 per cent
it adds 15.0 per cent where this one adds 17.6 per cent. Only the first is used here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from hullwright.material.ask import Ask
from hullwright.units import FOOT, GALLON, MIL

COVERAGE_US: Final = GALLON / (FOOT**2 * MIL)
"""ft2 that one US gallon covers at 1 mil: 1604.1667 ft2·mil/gal."""

WASTE_CONVENTION: Final = "bought = laid ÷ (1 − waste): waste is a share of what is used"


@dataclass(frozen=True, slots=True)
class Liquid:
    """What a liquid does to the sums.

    Parameters
    ----------
    solids : float
        Solids *by volume*, share above 0 up to 1.
    thinned : float
        Thinner added, volume per volume of product as sold.
    waste : float
        Share of what is used that is lost (rest in the pack, purge, drips), below 1.

    Raises
    ------
    InputError
        Where a number is outside its range.

    Examples
    --------
    >>> round(Liquid(solids=0.6, waste=0.15).bought_per_laid, 4)
    1.1765
    """

    solids: float
    thinned: float = 0.0
    waste: float = 0.0

    def __post_init__(self) -> None:
        ask = Ask("a liquid")
        ask.share("solids", self.solids)
        ask.not_negative("thinned", self.thinned, "volume per volume")
        ask.loss("waste", self.waste)
        ask.done()

    @property
    def wet_per_dry(self) -> float:
        """Wet film for a dry film of 1: ``(1 + T)/VS``."""
        return (1.0 + self.thinned) / self.solids

    @property
    def bought_per_laid(self) -> float:
        """Product as sold for 1 of wet material laid: ``1/((1 + T)(1 − W))``."""
        return 1.0 / ((1.0 + self.thinned) * (1.0 - self.waste))


@dataclass(frozen=True, slots=True)
class Gap:
    """A gap that is filled before or with the film.

    Parameters
    ----------
    width, depth : float
        Width of the gap and depth to which it is filled [m]; both 0 where nothing is filled.

    Examples
    --------
    >>> Gap(0.003, 0.006).section
    1.8e-05
    """

    width: float
    depth: float

    def __post_init__(self) -> None:
        ask = Ask("a gap")
        ask.not_negative("gap", self.width, "m")
        ask.not_negative("depth", self.depth, "m")
        if not ask.problems and (self.width > 0) != (self.depth > 0):
            ask.refuse(
                "depth",
                self.depth,
                "gap and fill depth together, or neither",
                "measure the gap and say how deep it is filled (through the panel: its thickness)",
            )
        ask.done()

    @property
    def section(self) -> float:
        """Filled section [m2]."""
        return self.width * self.depth


NO_GAP: Final = Gap(0.0, 0.0)


def joint_section(width: float, wet: float, gap: Gap = NO_GAP, fillet: float = 0.0) -> float:
    """Wet material that a metre of joint takes: the one sum of film, gap fill and fillet.

    Parameters
    ----------
    width, wet : float
        Width of the film, both sides together, and wet film [m].
    gap : Gap
        Gap that is filled with the same material.
    fillet : float
        Section of the fillet in the heel of a folded joint [m2].

    Returns
    -------
    float
        [m2] = [m3 per m].

    Examples
    --------
    >>> round(joint_section(3 * 0.0254, 20 * 25.4e-6, Gap(0.0254 / 8, 0.0254 / 4)) * 12 / 0.0254**2, 3)  # in3 per ft
    1.095
    """
    return width * wet + gap.section + fillet


@dataclass(frozen=True, slots=True)
class Line:
    """A film along a joint, with the gap under it.

    Parameters
    ----------
    width : float
        Width of the film, both sides together [m].
    dry : float
        Dry film thickness [m].
    liquid : Liquid
        Solids, thinning, waste.
    gap : Gap
        Gap under the film. Its fill counts as wet material laid.

    Raises
    ------
    InputError
        Where a number is outside its range, or the gap as wide as the film.

    Examples
    --------
    3 in at 20 mil wet over a 1/8 in gap filled 1/4 in deep: the gap takes a third.

    >>> line = Line(3 * 0.0254, 20 * 25.4e-6, Liquid(1.0), Gap(0.0254 / 8, 0.0254 / 4))
    >>> round(line.gap_share, 3), round(line.section * 12 / 0.0254**2, 3)  # in3 per ft
    (0.342, 1.095)
    """

    width: float
    dry: float
    liquid: Liquid
    gap: Gap = NO_GAP

    def __post_init__(self) -> None:
        ask = Ask("a film along a joint")
        ask.positive("width", self.width, "m")
        ask.positive("dry", self.dry, "m")
        if not ask.problems and self.gap.width >= self.width:
            ask.refuse(
                "gap",
                f"gap {self.gap.width} m under a film {self.width} m wide",
                "a film wider than the gap, so that it bonds on each side",
                "widen the film, or close the gap first",
            )
        ask.done()

    @property
    def wet(self) -> float:
        """Wet film thickness [m]."""
        return self.dry * self.liquid.wet_per_dry

    @property
    def film_section(self) -> float:
        """Wet section of the film alone [m2]."""
        return self.width * self.wet

    @property
    def section(self) -> float:
        """Wet section of film and gap fill [m2] = [m3 per m]."""
        return joint_section(self.width, self.wet, self.gap)

    @property
    def gap_share(self) -> float:
        """Share of the laid material that the gap takes."""
        return self.gap.section / self.section

    @property
    def bought(self) -> float:
        """Product as sold for one metre, waste included [m3/m]."""
        return self.section * self.liquid.bought_per_laid

    @property
    def bead(self) -> float:
        """Diameter of the one round bead that holds the film alone [m]: ``sqrt(4·W·t/π)``."""
        return math.sqrt(4.0 * self.film_section / math.pi)

    @property
    def bead_with_gap(self) -> float:
        """Diameter of the one round bead that holds film and gap fill [m]."""
        return math.sqrt(4.0 * self.section / math.pi)

    def length_per(self, pack: float) -> float:
        """How far one pack goes.

        Parameters
        ----------
        pack : float
            Label volume of a pack [m3].

        Returns
        -------
        float
            Length [m], gap fill and waste included.
        """
        ask = Ask("the length per pack")
        ask.positive("pack", pack, "m3")
        ask.done()
        return pack / self.bought


def wet_film(dry: float, solids: float, *, thinned: float = 0.0) -> float:
    """Wet film that dries to `dry`.

    Parameters
    ----------
    dry : float
        Dry film [m].
    solids : float
        Solids by volume, share.
    thinned : float
        Thinner added, volume per volume.

    Returns
    -------
    float
        Wet film [m]: ``DFT·(1 + T)/VS``.

    Examples
    --------
    >>> round(wet_film(12, 0.6), 6), round(wet_film(12, 0.6, thinned=0.1), 6)  # any unit of length
    (20.0, 22.0)
    """
    ask = Ask("the wet film")
    ask.positive("dry", dry, "m")
    ask.done()
    return dry * Liquid(solids, thinned).wet_per_dry


def dry_film(wet: float, solids: float, *, thinned: float = 0.0) -> float:
    """Dry film that a wet film is expected to leave.

    Some coatings dry thicker than this (ASTM D4414, 4.2): never turn the sum round to find the solids from readings.

    Parameters
    ----------
    wet : float
        Wet film [m].
    solids : float
        Solids by volume, share.
    thinned : float
        Thinner added, volume per volume.

    Returns
    -------
    float
        Dry film [m]: ``WFT·VS/(1 + T)``.

    Examples
    --------
    >>> round(dry_film(20, 0.6), 6)
    12.0
    """
    ask = Ask("the dry film")
    ask.positive("wet", wet, "m")
    ask.done()
    return wet / Liquid(solids, thinned).wet_per_dry


def theoretical_spread(dry: float, solids: float) -> float:
    """Area that a volume as sold covers, nothing lost.

    Parameters
    ----------
    dry : float
        Dry film [m].
    solids : float
        Solids by volume, share.

    Returns
    -------
    float
        Spread [m2/m3]: ``VS/DFT``.

    Examples
    --------
    >>> from hullwright.units import FOOT, GALLON, MIL
    >>> round(theoretical_spread(12 * MIL, 0.6) * GALLON / FOOT**2, 2)  # ft2/gal
    80.21
    """
    return 1.0 / wet_film(dry, solids)


def practical_spread(dry: float, liquid: Liquid) -> float:
    """Area that a volume as sold covers, waste taken off.

    Parameters
    ----------
    dry : float
        Dry film [m].
    liquid : Liquid
        Solids and waste; thinning changes nothing here, since it is counted per volume as sold.

    Returns
    -------
    float
        Spread [m2/m3]: ``(1 − W)·VS/DFT``.

    Examples
    --------
    >>> round(practical_spread(300e-6, Liquid(0.6, waste=0.15)), 3)
    1700.0
    """
    return theoretical_spread(dry, liquid.solids) * (1.0 - liquid.waste)


def area_volume(area: float, dry: float, liquid: Liquid) -> float:
    """Volume as sold for a coated area.

    Parameters
    ----------
    area : float
        Area [m2].
    dry : float
        Dry film [m].
    liquid : Liquid
        Solids and waste.

    Returns
    -------
    float
        Volume [m3]: area ÷ practical spread.

    Examples
    --------
    >>> round(area_volume(17.0, 300e-6, Liquid(0.6, waste=0.15)), 6)
    0.01
    """
    ask = Ask("the volume for an area")
    ask.not_negative("area", area, "m2")
    ask.done()
    return area / practical_spread(dry, liquid)
