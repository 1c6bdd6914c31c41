"""A supplier's price list: what matches is taken to the cent, what does not is listed with its reason."""

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import openpyxl
import pytest

from hullwright.app import schemas
from hullwright.building import read
from hullwright.catalog import load
from hullwright.catalog.price_list import decimal_sign, match, money, rows_of
from hullwright.cli.main import main
from hullwright.errors import InputError

STUDIO = Path(__file__).parents[2] / "examples" / "kiln-studio.yaml"
OWN = """
products:
  - {id: my-tape, name: Own seam tape, number: T-100, form: tape, price: 30, pack: 100 ft, width: 3 in}
  - {id: my-boot, name: Own boot, form: boot, price: 12, pack: 1}
"""


@pytest.fixture
def house(tmp_path):
    path = tmp_path / "house.yaml"
    path.write_text(STUDIO.read_text("utf-8") + OWN, "utf-8")
    return path


def listed(tmp_path, text, name="list.csv"):
    path = tmp_path / name
    path.write_text(text, "utf-8")
    return path


def ask(capsys, *words):
    code = main(["price-list", *map(str, words), "--json"])
    return code, json.loads(capsys.readouterr().out)


def test_rows_match_by_number_id_and_name_and_the_rest_says_why(capsys, tmp_path, house):
    text = (
        "Invented Supply Company,,,\nprice list,,,\nItem No.,Description,Pack size,Price\n"
        "t-100,whatever they call it,100 ft,€31.50\n"
        "MY-BOOT,,each,11.25\n"
        ",Own seam tape 4 in,100 ft,40\n"
        "99,garden hose,50 ft,20\n"
    )
    code, answer = ask(capsys, house, listed(tmp_path, text))
    jsonschema.Draft202012Validator(schemas.schema("price-list")).validate(answer)
    assert code == 0
    # Source: the list above, by hand. Tolerance: none, prices are taken to the cent.
    assert {(one["product"], one["money"], one["by"]) for one in answer["priced"]} == {
        ("my-tape", 31.50, "number"),
        ("my-boot", 11.25, "id"),
    }
    assert [(one["line"], one["near"]) for one in answer["unmatched"]] == [(6, "my-tape"), (7, "")]
    assert answer["without_price_on_list"] == []
    assert not answer["written"]


def test_a_price_for_another_pack_is_listed_and_not_taken(capsys, tmp_path, house):
    text = "number,pack,price\nT-100,12 x 100 ft,360\n"
    code, answer = ask(capsys, house, listed(tmp_path, text))
    assert code == 1
    assert (
        "12 times the pack" in answer["unmatched"][0]["why"]
    )  # Source: 12 × 100 ft ÷ 100 ft, by hand. Tolerance: none.


def test_two_rows_that_say_other_prices_are_both_listed(capsys, tmp_path, house):
    code, answer = ask(capsys, house, listed(tmp_path, "number,price\nT-100,30\nT-100,31\nmy-boot,9\n"))
    assert code == 0
    assert [one["product"] for one in answer["priced"]] == ["my-boot"]
    assert [one["line"] for one in answer["unmatched"]] == [2, 3]


def test_another_currency_is_said_not_converted(capsys, tmp_path, house):
    _, answer = ask(capsys, house, listed(tmp_path, "number,price\nT-100,31.50 USD\n"))
    assert "USD" in answer["unmatched"][0]["why"]


def test_prices_go_into_the_file_comments_stay_and_the_plan_counts_with_them(capsys, tmp_path, house):
    before = house.read_text("utf-8")
    code, answer = ask(capsys, house, listed(tmp_path, "number;price\nT-100;33,75\nmy-boot;9,5\n"), "--write")
    assert code == 0
    assert answer["written"]
    after = house.read_text("utf-8")
    assert [line for line in before.splitlines() if line not in after.splitlines()] == []
    products = load(read(str(house))).products
    # Source: the list above. Tolerance: none.
    assert (products["my-tape"].price, products["my-boot"].price) == (33.75, 9.5)


def test_a_workbook_is_read_like_a_csv(capsys, tmp_path, house):
    book = openpyxl.Workbook()
    for row in (["Number", "Price"], ["T-100", 12.345], ["my-boot", 9]):
        book.active.append(row)
    book.save(tmp_path / "list.xlsx")
    _, answer = ask(capsys, house, tmp_path / "list.xlsx")
    assert {one["money"] for one in answer["priced"]} == {
        12.345,
        9.0,
    }  # Source: the cells above. Tolerance: none.


@pytest.mark.parametrize(
    ("prices", "system", "sign"),
    [
        (["1,234.50"], "metric", "."),
        (["1.234,50"], "us", ","),
        (["12,5", "1.200"], "us", ","),
        (["1,234,567"], "metric", "."),
        (["1,234"], "us", "."),
        (["7"], "metric", ","),
    ],
)
def test_the_sign_before_the_cents_is_found_in_the_list_itself(prices, system, sign):
    assert decimal_sign(prices, system) == sign


@pytest.mark.parametrize("text", ["", "on request", "12 dollars", "1.2.3.", "¥5"])
def test_what_is_no_price_is_said(text):
    with pytest.raises(ValueError, match=r"price|currency"):
        money(text, "USD")


@pytest.mark.parametrize("cells", [[], [["a", "b"]], [["price", "price", "name"]], [["name"] * 61]])
def test_a_list_without_clear_columns_is_refused(cells):
    with pytest.raises(InputError, match="price list"):
        rows_of(list(enumerate(cells, start=1)))


def test_the_users_own_product_wins_over_an_invented_one_of_the_same_name():
    products = dict(load().products)
    generic = next(iter(products.values()))
    products["mine"] = replace(generic, id="mine", generic=False)
    found = match(rows_of([(1, ["name", "price"]), (2, [generic.name, "5"])]), products, currency="USD")
    assert [one.product for one in found.priced] == ["mine"]
