"""Whatever a file holds: a building, or an error of our own."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from hullwright.building import Building, parse, starter
from hullwright.building.keys_work import FILE
from hullwright.building.nodes import decode
from hullwright.building.spec import Either, ListOf, Table
from hullwright.errors import HullwrightError

EXAMPLE = (Path(__file__).parents[2] / "examples" / "saltgrass-house.yaml").read_text()
LINES = EXAMPLE.splitlines()
QUIET = settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def must_answer(text: str) -> None:
    """A building, or an error with problems."""
    found: Building | HullwrightError
    try:
        found = parse(text)
    except HullwrightError as error:
        found = error
    assert isinstance(found, Building) or (found.problems and str(found))


@QUIET
@given(st.text(max_size=300))
def test_any_text(text: str) -> None:
    must_answer(text)


@QUIET
@given(st.binary(max_size=300))
def test_any_bytes(raw: bytes) -> None:
    try:
        text = decode(raw, "t")
    except HullwrightError:
        return
    must_answer(text)


@QUIET
@given(
    st.integers(0, len(EXAMPLE)), st.integers(0, 40), st.text(alphabet="[]{}:,-&*!#'\"\\ \n0x.9°", max_size=6)
)
def test_an_example_with_a_piece_replaced(at: int, length: int, insert: str) -> None:
    must_answer(EXAMPLE[:at] + insert + EXAMPLE[at + length :])


@QUIET
@given(st.lists(st.integers(0, len(LINES) - 1), max_size=6))
def test_an_example_with_lines_dropped(drop: list[int]) -> None:
    must_answer("\n".join(line for i, line in enumerate(LINES) if i not in drop))


WORDS = st.sampled_from(
    [
        "south",
        "roof south",
        "6:12",
        "30 deg",
        "3",
        "-1",
        "0",
        "1e300",
        "9 ft",
        "slab",
        "flat",
        "yes",
        "main",
        "pipe",
        "2x6",
        "5 %",
        "",
        "none",
        "nan",
    ]
)


def values(kind: Any, depth: int = 0) -> st.SearchStrategy[Any]:
    """Values of the right shape or nearly so, from the specification itself."""
    if isinstance(kind, Table) and depth < 5:
        return st.fixed_dictionaries(
            {}, optional={k: values(v.kind, depth + 1) for k, v in kind.keys.items()}
        )
    if isinstance(kind, ListOf) and depth < 5:
        return st.lists(values(kind.member, depth + 1), max_size=3)
    if isinstance(kind, Either):
        return st.one_of([values(k, depth) for k in (kind.scalar, kind.list, kind.table) if k is not None])
    return WORDS


@settings(max_examples=80, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data())
def test_files_of_the_right_shape_with_wild_values(data: st.DataObject) -> None:
    base = yaml.load(starter("us"), Loader=yaml.BaseLoader)
    for key in data.draw(st.lists(st.sampled_from(sorted(FILE.keys)), max_size=4, unique=True)):
        base[key] = data.draw(values(FILE.keys[key].kind))
    must_answer(yaml.dump(base))
