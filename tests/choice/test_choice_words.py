"""Reasons in words: what the next best would change, plainly, and why it was not taken."""

from __future__ import annotations

import pytest
from choice_houses import paper_house

from hullwright.choice import ask
from hullwright.choice.explain import Flip, Reader, Reason, words
from hullwright.choice.plan import FixedPrice
from hullwright.units import Show

TIPPED = "better buy"


@pytest.fixture(scope="module")
def question():
    return ask(*paper_house())


def said(question, money, air, water, *, regret=0.0, flip=None, target=False) -> str:
    row = next(n for n, option in enumerate(question.choice.options) if option.method == "tape")
    reason = Reason(row, money, air, water, regret, flip)
    return words(reason, question.choice, question.catalog, Reader(Show("us"), "USD", target))


# Source: by hand: 0.65 cm2 is 0.1 in2, 3.785 L is 1 gal; what prints as nought is not named. Tolerance: printed digits.
@pytest.mark.parametrize(
    ("money", "air", "water", "told"),
    [
        (-5.0, 0.6452, 0.0, "5 USD less, but 0.1 in2 more leakage."),
        (-5.0, 1e-6, 1e-6, "5 USD less, with leakage and water as good as the same."),
        (5.0, 0.0, 0.0, "5 USD more, with leakage and water as good as the same."),
        (5.0, 0.6452, 3.785, "5 USD more, 0.1 in2 more leakage and 1.0 gal more water."),
        (5.0, -0.6452, -3.785, "5 USD more for 0.1 in2 less leakage and 1.0 gal less water. That money does"),
        (-5.0, -0.6452, 3.785, "5 USD less, 1.0 gal more water, 0.1 in2 less leakage."),
        (0.2, 0.6452, 0.0, "the same money, 0.1 in2 more leakage."),
    ],
)
def test_the_next_best_is_said_plainly(question, money, air, water, told):
    text = said(question, money, air, water)
    assert told in text
    assert TIPPED not in text
    assert text.startswith("Next best is tape, rolled (acrylic seam tape 3 3/4 in)")


def test_what_tips_a_choice_is_said_once_and_without_praise(question):
    text = said(question, -5.0, 1e-6, 0.0, regret=0.1)
    assert text.count(TIPPED) == 1
    assert "hardly any" not in text
    assert "but" not in text


def test_in_target_mode_spare_tightness_is_not_needed(question):
    assert "The target is kept without it." in said(question, 5.0, -0.6452, 0.0, target=True)
    assert "more elsewhere" not in said(question, 5.0, -0.6452, 0.0, target=True)


def test_flips_agree_in_number(question):
    assert "flaws of tape, rolled on a flat seam rise from" in said(
        question, 5.0, 1.0, 0.0, flip=Flip("flaws.tape", 0.015, 0.03)
    )
    price = Flip("price.acrylic-seam-tape", 32.0, 20.0)
    assert "the price of acrylic seam tape 3 3/4 in falls from 32 to 20 USD" in said(
        question, 5.0, 1.0, 0.0, flip=price
    )


@pytest.mark.parametrize(
    ("objective", "money", "told"),
    [
        (0.0, 150.0, "cost 150 EUR more than the plan without"),
        (0.0, -161.0, "spend 161 EUR less and leave the result as good as the plan"),
        (0.02, -161.0, "spend 161 EUR less and leave 10 % more leakage and water, weighted, than"),
        (0.0, 0.0, "cost nothing: the plan without them is no better"),
    ],
)
def test_the_price_of_own_decisions_in_words(objective, money, told):
    assert told in FixedPrice(objective, money, 0.2, 4000.0, ()).words("EUR", target=False)
