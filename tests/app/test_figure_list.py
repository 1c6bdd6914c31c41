"""Every figure that a file may state can be listed, and a name that is none of them is never ignored."""

from __future__ import annotations

import json

import pytest

from hullwright.app.figure_list import figures
from hullwright.app.house import load
from hullwright.building import parse
from hullwright.catalog import load as load_catalog
from hullwright.cli.main import main
from hullwright.errors import CatalogError, InputError
from hullwright.joints.figures import DEFAULTS

SHED = """units: m
name: Shed
barrier: {{top: roof deck, bottom: slab}}
masses: [{{name: main, size: [10, 8], storeys: [2.7], roof: flat}}]
figures: {{{figures}}}
"""


def written(figures):
    return SHED.format(figures=figures)


def test_the_list_has_every_name_that_is_read():
    listed = {one.name: one for one in figures().figures}
    assert set(listed) >= {
        *load_catalog().figures,
        *DEFAULTS,
        "site.low_temperature",
        "site.high_temperature",
    }
    assert not any(one.stated for one in listed.values())
    for one in listed.values():
        assert one.figure is None or one.figure.evidence.mark.value


@pytest.mark.parametrize("name", ["ring_gapp", "nonsense", "flaws.tpe", "leak.windows"])
def test_an_unknown_name_is_refused_with_its_place(name):
    house = parse(written(f"{name}: 0.001"))
    with pytest.raises((InputError, CatalogError), match=r"no figure|can't be used") as caught:
        assert load(house).assumed
    assert any(f"figures.{name}" in str(problem.where.key) for problem in caught.value.problems)


@pytest.mark.parametrize("name", sorted(DEFAULTS))
def test_every_listed_name_of_the_joints_is_taken(name):
    value = DEFAULTS[name].value
    house = load(parse(written(f"{name}: {{value: {value}, unit: m, source: own}}")))
    (row,) = [one for one in figures(house).figures if one.name == name]
    assert row.stated


def test_check_and_figures_on_the_command_line(tmp_path, capsys):
    file = tmp_path / "shed.yaml"
    file.write_text(written("flaws.tape: 0.02"))
    assert main(["figures", str(file), "--like", "flaws.tape", "--json"]) == 0
    (row,) = json.loads(capsys.readouterr().out)["figures"]
    assert (row["value"], row["unit"], row["stated"], row["mark"]) == (0.02, "1/m", True, "stated by user")
    file.write_text(written("ring_gapp: 0.01"))
    assert main(["check", str(file)]) == 2
    assert "did you mean ring_gap?" in capsys.readouterr().err
