"""Runs the commands that stand in the README and writes their real output and pictures under them.

    .venv/bin/python docs/refresh.py

A comment ``<!-- run: hullwright … | first N -->`` before a text block names the command; N lines of its output are kept.
A test holds that the blocks are fresh.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
BLOCK = re.compile(r"(<!-- run: (hullwright .*?) \| first (\d+) -->\n```text\n)(.*?)(```)", re.DOTALL)


def output(command: str, lines: int) -> str:
    """First lines of what a command prints, without trailing blanks."""
    words = shlex.split(command)
    run = [sys.executable, "-m", *words]
    done = subprocess.run(
        run, cwd=ROOT, capture_output=True, text=True, check=True, encoding="utf-8", env=_plain()
    )
    return "".join(f"{line.rstrip()}\n" for line in done.stdout.splitlines()[:lines])


def _plain() -> dict[str, str]:
    return os.environ | {"COLUMNS": "120", "PYTHONIOENCODING": "utf-8"}


def fresh(text: str) -> str:
    """Text with every block as it would be printed now."""
    return BLOCK.sub(lambda m: m.group(1) + output(m.group(2), int(m.group(3))) + m.group(5), text)


def pictures() -> None:
    """Pictures of the demo house."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "plan"
        subprocess.run(
            [sys.executable, "-m", "hullwright", "plan", "examples/saltgrass-house.yaml", "--out", str(out)],
            cwd=ROOT,
            check=True,
            capture_output=True,
        )
        for name in ("unrolled.svg", "curve.svg"):
            (ROOT / "docs" / "pictures" / name).write_bytes((out / name).read_bytes())


RULES = re.compile(r"(<!-- rules -->\n).*?(<!-- end of rules -->)", re.DOTALL)


def rules(text: str) -> str:
    """Text with the table of what proves what as the program reads it."""
    from hullwright.proof.rules import listing  # noqa: PLC0415  only where it is printed

    found = listing()
    rows = ["| method | joints | all of this is needed |", "|---|---|---|"]
    rows += [f"| {one['method']} | {one['joints']} | {one['needs']} |" for one in found["proofs"]]
    rows += ["", "| entry | is about | where only a face is named | does |", "|---|---|---|---|"]
    rows += [
        f"| {one['entry']} | {one['about']} | {one['whole_face']} | {one['does']} |"
        for one in found["entries"]
    ]
    table = "\n".join(rows)
    return RULES.sub(lambda m: f"{m.group(1)}{table}\n{m.group(2)}", text)


if __name__ == "__main__":
    record = ROOT / "docs" / "record.md"
    record.write_text(rules(record.read_text(encoding="utf-8")), encoding="utf-8")
    readme = ROOT / "README.md"
    readme.write_text(fresh(readme.read_text(encoding="utf-8")), encoding="utf-8")
    pictures()
