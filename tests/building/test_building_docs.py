"""The page on the building file is true: each snippet is read, each key is named."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from hullwright.building import parse
from hullwright.building.keys_work import FILE
from hullwright.building.spec import Either, ListOf, MapOf, Table

PAGE = (Path(__file__).parents[2] / "docs" / "building-file.md").read_text()
SNIPPETS = re.findall(r"```yaml\n(.*?)```", PAGE, flags=re.DOTALL)
BASE = {
    "units": "units: ft\n",
    "name": "name: T\n",
    "barrier": "barrier: {top: roof deck, bottom: slab}\n",
    "masses": "masses:\n  - {name: main, size: [40, 28], storeys: [9, 8], roof: {form: gable, pitch: 6:12, ridge: east-west}}\n",
}


def test_there_are_snippets() -> None:
    assert len(SNIPPETS) >= 12


@pytest.mark.parametrize("snippet", SNIPPETS, ids=lambda s: s.split(":")[0])
def test_snippet_is_read(snippet: str) -> None:
    stated = yaml.load(snippet, Loader=yaml.BaseLoader)
    parse("".join(text for key, text in BASE.items() if key not in stated) + snippet)


def tables(kind: Any) -> Iterator[Table]:
    """Every table of the specification."""
    if isinstance(kind, Table):
        yield kind
        for key in kind.keys.values():
            yield from tables(key.kind)
    elif isinstance(kind, (ListOf, MapOf)):
        yield from tables(kind.member)
    elif isinstance(kind, Either):
        for inner in (kind.scalar, kind.list, kind.table):
            yield from tables(inner)


KEYS = sorted({key for table in tables(FILE) for key in table.keys})


def test_every_key_is_on_the_page() -> None:
    assert len(KEYS) > 90
    missing = [key for key in KEYS if not re.search(rf"`{key}`|\b{key}:", PAGE)]
    assert missing == []
