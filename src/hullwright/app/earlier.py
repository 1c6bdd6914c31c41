"""What earlier houses taught, taken into the next plan: posterior means in the place of starting figures.

Flaws and hours were logged by method and joint kind; the catalogue keeps them by method and row of like kinds, as a rate on a
flat seam times a factor of the row. The factor is set so that the product is the posterior mean. Logged hours hold access and
preparation as they were on those houses, so that a plan that adds its own is on the safe side.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from functools import reduce
from pathlib import Path

from hullwright.building.model import Building
from hullwright.catalog.loading import starting_figures
from hullwright.catalog.model import Kind
from hullwright.catalog.reading import kinds
from hullwright.choice.unit_rates import Find, flaws_on, hours_on
from hullwright.errors import InputError, Problem, Where
from hullwright.evidence import Figure
from hullwright.joints.model import JointKind
from hullwright.proof.bayes import LogStats
from hullwright.proof.experience import Count, Experience, experience_from_json

Key = tuple[str, str]
_UNBACKED = ", unbacked"


def read_experience(file: str) -> Experience:
    """Read an experience file.

    Raises
    ------
    InputError
        Where it can't be used.
    """
    try:
        data = json.loads(Path(file).read_text("utf-8"))
    except (OSError, ValueError, RecursionError) as error:
        problem = Problem(
            "can't be read", Where(file), str(error)[:120], "a file that hullwright experience wrote"
        )
        raise InputError("the experience file can't be used", [problem]) from error
    return experience_from_json(data, file)


def learned(building: Building) -> Building:
    """Put what earlier houses taught in the place of starting figures; what the file itself states wins.

    Parameters
    ----------
    building : Building

    Returns
    -------
    Building
        With more figures, marked as measured on earlier jobs, where its file names experience.

    Raises
    ------
    InputError
        Where an experience file can't be used, or says nothing that a plan can use.
    """
    if not building.experience:
        return building
    taught = reduce(Experience.merge, map(read_experience, building.experience))
    known = {**starting_figures(), **building.figures}
    found = figures_of(taught, known)
    if not found:
        problem = Problem(
            "nothing in it is of a method and joint kind that the catalogue knows",
            Where(", ".join(building.experience)),
            allowed="flaws or hours by method and joint kind",
        )
        raise InputError("the experience can't be used", [problem])
    return replace(building, figures={**found, **building.figures})


def figures_of(taught: Experience, known: Mapping[str, Figure]) -> dict[str, Figure]:
    """Give the figures of the catalogue that experience replaces.

    Parameters
    ----------
    taught : Experience
    known : mapping of str to Figure
        Figures so far: the priors.
    """
    return {**_flaws(taught, known), **_hours(taught, known)}


def _rows(method: str, kind: str, table: Mapping[str, Kind]) -> tuple[Key, bool] | None:
    """Method and row of a kind, and whether it is counted in pieces."""
    if kind not in table or table[kind].inert:
        return None
    return (method, table[kind].row), JointKind(kind).piece


def _flaws(taught: Experience, known: Mapping[str, Figure]) -> dict[str, Figure]:
    table = kinds()
    sums: dict[Key, Count] = {}
    for (method, kind), count in taught.flaws.items():
        got = _rows(method, kind, table)
        if got is None or got[1] is not count.pieces:
            continue
        old = sums.get(got[0], Count(0, 0.0, count.pieces))
        sums[got[0]] = Count(old.flaws + count.flaws, old.looked_at + count.looked_at, count.pieces)
    priors = {key: prior for key, count in sums.items() if (prior := _flaw_prior(key, count, known))}
    means = replace(taught, flaws=sums).flaw_figures(priors)
    found: dict[str, Figure] = {}
    for (method, row), figure in means.items():
        if sums[method, row].pieces:
            found[f"each.{method}.{row}"] = figure
            continue
        share = figure.value / priors[method, row]
        for name in (row, row + _UNBACKED):
            if (place := known.get(f"place.{method}.{name}")) is not None:
                found[f"place.{method}.{name}"] = replace(figure, value=place.value * share, unit="")
    return found


def _flaw_prior(key: Key, count: Count, known: Mapping[str, Figure]) -> float | None:
    method, row = key
    found = flaws_on(_find(known), method, row, piece=count.pieces)
    return None if found is None or (count.pieces and not 0 < found < 1) else found


def _find(known: Mapping[str, Figure]) -> Find:
    def value(key: str) -> float | None:
        figure = known.get(key)
        return None if figure is None else figure.value

    return value


def _hours(taught: Experience, known: Mapping[str, Figure]) -> dict[str, Figure]:
    table = kinds()
    sums: dict[Key, LogStats] = {}
    pieces: dict[Key, bool] = {}
    for (method, kind), stats in taught.hours.items():
        got = _rows(method, kind, table)
        if got is not None and stats.n:
            sums[got[0]] = sums.get(got[0], LogStats(0, 0.0, 0.0)).merge(stats)
            pieces[got[0]] = got[1]
    priors = {key: prior for key in sums if (prior := _hour_prior(key, known, piece=pieces[key]))}
    found: dict[str, Figure] = {}
    for (method, row), figure in replace(taught, hours=sums).hour_figures(priors).items():
        if pieces[method, row]:
            found[f"hours_each.{method}.{row}"] = figure
        else:
            slow = figure.value / known[f"hours.{method}"].value
            found[f"slow.{method}.{row}"] = replace(figure, value=slow, unit="")
    return found


def _hour_prior(key: Key, known: Mapping[str, Figure], *, piece: bool) -> float | None:
    method, row = key
    sealed = piece or f"place.{method}.{row}" in known
    return hours_on(_find(known), method, row, piece=piece) if sealed else None
