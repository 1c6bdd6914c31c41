"""Where runs meet, and which goes on first."""

import numpy as np
import pytest
from joint_kit import found, gable, house, ledger, mass, passing, rect, tails, window

from hullwright.joints.model import JointKind
from hullwright.units import FOOT

BODY, RESULT = found(
    house(
        mass(storeys=(3.0, 2.6), roof=gable(40)),
        mass("wing", rect(3, -5, 8, 3), storeys=(3.0,), roof=gable(30, 0.0)),
        openings=(window(side=2),),
        penetrations=(passing(side=2, width=0.3, places=((4.9, 2.9),)),),
        through=(tails(2),),
        fixed_over=(ledger(side=2, storey=1, height=0.5),),
    )
)


def kinds(result=RESULT):
    """Pairs of kinds that meet on the north wall, with the kind that goes on first."""
    out = {}
    for meeting in result.meetings:
        pair = [result.runs[i] for i in meeting.runs]
        if all(run.face == "main/north" for run in pair):
            first = result.runs[meeting.lower].kind.value if meeting.lower >= 0 else None
            out[frozenset(run.kind.value for run in pair)] = first
    return out


@pytest.mark.parametrize(
    ("one", "two", "first"),
    [
        # Source: shingle order (water runs down): what lies below goes on first. None: side by side, either way.
        ("sill to foundation", "vertical seam", "sill to foundation"),
        ("vertical seam", "eave", "vertical seam"),
        ("opening sill", "opening jamb", "opening sill"),
        ("opening head", "opening jamb", "opening jamb"),
        # Source: common practice, no source: the corners are folded into the bare opening, before the frame stands in it.
        ("opening sill", "rough-opening corner", "rough-opening corner"),
        ("opening jamb", "rough-opening corner", "rough-opening corner"),
        ("opening head", "rough-opening corner", "rough-opening corner"),
        ("eave", "rafter tail", None),
        ("vertical seam", "horizontal seam", "vertical seam"),
        ("floor line", "vertical seam", None),
        ("seal behind a later attachment", "vertical seam", None),
    ],
)
def test_order(one, two, first):
    met = kinds()
    assert frozenset((one, two)) in met
    assert met[frozenset((one, two))] == first


def test_ring_on_a_seam_is_a_meeting():
    """A 300 mm pipe at 4.9 m, 2.9 m reaches the upright seam at 16 ft = 4.877 m."""
    assert frozenset(("pipe", "vertical seam")) in kinds()
    away = found(
        house(mass(storeys=(3.0, 2.6)), penetrations=(passing(side=2, width=0.05, places=((4.2, 2.9),)),))
    )[1]
    assert frozenset(("pipe", "vertical seam")) not in kinds(away)


def test_each_pair_once_and_apart():
    pairs = [meeting.runs for meeting in RESULT.meetings]
    assert len(set(pairs)) == len(pairs)
    assert all(one < two for one, two in pairs)
    assert all(meeting.lower in (-1, *meeting.runs) for meeting in RESULT.meetings)


def distance(point, joint):
    start, end = joint.points[0], joint.points[-1]
    step = end - start
    share = np.clip((point - start) @ step / max(step @ step, 1e-12), 0, 1)
    return float(np.linalg.norm(point - start - share * step))


def test_places_lie_on_both_runs():
    for meeting in RESULT.meetings:
        for number in meeting.runs:
            run = RESULT.runs[number]
            reach = max(run.width, run.section_depth) / 2 if run.kind.piece else 0.0
            near = min(distance(meeting.at, RESULT.joints[i]) for i in run.joints)
            assert near < reach + 2e-3, run.id


# A window whose head lies in a seam and whose corner is where an upright seam begins: 4 ft up, 12 ft along; and a door, whose
# sill lies in the wall's lower edge.
IN_LINE = found(
    house(
        openings=(
            window(sill=0.2, height=4 * FOOT - 0.2, offset=12 * FOOT),
            window("d", kind="door", sill=0.0, height=2.1, width=0.9, offset=0.7),
        )
    )
)[1]


@pytest.mark.parametrize("result", [RESULT, IN_LINE])
def test_meetings_agree_with_comparing_each_with_each(result):
    """Brute force over all pairs of line joints that share a face: ends on one another."""
    lines = [i for i, j in enumerate(result.joints) if not j.kind.piece and len(j.points) == 2]
    run_of = {i: number for number, run in enumerate(result.runs) for i in run.joints}
    expected = set()
    for a in lines:
        for b in lines:
            one, two = result.joints[a], result.joints[b]
            if run_of[a] == run_of[b] or not set(one.faces) & set(two.faces):
                continue
            if min(distance(one.points[0], two), distance(one.points[1], two)) < 1e-3:
                expected.add(tuple(sorted((run_of[a], run_of[b]))))
    found_pairs = {m.runs for m in result.meetings if not any(result.runs[i].kind.piece for i in m.runs)}
    # Source: direct computation. What is found beyond it are crossings in midst of both.
    assert expected <= found_pairs
    crossing = {JointKind.FLOOR_LINE, JointKind.FIXED_OVER}
    assert all(crossing & {result.runs[i].kind for i in pair} for pair in found_pairs - expected)


def test_corner_piece_meets_its_edges():
    corner = next(
        i for i, r in enumerate(RESULT.runs) if r.kind is JointKind.THREE_WAY_CORNER and r.face == "main/east"
    )
    met = {RESULT.runs[i].kind for m in RESULT.meetings if corner in m.runs for i in m.runs}
    assert {JointKind.OUTSIDE_CORNER} <= met
