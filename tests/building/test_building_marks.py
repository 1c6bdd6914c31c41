"""Marks: numbered by wall from left to right, the user's own where stated, written into the file without touching the rest."""

from __future__ import annotations

import json
import random
import shutil
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hullwright.app import schemas
from hullwright.app.marks import marks_of, with_marks, write_marks
from hullwright.building.reader import parse, read
from hullwright.cli.main import main
from hullwright.errors import BuildingFileError

EXAMPLES = Path(__file__).parents[2] / "examples"
HEAD = """\
units: ft
name: Two bodies
barrier: {top: roof deck, bottom: slab}
masses:
  - {name: zeta, size: [30, 20], storeys: [9, 8], roof: {form: gable, pitch: 6:12, ridge: east-west}}
  - {name: alpha, size: [10, 10], at: [30, 5], storeys: [9], roof: {form: gable, pitch: 6:12, ridge: east-west}}
"""


def marks(house):
    return {o.id: o.mark for o in house.openings} | {
        f"{p.id}:{k + 1}": m for p in house.penetrations for k, m in enumerate(p.marks)
    }


def problems(text):
    with pytest.raises(BuildingFileError) as caught:
        parse(HEAD + text, file="house.yaml")
    return caught.value.problems


def test_marks_go_by_body_of_the_file_wall_by_wall_upward_from_the_left():
    rows = """\
openings:
  - {name: a, mass: alpha, side: south, kind: window, size: [2, 2], sill: 3, at: 1}
  - {name: n, mass: zeta, side: north, storey: 1, kind: window, size: [2, 2], sill: 3, at: 1}
  - {name: up, mass: zeta, side: south, storey: 2, kind: window, size: [2, 2], sill: 3, at: 1}
  - {name: right, mass: zeta, side: south, storey: 1, kind: window, size: [2, 2], sill: 3, at: 20}
  - {name: left, mass: zeta, side: south, storey: 1, kind: window, size: [2, 2], sill: 3, at: 4}
  - {name: door, mass: zeta, side: south, storey: 1, kind: door, size: [3, 7], at: 10}
  - {name: car, mass: zeta, side: west, storey: 1, kind: garage door, size: [8, 7], at: 5}
  - {name: sky, mass: zeta, side: south, kind: skylight, size: [2, 3], sill: 3, at: 9}
penetrations:
  - {name: vents, mass: zeta, through: south, storey: 1, kind: duct, diameter: 4, at: [[27, 1], [1, 1]]}
  - {name: tap, mass: zeta, through: south, storey: 1, kind: hose bib, diameter: 1, at: [[8, 2]]}
  - {name: stack, mass: zeta, through: roof south, kind: pipe, diameter: 4, at: [[5, 2]]}
later:
  - {name: deck, kind: ledger, mass: zeta, side: north, storey: 1, at: 1, width: 10, top: 0, depth: 0.8}
"""
    # Source: the rule as the documentation states it, by hand. Tolerance: none, names.
    house = parse(HEAD + rows)
    assert marks(house) == {
        "left": "W1", "right": "W2", "up": "W3", "n": "W4", "a": "W5", "door": "D1", "car": "G1", "sky": "S1",
        "vents:1": "P1", "tap:1": "P2", "vents:2": "P3", "stack:1": "P4",
    }  # fmt: skip
    assert [thing.mark for thing in house.fixed_over] == ["A1"]


def test_stated_marks_stay_and_numbers_skip_them():
    rows = """\
openings:
  - {mass: zeta, side: south, storey: 1, kind: window, size: [2, 2], sill: 3, at: [20, 1, 10], marks: [W2, 101A, w4]}
  - {mass: zeta, side: north, storey: 1, kind: window, size: [2, 2], sill: 3, at: [1, 5, 9]}
  - {mass: zeta, side: west, storey: 1, kind: door, size: [3, 7], at: 2, mark: 7}
penetrations:
  - {mass: zeta, through: east, storey: 2, kind: pipe, diameter: 2, at: [[3, 1], [1, 1]], marks: [P1, D1]}
"""
    house = parse(HEAD + rows)
    found = {(o.side, round(o.offset / 0.3048)): o.mark for o in house.openings}
    assert found == {
        (0, 20): "W2", (0, 1): "101A", (0, 10): "w4", (2, 1): "W1", (2, 5): "W3", (2, 9): "W5", (3, 2): "7",
    }  # fmt: skip
    assert house.penetrations[0].marks == ("D1", "P1")  # places are kept from the left


def test_a_mark_used_twice_is_said_with_both_lines():
    for rows in (
        (
            "openings:\n"
            "  - {mass: zeta, side: south, storey: 1, kind: window, size: [2, 2], sill: 3, at: 1, mark: W1}\n"
            "penetrations:\n"
            "  - {mass: zeta, through: east, storey: 2, kind: pipe, diameter: 2, at: [[3, 1]], mark: w1}\n"
        ),
        (
            "openings:\n"
            "  - {mass: zeta, side: south, storey: 1, kind: window, size: [2, 2], sill: 3, at: 1, mark: W1}\n"
            "later:\n"
            "  - {kind: ledger, mass: zeta, side: north, storey: 1, at: 1, width: 10, top: 0, depth: 0.8, mark: W1}\n"
        ),
    ):
        (problem,) = problems(rows)
        assert "is used twice" in problem.message
        assert (problem.where.file, problem.where.line) == ("house.yaml", 10)
        assert "line 8" in problem.got
    (problem,) = problems(
        "openings:\n  - {mass: zeta, side: south, storey: 1, kind: window, size: [2, 2], sill: 3, at: [1, 9], marks: [A, a]}\n"
    )
    assert "`a` is used twice" in problem.message


@pytest.mark.parametrize(
    ("places", "said"),
    [
        ("at: [1, 9], mark: W1", "2 places and 1 mark"),
        ("at: [1, 9], marks: [W1, W2, W3]", "2 places and 3 marks"),
        ("at: 1, marks: [W1, W2]", "1 place and 2 marks"),
        ("count: 3, marks: [W1, W2]", "3 places and 2 marks"),
        ("at: 1, mark: W1, marks: [W1]", "state either `mark` or `marks`"),
        ("at: 1, mark: W/1", "this can't be a mark"),
        ("at: 1, mark: 'W1: head'", "this can't be a mark"),
        ("at: 1, mark: a+b", "this can't be a mark"),
        ("at: 1, mark: 12345678901234567", "this can't be a mark"),
        ("at: 1, mark: [W1]", "a single value is wanted here"),
        ("at: 1, mark: ''", "a single value is wanted here"),
    ],
)
def test_marks_that_do_not_fit_are_said_with_file_and_line(places, said):
    (problem,) = problems(
        f"openings:\n  - {{mass: zeta, side: south, storey: 1, kind: window, size: [2, 2], sill: 3, {places}}}\n"
    )
    assert said in problem.message
    assert (problem.where.file, problem.where.line) == ("house.yaml", 8)
    assert problem.where.key.startswith("openings[0].mark")


def test_a_row_that_is_counted_takes_its_marks_from_the_left():
    house = parse(
        HEAD
        + "openings:\n  - {mass: zeta, side: south, storey: 1, kind: window, size: [2, 2], sill: 3, count: 3, marks: [C, B, A]}\n"
    )
    assert [o.mark for o in sorted(house.openings, key=lambda o: o.offset)] == ["C", "B", "A"]


@pytest.mark.parametrize("name", ["saltgrass-house", "kiln-studio", "six-flats"])
def test_written_marks_read_back_and_nothing_else_changes(name, tmp_path):
    source = EXAMPLES / f"{name}.yaml"
    path = tmp_path / "house.yaml"
    shutil.copy(source, path)
    before = read(source)
    answer = write_marks(path)
    after = read(path)
    assert marks(after) == marks(before)
    assert len(after.stated_marks) == answer.written == len(answer.rows) > 10
    # Every line is there as it was, but for the marks at the end of a row.
    for old, new in zip(source.read_text().splitlines(), path.read_text().splitlines(), strict=True):
        plain = new.split(", mark: ")[0].split(", marks: [")[0]
        assert new == old or (old.startswith(plain) and old[len(plain) :].startswith("}"))
    text = path.read_bytes()
    assert write_marks(path).written == 0
    assert path.read_bytes() == text


BLOCK = """\
openings:   # the schedule
  - mass: zeta        # front
    side: south
    storey: 1
    kind: window
    size: [2, 2]
    sill: 3
    at:
      - 20
      - 4             # beside the door

  - mass: zeta
    side: north
    storey: 2
    kind: window
    size: [2, 2]
    sill: 3
    count: 2
penetrations:
  -
    mass: zeta
    through: bottom
    kind: pipe
    diameter: 4
    at: [[20, 5], [3, 3], [3, 2]]   # drains
"""


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
@pytest.mark.parametrize("start", ["", "\ufeff"])
def test_block_style_comments_line_ends_and_a_byte_order_mark_stay(ends, start, tmp_path):
    path = tmp_path / "house.yaml"
    path.write_bytes((start + (HEAD + BLOCK).replace("\n", ends)).encode())
    before = read(path)
    write_marks(path)
    text = path.read_bytes().decode()
    assert marks(read(path)) == marks(before)
    assert text.startswith(start + "units")
    assert text.count(ends) == text.count("\n")
    new = text.removeprefix(start).replace(ends, "\n").splitlines()
    added = [line for line in new if "mark" in line]
    # Source: by hand: marks in the order of the places as they stand in the file. 4 ft is left of 20 ft; (3, 2) comes before (3, 3).
    assert [line.strip() for line in added] == ["marks: [W2, W1]", "marks: [W3, W4]", "marks: [P3, P2, P1]"]
    assert [line for line in new if line not in added] == (HEAD + BLOCK).splitlines()


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_written_marks_survive_any_row_that_comes_or_goes(seed):
    rng = random.Random(seed)
    sides = [("south", 30), ("north", 30), ("east", 20), ("west", 20)]
    spots = [
        (side, story, at) for side, length in sides for story in (1, 2) for at in range(1, length - 3, 4)
    ]
    rows = [
        f"  - {{mass: zeta, side: {side}, storey: {story}, kind: {rng.choice(('window', 'window'))}, size: [2, 2], sill: 3, at: {at}}}"
        for side, story, at in rng.sample(spots, 8)
    ]
    text = HEAD + "openings:\n" + "\n".join(rows[:6]) + "\n"
    marked = with_marks(text, parse(text))
    first = {(o.side, o.storey, o.offset): o.mark for o in parse(marked).openings}
    lines = marked.splitlines()
    at = lines.index("openings:") + 1
    own = lines[at:]
    rng.shuffle(own)
    gone = own.pop()
    changed = parse("\n".join([*lines[:at], rows[6], *own, rows[7]]) + "\n")
    now = {(o.side, o.storey, o.offset): o.mark for o in changed.openings}
    assert gone
    kept = {spot: mark for spot, mark in now.items() if spot in first}
    assert len(kept) == 5
    assert all(first[spot] == mark for spot, mark in kept.items())
    assert len(set(now.values())) == 7


def test_the_command_lists_and_writes(tmp_path, capsys):
    path = tmp_path / "house.yaml"
    shutil.copy(EXAMPLES / "kiln-studio.yaml", path)
    assert main(["marks", str(path)]) == 0
    said = capsys.readouterr().out
    assert "Kiln Studio: 13 marks" in said
    assert "13 are only numbered" in said
    for write in (False, True, False):
        assert main(["marks", str(path), "--json", *(["--write"] if write else [])]) == 0
        answer = json.loads(capsys.readouterr().out)
        jsonschema.Draft202012Validator(schemas.schema("marks")).validate(answer)
        assert len(answer["marks"]) == 13
    assert all(row["stated"] for row in answer["marks"])
    assert main(["marks", str(path)]) == 0
    assert "only numbered" not in capsys.readouterr().out


def test_a_file_that_is_wrong_is_not_written(tmp_path, capsys):
    path = tmp_path / "house.yaml"
    text = HEAD + "openings:\n  - {mass: zeta, side: south, storey: 1, kind: window, size: [2, 2], at: 1}\n"
    path.write_text(text)
    assert main(["marks", str(path), "--write"]) == 2
    assert path.read_text() == text
    assert "how high does this window sit" in capsys.readouterr().err


def test_rows_of_a_building_in_memory():
    rows = marks_of(parse(HEAD + BLOCK)).rows
    assert [row.mark for row in rows] == ["W1", "W2", "W3", "W4", "P1", "P2", "P3"]
    assert rows[0].where == "south, story 1"
    assert rows[4].where == "bottom"
