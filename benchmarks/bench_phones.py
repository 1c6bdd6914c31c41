"""50 phones each send a reading every 2 s: is none lost, and how long does an answer take.

Starts the service on the loopback address, ends it, and cleans up by itself: ``python benchmarks/bench_phones.py [SECONDS]``.
Target: 95 of 100 answers within 300 ms, none lost.
"""

import json
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import threading
import time
import uuid
from pathlib import Path

import httpx
import numpy as np

PHONES = 50
EVERY = 2.0
HOUSE = Path(__file__).parents[1] / "examples" / "saltgrass-house.yaml"


def start(folder):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    shutil.copy(HOUSE, folder / "saltgrass.yaml")
    command = [sys.executable, "-m", "hullwright", "serve", folder, "--port", str(port), "--data", folder / "data", "--no-browser", "--json"]  # fmt: skip
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, env=os.environ | {"HULLWRIGHT_NO_PAGE": "1"}
    )
    lines = ""
    while not lines.endswith("\n}\n"):
        lines += process.stdout.readline()
    address, _, key = json.loads(lines)["page"].partition("/#key=")
    return process, address, key


def sign_in(address, key):
    page = httpx.Client(base_url=address, timeout=30)
    for _ in range(100):
        try:
            page.who = page.post("/api/session", json={"key": key}).raise_for_status().json()
            break
        except httpx.ConnectError:
            time.sleep(0.1)
    page.headers["X-Hullwright-Token"] = page.who["token"]
    return page


def phone_of(desk, address, number):
    asked = {"name": f"phone {number}", "role": "crew", "houses": ["saltgrass"]}
    made = desk.post("/api/invitations", json=asked).raise_for_status().json()
    phone = sign_in(address, made["address"].split("#invitation=")[1])
    desk.post(f"/api/devices/{phone.who['device']}/confirm").raise_for_status()
    return phone


def work(phone, offset, until, took, sent):
    time.sleep(offset)
    number = 0
    while time.monotonic() < until:
        number += 1
        name = str(uuid.uuid4())
        body = {
            "id": name, "kind": "gauge reading", "author": phone.who["person"], "device": phone.who["device"],
            "device_time": "2026-05-03T10:00:00+02:00", "device_sequence": number, "face": "main/south",
            "what": {"method": "liquid", "crew": "A", "surface": "clean", "notches_um": [300, 350, 400, 450], "last_wet_um": 350, "next_dry_um": 400},
        }  # fmt: skip
        begun = time.perf_counter()
        answer = phone.post(
            "/api/houses/saltgrass/entries", json={"entries": [{"id": name, "body": json.dumps(body)}]}
        )
        took.append(time.perf_counter() - begun)
        assert answer.json()["receipts"][0]["status"] == "stored", answer.text
        sent.append(name)
        time.sleep(max(0.0, EVERY - (time.perf_counter() - begun)))


def main():
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 30.0
    folder = Path(tempfile.mkdtemp(prefix="hullwright-bench-"))
    process, address, key = start(folder)
    try:
        desk = sign_in(address, key)
        phones = [phone_of(desk, address, number) for number in range(PHONES)]
        took, sent, until = [], [], time.monotonic() + seconds
        threads = [
            threading.Thread(target=work, args=(phone, EVERY * k / PHONES, until, took, sent))
            for k, phone in enumerate(phones)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        kept = {entry["id"] for entry in desk.get("/api/houses/saltgrass/entries").json()["entries"]}
    finally:
        process.terminate()
        process.wait(timeout=20)
        shutil.rmtree(folder)
    p50, p95, worst = (1000 * np.quantile(took, [0.5, 0.95, 1.0])).round(1)
    lost = len(set(sent) - kept)
    print(
        f"{len(sent)} readings of {PHONES} phones: p50 {p50} ms, p95 {p95} ms, worst {worst} ms, lost {lost}"
    )
    return 0 if lost == 0 and p95 <= 300 else 1


if __name__ == "__main__":
    sys.exit(main())
