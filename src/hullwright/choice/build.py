"""From joints and catalogue to the numbers of the choice, and the table that leads back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from hullwright import exposure
from hullwright.building.model import Building, Fixed
from hullwright.catalog import Catalog, Rule
from hullwright.choice.options import (
    NO_FIGURES,
    WITHOUT,
    Allowed,
    Barred,
    Option,
    Spot,
    allowed,
    own_first,
    practised,
    spot_of,
)
from hullwright.choice.sheets import check_sheets
from hullwright.choice.table import Choice, Sources, Table
from hullwright.choice.terms import terms_of
from hullwright.errors import InfeasibleError, InputError, Problem, Where
from hullwright.evidence import STATED
from hullwright.hull.model import Face, Hull
from hullwright.joints.lookup import called
from hullwright.joints.model import JointSet, Run
from hullwright.joints.renamed import kind

Floats = NDArray[np.float64]
WORST = Rule("worst-piece", "Above the limit that you set on the worst single piece.", STATED, {}, {})


def build(
    building: Building,
    hull: Hull,
    joints: JointSet,
    catalog: Catalog,
    *,
    rain: Floats | None = None,
    honour_fixed: bool = True,
) -> Choice:
    """Build the choice.

    Parameters
    ----------
    building : Building
        Crew, aim, site, surfaces, fixed decisions.
    hull : Hull
        Faces, for surfaces and coats.
    joints : JointSet
        Runs and where they meet.
    catalog : Catalog
    rain : ndarray (F,) or None
        Rain on each face over the days exposed [L per m2 of the face]; None: worked out from the stated rain.
    honour_fixed : bool
        Keep to the user's decisions.

    Returns
    -------
    Choice

    Raises
    ------
    InfeasibleError
        Where a run has no allowed option, or a decision on one run breaks a hard rule.
    InputError
        Where a decision fits no run at all.
    """
    check_sheets(catalog)
    faces = {face.id: face for face in hull.faces}
    fixed = tuple(_today(one, faces.values()) for one in building.aim.fixed) if honour_fixed else ()
    _decisions_fit(fixed, joints.runs, building, catalog)
    spots = [
        spot_of(
            building,
            run,
            faces.get(run.face),
            catalog,
            fixed=_decided(fixed, run),
            beside=_beside(run, joints, faces),
        )
        for run in joints.runs
    ]
    found, unmet = _sorted(spots, building, catalog, fixed)
    water = exposure.passing(building, hull, joints, on_faces=rain)
    return Table(Sources(building, joints, catalog, faces), spots, found).choice(water, tuple(unmet))


_PLAIN = frozenset({"no-figures", "primer-pointless", "listed-where-rated"})
"""Rules that say nothing on why a joint is left without a way."""


def _beside(run: Run, joints: JointSet, faces: Mapping[str, Face]) -> list[Face]:
    """Faces that the joints of a run touch."""
    names = dict.fromkeys(name for number in run.joints for name in joints.joints[number].faces)
    return [faces[name] for name in names if name in faces]


def _today(decision: Fixed, faces: Iterable[Face]) -> Fixed:
    """A decision with its face and kind in words of today: files of before are read."""
    before = {face.was: face.id for face in faces}
    today = {face.id for face in faces}
    face = decision.face if decision.face in today else before.get(decision.face, decision.face)
    return replace(decision, face=face, kind=kind(decision.kind))


def _matches(decision: Fixed, run: Run) -> bool:
    return (
        decision.face in ("", run.face)
        and decision.kind in ("", run.kind.value)
        and (not decision.run or decision.run in called(run))
    )


def _decided(fixed: Iterable[Fixed], run: Run) -> tuple[str, ...]:
    return tuple(decision.method for decision in fixed if _matches(decision, run))


def _decisions_fit(fixed: Iterable[Fixed], runs: Sequence[Run], building: Building, catalog: Catalog) -> None:
    problems: list[Problem] = []
    for one in fixed:
        where = one.where if one.where.key else Where(building.file or None, key="aim.fixed")
        found = [run for run in runs if one.run and _matches(one, run)]
        meant = [run.id for run in found]
        if (
            len({run.was for run in found}) > 1 and one.run not in meant
        ):  # one run of before may be several today
            text, hint = f"{len(meant)} runs may be meant", "state the full id of one of them"
            problems.append(Problem(text, where, one.run, "; ".join(meant), hint))
        if not any(_matches(one, run) for run in runs):
            what = ", ".join(text for text in (one.face, one.kind, one.run) if text)
            allowed = "a face, kind or run as printed by `joints`"
            problems.append(Problem("this decision fits no joint of the house", where, what, allowed))
        named = (one.product, *(name for name in (one.primer, one.filler) if name != WITHOUT))
        problems += [
            Problem("no such product", where, name, ", ".join(catalog.products))
            for name in named
            if name and name not in catalog.products
        ]
    if problems:
        raise InputError("a fixed decision can't be used", problems)


def _sorted(
    spots: Sequence[Spot], building: Building, catalog: Catalog, fixed: Sequence[Fixed]
) -> tuple[list[Allowed], list[str]]:
    seen: dict[tuple[object, ...], Allowed] = {}
    found: list[Allowed] = []
    problems: list[Problem] = []
    unmet: list[tuple[str, str]] = []
    for spot in spots:
        key = spot.signature()
        if key not in seen:
            seen[key] = _within_worst(allowed(spot, building, catalog), spot, building, catalog)
        got = seen[key]
        if not got.options:
            problems.append(_no_way(spot.run, got, catalog))
        found.append(own_first(_restrict(got, spot.run, fixed, (catalog, unmet, problems)), catalog))
    if problems:
        raise InfeasibleError("some joints have no allowed method", problems)
    return found, _unmet(unmet)


def _unmet(reasons: Iterable[tuple[str, str]]) -> list[str]:
    """Decisions that are not kept, each reason once with its faces."""
    faces: dict[str, list[str]] = {}
    for reason, face in reasons:
        faces.setdefault(reason, []).append(face)
    return [f"{', '.join(dict.fromkeys(names))}: {reason}" for reason, names in faces.items()]


def _within_worst(got: Allowed, spot: Spot, building: Building, catalog: Catalog) -> Allowed:
    limit = building.aim.worst_piece
    if not spot.run.kind.piece or not np.isfinite(limit):
        return got
    keep: list[Option] = []
    out: list[Barred] = []
    for option in got.options:
        sound, flaws, hole, *_ = terms_of(
            spot, option, catalog, practised=practised(option.method, building.crew.practised)
        )
        if sound + flaws * hole > limit:
            out.append(Barred(option, WORST))
        else:
            keep.append(option)
    return Allowed(tuple(keep), (*got.barred, *out))


def _no_way(run: Run, got: Allowed, catalog: Catalog) -> Problem:
    said = dict.fromkeys(
        f"{bar.option.label(catalog)} ({bar.rule.text})" for bar in got.barred if bar.rule.id not in _PLAIN
    )
    return Problem(
        f"no method is allowed on {run.name}",
        Where(key=run.id),
        "; ".join(list(said)[:6]),
        "at least one method that no rule bars",
        "change what stands in the way: surface, gap, blocking, product or limit",
    )


def _restrict(
    got: Allowed,
    run: Run,
    fixed: Sequence[Fixed],
    notes: tuple[Catalog, list[tuple[str, str]], list[Problem]],
) -> Allowed:
    catalog, unmet, problems = notes
    for decision in fixed:
        if not _matches(decision, run):
            continue
        keep = tuple(option for option in got.options if option.decided(decision))
        if keep:
            return Allowed(keep, got.barred)
        bars = [bar for bar in got.barred if bar.option.decided(decision)]
        if not bars or catalog.kinds[run.kind.value].inert:
            continue
        bar = bars[0]
        reason = f"{bar.option.label(catalog)} is barred: {bar.rule.text}"
        if decision.run:
            told = f"your decision breaks a rule on {run.name}: {reason}"
            problems.append(Problem(told, decision.where, decision.method))
        elif (
            decision.kind or bar.rule is not NO_FIGURES
        ):  # a face in one method means: where it is a way at all
            unmet.append((f"{run.kind.value}: {reason}", run.face))
    return got
