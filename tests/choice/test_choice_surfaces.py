"""Each side of a joint brings the state of its own surface."""

from __future__ import annotations

import pytest

from hullwright import building, hull, joints
from hullwright.catalog import load
from hullwright.choice.build import build
from hullwright.joints.model import JointKind as K

HOUSE = """
units: m
name: Shed
barrier: {{top: roof deck, bottom: {{kind: {bottom}}}}}
masses:
  - {{name: main, size: [8, 6], base: {base}, storeys: [2.7], roof: {{form: gable, pitch: 30 deg, ridge: east-west}}}}
sheathing: {{wall: {{substrate: coated panel}}, roof: {{substrate: wood panel}}}}
surfaces: {surfaces}
"""


def spots(surfaces: str, bottom: str = "slab, level: 0", base: float = 0.2):
    stated = building.parse(HOUSE.format(surfaces=surfaces, bottom=bottom, base=base))
    shape = hull.build(stated)
    choice = build(stated, shape, joints.find(stated, shape), load(stated))
    return choice, {spot.run.id: spot for spot in choice.spots}


def of(found, kind: K, face: str):
    return next(spot for spot in found.values() if spot.run.kind is kind and spot.run.face == face)


def test_slab_edge_takes_the_state_of_the_foundation():
    # Source: the building file's own rule: states by wall, roof, floor, ceiling, foundation, mass, mass/side.
    _, found = spots("{wall: clean, roof: clean, foundation: dusty}")
    sill = of(found, K.SILL, "main/south")
    assert sill.rows == ("coated panel", "poor concrete")
    assert sill.states == ("dusty",)
    assert of(found, K.SLAB_EDGE, "main/south slab edge").rows == ("poor concrete",)
    assert of(found, K.OUTSIDE_CORNER, "main/south").states == ("clean",)


def test_dusty_walls_leave_the_concrete_sound():
    _, found = spots("{wall: dusty, roof: clean, foundation: clean}")
    sill = of(found, K.SILL, "main/south")
    assert sill.rows == ("coated panel", "sound concrete")
    assert sill.states == ("dusty",)


def test_basement_wall_takes_the_state_of_the_foundation():
    _, found = spots("{foundation: damp}", "crawl space, level: -0.6")
    assert of(found, K.SILL, "main/south").rows == ("coated panel", "poor concrete")
    assert any("foundation wall" in spot.run.face and spot.states == ("damp",) for spot in found.values())


def test_most_exact_key_wins():
    _, found = spots("{foundation: damp, main/south: clean}")
    assert of(found, K.SILL, "main/south").rows == ("coated panel", "sound concrete")
    assert of(found, K.SILL, "main/north").rows == ("coated panel", "poor concrete")


def test_eave_takes_both_its_faces():
    _, found = spots("{wall: clean, roof: rough, foundation: clean}")
    eave = of(found, K.EAVE, "main/south")
    assert eave.rows == ("coated panel", "rough wood panel")


@pytest.mark.parametrize(("state", "bare"), [("clean", True), ("damp", False)])
def test_bare_tape_on_concrete_needs_it_sound(state, bare):
    # Source: starting table of surface factors: bare tape is not allowed on dusty, damp or rough concrete.
    choice, _ = spots(f"{{foundation: {state}}}")
    number = next(n for n, run in enumerate(choice.runs) if run.kind is K.SILL and run.face == "main/south")
    barred = {bar.rule.id for bar in choice.barred[number] if bar.option.method == "stretch"}
    assert ("poor-concrete-bare-tape" in barred) is not bare
