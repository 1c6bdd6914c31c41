"""Start the service on this machine, and where it is asked for, on the building site."""

from __future__ import annotations

import contextlib
import secrets
import sys
import threading
import time
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from hullwright.errors import InputError, OutputError, Problem, Where

if TYPE_CHECKING:
    from hullwright.web.offer import Offer, Wish

PORT: Final = 8765
HOST: Final = "127.0.0.1"


def serve(
    folder: str | Path = ".",
    *,
    port: int = PORT,
    open_browser: bool = True,
    data: str | None = None,
    say: Callable[[dict[str, Any]], object] = print,
    lan: Wish | None = None,
) -> int:
    """Serve the houses of a folder until Ctrl-C.

    Parameters
    ----------
    folder : str or Path
        Folder with building files.
    port : int
        On the loopback address.
    open_browser : bool
        Open the page, signed in.
    data : str or None
        Folder of log, people and jobs; None for the usual place.
    say : callable
        Told where the houses and the store are, and the address of the page.
    lan : Wish or None
        How to offer the page to phones too; None offers nothing to the network.

    Returns
    -------
    int
        0

    Raises
    ------
    InputError
        Where the folder is none, or a port can't be used.
    """
    from hullwright.web import build  # noqa: PLC0415 - heavy, only where a service starts
    from hullwright.web.api import create  # noqa: PLC0415 - see above
    from hullwright.web.service import make  # noqa: PLC0415 - see above

    place = _folder(folder)
    _check_port(port)
    if build.missing():
        build.build(lambda text: sys.stderr.write(f"{text}\n"))
    key = secrets.token_urlsafe(32)
    with contextlib.ExitStack() as stack:
        service = make(place, data, port, key)
        stack.callback(service.close)
        address = f"http://localhost:{port}/#key={key}"
        told: dict[str, Any] = {"houses": str(place), "store": str(service.store), "page": address}
        app, offer = create(service), None
        if lan is not None:
            from hullwright.web.offer import Offer  # noqa: PLC0415 - see above

            offer = Offer(service, lan)
            stack.callback(offer.close)
            service.lan = offer.lan
            told["lan"] = offer.start()
        say(told)
        server = _server(app, port, offer)
        if open_browser:
            threading.Thread(target=_open, args=(server, address), daemon=True).start()
        server.run()
    return 0


def _server(app: Any, port: int, offer: Offer | None) -> Any:
    import uvicorn  # noqa: PLC0415 - heavy, only where a service starts

    config = uvicorn.Config(
        app, host=HOST, port=port, log_level="warning", server_header=False, timeout_graceful_shutdown=3,
        timeout_keep_alive=30, limit_concurrency=400, proxy_headers=False,
    )  # fmt: skip
    if offer is None:
        return uvicorn.Server(config)
    from hullwright.web.offer import with_others  # noqa: PLC0415 - see above

    return with_others(config, offer.servers(app))


def _open(server: Any, address: str) -> None:
    """Open the page once the service answers."""
    for _ in range(200):
        if server.started:
            webbrowser.open(address)
            return
        time.sleep(0.05)


def _folder(folder: str | Path) -> Path:
    place = Path(folder).expanduser().resolve()
    if not place.is_dir():
        problem = Problem("no such folder", Where(str(folder)), allowed="a folder with building files")
        raise InputError("nothing can be served from there", [problem])
    return place


def _check_port(port: int) -> None:
    import socket  # noqa: PLC0415 - only where a service starts

    if not 1 <= port <= 65535:
        raise InputError(
            "this port can't be used", [Problem("not a port", Where(key="--port"), str(port), "1 to 65535")]
        )
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
        except OSError as error:
            problem = Problem(
                "the port is taken",
                Where(key="--port"),
                str(port),
                "a free port",
                "is the service running already?",
            )
            raise OutputError("the service can't start there", [problem]) from error
