"""What did the record call things before: an entry keeps the version it was written in, and is read under the names of today.

A body without ``version`` is of version 1, unless it uses a name that only later versions have. Nothing in the store is ever
rewritten: bodies are translated when they are read, and back when they are compared with what was sent before.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

VERSION: Final = 2
"""Version of the names that are written today."""
_KINDS: Final[Mapping[str, str]] = {"comb": "gauge reading", "release": "ok to cover"}
_KEYS: Final[Mapping[str, Mapping[str, str]]] = {
    "gauge reading": {"teeth_um": "notches_um"},
    "covered": {"release": "ok"},
}
NEW_KINDS: Final = frozenset(
    {
        "film added", "unit set", "trade through", "fasteners added", "as laid differs", "can't work", "trouble", "opened again",
        "drawing issued",
    }
)  # fmt: skip
"""Kinds that version 1 did not know."""
NEW_SPOT: Final = frozenset({"run", "mark", "revision"})
"""Keys of a place that version 1 did not know."""
_NEW_KEYS: Final[Mapping[str, frozenset[str]]] = {
    "done": frozenset({"coat", "substitute", "of"}),
    "gauge reading": frozenset({"coat"}),
    "cut": frozenset({"coat"}),
    "photo": frozenset({"of"}),
    "seen": frozenset({"of", "flat"}),
    "rolled": frozenset({"of"}),
    "prepared": frozenset({"of"}),
    "primed": frozenset({"of"}),
    "surface": frozenset({"of"}),
    "smoke": frozenset({"of"}),
    "tug": frozenset({"product", "surface"}),
}
_WAS_KINDS: Final = {new: old for old, new in _KINDS.items()}


def kind_now(kind: str) -> str:
    """Give today's name of a kind of entry.

    Examples
    --------
    >>> kind_now("comb"), kind_now("done")
    ('gauge reading', 'done')
    """
    return _KINDS.get(kind, kind)


def kinds_before(kind: str) -> tuple[str, ...]:
    """Give every name that a kind has had, today's first.

    Examples
    --------
    >>> kinds_before("gauge reading"), kinds_before("done")
    (('gauge reading', 'comb'), ('done',))
    """
    return (kind, *(old for old, new in _KINDS.items() if new == kind))


def old_kinds() -> tuple[str, ...]:
    """Give the names of kinds that are no longer written."""
    return tuple(_KINDS)


def old_keys(kind: str) -> Mapping[str, str]:
    """Give the old names of the figures of a kind, each with today's.

    Parameters
    ----------
    kind : str
        By either of its names.
    """
    return _KEYS.get(kind_now(kind), {})


def version_of(body: Mapping[str, Any]) -> int:
    """Say which version the names of a body are of.

    Examples
    --------
    >>> version_of({"kind": "comb"}), version_of({"kind": "gauge reading"}), version_of({"kind": "done", "mark": "W1"})
    (1, 2, 2)
    """
    kind, what = body.get("kind"), body.get("what")
    names = frozenset(what) if isinstance(what, Mapping) else frozenset[Any]()
    kind = kind if isinstance(kind, str) else ""
    new_keys = set(old_keys(kind).values()) | _NEW_KEYS.get(kind, frozenset())
    later = kind in NEW_KINDS or kind in _WAS_KINDS or bool(NEW_SPOT & set(body)) or bool(names & new_keys)
    return VERSION if later else 1


def named_now(kind: str, what: Mapping[str, Any]) -> tuple[str, dict[str, Any]]:
    """Give kind and figures of version 1 under the names of today.

    Examples
    --------
    >>> named_now("covered", {"release": "a"})
    ('covered', {'ok': 'a'})
    """
    keys = old_keys(kind)
    return kind_now(kind), {keys.get(key, key): value for key, value in what.items()}


def named_before(kind: str, what: Mapping[str, Any]) -> tuple[str, dict[str, Any]]:
    """Give kind and figures of today under the names of version 1: what :func:`named_now` was given.

    Examples
    --------
    >>> named_before("covered", {"ok": "a"})
    ('covered', {'release': 'a'})
    """
    keys = {new: old for old, new in old_keys(kind).items()}
    return _WAS_KINDS.get(kind, kind), {keys.get(key, key): value for key, value in what.items()}
