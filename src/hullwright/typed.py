"""What word processors and phones make of a number: curly quotes, dashes, written fractions, decimal commas."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

_MARKS: Final = str.maketrans(
    dict.fromkeys("\u2018\u2019\u201b\u2032\u00b4\u02b9", "'")
    | dict.fromkeys("\u201c\u201d\u201f\u2033\u02ba", '"')
    | dict.fromkeys("\u2010\u2011\u2012\u2013\u2212", "-")
    | {"\u2044": "/", "\u00a0": " ", "\u2009": " ", "\u202f": " "}
)
"""Curly quotes, primes, dashes and blanks that word processors and phones put in, to what the grammar knows."""
COMMA: Final = re.compile(r"(?P<whole>\d+),(?P<rest>\d+(?:,\d+)*)")
MOST_DIGITS: Final = 400


def plain(text: str) -> str:
    r"""Give a text with typewriter marks: curly quotes, primes, dashes and written fractions turned into what a keyboard has.

    Examples
    --------
    >>> plain("9\u2019-1 1/2\u201d"), plain("9\u20191\u00bd\u2033")
    ('9\'-1 1/2"', '9\'1 1/2"')
    """
    if text.isascii():
        return text
    words = "".join(_spelled(letter, text[i - 1 : i]) for i, letter in enumerate(text))
    return words.translate(_MARKS)


def _spelled(letter: str, before: str) -> str:
    """Write a fraction that is one letter as three, apart from a number before it."""
    name = unicodedata.name(letter, "")
    if not name.startswith("VULGAR FRACTION"):
        return letter
    return (" " if before.isdigit() else "") + unicodedata.normalize("NFKC", letter)


def comma_hint(text: str) -> str:
    """Say how to write a number with a comma in it, '' where there is none.

    Examples
    --------
    >>> comma_hint("3,5 m"), comma_hint("9 ft, 1 in")
    ('the decimal sign is a point: write 3.5', '')
    >>> comma_hint("12,500 ft")
    'write 12500, or 12.500 where the comma is a decimal sign'
    """
    found = COMMA.search(text)
    if found is None:
        return ""
    whole, rest = found["whole"], found["rest"].split(",")
    joined = whole + "".join(rest)
    if all(len(group) == 3 for group in rest) and len(whole) <= 3 and whole != "0":
        point = f", or {whole}.{rest[0]} where the comma is a decimal sign" if len(rest) == 1 else ""
        return f"write {joined}{point}"
    if len(rest) == 1:
        return f"the decimal sign is a point: write {whole}.{rest[0]}"
    return "write one number, with a point as its decimal sign"
