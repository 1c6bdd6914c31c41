"""The JSON Schema comes from the keys that the reader uses, and takes what the reader takes."""

from __future__ import annotations

import importlib.util
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from hullwright import catalog
from hullwright.building import parse, schema, starter
from hullwright.building.keys_work import METHODS, SUBSTRATES

EXAMPLES = Path(__file__).parents[2] / "examples"
DATA = Path(__file__).parent / "data"
FILES = [*sorted(EXAMPLES.glob("*.yaml")), *sorted(DATA.glob("*.yaml"))]


def faults(text: str) -> list[str]:
    """What a schema validator says of a file, as an editor would load it."""
    data = yaml.safe_load(text)
    return [error.message for error in Draft202012Validator(schema()).iter_errors(data)]


def test_schema_is_sound() -> None:
    Draft202012Validator.check_schema(schema())


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_schema_takes_the_examples(path: Path) -> None:
    assert faults(path.read_text()) == []


@pytest.mark.parametrize("system", ["us", "metric"])
def test_schema_takes_the_starters(system: str) -> None:
    assert faults(starter(system)) == []


@pytest.mark.parametrize(
    "change",
    [
        ("units: ft", "units: furlong"),
        ("name: My house", "nmae: My house"),
        ("kind: window", "kind: porthole"),
        ("form: gable", "form: onion"),
        ("size: [36, 26]", "size: [36]"),
        ("bare_days: 30", "bare_days: -30"),
        ("barrier:\n", "barrier: 7\nbarrier2:\n"),
    ],
)
def test_schema_refuses_what_the_reader_refuses(change: tuple[str, str]) -> None:
    text = starter("us")
    assert change[0] in text
    assert faults(text.replace(*change))


def walk(node: Any) -> list[dict[str, Any]]:
    """Every object schema."""
    if isinstance(node, list):
        return [found for item in node for found in walk(item)]
    if not isinstance(node, dict):
        return []
    own = [node] if node.get("type") == "object" and "properties" in node else []
    return own + [found for item in node.values() for found in walk(item)]


def test_every_key_is_described_and_closed() -> None:
    tables = walk(schema())
    assert len(tables) > 20
    for table in tables:
        assert table["additionalProperties"] is False
        assert all(entry["description"] for entry in table["properties"].values())


def test_defaults_stand_in_the_schema_with_their_mark() -> None:
    rain = schema()["properties"]["site"]["properties"]["monthly_rain"]["description"]
    assert "Default: 90 mm (estimate)" in rain


def test_words_are_those_of_the_catalogue() -> None:
    data = Path(catalog.__file__).parent / "data" if catalog.__file__ else Path()
    methods, substrates = data / "methods.toml", data / "substrates.toml"
    assert set(METHODS) == set(tomllib.loads(methods.read_text()))
    assert set(SUBSTRATES) <= set(tomllib.loads(substrates.read_text()))


def load_block() -> Any:
    """The generator of rows of units."""
    spec = importlib.util.spec_from_file_location("blocks", Path(__file__).parent / "blocks.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.block


def calls_of(work) -> int:
    """Counted work, the same on every machine: Python and C calls."""
    count = 0

    def seen(_frame, event, _arg) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(seen)
    try:
        work()
    finally:
        sys.setprofile(before)
    return count


def test_reading_grows_in_step_with_the_house() -> None:
    block = load_block()
    work: dict[int, int] = {}
    for units in (20, 200):
        text = block(units)
        house = parse(text)
        assert len(house.masses) == units
        assert len(house.openings) == 6 * units
        work[units] = calls_of(lambda text=text: parse(text))
    # Source: ten times the house is ten times the work when linear, a hundred times when quadratic.
    # Tolerance: half as much again for what grows with the logarithm
    assert work[200] / work[20] < 15
