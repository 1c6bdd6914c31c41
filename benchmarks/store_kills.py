"""Kill -9 a writer again and again; no acknowledged entry may be lost.

Run: ``python benchmarks/store_kills.py [KILLS]`` (10 000 by default: some 45 minutes on two cores). Each kill hits one of
the many writers that run one after the other on the same store; every thousand kills the store is verified to the last
byte and a new one begun, so that the time goes into kills and not into reading.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import tempfile
import time
import uuid
from datetime import UTC, datetime
from pathlib import Path

from hullwright.proof.entries import Entry, Stamp
from hullwright.store.backup import verify
from hullwright.store.database import Store
from hullwright.store.entries import Sending, append, list_entries

NOW = datetime(2024, 5, 3, tzinfo=UTC)
ROUND = 1000


def write_for_ever(path: Path, pipe: int) -> None:
    """Store entries; tell each id only after its commit."""
    with Store(path) as store:
        number = 0
        while True:
            number += 1
            entry = Entry(
                str(uuid.uuid4()),
                "remark",
                Stamp("lead", "p1", NOW, number),
                what={"text": "x" * (number * 37 % 1500 + 1)},
            )
            append(store, "h", entry, Sending(NOW))
            os.write(pipe, entry.id.encode())


def one_kill(path: Path, rng: random.Random) -> set[str]:
    """Fork a writer, kill it at a random moment, give the ids it had acknowledged."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read)
        try:
            write_for_ever(path, write)
        finally:
            os._exit(1)
    os.close(write)
    time.sleep(rng.uniform(0.0, 0.04))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    text = b""
    while part := os.read(read, 1 << 16):
        text += part
    os.close(read)
    return {text[i : i + 36].decode() for i in range(0, len(text) // 36 * 36, 36)}


def main(kills: int) -> None:
    """Kill, verify, say what was found."""
    rng, told, began = random.Random(1), 0, time.monotonic()
    done = 0
    while done < kills:
        with tempfile.TemporaryDirectory() as folder:
            path, known = Path(folder) / "store.sqlite3", set[str]()
            for _ in range(min(ROUND, kills - done)):
                known |= one_kill(path, rng)
                done += 1
            with Store(path) as store:
                lost = known - {entry.id for entry in list_entries(store, "h")}
            checked = verify(path)
            told += len(known)
            print(
                f"{done} kills, {told} acknowledged, {len(lost)} lost, sound: {checked.ok}, {time.monotonic() - began:.0f} s",
                flush=True,
            )
            if lost or not checked.ok:
                sys.exit(1)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
