"""Pictures of the record: the lots, the proof along a joint, use against plan, the operating curve."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from hullwright.app.film_lots import FilmLots
from hullwright.app.house import House, load
from hullwright.app.learn import Rest, Use, UseLine
from hullwright.app.mockup import ReadingsPlan
from hullwright.app.proof import states
from hullwright.app.site import catalog_of, target_of
from hullwright.app.spoken import on_drawing
from hullwright.app.spots import along
from hullwright.errors import InputError, Problem, Where
from hullwright.joints.lookup import one
from hullwright.joints.model import Joint, Run
from hullwright.joints.short import say
from hullwright.material.tolerance import SHARE
from hullwright.proof.entries import Entry
from hullwright.proof.lotbook import BookedLot, reading_of
from hullwright.proof.lots import Need
from hullwright.proof.planning import chance_to_prove, operating_curve
from hullwright.proof.proves import passes
from hullwright.report.lots_plot import LotRow, lots_plot
from hullwright.report.operating import Planned, operating_plot
from hullwright.report.proof_along import Band, Bar, Sign, Stretch, proof_along
from hullwright.report.use_plot import UsePanel, use_plot
from hullwright.units import Show, read

_CHECKS: Final = frozenset({"seen", "probe", "smoke", "tug", "pull", "peel", "rolled"})
_WRONG: Final = frozenset({"flaw", "hole", "staples"})


def lots_picture(found: FilmLots) -> str:
    """Draw all lots of ``film lots``."""
    by_id = {one.lot.key.id: one.lot for one in found.judged}
    rows = []
    for row in found.rows:
        lot = by_id[str(row["id"])]
        readings = tuple((item.reading.low, item.reading.high) for item in lot.placed)
        mean, bound = (None if row[key] is None else row[key] * 1e-6 for key in ("mean_um", "bound_um"))
        head = f"{lot.key.method}, crew {lot.key.crew}"
        place = f"{lot.key.day.isoformat()}, {lot.key.surface}"
        rows.append(
            LotRow(
                head, place, readings, mean, bound, row["minimum_um"] * 1e-6, row["answer"], row["sentence"]
            )
        )
    name = found.log.house if found.log else found.file
    return lots_plot(rows, Show(found.system), name=name)


def along_picture(found: FilmLots, name: str) -> str:
    """Draw the proof along a joint, or along the joints of a run laid end to end.

    Parameters
    ----------
    found : FilmLots
        From a log.
    name : str
        Id or name of a joint or of a run along a line.

    Raises
    ------
    InputError
        No such joint or run; or the readings came from a table, which knows no places.
    """
    if found.log is None:
        problem = Problem(
            "a table knows no place along a joint",
            Where(found.file),
            allowed="a building file, with readings in its log",
        )
        raise InputError("the joint can't be drawn", [problem])
    house = load(found.file)
    lines = [joint for joint in house.joints.joints if not joint.kind.piece]
    runs = [run for run in house.joints.runs if not run.kind.piece]
    known: list[Joint | Run] = [*lines, *runs]
    wanted = one(name, known, what="joint or run")
    joints = [joint for joint in lines if wanted.id in {joint.id, joint.run}]
    words = {item.joint: item.state.value for item in states(found.log, found.file).joints}
    entries = on_drawing(found.log.standing(), house)
    ids = {joint.id for joint in joints}
    lot = next(
        (each for each in found.judged if ids & set(each.lot.joints) and each.result is not None), None
    )
    need = lot.result.need if lot is not None and lot.result is not None else None
    show = Show(house.building.system)
    stretches = [_stretch(joint, _about(joint, entries), need, (words, show)) for joint in joints]
    target = None if need is None or lot is None else _band(house, lot.lot, need)
    return proof_along(stretches, target, show, name=wanted.name)


def _about(joint: Joint, entries: Sequence[Entry]) -> list[Entry]:
    """Entries that name the joint, and those that name a whole face it is on."""
    return [
        e for e in entries if e.spot.joint == joint.id or (not e.spot.joint and e.spot.face in joint.faces)
    ]


def _band(house: House, lot: BookedLot, need: Need) -> Band:
    aimed = target_of(catalog_of(house), lot.product)
    return Band(need.least_wet, None if aimed is None else aimed.wet)


def _stretch(
    joint: Joint, own: Sequence[Entry], need: Need | None, told: tuple[Mapping[str, str], Show]
) -> Stretch:
    words, show = told
    bars = tuple(
        _bar(joint, entry, need) for entry in own if entry.kind == "gauge reading" and entry.spot.joint
    )
    done = tuple(
        (float(entry.what.get("from_m", 0.0)), min(float(entry.what.get("to_m", joint.length)), joint.length))
        for entry in own
        if entry.kind == "done"
    )
    signs = tuple(
        Sign(_at(joint, entry), passes(entry.kind, entry.what) and entry.kind not in _WRONG, _told(entry))
        for entry in own
        if entry.kind in _CHECKS | _WRONG
    )
    return Stretch(say(joint, show), joint.length, words.get(joint.id, "bare"), bars, done, signs)


def _bar(joint: Joint, entry: Entry, need: Need | None) -> Bar:
    reading = reading_of(entry).reading
    said = "" if need is None else reading.judge(need.least_wet).value
    return Bar(_at(joint, entry), reading.low, reading.high, said, _told(entry))


def _at(joint: Joint, entry: Entry) -> float:
    return joint.length / 2 if entry.spot.place is None else along(np.asarray(joint.points), entry.spot.place)


def _told(entry: Entry) -> str:
    return f"{entry.kind} {entry.receipt.number}, {entry.stamp.author}, {entry.stamp.time:%Y-%m-%d}"


def use_picture(found: Use, rest: Sequence[Rest], show: Show) -> str:
    """Draw use against plan."""
    left = {(item.product, item.method): item for item in rest}
    panels = [
        _panel(line, left.get((line.product, line.method)), found.currency, show) for line in found.lines
    ]
    return use_plot(panels, show, name=found.log.house)


def _panel(line: UseLine, rest: Rest | None, currency: str, show: Show) -> UsePanel:
    days, metres, packs = [], 0.0, 0.0
    for day in line.days:
        metres, packs = metres + day.metres, packs + day.packs + day.cured
        days.append((day.day.isoformat(), metres, packs))
    finish = None if line.ahead is None else (float(line.ahead.packs_p50), float(line.ahead.packs_p90))
    return UsePanel(
        f"{line.product} × {line.method}", tuple(days), line.learned.prior.median, rest.metres if rest else 0.0,
        finish, rest.packs if rest else None, use_sentence(line, currency, show),
    )  # fmt: skip


def use_sentence(line: UseLine, currency: str, show: Show) -> str:
    """Say the answer about one product first."""
    parts = [
        f"a pack does {show.run_length(line.learned.posterior.median)} (planned {show.run_length(line.learned.prior.median)})"
    ]
    if line.over is not None:
        share = line.over.used / line.over.needed - 1.0
        parts.append(
            f"{abs(share):.0%} {'over' if share >= 0 else 'under'} the aim so far: {line.over.money:,.2f} {currency}".strip()
        )
    if line.ahead is not None:
        parts.append(f"{line.ahead.packs_p50} packs to finish, {line.ahead.packs_p90} to be sure in 9 of 10")
    return "; ".join(parts)


def operating_picture(found: ReadingsPlan, asked: Mapping[str, str], show: Show) -> str:
    """Draw the operating curve with the lot that was planned for.

    Parameters
    ----------
    found : ReadingsPlan
    asked : mapping of str to str
        ``mean``, ``sd``, ``least``, ``step`` as a person wrote them.
    show : Show
    """
    from hullwright.material.distributions import normal_cdf  # noqa: PLC0415  only for the picture

    mean, sd, least, step = (read(asked[key]) for key in ("mean", "sd", "least", "step"))
    chance = float(chance_to_prove(found.readings, mean, sd, least=least, step=step))
    below = float(normal_cdf((least - mean) / sd))
    smooth = operating_curve(found.readings, sd, least=least, step=step, points=241)
    return operating_plot(smooth, Planned(mean, below, chance, SHARE), show)
