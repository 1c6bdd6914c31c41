"""Where a search fails a check, the command answers all the same, says so in its JSON, and the figures are kept."""

from __future__ import annotations

import json
import os

import jsonschema
import pytest

from hullwright.app import schemas
from hullwright.app.cases import FOLDER, LARGEST, MOST, Cases
from hullwright.app.files import demo_file
from hullwright.app.house import House, load
from hullwright.app.weigh import archive, notes_of, question_of
from hullwright.choice.instance import Goal, Limits
from hullwright.choice.solver import Case, case_of, solve, solving
from hullwright.choice.solver.effort import QUICK
from hullwright.choice.solver.trial import trial
from hullwright.cli.main import main

STUDIO = str(demo_file().with_name("kiln-studio.yaml"))


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.delenv("HULLWRIGHT_DATA", raising=False)
    for name in ("XDG_DATA_HOME", "LOCALAPPDATA", "HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def broken(monkeypatch):
    def fails(*args, **more):
        raise AssertionError

    monkeypatch.setattr(solving, "solve_own", fails)


def case(seed=0, runs=3):
    one = trial(runs, seed)
    return Case("own engine: AssertionError", one.instance, one.limits, one.goal, QUICK)


@pytest.mark.parametrize("name", ["plan", "order", "curve"])
def test_command_answers_and_says_in_its_json_how(capsys, home, broken, name):
    more = ["--no-files"] if name == "plan" else []
    assert main([name, STUDIO, "--json", *more]) == 0
    said = capsys.readouterr()
    answer = json.loads(said.out)
    jsonschema.Draft202012Validator(schemas.schema(name)).validate(answer)
    assert answer["notes"]
    assert all(note.startswith("solved by the general solver") for note in answer["notes"])
    assert said.err == ""
    written = sorted(home.rglob("case-*.json"))
    assert len(written) == len(answer["notes"])
    for path in written:
        assert path.parent.name == FOLDER
        assert any(f"{FOLDER}/{path.name}" in note for note in answer["notes"])


def test_people_are_told_the_plan_and_nothing_of_solvers(capsys, home, broken):
    assert main(["plan", STUDIO, "--no-files"]) == 0
    said = capsys.readouterr()
    assert "solver" not in said.out + said.err


def test_no_note_where_all_is_well(capsys, home):
    assert main(["plan", STUDIO, "--json", "--no-files", "--quick"]) == 0
    assert json.loads(capsys.readouterr().out)["notes"] == []
    assert not home.exists()


def test_curve_of_the_service_says_it_too(home, broken):
    question = question_of(load(demo_file().with_name("kiln-studio.yaml")))
    points, _ = archive(question, 2)
    assert len(points) == 2
    assert notes_of(question)


def test_a_kept_case_holds_figures_only_and_can_be_asked_again(capsys, home, broken, monkeypatch):
    assert main(["plan", STUDIO, "--json", "--no-files", "--quick"]) == 0
    answer = json.loads(capsys.readouterr().out)
    # of the two questions of a plan (the best for the money, then the cheapest as good) the one whose value the plan tells
    paths = sorted(home.rglob("case-*.json"))
    path = next(one for one in paths if not case_of(json.loads(one.read_text("utf-8"))).goal.money)
    told = json.loads(path.read_text("utf-8"))
    words = path.read_text("utf-8").lower()
    house: House = load(demo_file().with_name("kiln-studio.yaml"))
    names = {
        house.building.name,
        *(m.id for m in house.building.masses),
        *(o.id for o in house.building.openings),
    }
    names |= {run["id"] for run in answer["runs"]} | {run["product"] for run in answer["runs"]} - {""}
    assert len(names) > 20
    for name in names:
        assert f'"{name.lower()}' not in words, name
    monkeypatch.undo()
    found = case_of(told)
    again = solve(found.instance, found.limits, found.goal, effort=found.effort)
    assert again.value == pytest.approx(answer["objective"], rel=1e-3)


def test_the_newest_cases_are_kept_and_no_more(tmp_path):
    folder = tmp_path / FOLDER
    keep = Cases(folder)
    for seed in range(MOST + 5):
        keep(case(seed))
        for path in folder.iterdir():  # what was there is older than what comes, whatever the clock's step
            os.utime(path, ns=(path.stat().st_atime_ns, path.stat().st_mtime_ns - 10**9))
    assert len(list(folder.iterdir())) == MOST
    assert all(name in {p.name for p in folder.iterdir()} for name in [keep._kept[-1], keep._kept[5]])
    assert not any((folder / name).exists() for name in keep._kept[:5])
    keep(case(MOST + 4))
    assert len(list(folder.iterdir())) == MOST, "the same question takes no more room"
    assert len(set(keep._kept)) == MOST + 5


def test_a_case_that_is_too_large_or_can_not_be_written_stops_nothing(tmp_path):
    large = Cases(tmp_path / "a")
    for runs in (6000, 60_000):
        large(case(runs=runs))
    assert len(json.dumps(case(runs=6000).to_json())) > LARGEST
    assert not (tmp_path / "a").exists()
    (tmp_path / "b").write_text("a file, no folder", encoding="utf-8")
    barred = Cases(tmp_path / "b")
    barred(case())
    odd = Cases(tmp_path / "c")
    odd(Case("why", trial(3, 0).instance, Limits(), Goal(float("nan"), 0.0), QUICK))
    for keep in (large, barred, odd):
        (note,) = keep.notes
        assert "could not be kept" in note


def test_command_answers_where_nothing_can_be_kept(capsys, tmp_path, broken, monkeypatch):
    (tmp_path / "file").write_text("", encoding="utf-8")
    monkeypatch.setenv("HULLWRIGHT_DATA", str(tmp_path / "file"))
    assert main(["plan", STUDIO, "--json", "--no-files", "--quick"]) == 0
    assert "could not be kept" in json.loads(capsys.readouterr().out)["notes"][0]
