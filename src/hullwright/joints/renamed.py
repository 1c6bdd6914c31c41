"""Words that stand in records and were renamed: logs, decisions and files of before are read through this table.

Numbers and letters of ids come from the same file, `data/ids.toml`: they never change, so that nothing in a record is renamed again.
"""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import Any, Final

from hullwright.building.keys_work import METHODS_BEFORE


@cache
def _data() -> dict[str, dict[str, Any]]:
    file = resources.files("hullwright.joints") / "data" / "ids.toml"
    return tomllib.loads(file.read_text(encoding="utf-8"))


KINDS_BEFORE: Final[dict[str, str]] = {
    row["was"]: word for word, row in _data()["kinds"].items() if "was" in row
}
"""Joint kind of before to today's."""

KIND_NUMBERS: Final[dict[str, int]] = {word: row["number"] for word, row in _data()["kinds"].items()}
STAGE_NUMBERS: Final[dict[str, int]] = dict(_data()["stages"])
SUBSTRATE_NUMBERS: Final[dict[str, int]] = dict(_data()["substrates"])


def kind(word: str) -> str:
    """Give today's word for a joint kind.

    Parameters
    ----------
    word : str
        Of today or of before; any other word comes back as it is.

    Examples
    --------
    >>> kind("panel seam, level"), kind("horizontal seam"), kind("")
    ('horizontal seam', 'horizontal seam', '')
    """
    return KINDS_BEFORE.get(word, word)


def method(key: str) -> str:
    """Give today's key of a method.

    Parameters
    ----------
    key : str
        Of today or of before; any other key comes back as it is.

    Examples
    --------
    >>> method("bare"), method("tape")
    ('unsealed', 'tape')
    """
    return METHODS_BEFORE.get(key, key)
