"""What the aim of a film costs and what a steadier hand saves: against sums by hand; readings, mock-up and lots say them together."""

import json
import math
from datetime import date, timedelta

import numpy as np
import pytest

from hullwright.app import plan as use
from hullwright.app.film_aims import film_aims
from hullwright.app.film_money import film_money
from hullwright.app.hands import hands_shown
from hullwright.app.mockup import mockup
from hullwright.catalog import load
from hullwright.catalog.loading import Nothing
from hullwright.choice.films import film_of
from hullwright.errors import InputError
from hullwright.evidence import STATED, Figure
from hullwright.material.allowance import Reads, allowance
from hullwright.proof.comb import Comb
from hullwright.proof.lotbook import BookedLot
from hullwright.proof.lots import LotKey, Placed
from hullwright.units import Show

MIL = 25.4e-6
PRODUCT = "silyl-flashing-20"
SAUSAGE = 20 * 29.5735295625e-6
HOUSE = "examples/kiln-studio.yaml"


def crew(**stated):
    figures = {f"film.{key.replace('__', '.')}": Figure(value, "", STATED) for key, value in stated.items()}
    return load(Nothing(figures=figures))


def test_money_of_the_film_over_the_least_and_of_a_steadier_hand():
    # Source: by hand: 10 m2 of film, (aim - least)/solids, 10 % waste divides, a sausage of 20 fl oz at its price. Tolerance: rounding.
    catalog = crew(spread__any=2 * MIL, readings__any=10)
    product = catalog.products[PRODUCT]
    found = film_money(product, catalog, 10.0, "USD")
    per_mil = 10 * MIL / 0.98 / 0.9 / SAUSAGE * product.price
    needed = [product.least + 0.98 * allowance(spread * MIL, Reads(10, 2 * MIL)) for spread in (2, 1)]
    aims = [max(one, product.stated_aim) for one in needed]
    assert found.added == pytest.approx(per_mil * (aims[0] - product.least) / MIL, rel=1e-9)
    assert found.steadier_saves == pytest.approx(per_mil * (aims[0] - aims[1]) / MIL, rel=1e-9)
    assert found.pooled_saves > 0
    assert "Half the spread (1 mil) would save" in found.words(Show("us"))


def test_where_the_sheets_aim_rules_a_steadier_hand_saves_nothing_and_that_is_said():
    catalog = crew(spread__any=0.4 * MIL, gauge__any=1 * MIL)
    found = film_money(catalog.products[PRODUCT], catalog, 10.0, "USD")
    assert (found.aim.rule, found.steadier_saves, found.pooled_saves) == ("sheet", 0.0, 0.0)
    assert "would save nothing" in found.words(Show("us"))


def test_where_the_greatest_forbids_it_the_words_say_what_would_do():
    catalog = crew(spread__any=6 * MIL, readings__any=10, gauge__any=2 * MIL)
    found = film_money(catalog.products[PRODUCT], catalog, 10.0, "USD")
    said = found.words(Show("us"))
    assert not found.aim.provable
    assert f"{found.aim.instead.readings} readings" in said
    assert "a spread of" in said


def test_plan_and_order_carry_the_same_films():
    planned = use.plan(HOUSE, use.Wish(quick=True))
    films = {one["product"]: one for one in use.order(planned).to_json()["films"]}
    assert planned.to_json()["films"] == list(films.values())
    assert films
    for run in planned.to_json()["runs"]:
        if run["product"] in films:
            for key in ("least_um", "aim_um", "greatest_um", "least_wet_um", "greatest_wet_um", "readings"):
                assert run[key] == films[run["product"]][key]
            assert run["wet_um"] == films[run["product"]]["aim_wet_um"]
    for table in use.order(planned).over:  # over-application counts from the aim
        assert table.sheet_dry * 1e6 == pytest.approx(films[table.product]["aim_um"])


def test_readings_of_a_house_give_number_aim_and_money_together():
    found = film_aims(HOUSE, product=PRODUCT)
    film, choices = found.films[0], found.choices[0]
    assert json.dumps(found.to_json())
    # more readings, less film, each with its money
    aims = [one.aim.aim for one in choices]
    assert aims == sorted(aims, reverse=True)
    assert [one.reading for one in choices] == sorted(one.reading for one in choices)
    chosen = film.added + film.aim.readings * choices[0].reading / choices[0].aim.readings
    best = min(one.film + one.reading for one in choices if one.aim.provable and 10 <= one.aim.readings <= 20)
    assert chosen <= best + 1e-9
    assert film_aims(HOUSE, product=PRODUCT, spread=0.5 * MIL).films[0].aim.aim < film.aim.aim
    with pytest.raises(InputError, match="no such film"):
        film_aims(HOUSE, product="acrylic-seam-tape")


GIVEN = {
    "length": "10 ft", "width": "4 in", "used": "0.05 gal", "teeth": [f"{mil} mil" for mil in range(10, 40, 2)],
    "wet": [f"{mil} mil" for mil in (20, 22, 18, 24, 20, 22, 20, 26, 22, 18)], "least_dry": "12 mil", "solids": 0.98,
}  # fmt: skip


def test_a_mock_up_says_spread_aim_readings_and_money():
    # Source: by hand: middles 21 23 19 25 21 23 21 27 23 19, s2 = 57.6/9 = 6.4, less 4/12: spread sqrt(6.0667) = 2.463 mil; money: 100 ft of
    # 4 in is 3.0968 m2, x film/0.98 over 20 fl oz at 17. Tolerance: printed digits; rounding.
    out = mockup(
        {
            **GIVEN,
            "target_width": "4 in",
            "target_dry": "15 mil",
            "house_length": "100 ft",
            "pack": "20 fl oz",
            "price": "17",
        }
    )
    film = out.film
    assert film.spread[0] / MIL == pytest.approx(2.463, abs=5e-4)
    assert film.aim.hand.evidence.mark.value == "measured on this job"
    assert film.aim.aim_wet == pytest.approx(
        12 / 0.98 * MIL + allowance(film.spread[0], Reads(film.aim.readings, 2 * MIL)), rel=1e-9
    )
    rate = 30.48 * 0.1016 / 0.98 / SAUSAGE * 17
    assert film.added == pytest.approx(rate * (film.aim.aim - 12 * MIL), rel=1e-9)
    assert film.steadier > 0
    assert json.dumps(out.to_json())
    assert mockup({**GIVEN, "wet": ["20 mil", "22 mil"]}).film is None  # two readings show no spread
    with pytest.raises(InputError):
        mockup(
            {
                **GIVEN,
                "target_width": "4 in",
                "target_dry": "15 mil",
                "house_length": "100 ft",
                "pack": "20 fl oz",
                "price": "dear",
            }
        )


def work(spread_mils, n=12, crew_name="B"):
    """Lots of a crew, one a day, of the stated spreads [mil]."""
    rng, gauge = np.random.default_rng(5), Comb(tuple(mil * MIL for mil in range(1, 60)))
    lots = []
    for k, spread in enumerate(spread_mils):
        film = rng.normal(18, spread, n)
        placed = tuple(Placed(gauge.read(math.floor(one) * MIL), "J") for one in film)
        key = LotKey("liquid", crew_name, date(2024, 5, 1) + timedelta(k), "wood panel")
        lots.append(BookedLot(key, PRODUCT, placed, (), ("J",), clock_off=False))
    return lots


def test_lots_say_the_pooled_spread_and_what_it_saves():
    catalog = load()
    shown = hands_shown(work([1.0, 1.0, 1.0, 1.0]), catalog, "USD")[0]
    assert shown.shown.stable
    # Source: mean of the lots' variances, 1 mil of a step taken off (step2/12). Tolerance: rounding.
    variances = [np.var([p.reading.middle for p in lot.placed], ddof=1) for lot in work([1.0, 1.0, 1.0, 1.0])]
    assert shown.spread == pytest.approx(math.sqrt(np.mean(variances) - MIL**2 / 12), rel=1e-9)
    now = film_of(catalog.products[PRODUCT], catalog)
    assert shown.then.aim < now.aim
    assert shown.saves > 0
    assert shown.stated["pooled"] == 44
    # what it tells to state gives the aim that it names
    stated = crew(**{f"spread__{PRODUCT}": shown.spread, f"pooled__{PRODUCT}": 44})
    assert film_of(stated.products[PRODUCT], stated).aim == pytest.approx(shown.then.aim, rel=1e-12)
    assert "pooled: 44" in shown.words(Show("us"))


def test_lots_that_do_not_show_one_spread_are_not_pooled_and_say_why():
    catalog = load()
    few, wild = (
        hands_shown(work(spreads), catalog, "USD")[0] for spreads in ([1.0, 1.0], [0.5, 0.5, 4.0, 0.5])
    )
    assert "more lots are needed" in few.words(Show("us"))
    assert "changes from lot to lot" in wild.words(Show("us"))
    assert "pooled" not in wild.stated
    both = hands_shown([*work([1.0] * 4), *work([1.0] * 4, crew_name="C")], catalog, "USD")
    assert [one.crew for one in both] == ["B", "C"]
