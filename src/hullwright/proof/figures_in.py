"""Figures of an entry as a person writes them: ``last_wet='20 mil'``, ``passed=yes``, ``from='2 ft'``."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Final

from hullwright.errors import HullwrightError, InputError, Problem, Where
from hullwright.proof.kinds import KINDS, SURE, Field, fields_of
from hullwright.proof.limits import quantity_of
from hullwright.units import parse_number, read

_YES: Final = {"yes": True, "true": True, "no": False, "false": False}
_LIST: Final = re.compile(r"[,;\s]+")


def _share(text: str) -> float:
    percent = text.strip().endswith("%")
    return parse_number(text.strip().removesuffix("%")) / (100.0 if percent else 1.0)


# key as stored: how a person's text with a unit becomes its number
_UNITS: Final[tuple[tuple[str, Callable[[str], float]], ...]] = (
    ("_um", lambda text: read(text) * 1e6),
    ("_m_s", lambda text: read(text, "speed")),
    ("_m", read),
    ("_c", lambda text: read(text, "temperature")),
    ("_share", _share),
)


def figures(kind: str, words: Sequence[str]) -> dict[str, Any]:
    """Read the figures of an entry.

    Parameters
    ----------
    kind : str
        One of :data:`hullwright.proof.kinds.KINDS`.
    words : sequence of str
        ``name=value``. A name stands with its SI unit (``last_wet_um=508``) or without (``last_wet='20 mil'``).

    Returns
    -------
    dict of str to value
        As stored. A value left empty is None: a correction takes that figure away.

    Raises
    ------
    InputError
        With every figure that can't be read.

    Examples
    --------
    >>> found = figures("gauge reading", ["notches=18 20 22 mil", "last_wet=20 mil", "crew=B"])
    >>> [round(notch, 1) for notch in found["notches_um"]], round(found["next_dry_um"], 1)
    ([457.2, 508.0, 558.8], 558.8)
    >>> figures("nailing", ["passed=yes"])
    {'passed': True}
    """
    fields = {field.name: field for field in fields_of(kind, (word.partition("=")[0] for word in words))}
    if not fields:
        raise InputError(
            "this entry can't be used",
            [Problem("unknown kind of entry", Where(key="kind"), kind, ", ".join(KINDS))],
        )
    out: dict[str, Any] = {}
    problems: list[Problem] = []
    for word in words:
        try:
            name, value = _figure(word, fields)
        except HullwrightError as error:
            name = word.partition("=")[0]
            problems += [
                Problem(p.message, Where(key=name), p.got, p.allowed, p.hint) for p in error.problems
            ]
            continue
        if name in out:
            problems.append(Problem("said twice", Where(key=name), word))
        out[name] = value
    if problems:
        raise InputError("these figures can't be read", problems)
    return neighbours(out) if _notches(out) else out


def changed(kind: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, Any]:
    """Give the figures of a correction: the old ones with the new ones over them; what was left empty goes.

    Where one notch of a gauge reading is corrected the gauge tells the other.

    Examples
    --------
    >>> changed("probe", {"tried": 4, "failed": 1, "note": "lap"}, {"failed": 0, "note": None})
    {'tried': 4, 'failed': 0}
    >>> changed("gauge reading", {"notches_um": [1, 2, 3], "last_wet_um": 1, "next_dry_um": 2}, {"last_wet_um": 2})
    {'notches_um': [1, 2, 3], 'last_wet_um': 2, 'next_dry_um': 3}
    """
    pair = {"last_wet_um", "next_dry_um"}
    alone = kind == "gauge reading" and len(pair & set(new)) == 1
    kept = {name: value for name, value in old.items() if not (alone and name in pair)}
    if SURE in kept:  # an answer was for the figure as it stood
        left = (
            [name for name in kept[SURE] if name not in new] if isinstance(kept[SURE], (list, tuple)) else []
        )
        kept = {name: value for name, value in kept.items() if name != SURE} | ({SURE: left} if left else {})
    if alone:
        return {name: value for name, value in neighbours({**kept, **new}).items() if value is not None}
    return {name: value for name, value in {**kept, **new}.items() if value is not None}


def answered(kind: str, what: Mapping[str, Any], sure: Sequence[str]) -> dict[str, Any]:
    """Give the figures of an entry with those that look odd and are right named in `sure`.

    Parameters
    ----------
    kind : str
    what : mapping
        Its figures.
    sure : sequence of str
        Names, with the unit or without.

    Returns
    -------
    dict

    Raises
    ------
    InputError
        Where a name is none of a number of this entry.

    Examples
    --------
    >>> answered("width", {"width_m": 3.0}, ["width"])
    {'width_m': 3.0, 'sure': ['width_m']}
    """
    if not sure:
        return dict(what)
    names = {said(field.name): field.name for field in fields_of(kind, what) if quantity_of(field.name)}
    names |= {name: name for name in names.values()}
    problems = [
        Problem(
            "no number of this entry goes by this name", Where(key="sure"), word, ", ".join(map(said, what))
        )
        for word in sure
        if names.get(word) not in what
    ]
    if problems:
        raise InputError("what is sure", problems)
    before = [name for name in what.get(SURE, ()) if isinstance(name, str)]
    return {**what, SURE: list(dict.fromkeys([*before, *(names[word] for word in sure)]))}


def _figure(word: str, fields: Mapping[str, Field]) -> tuple[str, Any]:
    name, equals, text = word.partition("=")
    if not equals:
        problem = Problem("a figure stands as name=value", got=word, allowed=", ".join(map(said, fields)))
        raise InputError("no figure", [problem])
    if name in fields:
        return name, _value(text.strip(), fields[name], None)
    for end, reader in _UNITS:
        if name + end in fields:
            return name + end, _value(text.strip(), fields[name + end], reader)
    problem = Problem("no such figure", got=name, allowed=", ".join(map(said, fields)))
    raise InputError("no such figure", [problem])


def said(name: str) -> str:
    """Give the name of a figure without its unit, as a person says it.

    Examples
    --------
    >>> said("last_wet_um"), said("crew")
    ('last_wet', 'crew')
    """
    return next((name.removesuffix(end) for end, _ in _UNITS if name.endswith(end)), name)


def _value(text: str, field: Field, reader: Callable[[str], float] | None) -> Any:
    if not text:
        return None
    readers: dict[str, Callable[[], Any]] = {
        "flag": lambda: _flag(text),
        "count": lambda: _count(text),
        "coat": lambda: _count(text),
        "number": lambda: _number(text, field.name, reader),
        "numbers": lambda: _numbers(text, reader),
        "texts": lambda: [part.strip() for part in text.split(";") if part.strip()],
        "text": lambda: text,
    }
    return readers[field.type]()


def _number(text: str, name: str, reader: Callable[[str], float] | None) -> float | None:
    if name in {"last_wet_um", "next_dry_um"} and text.lower() == "none":
        return None
    if name == "humidity":
        return _share(text)
    if reader is not None:
        return reader(text)
    if name == "quantity" and re.search(r"[a-z'\"]", text, re.IGNORECASE):
        return read(text)
    return parse_number(text)


def _numbers(text: str, reader: Callable[[str], float] | None) -> list[float]:
    """A list with one unit at its end: ``18 20 22 mil``."""
    body, unit = text, ""
    match = re.search(r"\s*([^\d\s.,;]+)$", text)
    if match:
        body, unit = text[: match.start()], match.group(1)
    parts = [part for part in _LIST.split(body.strip()) if part]
    return [parse_number(part) if reader is None else reader(f"{part} {unit}".strip()) for part in parts]


def _flag(text: str) -> bool:
    if text.lower() not in _YES:
        raise InputError("no flag", [Problem("neither yes nor no", got=text, allowed="yes or no")])
    return _YES[text.lower()]


def _count(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,9}", text):
        raise InputError("no count", [Problem("no whole number", got=text, allowed="0 or more")])
    return int(text)


def unitless(name: str, names: Iterable[str]) -> bool:
    """Say whether a name stands for a figure whose unit the value must carry: ``last_wet`` for ``last_wet_um``.

    Examples
    --------
    >>> known = [field.name for field in KINDS["gauge reading"]]
    >>> unitless("last_wet", known), unitless("last_wet_um", known), unitless("crew", known)
    (True, False, False)
    """
    known = set(names)
    return name not in known and any(name + end in known for end, _ in _UNITS)


def _notches(what: Mapping[str, Any]) -> object:
    """Notches of the gauge, by either of their names."""
    return what.get("notches_um", what.get("teeth_um"))


def neighbours(what: dict[str, Any]) -> dict[str, Any]:
    """Where one of the two notches was said the gauge tells the other; ``none`` is no notch wet, or none dry."""
    teeth = _notches(what)
    given = [name for name in ("last_wet_um", "next_dry_um") if name in what]
    if isinstance(teeth, list) and teeth and len(given) == 1:
        edges = [None, *teeth, None]
        step, other = (1, "next_dry_um") if given[0] == "last_wet_um" else (-1, "last_wet_um")
        value = what[given[0]]
        places = range(len(edges) - 1) if step == 1 else range(1, len(edges))
        for place in places:
            edge = edges[place]
            same = edge is None if value is None else edge is not None and abs(edge - value) < 1e-6 * edge
            if same:
                what[other] = edges[place + step]
                break
    return {
        name: value
        for name, value in what.items()
        if value is not None or name not in {"last_wet_um", "next_dry_um"}
    }
