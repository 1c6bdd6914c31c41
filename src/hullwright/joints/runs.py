"""Runs: the joints of one kind on one face that a crew does in one go."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from operator import mul
from typing import Final

from hullwright.hull.model import Hull
from hullwright.joints.model import Joint, JointKind, Run
from hullwright.joints.naming import SEAMS
from hullwright.joints.words import speaker

_BRIDGED: Final = frozenset(
    {*SEAMS, JointKind.FLOOR_LINE, JointKind.OVERDRIVEN, JointKind.OVERDRIVEN_COVERED}
)


def runs_of(hull: Hull, joints: Sequence[Joint], before: Mapping[str, str]) -> tuple[Run, ...]:
    """Gather joints into runs.

    Parameters
    ----------
    hull : Hull
    joints : sequence of Joint
        Each with its `run` id; the first of its faces owns it.
    before : mapping of str to str
        Id of before by run id.

    Returns
    -------
    tuple of Run
        Sorted by their ids of before: ties of a plan are broken by this order, and a new name changes no plan.
    """
    groups: dict[str, list[int]] = {}
    for number, joint in enumerate(joints):
        groups.setdefault(joint.run, []).append(number)
    words, faces = speaker(hull), {face.id: face for face in hull.faces}
    runs = [
        _run(name, joints, groups[name])
        for name in sorted(groups, key=lambda name: (before.get(name, name), name))
    ]
    return tuple(
        replace(run, was=before.get(run.id, run.id), name=words.run(run, faces[run.face])) for run in runs
    )


def _run(name: str, joints: Sequence[Joint], numbers: Sequence[int]) -> Run:
    members = [joints[i] for i in numbers]
    first = members[0]
    weights = [joint.count if first.kind.piece else joint.length for joint in members]
    quantity = sum(weights)

    def mean(values: Sequence[float]) -> float:
        return float(sum(map(mul, weights, values))) / quantity

    return Run(
        id=name,
        kind=first.kind,
        face=first.faces[0],
        joints=tuple(numbers),
        quantity=quantity,
        stage=first.stage,
        substrates=first.substrates,
        backed=first.backed,
        rated=first.rated,
        rigid=first.rigid,
        level=2 * sum(w for w, joint in zip(weights, members, strict=True) if joint.level) > quantity,
        gap=mean([joint.gap for joint in members]),
        depth=mean([joint.depth for joint in members]),
        upslope=mean([joint.upslope for joint in members]),
        height=max(joint.height for joint in members),
        width=mean([joint.width for joint in members]),
        section_depth=mean([joint.section_depth for joint in members]),
        bridged=first.kind in _BRIDGED and len(first.faces) == 1,
        at_edge=first.kind in SEAMS and len(first.faces) > 1,
    )
