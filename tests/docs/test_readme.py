"""What the README shows is what the commands print."""

import importlib.util
import re
from pathlib import Path

from hullwright.cli.parser import COMMANDS

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def refresh():
    spec = importlib.util.spec_from_file_location("refresh", ROOT / "docs" / "refresh.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_commands_of_the_readme_run_and_begin_as_shown():
    shown = refresh()
    blocks = shown.BLOCK.findall(README)
    assert blocks
    for _, command, _, text, _ in blocks:
        # Source: regression: our own output; the sums behind it are tested in their rooms. `docs/refresh.py` writes the rest anew
        assert text.splitlines()[0] == shown.output(command, 1).strip(), command


def test_the_record_page_shows_the_table_that_the_program_reads():
    page = (ROOT / "docs" / "record.md").read_text(encoding="utf-8")
    assert refresh().rules(page) == page


def test_links_and_pictures_are_there():
    for target in re.findall(r"\]\(([^)#]+)\)", README):
        assert (ROOT / target).exists(), target


def test_every_command_stands_in_the_readme():
    missing = [name for name, *_ in COMMANDS if not re.search(rf"`[^`]*\b{name}\b", README)]
    assert not missing


def test_nothing_unfinished_is_committed():
    for folder in ("src", "docs"):
        for path in (ROOT / folder).rglob("*.py"):
            assert not re.search(r"\b(TODO|FIXME|XXX)\b", path.read_text(encoding="utf-8")), path
