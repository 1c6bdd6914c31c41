"""Puts the catalogue of one job together: our data, then what the user stated."""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Protocol

from hullwright.catalog import reading, sheets
from hullwright.catalog.model import Catalog, Product
from hullwright.errors import CatalogError, Problem, Where
from hullwright.evidence import Evidence, Figure, Mark

_INVENTED = Evidence(Mark.ESTIMATE, "generic product, invented")
_STATED = Evidence(Mark.SHEET, "stated by the user")
ONLY_STATED = {"site.low_temperature": "degC", "site.high_temperature": "degC"}
"""Figures that have no default: where they are not stated, the rules on them say nothing."""


class Stated(Protocol):
    """What the catalogue wants to know of a job."""

    @property
    def file(self) -> str:
        """File it stands in."""
        ...

    @property
    def products(self) -> tuple[Mapping[str, object], ...]:
        """Own product sheets, as written."""
        ...

    @property
    def prices(self) -> Mapping[str, float]:
        """Money a pack by product id."""
        ...

    @property
    def stock(self) -> Mapping[str, float]:
        """Packs at hand by product id."""
        ...

    @property
    def figures(self) -> Mapping[str, Figure]:
        """Own figures by dotted key."""
        ...


@dataclass(frozen=True, slots=True)
class Nothing:
    """A job that states nothing: the catalogue as it is."""

    file: str = ""
    products: tuple[Mapping[str, object], ...] = ()
    prices: Mapping[str, float] = field(default_factory=dict[str, float])
    stock: Mapping[str, float] = field(default_factory=dict[str, float])
    figures: Mapping[str, Figure] = field(default_factory=dict[str, Figure])


def load(stated: Stated | None = None) -> Catalog:
    """Load the catalogue for a job.

    Parameters
    ----------
    stated : Stated or None
        A building, or anything with its products, prices, stock and figures.

    Returns
    -------
    Catalog
        Own sheets, prices and figures of the user in the place of ours.

    Raises
    ------
    CatalogError
        Every wrong sheet, price, stock and figure at once.

    Examples
    --------
    >>> catalog = load()
    >>> print(catalog.figure("flaws.tape"))
    0.015 1/m [estimate]
    >>> catalog.products["silyl-flashing-20"].generic
    True
    """
    job = Nothing() if stated is None else stated
    problems: list[Problem] = []
    products = _products(job, problems)
    figures = _figures(job, products, problems)
    _known(job, products, problems)
    if problems:
        raise CatalogError("the products, prices or figures can't be used", problems)
    return Catalog(
        methods=reading.methods(),
        products=products,
        substrates=reading.substrates(),
        kinds=reading.kinds(),
        rules=reading.rules(),
        figures=figures,
        pairs=reading.pairs(),
        cautions=reading.cautions(),
        stock=dict(job.stock),
    )


def starting_figures() -> dict[str, Figure]:
    """Give our own figures, before anything that a user states."""
    return reading.figures(reading.table("figures"))


def _products(job: Stated, problems: list[Problem]) -> dict[str, Product]:
    found: dict[str, Product] = {}
    for key, row in reading.table("products").items():
        made, wrong = sheets.product({"id": key, **row}, Where(key=key), _INVENTED, generic=True)
        problems += wrong
        if made is not None:
            found[key] = made
    own: set[str] = set()
    for number, raw in enumerate(job.products):
        given = raw.get("_where", raw.get("where"))
        where = given if isinstance(given, Where) else Where(job.file or None, key=f"products[{number}]")
        made, wrong = sheets.product(_priced(raw, job), where, _STATED, generic=False)
        problems += wrong
        if made is None:
            continue
        if made.id in own:
            problems.append(Problem("two products with one id", where, made.id, "each id once"))
        own.add(made.id)
        found[made.id] = made
    for key, price in job.prices.items():
        if key in found and _usable(price):
            found[key] = replace(found[key], price=float(price))
    return {key: found[key] for key in sorted(found)}


def _priced(raw: Mapping[str, object], job: Stated) -> Mapping[str, Any]:
    price = job.prices.get(str(raw.get("id", "")))
    return raw if price is None or "price" in raw else {**raw, "price": price}


def _usable(number: object) -> bool:
    return isinstance(number, (int, float)) and math.isfinite(number) and number >= 0


def _known(job: Stated, products: Mapping[str, Product], problems: list[Problem]) -> None:
    for name, table in (("prices", job.prices), ("stock", job.stock)):
        for key, number in table.items():
            where = Where(job.file or None, key=f"{name}.{key}")
            if key not in products and not any(raw.get("id") == key for raw in job.products):
                problems.append(
                    Problem(f"no product {key!r}", where, key, ", ".join(products), _near(key, products))
                )
            if not _usable(number):
                problems.append(
                    Problem(f"{name} must be 0 or more", where, str(number), "a number, 0 or more")
                )
    for made in products.values():
        if not math.isfinite(made.price):
            problems.append(
                Problem(
                    f"no price for {made.id}",
                    made.where,
                    allowed="money a pack, 0 or more",
                    hint=f"add price to the sheet, or prices: {{{made.id}: …}}",
                )
            )
        problems += [
            Problem(
                f"no primer {primer!r} for {made.id}",
                made.where,
                primer,
                "the id of a primer",
                _near(primer, products),
            )
            for primer in made.primers
            if primer not in products or products[primer].form != "primer"
        ]


def _figures(job: Stated, products: Mapping[str, Product], problems: list[Problem]) -> dict[str, Figure]:
    figures = starting_figures()
    for key, figure in job.figures.items():
        if "." not in key:  # figures of the joints' take-off have no dot; they are checked there
            continue
        where = Where(job.file or None, key=f"figures.{key}")
        if _of_a_film(key):
            wrong = _film_figure(key, figure, products, job)
            problems += [wrong] if wrong else []
            figures[key] = figure
        elif key in ONLY_STATED:
            figures[key] = replace(figure, unit=ONLY_STATED[key])
        elif key not in figures and not _of_a_row(key, figures):
            allowed = "a key of the catalogue's figures, such as flaws.tape"
            problems.append(Problem(f"no figure {key!r}", where, key, allowed, _near(key, figures)))
        elif not _usable(figure.value):
            problems.append(Problem("a figure is a number, 0 or more", where, str(figure.value), "0 or more"))
        else:
            figures[key] = replace(figure, unit=figures[key].unit if key in figures else "")
    return figures


_OF_A_FILM = ("spread", "gauge", "readings", "pooled")


def _of_a_film(key: str) -> bool:
    """Whether it says how the crew lays and reads a product, or any."""
    return key.startswith(tuple(f"film.{word}." for word in _OF_A_FILM))


def _film_figure(key: str, figure: Figure, products: Mapping[str, Product], job: Stated) -> Problem | None:
    """What is wrong with a figure of the crew's film."""
    product = key.split(".", 2)[2]
    where = Where(job.file or None, key=f"crew.film.{product}")
    wet = [name for name, one in products.items() if one.form in ("liquid", "coat")]
    if product != "any" and product not in wet:
        return Problem(
            f"no film product {product!r}", where, product, ", ".join(("any", *wet)), _near(product, products)
        )
    if not _usable(figure.value):
        return Problem("a figure is a number, 0 or more", where, str(figure.value), "0 or more")
    return None


def _of_a_row(key: str, figures: Mapping[str, Figure]) -> bool:
    """Whether it says how slow a known method is on a row where the catalogue takes it as 1."""
    group, _, rest = key.partition(".")
    return group == "slow" and f"place.{rest}" in figures


def _near(word: str, known: Mapping[str, object]) -> str:
    match = difflib.get_close_matches(word, list(known), 1)
    return f"did you mean {match[0]}?" if match else ""
