"""The usual value of a form where a product sheet is silent, with its mark: a missing value never bars a product."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hullwright.catalog.model import Usual
from hullwright.catalog.reading import evidence, table
from hullwright.errors import QuantityError
from hullwright.units import read


def missing(form: str, raw: Mapping[str, Any]) -> tuple[Usual, ...]:
    """Give the usual value of every figure that a sheet of this form leaves out.

    Parameters
    ----------
    form : str
        Form of the product.
    raw : mapping
        The sheet, as written.

    Returns
    -------
    tuple of Usual
        In the order of the data. None for a figure that another on the sheet already gives (an aim stands for the least), and none
        that would contradict one on the sheet: the sheet's greatest film below the usual least leaves the least to be stated.

    Examples
    --------
    >>> [one.key for one in missing("liquid", {"aim": "15 mil", "width": "2 in", "waste": 0.1})]
    ['gap_direct', 'gap_filled', 'movement']
    """
    found: list[Usual] = []
    for key, row in table("usual").get(form, {}).items():
        if raw.get(key) is not None or any(raw.get(other) is not None for other in row.get("enough", ())):
            continue
        value = row["value"]
        limit = raw.get({"least": "greatest", "gap_direct": "gap_filled"}.get(key, ""))
        if limit is not None and _above(value, limit):
            if key == "least":
                continue
            value = limit
        found.append(Usual(key, value, evidence(row)))
    return tuple(found)


def _above(value: str, limit: Any) -> bool:
    """Whether a usual length is above one of the sheet; what can't be read is told by the sheet's own reader."""
    first: Any = limit[0] if isinstance(limit, (list, tuple)) and limit else limit
    try:
        return read(value, "length") > read(first, "length")
    except QuantityError:
        return False
