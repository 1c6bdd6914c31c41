"""Houses put together at random: whatever closes as a hull has a joint on every edge, and none is counted twice."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st
from joint_kit import Roof, house, mass, neighbour, rect, window

from hullwright import hull, joints
from hullwright.errors import HullwrightError
from hullwright.joints.model import JointKind

pitches = st.sampled_from([12.0, 25.0, 38.0, 45.0, 52.0])
bearings = st.sampled_from([0.0, 90.0, 180.0, 270.0])
roofs = st.one_of(
    st.just(Roof("flat")),
    st.builds(lambda h: Roof("flat", parapet_height=h, parapet_thickness=0.25), st.sampled_from([0.3, 0.8])),
    st.builds(lambda p, b: Roof("shed", p, b), pitches, bearings),
    st.builds(lambda p, b: Roof("gable", p, b), pitches, bearings),
    st.builds(lambda p, b: Roof("hip", p, b), pitches, bearings),
)
tops = st.sampled_from(["roof deck", "roof deck", "roof deck", "ceiling"])
bottoms = st.sampled_from([("slab", 0.0), ("slab", -0.3), ("basement", -2.4), ("crawl space", -0.6)])
storeys = st.sampled_from([(2.7,), (3.0,), (3.0, 2.6)])
steps = st.sampled_from([-4.0, -1.5, 0.0, 2.0, 5.0])


@st.composite
def houses(draw):
    level = draw(bottoms)
    main = mass(storeys=draw(storeys), roof=draw(roofs), top=draw(tops), bottom=level[0], level=level[1])
    masses = [main]
    if draw(st.booleans()):
        kind, low = draw(bottoms)
        x, y = draw(steps), draw(steps)
        outline = rect(
            x, y - 3, x + draw(st.sampled_from([4.0, 6.0, 12.0])), y + draw(st.sampled_from([3.0, 5.0, 8.0]))
        )
        wing = mass(
            "wing", outline, storeys=draw(storeys), roof=draw(roofs), top=draw(tops), bottom=kind, level=low
        )
        masses.append(replace(wing, framing=draw(st.sampled_from(["shared", "shared", "own"]))))
    if draw(st.booleans()):
        masses.append(
            mass("garage", rect(10, 1, 14, 5), storeys=draw(storeys), roof=draw(roofs), inside=False)
        )
    if draw(st.booleans()):
        x = draw(st.sampled_from([-1.0, 0.0, 2.0]))
        y = draw(st.sampled_from([-1.0, 0.0, 1.5]))
        masses.append(
            mass(
                "upper",
                rect(x, y, 8, 6),
                base=main.wall_top,
                roof=draw(roofs),
                top=draw(tops),
                bottom="outside air" if min(x, y) < 0 else "on mass",
            )
        )
    sides = draw(st.sets(st.sampled_from([("party wall", 3), ("shaft", 2)])))
    openings = (window(),) if draw(st.booleans()) else ()
    return house(*masses, neighbours=tuple(neighbour(*side) for side in sides), openings=openings)


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow]
)
@given(houses())
def test_every_edge_of_any_house_carries_one_joint(building):
    try:
        body = hull.build(building)
    except HullwrightError:
        reject()  # masses that make no sound body are the hull's business
    result = joints.find(building, body)
    assert result.open_places == ()
    assert result.joint_share == pytest.approx(1.0, abs=1e-12)
    for face in body.faces:
        edges = [j for j in result.joints if face.id in j.faces and len(j.faces) > 1 and not j.kind.piece]
        # Source: invariant, joint length per face = face perimeter. Tolerance: rounding of some 100 m.
        assert sum(j.length for j in edges) == pytest.approx(face.perimeter, abs=1e-6)
    for joint in result.joints:
        assert joint.upslope >= 0
        assert joint.count >= 0
        assert joint.kind in JointKind
    # Each stretch that the stories stated ask for carries one line, at the floor.
    asked = sum(float(np.linalg.norm(line.end - line.start)) for line in body.story_lines)
    there = [
        line
        for line in body.floor_lines
        if max(
            abs(float(z) - building.mass(line.mass).floor(line.storey)) for z in (line.start[2], line.end[2])
        )
        < 2e-3
    ]
    # Tolerance: plans are cut 1 mm over the floor; a low roof of 12 deg leaves 5 mm more wall there at each end.
    assert sum(float(np.linalg.norm(line.end - line.start)) for line in there) == pytest.approx(
        asked, abs=0.1
    )
    sheathed = {face.id: face for face in body.faces if face.kind.sheathed}
    assert {panel.face for panel in result.panels} == set(sheathed)
    for panel in result.panels:
        assert 0 <= panel.under_bands <= panel.fasteners
        if sheathed[panel.face].area > 0.1:  # slivers, a finger wide, take no fastener
            assert panel.whole + panel.cut >= 1
            assert panel.under_bands > 0
