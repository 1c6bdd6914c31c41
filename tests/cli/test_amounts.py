"""Options that take a plain number: a decimal comma is named, what can't be is refused, what the program prints is taken.

# Source: what is written means what it means on paper; limits: the one table of quantities. Tolerance: none.
"""

from __future__ import annotations

from argparse import ArgumentTypeError

import pytest

from hullwright.cli.amounts import Amount, amount
from hullwright.cli.parser import build
from hullwright.errors import InputError


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("6500", 6500),
        ("6,500", 6500),
        ("$6,500.50", 6500.5),
        ("11 200 €", 11200),
        ("1,234,567", 1234567),
        ("0", 0),
    ],
)
def test_money_is_read_as_it_is_printed(text, value):
    assert amount("--budget", text, "money") == value


@pytest.mark.parametrize(
    ("option", "text", "quantity", "words"),
    [
        ("--budget", "6,5", "money", "write 6.5"),  # was read as 65
        ("--budget", "65,00", "money", "write 65.00"),
        ("--budget", "6,5000", "money", "not a number"),
        ("--budget", "-5", "money", "out of range"),
        ("--budget", "1e308", "money", "out of range"),
        ("--budget", "nan", "money", "not a number"),
        ("--budget", "much", "money", "a number such as 6500"),
        ("--target", "0,6", "air changes", "write 0.6"),  # was read as 6
        ("--target", "1,000", "air changes", "1.000"),
        ("--target", "0", "air changes", "out of range"),
        ("--target", "250", "air changes", "out of range"),
    ],
)
def test_what_can_not_be_meant_is_said_and_not_guessed(option, text, quantity, words):
    with pytest.raises(InputError) as caught:
        amount(option, text, quantity)
    assert words in str(caught.value)
    assert text in str(caught.value)
    assert option in str(caught.value)


def test_curly_quotes_and_dashes_are_typewriter_marks():
    with pytest.raises(InputError, match="out of range"):
        amount("--budget", "\u22125", "money")


NUMBERS = [
    (["plan", "house.yaml"], "--confidence", "0,9"),
    (["plan", "house.yaml"], "--confidence", "1.5"),
    (["hunt", "house.yaml"], "--target", "0,6"),
    (["worth", "house.yaml"], "--days", "400"),
    (["worth", "house.yaml"], "--price", "0,25"),
    (["worth", "house.yaml"], "--efficiency", "-1"),
    (["worth", "house.yaml"], "--wsf", "1e308"),
    (["worth", "house.yaml"], "--to", "0,6"),
    (["use", "house.yaml"], "--stock", "3,5"),
    (["readings"], "--chance", "0,9"),
]


@pytest.mark.parametrize(("command", "option", "text"), NUMBERS)
def test_every_number_of_an_option_is_held(command, option, text):
    with pytest.raises(InputError) as caught:
        build().parse_args([*command, f"{option}={text}"])
    said = str(caught.value)
    assert option in said
    assert text in said
    assert "decimal sign" in said or "allowed" in said or "write" in said


def test_a_chance_may_be_a_percentage():
    assert Amount("chance")("90 %") == Amount("chance")("0.9") == 0.9
    with pytest.raises(ArgumentTypeError):
        Amount("chance")("0 %")
