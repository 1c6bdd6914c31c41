"""Where do the data live: outside the program's own folder, on a local disk or a server, at a place that is said."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from hullwright.errors import InputError, Problem, Where
from hullwright.evidence import Caution, Evidence, Mark
from hullwright.store.place import Address, Place, address_of, is_address

VARIABLE: Final = "HULLWRIGHT_DATA"
FILE: Final = "store.sqlite3"
_SYNCED: Final = re.compile(r"cloud|sync|drive$|box$", re.IGNORECASE)
_NETWORK: Final = re.compile(r"^(nfs|cifs|smb|9p|afs|ncp|sshfs|fuse|davfs|ceph|gluster)", re.IGNORECASE)
_SECRETS: Final = Evidence(Mark.PUBLISHED, "PostgreSQL documentation, libpq: the password file; SSL support")
_LOCKS: Final = Evidence(Mark.PRACTICE, "file locks of a database are not safe on network and synced folders")


def store_path(named: str | None = None, *, environment: Mapping[str, str] = os.environ) -> Place:
    """Give the place of the store.

    Parameters
    ----------
    named : str or None
        What the user named: a file, a folder, or the address of a PostgreSQL server.
    environment : mapping
        With `HULLWRIGHT_DATA` for a folder or server of one's own.

    Returns
    -------
    Path or Address
        A path is never inside the program's own source folder.

    Raises
    ------
    InputError
        Where it would lie there, or is the address of another kind of server.

    Examples
    --------
    >>> str(store_path("/data/acme/log.sqlite3"))
    '/data/acme/log.sqlite3'
    >>> str(store_path(environment={"HULLWRIGHT_DATA": "/data/acme"}))
    '/data/acme/store.sqlite3'
    >>> str(store_path("postgresql://lead@db.example/acme"))
    'postgresql://lead@db.example/acme'
    """
    own = environment.get(VARIABLE)
    for text in (named, None if named else own):
        if text and is_address(text):
            return address_of(text)
    if named:
        path = Path(named).expanduser()
        path = path if path.suffix else path / FILE
    else:
        path = (Path(own).expanduser() if own else _default(environment)) / FILE
    path = path.absolute()
    clone = _clone_above(path)
    if clone is not None:
        problem = Problem(
            "the data would lie inside the program's own folder",
            Where(str(path)),
            allowed=f"a place outside {clone}",
            hint=f"name another file, or set {VARIABLE}",
        )
        raise InputError("the store can't be kept there", [problem])
    return path


def home_of(place: Place, *, environment: Mapping[str, str] = os.environ) -> Path:
    """Give the folder on this machine for what stays here: people and keys, jobs, backups before an upgrade.

    Parameters
    ----------
    place : Path or Address
        The folder of a file, or the usual folder where the log is on a server.
    environment : mapping

    Examples
    --------
    >>> str(home_of(Path("/data/acme/store.sqlite3")))
    '/data/acme'
    """
    return _default(environment) if isinstance(place, Address) else place.parent


def place_cautions(path: Place, *, mounts: str | None = None) -> tuple[Caution, ...]:
    """Warn where the folder looks like a network or synced one, or the way to the server is open.

    Parameters
    ----------
    path : Path or Address
    mounts : str or None
        Text of the system's table of mounts; read where None and the system has one.

    Returns
    -------
    tuple of Caution

    Examples
    --------
    >>> len(place_cautions(Path("/home/lead/MyCloud/store.sqlite3"), mounts=""))
    1
    """
    if isinstance(path, Address):
        return _server_cautions(path)
    out = []
    if _on_network(path, _mounts() if mounts is None else mounts):
        out.append(
            Caution(
                "the store lies on a network folder: keep it on this machine's own disk and use backup",
                _LOCKS,
            )
        )
    if any(_SYNCED.search(part) for part in path.parent.parts):
        out.append(
            Caution(
                "the folder looks like one that is synced elsewhere: a synced database can break; use backup",
                _LOCKS,
            )
        )
    return tuple(out)


def _server_cautions(address: Address) -> tuple[Caution, ...]:
    out = []
    if address.carries_password:
        out.append(
            Caution(
                "the password stands in the address, where other programs on this machine may see it: keep it in PGPASSFILE or PGPASSWORD",
                _SECRETS,
            )
        )
    if address.unguarded:
        out.append(
            Caution(
                "entries may travel to the server in clear: put ?sslmode=verify-full behind the address",
                _SECRETS,
            )
        )
    return tuple(out)


def _default(environment: Mapping[str, str]) -> Path:
    home = Path(environment.get("HOME") or environment.get("USERPROFILE") or Path.home())
    if sys.platform == "win32":
        return Path(environment.get("LOCALAPPDATA") or home / "AppData" / "Local") / "hullwright"
    if sys.platform == "darwin":
        return home / "Library" / "Application Support" / "hullwright"
    return Path(environment.get("XDG_DATA_HOME") or home / ".local" / "share") / "hullwright"


def _clone_above(path: Path) -> Path | None:
    for folder in path.parents:
        project = folder / "pyproject.toml"
        if project.is_file() and 'name = "hullwright"' in project.read_text("utf-8", errors="replace"):
            return folder
    return None


def _mounts() -> str:
    table = Path("/proc/self/mounts")
    return table.read_text("utf-8", errors="replace") if table.exists() else ""


def _on_network(path: Path, mounts: str) -> bool:
    """Whether the mount that holds the path has a network type (or the path is a network name of Windows)."""
    if str(path).startswith(("\\\\", "//")):
        return True
    best, kind = "", ""
    for line in mounts.splitlines():
        fields = line.split()
        if len(fields) >= 3:
            point = fields[1].replace("\\040", " ")
            inside = path == Path(point) or Path(point) in path.parents
            if inside and len(point) >= len(best):
                best, kind = point, fields[2]
    return bool(_NETWORK.match(kind))
