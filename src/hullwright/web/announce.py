"""The name of the service, announced on the site by multicast DNS (RFC 6762), so that no address need be typed."""

from __future__ import annotations

import socket
import threading
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from zeroconf import ServiceInfo

KIND: Final = "_https._tcp.local."
_TRIES: Final = 3


def record(name: str, port: int, addresses: Sequence[str]) -> ServiceInfo:
    """Give what is announced: the name with its addresses, and that a page is served there.

    Parameters
    ----------
    name : str
        Ends in ``.local``.
    port : int
    addresses : sequence of str
        IPv4.

    Returns
    -------
    zeroconf.ServiceInfo
    """
    from zeroconf import ServiceInfo  # noqa: PLC0415 - only where the service is offered to phones

    packed = [socket.inet_aton(one) for one in addresses]
    label = name.removesuffix(".local")
    return ServiceInfo(KIND, f"{label}.{KIND}", port=port, addresses=packed, server=f"{name}.")


class Announcer:
    """Announces one name as long as it is open.

    It may be told from several threads: one after the other has its say, and after the end nothing is announced any more.

    Parameters
    ----------
    name : str
    port : int

    Attributes
    ----------
    announced : tuple of str or None
        Addresses that stand announced; None where the last announcement failed, so that it is to be tried again.
    """

    def __init__(self, name: str, port: int) -> None:
        self.name, self.port = name, port
        self.announced: tuple[str, ...] | None = None
        self._open: Any = None
        self._ended = False
        self._turn = threading.Lock()

    def announce(self, addresses: Sequence[str]) -> str:
        """Announce the name with these addresses, in place of what was announced before.

        Parameters
        ----------
        addresses : sequence of str

        Returns
        -------
        str
            '' where it went well, or all is at its end; else why the network does not take it.
        """
        with self._turn:
            if self._ended:
                return ""
            self.announced = None
            self._take_back()
            if not addresses:
                self.announced = ()  # there is nothing to try again until there is one
                return "this machine has no private address now"
            why = self._register(addresses)
            if not why:
                self.announced = tuple(addresses)
            return why

    def close(self) -> None:
        """Take the name back, for good."""
        with self._turn:
            self._ended = True
            self.announced = None
            self._take_back()

    def _register(self, addresses: Sequence[str]) -> str:
        from zeroconf import Error, IPVersion, Zeroconf  # noqa: PLC0415 - see above

        try:
            self._open = Zeroconf(interfaces=list(addresses), ip_version=IPVersion.V4Only)
            self._open.register_service(record(self.name, self.port, addresses))
        except (OSError, Error, RuntimeError) as error:
            self._take_back()
            return str(error) or type(error).__name__
        return ""

    def _take_back(self) -> None:
        """Say that the name is gone. On a busy machine that may fail the first time, and the old answer would go on."""
        told, self._open = self._open, None
        if told is None:
            return
        from zeroconf import Error  # noqa: PLC0415 - see above

        for _ in range(_TRIES):
            try:
                told.close()
            except (OSError, Error, RuntimeError):
                continue
            return
