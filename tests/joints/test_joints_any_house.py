"""Houses put together at random: whatever closes as a hull has a joint on every edge, and none is counted twice."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, reject, settings
from joint_random import houses

from hullwright import hull, joints
from hullwright.errors import HullwrightError
from hullwright.joints.model import JointKind


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
