"""What the starter file offers in comments works too: a comment that lies is worse than none."""

from __future__ import annotations

import re

import pytest

from hullwright.building import parse, starter

SYSTEMS = ["us", "metric"]


def offered(text: str, key: str) -> list[str]:
    """Commented alternatives of a key."""
    return re.findall(rf"^ *# ({key}: .*)$", text, flags=re.MULTILINE)


def block(text: str, start: str) -> str:
    """A commented block, from its first line to the last commented line after it."""
    lines = text.splitlines()
    first = next(i for i, line in enumerate(lines) if line.strip().startswith(f"# {start}"))
    indent = lines[first].index("#")
    out: list[str] = []
    for line in lines[first:]:
        if not line.startswith(" " * indent + "# "):
            break
        out.append(" " * indent + line[indent + 2 :])
    return "\n".join(out)


@pytest.mark.parametrize("system", SYSTEMS)
def test_each_bottom(system: str) -> None:
    text = starter(system)
    bottoms = offered(text, "bottom")
    assert len(bottoms) == 2
    kinds = {
        parse(re.sub(r"^  bottom: .*$", f"  {b}", text, count=1, flags=re.MULTILINE)).masses[0].bottom.kind
        for b in bottoms
    }
    assert kinds == {"crawl space", "basement"}


@pytest.mark.parametrize("system", SYSTEMS)
def test_each_roof(system: str) -> None:
    text = starter(system)
    roofs = offered(text, "roof")
    assert len(roofs) == 3
    plane = {"hip": "roof north", "shed": "roof south", "flat": "roof"}
    for roof in roofs:
        changed = re.sub(r"^    roof: .*$", f"    {roof}", text, count=1, flags=re.MULTILINE)
        form = re.search(r"form: (\w+)", roof)
        assert form is not None
        changed = changed.replace("through: roof north", f"through: {plane[form[1]]}")
        assert parse(changed).masses[0].roof.form == form[1]


@pytest.mark.parametrize("system", SYSTEMS)
def test_garage_eaves_flue_and_ledger(system: str) -> None:
    text = starter(system)
    text = text.replace("\n# Framing that runs", block(text, "- name: garage") + "\n\n# Framing that runs", 1)
    text = text.replace("eaves: none\n", block(text, "eaves:") + "\n", 1)
    mark = "\n# What is fixed over"
    text = text.replace(mark, f"{block(text, '- {name: stove flue')}\n{block(text, 'later:')}\n{mark}", 1)
    house = parse(text)
    assert [mass.inside for mass in house.masses] == [False, True]
    assert len(house.through) == 2
    assert house.fixed_over[0].kind == "ledger"
    assert any(row.kind == "flue" for row in house.penetrations)
