"""A small invented house for the leak tests."""

import pytest

PLAIN = """\
# An invented house.
units: ft
name: Plain house
currency: USD
barrier: {top: roof deck, bottom: {kind: slab, level: 0}}
masses:
  - {name: main, size: [36, 26], base: 8 in, storeys: [9'-1 1/8"], roof: {form: gable, pitch: 6:12, ridge: east-west}}
openings:
  - {side: south, kind: window, size: [5, 4], head: 6'-10", at: [4, 26]}
  - {side: south, kind: door, size: [3'-2", 6'-10"], at: 16, frame: wood}
penetrations:
  - {through: south, kind: box, size: [4, 4], count: 4}
aim: {budget: 9000}
"""


@pytest.fixture
def plain(tmp_path):
    file = tmp_path / "plain.yaml"
    file.write_text(PLAIN, encoding="utf-8")
    return file
