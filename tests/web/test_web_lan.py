"""The service on a building site: what each listener refuses, what it says, what is announced."""

import json
import os
import plistlib
import re
import socket
import ssl
import subprocess
import sys

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from lan_kit import HERE, NAME, free_port, serving, shake_with

from hullwright.app.log import open_log
from hullwright.cli.main import main
from hullwright.errors import InputError
from hullwright.store.backup import backup
from hullwright.web import authority as au
from hullwright.web.announce import Announcer, record
from hullwright.web.lan import Lan, Settings, settings_of
from hullwright.web.offer import Offer, Wish
from hullwright.web.setup_page import SetupPage


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "lan"


@pytest.fixture
def authority(folder):
    return au.open_authority(folder, NAME)


# -- the page over TLS --


@pytest.fixture
def lan(authority):
    made = Lan(Settings(NAME, 8766, 8767), authority, find=lambda: HERE)
    made.look()
    return made


@pytest.fixture
def offered(world, lan):
    """The service of a test, offered to phones."""
    world.service.lan = lan
    return world


def phone(world, base=f"https://{NAME}:8766"):
    page = world.page()
    page.base_url = base
    return page


@pytest.mark.parametrize(
    "host", [f"{NAME}:8766", f"{HERE[0]}:8766", f"{HERE[1]}:8766", f"{NAME.upper()}:8766"]
)
def test_own_names_are_answered_over_tls(offered, host):
    assert phone(offered).get("/api/session", headers={"host": host}).status_code == 401


HOSTS = [
    "evil.example", "evil.example:8766", NAME, f"{NAME}:8765", f"{NAME}:443", f"{NAME}.evil.example:8766", f"evil.{NAME}:8766", "localhost:8765",
    "localhost:8766", "127.0.0.1:8766", "127.0.0.1:8765", "192.168.7.21:8766", HERE[0], "", f"{NAME}:8766@evil", f"evil@{NAME}:8766", "0.0.0.0:8766",
]  # fmt: skip


@pytest.mark.parametrize("host", HOSTS)
def test_rebound_names_are_refused_over_tls(offered, host):
    for path in ("/", "/api/session", "/sw.js"):
        answer = phone(offered).get(path, headers={"host": host})
        assert answer.status_code == 421, (path, answer.text)


@pytest.mark.parametrize("host", [f"{NAME}:8766", f"{NAME}:8765", f"{HERE[0]}:8765", f"{HERE[0]}:8766"])
def test_names_of_the_site_are_refused_in_clear(offered, host):
    assert offered.page().get("/api/session", headers={"host": host}).status_code == 421


def test_without_lan_nothing_is_answered_over_tls(world):
    for host in ("localhost:8765", f"{NAME}:8766"):
        assert phone(world).get("/api/session", headers={"host": host}).status_code == 421


def test_pages_of_others_may_not_write_over_tls(offered):
    desk = phone(offered)
    desk.sign_in("the key of the desk")
    for origin in (f"http://{NAME}:8766", f"https://{NAME}", f"https://{NAME}:8767", f"http://{NAME}:8767", "http://localhost:8765", "https://localhost:8766",
                   "https://evil.example", "null", f"https://{NAME}:8766.evil.example", f"https://evil.{NAME}:8766"):  # fmt: skip
        answer = desk.post("/api/fantest", json={}, headers={"origin": origin})
        assert answer.status_code == 403, origin
        assert answer.json()["error"]["message"] == "another page may not write here"
    # 422: past the gate, and the empty question is refused.
    assert desk.post("/api/fantest", json={}, headers={"origin": f"https://{NAME}:8766"}).status_code == 422
    assert (
        offered.desk().post("/api/fantest", json={}, headers={"origin": f"https://{NAME}:8766"}).status_code
        == 403
    )


def test_cookie_over_tls_is_bound_to_the_name_and_out_of_reach(offered):
    page = phone(offered)
    answer = page.sign_in("the key of the desk")
    cookie = answer.headers["set-cookie"]
    name, *attributes = (part.strip().lower() for part in cookie.split(";"))
    assert name.startswith("__host-hullwright_session=")
    assert {"secure", "httponly", "samesite=strict", "path=/"} <= set(attributes)
    assert not any(one.startswith("domain") for one in attributes)
    assert page.get("/api/session").status_code == 200
    gone = page.delete("/api/session")
    assert gone.status_code == 200
    assert page.get("/api/session").status_code == 401


def test_cookie_of_one_scheme_is_none_in_the_other(offered):
    secure, clear = phone(offered), offered.desk()
    secure.sign_in("the key of the desk")
    key = next(value for value in secure.cookies.values())
    assert (
        offered.page().get("/api/session", headers={"cookie": f"__Host-hullwright_session={key}"}).status_code
        == 401
    )
    own = clear.cookies["hullwright_session"]
    assert (
        phone(offered).get("/api/session", headers={"cookie": f"hullwright_session={own}"}).status_code == 401
    )


def test_browsers_are_told_to_stay_with_tls_but_never_for_localhost(offered):
    assert (
        int(phone(offered).get("/api/session").headers["strict-transport-security"].split("=")[1])
        >= 180 * 86_400
    )
    assert "strict-transport-security" not in offered.page().get("/api/session").headers
    assert "secure" not in offered.page().sign_in("the key of the desk").headers["set-cookie"].lower()


def test_invitation_made_at_the_desk_leads_to_the_stable_address(offered):
    desk = offered.desk()
    asked = desk.post("/api/invitations", json={"name": "Ana", "role": "crew", "houses": ["shed"]}).json()
    assert asked["address"].startswith(f"https://{NAME}:8766/#invitation=")
    offered.service.lan = None
    asked = desk.post("/api/invitations", json={"name": "Ana", "role": "crew", "houses": ["shed"]}).json()
    assert asked["address"].startswith("http://localhost:8765/#invitation=")


# -- ready --


def test_device_is_ready_only_once_it_says_so_over_tls(offered):
    desk = offered.desk()
    asked = desk.post("/api/invitations", json={"name": "Ana", "role": "crew", "houses": ["shed"]}).json()
    page = phone(offered)
    page.sign_in(asked["address"].split("#invitation=")[1])

    def ready():
        return {one["id"]: one["ready_at"] for one in desk.get("/api/devices").json()["devices"]}

    assert page.post("/api/session/ready", json={"seen_offline": True}).status_code == 401, (
        "the desk has not let it in"
    )
    assert desk.post(f"/api/devices/{page.who['device']}/confirm").status_code == 200
    assert set(ready().values()) == {""}
    for wrong in (
        {},
        {"seen_offline": False},
        {"seen_offline": "yes"},
        {"seen_offline": True, "device": desk.who["device"]},
    ):
        assert page.post("/api/session/ready", json=wrong).status_code == 422, wrong
    assert desk.post("/api/session/ready", json={"seen_offline": True}).status_code == 403, "in clear"
    assert (
        page.post(
            "/api/session/ready", json={"seen_offline": True}, headers={"X-Hullwright-Token": "x"}
        ).status_code
        == 403
    )
    assert set(ready().values()) == {""}
    assert page.post("/api/session/ready", json={"seen_offline": True}).status_code == 200
    assert ready()[page.who["device"]]
    assert ready()[desk.who["device"]] == ""


# -- the set-up page --


@pytest.fixture
def setup(lan, world):
    return type(world.page())(SetupPage(lan), base_url=f"http://{HERE[0]}:8767", follow_redirects=False)


def test_setup_page_says_what_to_do_in_both_languages(setup):
    english, spanish = setup.get("/en").text, setup.get("/es").text
    assert 'lang="en"' in english
    assert 'lang="es"' in spanish
    for text in (english, spanish):
        assert f"https://{NAME}:8766/" in text
        assert "/hullwright-authority.crt" in text
        assert "/hullwright-authority.mobileconfig" in text
        assert "SHA-256" in text
        assert "<script" not in text
        assert not re.search(r'(?:src|href)="(?!/|https://hullwright-ab12\.local:8766/)', text), (
            "nothing from elsewhere"
        )
        assert "Shed" not in text, "no house"
    assert "Certificate Trust Settings" in english
    assert "does not work without signal" in english
    assert "no funciona sin señal" in spanish
    assert setup.get("/").text == english
    assert setup.get("/", headers={"accept-language": "es-MX,es;q=0.9"}).text == spanish


def test_setup_page_gives_the_certificate_to_both_kinds_of_phone(setup, authority):
    plain = setup.get("/hullwright-authority.crt")
    assert plain.headers["content-type"] == "application/x-x509-ca-cert"
    assert au.fingerprint(x509.load_der_x509_certificate(plain.content)) == authority.fingerprint
    profile = setup.get("/hullwright-authority.mobileconfig")
    assert profile.headers["content-type"] == "application/x-apple-aspen-config"
    told = plistlib.loads(profile.content)
    (inner,) = told["PayloadContent"]
    assert inner["PayloadType"] == "com.apple.security.root"
    assert inner["PayloadContent"] == plain.content
    assert told["PayloadUUID"] != inner["PayloadUUID"]
    assert profile.content == setup.get("/hullwright-authority.mobileconfig").content
    key = authority.key.private_numbers().private_value.to_bytes(32, "big")
    for answer in (plain, profile, setup.get("/")):
        assert key not in answer.content
        assert b"PRIVATE" not in answer.content


PATHS = ["/api/session", "/api/houses", "/api/openapi.json", "/sw.js", "/index.html", "/authority.key", "/hullwright-authority.crt/", "/en//", "/../x", "/%2e%2e/lan/authority.key", "/en/", "/static/x", "/service.pem", "/settings.json"]  # fmt: skip


@pytest.mark.parametrize("path", PATHS)
def test_setup_page_knows_no_other_path(setup, path):
    answer = setup.get(path)
    assert answer.status_code == 404
    assert "only the set-up page" in answer.text


@pytest.mark.parametrize(
    "method", ["POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT", "PROPFIND"]
)
@pytest.mark.parametrize("path", ["/", "/hullwright-authority.crt", "/api/session"])
def test_setup_page_takes_nothing_in(setup, method, path):
    answer = setup.request(method, path, content=b'{"key": "the key of the desk"}')
    assert answer.status_code == 405
    assert answer.headers["allow"] == "GET, HEAD"
    assert "only read" in answer.text


@pytest.mark.parametrize(
    "host", ["evil.example:8767", "localhost:8767", f"{NAME}:8766", NAME, "", "192.168.7.21:8767"]
)
def test_setup_page_answers_to_its_own_names_only(setup, host):
    assert setup.get("/", headers={"host": host}).status_code == 421
    assert setup.get("/hullwright-authority.crt", headers={"host": host}).status_code == 421


def test_setup_page_never_sets_a_cookie_and_carries_the_browser_rules(setup):
    for method, path in (("GET", "/"), ("GET", "/es"), ("GET", "/hullwright-authority.crt"), ("GET", "/hullwright-authority.mobileconfig"), ("GET", "/x"), ("POST", "/"), ("HEAD", "/")):  # fmt: skip
        answer = setup.request(method, path, headers={"cookie": "hullwright_session=x"})
        assert "set-cookie" not in answer.headers
        assert "strict-transport-security" not in answer.headers
        assert answer.headers["cache-control"] == "no-store"
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert answer.headers["x-content-type-options"] == "nosniff"


def test_head_is_the_page_without_its_body(setup):
    head = setup.head("/")
    assert head.status_code == 200
    assert head.content == b""
    assert int(head.headers["content-length"]) == len(setup.get("/").content)


# -- kept apart --


def test_backup_holds_no_key(offered, tmp_path):
    """The key lies beside the store, and a backup copies the store alone."""
    home = offered.data
    own = au.open_authority(home / "lan", NAME)
    own.leaf(HERE)
    desk = offered.desk()
    desk.send_entries(desk.entry("hole", {"text": "x", "made_by": "x"}))
    target = tmp_path / "kept/backup.sqlite3"
    target.parent.mkdir()
    backup(open_log("any", str(home)).path, target)
    copied = b"".join(one.read_bytes() for one in target.parent.rglob("*") if one.is_file())
    assert len(copied) > 1000
    secret = own.key.private_numbers().private_value.to_bytes(32, "big")
    pem = (home / "lan" / au.KEY_FILE).read_bytes()
    for part in (secret, pem, pem.splitlines()[1], b"PRIVATE KEY", own.der, NAME.encode()):
        assert part not in copied


def test_forgetting_says_what_it_means_and_removes_only_when_told(tmp_path, capsys):
    settings = settings_of(tmp_path)
    made = au.open_authority(tmp_path / "lan", settings.name)
    made.leaf(HERE)
    asked = ["serve", "--forget-authority", "--data", str(tmp_path)]
    assert main(asked) == 1
    said = capsys.readouterr().out
    assert "Nothing was removed" in said
    assert "can't send" in said
    assert made.service_file.exists()
    assert main([*asked, "--yes", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert len(told["removed"]) == 3
    assert [one.name for one in (tmp_path / "lan").iterdir()] == ["settings.json"]
    assert settings_of(tmp_path) == settings, "what phones keep hangs on name and port"
    assert au.open_authority(tmp_path / "lan", settings.name).fingerprint != made.fingerprint


# -- announced --


def test_announced_is_the_name_with_its_addresses_and_port():
    told = record(NAME, 8766, HERE)
    # Source: RFC 6762 and RFC 6763, clause 4.1: names end in "local.", a service in its type. Tolerance: none.
    assert told.server == f"{NAME}."
    assert told.type == "_https._tcp.local."
    assert told.name == "hullwright-ab12._https._tcp.local."
    assert told.port == 8766
    assert [socket.inet_ntoa(one) for one in told.addresses] == list(HERE)
    assert not told.properties, "nothing of any house"


def test_port_of_the_desk_is_not_offered_twice(world):
    for options in ((8765, free_port()), (free_port(), 8765)):
        with pytest.raises(InputError, match="one port"):
            Offer(world.service, Wish(*options, addresses=("127.0.0.1",)))
        (world.data / "lan/settings.json").unlink()


def test_network_without_multicast_is_said_with_the_way_out(world, monkeypatch):
    monkeypatch.setattr(Announcer, "announce", lambda *_: "no multicast here")
    offer = Offer(world.service, Wish(free_port(), free_port(), addresses=("127.0.0.1",)))
    try:
        (said,) = offer.start()["cautions"]
    finally:
        offer.close()
    assert "no multicast here" in said
    assert "router" in said
    assert "file" in said


def test_machine_without_address_is_said(world):
    offer = Offer(world.service, Wish(free_port(), free_port(), addresses=("127.0.0.1",)))
    try:
        offer.lan.bind, offer.lan.find = (), tuple
        offer.lan.look()
        offer.wish = Wish(setup_page=True)
        told = offer.start()
    finally:
        offer.close()
    assert "no private IPv4 address" in told["cautions"][0]
    assert told["setup"] == ""


# -- a process of its own --


def ask(port, lines, context=None, name=None):
    """Send one request as bytes; the port is taken before anything is said, so nobody waits for it."""
    raw = socket.create_connection(("127.0.0.3", port), 60)
    with raw, context.wrap_socket(raw, server_hostname=name) if context else raw as line:
        line.sendall("\r\n".join([*lines, "connection: close", "", ""]).encode())
        return b"".join(iter(lambda: line.recv(65_536), b"")).decode()


def test_serve_offers_both_pages_and_ends_all_of_them(world, tmp_path):
    port, setup_port = free_port(), free_port()
    with serving(world, tmp_path, "--lan-port", str(port), "--setup-port", str(setup_port)) as (
        told,
        process,
    ):
        name = told["lan"]["page"].removeprefix("https://").split(":")[0]
        made = x509.load_pem_x509_certificate((tmp_path / "d/lan" / au.CERTIFICATE_FILE).read_bytes())
        assert told["lan"]["fingerprint"] == au.fingerprint(made)
        assert told["lan"]["page"] == f"https://{name}:{port}/"
        assert told["lan"]["setup"] == f"http://127.0.0.3:{setup_port}/"
        assert told["page"].startswith("http://localhost:")
        plain = ask(setup_port, ["GET / HTTP/1.1", f"host: 127.0.0.3:{setup_port}"])
        assert plain.startswith("HTTP/1.1 200")
        assert "set-cookie" not in plain.lower()
        context = ssl.create_default_context(cadata=made.public_bytes(serialization.Encoding.PEM).decode())
        secure = ask(port, ["GET /api/session HTTP/1.1", f"host: {name}:{port}"], context, name)
        assert secure.startswith("HTTP/1.1 401")
        assert ask(port, ["GET / HTTP/1.1", "host: evil.example"], context, name).startswith("HTTP/1.1 421")
        # A header that only a proxy may send says nothing about the scheme.
        forged = ask(
            setup_port,
            ["GET /api/session HTTP/1.1", f"host: {name}:{setup_port}", "x-forwarded-proto: https"],
        )
        assert forged.startswith("HTTP/1.1 404")
        old = ssl.create_default_context(cadata=made.public_bytes(serialization.Encoding.PEM).decode())
        old.maximum_version = ssl.TLSVersion.TLSv1_2
        old.minimum_version = ssl.TLSVersion.TLSv1_2
        assert ask(port, ["GET /api/session HTTP/1.1", f"host: {name}:{port}"], old, name).startswith(
            "HTTP/1.1 401"
        )
        with socket.create_connection(("127.0.0.3", port), 60) as clear:
            clear.sendall(b"GET / HTTP/1.1\r\nhost: x\r\n\r\n")
            assert b"HTTP" not in clear.recv(100), "nothing in clear on that port"
    assert process.returncode is not None
    for one in (port, setup_port):
        with socket.socket() as probe:
            assert probe.connect_ex(("127.0.0.3", one)) != 0


def test_nothing_is_in_clear_unless_the_setup_page_is_asked_for(world, tmp_path):
    port, setup_port = free_port(), free_port()
    with serving(world, tmp_path, "--lan-port", str(port), "--setup-port", str(setup_port), setup=False) as (
        told,
        _,
    ):
        assert told["lan"]["setup"] == ""
        name = told["lan"]["page"].removeprefix("https://").split(":")[0]
        context = ssl.create_default_context(cafile=str(tmp_path / "d/lan" / au.CERTIFICATE_FILE))
        assert ask(port, ["GET /api/session HTTP/1.1", f"host: {name}:{port}"], context, name).startswith(
            "HTTP/1.1 401"
        )
        with socket.socket() as probe:
            assert probe.connect_ex(("127.0.0.3", setup_port)) != 0


def test_terminal_shows_addresses_code_and_fingerprint(world, tmp_path):
    command = [sys.executable, "-m", "hullwright", "serve", str(world.folder), "--port", str(free_port()), "--data", str(tmp_path / "d"), "--no-browser", "--lan", "--setup-page",
               "--lan-address", "127.0.0.3", "--lan-port", str(free_port()), "--setup-port", str(free_port()), "--no-announce"]  # fmt: skip
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONUTF8": "1"}
    ) as process:
        try:
            said = ""
            for line in process.stdout:
                said += line
                if line.startswith("Ctrl-C"):
                    break
        finally:
            process.terminate()
            process.wait(300)
    assert re.search(r"phones:  https://hullwright-\w{4}\.local:\d+/", said)
    assert re.search(r"set-up:  http://127\.0\.0\.3:\d+/", said)
    assert said.count("█") > 100, "the code"
    pairs = "".join(re.findall(r"^ {9}((?:[0-9A-F]{2}:){7}[0-9A-F]{2})$", said, re.MULTILINE))
    made = x509.load_pem_x509_certificate((tmp_path / "d/lan" / au.CERTIFICATE_FILE).read_bytes())
    assert pairs.replace(":", "") == au.fingerprint(made).replace(":", "")


def test_new_address_is_served_at_once_without_a_new_start(world):
    """The certificate of the running listener changes where the machine moves to another address."""
    addresses = ["192.168.7.20"]
    offer = Offer(world.service, Wish(free_port(), free_port(), addresses=("127.0.0.1",), announce=False))
    try:
        offer.lan.bind, offer.lan.find = (), lambda: addresses
        offer.look()
        (server, _), _ = offer.servers(world.app)
        trusted = offer.lan.authority.der
        name = offer.lan.settings.name
        assert shake_with(server.config.ssl, trusted, name) == {name, "192.168.7.20"}
        addresses[0] = "192.168.7.21"
        offer.look()
        assert shake_with(server.config.ssl, trusted, name) == {name, "192.168.7.21"}
    finally:
        offer.close()
