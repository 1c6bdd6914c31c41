"""Reads the catalogue's own data files."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from typing import Any

from hullwright.catalog.model import Kind, Method, Pair, Substrate
from hullwright.catalog.rules import Rule
from hullwright.evidence import Caution, Evidence, Figure, Mark

Table = Mapping[str, Any]


@cache
def table(name: str) -> Table:
    """Read one data file, without its extension."""
    file = resources.files("hullwright.catalog") / "data" / f"{name}.toml"
    return tomllib.loads(file.read_text(encoding="utf-8"))


def evidence(entry: Table) -> Evidence:
    """Mark and source of an entry.

    Raises
    ------
    ValueError
        Where the mark is none of :class:`hullwright.evidence.Mark`.
    """
    return Evidence(Mark(entry["mark"]), entry.get("source", ""))


def figures(tree: Table) -> dict[str, Figure]:
    """Flatten nested tables of numbers; `unit`, `mark` and `source` come down from the table they stand in.

    Examples
    --------
    >>> found = figures({"flaws": {"unit": "1/m", "mark": "estimate", "tape": 0.015}})
    >>> print(found["flaws.tape"])
    0.015 1/m [estimate]
    """
    return dict(_leaves(tree, "", {}))


_MARKS = ("unit", "mark", "source")


def _leaves(tree: Table, path: str, above: Table) -> Iterator[tuple[str, Figure]]:
    here = {**above, **{key: tree[key] for key in _MARKS if key in tree}}
    for key, value in tree.items():
        name = f"{path}.{key}" if path else key
        if key in _MARKS:
            continue
        if isinstance(value, Mapping) and "value" not in value:
            yield from _leaves(value, name, here)
        else:
            entry: Table = {**here, **(value if isinstance(value, Mapping) else {"value": value})}
            yield name, Figure(float(entry["value"]), str(entry["unit"]), evidence(entry))


def methods() -> dict[str, Method]:
    """Read the methods."""
    return {
        key: Method(key, row["name"], row["form"], tuple(row["prepared"]), evidence(row))
        for key, row in table("methods").items()
    }


def kinds() -> dict[str, Kind]:
    """Read where each joint kind finds its figures."""
    return {
        key: Kind(row["row"], bool(row.get("inert", False)), row.get("note", ""))
        for key, row in table("kinds").items()
    }


def substrates() -> dict[str, Substrate]:
    """Read the substrates."""
    return {
        key: Substrate(
            key,
            row["name"],
            row["rows"],
            row["chemistry"],
            Figure(float(row["permeance"]), "L/(s m2)", evidence(row)),
        )
        for key, row in table("substrates").items()
    }


def rules() -> tuple[Rule, ...]:
    """Read the rules, in the order of the file."""
    return tuple(
        Rule(
            key,
            row["text"],
            evidence(row),
            row["when"],
            row.get("needs", {}),
            row.get("effect", "bars"),
            bool(row.get("yields", False)),
            row.get("state", ""),
        )
        for key, row in table("rules").items()
    )


def pairs() -> dict[tuple[str, str], Pair]:
    """Read what is known of material classes that touch."""
    memory = Evidence(Mark.MEMORY, "compatibility list of the trade")
    found: dict[tuple[str, str], Pair] = {}
    for row in table("compatibility")["pair"]:
        one, other = sorted(row["classes"])
        found[one, other] = Pair(row["verdict"], row["text"], memory)
    return found


def cautions() -> dict[str, Caution]:
    """Read the cautions."""
    return {key: Caution(row["text"], evidence(row)) for key, row in table("cautions").items()}
