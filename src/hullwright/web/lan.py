"""The service on a building site: one name and one port that stay, the addresses of now, the certificate for both."""

from __future__ import annotations

import json
import os
import re
import secrets
import socket
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from hullwright.errors import InputError, OutputError, Problem, Where
from hullwright.store.location import home_of, store_path
from hullwright.web.authority import Authority, is_private

FOLDER: Final = "lan"
FILE: Final = "settings.json"
PORT: Final = 8766
SETUP_PORT: Final = 8767
ANYWHERE: Final = "0.0.0.0"  # noqa: S104 - the phones of the site are meant to reach it; the gate answers to own names only
_LETTERS: Final = "abcdefghjkmnpqrstuvwxyz23456789"
"""Those that nobody mistakes for another when the name is typed."""
_NAME: Final = re.compile(r"hullwright-[a-z0-9]{4}\.local")


@dataclass(frozen=True, slots=True)
class Settings:
    """What a phone's storage hangs on: it is kept and not changed.

    Parameters
    ----------
    name : str
        DNS name, announced by multicast.
    port : int
        Of the page, over TLS.
    setup_port : int
        Of the set-up page, in clear.
    """

    name: str
    port: int
    setup_port: int

    @property
    def origin(self) -> str:
        """Address of the page for phones."""
        return f"https://{_at(self.name, self.port)}"


def settings_of(home: Path, port: int | None = None, setup_port: int | None = None) -> Settings:
    """Read name and ports; make them at the first use.

    Parameters
    ----------
    home : Path
        Folder of the store.
    port : int or None
        Of the page; only at the first use. None for what is kept, or the usual one.
    setup_port : int or None
        Of the set-up page; nothing hangs on it, so it may change.

    Returns
    -------
    Settings

    Raises
    ------
    InputError
        Where the file can't be read, a port is none, or the page's port would change.
    """
    file = home / FOLDER / FILE
    for key, one in (("--lan-port", port), ("--setup-port", setup_port)):
        if one is not None and not 1 <= one <= 65535:
            raise InputError(
                "this port can't be used", [Problem("not a port", Where(key=key), str(one), "1 to 65535")]
            )
    kept = _read(file) if file.exists() else None
    if kept is None:
        name = f"hullwright-{''.join(secrets.choice(_LETTERS) for _ in range(4))}.local"
        found = Settings(name, port or PORT, setup_port or SETUP_PORT)
    else:
        if port not in {None, kept.port}:
            problem = Problem(
                "phones know this service under another port", Where(str(file), key="--lan-port"), str(port), str(kept.port),
                "a phone's queue belongs to name and port: leave --lan-port out. Where no phone holds anything, change `port` in this file",
            )  # fmt: skip
            raise InputError("the port of the phones stays", [problem])
        found = Settings(kept.name, kept.port, setup_port or kept.setup_port)
    if found.port == found.setup_port:
        raise InputError(
            "two things can't have one port",
            [Problem("page and set-up page have the same port", Where(str(file)), str(found.port))],
        )
    if found != kept:
        _keep(file, found)
    return found


def folder_of(data: str | None) -> Path:
    """Give the folder of settings and authority for a place of the store.

    Parameters
    ----------
    data : str or None
        As for the log; None for the usual place.
    """
    return home_of(store_path(data)) / FOLDER


def _read(file: Path) -> Settings:
    try:
        read: Any = json.loads(file.read_text("utf-8"))
        found = Settings(str(read["name"]), int(read["port"]), int(read["setup_port"]))
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise _damaged(file, "it can't be read", str(error)) from error
    if not _NAME.fullmatch(found.name):
        raise _damaged(file, "this is no name that hullwright made", found.name)
    if not all(1 <= one <= 65535 for one in (found.port, found.setup_port)):
        raise _damaged(file, "a port is no port", f"{found.port}, {found.setup_port}")
    return found


def _damaged(file: Path, what: str, got: str) -> InputError:
    problem = Problem(
        what, Where(str(file)), got, '{"name": "hullwright-….local", "port": 8766, "setup_port": 8767}',
        "put the name and port back that the phones use; with others they don't find what they keep",
    )  # fmt: skip
    return InputError("the settings for phones can't be used", [problem])


def _keep(file: Path, settings: Settings) -> None:
    file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    part = file.with_name(f"{file.name}.part")
    told = {"name": settings.name, "port": settings.port, "setup_port": settings.setup_port}
    with part.open("w", encoding="utf-8") as out:
        out.write(json.dumps(told, indent=1) + "\n")
        out.flush()
        os.fsync(out.fileno())
    part.replace(file)


def _at(name: str, port: int, usual: int = 443) -> str:
    """Name and port as browsers write them: the usual port is left out."""
    return name if port == usual else f"{name}:{port}"


def own_addresses() -> tuple[str, ...]:
    """Give the private IPv4 addresses of this machine, the one that leads out first."""
    import zeroconf  # noqa: PLC0415 - only where the service is offered to phones

    told: Any = zeroconf  # it offers the function, but not to type checkers
    found = sorted(address for address in told.get_all_addresses() if is_private(address))
    first = _outward()
    return tuple(sorted(found, key=lambda address: address != first))


def _outward() -> str:
    """Give the address that this machine has toward other networks; nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # for documentation (RFC 5737): no machine has it
        except OSError:
            return ""
        return str(probe.getsockname()[0])


@dataclass
class Lan:
    """The service as phones see it.

    Parameters
    ----------
    settings : Settings
    authority : Authority
    bind : tuple of str
        Addresses of this machine that it is offered on; empty for all private ones.
    find : callable
        Gives the private addresses of now.
    """

    settings: Settings
    authority: Authority
    bind: tuple[str, ...] = ()
    find: Callable[[], Sequence[str]] = own_addresses
    addresses: tuple[str, ...] = field(default=(), init=False)

    def look(self) -> bool:
        """Look at the addresses anew; gives whether the certificate was made anew for it."""
        self.addresses = self.bind or tuple(self.find())
        return self.authority.leaf(self.addresses)

    @property
    def origin(self) -> str:
        """Address of the page for phones: it stays where addresses change."""
        return self.settings.origin

    @property
    def hosts(self) -> frozenset[str]:
        """Names with port that the page answers to over TLS."""
        return self._names(self.settings.port, 443)

    @property
    def origins(self) -> frozenset[str]:
        """Pages that may write over TLS."""
        return frozenset(f"https://{host}" for host in self.hosts)

    @property
    def setup_hosts(self) -> frozenset[str]:
        """Names with port that the set-up page answers to."""
        return self._names(self.settings.setup_port, 80)

    @property
    def setup_address(self) -> str:
        """Where a phone finds the set-up page, by address: it needs no multicast; '' without an address."""
        if not self.addresses:
            return ""
        return f"http://{_at(self.addresses[0], self.settings.setup_port, 80)}/"

    def _names(self, port: int, usual: int) -> frozenset[str]:
        return frozenset(_at(name, port, usual) for name in (self.settings.name, *self.addresses))


def listen(addresses: Iterable[str], port: int, key: str) -> list[socket.socket]:
    """Take a port, on some addresses or on all.

    Parameters
    ----------
    addresses : iterable of str
        Empty for all.
    port : int
    key : str
        What asked for it, for the error.

    Returns
    -------
    list of socket.socket

    Raises
    ------
    OutputError
        Where it is taken: never another one silently.
    """
    made: list[socket.socket] = []
    try:
        for address in tuple(addresses) or (ANYWHERE,):
            one = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
            made.append(one)
            if os.name != "nt":
                one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            one.bind((address, port))
            one.listen(128)
    except OSError as error:
        for one in made:
            one.close()
        hint = "is the service running already? Else end what holds the port: phones look for the service there and nowhere else"
        problem = Problem(
            "the port can't be had", Where(key=key), str(port), "a free port", f"{error.strerror}; {hint}"
        )
        raise OutputError("the service can't be offered to phones", [problem]) from error
    return made
