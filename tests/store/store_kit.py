"""Writers in processes of their own, to be killed."""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

from hullwright.store.backup import verify
from hullwright.store.database import Store
from hullwright.store.entries import list_entries
from hullwright.store.place import full

SOURCE = str(Path(__file__).parents[2] / "src")
WRITER = """
import os, sys, uuid
from datetime import datetime, UTC
from hullwright.proof.entries import Entry, Stamp
from hullwright.store.database import Store
from hullwright.store.entries import Sending, append
from hullwright.store.place import place_of
path, device, count = place_of(sys.argv[1]), sys.argv[2], int(sys.argv[3])
now = datetime(2024, 5, 3, tzinfo=UTC)
if len(sys.argv) > 4:  # step down from root, which may write everywhere
    os.setgid(65534)
    os.setuid(65534)
with Store(path) as store:
    for i in range(count):
        entry = Entry(str(uuid.uuid4()), "remark", Stamp("lead", device, now, i), what={"text": "x" * (i * 37 % 1500 + 1)})
        append(store, "h", entry, Sending(now))
        sys.stdout.write(entry.id + "\\n")
        sys.stdout.flush()
"""


def start(path, device="p1", count=100_000, *, step_down=False, **more):
    arguments = [full(path), device, str(count), *(["step down"] if step_down else [])]
    environment = {**os.environ, "PYTHONPATH": SOURCE}
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
        **more,
    )


def kill_while_writing(path, times, seed):
    """Kill -9 a writer again and again; every id it had printed (after its commit) must be there."""
    rng, acknowledged = random.Random(seed), set()
    for _ in range(times):
        writer = start(path)
        acknowledged.add(writer.stdout.readline().strip())  # it is writing now
        time.sleep(rng.uniform(0, 0.05))
        writer.send_signal(signal.SIGKILL)
        rest, _ = writer.communicate()
        acknowledged |= {line for line in rest.splitlines() if len(line) == 36}
    return acknowledged


def check_all_there(path, acknowledged):
    with Store(path) as store:
        kept = {entry.id for entry in list_entries(store, "h")}
    assert acknowledged <= kept
    assert verify(path).ok
