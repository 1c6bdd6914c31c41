"""Did a check find nothing wrong, and which checks look at a repair. What proves a method stands in :mod:`hullwright.proof.rules`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

AFTER_REPAIR: Final = ("seen", "probe", "smoke")  # one of these, made knowing of the repair
STANDS_FOR: Final = frozenset({"seen", "probe"})
"""Steps that smoke without a leak stands for: it shows that it is tight there and then, and nothing of film or rolling."""

_GOOD: Final = {
    "tug": "held", "pull": "held", "peel": "held", "seen": "sound", "surface": "dry", "nailing": "passed", "straps": "passed",
}  # fmt: skip


def passes(kind: str, what: Mapping[str, Any]) -> bool:
    """Say whether an entry of a checking kind found nothing wrong.

    Examples
    --------
    >>> passes("probe", {"tried": 3, "failed": 1}), passes("rolled", {"seen_by": "lead"})
    (False, True)
    """
    if kind == "probe":
        return bool(what["tried"] > 0 and what["failed"] == 0)
    if kind == "smoke":
        return not what["leaked"]
    return kind not in _GOOD or bool(what[_GOOD[kind]])
