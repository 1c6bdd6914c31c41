"""Drainage paths: hand sums of what reaches each joint, and what enters where it is let in."""

import math
from collections import defaultdict

import numpy as np
import pytest
from joint_kit import Roof, found, gable, house, mass, passing, rect, site, tails, window

from hullwright import exposure
from hullwright.joints.model import JointKind

RAIN = 60.0  # mm while the hull is bare, L/m2
CATCH = 0.2


class Wet:
    """A house with 60 mm of rain on it."""

    def __init__(self, *masses, **more):
        building = house(*masses, site=site(20, 90), **more)
        self.body, self.joints = found(building)
        self.streams = exposure.passing(building, self.body, self.joints).streams
        every = zip(self.streams.node.tolist(), self.streams.joint.tolist(), strict=True)
        self.own = [(n, j) for n, j in every if not self.joints.joints[j].kind.startswith("overdriven")]
        self.joint = dict(self.own)
        self.count = len(self.streams.links.own)

    def nodes(self, kind, face="", mass=""):
        return [
            node
            for node, number in self.own
            if self.joints.joints[number].kind is JointKind(kind)
            and (not face or face in self.joints.joints[number].faces)
            and (not mass or self.joints.joints[number].mass == mass)
        ]

    def reach(self, *what):
        return float(self.streams.links.reach[self.nodes(*what)].sum())

    def enters(self, shares):
        """Water that enters at kinds, and what runs off, for shares let in by kind."""
        taken = np.zeros(self.count)
        for kind, share in shares.items():
            taken[self.nodes(kind)] = share
        entered, off = self.streams.links.chain().run(taken)
        by_kind = defaultdict(float)
        for node, water in enumerate(entered.tolist()):
            number = self.joint.get(node)
            by_kind["" if number is None else self.joints.joints[number].kind.value] += water
        return by_kind, float(off)


def test_shed_roof_with_one_level_seam():
    # A roof 1.2 m wide and 2.3 m deep, 12°: two rows of 4 ft panels, one level seam 4 ft up the slope from the eave.
    wet = Wet(mass(outline=rect(0, 0, 1.2, 2.3), roof=Roof("shed", 12.0, 180.0)))
    roof = "main/roof south"
    assert len(wet.nodes("horizontal seam", roof)) == 1
    assert not wet.nodes("vertical seam", roof)
    # Source: hand sum. 4 ft of slope are 1.2192·cos 12° = 1.1926 m in plan. Rain on the plan above the seam reaches it:
    # 60·1.2·(2.3 - 1.1926) = 79.74 L; a seam that lets half of it in takes 39.87 L; the eave gets the other half and the strip
    # below, 60·1.2·1.1926 + 39.87 = 125.74 L, and lets in a tenth, 12.57 L; 113.16 L run off. Tolerance: last digit.
    assert wet.reach("horizontal seam", roof) == pytest.approx(79.74, abs=0.01)
    assert wet.reach("eave", roof) == pytest.approx(165.6, abs=0.01)
    taken = np.zeros(wet.count)
    taken[wet.nodes("horizontal seam", roof)] = 0.5
    taken[wet.nodes("eave", roof)] = 0.1
    entered, off = wet.streams.links.chain().run(taken)
    assert entered[wet.nodes("horizontal seam", roof)].sum() == pytest.approx(39.87, abs=0.01)
    assert entered[wet.nodes("eave", roof)].sum() == pytest.approx(12.57, abs=0.01)
    # The walls' water, 0.2·60 on each m2 of them, runs off too.
    walls = CATCH * RAIN * sum(face.area for face in wet.body.faces if face.kind == "wall")
    assert float(off) == pytest.approx(113.16 + walls, abs=0.01)
    assert float(entered.sum() + off) == pytest.approx(wet.streams.fallen, rel=1e-12)


def test_gable_sends_half_to_each_eave_and_nothing_over_its_ridge():
    wet = Wet(mass(outline=rect(0, 0, 12, 8), roof=gable(45)))
    # Source: hand sum, rain on half the plan: 60·12·4 = 2 880 L each; the sills get the walls, 0.2·60·3 a metre; 0.1 L.
    assert wet.reach("eave", "main/roof south") == pytest.approx(2880.0, abs=0.1)
    assert wet.reach("eave", "main/roof north") == pytest.approx(2880.0, abs=0.1)
    assert wet.reach("ridge") == 0.0
    assert wet.reach("sill to foundation", "main/south") == pytest.approx(12 * 3 * CATCH * RAIN, abs=0.1)
    gables = 12 * (8 * 3 + 4 * 4)  # L: wall and triangle above it
    assert wet.reach("sill to foundation", "main/east") == pytest.approx(CATCH * RAIN * 40, abs=0.1)
    # Source: all that falls, 60·96 + 0.2·60·(2·36 + 2·40) = 7 584 L. Tolerance: rounding.
    assert wet.streams.fallen == pytest.approx(7584.0, rel=1e-12)
    assert gables == pytest.approx(CATCH * RAIN * 40)


def test_a_valley_gathers_two_roofs():
    slope = math.degrees(math.atan(0.75))
    wet = Wet(
        mass(outline=rect(0, 0, 12, 8), storeys=(5.0,), roof=gable(slope)),
        mass("wing", rect(3, -6, 9, 4), storeys=(5.0,), roof=gable(slope, 0.0)),
    )
    # Source: hand sum. Ridge of the wing 2.25 m above the eaves meets the main slope 3 m in: a valley over 3 x 3 m of plan gets a
    # triangle of the wing, 3·3/2 = 4.5 m2, and of the main roof what lies above it up to its ridge, 3·4 - 3·3/2 = 7.5 m2:
    # 60·12 = 720 L each. Tolerance: 0.1 L.
    first, second = (float(wet.streams.links.reach[node]) for node in wet.nodes("valley"))
    assert first == pytest.approx(720.0, abs=0.1)
    assert second == pytest.approx(720.0, abs=0.1)
    # What the valleys let in does not come to the eaves.
    before = wet.reach("eave")
    entered, off = wet.enters({"valley": 0.25, "eave": 1.0})
    assert entered["valley"] == pytest.approx(360.0, abs=0.1)
    assert entered["eave"] == pytest.approx(before - 360.0, abs=0.1)
    assert sum(entered.values()) + off == pytest.approx(wet.streams.fallen, rel=1e-12)


def test_a_valley_passes_more_where_a_flaw_lies_than_its_mean_roofs():
    slope = math.degrees(math.atan(0.75))
    wet = Wet(
        mass(outline=rect(0, 0, 12, 8), storeys=(5.0,), roof=gable(slope)),
        mass("wing", rect(3, -6, 9, 4), storeys=(5.0,), roof=gable(slope, 0.0)),
    )
    # Source: hand sum: half of 720 L has gathered half-way down, in a stream 0.3 m wide: 1 200 L/m. Tolerance: 0.1 %.
    valleys = [k for k, node in enumerate(wet.streams.node) if node in wet.nodes("valley")][:2]
    assert wet.streams.passing[valleys] == pytest.approx([1200.0, 1200.0], rel=1e-3)


def test_a_dormer_drips_and_drains_onto_the_roof_below():
    dormer = mass(
        "dormer", rect(4, 1, 7, 4), base=3.0, storeys=(2.5,), roof=Roof("shed", 10.0, 180.0), bottom="on mass"
    )
    wet = Wet(mass(outline=rect(0, 0, 12, 8), roof=gable(30)), dormer)
    # Its north wall stands on the main ridge and drains north.
    walls = sum(wet.body.faces[wet.body.number(f"dormer/{side}")].area for side in ("south", "east", "west"))
    # Source: hand sum. Everything on the south half of the plan, dormer or not, and all that drives against the dormer's three walls comes
    # to the south eave in the end: 60·12·4 + 0.2·60·walls. Tolerance: 0.1 L.
    south = [
        node
        for node in wet.nodes("eave", "main/roof south")
        if abs(wet.joints.joints[wet.joint[node]].points[0, 1]) < 1e-6
    ]
    reach = float(wet.streams.links.reach[south].sum())
    assert reach == pytest.approx(RAIN * 48 + CATCH * RAIN * walls, abs=0.1)
    # What its own eave gets is its roof, 3 m wide, as far as it stands out of the main roof.
    own = sum(face.area * face.normal[2] for face in wet.body.faces if face.id.startswith("dormer/roof"))
    assert wet.reach("eave", "", "dormer") == pytest.approx(RAIN * own, abs=0.1)
    # A dormer whose eave takes all leaves the main roof below without it.
    nodes = wet.nodes("eave", "", "dormer")
    taken = np.zeros(wet.count)
    taken[nodes] = 1.0
    entered, _ = wet.streams.links.chain().run(taken)
    assert float(entered.sum()) == pytest.approx(RAIN * own, abs=0.1)
    taken[south] = 1.0
    entered, _ = wet.streams.links.chain().run(taken)
    assert float(entered[south].sum()) == pytest.approx(reach - RAIN * own, abs=0.1)


def lean_to(roof="flat"):
    main = mass(
        outline=rect(0, 0, 8, 6), storeys=(3.0, 3.0), roof=gable(40) if roof == "gable" else Roof(roof)
    )
    return Wet(main, mass("low", rect(0, -3, 8, 0), storeys=(2.2,), roof=Roof("shed", 12.0, 180.0)))


def test_a_wall_above_a_roof_drains_onto_it():
    # A parapet keeps the main roof's own water; its south wall, from the lean-to's high side (2.2 + 3·tan 12° = 2.838 m) up.
    main = mass(
        outline=rect(0, 0, 8, 6),
        storeys=(3.0, 3.0),
        roof=Roof("flat", parapet_height=0.5, parapet_thickness=0.2),
    )
    wet = Wet(main, mass("low", rect(0, -3, 8, 0), storeys=(2.2,), roof=Roof("shed", 12.0, 180.0)))
    wall = 8 * (6.5 - 2.2 - 3 * math.tan(math.radians(12.0)))
    head = CATCH * RAIN * wall
    # Source: hand sum, 0.2·60·8·3.662 = 351.6 L at the head; the eave gets it and its own roof, 60·24 = 1 440 L. Tolerance: 0.1 L.
    assert head == pytest.approx(351.6, abs=0.1)
    assert wet.reach("roof to wall, head") == pytest.approx(head, abs=0.1)
    assert wet.reach("eave", "low/roof south") == pytest.approx(head + RAIN * 24, abs=0.1)
    entered, _ = wet.enters({"roof to wall, head": 0.5, "eave": 1.0})
    assert entered["eave"] == pytest.approx(head / 2 + RAIN * 24, abs=0.1)


def test_two_roofs_in_sequence():
    wet = lean_to("gable")
    wall = 8 * (6.0 - 2.2 - 3 * math.tan(math.radians(12.0)))
    upper = RAIN * 8 * 3
    # Source: hand sum. The upper eave gets half its plan, 60·24 = 1 440 L, drips past the wall onto the lower roof, and comes to the
    # lower eave with the wall's 0.2·60·wall and the lower roof's own 1 440 L. Tolerance: 0.1 L.
    assert wet.reach("eave", "main/roof south") == pytest.approx(upper, abs=0.1)
    assert wet.reach("roof to wall, head") == pytest.approx(CATCH * RAIN * wall, abs=0.1)
    assert wet.reach("eave", "low/roof south") == pytest.approx(2 * upper + CATCH * RAIN * wall, abs=0.1)
    upper_eave = wet.nodes("eave", "main/roof south")
    taken = np.zeros(wet.count)
    taken[upper_eave] = 1.0
    taken[wet.nodes("eave", "low/roof south")] = 1.0
    entered, off = wet.streams.links.chain().run(taken)
    assert float(entered[upper_eave].sum()) == pytest.approx(upper, abs=0.1)
    assert float(entered.sum()) == pytest.approx(2 * upper + CATCH * RAIN * wall, abs=0.1)
    assert float(entered.sum() + off) == pytest.approx(wet.streams.fallen, rel=1e-12)


def test_a_wall_on_a_roofs_side_gathers_along_it():
    # A lean-to with its ridge line along the main wall's foot: its roof falls west along the main house's south wall.
    main = mass(outline=rect(0, 0, 8, 6), storeys=(3.0, 3.0), roof=gable(40, 0.0))
    wet = Wet(main, mass("low", rect(0, -3, 8, 0), storeys=(2.2,), roof=Roof("shed", 12.0, 270.0)))
    slope = math.tan(math.radians(12.0))
    wall = 8 * 3.8 + 4 * 4 * math.tan(math.radians(40.0)) - 8 * 8 * slope / 2
    # Source: hand sum. The wall's water and a strip of roof 50 mm wide come to the joint along it: 0.2·60·wall + 60·8·0.05.
    # Tolerance: 0.2 L.
    # The joint is cut where the upper floor's line begins: the lower piece gets what the upper one let pass too.
    lowest = max(float(wet.streams.links.reach[node]) for node in wet.nodes("roof to wall, side"))
    assert lowest == pytest.approx(CATCH * RAIN * wall + RAIN * 8 * 0.05, abs=0.2)
    # The eave at the low end gets all: lower roof and wall.
    assert wet.reach("eave", "low/roof west") == pytest.approx(CATCH * RAIN * wall + RAIN * 24, abs=0.2)


def test_a_level_roof_lets_its_water_go_over_all_its_rim():
    wet = Wet(mass(outline=rect(0, 0, 10, 8)))
    # Source: hand sum, 60·80 = 4 800 L over a rim of 36 m; each joint on it is passed by all of it over half that rim, 266.7 L/m.
    # Tolerance: rounding.
    assert wet.reach("eave") == pytest.approx(4800.0, rel=1e-9)
    seams = [
        k for k, node in enumerate(wet.streams.node) if node in wet.nodes("horizontal seam", "main/roof")
    ]
    eaves = [
        k for k, node in enumerate(wet.streams.node) if node in wet.nodes("eave") and wet.streams.open[k]
    ]
    assert len(eaves) == 4
    assert wet.streams.open[eaves] == pytest.approx(4800 / 36)
    assert wet.streams.passing[seams] == pytest.approx(4800 / 18)


def test_a_parapet_sends_its_rain_to_the_inside():
    wet = Wet(mass(outline=rect(0, 0, 10, 8), roof=Roof("flat", parapet_height=0.9, parapet_thickness=0.2)))
    top = 80.0 - 9.6 * 7.6
    inside = 2 * (9.6 + 7.6) * 0.9
    # Source: hand sum. Rain on the top, 60·7.04, and against the inner faces, 0.2·60·30.96, come down to the foot of the parapet;
    # from there on with the roof's own 60·72.96 to its rim, which is the same foot. Tolerance: rounding.
    foot = RAIN * top + CATCH * RAIN * inside
    assert wet.reach("parapet base") == pytest.approx(2 * foot + RAIN * 9.6 * 7.6, rel=1e-6)
    entered, off = wet.enters({"parapet base": 1.0})
    assert entered["parapet base"] == pytest.approx(foot + RAIN * 9.6 * 7.6, rel=1e-6)
    assert off == pytest.approx(wet.streams.fallen - entered["parapet base"])


def test_a_seam_up_the_slope_takes_from_its_strips_only():
    wet = Wet(mass(outline=rect(0, 0, 4.0, 2.3), roof=Roof("shed", 12.0, 180.0)))
    lowest = wet.nodes("vertical seam", "main/roof south")
    # Source: hand sum, both strips 50 mm wide from the ridge down: 60·0.1·2.3 = 13.8 L at most, wherever the seam lies; a level
    # seam left open above one halves what comes from there. Tolerance: 1 mm of length.
    assert lowest
    assert all(0 < float(wet.streams.links.reach[n]) <= 13.8 + 0.01 for n in lowest)
    assert max(float(wet.streams.links.reach[n]) for n in lowest) == pytest.approx(13.8, abs=0.01)


def test_pieces_and_openings_sit_in_the_path():
    wet = Wet(
        mass(outline=rect(0, 0, 8, 6), storeys=(3.0,)),
        openings=(window("w", side=0, width=1.2, height=1.4, sill=0.9, offset=1.0),),
        penetrations=(passing("pipe", side=0, width=0.1, places=((4.0, 1.0),)),),
    )
    # Source: hand sum on a wall 3 m high, 0.2·60 = 12 L/m2: head at 2.3 m: 12·1.2·0.7 = 10.08 L; the sill gets the glass too,
    # 12·1.2·2.1 = 30.24 L; a pipe 0.1 m wide at 1 m: 12·0.1·2 = 2.4 L. Tolerance: rounding.
    assert wet.reach("opening head") == pytest.approx(10.08)
    assert wet.reach("opening sill") == pytest.approx(30.24)
    assert wet.reach("pipe") == pytest.approx(2.4)
    entered, _ = wet.enters({"opening head": 0.5, "opening sill": 0.5, "pipe": 0.25})
    assert entered["opening head"] == pytest.approx(5.04)
    # Tolerance: 1 %: at the corner pieces water of 25 mm beside the window mixes with that of 25 mm within.
    assert entered["opening sill"] == pytest.approx((30.24 - 5.04) / 2, rel=0.01)
    # What enters at the window and the pipe is missing at the sill plate.
    entered_all, _ = wet.enters(
        {"opening head": 0.5, "opening sill": 0.5, "pipe": 0.25, "sill to foundation": 1.0}
    )
    dry, _ = wet.enters({"sill to foundation": 1.0})
    lost = sum(entered.values())
    assert dry["sill to foundation"] - entered_all["sill to foundation"] == pytest.approx(lost)


def test_rafter_tails_take_from_the_eave_below_them():
    wet = Wet(mass(outline=rect(0, 0, 12, 8), roof=gable(30)), through=(tails(0, spacing=0.6),))
    count = len(wet.nodes("rafter tail"))
    # Source: hand sum: a tail 38 mm wide is met by a lane of 50 mm: 60·0.05·4 = 12 L; at the ends half a lane.
    # Tolerance: 1 %: the end tails.
    assert count > 15
    assert wet.reach("rafter tail") == pytest.approx(12.0 * count, rel=0.05)
    entered, _ = wet.enters({"rafter tail": 1.0, "eave": 1.0})
    assert sum(entered.values()) == pytest.approx(2 * 60 * 48, rel=1e-6)


def test_more_rain_more_water_everywhere_alike():
    one = lean_to("gable").streams
    building = house(
        mass(outline=rect(0, 0, 8, 6), storeys=(3.0, 3.0), roof=gable(40)),
        mass("low", rect(0, -3, 8, 0), storeys=(2.2,), roof=Roof("shed", 12.0, 180.0)),
        site=site(20, 90),
    )
    body, result = found(building)
    # Source: the paths are geometry: twice the rain is twice the water. Tolerance: rounding.
    two = exposure.passing(building, body, result, on_faces=2 * exposure.rain(building, body)).streams
    assert two.links.reach == pytest.approx(2 * one.links.reach)
    assert two.passing == pytest.approx(2 * one.passing)
    # Rain on one face alone reaches what lies below it and nothing else.
    alone = np.array([100.0 if face.id == "main/roof north" else 0.0 for face in body.faces])
    north = exposure.passing(building, body, result, on_faces=alone)
    wet = {joint.id for joint, water in zip(result.joints, north.joints_open, strict=True) if water > 0}
    assert wet
    assert all("north" in name or "main/roof" in name for name in wet)


def test_changing_the_order_of_bodies_changes_nothing():
    bodies = (
        mass(outline=rect(0, 0, 12, 8), storeys=(5.0,), roof=gable(35)),
        mass("wing", rect(3, -6, 9, 4), storeys=(5.0,), roof=gable(35, 0.0)),
    )
    one, two = Wet(*bodies), Wet(*reversed(bodies))
    # Source: definition. Tolerance: rounding.
    assert one.streams.passing == pytest.approx(two.streams.passing)
    assert one.streams.fallen == pytest.approx(two.streams.fallen)
