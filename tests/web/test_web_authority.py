"""The authority for phones: what it may vouch for, when its certificate is made anew, and real handshakes."""

import ipaddress
import re
import socket
import ssl
import stat
import subprocess
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID
from lan_kit import HERE, NAME, free_port, shake_with

from hullwright.errors import InputError, OutputError
from hullwright.web import authority as au
from hullwright.web.lan import Lan, Settings, settings_of
from hullwright.web.offer import Offer, Wish


class At:
    """A clock that stands where a test puts it."""

    def __init__(self, now=None):
        self.now = now or datetime(2026, 5, 3, 10, tzinfo=UTC)

    def __call__(self):
        return self.now


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "lan"


@pytest.fixture
def authority(folder):
    return au.open_authority(folder, NAME)


def leaf_of(folder):
    return x509.load_pem_x509_certificate((folder / au.SERVICE_FILE).read_bytes())


def extension(certificate, kind):
    return certificate.extensions.get_extension_for_class(kind)


def test_authority_may_vouch_for_one_name_and_private_addresses_only(folder):
    clock = At()
    made = au.open_authority(folder, NAME, clock)
    certificate = made.certificate
    assert isinstance(certificate.public_key().curve, ec.SECP256R1)
    basic = extension(certificate, x509.BasicConstraints)
    assert basic.critical
    assert (basic.value.ca, basic.value.path_length) == (True, 0)
    usage = extension(certificate, x509.KeyUsage)
    assert usage.critical
    assert usage.value.key_cert_sign
    assert not any(
        (
            usage.value.digital_signature,
            usage.value.crl_sign,
            usage.value.key_encipherment,
            usage.value.key_agreement,
        )
    )
    limits = extension(certificate, x509.NameConstraints)
    assert limits.critical
    # Source: RFC 1918, clause 3: the private ranges. Tolerance: exact, other addresses are somebody else's.
    private = {ipaddress.ip_network(one) for one in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16")}
    assert {one.value for one in limits.value.permitted_subtrees} == {NAME, *private}
    # Source: estimate, ten years. Tolerance: leap days and the hour for slow clocks.
    assert abs(certificate.not_valid_after_utc - clock.now - timedelta(days=3652)) < timedelta(days=3)


def test_service_certificate_is_for_a_server_and_short_lived(folder):
    clock = At()
    made = au.open_authority(folder, NAME, clock)
    assert made.leaf([*HERE, "8.8.8.8", "127.0.0.1"])
    leaf = leaf_of(folder)
    names = extension(leaf, x509.SubjectAlternativeName).value
    assert names.get_values_for_type(x509.DNSName) == [NAME]
    assert {str(one) for one in names.get_values_for_type(x509.IPAddress)} == set(HERE)
    assert list(extension(leaf, x509.ExtendedKeyUsage).value) == [ExtendedKeyUsageOID.SERVER_AUTH]
    assert not extension(leaf, x509.BasicConstraints).value.ca
    # Source: common practice of browsers: at most 397 days (a rule book of browsers, from memory, unverified). Tolerance: none.
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= timedelta(days=397)
    assert leaf.not_valid_before_utc <= clock.now <= leaf.not_valid_after_utc


def test_keys_are_for_this_user_only(authority, folder):
    authority.leaf(HERE)
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    for name in (au.KEY_FILE, au.SERVICE_FILE):
        assert stat.S_IMODE((folder / name).stat().st_mode) == 0o600, name
    (folder / au.KEY_FILE).chmod(0o644)
    with pytest.raises(InputError) as caught:
        au.open_authority(folder, NAME)
    assert "other users" in str(caught.value.problems[0])
    assert "--forget-authority" in caught.value.problems[0].hint


def test_authority_stays_and_certificate_is_kept_while_it_serves(folder):
    clock = At()
    first = au.open_authority(folder, NAME, clock)
    first.leaf(HERE)
    kept = leaf_of(folder)
    clock.now += timedelta(days=300)
    again = au.open_authority(folder, NAME, clock)
    assert again.fingerprint == first.fingerprint
    assert not again.leaf(reversed(HERE))
    assert leaf_of(folder) == kept


@pytest.mark.parametrize("days", [368, 397, 800])
def test_certificate_near_its_end_or_over_is_renewed_under_the_same_authority(folder, days):
    clock = At()
    made = au.open_authority(folder, NAME, clock)
    made.leaf(HERE)
    clock.now += timedelta(days=366)
    assert not made.leaf(HERE), "31 days are left"
    clock.now += timedelta(days=days - 366)
    assert made.leaf(HERE)
    leaf = leaf_of(folder)
    leaf.verify_directly_issued_by(made.certificate)
    assert leaf.not_valid_after_utc > clock.now + timedelta(days=300)


def test_changed_address_renews_the_certificate_under_the_same_authority(authority, folder):
    authority.leaf(HERE[:1])
    before = leaf_of(folder)
    assert authority.leaf(HERE[1:])
    after = leaf_of(folder)
    after.verify_directly_issued_by(authority.certificate)
    assert after.serial_number != before.serial_number
    names = extension(after, x509.SubjectAlternativeName).value
    assert [str(one) for one in names.get_values_for_type(x509.IPAddress)] == [HERE[1]]


def test_certificate_of_another_authority_or_a_broken_one_is_made_anew(authority, folder, tmp_path):
    other = au.open_authority(tmp_path / "other", NAME)
    other.leaf(HERE)
    (folder / au.SERVICE_FILE).write_bytes(other.service_file.read_bytes())
    assert authority.leaf(HERE)
    leaf_of(folder).verify_directly_issued_by(authority.certificate)
    whole = authority.service_file.read_bytes()
    for broken in (b"", whole[: len(whole) // 2], b"nonsense"):
        authority.service_file.write_bytes(broken)
        assert authority.leaf(HERE)
        assert not authority.leaf(HERE)


def test_authority_that_is_damaged_or_of_another_name_or_old_is_said(folder, tmp_path):
    clock = At()
    au.open_authority(folder, NAME, clock)
    with pytest.raises(InputError, match="authority") as caught:
        au.open_authority(folder, "hullwright-zz99.local", clock)
    assert "another name" in str(caught.value.problems[0])
    clock.now += timedelta(days=3650)
    with pytest.raises(InputError) as caught:
        au.open_authority(folder, NAME, clock)
    assert "come to its end" in str(caught.value.problems[0])
    clock.now -= timedelta(days=3650)
    other = au.open_authority(tmp_path / "other", NAME, clock)
    key = (folder / au.KEY_FILE).read_bytes()
    (folder / au.KEY_FILE).write_bytes((other.folder / au.KEY_FILE).read_bytes())
    with pytest.raises(InputError) as caught:
        au.open_authority(folder, NAME, clock)
    assert "another certificate" in str(caught.value.problems[0])
    (folder / au.KEY_FILE).write_bytes(key[:40])
    with pytest.raises(InputError):
        au.open_authority(folder, NAME, clock)
    (folder / au.KEY_FILE).unlink()
    with pytest.raises(InputError):
        au.open_authority(folder, NAME, clock)


def test_fingerprint_is_that_of_the_file_that_phones_take(authority):
    told = subprocess.run(
        ["openssl", "x509", "-inform", "DER", "-noout", "-fingerprint", "-sha256"], input=authority.der, capture_output=True, check=True
    )  # fmt: skip
    # Source: openssl, which knows nothing of this code. Tolerance: none.
    assert told.stdout.decode().strip().split("=")[1] == authority.fingerprint


# -- a real handshake --


def shake(pem, trusted, name):
    offering = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    offering.load_cert_chain(pem)
    return shake_with(offering, trusted, name)


def signed(authority, name, addresses=()):
    key = ec.generate_private_key(ec.SECP256R1())
    made = authority._signed(name, addresses, key)
    file = authority.folder / "other.pem"
    file.write_bytes(au._key_bytes(key) + made.public_bytes(serialization.Encoding.PEM))
    return file


def test_handshake_takes_the_right_name_and_refuses_another(authority):
    authority.leaf(HERE)
    for name in (NAME, *HERE):
        assert shake(authority.service_file, authority.der, name) == {NAME, *HERE}
    with pytest.raises(ssl.SSLCertVerificationError, match="ostname mismatch"):
        shake(authority.service_file, authority.der, "hullwright-zz99.local")


@pytest.mark.parametrize(
    ("name", "addresses"), [("bank.example", ()), ("hullwright-zz99.local", ()), ("local", ()), (NAME, ("8.8.8.8",)), (NAME, ("172.32.0.1",))]
)  # fmt: skip
def test_even_its_own_key_can_vouch_for_nothing_else(authority, name, addresses):
    file = signed(authority, name, addresses)
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        shake(file, authority.der, name)


def test_own_key_vouches_for_its_name(authority):
    """The refusals above come from the limits, not from how the certificate is made."""
    assert NAME in shake(signed(authority, NAME, HERE), authority.der, NAME)


def test_another_authority_of_the_same_name_is_not_trusted(authority, tmp_path):
    other = au.open_authority(tmp_path / "other", NAME)
    other.leaf(HERE)
    with pytest.raises(ssl.SSLCertVerificationError):
        shake(other.service_file, authority.der, NAME)


# -- name and port --


def test_name_and_port_are_made_once_and_stay(tmp_path):
    first = settings_of(tmp_path)
    assert re.fullmatch(r"hullwright-[a-z2-9]{4}\.local", first.name)
    # Source: docs/phones.md. Tolerance: none, phones hang on it.
    assert (first.port, first.setup_port) == (8766, 8767)
    assert settings_of(tmp_path) == first
    assert len({settings_of(tmp_path / str(k)).name for k in range(20)}) > 15, "made anew for each service"


def test_port_of_phones_does_not_change_by_an_option(tmp_path):
    first = settings_of(tmp_path, 9443)
    assert settings_of(tmp_path, 9443) == first
    with pytest.raises(InputError, match="stays") as caught:
        settings_of(tmp_path, 9444)
    assert "9443" in str(caught.value.problems[0])
    assert settings_of(tmp_path).port == 9443
    assert settings_of(tmp_path, setup_port=9445) == Settings(first.name, 9443, 9445)


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"name": "evil.example", "port": 1, "setup_port": 2}', '{"name": "hullwright-ab12.local", "port": 0, "setup_port": 2}', '{"name": "hullwright-ab12.local", "port": 7, "setup_port": 7}', '{"name": "hullwright-ab12.local\\n", "port": 7, "setup_port": 8}']
)  # fmt: skip
def test_damaged_settings_are_said_and_not_made_anew(tmp_path, text):
    settings_of(tmp_path)
    file = tmp_path / "lan/settings.json"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(InputError):
        settings_of(tmp_path)
    assert file.read_text("utf-8") == text


@pytest.mark.parametrize("port", [0, -1, 65_536])
def test_what_is_no_port_is_refused(tmp_path, port):
    for options in ({"port": port}, {"setup_port": port}):
        with pytest.raises(InputError):
            settings_of(tmp_path, **options)


def test_taken_port_is_an_error_and_never_another(world):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        for options, key in (((port, free_port()), "--lan-port"), ((None, port), "--setup-port")):
            with pytest.raises(OutputError, match="can't be offered") as caught:
                Offer(world.service, Wish(*options, addresses=("127.0.0.1",)))
            assert caught.value.problems[0].where.key == key
            (world.data / "lan/settings.json").unlink()


@pytest.mark.parametrize("address", ["8.8.8.8", "0.0.0.0", "x", "fd00::1", "192.168.1.1/24"])
def test_only_private_addresses_are_offered_on(world, address):
    with pytest.raises(InputError, match="address"):
        Offer(world.service, Wish(addresses=(address,)))


def test_what_moves_keeps_the_origin(folder, authority):
    addresses = [HERE[0]]
    lan = Lan(Settings(NAME, 8766, 8767), authority, find=lambda: addresses)
    assert lan.look()
    origin, hosts = lan.origin, lan.hosts
    addresses[0] = HERE[1]
    assert lan.look()
    assert lan.origin == origin == f"https://{NAME}:8766"
    assert hosts == {f"{NAME}:8766", f"{HERE[0]}:8766"}
    assert lan.hosts == {f"{NAME}:8766", f"{HERE[1]}:8766"}
    assert not lan.look()
    addresses.clear()
    lan.look()
    assert lan.setup_address == ""
