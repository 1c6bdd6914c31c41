"""Names on the unrolled sheet: every face has one, none lies over another, none off the paper."""

from __future__ import annotations

import itertools
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from shapely.geometry import Point, Polygon, box

from hullwright import hull as hull_room
from hullwright.app.house import load
from hullwright.report.labels import place
from hullwright.report.unrolled import Sheet

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.yaml"))
WIDTH, RISE, DROP = (
    0.55,
    0.75,
    0.22,
)  # of the type size, as measured on common sans-serif type; a little less than is reserved
ROOM = (0.0, 0.0, 400.0, 300.0)


def boxes(drawn: str):
    """Room that each text takes, read from the drawing itself."""
    for node in ET.fromstring(f"<svg>{drawn}</svg>").iter("text"):
        x, y, size = (float(node.get(key)) for key in ("x", "y", "font-size"))
        half = WIDTH * size * len(node.text) / 2
        yield node.text, box(x - half, y - RISE * size, x + half, y + DROP * size)


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda path: path.stem)
def test_no_name_lies_over_another_on_the_examples(file):
    hull = load(str(file)).hull
    sheet = Sheet(hull, [(p.face, p.transform) for flat in hull_room.unroll(hull) for p in flat.pieces])
    labels = sheet.labels
    found = list(boxes(labels.drawn()))
    for (_, one), (_, two) in itertools.combinations(found, 2):
        assert not one.intersects(two)
    named = [words for words, _ in found if not words.isdigit()]
    numbers = sorted(int(words) for words, _ in found if words.isdigit())
    assert numbers == list(range(1, len(labels.numbered) + 1))
    assert sorted([*named, *labels.numbered]) == sorted(face.id for face in hull.faces)
    paper = box(0, 0, 1200, sheet.deep + 20)
    assert all(paper.contains(room) for _, room in found)
    listed, deep = labels.listed(20, 0, 1160)
    rows = list(boxes(listed))
    assert len(rows) == len(labels.numbered)
    assert bool(deep) == bool(rows)


def square(x, y, wide, high):
    return [np.array([[x, y], [x + wide, y], [x + wide, y + high], [x, y + high]], dtype=float)]


def test_a_name_that_fits_stands_in_its_face():
    (label,) = place([("main/south", square(10, 10, 200, 80))], ROOM).placed
    assert (label.words, label.leader) == ("main/south", None)
    assert Polygon(square(10, 10, 200, 80)[0]).contains(box(*label.box))


def test_strips_too_thin_for_type_get_numbers_beside_them_with_leaders():
    strips = [(f"main/strip {k}", square(50 + 4 * k, 100, 3, 3)) for k in range(8)]
    found = place(strips, ROOM)
    assert found.numbered == tuple(name for name, _ in strips)
    for (_, loops), label in zip(strips, found.placed, strict=True):
        assert label.leader is not None
        assert Polygon(loops[0]).contains(Point(label.leader))
    for one, two in itertools.combinations(found.placed, 2):
        assert not box(*one.box).intersects(box(*two.box))


def test_a_name_keeps_out_of_a_hole_and_out_of_a_notch():
    hole = [*square(0, 0, 200, 100), *[loop[::-1] for loop in square(40, 20, 120, 60)]]
    found = place([("a long name of a face", hole)], ROOM)
    assert found.numbered == ("a long name of a face",)
