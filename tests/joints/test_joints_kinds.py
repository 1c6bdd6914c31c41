"""Every joint kind of the trade occurs, each rule is tried, and nothing falls into a catch-all."""

import itertools

import numpy as np
import pytest
from joint_kit import (
    Roof,
    found,
    gable,
    house,
    ledger,
    mass,
    neighbour,
    passing,
    rect,
    sheathing,
    tails,
    window,
)

from hullwright.building import parse
from hullwright.building.model import Ceiling
from hullwright.hull import build
from hullwright.hull.model import Edge, Face, FaceKind, Frame
from hullwright.joints import find
from hullwright.joints.classify import RULES, kind_of, owner
from hullwright.joints.model import Hole, JointKind


def houses():
    """One house for each family of joints."""
    full = house(
        mass(storeys=(3.0, 2.6), roof=gable(40), base=0.3, level=0.0),
        mass("wing", rect(3, -5, 8, 3), storeys=(3.0,), roof=gable(30, 0.0), base=0.3, level=0.0),
        mass("garage", rect(10, 1, 15, 7), inside=False),
        openings=(window(side=2), window("s", side=2, storey=None, kind="skylight", sill=1.0, frame="metal")),
        through=(tails(2), tails(1, kind="ridge beams", spacing=None, count=1)),
        penetrations=(
            passing(side=2, places=((7.0, 1.0),)),
            passing("duct", "duct", side=2, width=0.2, depth=0.2, places=((8.0, 1.0),)),
            passing("cable group", "cables", side=2, places=((9.0, 1.0),), rigid=False),
            passing("flue", "flue", face="roof", side=0, storey=None, places=((1.0, 1.0),)),
        ),
        fixed_over=(ledger(side=2, storey=1),),
    )
    attic = house(
        mass(roof=gable(30), top="ceiling", bottom="basement", level=-2.4),
        ceiling=Ceiling(12.0),
        penetrations=(
            passing(
                "hatch",
                "hatch",
                face="ceiling",
                side=None,
                storey=None,
                width=0.6,
                depth=0.6,
                places=((5, 4),),
            ),
            passing(
                "chase",
                "chase",
                face="ceiling",
                side=None,
                storey=None,
                width=0.3,
                depth=0.4,
                places=((2, 2),),
            ),
            passing("fan", "fan", face="ceiling", side=None, storey=None, width=0.2, places=((3, 6),)),
        ),
        neighbours=(neighbour("party wall", 1), neighbour("shaft", 3)),
    )
    parapet = house(mass(roof=Roof("flat", parapet_height=0.6, parapet_thickness=0.3)))
    hips = house(
        mass(roof=Roof("hip", 30.0, 90.0)),
        mass("upper", rect(2, 2, 6, 6), base=3.0, roof=Roof("shed", 20, 180), bottom="on mass"),
    )
    ell = house(mass(roof=gable(40)), mass("wing", rect(3, -5, 8, 3), roof=gable(40, 0.0)))
    over = house(mass(), mass("upper", rect(0, -1, 10, 8), base=3.0, bottom="outside air"))
    mixed = house(
        mass(),
        mass("low", rect(10, 0, 14, 8), bottom="outside air", base=0.0),
        sheathing={
            group: sheathing(substrate=name)
            for group, name in (("wall", "coated panel"), ("roof", "wood panel"), ("floor", "plywood"))
        },
    )
    return {
        "full": full,
        "attic": attic,
        "parapet": parapet,
        "hips": hips,
        "ell": ell,
        "over": over,
        "mixed": mixed,
    }


SETS = {name: found(building) for name, building in houses().items()}


@pytest.mark.parametrize("kind", [kind for kind in JointKind if kind is not JointKind.PATCH])
def test_kind_occurs(kind):
    where = [name for name, (_, result) in SETS.items() if any(joint.kind is kind for joint in result.joints)]
    assert where


def test_a_hole_of_the_record_is_one_seam_round_it_and_changes_no_other_joint():
    """No file holds a patch: it comes from the record, 3 ft by 4 ft low on the south wall."""
    building = houses()["full"]
    body = build(building)
    face = next(one for one in body.faces if one.kind is FaceKind.WALL and not one.openings)
    corners = np.array([[0.3, 0.3], [0.3 + 0.9144, 0.3], [0.3 + 0.9144, 0.3 + 1.2192], [0.3, 0.3 + 1.2192]])
    hole = Hole("W1/0.2", "W1", face.id, face.frame.lift(corners))
    result = find(building, body, [hole])
    (patch,) = [joint for joint in result.joints if joint.kind is JointKind.PATCH]
    # Source: by hand, once round: 2 (3 ft + 4 ft) = 14 ft. Tolerance: rounding of floats.
    assert patch.length == pytest.approx(14 * 0.3048, abs=1e-9)
    assert (patch.id, patch.backed, patch.faces) == ("W1/0.2", False, (face.id,))
    assert patch.name.endswith("patch where W1 was")
    (run,) = [run for run in result.runs if run.kind is JointKind.PATCH]
    assert run.quantity == patch.length
    before = find(building, body)
    assert [joint.id for joint in result.joints if joint.kind is not JointKind.PATCH] == [
        joint.id for joint in before.joints
    ]
    assert (result.open_places, result.joint_share) == (before.open_places, before.joint_share)


@pytest.mark.parametrize("name", list(SETS))
def test_houses_are_closed(name):
    body, result = SETS[name]
    assert result.open_places == ()
    for face in body.faces:
        edges = sum(
            j.length for j in result.joints if face.id in j.faces and len(j.faces) > 1 and not j.kind.piece
        )
        # Source: invariant, joint length per face = face perimeter. Tolerance: rounding.
        assert edges == pytest.approx(face.perimeter, abs=1e-6)


def flat_face(kind, name="a", substrate="x", *, cold=False):
    loop = np.array([[0, 0, 0], [1, 0, 0], [1, 0, 1.0]])
    frame = Frame(np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 0, 1.0]))
    return Face(
        name,
        kind,
        "m",
        ("m",),
        "",
        np.array([0, -1.0, 0]),
        0.0,
        (loop,),
        frame,
        0.0,
        90.0,
        "",
        substrate,
        rated=False,
        cold=cold,
    )


WAYS = {"level": (1.0, 0.0, 0.0), "upright": (0.0, 0.0, 1.0), "sloped": (1.0, 0.0, 0.7)}


def rule(one, two, dihedral, way="level", **more):
    edge = Edge(0, 1, np.zeros(3), np.array(WAYS[way]), dihedral)
    return kind_of(flat_face(one), flat_face(two, "b", **more), edge)


K = FaceKind


@pytest.mark.parametrize(
    ("one", "two", "dihedral", "way", "kind"),
    [
        # Source: trade terms; what a carpenter calls that edge.
        (K.WALL, K.WALL, 90, "upright", "outside corner"),
        (K.WALL, K.WALL, -90, "upright", "inside corner"),
        (K.WALL, K.WALL, 0, "upright", "vertical seam"),
        (K.WALL, K.WALL, 0, "level", "horizontal seam"),
        (K.WALL, K.GROUND, 90, "level", "sill to foundation"),
        (K.WALL, K.SLAB_EDGE, 0, "level", "sill to foundation"),
        (K.WALL, K.BASEMENT_WALL, 0, "level", "sill to foundation"),
        (K.GARAGE_WALL, K.SLAB_EDGE, 0, "level", "sill to foundation"),
        (K.SLAB_EDGE, K.GROUND, 90, "level", "slab edge"),
        (K.BASEMENT_WALL, K.GROUND, 90, "level", "foundation wall to floor"),
        (K.SLAB_EDGE, K.SLAB_EDGE, 90, "upright", "foundation corner"),
        (K.BASEMENT_WALL, K.BASEMENT_WALL, -90, "upright", "foundation corner"),
        (K.ROOF, K.ROOF, 60, "level", "ridge"),
        (K.ROOF, K.ROOF, 60, "sloped", "hip"),
        (K.ROOF, K.ROOF, -60, "sloped", "valley"),
        (K.ROOF, K.FLAT_ROOF, -30, "level", "valley"),
        (K.ROOF, K.WALL, 120, "level", "eave"),
        (K.ROOF, K.WALL, 90, "sloped", "rake"),
        (K.ROOF, K.WALL, -60, "level", "roof to wall, head"),
        (K.ROOF, K.WALL, -90, "sloped", "roof to wall, side"),
        (K.FLAT_ROOF, K.WALL, 90, "level", "eave"),
        (K.FLAT_ROOF, K.PARAPET_INSIDE, -90, "level", "parapet base"),
        (K.PARAPET_TOP, K.PARAPET_INSIDE, 90, "level", "parapet edge"),
        (K.PARAPET_TOP, K.WALL, 90, "level", "parapet edge"),
        (K.PARAPET_TOP, K.WALL, -90, "level", "roof to wall, head"),
        (K.WALL, K.FLOOR_OVER_AIR, 90, "level", "cantilever"),
        (K.WALL, K.FLOOR_OVER_AIR, -90, "level", "soffit"),
        (K.WALL, K.CEILING, 90, "level", "wall to ceiling"),
        (K.WALL, K.GARAGE_WALL, 0, "upright", "wall to cold garage"),
        (K.ROOF, K.GARAGE_WALL, 90, "level", "wall to cold garage"),
        (K.WALL, K.PARTY_WALL, 90, "upright", "party wall edge"),
        (K.SHAFT_WALL, K.PARTY_WALL, 90, "upright", "party wall edge"),
        (K.CEILING, K.SHAFT_WALL, 90, "level", "shaft edge"),
    ],
)
def test_rule(one, two, dihedral, way, kind):
    assert rule(one, two, dihedral, way) == JointKind(kind)
    assert rule(two, one, dihedral, way) == JointKind(kind)


def test_other_substrate_in_one_plane_is_a_change_of_material():
    assert rule(K.WALL, K.WALL, 0, "upright", substrate="other") is JointKind.CHANGE_OF_MATERIAL


def test_cold_face_in_one_plane_is_a_contact():
    assert rule(K.SLAB_EDGE, K.SLAB_EDGE, 0, "upright", cold=True) is JointKind.GARAGE_CONTACT


@pytest.mark.parametrize(
    ("one", "two", "dihedral"),
    [(K.GROUND, K.CEILING, 90), (K.GROUND, K.GROUND, 90), (K.WALL, K.ROOF, 0), (K.GROUND, K.PARAPET_TOP, 90)],
)
def test_what_has_no_rule_stays_open(one, two, dihedral):
    assert rule(one, two, dihedral) is None


def test_rules_give_kinds_of_lines_only():
    for pair, dihedral, way in itertools.product(RULES, (90.0, 0.0, -90.0), WAYS):
        one, two = (list(pair) * 2)[:2]
        kind = rule(one, two, dihedral, way)
        assert kind is None or not kind.piece


def test_owner_does_not_depend_on_order():
    for one, two in itertools.product(FaceKind, FaceKind):
        faces = (flat_face(one), flat_face(two, "b"))
        for kind in (JointKind.EAVE, JointKind.ROOF_TO_WALL_SIDE):
            assert owner(kind, faces) is owner(kind, faces[::-1])


def test_owner_is_where_the_crew_stands():
    wall, roof = flat_face(K.WALL, "wall"), flat_face(K.ROOF, "roof")
    assert owner(JointKind.EAVE, (roof, wall)) is wall
    assert owner(JointKind.ROOF_TO_WALL_SIDE, (wall, roof)) is roof


def test_tails_stand_on_a_merged_wall_whatever_its_name():
    """The wing's south wall is flush with one of several south walls of the main mass, which has the longer part of it."""
    building = parse("""units: m
name: T
barrier: {top: roof deck, bottom: slab}
masses:
  - {name: main, outline: [[0, 0], [10, 0], [10, -2], [14, -2], [14, 8], [0, 8]], storeys: [3], roof: flat}
  - {name: wing, size: [3.5, 6], at: [-3, 0], storeys: [3], roof: flat}
eaves: [{mass: wing, side: south, kind: rafter tails, section: 45x145, count: 4}]
""")
    result = find(building, build(building))
    placed = [joint for joint in result.joints if joint.kind is JointKind.RAFTER_TAIL]
    assert len(placed) == 4
    assert all(joint.points[0][0] < 0.5 for joint in placed)
