"""Where the leakage is: leakage budget of a plan, posterior after a test, hunt list, test day."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any, Final, get_args

import numpy as np
from numpy.typing import NDArray

from hullwright.app.fantest import FanTest, analyse
from hullwright.app.heads import head
from hullwright.app.house import House, Source
from hullwright.app.plan import Planned, Wish, plan
from hullwright.building.model import OpeningKind
from hullwright.errors import FanTestError, Problem, Where
from hullwright.evidence import ESTIMATE, Caution, Evidence, Mark
from hullwright.joints.renamed import kind
from hullwright.leaks.components import Component, Prior, draw, flow_per_area, prior, spread
from hullwright.leaks.evidence_seen import Term
from hullwright.leaks.findings import Finding, Mend, terms
from hullwright.leaks.hunt import Visit, cm2, expected_seen, feet_up, metres_up, stops, walk
from hullwright.leaks.posterior import Posterior, sample_until
from hullwright.leaks.testday import Step, seals, steps_for
from hullwright.readers.findings import read_findings

Floats = NDArray[np.float64]

OTHER: Final = {"through the panels": "material"} | {f"{kind}s": "unit" for kind in get_args(OpeningKind)}
DRAWS: Final = 20_000
LEVEL: Final = 0.8
ENOUGH: Final = 300.0
LONGEST: Final = 1000

CAUTIONS: Final = (
    Caution(
        "A total tells how much leaks, not where: places are only as sure as the spreads given.", ESTIMATE
    ),
    Caution(
        "Going up to look: guardrails, nets or personal fall arrest at 6 ft (1.8 m) and more.",
        Evidence(Mark.PUBLISHED, "29 CFR 1926.501(b)(13); other countries: local rule"),
    ),
)


@dataclass(frozen=True)
class Leakage:
    """What is known of the leaks of a house.

    Parameters
    ----------
    planned : Planned
    components : tuple of Component
    columns : Prior
    runs : tuple of str
        Run of each component.
    flows : ndarray (draws, J)
        [m3/h at 50 Pa]
    posterior : Posterior or None
        None before a test.
    test : FanTest or None
    findings : tuple of Finding
    mends : tuple of Mend
        What was sealed since the test.
    """

    planned: Planned
    components: tuple[Component, ...]
    columns: Prior
    runs: tuple[str, ...]
    flows: Floats
    posterior: Posterior | None
    test: FanTest | None
    findings: tuple[Finding, ...] = ()
    mends: tuple[Mend, ...] = ()

    @property
    def mended(self) -> frozenset[int]:
        """Components that were sealed since the test."""
        return frozenset(k for mend in self.mends for k in mend.members)

    @cached_property
    def now(self) -> Floats:
        """Flows as they are now (draws, J): what a fix took from the fan is gone; a fix that was not read leaks as new work does."""
        if not self.mends:
            return self.flows
        left = self.flows.copy()
        for mend in self.mends:
            index = list(mend.members)
            if mend.moved is None:
                left[:, index] = np.minimum(left[:, index], draw(self.columns, len(left), 7)[:, index])
            else:
                there = left[:, index].sum(axis=1)
                left[:, index] *= (np.maximum(there - mend.moved, 0.0) / np.maximum(there, 1e-12))[:, None]
        return left

    @property
    def ach50(self) -> Floats:
        """Air changes of each draw (draws,) [1/h]."""
        changed: Floats = self.now.sum(axis=1) / self.planned.plan.whole.volume.value
        return changed

    def chance_met(self, target: float) -> float:
        """Share of draws that meet a target [1/h]."""
        return float((self.ach50 <= target).mean())

    def apart(self) -> tuple[float, str]:
        """How much the test narrows single joints: mean ratio of the spread after to the spread before, and what that says."""
        if self.posterior is None:
            return 1.0, "No test: these are the plan's own expectations."
        before = np.sqrt(self.columns.own**2 + (self.columns.house * self.columns.shared) ** 2)
        after = np.log(self.flows).std(axis=0)
        weight = self.flows.mean(axis=0)
        ratio = float(np.average(after / before, weights=weight))
        if ratio > 0.85:
            return (
                ratio,
                f"The test can't tell the joints apart: it narrows the total, but single joints keep {min(ratio, 1.0):.0%} of their spread. Look before you mend.",
            )
        if ratio > 0.5:
            return ratio, f"The findings begin to tell the joints apart: {ratio:.0%} of the spread is left."
        return ratio, f"The findings tell the joints apart: {ratio:.0%} of the spread is left."

    def surprise(self) -> tuple[float, str]:
        """Share of houses sealed by this plan that would test as leaky as measured or more, and what a small one means."""
        if self.test is None:
            return 1.0, ""
        total, _ = _measured(self.test, "")
        share = float((draw(self.columns, DRAWS, 1).sum(axis=1) >= total).mean())
        if share < 0.01:
            return share, (
                "The test is far above what this plan expects: fewer than 1 in 100 such houses would test so. Look first for what is no joint: "
                "an open damper, a unit that does not close, a missing temporary seal, a wrong volume or device setting."
            )
        if share > 0.99:
            return (
                share,
                "The test is far below what this plan expects: look at the set-up, the device range and the volume before you believe it.",
            )
        return share, ""

    def _said(self, name: str) -> str:
        """What people call a component: the words of a joint, else its own name."""
        joint = self.planned.house.lookup.joint(name)
        return name if joint is None else joint.name

    def rows(self) -> list[dict[str, Any]]:
        """One row a joint, largest first, then units, materials and services."""
        low, high = np.quantile(self.now, [(1 - LEVEL) / 2, (1 + LEVEL) / 2], axis=0)
        mean = self.now.mean(axis=0)
        shares = (self.now / self.now.sum(axis=1, keepdims=True)).mean(axis=0)
        first = np.bincount(self.now.argmax(axis=1), minlength=len(mean)) / len(self.now)
        out = [
            {
                "id": c.id,
                "name": self._said(c.id),
                "kind": c.kind,
                "sort": c.sort,
                "face": c.face,
                "ela_cm2": {
                    "value": cm2(float(mean[k])),
                    "low": cm2(float(low[k])),
                    "high": cm2(float(high[k])),
                    "level": LEVEL,
                },
                "share": float(shares[k]),
                "chance_first": float(first[k]),
                "mended": k in self.mended,
                "spread_factor": c.spread.value,
                "spread_evidence": c.spread.evidence.to_json(),
                "evidence": c.evidence.to_json(),
            }
            for k, c in enumerate(self.components)
        ]
        return sorted(out, key=lambda row: (row["sort"] != "joint", -row["share"], row["id"]))

    def spread(self) -> dict[str, float]:
        """P10, P50 and P90 of the air changes [1/h]."""
        p10, p50, p90 = (float(v) for v in np.quantile(self.ach50, [0.1, 0.5, 0.9]))
        return {"p10": p10, "p50": p50, "p90": p90}

    def to_json(self, name: str = "leaks") -> dict[str, Any]:
        """Give the answer with the keys of ``answers.md``."""
        ratio, words = self.apart()
        sampler = None
        if self.posterior is not None:
            sampler = {
                "effective_sample_size": self.posterior.effective,
                "mixing": self.posterior.mixing,
                "accepted": self.posterior.accepted,
                "draws": len(self.flows),
            }
        rows = self.rows()
        return head(name) | {
            "name": self.planned.plan.name,
            "joints": [row for row in rows if row["sort"] == "joint"],
            "other": [row for row in rows if row["sort"] != "joint"],
            "ach50": self.spread(),
            "tested_ach50": None if self.test is None else self.test.to_json()["mean"]["ach50"],
            "surprise": dict(zip(("share_as_leaky", "text"), self.surprise(), strict=True)),
            "told_apart": {"spread_left": ratio, "text": words},
            "sampler": sampler,
            "cautions": [c.to_json() for c in CAUTIONS],
        }


def components(planned: Planned) -> tuple[tuple[Component, ...], tuple[str, ...]]:
    """What can leak in a planned house, with the run of each.

    Parameters
    ----------
    planned : Planned

    Returns
    -------
    tuple
        Components with a mean above 0, and the run id of each ('' for units, materials, services).
    """
    joints = planned.house.joints.joints
    out: list[Component] = []
    runs: list[str] = []
    area = {run.id: run.air_cm2 for run in planned.plan.runs}
    for run in planned.house.joints.runs:
        if area.get(run.id, 0.0) <= 0 or run.quantity <= 0:
            continue
        for number in run.joints:
            joint = joints[number]
            much = joint.count if joint.kind.piece else joint.length
            if much <= 0:
                continue
            x, y, z = (float(v) for v in joint.points.mean(axis=0))
            mean = area[run.id] * much / run.quantity
            out.append(
                Component(
                    joint.id,
                    joint.kind.value,
                    "joint",
                    mean,
                    spread(joint.kind.value),
                    ESTIMATE,
                    (x, y, z),
                    run.face,
                    joint.height,
                    much,
                )
            )
            runs.append(run.id)
    for name, flow in planned.plan.whole.other:
        sort = OTHER.get(name, "service")
        if flow > 0:
            nowhere = (math.nan, math.nan, math.nan)
            out.append(
                Component(
                    name,
                    name,
                    sort,
                    flow / flow_per_area(),
                    spread(name, sort),
                    ESTIMATE,
                    nowhere,
                    "",
                    0.0,
                    1.0,
                )
            )
            runs.append("")
    return tuple(out), tuple(runs)


def leaks(
    source: Source | Planned,
    *,
    test: str | Path | None = None,
    found: str | Path | Sequence[Finding] | None = None,
    quick: bool = True,
    step: Callable[[int, int], None] = lambda _done, _of: None,
) -> Leakage:
    """Say where the leakage is.

    Parameters
    ----------
    source : path, Building or Planned
    test : path, optional
        Fan test; without it the answer is what the plan expects.
    found : path or findings, optional
        What the walk has found since.
    quick : bool
        Plan by the own search only.
    step : callable
        Told (done, of) while the leakage is laid on the joints; what it raises ends the work.

    Returns
    -------
    Leakage

    Raises
    ------
    InputError
        Where a file is wrong, or a finding names what the house does not have.
    """
    planned = source if isinstance(source, Planned) else plan(source, Wish(quick=quick))
    parts, runs = components(planned)
    columns = prior(parts, house_gsd=planned.catalog.value("factor.house_gsd"))
    findings = _findings(found, planned)
    if test is None:
        if findings:
            raise FanTestError(
                "findings need the test they were made under",
                [Problem("--test is missing", hint="name the fan-test file too")],
            )
        return Leakage(planned, parts, columns, runs, draw(columns, DRAWS, 1), None, None)
    answer = analyse(test)
    total, spread = _measured(answer, str(test))
    more, mends = terms(findings, parts, runs, total)
    learned = [Term("total", np.ones(len(parts)), total, spread), *more]
    drawn = sample_until(columns, learned, enough=ENOUGH, longest=LONGEST, step=step)
    return Leakage(planned, parts, columns, runs, drawn.flows, drawn, answer, findings, mends)


def _findings(found: str | Path | Sequence[Finding] | None, planned: Planned) -> tuple[Finding, ...]:
    if found is None:
        return ()
    if isinstance(found, str | Path):
        found = read_findings(found, system=planned.house.building.system)
    return tuple(_today(finding, planned.house) for finding in found)


def _today(finding: Finding, house: House) -> Finding:
    """A finding with its joint, run, face and kind as they are called today."""
    on, table = finding.on, house.lookup
    found = table.joint(on) or table.run(on)
    return replace(finding, on=found.id if found else table.face(on) or kind(on), kind=kind(finding.kind))


def _measured(answer: FanTest, file: str) -> tuple[float, float]:
    """Flow at 50 Pa [m3/h] and its relative standard deviation."""
    mean = answer.to_json()["mean"]
    flow, band = mean.get("q50_m3_h"), mean.get("intervals", {}).get("q50_m3_h")
    if not flow or flow <= 0:
        raise FanTestError(
            "this test gives no flow at 50 Pa",
            [Problem("no flow at 50 Pa", Where(file), hint="look at its flags with `hullwright fantest`")],
        )
    if not band or band["high"] <= band["low"]:
        return float(flow), 0.05
    return float(flow), math.log(band["high"] / band["low"]) / (2 * 1.959964)


@dataclass(frozen=True, slots=True)
class Hunt:
    """Answer of ``hunt``: the walk, what fixes bought, the list of the day.

    Parameters
    ----------
    leakage : Leakage
    visits : tuple of Visit
    day : tuple of Step
    target : float or None
        ACH50 to reach.
    confidence : float
    """

    leakage: Leakage
    visits: tuple[Visit, ...]
    day: tuple[Step, ...]
    target: float | None
    confidence: float

    @property
    def stop(self) -> bool:
        """Whether the target is met with the confidence asked for."""
        return self.target is not None and self.leakage.chance_met(self.target) >= self.confidence

    def to_json(self) -> dict[str, Any]:
        """Give the answer with the keys of ``answers.md``."""
        parts = self.leakage.components
        return self.leakage.to_json("hunt") | {
            "walk": [
                {
                    "stop": visit.stop.name,
                    "joints": [parts[k].id for k in visit.stop.members],
                    "minutes": visit.minutes,
                    "clock_minutes": visit.clock,
                    "expected_cm2": cm2(visit.stop.gain),
                    "method": visit.stop.method,
                    "bring": list(visit.stop.bring),
                }
                for visit in self.visits
            ],
            "fixes": [
                {"on": f.on, "kind": f.kind, "moved_m3_h": f.moved, "minutes": f.minutes, "note": f.note}
                for f in self.leakage.findings
                if f.sort == "sealed"
            ],
            "target": None
            if self.target is None
            else {
                "ach50": self.target,
                "confidence": self.confidence,
                "chance_met": self.leakage.chance_met(self.target),
                "stop": self.stop,
            },
            "test_day": [
                {"text": s.text, "when": s.when, "evidence": s.evidence.to_json(), "danger": s.danger}
                for s in self.day
            ],
            "take_out_again": list(seals(self.day)),
        }


def hunt(
    source: Source | Planned,
    *,
    test: str | Path,
    found: str | Path | Sequence[Finding] | None = None,
    target: float | None = None,
    step: Callable[[int, int], None] = lambda _done, _of: None,
) -> Hunt:
    """Give the walk that finds most leakage per minute.

    Parameters
    ----------
    source : path, Building or Planned
    test : path
        Fan test.
    found : path or findings, optional
        What was found so far: the walk is planned anew.
    target : float, optional
        ACH50 to reach; by default the file's.
    step : callable
        As for :func:`leaks`.

    Returns
    -------
    Hunt
    """
    leakage = leaks(source, test=test, found=found, step=step)
    seen = expected_seen(leakage.now)
    seen[sorted(leakage.mended)] = 0.0
    building = leakage.planned.house.building
    up = feet_up if building.system == "us" else metres_up
    visits = walk(stops(leakage.components, seen, up=up))
    aim = building.aim
    return Hunt(leakage, visits, steps_for(_has(leakage)), target or aim.target_ach50, aim.confidence)


def _has(leakage: Leakage) -> set[str]:
    building = leakage.planned.house.building
    methods = {run.method for run in leakage.planned.plan.runs}
    has = methods & {"liquid", "tape"}
    has |= {"openings"} if building.openings else set()
    has |= (
        {"garage"}
        if any(face.kind.value == "garage wall" for face in leakage.planned.house.hull.faces)
        else set()
    )
    has |= {"fireplace"} if any(p.kind in ("chimney", "flue") for p in building.penetrations) else set()
    has |= {"ceiling"} if any(mass.top == "ceiling" for mass in building.masses if mass.inside) else set()
    return has
