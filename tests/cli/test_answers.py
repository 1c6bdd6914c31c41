"""Every command's real output keeps to its schema; exit codes; errors as JSON and as words."""

import json
from pathlib import Path

import jsonschema
import pytest

from hullwright.app import schemas
from hullwright.cli.main import main
from hullwright.cli.parser import COMMANDS as ALL
from hullwright.cli.parser import build

EXAMPLES = Path(__file__).parents[2] / "examples"
STUDIO = str(EXAMPLES / "kiln-studio.yaml")


def ask(capsys, *words):
    code = main([*words, "--json"])
    said = capsys.readouterr()
    return code, json.loads(said.out), said


def keeps_to(answer, name):
    jsonschema.Draft202012Validator(schemas.schema(name)).validate(answer)


@pytest.fixture(scope="module")
def readings(tmp_path_factory):
    path = tmp_path_factory.mktemp("test") / "readings.yaml"
    assert main(["fantest", "--new", str(path)]) == 0
    return str(path)


COMMANDS = {
    "check": ["check", STUDIO],
    "joints": ["joints", STUDIO],
    "marks": ["marks", STUDIO],
    "plan": ["plan", STUDIO, "--no-files", "--quick"],
    "order": ["order", STUDIO, "--quick"],
    "curve": ["curve", STUDIO],
    "film": ["film", "--width", "4 in", "--dry", "12 mil", "--solids", "0.6", "--pack", "20 fl oz", "--length", "100 ft"],
    "new": ["new"],
    "schema": ["schema"],
    "leaks": ["leaks", STUDIO],
}  # fmt: skip


@pytest.mark.parametrize("name", COMMANDS)
def test_answer_keeps_to_its_schema(capsys, name):
    code, answer, said = ask(capsys, *COMMANDS[name])
    assert code == 0, said.err
    keeps_to(answer, name)


def test_fan_test_and_what_follows_keep_to_their_schemas(capsys, readings):
    code, answer, _ = ask(capsys, "fantest", readings, "--against", "3 ach50")
    assert code == 0
    keeps_to(answer, "fantest")
    for name in ("leaks", "hunt"):
        code, answer, _ = ask(capsys, name, STUDIO, "--test", readings)
        assert code == 0
        keeps_to(answer, name)


def test_every_command_takes_json():
    for name, *_ in ALL:
        words = NEEDS.get(name, ["x"] if name in NEEDS_A_FILE else [])
        assert build().parse_args([name, *words, "--json"]).json


NEEDS_A_FILE = {
    "check", "joints", "marks", "plan", "order", "curve", "leaks", "hunt", "worth",
    "issue", "revisions", "tape", "states", "holes", "use", "rates", "experience", "backup", "restore",
}  # fmt: skip
NEEDS = {
    "price-list": ["x", "l"],
    "ready": ["x", "f"],
    "ok-to-cover": ["x", "f", "--signed", "a"],
    "ticket": ["x", "7", "--product", "p", "--detail", "d"],
    "readings": ["--mean", "1 mm", "--sd", "1 mm", "--least", "1 mm", "--step", "1 mm"],
}


@pytest.mark.parametrize("name", [*schemas.names()])
def test_each_schema_is_a_schema(name):
    jsonschema.Draft202012Validator.check_schema(schemas.schema(name))


def test_a_limit_that_is_not_met_is_exit_1(capsys, readings):
    code, answer, _ = ask(capsys, "fantest", readings, "--against", "0.1 ach50")
    assert code == 1
    assert answer["against"][0]["answer"] == "not met"


def test_a_budget_below_the_cheapest_plan_is_exit_1_and_says_by_how_much(capsys):
    code, answer, _ = ask(capsys, "plan", STUDIO, "--no-files", "--quick", "--budget", "5")
    assert code == 1
    keeps_to(answer, "error")
    assert answer["error"]["kind"] == "infeasible"
    assert any("too much" in problem["message"] for problem in answer["error"]["problems"])


BAD = {
    "no command of that name": ["nosuch"],
    "no file": ["check", "no-such-file.yaml"],
    "not a number": ["plan", STUDIO, "--budget", "much", "--no-files"],
    "budget below zero": ["plan", STUDIO, "--budget=-5", "--no-files"],
    "confidence above one": ["plan", STUDIO, "--confidence", "1.5", "--no-files"],
    "film without solids": ["film", "--width", "4 in"],
    "no such schema": ["schema", "nosuch"],
    "no such unit": ["film", "--width", "4 zz", "--dry", "12 mil", "--solids", "0.6", "--pack", "20 fl oz"],
    "hunt without a test": ["hunt", STUDIO],
    "no test": ["fantest", "no-such-test.yaml"],
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_wrong_input_is_exit_2_with_an_error_object_and_nothing_else(capsys, name):
    code, answer, said = ask(capsys, *BAD[name])
    assert code == 2
    keeps_to(answer, "error")
    assert answer["error"]["problems"]
    assert "Traceback" not in said.err


@pytest.mark.parametrize("name", BAD)
def test_wrong_input_is_told_in_words(capsys, name):
    assert main(BAD[name]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("hullwright: ")


def test_tables_print_for_people(capsys):
    for words in (["check", STUDIO], ["joints", STUDIO], ["curve", STUDIO], ["order", STUDIO, "--quick"]):
        assert main(words) == 0
    said = capsys.readouterr()
    assert "CLOSED" in said.out


def test_plan_writes_its_folder_and_a_second_run_replaces_only_its_own(capsys, tmp_path):
    folder = tmp_path / "plan"
    words = ["plan", STUDIO, "--quick", "--out", str(folder)]
    assert main(words) == 0
    made = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    assert {
        "summary.html",
        "plan.json",
        "joints.csv",
        "joints.xlsx",
        "order.csv",
        "order.xlsx",
        "unrolled.svg",
        "curve.svg",
        "hull.glb",
    } <= made
    assert sum(name.startswith("faces/") for name in made) == 10
    (folder / "mine.txt").write_text("mine")
    first = (folder / "plan.json").read_bytes()
    assert main(words) == 0
    assert (folder / "mine.txt").read_text() == "mine"
    assert (folder / "plan.json").read_bytes() == first, "the same file gives the same plan"
    (folder / "order.csv").write_text("my own prices")
    assert main(words) == 2
    assert (folder / "order.csv").read_text() == "my own prices"
    assert "order.csv" in capsys.readouterr().err


def test_new_never_overwrites(tmp_path, capsys):
    path = tmp_path / "house.yaml"
    assert main(["new", str(path)]) == 0
    assert main(["check", str(path)]) == 0
    assert main(["new", str(path)]) == 2
    assert "it is yours" in capsys.readouterr().err
