"""Limits held against a folder of tests, as against each one by itself."""

import json

import pytest

from hullwright.app import fantest as app
from hullwright.cli.main import main
from hullwright.errors import FanTestError
from hullwright.readers.fantest_files import starter_bytes

LIMITS = ["0.6 ach50", "0.5 ach50", "0.4 ach50"]


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "a.yaml").write_bytes(starter_bytes("yaml"))
    (tmp_path / "b.xlsx").write_bytes(starter_bytes("xlsx"))
    (tmp_path / "c.csv").write_text("nonsense", encoding="utf-8")
    return tmp_path


def test_each_test_of_a_folder_gets_the_answer_it_gets_alone(folder):
    done = app.batch(folder, against=LIMITS)
    assert [name.rsplit("/", 1)[-1] for name, _ in done.against] == ["a.yaml", "b.xlsx"]
    for name, found in done.against:
        alone = app.analyse(name, against=LIMITS).against
        assert [one.answer for one in found] == [one.answer for one in alone]
        assert [one.margin for one in found] == [one.margin for one in alone]
    rows = done.to_json()["against"]
    assert len(rows) == 6
    assert {row["answer"] for row in rows} >= {"met", "not met"}
    assert json.dumps(rows, allow_nan=False)


def test_the_exit_code_is_1_unless_all_are_met(folder):
    (folder / "c.csv").unlink()
    assert app.batch(folder, against=["0.6 ach50"]).exit_code == 0
    assert app.batch(folder, against=["0.6 ach50", "0.4 ach50"]).exit_code == 1


def test_a_wrong_limit_is_told_once(folder):
    with pytest.raises(FanTestError, match="unknown limit"):
        app.batch(folder, against=["no-such-limit"])


def test_a_table_without_instruments_is_held_against_nothing(tmp_path):
    table = tmp_path / "many.csv"
    table.write_text("test,direction,pressure [Pa],flow [m3/h]\n", encoding="utf-8")
    with pytest.raises(FanTestError) as error:
        app.batch(table, against=["3 ach50"])
    assert "instruments" in str(error.value)


def test_the_command_prints_them(folder, capsys):
    (folder / "c.csv").unlink()
    assert main(["fantest", str(folder), "--against", "0.4 ach50"]) == 1
    said = capsys.readouterr().out
    assert "Against the limits" in said
    assert "not met" in said
