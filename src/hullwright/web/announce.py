"""The name of the service, announced on the site by multicast DNS (RFC 6762), so that no address need be typed."""

from __future__ import annotations

import socket
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from zeroconf import ServiceInfo

KIND: Final = "_https._tcp.local."


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

    Parameters
    ----------
    name : str
    port : int
    """

    def __init__(self, name: str, port: int) -> None:
        self.name, self.port = name, port
        self._open: Any = None

    def announce(self, addresses: Sequence[str]) -> str:
        """Announce the name with these addresses, in place of what was announced before.

        Parameters
        ----------
        addresses : sequence of str

        Returns
        -------
        str
            '' where it went well; else why the network does not take it.
        """
        self.close()
        if not addresses:
            return "this machine has no private address now"
        from zeroconf import Error, IPVersion, Zeroconf  # noqa: PLC0415 - see above

        try:
            self._open = Zeroconf(interfaces=list(addresses), ip_version=IPVersion.V4Only)
            self._open.register_service(record(self.name, self.port, addresses))
        except (OSError, Error, RuntimeError) as error:
            why = str(error) or type(error).__name__
            self.close()
            return why
        return ""

    def close(self) -> None:
        """Take the name back."""
        if self._open is not None:
            self._open.close()
            self._open = None
