"""Offer the running service to the phones of a site: the listeners, the name, and what a person must be told."""

from __future__ import annotations

import asyncio
import contextlib
import ipaddress
import logging
import socket
import ssl
import threading
from collections.abc import Generator, Sequence
from dataclasses import dataclass
from typing import Any, Final

import uvicorn

from hullwright.errors import InputError, Problem, Where
from hullwright.store.location import home_of
from hullwright.web.announce import Announcer
from hullwright.web.authority import is_private, open_authority
from hullwright.web.lan import FOLDER, Lan, listen, own_addresses, settings_of
from hullwright.web.service import Service
from hullwright.web.setup_page import SetupPage

LOOK_EVERY: Final = 30.0
"""How often the addresses of this machine are looked at [s]."""
_NO_MULTICAST: Final = (
    "phones will not find the name by themselves: {why}. Enter the name with this machine's address in the DNS of the site's router; "
    "or carry entries by hand: the card exports its queue as a file, which the desk takes in"
)
_NO_ADDRESS: Final = (
    "this machine has no private IPv4 address now: no phone reaches it until it joins the site's network"
)
_LOG: Final = logging.getLogger("hullwright.web")


@dataclass(frozen=True, slots=True)
class Wish:
    """How the service shall be offered.

    Parameters
    ----------
    port, setup_port : int or None
        None for what is kept, or the usual ones.
    setup_page : bool
        Serve the set-up page in clear.
    addresses : tuple of str
        Of this machine, to be offered on; empty for all private ones.
    announce : bool
        Announce the name by multicast.
    """

    port: int | None = None
    setup_port: int | None = None
    setup_page: bool = True
    addresses: tuple[str, ...] = ()
    announce: bool = True


class Offer:
    """The service, offered to a site.

    Parameters
    ----------
    service : Service
    wish : Wish

    Raises
    ------
    InputError
        Where an address is none, a port is taken, or settings or authority can't be used.
    """

    def __init__(self, service: Service, wish: Wish) -> None:
        for address in wish.addresses:
            _check(address)
        home = home_of(service.store)
        settings = settings_of(home, wish.port, wish.setup_port)
        for key, one in (("--lan-port", settings.port), ("--setup-port", settings.setup_port)):
            if one == service.port:
                raise InputError(
                    "two things can't have one port",
                    [
                        Problem(
                            "this is the port of the desk's page",
                            Where(key=key),
                            str(one),
                            hint="give the desk another one by --port",
                        )
                    ],
                )
        self.wish = wish
        self.sockets = listen(wish.addresses, settings.port, "--lan-port")
        self.setup_sockets: list[socket.socket] = []
        self._end = threading.Event()
        self._watch: threading.Thread | None = None
        self._context: ssl.SSLContext | None = None
        self._stale = False  # the listener has another certificate than the one that was made last
        self._told: tuple[str, tuple[str, ...]] = ("", ())
        self.announcer = Announcer(settings.name, settings.port)
        try:
            if wish.setup_page:
                self.setup_sockets = listen(wish.addresses, settings.setup_port, "--setup-port")
            self.lan = Lan(
                settings, open_authority(home / FOLDER, settings.name), wish.addresses, own_addresses
            )
            self.lan.look()
        except BaseException:
            self.close()
            raise

    def start(self) -> dict[str, Any]:
        """Announce the name, look after the addresses from now on, and give what a person must be told.

        Returns
        -------
        dict
            Address, set-up address, fingerprint, addresses, cautions.
        """
        troubles = [] if self.lan.addresses else [_NO_ADDRESS]
        if self.wish.announce and (why := self.announcer.announce(self.lan.addresses)) and self.lan.addresses:
            troubles.append(_NO_MULTICAST.format(why=why))
        if self.wish.announce or not self.wish.addresses:
            self._watch = threading.Thread(target=self._watching, daemon=True)
            self._watch.start()
        return {
            "page": f"{self.lan.origin}/",
            "setup": self.lan.setup_address if self.wish.setup_page else "",
            "fingerprint": self.lan.authority.fingerprint,
            "addresses": list(self.lan.addresses),
            "until": self.lan.authority.certificate.not_valid_after_utc.date().isoformat(),
            "cautions": troubles,
        }

    def servers(self, app: Any) -> list[tuple[uvicorn.Server, list[socket.socket]]]:
        """Give the listeners of the site with their sockets.

        Parameters
        ----------
        app : ASGI application
            The same that serves this machine.
        """
        file = str(self.lan.authority.service_file)
        secure = uvicorn.Config(
            app, ssl_certfile=file, limit_concurrency=400, timeout_keep_alive=30, **_COMMON
        )
        secure.load()
        assert secure.ssl is not None
        secure.ssl.minimum_version = ssl.TLSVersion.TLSv1_2
        self._context = secure.ssl
        found = [(_Beside(secure), self.sockets)]
        if self.wish.setup_page:
            plain = uvicorn.Config(SetupPage(self.lan), limit_concurrency=50, timeout_keep_alive=5, **_COMMON)
            found.append((_Beside(plain), self.setup_sockets))
        return list(found)

    def look(self) -> None:
        """Look at the addresses once: where they changed, so do certificate and announcement; name and port stay.

        What failed the last time is tried again: it is not the change that counts, but what stands.
        """
        self._stale = self.lan.look() or self._stale
        if self._stale and self._context is not None:
            self._context.load_cert_chain(self.lan.authority.service_file)
            self._stale = False
        if not self.wish.announce or self.announcer.announced == self.lan.addresses:
            return
        why = self.announcer.announce(self.lan.addresses)
        if why and (why, self.lan.addresses) != self._told:
            _LOG.warning("%s", _NO_MULTICAST.format(why=why))
        self._told = (why, self.lan.addresses)

    def _watching(self) -> None:
        while not self._end.wait(LOOK_EVERY):
            try:
                self.look()
            except Exception:  # noqa: BLE001 - whatever it is: looked at again at the next beat
                _LOG.exception("the addresses of this machine could not be looked at")

    def close(self) -> None:
        """Take name and ports back."""
        self._end.set()
        if self._watch is not None:
            self._watch.join(5)
        self.announcer.close()
        for one in (*self.sockets, *self.setup_sockets):
            one.close()


_COMMON: Final[dict[str, Any]] = {
    "log_level": "warning", "server_header": False, "timeout_graceful_shutdown": 3, "proxy_headers": False, "lifespan": "off",
}  # fmt: skip


class _Beside(uvicorn.Server):
    """A listener that ends with the first one: signals are for that one."""

    @contextlib.contextmanager
    def capture_signals(self) -> Generator[None]:
        yield


class _First(uvicorn.Server):
    """The listener of this machine, which starts and ends those of the site."""

    def __init__(
        self, config: uvicorn.Config, others: Sequence[tuple[uvicorn.Server, list[socket.socket]]]
    ) -> None:
        super().__init__(config)
        self.others = others
        self.tasks: list[asyncio.Task[None]] = []

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        self.tasks = [asyncio.create_task(one.serve(sockets=own)) for one, own in self.others]
        await super().startup(sockets)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        for one, _ in self.others:
            one.should_exit = True
        await asyncio.gather(super().shutdown(sockets), *self.tasks, return_exceptions=True)


def with_others(
    config: uvicorn.Config, others: Sequence[tuple[uvicorn.Server, list[socket.socket]]]
) -> uvicorn.Server:
    """Make one server of this machine's listener and those of the site.

    Parameters
    ----------
    config : uvicorn.Config
        Of this machine's.
    others : sequence of (server, sockets)

    Returns
    -------
    uvicorn.Server
        To be run; it ends the others when it ends.
    """
    return _First(config, others)


def _check(address: str) -> None:
    try:
        fine = is_private(address) or ipaddress.IPv4Address(address).is_loopback
    except ValueError:
        fine = False
    if not fine:
        problem = Problem(
            "phones can't be served there", Where(key="--lan-address"), address,
            "a private IPv4 address of this machine: 10.…, 172.16.… to 172.31.…, 192.168.…", "leave it out to use all of them",
        )  # fmt: skip
        raise InputError("this address can't be used", [problem])
