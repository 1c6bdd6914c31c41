"""Every figure that a building file may state, by name: its value, its unit and how far it can be trusted."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from hullwright.app.heads import head
from hullwright.app.house import House, Source, load
from hullwright.catalog import load as load_catalog
from hullwright.catalog.loading import ONLY_STATED
from hullwright.errors import InputError, Problem
from hullwright.evidence import Figure
from hullwright.joints.figures import DEFAULTS


@dataclass(frozen=True, slots=True)
class NamedFigure:
    """One figure under its name.

    Parameters
    ----------
    name : str
        Key of ``figures:`` in the building file.
    figure : Figure or None
        None for what has no default: where it is not stated, the rules on it say nothing.
    unit : str
        In which the file states it.
    stated : bool
        Whether the building file states it.
    """

    name: str
    figure: Figure | None
    unit: str
    stated: bool

    def to_json(self) -> dict[str, Any]:
        """Give the figure as JSON."""
        evidence = {"mark": "", "source": ""} if self.figure is None else self.figure.evidence.to_json()
        value = None if self.figure is None else self.figure.value
        return {"name": self.name, "value": value, "unit": self.unit, "stated": self.stated, **evidence}


@dataclass(frozen=True, slots=True)
class FigureList:
    """Answer of ``figures``.

    Parameters
    ----------
    figures : tuple of NamedFigure
        By name.
    """

    figures: tuple[NamedFigure, ...]

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``figures --json``."""
        return head("figures") | {"figures": [one.to_json() for one in self.figures], "cautions": []}


def figures(source: Source | None = None, *, like: str = "") -> FigureList:
    """List every figure that a building file may state.

    Parameters
    ----------
    source : path, Building, House or None
        House whose own figures stand in the list; None: our starting figures.
    like : str
        Only names with this in them; '' for all.

    Returns
    -------
    FigureList

    Raises
    ------
    InputError
        Where no name has it; says which are near.

    Examples
    --------
    >>> [one.name for one in figures(like="flaws.tape").figures]
    ['flaws.tape']
    """
    house = None if source is None else load(source)
    known = _all(house)
    found = tuple(one for name, one in sorted(known.items()) if like.lower() in name.lower())
    if not found:
        near = difflib.get_close_matches(like, list(known), 3)
        raise InputError(
            "no figure of that name",
            [
                Problem(
                    "no figure's name has this in it", got=like, allowed="part of a name", hint=_meant(near)
                )
            ],
        )
    return FigureList(found)


def _meant(near: list[str]) -> str:
    return f"did you mean {' or '.join(near)}?" if near else "without it, `figures` lists them all"


def _all(house: House | None) -> dict[str, NamedFigure]:
    catalog = load_catalog() if house is None else house.catalog
    own: Mapping[str, Figure] = {} if house is None else house.building.figures
    values: dict[str, Figure] = {
        **DEFAULTS,
        **own,
        **catalog.figures,
    }  # the catalog holds its own stated ones with their unit
    units = {name: one.unit for name, one in DEFAULTS.items()}
    named = {
        name: NamedFigure(name, one, units.get(name, one.unit), name in own) for name, one in values.items()
    }
    for name, unit in ONLY_STATED.items():
        named.setdefault(name, NamedFigure(name, None, unit, stated=False))
    return named
