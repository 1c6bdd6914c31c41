"""The certificates of a service on a building site: an authority of its own that can vouch for nothing but this one name."""

from __future__ import annotations

import ipaddress
import os
import stat
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final, cast

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from hullwright.errors import InputError, Problem, Where

KEY_FILE: Final = "authority.key"
CERTIFICATE_FILE: Final = "authority.crt"
SERVICE_FILE: Final = "service.pem"
PRIVATE: Final = tuple(
    ipaddress.IPv4Network(text) for text in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16")
)
"""Addresses that no one has on the open internet (RFC 1918, clause 3)."""
LASTS: Final = timedelta(days=3652)
"""Life of an authority: ten years."""
LEAF_LASTS: Final = timedelta(days=397)
"""Life of the service's certificate; browsers take longer ones for a mistake."""
RENEW: Final = timedelta(days=30)
_SLACK: Final = timedelta(hours=1)
"""A phone whose clock is slow takes a new certificate too."""

Clock = Callable[[], datetime]


def utc() -> datetime:
    """Give the time, with zone."""
    return datetime.now(UTC)


def is_private(address: str) -> bool:
    """Whether an address is one of the private IPv4 ranges (RFC 1918).

    Examples
    --------
    >>> is_private("192.168.1.20"), is_private("8.8.8.8"), is_private("fd00::1")
    (True, False, False)
    """
    try:
        found = ipaddress.IPv4Address(address)
    except ValueError:
        return False
    return any(found in network for network in PRIVATE)


def fingerprint(certificate: x509.Certificate) -> str:
    """Give the SHA-256 of a certificate as phones show it: pairs of hexadecimal digits.

    Parameters
    ----------
    certificate : cryptography.x509.Certificate

    Returns
    -------
    str
        32 pairs with colons.
    """
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


@dataclass(frozen=True)
class Authority:
    """An authority, opened.

    Parameters
    ----------
    folder : Path
        Where its files lie.
    name : str
        The one name that it may vouch for.
    certificate : cryptography.x509.Certificate
    key : cryptography.hazmat.primitives.asymmetric.ec.EllipticCurvePrivateKey
    now : callable
        Clock, with zone.
    """

    folder: Path
    name: str
    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey
    now: Clock = utc

    @property
    def fingerprint(self) -> str:
        """What the desk's terminal and the phone both show."""
        return fingerprint(self.certificate)

    @property
    def service_file(self) -> Path:
        """File with the service's certificate and its key, as a TLS library reads it."""
        return self.folder / SERVICE_FILE

    @property
    def der(self) -> bytes:
        """Give the certificate as phones take it."""
        return self.certificate.public_bytes(serialization.Encoding.DER)

    def leaf(self, addresses: Iterable[str]) -> bool:
        """See that the service has a certificate for its name and these addresses.

        Parameters
        ----------
        addresses : iterable of str
            Those that are not private are left out: this authority can't vouch for them.

        Returns
        -------
        bool
            Whether a new one was made: there was none, it was for other names or another authority, or it has less than thirty
            days left.
        """
        wanted = frozenset(address for address in addresses if is_private(address))
        kept = self._kept()
        if kept is not None and self._serves(kept, wanted):
            return False
        key = ec.generate_private_key(ec.SECP256R1())
        made = self._signed(self.name, wanted, key)
        _write(self.service_file, _key_bytes(key) + made.public_bytes(serialization.Encoding.PEM))
        return True

    def _kept(self) -> x509.Certificate | None:
        """Read the service's certificate; one that can't be read is made anew, nobody trusts it by itself."""
        try:
            data = self.service_file.read_bytes()
            found = x509.load_pem_x509_certificate(data)
            key = serialization.load_pem_private_key(data, None)
        except (OSError, ValueError, TypeError):
            return None
        return found if found.public_key() == key.public_key() else None

    def _serves(self, leaf: x509.Certificate, addresses: frozenset[str]) -> bool:
        try:
            leaf.verify_directly_issued_by(self.certificate)
            names = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        except (InvalidSignature, ValueError, TypeError, x509.ExtensionNotFound):
            return False
        same = (
            set(names.get_values_for_type(x509.DNSName)) == {self.name}
            and {str(one) for one in names.get_values_for_type(x509.IPAddress)} == addresses
        )
        now = self.now()
        return same and leaf.not_valid_before_utc <= now <= leaf.not_valid_after_utc - RENEW

    def _signed(
        self, name: str, addresses: Iterable[str], key: ec.EllipticCurvePrivateKey
    ) -> x509.Certificate:
        start = self.now() - _SLACK
        names: list[x509.GeneralName] = [x509.DNSName(name)]
        names += [x509.IPAddress(ipaddress.IPv4Address(one)) for one in sorted(addresses)]
        usage = _usage(digital_signature=True)
        return (
            x509.CertificateBuilder()
            .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)]))
            .issuer_name(self.certificate.subject)
            .public_key(key.public_key())
            .serial_number(x509.random_serial_number())
            .not_valid_before(start)
            .not_valid_after(min(start + LEAF_LASTS, self.certificate.not_valid_after_utc))
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(usage, critical=True)
            .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
            .add_extension(x509.SubjectAlternativeName(names), critical=False)
            .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
            .add_extension(
                x509.AuthorityKeyIdentifier.from_issuer_public_key(self.key.public_key()), critical=False
            )
            .sign(self.key, hashes.SHA256())
        )


def open_authority(folder: Path, name: str, now: Clock = utc) -> Authority:
    """Open the authority of a folder; one is made at the first use.

    Parameters
    ----------
    folder : Path
        Its own; made where there is none, for this user only.
    name : str
        The one DNS name that it may vouch for.
    now : callable
        Clock, with zone.

    Returns
    -------
    Authority

    Raises
    ------
    InputError
        Where its files are damaged, open to other users, for another name, or too old.
    """
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    key_file, file = folder / KEY_FILE, folder / CERTIFICATE_FILE
    if not key_file.exists() and not file.exists():
        key = ec.generate_private_key(ec.SECP256R1())
        made = _self_signed(name, key, now())
        _write(key_file, _key_bytes(key))
        _write(file, made.public_bytes(serialization.Encoding.PEM))
    _closed(key_file)
    try:
        certificate = x509.load_pem_x509_certificate(file.read_bytes())
        read: Any = serialization.load_pem_private_key(key_file.read_bytes(), None)
    except (OSError, ValueError, TypeError) as error:
        raise _unusable(folder, "its key or certificate can't be read", str(error)) from error
    if certificate.public_key() != read.public_key():
        raise _unusable(folder, "its key belongs to another certificate", str(key_file))
    if _names(certificate) != {name}:
        raise _unusable(folder, "it vouches for another name", ", ".join(sorted(_names(certificate))))
    if certificate.not_valid_after_utc - RENEW < now():
        raise _unusable(folder, "it has come to its end", f"{certificate.not_valid_after_utc:%Y-%m-%d}")
    return Authority(folder, name, certificate, cast("ec.EllipticCurvePrivateKey", read), now)


def forget(folder: Path) -> list[Path]:
    """Remove the authority and the service's certificate; name and ports stay, so that what phones keep is not stranded.

    Parameters
    ----------
    folder : Path

    Returns
    -------
    list of Path
        The files that were there.
    """
    found = [folder / name for name in (SERVICE_FILE, CERTIFICATE_FILE, KEY_FILE) if (folder / name).exists()]
    for file in found:
        file.unlink()
    return found


def _self_signed(name: str, key: ec.EllipticCurvePrivateKey, now: datetime) -> x509.Certificate:
    own = x509.Name(
        [
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, "hullwright"),
            x509.NameAttribute(NameOID.COMMON_NAME, f"{name} ({now:%Y-%m-%d})"),
        ]
    )
    permitted: list[x509.GeneralName] = [x509.DNSName(name), *(x509.IPAddress(one) for one in PRIVATE)]
    return (
        x509.CertificateBuilder()
        .subject_name(own)
        .issuer_name(own)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _SLACK)
        .not_valid_after(now - _SLACK + LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(key_cert_sign=True), critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )


def _usage(*, digital_signature: bool = False, key_cert_sign: bool = False) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=digital_signature, key_cert_sign=key_cert_sign, content_commitment=False, key_encipherment=False,
        data_encipherment=False, key_agreement=False, crl_sign=False, encipher_only=False, decipher_only=False,
    )  # fmt: skip


def _names(certificate: x509.Certificate) -> set[str]:
    """Names that an authority may vouch for."""
    try:
        found = certificate.extensions.get_extension_for_class(x509.NameConstraints).value
    except (x509.ExtensionNotFound, ValueError):
        return set()
    return {str(one.value) for one in found.permitted_subtrees or () if isinstance(one, x509.DNSName)}


def _key_bytes(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def _write(file: Path, data: bytes) -> None:
    """Write a file that only this user may read, whole or not at all."""
    part = file.with_name(f"{file.name}.part")
    part.unlink(missing_ok=True)
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())
    part.replace(file)


def _closed(key_file: Path) -> None:
    if sys.platform == "win32" or not key_file.exists():
        return
    mode = stat.S_IMODE(key_file.stat().st_mode)
    if mode & 0o077:
        raise _unusable(key_file.parent, "other users of this machine can read its key", oct(mode), "0o600")


def _unusable(folder: Path, what: str, got: str, allowed: str = "") -> InputError:
    hint = "`hullwright serve --forget-authority` removes it; the next start makes a new one, and every phone takes it in again"
    return InputError(
        "the authority for phones can't be used", [Problem(what, Where(str(folder)), got, allowed, hint)]
    )
