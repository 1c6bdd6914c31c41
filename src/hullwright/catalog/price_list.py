"""A supplier's price list matched with products: by number, id or name, pack by pack; what does not match is listed, not guessed."""

from __future__ import annotations

import difflib
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from hullwright.catalog.model import Product
from hullwright.errors import InputError, Problem, QuantityError, Where
from hullwright.units import read

Column = Literal["name", "number", "pack", "price"]
By = Literal["number", "id", "name"]

HEADS: Final[Mapping[Column, frozenset[str]]] = {
    "number": frozenset(
        {"number", "no", "item no", "item number", "part no", "part number", "article", "article no", "sku", "code", "id"}
    ),
    "name": frozenset({"name", "product", "description", "item"}),
    "pack": frozenset({"pack", "pack size", "size", "unit", "content", "packaging"}),
    "price": frozenset({"price", "unit price", "net price", "price each", "each", "cost", "amount"}),
}  # fmt: skip
"""Words at the head of a column, letter case and full stops left out."""
MOST_ROWS: Final = 20_000
MOST_COLUMNS: Final = 60
MOST_CELL: Final = 300
SAME_PACK: Final = (
    0.02  # packs within 2 % are one: 600 ml and 20 fl oz (591 ml) are sold as the same tube (estimate)
)
_NEAR: Final = 0.6  # likeness of names from which one is shown as a guess; never taken (estimate)
_MONEY: Final = re.compile(r"(?P<before>[^\d.,-]*)(?P<number>\d[\d.,' ]*)(?P<after>[^\d]*)")
_TIMES: Final = re.compile(r"(?:case of |box of )?(\d{1,4})\s*[x×]\s*(.+)", re.IGNORECASE)
_CASE: Final = re.compile(r"(?:case|box|carton|pack|bag) of (\d{1,4})", re.IGNORECASE)
_SIGNS: Final = {"$": "USD", "US$": "USD", "€": "EUR", "£": "GBP"}


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a list, as written.

    Parameters
    ----------
    line : int
        In the file, counted from 1.
    name, number, pack, price : str
        '' where the list has no such cell.
    """

    line: int
    name: str
    number: str
    pack: str
    price: str

    @property
    def words(self) -> str:
        """What people call it."""
        return self.name or self.number


@dataclass(frozen=True, slots=True)
class Priced:
    """A product and the price that the list gives it.

    Parameters
    ----------
    product : str
        Its id.
    price : float
        Money a pack.
    row : Row
    by : str
        What they have in common: ``number``, ``id`` or ``name``.
    before : float
        Price known so far.
    """

    product: str
    price: float
    row: Row
    by: By
    before: float


@dataclass(frozen=True, slots=True)
class Unmatched:
    """A row that gives no price, and why.

    Parameters
    ----------
    row : Row
    why : str
    near : str
        Id of the product that may be meant; '' where none is like it.
    """

    row: Row
    why: str
    near: str = ""


@dataclass(frozen=True, slots=True)
class PriceList:
    """What a list says of the products.

    Parameters
    ----------
    priced : tuple of Priced
        In the order of the list.
    unmatched : tuple of Unmatched
    without : tuple of str
        The user's own products that the list does not have.
    """

    priced: tuple[Priced, ...]
    unmatched: tuple[Unmatched, ...]
    without: tuple[str, ...]

    @property
    def prices(self) -> dict[str, float]:
        """Money a pack by product id."""
        return {one.product: one.price for one in self.priced}


def rows_of(cells: Iterable[tuple[int, Sequence[str]]], file: str = "") -> tuple[Row, ...]:
    """Find the columns of a list and give its rows.

    Parameters
    ----------
    cells : iterable of (line, cells)
        Rows above the heads (letterhead, date) are passed over.
    file : str
        Name, for messages.

    Returns
    -------
    tuple of Row

    Raises
    ------
    InputError
        Where no row names a price column and a name or number column, a column is named twice, or the list is too long.

    Examples
    --------
    >>> rows_of([(1, ["Supplier"]), (2, ["Item no.", "Description", "Price"]), (3, ["7", "seam tape", "31.50"])])
    (Row(line=3, name='seam tape', number='7', pack='', price='31.50'),)
    """
    columns: dict[Column, int] = {}
    out: list[Row] = []
    for line, row in cells:
        if len(out) >= MOST_ROWS:
            raise _refused("the list is too long", Where(file or None, line), f"up to {MOST_ROWS} rows")
        if len(row) > MOST_COLUMNS:
            raise _refused("too many columns", Where(file or None, line), f"up to {MOST_COLUMNS}")
        texts = [str(cell).strip()[:MOST_CELL] for cell in row]
        if not columns:
            columns = _columns(texts, Where(file or None, line))
        elif any(texts):
            out.append(_row(line, texts, columns))
    if not columns:
        heads = "; ".join(f"{name}: {', '.join(sorted(words))}" for name, words in HEADS.items())
        raise _refused(
            "no row names the columns",
            Where(file or None),
            f"a row with a price and a name or number ({heads})",
        )
    return tuple(row for row in out if row.words)


def _row(line: int, texts: Sequence[str], columns: Mapping[Column, int]) -> Row:
    def cell(name: Column) -> str:
        at = columns.get(name, len(texts))
        return texts[at] if at < len(texts) else ""

    return Row(line, cell("name"), cell("number"), cell("pack"), cell("price"))


def _refused(message: str, where: Where, allowed: str) -> InputError:
    return InputError("the price list can't be read", [Problem(message, where, allowed=allowed)])


def _columns(texts: Sequence[str], where: Where) -> dict[Column, int]:
    """Columns by their heads; none where this is no row of heads."""
    found: dict[Column, list[int]] = defaultdict(list)
    for at, text in enumerate(texts):
        plain = re.sub(r"\(.*?\)|[.:]", "", text).strip().casefold()
        for name, words in HEADS.items():
            if plain in words:
                found[name].append(at)
    if "price" not in found or not {"name", "number"} & found.keys():
        return {}
    twice: Column | None = next((name for name, places in found.items() if len(places) > 1), None)
    if twice is not None:
        got = ", ".join(texts[at] for at in found[twice])
        raise InputError(
            "the price list can't be read",
            [Problem(f"two columns may be the {twice}", where, got, "one", "rename or remove one of them")],
        )
    return {name: places[0] for name, places in found.items()}


def match(
    rows: Sequence[Row], products: Mapping[str, Product], *, currency: str, system: str = "us"
) -> PriceList:
    """Match a list with products.

    Parameters
    ----------
    rows : sequence of Row
    products : mapping of str to Product
        By id; the user's own and the invented ones.
    currency : str
        Of the building file, such as ``USD``.
    system : str
        ``us`` or ``metric``: how ``1,234`` is read where the list itself does not show it.

    Returns
    -------
    PriceList
        A product gets a price only where number, id or name agree to the letter (letter case and spaces aside), the pack
        is the sheet's, and no other row says another price.
    """
    decimal = decimal_sign([row.price for row in rows], system)
    taken: dict[str, list[Priced]] = defaultdict(list)
    left: list[Unmatched] = []
    for row in rows:
        found = _product(row, products)
        if found is None:
            left.append(Unmatched(row, "no product has this number or name", _nearest(row, products)))
            continue
        product, by = found
        try:
            price = money(row.price, currency, decimal)
            _check_pack(row.pack, product)
        except ValueError as error:
            left.append(Unmatched(row, str(error), product.id))
            continue
        taken[product.id].append(Priced(product.id, price, row, by, product.price))
    priced: list[Priced] = []
    for same in taken.values():
        if len({one.price for one in same}) > 1:
            lines = ", ".join(str(one.row.line) for one in same)
            left += [
                Unmatched(one.row, f"lines {lines} say other prices for it", one.product) for one in same
            ]
        else:
            priced.append(same[0])
    own = [key for key, product in products.items() if not product.generic]
    return PriceList(
        tuple(sorted(priced, key=lambda one: one.row.line)),
        tuple(sorted(left, key=lambda one: one.row.line)),
        tuple(key for key in own if key not in {one.product for one in priced}),
    )


def _plain(text: str) -> str:
    return re.sub(r"[\W_]+", " ", text.casefold()).strip()


def _product(row: Row, products: Mapping[str, Product]) -> tuple[Product, By] | None:
    """The one product that a row names: its number first, then its id, then its name."""
    number, name = _plain(row.number), _plain(row.name)
    ways: tuple[tuple[By, set[str], list[str]], ...] = (
        ("number", {number} - {""}, [_plain(one.number) for one in products.values()]),
        ("id", {number, name} - {""}, [_plain(one.id) for one in products.values()]),
        ("name", {name} - {""}, [_plain(one.name) for one in products.values()]),
    )
    for by, said, known in ways:
        same = [one for one, text in zip(products.values(), known, strict=True) if text and text in said]
        own = [one for one in same if not one.generic]
        if len(own or same) == 1:
            return (own or same)[0], by
    return None


def _nearest(row: Row, products: Mapping[str, Product]) -> str:
    said = _plain(row.words)
    names = {_plain(product.name): key for key, product in products.items()}
    close = difflib.get_close_matches(said, list(names), 1, _NEAR)
    return names[close[0]] if close else ""


def decimal_sign(prices: Iterable[str], system: str) -> str:
    """Say which sign splits off the cents in a list.

    Parameters
    ----------
    prices : iterable of str
        All prices of the list.
    system : str
        ``us`` or ``metric``: decides where the list does not show it.

    Returns
    -------
    str
        ``.`` or ``,``.

    Examples
    --------
    >>> decimal_sign(["1.234,50", "12"], "us"), decimal_sign(["1,234"], "us"), decimal_sign(["1,234"], "metric")
    (',', '.', ',')
    """
    shown: set[str] = set()
    for text in prices:
        signs = re.findall(r"[.,]", text)
        last = re.search(r"([.,])(\d+)\D*$", text)
        if last is None:
            continue
        if (
            len(set(signs)) == 2 or len(last[2]) != 3
        ):  # both signs: the last is the decimal; three digits may be thousands
            shown.add(last[1])
        elif len(signs) > 1:
            shown.add("." if last[1] == "," else ",")
    if len(shown) == 1:
        return shown.pop()
    return "." if system == "us" else ","


def money(text: str, currency: str, decimal: str = ".") -> float:
    """Read a price.

    Parameters
    ----------
    text : str
        With or without a currency sign or code.
    currency : str
        The one that is expected.
    decimal : str
        Sign before the cents.

    Returns
    -------
    float

    Raises
    ------
    ValueError
        With the reason in words.

    Examples
    --------
    >>> money("$1,234.50", "USD"), money("31,9 €", "EUR", ",")
    (1234.5, 31.9)
    """
    found = _MONEY.fullmatch(text.strip())
    if found is None:
        raise ValueError(f"no price can be read from {text!r}" if text.strip() else "the row has no price")
    for said in (found["before"].strip(), found["after"].strip()):
        code = _SIGNS.get(said, said.upper())
        if re.fullmatch(r"[A-Z]{3}", code) and code != currency:
            raise ValueError(f"the price is in {code}, the building file counts in {currency}")
        if said and not re.fullmatch(r"[A-Z]{3}", code):
            raise ValueError(f"{said!r} beside the price is no currency")
    plain = re.sub(r"[ ']", "", found["number"]).replace("," if decimal == "." else ".", "").replace(",", ".")
    try:
        return float(plain)
    except ValueError as error:
        raise ValueError(f"no price can be read from {text!r}") from error


def _check_pack(text: str, product: Product) -> None:
    """Refuse a price for another pack than the sheet's: an order counts packs.

    Raises
    ------
    ValueError
        With both packs in words.
    """
    if not text.strip() or _plain(text) in {
        "each",
        "ea",
        "pc",
        "pcs",
        "piece",
        "roll",
        "tube",
        "sausage",
        "pail",
    }:
        return
    content = _content(text, product)
    if abs(content - product.pack) > SAME_PACK * product.pack:
        raise ValueError(
            f"another pack: the list sells {text.strip()!r}, which is {content / product.pack:.3g} times the pack on the sheet; "
            "state that pack on the sheet, or ask for the price of one"
        )


def _content(text: str, product: Product) -> float:
    """What a pack of the list holds, in the sheet's unit [m3, m or pieces]."""
    times = _TIMES.fullmatch(text.strip())
    if times is not None:
        return int(times[1]) * _content(times[2], product)
    case = _CASE.fullmatch(text.strip())
    if case is not None:
        return int(case[1]) * (product.pack if product.pack_unit != "piece" else 1.0)
    if product.pack_unit == "piece":
        number = re.fullmatch(r"(\d{1,5})(?:\s*(?:pcs?|pieces?|ea|each))?\.?", text.strip(), re.IGNORECASE)
        if number is None:
            raise ValueError(f"the pack {text!r} can't be read")
        return float(number[1])
    try:
        return read(text.strip(), "volume" if product.pack_unit == "m3" else "length")
    except QuantityError as error:
        raise ValueError(f"the pack {text!r} can't be read") from error
