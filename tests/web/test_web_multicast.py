"""Two machines on one wire: a phone finds the name by multicast, and again after the address of the service has changed.

Each machine is a network namespace; the phone's half is written from the standard, and shares no line with the program.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

HOUSE = """\
units: ft
name: Plain house
barrier: {top: roof deck, bottom: {kind: slab, level: 0}}
masses:
  - {name: main, size: [36, 26], base: 8 in, storeys: [9], roof: {form: gable, pitch: 6:12, ridge: east-west}}
aim: {budget: 9000}
"""
PATIENCE = 300
"""Seconds that nothing here takes on any machine: only what never comes is told by it."""
SERVE = """import sys
from hullwright.web import offer
offer.LOOK_EVERY = 0.5
from hullwright.cli.main import run
sys.exit(run())"""
# Source: RFC 6762, 5.1 (a one-shot query goes to 224.0.0.251, port 5353, from any port; the answer comes back to it) and 18;
# RFC 1035, 4.1 (header, question, resource record) and 4.1.4 (a pointer starts with two set bits).
PHONE = """import http.client, json, socket, ssl, struct, sys, time
own, name, port, certificate, most = sys.argv[1], sys.argv[2], int(sys.argv[3]), sys.argv[4], float(sys.argv[5])
def skip(data, at):
    while data[at] and data[at] < 192: at += 1 + data[at]
    return at + (2 if data[at] >= 192 else 1)
def labels(data, at):
    out = []
    while data[at]:
        if data[at] >= 192: at = (data[at] & 63) << 8 | data[at + 1]; continue
        out.append(data[at + 1:at + 1 + data[at]].decode()); at += 1 + data[at]
    return '.'.join(out)
def found(data):
    head, at, out = struct.unpack('>6H', data[:12]), 12, []
    if not head[1] & 0x8000: return out
    for _ in range(head[2]): at = skip(data, at) + 4
    for _ in range(sum(head[3:])):
        who, at = labels(data, at), skip(data, at)
        sort, group, ttl, size = struct.unpack('>HHIH', data[at:at + 10]); at += 10
        if sort == 1 and who.lower() == name.lower() and ttl: out.append(socket.inet_ntoa(data[at:at + 4]))
        at += size
    return out
ask = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
ask.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, socket.inet_aton(own)); ask.settimeout(0.3)
question = struct.pack('>6H', 7, 0, 1, 0, 0, 0) + b''.join(bytes([len(one)]) + one.encode() for one in name.split('.')) + b'\\0' + struct.pack('>2H', 1, 1)
until, told = time.monotonic() + most, []
while not told and time.monotonic() < until:
    ask.sendto(question, ('224.0.0.251', 5353))
    try:
        while not told: told = found(ask.recv(9000))
    except TimeoutError: pass
status = 0
if told:
    trusted = ssl.create_default_context(cafile=certificate)
    page = http.client.HTTPSConnection(told[0], port, timeout=120, context=trusted)
    try: line = socket.create_connection((told[0], port), 5)
    except OSError: line = None
    if line:
        line.settimeout(120)
        page.sock = trusted.wrap_socket(line, server_hostname=name)
        page.request('GET', '/', headers={'Host': f'{name}:{port}'}); status = page.getresponse().status
print(json.dumps({'addresses': told, 'status': status}))"""


def ip(*words):
    subprocess.run(["ip", *words], check=True, capture_output=True)


@pytest.fixture
def wire():
    """Two namespaces joined by a wire: the service's at 10.99.0.1, the phone's at 10.99.0.2."""
    if shutil.which("ip") is None or os.geteuid() != 0:
        pytest.skip("making machines of one's own needs `ip` (iproute2) and root")
    tag = secrets.token_hex(3)
    desk, phone = f"hw-desk-{tag}", f"hw-phone-{tag}"
    try:
        ip("netns", "add", desk)
        ip("netns", "add", phone)
        ip("link", "add", "wire", "netns", desk, "type", "veth", "peer", "name", "wire", "netns", phone)
    except subprocess.CalledProcessError as error:
        for one in (desk, phone):
            subprocess.run(["ip", "netns", "del", one], check=False, capture_output=True)
        pytest.skip(f"this machine makes no network namespaces: {error.stderr.decode().strip()}")
    try:
        for number, one in enumerate((desk, phone), 1):
            ip("-n", one, "addr", "add", f"10.99.0.{number}/24", "dev", "wire")
            ip("-n", one, "link", "set", "wire", "up")
            ip("-n", one, "link", "set", "lo", "up")
        yield desk, phone
    finally:
        for one in (desk, phone):
            subprocess.run(["ip", "netns", "del", one], check=False, capture_output=True)


def asked(phone, name, port, certificate, most=20.0):
    """What a phone finds that asks for so long: addresses, and what the page answers (0: nobody is at that address)."""
    command = ["ip", "netns", "exec", phone, sys.executable, "-c", PHONE]
    answer = subprocess.run(
        [*command, "10.99.0.2", name, str(port), str(certificate), str(most)],
        capture_output=True, text=True, check=False, timeout=PATIENCE,
    )  # fmt: skip
    assert answer.returncode == 0, answer.stderr
    return json.loads(answer.stdout)


def found_at(address, phone, name, port, certificate):
    """Ask until the page answers at an address.

    Until the service has looked at its addresses it answers with those of before, and nobody is there any more: a phone
    asks again, and so does this.
    """
    until = time.monotonic() + PATIENCE
    while (told := asked(phone, name, port, certificate))["addresses"] != [address] or not told["status"]:
        assert time.monotonic() < until, told
    return told["status"]


@contextlib.contextmanager
def serving(desk, folder):
    """The service in its namespace, and what it said when it had started; ended surely."""
    command = ["ip", "netns", "exec", desk, sys.executable, "-c", SERVE, "serve", str(folder / "houses"),
               "--data", str(folder / "data"), "--no-browser", "--json", "--lan"]  # fmt: skip
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, env=os.environ | {"HULLWRIGHT_NO_PAGE": "1"}
    ) as served:
        try:
            said = ""
            while not said.endswith("\n}\n"):
                line = served.stdout.readline()
                assert line, f"it ended before it had started: {said}"
                said += line
            yield json.loads(said)["lan"]
            served.terminate()
            assert served.wait(PATIENCE) in {0, -signal.SIGTERM}, "it ends by itself"
        finally:
            served.kill()


@pytest.mark.parametrize(
    "between", [0.0, 2.0]
)  # s; the service looks every 0.5 s here, and sees the gap or not: both must do
def test_a_phone_finds_the_name_again_after_the_address_changed(wire, tmp_path, between):
    desk, phone = wire
    (tmp_path / "houses").mkdir()
    (tmp_path / "houses/plain-house.yaml").write_text(HOUSE, encoding="utf-8")
    certificate = Path(tmp_path / "data/lan/authority.crt")
    with serving(desk, tmp_path) as told:
        name, _, port = told["page"].removeprefix("https://").rstrip("/").partition(":")
        port = port or 443
        assert told["addresses"] == ["10.99.0.1"]
        # The same name and port under both addresses, and a certificate that the phone trusts: what it keeps is of that origin.
        first = found_at("10.99.0.1", phone, name, port, certificate)
        assert first in {200, 404}  # 404: this page was not built
        ip("-n", desk, "addr", "del", "10.99.0.1/24", "dev", "wire")  # out of the network for a while
        time.sleep(between)
        ip("-n", desk, "addr", "add", "10.99.0.7/24", "dev", "wire")
        assert found_at("10.99.0.7", phone, name, port, certificate) == first
    # Source: RFC 6762, 10.1: who goes takes its records back (time to live 0). Nobody answers then.
    assert asked(phone, name, port, certificate, most=2.0)["addresses"] == []
