"""``readings FILE``: of each film product of a house, number of readings, aim and extra film together, with their money."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

from hullwright.app.film_money import FilmMoney, of_catalog
from hullwright.app.house import Source, load
from hullwright.app.site import catalog_of
from hullwright.catalog import Catalog
from hullwright.choice.films import hand_of, lot_area, money_per_film, range_of
from hullwright.errors import InputError, Problem, Where
from hullwright.evidence import STATED, Figure
from hullwright.material.aim import Aim, aim_for
from hullwright.material.allowance import CHANCE

NUMBERS: Final = (5, 10, 15, 20, 30, 40)


@dataclass(frozen=True, slots=True)
class Choice:
    """One number of readings, with the aim and the money of a usual lot.

    Parameters
    ----------
    aim : Aim
    film, reading : float
        Money of the film over the least, and of the readings.
    """

    aim: Aim
    film: float
    reading: float

    def to_json(self) -> dict[str, Any]:
        """Give readings, aim and money."""
        return {
            "readings": self.aim.readings,
            "aim_wet_um": self.aim.aim_wet * 1e6,
            "provable": self.aim.provable,
            "chance": self.aim.chance,
            "film_money": self.film,
            "readings_money": self.reading,
        }


@dataclass(frozen=True, slots=True)
class FilmAims:
    """Answer of ``readings FILE``.

    Parameters
    ----------
    films : tuple of FilmMoney
        Over a usual lot each.
    choices : tuple of tuple of Choice
        By product, what other numbers of readings would ask.
    currency, system : str
    """

    films: tuple[FilmMoney, ...]
    choices: tuple[tuple[Choice, ...], ...]
    currency: str
    system: str

    @property
    def exit_code(self) -> int:
        """1 where a film can't be proved within its sheet."""
        return 0 if all(film.aim.provable for film in self.films) else 1

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``readings FILE --json``."""
        rows = zip(self.films, self.choices, strict=True)
        return {
            "schema": {"name": "film readings", "version": 1},
            "chance": CHANCE,
            "currency": self.currency,
            "films": [
                film.to_json() | {"choices": [one.to_json() for one in choices]} for film, choices in rows
            ],
            "cautions": [],
        }


def film_aims(source: Source, *, product: str | None = None, spread: float | None = None) -> FilmAims:
    """Say how many readings to plan and what to aim at, product by product.

    Parameters
    ----------
    source : path, Building or House
    product : str or None
        One product by id; None for all.
    spread : float or None
        Another spread than the file states [m], to try.

    Returns
    -------
    FilmAims

    Raises
    ------
    InputError
        Where there is no such film product.
    """
    house = load(source)
    catalog = catalog_of(house)
    if spread is not None:
        catalog = _trying(catalog, spread)
    films = of_catalog(catalog, house.building.currency)
    if product is not None:
        names = ", ".join(film.product for film in films)
        films = tuple(film for film in films if film.product == product)
        if not films:
            raise InputError(
                "no such film",
                [Problem("no liquid or coat of this id", Where(key="product"), product, names)],
            )
    choices = tuple(_choices(film.product, catalog) for film in films)
    return FilmAims(films, choices, house.building.currency, house.building.system)


def _trying(catalog: Catalog, spread: float) -> Catalog:
    """The catalogue with one spread for every product."""
    kept = {key: one for key, one in catalog.figures.items() if not key.startswith("film.spread.")}
    return replace(catalog, figures=kept | {"film.spread.any": Figure(spread, "m", STATED)})


def _choices(name: str, catalog: Catalog) -> tuple[Choice, ...]:
    product = catalog.products[name]
    films = range_of(product)
    hand = hand_of(product, films, catalog)
    rate = money_per_film(product, lot_area(product, catalog))
    each = catalog.value("film.reading") * catalog.value("film.hour")
    aims = (aim_for(films, replace(hand, readings=number)) for number in NUMBERS)
    return tuple(Choice(aim, rate * (aim.aim - aim.least), each * aim.readings) for aim in aims)
