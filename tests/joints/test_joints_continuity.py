"""The continuity report: damage of any sort is found, on the right face, with the right length."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from joint_kit import Roof, found, gable, house, lone_face, mass, neighbour, rect, tails, window

from hullwright import joints

BODY, SOUND = found(
    house(
        mass(storeys=(3.0, 2.6), roof=gable(40)),
        mass("wing", rect(3, -5, 8, 3), storeys=(3.0,), roof=gable(30, 0.0)),
        mass("garage", rect(10, 1, 15, 7), inside=False),
        openings=(
            window(side=2),
            window("d", side=2, kind="door", sill=0.0, height=2.1, offset=4.0),
            window("up", side=3, storey=1),
        ),
        neighbours=(neighbour("party wall", 3),),
        through=(tails(2),),
    )
)
FACES = {face.id: face for face in BODY.faces}
NEED = [
    i
    for i, joint in enumerate(SOUND.joints)
    if not joint.kind.piece and (len(joint.faces) > 1 or joint.kind.startswith("opening"))
]  # joints that face edges and openings rest on
# m: story 2 of main, 10 x 8 m, less where the roof of the wing, 5 m wide, covers its wall, less the edge over the garage, 6 m
STORY = 36 - 5 - 6
TOTAL = (
    STORY
    + sum(face.perimeter for face in BODY.faces)
    + sum(
        float(np.linalg.norm(np.roll(o.polygon, -1, axis=0) - o.polygon, axis=1).sum())
        for f in BODY.faces
        for o in f.openings
    )
)
MM = 1e-3  # m, the report's stated sharpness


def on_stretch(place, start, end):
    """Whether a reported place lies on the straight stretch between two points."""
    step = (end - start) / np.linalg.norm(end - start)
    ends = np.stack([place.start, place.end])
    along = (ends - start) @ step
    aside = np.linalg.norm(ends - start - along[:, None] * step, axis=1)
    return aside.max() < MM and along.min() > -MM and along.max() < np.linalg.norm(end - start) + MM


def report(changed):
    places, share = joints.continuity(BODY, changed)
    lost = sum(place.length for place in places)
    # Source: definition, share = 1 - lost / total. Tolerance: plans are cut 1 mm over the floor, where the roof of the wing at 30 deg
    # leaves 1.7 mm more wall on each side: 3.5 mm in 357 m.
    assert share == pytest.approx(1 - lost / TOTAL, abs=2e-5)
    return places


def expect(places, joint, pieces):
    """Each face of the joint must report exactly these pieces of its line (from, to) [m]."""
    start, end = joint.points[0], joint.points[-1]
    step = (end - start) / np.linalg.norm(end - start)
    wanted = [(start + a * step, start + b * step) for a, b in pieces if b - a > MM]
    assert sorted({place.face for place in places}) == (sorted(set(joint.faces)) if wanted else [])
    for face in joint.faces:
        mine = [place for place in places if place.face == face]
        assert all(any(on_stretch(place, a, b) for a, b in wanted) for place in mine)
        assert sum(place.length for place in mine) == pytest.approx(
            sum(float(np.linalg.norm(b - a)) for a, b in wanted), abs=MM * max(len(mine), 1)
        )


def with_points(number, points):
    changed = list(SOUND.joints)
    changed[number] = replace(changed[number], points=points)
    return changed


def test_sound_house_has_no_open_place():
    assert SOUND.open_places == ()
    assert SOUND.joint_share == 1.0
    assert len(NEED) > 40


def test_without_joints_all_is_open():
    places, share = joints.continuity(BODY, ())
    assert sum(place.length for place in places) == pytest.approx(TOTAL, abs=0.005)
    assert share == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("number", NEED)
def test_every_lost_joint_is_placed(number):
    changed = [joint for i, joint in enumerate(SOUND.joints) if i != number]
    joint = SOUND.joints[number]
    expect(report(changed), joint, [(0.0, joint.length)])


def test_lost_seams_and_pieces_are_not_edges():
    changed = [
        joint
        for joint in SOUND.joints
        if not joint.kind.piece and joint.kind not in ("horizontal seam", "vertical seam")
    ]
    assert joints.continuity(BODY, changed) == ((), 1.0)


@settings(max_examples=80, deadline=None)
@given(st.sampled_from(NEED), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_shortened_joint(number, low, high):
    joint = SOUND.joints[number]
    low, high = sorted((low * joint.length, high * joint.length))
    assume(
        all(part == 0 or part > 2 * MM for part in (low, high - low, joint.length - high))
    )  # not on the edge of sharpness
    step = (joint.points[1] - joint.points[0]) / joint.length
    changed = with_points(number, np.stack([joint.points[0] + low * step, joint.points[0] + high * step]))
    left = [(0.0, low), (high, joint.length)] if high - low > MM else [(0.0, joint.length)]
    expect(report(changed), joint, left)


@settings(max_examples=80, deadline=None)
@given(st.sampled_from(NEED), st.floats(0.002, 3.0), st.floats(0, 6.28), st.floats(-1.5, 1.5))
def test_joint_shifted_off_its_line(number, distance, turn, slope):
    joint = SOUND.joints[number]
    along = (joint.points[1] - joint.points[0]) / joint.length
    way = np.array([np.cos(turn) * np.cos(slope), np.sin(turn) * np.cos(slope), np.sin(slope)])
    aside = way - (way @ along) * along
    if np.linalg.norm(aside) * distance < 0.0015:
        aside = np.cross(along, [0.36, 0.48, 0.8])
    aside = aside / np.linalg.norm(aside) * max(distance, 0.0015)
    places = report(with_points(number, joint.points + aside))
    if not places:
        pytest.fail("nothing reported")
    expect(places, joint, [(0.0, joint.length)])


@settings(max_examples=80, deadline=None)
@given(st.sampled_from(NEED), st.floats(-4.0, 4.0))
def test_joint_shifted_along_its_line(number, distance):
    joint = SOUND.joints[number]
    assume(abs(distance) > 2 * MM)
    step = (joint.points[1] - joint.points[0]) / joint.length
    places = report(with_points(number, joint.points + distance * step))
    far = min(abs(distance), joint.length)
    expect(places, joint, [(0.0, far)] if distance > 0 else [(joint.length - far, joint.length)])


@settings(max_examples=40, deadline=None)
@given(st.lists(st.sampled_from(NEED), min_size=2, max_size=8, unique=True))
def test_many_lost_joints(numbers):
    lost = [SOUND.joints[i] for i in numbers]
    places = report([joint for i, joint in enumerate(SOUND.joints) if i not in set(numbers)])
    assert sum(place.length for place in places) == pytest.approx(
        sum(joint.length * len(joint.faces) for joint in lost), abs=MM * len(places)
    )
    assert {place.face for place in places} == {face for joint in lost for face in joint.faces}
    for place in places:
        assert any(on_stretch(place, j.points[0], j.points[1]) and place.face in j.faces for j in lost)


def test_joint_that_forgets_a_face_leaves_that_face_open():
    number = next(i for i in NEED if SOUND.joints[i].kind == "outside corner")
    joint = SOUND.joints[number]
    changed = list(SOUND.joints)
    changed[number] = replace(joint, faces=(joint.faces[0], "main/nowhere"))
    places = report(changed)
    assert [place.face for place in places] == [joint.faces[1]]
    assert places[0].length == pytest.approx(joint.length)


def test_door_sill_does_not_stand_in_for_the_sill_plate():
    """The sill of a door lies in the wall's lower edge, yet a lost sill joint is open on its whole length."""
    number = next(
        i
        for i in NEED
        if SOUND.joints[i].kind == "sill to foundation" and "main/north" in SOUND.joints[i].faces
    )
    places = report([joint for i, joint in enumerate(SOUND.joints) if i != number])
    assert sum(p.length for p in places if p.face == "main/north") == pytest.approx(10.0)


def test_seam_along_an_edge_is_no_edge_joint():
    """A seam has both its sides on one face; it can't join that face to the next one."""
    number = next(i for i in NEED if SOUND.joints[i].kind == "outside corner")
    joint = SOUND.joints[number]
    seam = next(
        i for i, j in enumerate(SOUND.joints) if j.kind == "vertical seam" and j.faces == joint.faces[:1]
    )
    changed = with_points(seam, joint.points)
    changed[number] = replace(joint, points=joint.points[:, :] + 50.0)
    expect(report(changed), joint, [(0.0, joint.length)])


def test_edge_without_a_rule_is_reported():
    """No catch-all: two faces that no rule joins leave their edge open (here: a hull of one face has no edge at all)."""
    body = lone_face(((0, 0), (4, 0), (4, 3), (0, 3)))
    result = joints.find(house(), body)
    assert sum(place.length for place in result.open_places) == pytest.approx(14.0)
    assert result.joint_share == pytest.approx(0.0, abs=1e-12)


def test_open_hull_is_reported_where_it_is_open():
    """A roof that is taken away leaves the top edges of its walls open."""
    body, _ = found(house(mass(roof=Roof("flat"))))
    roof = next(i for i, face in enumerate(body.faces) if face.kind == "flat roof")
    keep = [i for i in range(len(body.faces)) if i != roof]
    new = {old: i for i, old in enumerate(keep)}
    edges = tuple(
        replace(edge, left=new[edge.left], right=new[edge.right])
        for edge in body.edges
        if roof not in (edge.left, edge.right)
    )
    holed = replace(body, faces=tuple(body.faces[i] for i in keep), edges=edges)
    places = joints.find(house(), holed).open_places
    # Source: closed form, roof edge of 10 x 8 m.
    assert sum(place.length for place in places) == pytest.approx(36.0)
    assert {round(float(p.start[2]), 6) for p in places} == {3.0}
