"""What the catalogue holds: methods, products, substrates, rules, figures, compatibility, cautions.

Lengths [m], volumes [m3], money a pack in the user's currency. Every number that is not on a product sheet is a
:class:`hullwright.evidence.Figure` under a dotted key (``flaws.tape``, ``unsealed.floor line``, …).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from hullwright.catalog.rules import Rule
from hullwright.errors import NOWHERE, CatalogError, Problem, Where
from hullwright.evidence import Caution, Evidence, Figure, Mark

Form = Literal[
    "tape",
    "stretch tape",
    "liquid",
    "sealant",
    "gasket",
    "boot",
    "coat",
    "listed system",
    "flue collar",
    "weatherstrip",
    "cover",
    "lumber",
    "primer",
    "rod",
]
PackUnit = Literal["m3", "m", "piece"]
Verdict = Literal["fits", "fails", "unknown"]


@dataclass(frozen=True, slots=True)
class Method:
    """A way to seal a joint.

    Parameters
    ----------
    id : str
        Key, also the column of the starting figures.
    name : str
        What the trade calls it.
    form : str
        Form of the products it takes, '' for none.
    prepared : tuple of str
        Preparations that may go with it: primer, filler, blocking.
    evidence : Evidence
        Where its description comes from.
    """

    id: str
    name: str
    form: str
    prepared: tuple[str, ...]
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class Usual:
    """A figure that a sheet leaves out, and what is taken for it.

    Parameters
    ----------
    key : str
        Key of the sheet.
    value : str or float
        As it would stand on a sheet, with its unit; a share as a number.
    evidence : Evidence
        How far it can be trusted.
    """

    key: str
    value: str | float
    evidence: Evidence

    def told(self) -> str:
        """Say it in a few words.

        Examples
        --------
        >>> from hullwright.evidence import ESTIMATE
        >>> Usual("waste", 0.05, ESTIMATE).told()
        'waste 5 %'
        """
        return (
            f"{self.key} {self.value * 100:g} %"
            if isinstance(self.value, float)
            else f"{self.key} {self.value}"
        )


@dataclass(frozen=True, slots=True)
class Product:
    """One product sheet.

    Parameters
    ----------
    id, name : str
    form : str
        What it is; decides the method.
    chemistry : str
        Class in the compatibility table.
    price : float
        Money a pack.
    pack : float
        Content of a pack: volume [m3], length [m] or pieces, as `pack_unit` says.
    width : float
        Width of a tape, or of the film along a joint [m].
    least, stated_aim, greatest : float
        Dry film of the sheet [m]: the least, what the sheet itself aims at, and the greatest; 0 where the sheet states none. What
        is laid is chosen with the readings that prove it, never read off here (:mod:`hullwright.choice.films`).
    solids : float
        Solids by volume (share), 1 where nothing dries.
    coverage : float
        Coverage as printed on the sheet [m2/m3], 0 where none is printed.
    gap_direct, gap_filled : float
        Widest gap it takes without and with filling first [m].
    temp_low, temp_high : float
        Surface temperature range [degC].
    primer : mapping
        Substrate key to ``needed`` or ``advised``; not listed: not needed.
    primers : tuple of str
        Products that prime for it.
    sun_days : float
        Most days bare in the sun [d].
    rain_hours : float
        Hours to rain-safe [h].
    vapour_class : int
        1, 2, 3, or 4 for vapour open.
    movement : float
        Share of the joint width it can follow, 0 where the sheet states none.
    waste : float
        Share of what is used that is lost.
    fits : tuple of str
        Product ids and chemistry classes that its sheet, a letter or a patch test says it fits.
    cures_in_pack : bool
        The rest of an opened pack is lost by the next morning.
    generic : bool
        Invented, part of the generic set.
    number : str
        What the supplier's price list calls it; '' where not stated.
    printed : mapping
        Film figures as they stand on the sheet (wet, dry, solids, coverage), for the cross-check.
    usual : tuple of Usual
        What the sheet leaves out and the usual value of its form stands for.
    """

    id: str
    name: str
    form: Form
    chemistry: str
    price: float
    pack: float
    pack_unit: PackUnit
    evidence: Evidence
    width: float = 0.0
    least: float = 0.0
    stated_aim: float = 0.0
    greatest: float = 0.0
    solids: float = 1.0
    coverage: float = 0.0
    gap_direct: float = 0.0
    gap_filled: float = 0.0
    temp_low: float = float("-inf")
    temp_high: float = float("inf")
    primer: Mapping[str, str] = field(default_factory=dict[str, str])
    primers: tuple[str, ...] = ()
    sun_days: float = float("inf")
    rain_hours: float = 0.0
    vapour_class: int = 4
    movement: float = 0.0
    waste: float = 0.0
    fits: tuple[str, ...] = ()
    cures_in_pack: bool = False
    generic: bool = False
    note: str = ""
    number: str = ""
    where: Where = NOWHERE
    printed: Mapping[str, tuple[str, ...]] = field(default_factory=dict[str, tuple[str, ...]])
    usual: tuple[Usual, ...] = ()


@dataclass(frozen=True, slots=True)
class Substrate:
    """A surface that a method must stick to.

    Parameters
    ----------
    id, name : str
    rows : mapping
        State of the surface (``clean``, ``dusty``, ``damp``, ``rough``) to the row of the surface factors.
    chemistry : str
        Class in the compatibility table, '' where it does not matter.
    permeance : Figure
        Air through the material itself at 75 Pa [L/(s m2)].
    """

    id: str
    name: str
    rows: Mapping[str, str]
    chemistry: str
    permeance: Figure


@dataclass(frozen=True, slots=True)
class Kind:
    """Where a joint kind finds its figures.

    Parameters
    ----------
    row : str
        Row of the starting figures.
    inert : bool
        Nothing to seal by itself: continuous material, or covered by another joint's band.
    note : str
        Said where a kind borrows its figures.
    """

    row: str
    inert: bool
    note: str


@dataclass(frozen=True, slots=True)
class Pair:
    """What is known of two material classes that touch."""

    verdict: Verdict
    text: str
    evidence: Evidence


UNTESTED = Pair(
    "unknown",
    "nothing known of this pair: ask for a sheet or letter, or make a 7-day patch test before the work",
    Evidence(Mark.ESTIMATE),
)


@dataclass(frozen=True, slots=True)
class Catalog:
    """All that is known of methods and materials for one job.

    Parameters
    ----------
    figures : mapping
        Dotted key to Figure.
    pairs : mapping
        (class, class), alphabetical, to :class:`Pair`.
    stock : mapping
        Packs at hand by product id.
    """

    methods: Mapping[str, Method]
    products: Mapping[str, Product]
    substrates: Mapping[str, Substrate]
    kinds: Mapping[str, Kind]
    rules: tuple[Rule, ...]
    figures: Mapping[str, Figure]
    pairs: Mapping[tuple[str, str], Pair]
    cautions: Mapping[str, Caution]
    stock: Mapping[str, float] = field(default_factory=dict)

    def figure(self, key: str) -> Figure:
        """Give the figure of a key.

        Raises
        ------
        CatalogError
            Where the catalogue has none.
        """
        found = self.figures.get(key)
        if found is None:
            raise CatalogError(f"no figure {key!r}", [Problem("the catalogue has no such figure", got=key)])
        return found

    def value(self, key: str) -> float:
        """Give the value of a figure in SI."""
        return self.figure(key).value

    def find(self, key: str) -> float | None:
        """Give the value of a figure, None where there is none."""
        found = self.figures.get(key)
        return None if found is None else found.value

    def by_form(self, form: str) -> tuple[Product, ...]:
        """Give the products of a form: the user's own first, then the invented ones, each by id."""
        found = [product for product in self.products.values() if product.form == form]
        return tuple(sorted(found, key=lambda product: (product.generic, product.id)))

    def stand_in(self, product: str) -> bool:
        """Whether a product is an invented one beside the user's own."""
        return self.products[product].generic and self.owned

    def called(self, product: str) -> str:
        """Give the name of a product; an invented one beside the user's own is called a stand-in."""
        return f"{self.products[product].name}{' (stand-in)' if self.stand_in(product) else ''}"

    @property
    def owned(self) -> bool:
        """Whether the user states any product."""
        return any(not product.generic for product in self.products.values())

    def pair(self, one: str, other: str) -> Pair:
        """What is known of two material classes that touch.

        Parameters
        ----------
        one, other : str
            Chemistry classes.
        """
        return self.pairs.get((min(one, other), max(one, other)), UNTESTED)

    def together(self, one: Product, other: Product) -> Pair:
        """What is known of two products that touch: a sheet or letter wins over the table of classes."""
        if one.id == other.id:
            return Pair("fits", "the same product", Evidence(Mark.PRACTICE))
        for sheet, beside in ((one, other), (other, one)):
            if {beside.id, beside.chemistry} & set(sheet.fits):
                whose = f"{sheet.name}{', an invented sheet' if sheet.generic else ''}"
                return Pair("fits", "the sheet says so", Evidence(Mark.SHEET, whose))
        return self.pair(one.chemistry, other.chemistry)
