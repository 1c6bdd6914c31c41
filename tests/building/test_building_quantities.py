"""Every number of the building file is one of the table of quantities: the impossible is refused, the odd is asked."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from hullwright.app.house import load
from hullwright.building import parse
from hullwright.building.beside import FileName
from hullwright.building.defaults import Default
from hullwright.building.figure_numbers import figure_quantity
from hullwright.building.keys_work import FILE, schema
from hullwright.building.kinds import Text, Word, YesNo
from hullwright.building.loose import Loose
from hullwright.building.marks import MarkText
from hullwright.building.nodes import Node
from hullwright.building.spec import Either, Key, ListOf, MapOf, Notes, Table, quantities_in
from hullwright.catalog.loading import starting_figures
from hullwright.errors import HullwrightError
from hullwright.joints.figures import DEFAULTS
from hullwright.quantities import Verdict, names, verdict
from hullwright.readers import findings

HEAD = "units: {unit}\nname: T\nbarrier: {{top: roof deck, bottom: slab}}\n"
METRIC = HEAD.format(unit="m") + (
    "masses:\n  - {name: main, size: [12, 8], storeys: [2.7, 2.4], roof: {form: gable, pitch: 30 deg, ridge: east-west}}\n"
)
US = HEAD.format(unit="ft") + (
    "masses:\n  - {name: main, size: [40, 28], storeys: [9, 8], roof: {form: gable, pitch: 6:12, ridge: east-west}}\n"
)
PIPE = "penetrations:\n  - {through: south, storey: 1, kind: pipe, diameter: %s, at: [[2, 1]]%s}\n"


def problems(text: str) -> tuple[Any, ...]:
    with pytest.raises(HullwrightError) as caught:
        load(parse(text, "t.yaml")).inner_volume  # noqa: B018  the hull is held against it
    assert isinstance(caught.value, HullwrightError)
    return caught.value.problems


def keys(table: Table, path: str = "") -> Iterator[tuple[str, Key]]:
    for name, key in table.keys.items():
        yield f"{path}.{name}", key
        yield from tables(key.kind, f"{path}.{name}")


def tables(kind: Any, path: str) -> Iterator[tuple[str, Key]]:
    if isinstance(kind, Table):
        yield from keys(kind, path)
    elif isinstance(kind, (ListOf, MapOf)):
        yield from tables(kind.member, path)
    elif isinstance(kind, Either):
        for one in (kind.scalar, kind.list, kind.table):
            if one is not None:
                yield from tables(one, path)


def leaves(kind: Any) -> Iterator[Any]:
    if isinstance(kind, (ListOf, MapOf)):
        yield from leaves(kind.member)
    elif isinstance(kind, Either):
        for one in (kind.scalar, kind.list, kind.table):
            if one is not None:
                yield from leaves(one)
    elif not isinstance(kind, Table):
        yield kind


@pytest.mark.parametrize("table", [FILE, findings.FILE], ids=["building file", "findings"])
def test_every_numeric_key_names_its_quantity(table: Table) -> None:
    # A kind that is none of these words reads a number: it must say which. A new kind of text is added here on purpose.
    texts = (Text, Word, YesNo, FileName, Loose, MarkText)
    found = [(path, leaf) for path, key in keys(table) for leaf in leaves(key.kind)]
    numeric = [(path, leaf) for path, leaf in found if not isinstance(leaf, texts)]
    assert len(numeric) >= (3 if table is findings.FILE else 60)  # the walk found them
    for path, leaf in numeric:
        assert quantities_in(leaf), path
        assert set(quantities_in(leaf)) <= set(names()), path


def test_every_figure_names_its_quantity_and_is_usual() -> None:
    known = starting_figures() | dict(DEFAULTS)
    unnamed = [name for name in known if figure_quantity(name) is None]
    assert unnamed == []
    odd = {
        n: f.value
        for n, f in known.items()
        if verdict(figure_quantity(n) or "", f.value) is not Verdict.USUAL
    }
    assert odd == {}


def test_every_default_is_usual() -> None:
    for system, bare in (("us", "ft"), ("metric", "m")):
        for path, key in keys(FILE):
            if isinstance(key.default, Default):
                notes = Notes("t.yaml", bare, system)  # type: ignore[arg-type]
                key.kind.read(Node("scalar", 1, 1, key.default.text), notes, path)
                assert notes.problems == [], path


# What was seen: a text, the key, a word of the message, what the hint must name. Lengths by hand.
SEEN = [
    (METRIC + PIPE % ("0.11 mm", ""), "penetrations[0].diameter", "out of range", "0.11 m?"),
    (METRIC + "build_up: {wall: 0.2 mm}\n", "build_up.wall", "out of range", "0.2 m?"),
    (METRIC + "sheathing: {wall: {gap: 3 µm}}\n", "sheathing.wall.gap", "out of range", "3 mm?"),
    (US.replace("[9, 8]", "[109, 8]"), "masses[0].storeys[0]", "is this right?", "109 in (9'-1\")?"),
    (METRIC + "build_up: {inner_volume: 1000 m3}\n", "build_up.inner_volume", "larger than the hull", "unit"),
    (METRIC + "build_up: {floor_area: 2000 m2}\n", "build_up.floor_area", "can't hold", "unit"),
    # and their kin
    (US + "build_up: {inner_volume: 300 m3}\nsite: {bare_days: 400}\n", "site.bare_days", "is this right?", "sure"),
    (METRIC.replace("[2.7, 2.4]", "[9, 8]"), "masses[0].storeys[0]", "is this right?", "9 ft?"),
    (METRIC.replace("[2.7, 2.4]", "[2700 m, 2.4]"), "masses[0].storeys[0]", "out of range", "2700 mm"),
    (US + "sheathing: {wall: {nails: {edge: 150}}}\n", "sheathing.wall.nails.edge", "out of range", "150 mm"),
    (US + "site: {monthly_rain: 90}\n", "site.monthly_rain", "is this right?", "90 mm"),
    (METRIC + "prices: {my-tape: 1e308}\n", "prices.my-tape", "out of range", ""),
    (METRIC + "figures: {flaws.tape: 1e308}\n", "figures.flaws.tape", "out of range", ""),
    (METRIC + "other_leakage: {damper: 1e308 m3/h}\n", "other_leakage.damper", "out of range", ""),
    (METRIC + "aim: {target: 50}\n", "aim.target", "is this right?", "sure: [target]"),
    (METRIC + "crew: {set_up: {tape: {hours: 40}}}\n", "crew.set_up.tape.hours", "is this right?", "sure: [hours]"),
    (METRIC + "crew: {people: 1, day: 4, set_up: {tape: {hours: 6}}}\n", "crew.set_up.tape.hours", "more than a day", "sure"),
    (US + "sheathing: {wall: {stagger: 12}}\n", "sheathing.wall.stagger", "larger than a panel", "sure: [stagger]"),
    (US + "sheathing: {wall: {nails: {edge: 12, field: 6}}}\n", "sheathing.wall.nails.edge", "wider along", "swap"),
    (US + "eaves:\n  - {kind: rafter tails, side: south, section: [24, 5.5], spacing: 16}\n", "eaves[0].spacing", "closer", "width"),
    (US + "openings:\n  - {kind: door, side: south, storey: 1, size: [7, 3], at: 4}\n", "openings[0].size", "lower than a person", "[width, height]"),
    (US + "later:\n  - {kind: ledger, side: south, storey: 1, at: 2, width: 1, top: 9, depth: 8}\n", "later[0].depth", "higher than", "along"),
    (METRIC.replace("bottom: slab", "bottom: {kind: crawl space, level: -4}"), "barrier.bottom.level", "far below", "unit"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "key", "word", "hint"), SEEN)
def test_what_can_not_be_meant_is_refused_or_asked(text: str, key: str, word: str, hint: str) -> None:
    found = problems(text)
    assert [one.where.key for one in found] == [key], "\n".join(map(str, found))
    assert word in found[0].message
    assert hint in found[0].hint
    assert found[0].got
    assert found[0].allowed
    assert found[0].where.line


SURE = [
    US.replace("[9, 8]", "[109, 8], sure: [storeys]"),
    METRIC + PIPE % ("3 mm", ", sure: [diameter]"),
    METRIC + "aim: {target: 50, sure: [target]}\n",
    METRIC + "prices: {silyl-flashing-20: 0.01}\nsure: [prices]\n",
    METRIC + "prices: {silyl-flashing-20: 0.01}\nsure: [prices.silyl-flashing-20]\n",
    METRIC + "build_up: {inner_volume: 60 m3, sure: [inner_volume]}\n",
    METRIC + "crew: {people: 1, day: 4, set_up: {tape: {hours: 6, sure: [hours]}}}\n",
    US + "sheathing: {wall: {stagger: 12, sure: [stagger]}}\n",
]


@pytest.mark.parametrize("text", SURE)
def test_sure_answers_in_the_file(text: str) -> None:
    house = load(parse(text, "t.yaml"))
    assert house.inner_volume.value > 0
    assert house.building.remarks == ()


def test_sure_makes_nothing_possible() -> None:
    assert problems(METRIC + PIPE % ("0.11 mm", ", sure: [diameter]"))[0].message.startswith(
        "this is out of range"
    )
    assert problems(METRIC + "build_up: {inner_volume: 1000 m3, sure: [inner_volume]}\n")


@pytest.mark.parametrize("stated", ["[height]", "[roof]", "storeys", "[[storeys]]", "[at]"])
def test_sure_of_what_is_not_there_is_refused(stated: str) -> None:
    found = problems(US.replace("storeys:", f"sure: {stated}, storeys:"))
    assert [one.where.key for one in found] == ["masses[0].sure"]


def test_a_sure_that_answers_nothing_is_said() -> None:
    building = parse(US.replace("storeys:", "sure: [storeys], storeys:"), "t.yaml")
    assert [remark for remark in building.remarks if "storeys" in remark and "t.yaml:5" in remark]


def test_one_value_is_asked_once_and_not_before_it_is_right() -> None:
    found = problems(
        US + "openings:\n  - {kind: window, side: south, storey: 1, size: [43, 4], sill: 3, at: 1}\n"
    )
    assert [one.message for one in found] == ["this window on main, south, is wider than its side"]
    # Without units nothing is known of the size of a bare number.
    assert [one.where.key for one in problems(US.replace("ft", "furlong", 1))] == ["units"]


def test_decimal_commas_and_curly_quotes() -> None:
    curly = US.replace("[9, 8]", "[9’-1 1/8”, 8′]")
    assert parse(curly).masses[0].storeys[0].height == pytest.approx(2.771775, abs=1e-12)
    assert parse(curly.replace("9’-1 1/8”", "9’ 1⅛″")).masses[0].storeys[0].height == pytest.approx(
        2.771775, abs=1e-12
    )
    for text, key, write in (
        (METRIC + 'build_up: {wall: "0,2 m"}\n', "build_up.wall", "write 0.2"),
        (METRIC + 'crew: {rate: "62,5"}\n', "crew.rate", "write 62.5"),
        (METRIC + 'aim: {budget: "12,500"}\n', "aim.budget", "write 12500"),
        (METRIC + 'other_leakage: {damper: "3,5 m3/h"}\n', "other_leakage.damper", "write 3.5"),
        (METRIC.replace("[12, 8]", "[12,5 m, 8]"), "masses[0].size", "decimal"),
    ):
        (found,) = problems(text)
        assert found.where.key == key
        assert write in found.hint


def test_the_schema_takes_sure_where_numbers_are() -> None:
    check = Draft202012Validator(schema())
    sure = {"units": "ft", "name": "T", "masses": [{"name": "main", "size": [40, 28], "storeys": ["109 ft"], "roof": "flat", "sure": ["storeys"]}]}  # fmt: skip
    assert check.is_valid(sure)
    assert not check.is_valid(sure | {"barrier": {"sure": ["top"]}})  # no number stands there
    assert "sure" in json.dumps(schema()["properties"]["build_up"])


EXTREMES = (
    "1e308",
    "-1e308",
    "1e-308",
    "5e-324",
    "0",
    "-1",
    "nan",
    "inf",
    "-inf",
    ".inf",
    ".nan",
    "1e999",
    "9" * 400,
    "١٢",
    "1_0",
    "",
)
NUMERIC = sorted(path for path, key in keys(FILE) if quantities_in(key.kind))


@settings(max_examples=300, deadline=None)
@given(
    st.sampled_from(NUMERIC),
    st.sampled_from(EXTREMES),
    st.sampled_from(["", " m", " ft", " mm", " mil", " %", " m3"]),
)
def test_extremes_are_answered_and_never_a_traceback(path: str, number: str, unit: str) -> None:
    parts = path.lstrip(".").split(".")
    value: Any = f"{number}{unit}"
    for name in reversed(parts[1:]):
        value = {name: value}
    listed = {"masses", "neighbours", "eaves", "openings", "penetrations", "later"}
    tree: dict[str, Any] = {
        "units": "m", "name": "T", "barrier": {"top": "roof deck", "bottom": "slab"},
        "masses": [{"name": "main", "size": [12, 8], "storeys": [2.7], "roof": "flat"}],
    }  # fmt: skip
    if parts[0] == "masses":
        tree["masses"][0] |= value
    else:
        tree[parts[0]] = [value] if parts[0] in listed else value
    try:
        load(parse(json.dumps(tree, ensure_ascii=False), "t.yaml")).inner_volume  # noqa: B018
    except HullwrightError as error:
        told = str(error)
        if not told.strip():
            pytest.fail("an error without words")
