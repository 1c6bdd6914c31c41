"""Least, aim and greatest: one value for packs, card, over-use and record, by what is stated of the crew."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from choice_houses import K, paper_house

from hullwright.app.site import needs_of, target_of
from hullwright.building import defaults
from hullwright.catalog import load
from hullwright.catalog.loading import Nothing
from hullwright.choice.films import film_of, money_per_film, with_spread
from hullwright.choice.laid import laid
from hullwright.choice.options import Option
from hullwright.choice.takes import takes
from hullwright.errors import CatalogError
from hullwright.evidence import STATED, Figure, Mark
from hullwright.material.allowance import Reads, allowance

MIL = 25.4e-6
PRODUCT = "silyl-flashing-20"


def crew(**stated):
    """Catalogue with figures of the crew's film, by key and product joined by two underscores."""
    figures = {f"film.{key.replace('__', '.')}": Figure(value, "", STATED) for key, value in stated.items()}
    return load(Nothing(figures=figures))


def test_one_value_everywhere():
    catalog = load()
    for key, product in catalog.products.items():
        aim = film_of(product, catalog)
        if aim is None:
            continue
        seam = replace(
            next(run for run in paper_house()[2].runs if run.kind is K.SEAM_UPRIGHT), gap=0.0, depth=0.0
        )
        card = laid(seam, Option(product.form, key), catalog)
        assert card.film == aim
        need = needs_of(catalog)[key]
        assert need.least_dry == aim.least
        assert need.least_wet == pytest.approx(card.least_wet, rel=1e-12)
        assert aim.least <= aim.aim <= aim.greatest
        assert aim.provable
        if product.form == "liquid":
            target = target_of(catalog, key)
            assert target is not None
            assert target.wet == card.wet
            # Source: width x wet film of the aim over the pack, waste divides. Tolerance: rounding.
            volume = seam.quantity * product.width * aim.aim_wet / (1 - product.waste)
            assert takes(seam, Option("liquid", key), catalog).packs[key] == pytest.approx(
                volume / product.pack, rel=1e-12
            )


def test_without_a_stated_spread_it_is_an_estimate_and_says_so():
    # Source: catalogue figure: 15 % of the least wet film; least 12 mil at 98 %. Tolerance: rounding.
    product = load().products[PRODUCT]
    aim = film_of(product, load())
    assert aim.hand.evidence.mark is Mark.ESTIMATE
    assert aim.hand.spread == pytest.approx(0.15 * product.least / product.solids, rel=1e-12)
    assert "mock-up" in aim.hand.evidence.source


def test_what_is_stated_of_the_crew_wins_by_product_then_for_any():
    product = load().products[PRODUCT]
    stated = {"spread__any": 1.0 * MIL, "gauge__any": 1 * MIL, "readings__any": 11}
    both = crew(**stated, **{f"spread__{PRODUCT}": 2.5 * MIL})
    for catalog, spread in ((crew(**stated), 1.0), (both, 2.5)):
        aim = film_of(product, catalog)
        assert (aim.hand.evidence.mark, aim.readings) == (Mark.STATED, 11)
        assert aim.hand.spread == spread * MIL
        needed = product.least / product.solids + allowance(spread * MIL, Reads(11, 1 * MIL))
        assert aim.aim_wet == pytest.approx(max(needed, product.stated_aim / product.solids), rel=1e-9)


def test_a_pooled_spread_lowers_film_and_money():
    product = load().products[PRODUCT]
    alone = film_of(product, crew(spread__any=2 * MIL))
    pooled = film_of(product, crew(spread__any=2 * MIL, pooled__any=40))
    assert pooled.aim < alone.aim
    assert with_spread(product, crew(spread__any=2 * MIL), 2 * MIL, pooled=40).aim == pooled.aim
    # Source: by hand. 1 mil over 10 m2 at 98 % solids, 10 % waste: 10 x 25.4e-6/0.98/0.9 = 0.288 L of 0.5915 L at 17. Tolerance: rounding.
    assert money_per_film(product, 10.0) * MIL == pytest.approx(
        10 * MIL / 0.98 / 0.9 / (20 * 29.5735295625e-6) * product.price, rel=1e-9
    )


def test_the_aim_never_passes_the_greatest_and_says_what_would_do():
    catalog = crew(spread__any=6 * MIL, readings__any=10)
    product = catalog.products[PRODUCT]
    aim = film_of(product, catalog)
    assert (aim.aim, aim.provable) == (product.greatest, False)
    assert aim.instead is not None
    assert math.isfinite(aim.greatest)


def test_films_of_products_that_are_none_are_refused():
    for key in ("spread__no-such-thing", "spread__acrylic-seam-tape"):
        with pytest.raises(CatalogError, match="film product"):
            crew(**{key: 1 * MIL})


def test_an_hour_of_reading_is_the_crews_hour():
    # Source: the building file's default rate and the catalogue's must be one. Tolerance: none.
    assert load().value("film.hour") == float(defaults.RATE.text)
