"""What was found while the fan ran: looks, fixes, zones masked off; as terms for the sampler."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from hullwright.errors import NOWHERE, InputError, Problem, Where
from hullwright.leaks.components import Component
from hullwright.leaks.evidence_seen import SEEN_HALF, Term, members


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was learned on the walk.

    Parameters
    ----------
    sort : str
        ``nothing`` (looked, nothing seen), ``leak`` (looked, a leak seen), ``sealed`` (leak mended; `moved` where the fan told by
        how much) or ``masked`` (these were masked off; `moved` is the flow that went away).
    on : str
        A joint id, run id, face id or kind; what it names is what was looked at.
    kind : str
        Narrows `on` to one kind of joint; '' for all.
    moved : float or None
        Change of the fan flow at 50 Pa [m3/h], positive where it fell.
    spread : float or None
        Standard deviation of `moved` [m3/h]; by default 1 % of the total.
    minutes : float or None
        Time it took [min].
    note : str
    """

    sort: Literal["nothing", "leak", "sealed", "masked"]
    on: str
    kind: str = ""
    moved: float | None = None
    spread: float | None = None
    minutes: float | None = None
    note: str = ""
    where: Where = NOWHERE


READING: float = 0.01
"""Repeatability of the fan flow between two readings minutes apart, share of the flow (estimate)."""


def named(finding: Finding, components: Sequence[Component], runs: Sequence[str]) -> list[int]:
    """Numbers of the components a finding is about.

    Parameters
    ----------
    finding : Finding
    components : sequence of Component
    runs : sequence of str
        Run of each component, '' where it has none.

    Raises
    ------
    InputError
        Where nothing has that name.
    """
    on = finding.on
    found = [
        k
        for k, c in enumerate(components)
        if on in (c.id, c.face, c.kind, runs[k]) and (not finding.kind or c.kind == finding.kind)
    ]
    if not found:
        names = sorted({c.face for c in components if c.face} | {c.kind for c in components})
        hint = "name a joint, run, face or kind of this house"
        raise InputError(
            "a finding names what this house does not have",
            [Problem("unknown place", finding.where, f"{on} {finding.kind}".strip(), ", ".join(names), hint)],
        )
    return found


@dataclass(frozen=True, slots=True)
class Mend:
    """What was sealed since the test: components, and the flow that went with it [m3/h at 50 Pa], None where it was not read."""

    members: tuple[int, ...]
    moved: float | None


def terms(
    findings: Sequence[Finding], components: Sequence[Component], runs: Sequence[str], total: float
) -> tuple[list[Term], tuple[Mend, ...]]:
    """Findings as terms, and what was mended.

    Parameters
    ----------
    total : float
        Measured flow before the findings [m3/h at 50 Pa].

    Returns
    -------
    tuple
        Terms for :func:`hullwright.leaks.posterior.sample`, and the mends in order.

    Raises
    ------
    InputError
        Where nothing has a name, or something was masked off without a reading.
    """
    ids = [c.id for c in components]
    out: list[Term] = []
    mends: list[Mend] = []
    for finding in findings:
        mine = named(finding, components, runs)
        if finding.sort == "masked" and finding.moved is None:
            problem = Problem(
                "masked off, and no flow",
                finding.where,
                f"{finding.on} {finding.kind}".strip(),
                "by how much the fan flow fell",
                "read the fan before and after at the same pressure, or leave the finding out",
            )
            raise InputError("what was masked off tells nothing without a reading", [problem])
        row = members([ids[k] for k in mine], ids)
        spread = finding.spread or READING * total * 2**0.5
        if finding.sort in ("nothing", "leak"):
            out.append(Term(finding.sort, row, half=SEEN_HALF.value))
        elif finding.moved is not None:
            out.append(Term("above" if finding.sort == "sealed" else "moved", row, finding.moved, spread))
        if finding.sort == "sealed":
            mends.append(Mend(tuple(mine), finding.moved))
    return out, tuple(mends)
