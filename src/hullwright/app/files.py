"""Writing to a person's disk: whole or not at all, and never over what is theirs."""

from __future__ import annotations

import hashlib
import json
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from hullwright.errors import OutputError, Problem, Where

LEDGER: Final = ".hullwright-files.json"
"""Name of the list, in each folder we write, of the files that are ours and what was in them."""


def demo_file() -> Path:
    """Building file of the demo house: beside the package in a wheel, in ``examples/`` in a checkout."""
    here = Path(__file__).resolve().parents[1]
    name = "saltgrass-house.yaml"
    return next(path for path in (here / "demo" / name, here.parents[1] / "examples" / name) if path.exists())


def write_new(path: Path, text: str | bytes) -> None:
    """Write a file that must not exist yet.

    Parameters
    ----------
    path : Path
        Where to.
    text : str or bytes
        What; text is written as UTF-8.

    Raises
    ------
    OutputError
        Where the file exists or the folder can't be written.
    """
    try:
        with path.open("xb") as stream:
            stream.write(text.encode() if isinstance(text, str) else text)
    except FileExistsError as error:
        raise _refuse(
            [Problem("this file exists; it is yours and stays", Where(str(path)), hint="name another file")]
        ) from error
    except OSError as error:
        raise _refuse(
            [
                Problem(
                    f"can't write: {error.strerror}",
                    Where(str(path)),
                    hint="choose a folder you may write to",
                )
            ]
        ) from error


def write_folder(folder: Path, files: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write a set of files into a folder: all of them, or none.

    A file of an earlier run is replaced (and removed where the new run has none of that name) as long as it is still
    what that run wrote. Any other file in the way is somebody's own: nothing is written then.

    Parameters
    ----------
    folder : Path
        Made where it does not exist.
    files : mapping of str to bytes
        Name in the folder (``/`` makes sub-folders) and content.

    Returns
    -------
    tuple of Path
        The files, in order.

    Raises
    ------
    OutputError
        Where a person's file is in the way or the folder can't be written.
    """
    old = _ledger(folder)
    in_the_way = [
        Problem(
            "this file is not what hullwright wrote there; it is yours and stays",
            Where(str(folder / name)),
            hint="move it, or use --out with another folder",
        )
        for name in files
        if (folder / name).exists() and _digest(folder / name) not in old.get(name, [])
    ]
    if in_the_way:
        raise _refuse(in_the_way)
    try:
        _swap_in(folder, files, old)
    except OSError as error:
        raise _refuse(
            [
                Problem(
                    f"can't write: {error.strerror or error}",
                    Where(str(folder)),
                    hint="choose a folder you may write to",
                )
            ]
        ) from error
    return tuple(folder / name for name in files)


def _swap_in(folder: Path, files: Mapping[str, bytes], old: Mapping[str, list[str]]) -> None:
    folder.parent.mkdir(parents=True, exist_ok=True)
    new = {name: [hashlib.sha256(content).hexdigest()] for name, content in files.items()}
    with tempfile.TemporaryDirectory(prefix=".hullwright-", dir=folder.parent) as temporary:
        staged = Path(temporary)
        for name, content in files.items():
            _put(staged / name, content)
        folder.mkdir(exist_ok=True)
        # While files change places the ledger knows both runs: a run that dies half-way leaves nothing that looks like a person's own.
        _write_ledger(
            folder, staged, {name: [*old.get(name, []), *new.get(name, [])] for name in {*old, *new}}
        )
        for name in files:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (staged / name).replace(folder / name)
        for name in sorted(set(old) - set(new)):
            _drop(folder, name, old[name])
        _write_ledger(folder, staged, new)


def _put(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)


def _write_ledger(folder: Path, staged: Path, entries: Mapping[str, list[str]]) -> None:
    draft = staged / LEDGER
    draft.write_text(json.dumps(entries, indent=1), encoding="utf-8")
    draft.replace(folder / LEDGER)


def _drop(folder: Path, name: str, digests: list[str]) -> None:
    path = folder / name
    if _digest(path) in digests:
        path.unlink()
        if path.parent != folder and not any(path.parent.iterdir()):
            path.parent.rmdir()


def _ledger(folder: Path) -> dict[str, list[str]]:
    path = folder / LEDGER
    if folder.exists() and not folder.is_dir():
        raise _refuse(
            [Problem("this is a file, not a folder", Where(str(folder)), hint="use --out with another name")]
        )
    try:
        entries = json.loads(path.read_text(encoding="utf-8"))
        return {str(name): [str(digest) for digest in digests] for name, digests in entries.items()}
    except (
        ValueError,
        AttributeError,
        TypeError,
        OSError,
    ):  # no ledger, or not one of ours: nothing in the folder is known to be ours
        return {}


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""


def _refuse(problems: list[Problem]) -> OutputError:
    return OutputError("nothing was written", problems)
