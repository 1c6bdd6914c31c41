"""A PostgreSQL server of the tests' own: thrown away at the end, reached by a socket only."""

import contextlib
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import uuid
from pathlib import Path

import psycopg
import pytest

from hullwright.store.place import Address

PATIENCE = 300
"""Seconds that nothing here takes on any machine: only what never comes is told by it."""
# Ends the server where the tests end without a word (killed, or out of time): their end of the pipe closes then. A number is
# taken for the server's only if what runs under it names this folder.
GUARD = """import os, signal, subprocess, sys
sys.stdin.read()
data = sys.argv[1]
try:
    with open(data + '/postmaster.pid') as file:
        pid = int(file.readline())
    told = subprocess.run(['ps', '-o', 'args=', '-p', str(pid)], capture_output=True, text=True, check=False).stdout
    if data in told:
        os.kill(pid, signal.SIGQUIT)
except (OSError, ValueError):
    pass
"""


def _program(name):
    beside = shutil.which("initdb")
    folders = (
        [str(Path(beside).resolve().parent)]
        if beside
        else sorted(map(str, Path("/usr/lib/postgresql").glob("*/bin")), reverse=True)
    )
    return next((f"{folder}/{name}" for folder in folders if Path(folder, name).exists()), None)


def _other_user():
    """PostgreSQL never runs as root: another account that is there takes its place."""
    import pwd  # noqa: PLC0415 - POSIX systems only

    for name in ("postgres", "nobody"):
        try:
            return pwd.getpwnam(name)
        except KeyError:
            continue
    return None


class Server:
    """A cluster in a folder of its own.

    Everything but durability is as PostgreSQL comes; fsync stays on, so that a killed server is what it is on a site.
    """

    def __init__(self, folder):
        self.folder, self.data = Path(folder), Path(folder) / "data"
        self.account = _other_user() if os.geteuid() == 0 else None
        self.process = self.guard = None
        self.folder.chmod(0o755)
        if self.account:
            os.chown(self.folder, self.account.pw_uid, self.account.pw_gid)
        self._run(
            _program("initdb"),
            "-D",
            self.data,
            "-U",
            "lead",
            "-A",
            "trust",
            "-E",
            "UTF8",
            "--locale=C",
            "--no-sync",
        )

    def _demoted(self):
        if self.account is None:
            return {}
        return {"user": self.account.pw_uid, "group": self.account.pw_gid, "extra_groups": []}

    def _run(self, *command):
        done = subprocess.run(
            [str(part) for part in command],
            capture_output=True,
            check=False,
            text=True,
            cwd=self.folder,
            **self._demoted(),
        )
        assert done.returncode == 0, done.stdout + done.stderr

    def start(self):
        settings = [
            f"unix_socket_directories={self.folder}",
            "listen_addresses=",
            "max_connections=60",
            "shared_buffers=16MB",
        ]
        command = [
            _program("postgres"),
            "-D",
            str(self.data),
            *(word for one in settings for word in ("-c", one)),
        ]
        if self.guard is None:
            self.guard = subprocess.Popen(
                [sys.executable, "-c", GUARD, str(self.data)], stdin=subprocess.PIPE
            )
        with (self.folder / "log").open("a") as log:
            self.process = subprocess.Popen(
                command,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=log,
                cwd=self.folder,
                **self._demoted(),
            )
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until:
            done = subprocess.run([_program("pg_isready"), "-h", str(self.folder), "-q"], check=False)
            if done.returncode == 0:
                return self
            assert self.process.poll() is None, (self.folder / "log").read_text()
            time.sleep(0.05)
        raise AssertionError((self.folder / "log").read_text())

    def crash(self):
        """Kill the server and all that it started at once, as a power cut does to a program."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGSTOP)  # from here on it starts nobody more
            for pid in self._children():
                try:
                    os.kill(pid, signal.SIGKILL)
                except ProcessLookupError:
                    continue
            self.process.kill()
        self.process.wait()

    def _children(self):
        told = subprocess.run(
            ["ps", "-o", "pid=", "--ppid", str(self.process.pid)], capture_output=True, text=True, check=False
        )
        return [int(pid) for pid in told.stdout.split()]

    def stop(self):
        """End it for good.

        What is in it is thrown away, so nothing is written to the disk first: that is what took longer than a minute on a
        loaded machine. It cuts off at once whoever is still connected, and kills after five seconds who doesn't go.
        """
        if self.process and self.process.poll() is None:
            self.process.send_signal(signal.SIGQUIT)
            try:
                self.process.wait(timeout=60)
            except subprocess.TimeoutExpired:
                self.crash()
        if self.guard is not None:
            self.guard.stdin.close()
            self.guard.wait(timeout=PATIENCE)
            self.guard = None

    def database(self):
        """Make an empty database and give its address."""
        name = f"t{uuid.uuid4().hex[:12]}"
        with psycopg.connect(f"postgresql://lead@/postgres?host={self.folder}", autocommit=True) as raw:
            raw.execute(f"CREATE DATABASE {name} TEMPLATE template0")
        return Address(f"postgresql://lead@/{name}?host={self.folder}")


def _new_server():
    if _program("initdb") is None or (os.geteuid() == 0 and _other_user() is None):
        words = (
            "no PostgreSQL is on this machine: its store is not tested (Debian: apt-get install postgresql)"
        )
        if os.environ.get("CI", "").lower() == "true":
            pytest.fail(words)
        pytest.skip(words)
    return Server(tempfile.mkdtemp(prefix="hw-pg-", dir="/tmp" if Path("/tmp").is_dir() else None))


@contextlib.contextmanager
def _running():
    server = _new_server()
    try:
        yield server.start()
    finally:
        server.stop()
        shutil.rmtree(server.folder, ignore_errors=True)


@pytest.fixture(scope="session")
def shared_server():
    with _running() as server:
        yield server


@pytest.fixture
def own_server():
    """A server that a test may kill."""
    with _running() as server:
        yield server


@pytest.fixture(params=["file", "server"])
def place(request, tmp_path, monkeypatch):
    """Where a store may be: each test that takes it runs on both."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))  # what an upgrade or restore saves first
    if request.param == "file":
        return tmp_path / "data" / "store.sqlite3"
    return request.getfixturevalue("shared_server").database()
