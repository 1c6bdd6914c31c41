"""What the tests of the service on a site share."""

import contextlib
import json
import socket
import ssl
import subprocess
import sys

NAME = "hullwright-ab12.local"
HERE = ("192.168.7.20", "10.1.2.3")


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def shake_with(offering, trusted, name):
    """One TLS handshake in memory: gives the names of the certificate; raises where the client refuses."""
    asking = ssl.create_default_context(cadata=trusted)
    up, down = ssl.MemoryBIO(), ssl.MemoryBIO()
    client = asking.wrap_bio(down, up, server_hostname=name)
    server = offering.wrap_bio(up, down, server_side=True)
    for _ in range(10):
        for end in (client, server):
            with contextlib.suppress(ssl.SSLWantReadError):
                end.do_handshake()
        if client.version() and server.version() and client.getpeercert():
            break
    return {value for _, value in client.getpeercert()["subjectAltName"]}


@contextlib.contextmanager
def serving(world, tmp_path, *more, setup=True):
    """``hullwright serve --lan`` on a loopback address; gives what it said as JSON."""
    command = [sys.executable, "-m", "hullwright", "serve", str(world.folder), "--port", str(free_port()), "--data", str(tmp_path / "d"), "--no-browser", "--json",
               "--lan", "--lan-address", "127.0.0.3", "--no-announce", *(["--setup-page"] if setup else []), *more]  # fmt: skip
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        try:
            said = ""
            while not said.endswith("\n}\n"):  # indented: the last line of the object stands alone
                line = process.stdout.readline()
                assert line, f"it ended before it had started: {said}"
                said += line
            yield json.loads(said), process
            process.terminate()
            process.wait(300)
        finally:
            process.kill()
