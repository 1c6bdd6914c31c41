"""What one running service is made of: shelf, people, log, jobs, and the names it answers to."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from hullwright.app.access import Access
from hullwright.app.guesses import Guesses
from hullwright.app.jobs import Jobs
from hullwright.app.log import Log, open_log
from hullwright.app.names import Names
from hullwright.app.questions import Questions
from hullwright.app.shelf import Shelf
from hullwright.errors import OutputError, Problem, Where
from hullwright.store.access import AccessStore
from hullwright.store.access import digest as key_digest
from hullwright.store.database import Store
from hullwright.store.location import home_of
from hullwright.store.place import Place
from hullwright.web.lan import Lan

LOCAL: Final = ("localhost", "127.0.0.1", "[::1]")


@dataclass
class Service:
    """One running service.

    Parameters
    ----------
    shelf : Shelf
        Houses of the folder that was served.
    access : Access
    jobs : Jobs
    store : Path or Address
        The log of the company.
    port : int
    desk_key : str
        Hash of the key that `serve` printed.
    guesses : Guesses
    lan : Lan or None
        Where the service is offered to phones too.
    """

    shelf: Shelf
    access: Access
    jobs: Jobs
    store: Place
    port: int
    desk_key: str
    guesses: Guesses = field(default_factory=Guesses)
    lan: Lan | None = None

    def __post_init__(self) -> None:
        self.questions = Questions(self.shelf)
        # While one connection stays open, the others need not fold the write-ahead log back when they close.
        self._anchors = (Store(self.store), self.access.store.anchor())

    def close(self) -> None:
        """End jobs and let the files go."""
        self.jobs.close()
        for anchor in self._anchors:
            anchor.close()

    def hosts(self, scheme: str = "http") -> frozenset[str]:
        """Names with port that the service answers to: in clear those of this machine only, over TLS those of the site."""
        if scheme == "https":
            return self.lan.hosts if self.lan else frozenset()
        return frozenset(f"{name}:{self.port}" for name in LOCAL)

    def origins(self, scheme: str = "http") -> frozenset[str]:
        """Pages that may write."""
        return frozenset(f"{scheme}://{host}" for host in self.hosts(scheme))

    def page_for_others(self, asked: str) -> str:
        """Give the address of the page that an invitation carries: the one for phones, else the one that was asked."""
        return self.lan.origin if self.lan else asked

    def log(self, house: str) -> Log:
        """Give the log of a house."""
        return Log(house, self.store)


def make(folder: Path, data: str | None, port: int, key: str, *, apart: bool = True) -> Service:
    """Put a service together.

    Parameters
    ----------
    folder : Path
        Folder with building files.
    data : str or None
        Folder of the log, people and jobs; or the address of a PostgreSQL server for the log, where people and jobs stay in the
        usual folder of this machine. None for the usual place.
    port : int
    key : str
        Of the desk.
    apart : bool
        Jobs run in processes of their own; else in threads (for tests).

    Returns
    -------
    Service

    Raises
    ------
    OutputError
        Where the data folder can't be written.
    """
    store = open_log("any", data).path
    home = home_of(store)
    access_file = home / "access.sqlite3"
    try:
        home.mkdir(parents=True, exist_ok=True)
        access_file.touch(mode=0o600)
    except OSError as error:
        problem = Problem(
            f"people and devices can't be kept there: {error.strerror or error}", Where(str(home), key="--data"),
            allowed="a folder this account may write to", hint="choose another folder by --data, or change its rights",
        )  # fmt: skip
        raise OutputError("the service can't start with this data folder", [problem]) from error
    shelf = Shelf(folder, home / "drafts", Names(home / "houses.json"))
    jobs = Jobs(home / "jobs", shelf, apart=apart, store=store)
    return Service(shelf, Access(AccessStore(access_file)), jobs, store, port, key_digest(key))
