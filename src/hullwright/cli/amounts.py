"""Plain numbers as options: read as they are written, held against the one table of quantities, never guessed."""

from __future__ import annotations

import argparse
import re
from dataclasses import dataclass
from typing import Final

from hullwright.errors import InputError, Problem, QuantityError, Where
from hullwright.quantities import Verdict, refuse, verdict
from hullwright.typed import comma_hint, plain
from hullwright.units import parse_number

_SIGNS: Final = "$€£"
_GROUPED: Final = re.compile(r"\d{1,3}(?:(?:,\d{3})+|(?: \d{3})+)(?:\.\d+)?")
"""``6,500`` or ``11 200``: groups of three, as money is printed here too."""


def amount(option: str, text: str, quantity: str) -> float:
    """Read a number that an option takes.

    Parameters
    ----------
    option : str
        As typed, such as ``--budget``.
    text : str
    quantity : str
        Row of the table of quantities.

    Returns
    -------
    float
        In the unit of the table.

    Raises
    ------
    InputError
        Where it is no number, has a decimal comma, or can't be.

    Examples
    --------
    >>> amount("--budget", "$6,500", "money"), amount("--budget", "11 200 €", "money")
    (6500.0, 11200.0)
    >>> amount("--budget", "6,5", "money")
    Traceback (most recent call last):
    hullwright.errors.InputError: --budget can't be used
    --budget: this is not a number
      found:   6,5
      allowed: a number such as 6500
      do:      the decimal sign is a point: write 6.5
    """
    problem = _problem(option, text, quantity)
    if isinstance(problem, Problem):
        raise InputError(f"{option} can't be used", [problem])
    return problem


def _problem(option: str, text: str, quantity: str) -> float | Problem:
    body = plain(text).strip()
    if quantity == "money":
        body = body.strip(_SIGNS).strip()
        if _GROUPED.fullmatch(body):
            body = body.replace(",", "").replace(" ", "")
    sample = {"money": "6500", "air changes": "0.6"}.get(quantity, "0.9")
    percent = quantity == "chance" and body.endswith("%")
    try:
        value = parse_number(body.removesuffix("%").strip() if percent else body)
    except QuantityError:
        return Problem(
            "this is not a number", Where(key=option), text, f"a number such as {sample}", comma_hint(body)
        )
    value = value / 100.0 if percent else value
    if verdict(quantity, value) is Verdict.IMPOSSIBLE:
        return refuse(quantity, text, system="us", where=Where(key=option))
    return value


@dataclass(frozen=True, slots=True)
class Amount:
    """Type of an option that takes a plain number.

    Parameters
    ----------
    quantity : str
        Row of the table of quantities.
    """

    quantity: str

    def __call__(self, text: str) -> float:
        """Read it, or say what is wrong on one line."""
        found = _problem("", text, self.quantity)
        if isinstance(found, Problem):
            said = f"{found.message}: {found.got}; allowed: {found.allowed}"
            raise argparse.ArgumentTypeError(f"{said}; {found.hint}" if found.hint else said)
        return found
