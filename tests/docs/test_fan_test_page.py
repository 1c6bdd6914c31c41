"""Every command of the fan-test page runs as it stands there."""

import re
import shlex
from pathlib import Path

import pytest

from hullwright.building import starter
from hullwright.cli.main import main

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "fan-test.md").read_text(encoding="utf-8")
COMMANDS = [
    line.split(" #")[0].strip()
    for block in re.findall(r"```sh\n(.*?)```", PAGE, re.DOTALL)
    for line in block.splitlines()
    if line.startswith("hullwright ")
]
FINDINGS = re.search(r"```yaml\n(.*?)```", PAGE, re.DOTALL).group(1)


@pytest.fixture
def site(tmp_path, monkeypatch):
    (tmp_path / "house.yaml").write_text(starter("us"), encoding="utf-8")
    (tmp_path / "found.yaml").write_text(FINDINGS.replace("kind: eave, ", ""), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_page_holds_commands():
    assert len(COMMANDS) >= 7


def test_commands_run_in_the_order_of_the_page(site, capsys):
    for command in COMMANDS:
        words = shlex.split(command)[1:]
        assert main(words) in (0, 1), command
        assert "Traceback" not in capsys.readouterr().err
    assert (site / "leaks.svg").exists()
    assert (site / "worth.svg").exists()
