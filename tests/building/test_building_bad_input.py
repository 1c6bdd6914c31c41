"""Every wrong file gets clear errors with places: all of them, and nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

from hullwright.building import parse, read
from hullwright.errors import BuildingFileError, Problem

HEAD = "units: ft\nname: T\nbarrier: {top: roof deck, bottom: slab}\n"
MAIN = "masses:\n  - {name: main, size: [40, 28], storeys: [9, 8], roof: {form: gable, pitch: 6:12, ridge: east-west}}\n"
HOUSE = HEAD + MAIN


def problems(text: str) -> tuple[Problem, ...]:
    """Problems of a text that must be refused."""
    with pytest.raises(BuildingFileError) as caught:
        parse(text, "t.yaml")
    assert caught.value.problems
    for problem in caught.value.problems:
        assert problem.where.file == "t.yaml"
        assert problem.message
        assert problem.allowed or problem.hint
    return caught.value.problems


def only(text: str) -> Problem:
    """The single problem of a text."""
    found = problems(text)
    assert len(found) == 1, "\n".join(map(str, found))
    return found[0]


class TestFiles:
    @pytest.mark.parametrize("text", ["", "\n\n", "# only a comment\n", "---\n", "~\n"])
    def test_empty(self, text: str) -> None:
        assert "empty" in only(text).message

    @pytest.mark.parametrize("text", ["just words\n", "- a\n- b\n", "42\n"])
    def test_not_a_table(self, text: str) -> None:
        assert "table of keys" in only(text).message

    @pytest.mark.parametrize("cut", [40, 75, 95, 120, 150])
    def test_truncated(self, cut: int) -> None:
        for problem in problems(HOUSE[:cut]):
            assert problem.where.line is not None

    @pytest.mark.parametrize(
        ("raw", "word"),
        [
            (b"PK\x03\x04\x14\x00\x08\x00\xff\xfe" * 30, "UTF-8"),
            (b"\x89PNG\r\n\x1a\n\x00\x00", "UTF-8"),
            (b"name: a\x00b\n", "plain text"),
            ("units: ft\n".encode("utf-16"), "UTF-16"),
            ("name: Haus\xe4\n".encode("latin-1"), "UTF-8"),
        ],
    )
    def test_binary(self, tmp_path: Path, raw: bytes, word: str) -> None:
        path = tmp_path / "t.yaml"
        path.write_bytes(raw)
        with pytest.raises(BuildingFileError) as caught:
            read(path)
        assert word in caught.value.problems[0].message

    def test_mark_of_utf8_is_taken(self, tmp_path: Path) -> None:
        path = tmp_path / "t.yaml"
        path.write_bytes(b"\xef\xbb\xbf" + HOUSE.encode())
        assert read(path).name == "T"

    def test_fifty_megabytes_are_refused_at_once(self, tmp_path: Path) -> None:
        path = tmp_path / "t.yaml"
        with path.open("wb") as stream:
            stream.truncate(50_000_000)
        with pytest.raises(BuildingFileError, match="too large"):
            read(path)

    @pytest.mark.parametrize("name", ["missing.yaml", "."])
    def test_no_file(self, tmp_path: Path, name: str) -> None:
        with pytest.raises(BuildingFileError, match="can't be opened"):
            read(tmp_path / name)

    @pytest.mark.parametrize(
        "text", ["a: " + "[" * 100_000, "a: " + "[" * 60 + "]" * 60, "a: " + "{a: " * 200 + "1" + "}" * 200]
    )
    def test_deep_nesting(self, text: str) -> None:
        assert "nested too deep" in only(text).message

    def test_anchors_can_not_bomb(self) -> None:
        bomb = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(f"b{i}: &b{i} [*a, *a]\n" for i in range(30))
        assert "anchors" in only(bomb).message

    @pytest.mark.parametrize(
        "text",
        [
            "a: *b\n",
            "a: &b 3\n",
            "a: !!python/object:os.system x\n",
            "a: !foo 3\n",
            "units: ft\n---\nunits: ft\n",
        ],
    )
    def test_plain_yaml_only(self, text: str) -> None:
        only(text)

    def test_keys_stated_twice(self) -> None:
        problem = only(HOUSE + "name: again\n")
        assert "twice" in problem.message
        assert (problem.where.line, problem.got) == (6, "first on line 2")

    def test_broken_yaml_has_its_place(self) -> None:
        problem = only("units: ft\nname: [a, b\nmasses: 3\n")
        assert problem.where.line == 3


MISTAKES = [
    (
        HOUSE.replace("units: ft", "units: mm").replace("[9, 8]", "[2700, 2700]").replace("28]", "8000]"),
        5,
        "masses[0].size[0]",
        "out of range",
        "mm",
    ),
    (HOUSE.replace("name: main,", "name: main, inside: no,"), 5, "masses", "no mass is inside", ""),
    (HOUSE + "crew: {film: {any: {pooled: 40}}}\n", 6, "crew.film.any", "without the spread", ""),
    (HOUSE + "crew: {film: {any: {spread: 1 mil, readings: 2}}}\n", 6, "crew.film.any.readings", "", ""),
    (HOUSE + "crew: {set_up: {glue: {money: 3}}}\n", 6, "crew.set_up.glue", "no such method", ""),
    (
        HOUSE + "crew: {set_up: {tape: {money: 3}}}\nfigures: {setup_money.tape: 4}\n",
        6,
        "crew.set_up.tape",
        "twice",
        "remove",
    ),
    (
        HOUSE
        + "openings:\n  - {name: main/south/1/door 1, side: south, storey: 1, kind: door, size: [3, 7], at: 1}\n  - {side: south, storey: 1, kind: door, size: [3, 7], at: 9}\n",
        8,
        "openings[1]",
        "name of two things",
        "",
    ),
    (
        HOUSE
        + "penetrations:\n  - {name: a, through: bottom, kind: pipe, diameter: 2, count: 1}\n  - {name: a, through: bottom, kind: pipe, diameter: 3, count: 1}\n",
        8,
        "penetrations[1]",
        "name of two things",
        "",
    ),
    # text, line, key, in the message, in the hint
    (HOUSE.replace("units: ft", "units: furlong"), 1, "units", "not known", ""),
    (HOUSE.replace("name: T", "nmae: T"), 2, "nmae", "no key `nmae`", "`name`"),
    (HOUSE.replace("[40, 28]", "[40, 0]"), 5, "masses[0].size[1]", "out of range", "ft"),
    (HOUSE.replace("[40, 28]", "[40, -28]"), 5, "masses[0].size[1]", "out of range", "ft"),
    (HOUSE.replace("[40, 28]", "[40, .nan]"), 5, "masses[0].size[1]", "can't be read", ""),
    (HOUSE.replace("[40, 28]", "[40, .inf]"), 5, "masses[0].size[1]", "can't be read", ""),
    (HOUSE.replace("[40, 28]", "[40, 1e999]"), 5, "masses[0].size[1]", "can't be read", ""),
    (HOUSE.replace("[40, 28]", "[40]"), 5, "masses[0].size", "1 numbers", ""),
    (HOUSE.replace("[40, 28]", "40"), 5, "masses[0].size", "a list of", ""),
    (HOUSE.replace("[40, 28]", "[[1], 28]"), 5, "masses[0].size[0]", "single value", ""),
    (HOUSE.replace("storeys: [9, 8]", "storeys: [9, 0]"), 5, "masses[0].storeys[1]", "story height", ""),
    (HOUSE.replace("storeys: [9, 8]", "storeys: []"), 5, "masses[0].storeys", "0 storeys", ""),
    (HOUSE.replace("size: [40, 28], ", ""), 5, "masses[0]", "either `size` or `outline`", ""),
    (
        HOUSE.replace("size: [40, 28]", "outline: [[0, 0], [4, 4], [4, 0], [0, 4]]"),
        5,
        "masses[0].outline",
        "cross",
        "walk",
    ),
    (
        HOUSE.replace("size: [40, 28]", "outline: [[0, 0], [4, 0], [8, 0]]"),
        5,
        "masses[0].outline",
        "no area",
        "",
    ),
    (
        HOUSE.replace("size: [40, 28]", "outline: [[0, 0], [4, 0], [4, 3], [0, 0]]"),
        5,
        "masses[0].outline",
        "corner",
        "",
    ),
    (HOUSE.replace("6:12", "6"), 5, "masses[0].roof.pitch", "two ways", "6:12"),
    (HOUSE.replace("6:12", "85 deg"), 5, "masses[0].roof.pitch", "slope", ""),
    (HOUSE.replace("6:12", "0:12"), 5, "masses[0].roof.pitch", "slope", ""),
    (HOUSE.replace("6:12", "6:0"), 5, "masses[0].roof.pitch", "slope", ""),
    (HOUSE.replace("east-west", "30 deg"), 5, "masses[0].roof.ridge", "along no side", ""),
    (HOUSE.replace("east-west", "up"), 5, "masses[0].roof.ridge", "no side `up`", ""),
    (HOUSE.replace(", ridge: east-west", ""), 5, "masses[0].roof", "needs the key `ridge`", ""),
    (
        HOUSE.replace("ridge: east-west", "ridge: east-west, falls: south"),
        5,
        "masses[0].roof.falls",
        "no `falls`",
        "",
    ),
    (HOUSE.replace("form: gable", "form: mansard"), 5, "masses[0].roof.form", "not known", ""),
    (
        HOUSE.replace("size: [40, 28]", "outline: [[0, 0], [9, 0], [9, 4], [5, 4], [5, 9], [0, 9]]").replace(
            "form: gable", "form: hip"
        ),
        5,
        "masses[0].roof.form",
        "inside corners",
        "wing",
    ),
    (
        HOUSE.replace("bottom: slab", "bottom: {kind: basement}"),
        3,
        "barrier.bottom",
        "at which height",
        "datum",
    ),
    (
        HOUSE.replace("bottom: slab", "bottom: {kind: slab, level: 3}"),
        3,
        "barrier.bottom.level",
        "above the base",
        "",
    ),
    (HOUSE.replace(", bottom: slab", ""), 5, "masses[0]", "where does the barrier run", "barrier.bottom"),
    (HOUSE.replace("name: main", "name: wall"), 5, "masses[0].name", "can't be the name", ""),
    (HOUSE.replace("top: roof deck", "top: ceiling"), 1, "", "partition top plates", ""),
    (
        HOUSE + "openings: [{side: south, storey: 3, kind: door, size: [3, 7], at: 1}]\n",
        6,
        "openings[0].storey",
        "no storey `3`",
        "",
    ),
    (
        HOUSE + "openings: [{side: south, kind: door, size: [3, 7], at: 1}]\n",
        6,
        "openings[0]",
        "2 storeys",
        "storey",
    ),
    (
        HOUSE + "openings: [{side: sotuh, storey: 1, kind: door, size: [3, 7], at: 1}]\n",
        6,
        "openings[0].side",
        "no side",
        "`south`",
    ),
    (
        HOUSE + "openings: [{side: side 5, storey: 1, kind: door, size: [3, 7], at: 1}]\n",
        6,
        "openings[0].side",
        "no side",
        "",
    ),
    (
        HOUSE + "openings: [{mass: mian, side: south, storey: 1, kind: door, size: [3, 7], at: 1}]\n",
        6,
        "openings[0].mass",
        "no mass",
        "`main`",
    ),
    (
        HOUSE + "openings: [{side: south, storey: 1, kind: window, size: [3, 4], at: 1}]\n",
        6,
        "openings[0]",
        "how high",
        "",
    ),
    (
        HOUSE + "openings: [{side: south, storey: 1, kind: window, size: [3, 4], head: 3, at: 1}]\n",
        6,
        "openings[0].head",
        "taller",
        "",
    ),
    (
        HOUSE + "openings: [{side: south, storey: 1, kind: window, size: [3, 4], sill: 3}]\n",
        6,
        "openings[0]",
        "`at`, `center` or `count`",
        "",
    ),
    (
        HOUSE + "openings: [{side: south, storey: 1, kind: window, size: [43, 4], sill: 3, at: 0}]\n",
        6,
        "openings[0].size",
        "wider",
        "",
    ),
    (
        HOUSE + "openings: [{side: south, storey: 1, kind: window, size: [3, 4], sill: 3, at: 38}]\n",
        6,
        "openings[0].at",
        "past the end",
        "",
    ),
    (
        HOUSE + "openings: [{side: south, storey: 1, kind: window, size: [3, 4], sill: 3, at: -1}]\n",
        6,
        "openings[0].at",
        "out of range",
        "",
    ),
    (
        HOUSE + "openings: [{side: south, storey: 1, kind: window, size: [9, 4], sill: 3, count: 5}]\n",
        6,
        "openings[0].count",
        "do not fit side by side",
        "",
    ),
    (
        HOUSE + "openings: [{side: south, storey: 1, kind: window, size: [3, 4], sill: 3, at: [4, 6]}]\n",
        6,
        "openings[0]",
        "overlaps",
        "",
    ),
    (
        HOUSE + "openings: [{side: south, storey: 2, kind: window, size: [3, 4], sill: 5, at: 4}]\n",
        6,
        "openings[0].size",
        "above the wall",
        "",
    ),
    (
        HOUSE + "openings: [{side: east, kind: skylight, size: [3, 4], sill: 5, at: 4}]\n",
        6,
        "openings[0].side",
        "no roof plane",
        "",
    ),
    (
        HOUSE + "openings: [{side: south, kind: skylight, storey: 1, size: [3, 4], sill: 5, at: 4}]\n",
        6,
        "openings[0].storey",
        "no storey",
        "",
    ),
    (
        HOUSE
        + "openings:\n  - {name: a, side: south, storey: 1, kind: door, size: [3, 7], at: 1}\n  - {name: a, side: south, storey: 1, kind: door, size: [3, 7], at: 9}\n",
        8,
        "openings[1]",
        "name of two things",
        "",
    ),
    (
        HOUSE + "penetrations: [{through: south, storey: 1, kind: pipe, diameter: 0, at: [[1, 1]]}]\n",
        6,
        "penetrations[0].diameter",
        "out of range",
        "in",
    ),
    (
        HOUSE + "penetrations: [{through: south, storey: 1, kind: pipe, at: [[1, 1]]}]\n",
        6,
        "penetrations[0]",
        "`diameter` or `size`",
        "",
    ),
    (
        HOUSE + "penetrations: [{through: south, storey: 1, kind: pipe, diameter: 2, at: [[41, 1]]}]\n",
        6,
        "penetrations[0].at",
        "outside its face",
        "",
    ),
    (
        HOUSE + "penetrations: [{through: bottom, kind: pipe, diameter: 2, at: [[41, 1]]}]\n",
        6,
        "penetrations[0].at",
        "outside its face",
        "",
    ),
    (
        HOUSE + "penetrations: [{through: ceiling, kind: light, diameter: 6, at: [[4, 1]]}]\n",
        6,
        "penetrations[0].through",
        "no barrier at the ceiling",
        "",
    ),
    (
        HOUSE + "penetrations: [{through: roof east, kind: pipe, diameter: 2, at: [[4, 1]]}]\n",
        6,
        "penetrations[0].through",
        "no such roof plane",
        "",
    ),
    (
        HOUSE + "penetrations: [{through: roof south, kind: flue, diameter: 8, at: [[4, 1]]}]\n",
        6,
        "penetrations[0]",
        "needs the key `clearance`",
        "listing",
    ),
    (
        HOUSE + "penetrations: [{through: south, storey: 1, kind: pipe, diameter: 2, count: 1.5}]\n",
        6,
        "penetrations[0].count",
        "number",
        "",
    ),
    (
        HOUSE
        + "openings: [{side: south, storey: 1, kind: door, size: [3, 7], at: 4}]\npenetrations: [{through: south, storey: 1, kind: pipe, diameter: 2, at: [[5, 1]]}]\n",
        7,
        "penetrations[0]",
        "stands in the opening",
        "",
    ),
    (
        HOUSE + "eaves: [{kind: rafter tails, side: south, section: 2x6}]\n",
        6,
        "eaves[0]",
        "`spacing` or `count`",
        "",
    ),
    (
        HOUSE + "eaves: [{kind: rafter tails, side: south, section: 2x99, spacing: 24}]\n",
        6,
        "eaves[0].section",
        "nominal size",
        "",
    ),
    (
        HOUSE + "neighbours: [{kind: party wall, side: east}]\n",
        6,
        "neighbours[0]",
        "needs the key `rated`",
        "",
    ),
    (
        HOUSE + "later: [{kind: ledger, side: south, storey: 1, at: 30, width: 20, top: 0, depth: 1}]\n",
        6,
        "later[0].width",
        "past the end",
        "",
    ),
    (
        HOUSE + "sheathing: {wall: {nails: {overdriven: 120 %}}}\n",
        6,
        "sheathing.wall.nails.overdriven",
        "share",
        "",
    ),
    (
        HOUSE + "sheathing: {wall: {nails: {overdriven: 20}}}\n",
        6,
        "sheathing.wall.nails.overdriven",
        "share",
        "20 %",
    ),
    (
        HOUSE + "sheathing: {wall: {panel_width: 8, panel_length: 4}}\n",
        6,
        "sheathing.wall.panel_width",
        "wider than long",
        "swap",
    ),
    (HOUSE + "sheathing: {wall: {substrate: cardboard}}\n", 6, "sheathing.wall.substrate", "not known", ""),
    (HOUSE + "surfaces: {wal: clean}\n", 6, "surfaces.wal", "no such faces", "`wall`"),
    (HOUSE + "surfaces: {wall: [clean, damp]}\n", 6, "surfaces.wall", "clean surface", ""),
    (HOUSE + "surfaces: {main/up: damp}\n", 6, "surfaces.main/up", "no such faces", ""),
    (HOUSE + "site: {bare_days: -3}\n", 6, "site.bare_days", "out of range", ""),
    (HOUSE + "crew:\n", 6, "crew", "nothing stands", "remove the key"),
    (HOUSE + "crew: {practised: [glue]}\n", 6, "crew.practised[0]", "not known", ""),
    (HOUSE + "aim: {confidence: 100 %}\n", 6, "aim.confidence", "share", ""),
    (HOUSE + "aim: {weights: {air: 0, water: 0}}\n", 6, "aim.weights", "both weights", ""),
    (HOUSE + "aim: {budget: -1}\n", 6, "aim.budget", "out of range", ""),
    (HOUSE + "prices: {tape: cheap}\n", 6, "prices.tape", "number", "plain number"),
    (HOUSE + "products: [3]\n", 6, "products[0]", "table", ""),
    (HOUSE + "figures: {x: {unit: m}}\n", 6, "figures.x", "needs the key `value`", ""),
    (HOUSE + "other_leakage: {damper: 3 stone}\n", 6, "other_leakage.damper", "can't be read", ""),
    (
        HOUSE + "  - {name: main, size: [4, 4], at: [60, 0], storeys: [9], roof: flat}\n",
        6,
        "masses[1].name",
        "two masses",
        "",
    ),
    (
        HOUSE + "  - {name: core, size: [10, 10], at: [5, 5], storeys: [9], roof: flat}\n",
        6,
        "masses[1]",
        "wholly inside",
        "dormer",
    ),
    (
        HOUSE + "  - {name: twin, size: [40, 28], storeys: [9, 8], roof: flat}\n",
        5,
        "masses[0]",
        "wholly inside",
        "",
    ),
]


@pytest.mark.parametrize(("text", "line", "key", "message", "hint"), MISTAKES, ids=lambda v: None)
def test_one_mistake_is_one_problem_at_its_place(
    text: str, line: int, key: str, message: str, hint: str
) -> None:
    found = problems(text)
    first = next((p for p in found if (p.where.key or "") == key), None)
    assert first is not None, "\n".join(map(str, found))
    assert first.where.line == line
    assert message in first.message
    assert hint in first.hint
    knock_on = [p for p in found if p is not first and "needs the key `name`" not in p.message]
    assert not knock_on, "\n".join(map(str, found))


def test_all_mistakes_at_once_with_their_lines() -> None:
    text = """\
units: ft
name: Six
barrier: {top: roof deck, bottom: slab}
masses:
  - name: main
    size: [40, 28]
    storeys: [9 fet]
    roof: {form: gable, pitch: 95 deg, ridge: east-west}
  - {name: wing, at: [40, 0], size: [9, 9], storeys: [9], roof: flat}
openings:
  - {mass: wing, side: sout, kind: window, size: [3, 4], sill: 3, at: 1}
  - {mass: wing, side: south, kind: window, size: [3, 4], sill: 3, at: 8}
sit: {bare_days: 4}
crew: {people: 0}
"""
    assert [p.where.line for p in problems(text)] == [7, 8, 11, 12, 13, 14]


def test_bare_small_slope_is_degrees_in_metric_files() -> None:
    metric = HOUSE.replace("units: ft", "units: m").replace("[9, 8]", "[2.7, 2.4]")
    assert parse(metric.replace("6:12", "6")).masses[0].roof.pitch == 6.0
