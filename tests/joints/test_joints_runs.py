"""Runs, ids that stay, heights, water above, and invariance."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from joint_kit import Roof, found, gable, house, length, mass, passing, rect, sheathing, tails, window

from hullwright.evidence import STATED, Figure
from hullwright.joints.model import JointKind
from hullwright.joints.runs import runs_of
from hullwright.units import INCH

BASE = house(
    mass(storeys=(3.0, 2.6), roof=gable(40)),
    mass("wing", rect(3, -5, 8, 3), storeys=(3.0,), roof=gable(30, 0.0)),
    openings=(window("a", side=2), window("b", side=2, storey=1, offset=5.0), window("c", side=1)),
    penetrations=(
        passing(side=2, places=((7.0, 1.0), (8.0, 1.0))),
        passing("cable group", "cables", side=2, places=((9.0, 1.0),), rigid=False),
        passing("hose bib", "bib", side=2, places=((9.5, 0.6),), rigid=False),
        passing("pipe", "late", side=2, places=((6.5, 2.0),), stage="later"),
    ),
    through=(tails(2),),
)
BODY, RESULT = found(BASE)


def test_every_joint_is_in_one_run_and_quantities_add_up():
    numbers = sorted(i for run in RESULT.runs for i in run.joints)
    assert numbers == list(range(len(RESULT.joints)))
    for run in RESULT.runs:
        members = [RESULT.joints[i] for i in run.joints]
        assert {joint.run for joint in members} == {run.id}
        assert {joint.kind for joint in members} == {run.kind}
        assert {joint.faces[0] for joint in members} == {run.face}
        assert len({(j.stage, j.substrates, j.backed, j.rigid, j.rated) for j in members}) == 1
        assert run.quantity == pytest.approx(sum(j.count if j.kind.piece else j.length for j in members))


def test_ids_are_unique_and_sorted():
    ids = [joint.id for joint in RESULT.joints]
    assert ids == sorted(set(ids))
    assert len({run.id for run in RESULT.runs}) == len(RESULT.runs)
    before = [
        run.was for run in RESULT.runs
    ]  # ties of a plan are broken by this order: a new name changes no plan
    assert before == sorted(before)


def test_pieces_have_one_point_and_lines_their_length():
    for joint in RESULT.joints:
        if joint.kind.piece:
            assert (len(joint.points), joint.length) == (1, 0.0)
            assert joint.count > 0
        elif joint.kind is not JointKind.PARTITION_PLATE:
            steps = np.diff(joint.points, axis=0)
            assert joint.length == pytest.approx(float(np.linalg.norm(steps, axis=1).sum()), abs=1e-9)
            assert joint.count == 0.0


def test_rows_are_split_by_stage_and_by_moving_things():
    pipes = {run.id: run for run in RESULT.runs if run.kind is JointKind.PIPE}
    assert {(run.stage, run.rigid, run.quantity) for run in pipes.values()} == {
        ("services", True, 2),
        ("services", False, 1),
        ("later", True, 1),
    }


def test_coat_bridges_seams_floor_lines_and_fasteners_only():
    for run in RESULT.runs:
        inner = run.kind in {
            JointKind.SEAM_LEVEL,
            JointKind.SEAM_UPRIGHT,
            JointKind.FLOOR_LINE,
            JointKind.OVERDRIVEN,
            JointKind.OVERDRIVEN_COVERED,
        }
        one_face = all(len(RESULT.joints[i].faces) == 1 for i in run.joints)
        assert run.bridged == (inner and one_face)


def test_seam_between_two_faces_is_not_bridged():
    seam = next(joint for joint in RESULT.joints if joint.kind is JointKind.SEAM_UPRIGHT)
    pair = [replace(seam, run="a"), replace(seam, run="b", faces=(seam.faces[0], "main/other"))]
    inner, edge = runs_of(BODY, pair, {})
    assert (inner.bridged, edge.bridged) == (True, False)


def test_fasteners_in_joints_are_the_share_of_the_schedule():
    share = BASE.sheathing["wall"].fasteners.overdriven.value
    for panel in RESULT.panels:
        joints = {
            j.kind: j.count
            for j in RESULT.joints
            if j.faces == (panel.face,) and j.kind.startswith("overdriven")
        }
        assert sum(joints.values()) == pytest.approx(share * panel.fasteners)
        assert joints[JointKind.OVERDRIVEN_COVERED] == pytest.approx(share * panel.under_bands)


def shifted(name, by):
    moved = tuple(replace(o, offset=o.offset + by) if o.id == name else o for o in BASE.openings)
    return found(replace(BASE, openings=moved))[1]


@pytest.mark.parametrize("by", [0.37, -0.4, 1.13])
def test_moving_a_window_renames_only_what_touches_it(by):
    moved = shifted("a", by)
    old = {joint.id: joint for joint in RESULT.joints}
    new = {joint.id: joint for joint in moved.joints}
    north = next(face for face in BODY.faces if face.id == "main/north")
    for gone in set(old) ^ set(new):
        joint = old.get(gone) or new[gone]
        assert joint.faces == ("main/north",)
        # Only seams and floor lines whose end lies on the window, before or after.
        x = (joint.points - north.frame.origin) @ north.frame.across
        z = joint.points[:, 2]
        spans = [(1.0, 2.2), (1.0 + by, 2.2 + by)]
        touch = [
            low - 1e-6 <= x.max()
            and x.min() <= high + 1e-6
            and z.min() <= 2.3 + 1e-6
            and z.max() >= 0.9 - 1e-6
            for low, high in spans
        ]
        assert any(touch), gone
    same = [i for i in old if i in new and "main/north" not in old[i].faces]
    assert all(np.array_equal(old[i].points, new[i].points) for i in same)
    assert {run.id for run in RESULT.runs} == {run.id for run in moved.runs}


def test_order_in_the_file_is_irrelevant():
    turned = replace(
        BASE,
        masses=BASE.masses[::-1],
        openings=BASE.openings[::-1],
        penetrations=BASE.penetrations[::-1],
        through=BASE.through[::-1],
    )
    other = found(turned)[1]
    assert [j.id for j in other.joints] == [j.id for j in RESULT.joints]
    assert [(r.id, r.joints) for r in other.runs] == [(r.id, r.joints) for r in RESULT.runs]
    # Tolerance: rounding of sums in another order.
    assert [r.quantity for r in other.runs] == pytest.approx([r.quantity for r in RESULT.runs], abs=1e-9)


@settings(max_examples=12, deadline=None)
@given(st.floats(0, 360), st.floats(-300, 300), st.floats(-300, 300), st.floats(3, 12), st.floats(20, 60))
def test_turned_and_moved_house_has_the_same_joints(turn, dx, dy, depth, pitch):
    angle = math.radians(turn)

    def put(points):
        return tuple(
            (x * math.cos(angle) - y * math.sin(angle) + dx, x * math.sin(angle) + y * math.cos(angle) + dy)
            for x, y in points
        )

    plain = mass(outline=rect(0, 0, 13, depth), roof=gable(pitch), base=0.2, level=0.0)
    moved = mass(outline=put(plain.outline), roof=gable(pitch, 90.0 - turn), base=0.2, level=0.0)
    one, two = (found(house(m, openings=(window(),)))[1] for m in (plain, moved))
    assert two.joint_share == one.joint_share == 1.0
    for kind in JointKind:
        # Tolerance: double precision 300 m off the origin.
        assert length(two, kind) == pytest.approx(length(one, kind), abs=1e-5), kind


def test_height_above_ground():
    _, result = found(house(mass(base=0.5, ground=-0.25, level=0.5)))
    eave = next(j for j in result.joints if j.kind is JointKind.EAVE)
    sill = next(j for j in result.joints if j.kind is JointKind.SILL)
    # Source: hand, wall top 3.5 m, ground -0.25 m.
    assert eave.height == pytest.approx(3.75)
    assert sill.height == pytest.approx(0.75)


def above(result, kind, face=None):
    return next(j for j in result.joints if j.kind is JointKind(kind) and (face is None or face in j.faces))


def test_run_off_on_a_gabled_house():
    _, result = found(house(mass(outline=rect(0, 0, 12, 8), roof=gable(45))))
    rafter = 4 * math.sqrt(2)
    # Source: closed form: the whole rafter above the eave, on the mean half of it above a rake, nothing above the ridge,
    # the wall above its sill, half of it above the mean of a corner. Tolerance: points are taken 1 mm beside the line.
    assert above(result, "eave").upslope == pytest.approx(rafter, abs=1e-3)
    assert above(result, "rake").upslope == pytest.approx(rafter / 2, abs=1e-3)
    assert above(result, "ridge").upslope == 0.0
    assert above(result, "sill to foundation", "main/south").upslope == pytest.approx(3.0, abs=1e-3)
    assert above(result, "outside corner").upslope == pytest.approx(1.5, abs=2e-3)
    lowest = min(
        (j for j in result.joints if j.faces == ("main/roof south",) and j.kind is JointKind.SEAM_LEVEL),
        key=lambda j: j.height,
    )
    assert lowest.upslope == pytest.approx(rafter - 48 * INCH, abs=1e-3)
    roof_water = {j.kind for j in result.joints if j.roof_water and len(j.faces) > 1 and not j.kind.piece}
    assert roof_water == {JointKind.EAVE, JointKind.RAKE, JointKind.RIDGE}


def test_valley_collects_both_roofs():
    slope = math.degrees(math.atan(0.75))
    main = mass(outline=rect(0, 0, 12, 8), storeys=(5.0,), roof=gable(slope))
    wing = mass("wing", rect(3, -6, 9, 4), storeys=(5.0,), roof=gable(slope, 0.0))
    _, result = found(house(main, wing))
    # Source: closed form. Valley runs (3, 0) to (6, 3) in plan: above it on the main roof from y to the ridge at 4, mean
    # 4 - 1.5; on the wing from x to its ridge at 6, mean 1.5; both times 1.25 for the slope of 3/4.
    assert above(result, "valley").upslope == pytest.approx((2.5 + 1.5) * 1.25, abs=2e-3)


def test_run_off_under_a_hip_is_a_triangle():
    _, result = found(house(mass(outline=rect(0, 0, 8, 8), roof=Roof("hip", 45.0, 90.0))))
    # Source: closed form: triangle of height 4 sqrt 2 over the eave: mean half of it. Tolerance: four samples, exact for even slopes.
    assert above(result, "eave").upslope == pytest.approx(2 * math.sqrt(2), abs=2e-3)


def test_wall_stands_on_its_slab_edge():
    _, result = found(house(mass(base=0.3, level=0.0)))
    # Source: closed form: 0.3 m of slab edge and 3 m of wall.
    assert above(result, "slab edge").upslope == pytest.approx(3.3, abs=1e-3)


def test_flat_roof_drains_half_its_side():
    _, result = found(house(mass(outline=rect(0, 0, 8, 8))))
    # Source: definition (estimate): area over half the edge: 64 / 16.
    assert above(result, "eave").upslope == pytest.approx(4.0)


def test_gaps_and_figures_of_the_building_file():
    stated = house(
        openings=(window(),),
        figures={"flange_gap": Figure(0.004, "m", STATED)},
        sheathing={**BASE.sheathing, "wall": sheathing(gap=0.005)},
    )
    _, result = found(stated)
    assert above(result, "opening head").gap == 0.004
    assert above(result, "outside corner").gap == 0.005
