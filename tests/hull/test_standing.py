"""A wing that does not reach the roof it should run into is told; one that does is not."""

import pytest

from hullwright import building, hull

TEXT = """
units: ft
name: Wing
barrier: {{top: roof deck, bottom: {{kind: slab, level: 0}}}}
masses:
  - {{name: main, size: [34, 24], base: 0, storeys: [8], roof: {{form: gable, pitch: 5:12, ridge: east-west}}}}
  - {{name: wing, size: [10, {deep}], at: [12, -3], base: 0, storeys: [8], roof: {{form: gable, pitch: 5:12, ridge: north-south}}}}
"""


@pytest.mark.parametrize(("deep", "told"), [(3, True), (4, True), (15, False)])
def test_a_short_wing_is_told(deep, told):
    stated = building.parse(TEXT.format(deep=deep))
    notes = hull.build(stated).notes
    # Source: hand: the wing's ridge is 5/12 · 5 ft above the eaves; the main roof reaches that height 5 ft in from its south wall,
    # so a wing that starts 3 ft before it and is less than 8 ft deep leaves a gable wall over the main roof. Tolerance: none
    assert any("reach deeper into main" in note for note in notes) is told


def test_the_front_of_a_dormer_is_not_told():
    text = (
        TEXT.format(deep=15)
        + """
  - {name: dormer, size: [6, 6], at: [24, 3], base: 9, storeys: [2], bottom: on mass, roof: {form: gable, pitch: 5:12, ridge: north-south}}
"""
    )
    assert hull.build(building.parse(text)).notes == ()
