"""Runs: the joints of one kind on one face that a crew does in one go."""

from __future__ import annotations

from collections.abc import Sequence
from operator import mul
from typing import Final

from hullwright.hull.model import Hull
from hullwright.joints.draft import Draft
from hullwright.joints.model import Joint, JointKind, Run

_SEAMS: Final = frozenset({JointKind.SEAM_LEVEL, JointKind.SEAM_UPRIGHT})
_BRIDGED: Final = frozenset(
    {*_SEAMS, JointKind.FLOOR_LINE, JointKind.OVERDRIVEN, JointKind.OVERDRIVEN_COVERED}
)


def run_id(hull: Hull, draft: Draft) -> str:
    """Id of the run of a joint: face, kind, and what sets it apart from others of its kind there.

    Its stage, a second substrate, missing backing, a moving thing, an edge between two faces. Equal ids are one run.
    """
    face = hull.faces[draft.faces[0]]
    parts = [f"{face.id}:{draft.kind}"]
    if draft.stage not in {"sheathing", "openings"}:
        parts.append(draft.stage)
    if draft.substrates[1] != draft.substrates[0]:
        parts.append(f"to {draft.substrates[1]}")
    if not draft.backed:
        parts.append("unbacked")
    if not draft.rigid:
        parts.append("moving")
    if not face.rated and any(hull.faces[number].rated for number in draft.faces[1:]):
        parts.append("rated")
    if draft.kind in _SEAMS and len(draft.faces) > 1:
        parts.append("at the edge")
    return ", ".join(parts)


def runs_of(joints: Sequence[Joint]) -> tuple[Run, ...]:
    """Gather joints into runs.

    Parameters
    ----------
    joints : sequence of Joint
        Each with its `run` id; the first of its faces owns it.

    Returns
    -------
    tuple of Run
        Sorted by id.
    """
    groups: dict[str, list[int]] = {}
    for number, joint in enumerate(joints):
        groups.setdefault(joint.run, []).append(number)
    return tuple(_run(name, joints, groups[name]) for name in sorted(groups))


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
    )
