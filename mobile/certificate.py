"""A certificate for the local network that is worth little to whoever steals it.

The phone is asked to trust a certificate authority made here for this purpose. It may
speak for the names and addresses served and for nothing else (name constraints, RFC 5280,
4.2.1.10), it has signed one certificate, and its key is thrown away as soon as it has: it
is never written anywhere. What the server shows is that one certificate.
"""

from __future__ import annotations

import datetime as dt
import ipaddress
import os
from collections.abc import Iterable
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

__all__ = ["make_certificate"]

DAYS = 365
RENEW_DAYS = 14
#: Files in the folder: what a phone is to trust; what the server shows (with the authority after it), and its key.
AUTHORITY, SHOWN, KEY = "boreside.crt", "server.crt", "server.key"


def _names(names: Iterable[str]) -> list[x509.GeneralName]:
    out: list[x509.GeneralName] = []
    for name in dict.fromkeys([*names, "localhost", "127.0.0.1"]):
        try:
            out.append(x509.IPAddress(ipaddress.ip_address(name)))
        except ValueError:
            out.append(x509.DNSName(name))
    return out


def _limits(names: Iterable[x509.GeneralName]) -> x509.NameConstraints:
    """The authority may speak for these alone; an address is a network of one."""
    return x509.NameConstraints(
        permitted_subtrees=[
            x509.IPAddress(ipaddress.ip_network(name.value)) if isinstance(name, x509.IPAddress) else name
            for name in names
        ],
        excluded_subtrees=None,
    )


def _called(name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])


def _begun(subject: str, issuer: str, key: ec.EllipticCurvePublicKey, now: dt.datetime) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(_called(subject))
        .issuer_name(_called(issuer))
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - dt.timedelta(hours=1))
        .not_valid_after(now + dt.timedelta(days=DAYS))
    )


def _usage(*, signs: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs,
        key_cert_sign=signs,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )


def _made(names: list[x509.GeneralName], now: dt.datetime) -> dict[str, bytes]:
    """The three files' contents. The authority's key lives in this function only."""
    signing, serving = ec.generate_private_key(ec.SECP256R1()), ec.generate_private_key(ec.SECP256R1())
    who = f"Boreside on this computer, {now:%Y-%m-%d %H:%M}"
    its_id = x509.SubjectKeyIdentifier.from_public_key(signing.public_key())
    authority = (
        _begun(who, who, signing.public_key(), now)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs=True), critical=True)
        .add_extension(_limits(names), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(its_id, critical=False)
        .sign(signing, hashes.SHA256())
    )
    shown = (
        _begun("Boreside", who, serving.public_key(), now)
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(serving.public_key()), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(its_id), critical=False)
        .sign(signing, hashes.SHA256())
    )
    pem = serialization.Encoding.PEM
    key = serving.private_bytes(pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    trusted = authority.public_bytes(pem)
    return {KEY: key, SHOWN: shown.public_bytes(pem) + trusted, AUTHORITY: trusted}


def _serves(folder: Path, names: list[x509.GeneralName], now: dt.datetime) -> bool:
    """Whether what lies in the folder belongs together, covers the names, is limited, private and lasts."""
    try:
        key_path = folder / KEY
        key = serialization.load_pem_private_key(key_path.read_bytes(), None)
        (authority,) = x509.load_pem_x509_certificates((folder / AUTHORITY).read_bytes())
        shown, chained = x509.load_pem_x509_certificates((folder / SHOWN).read_bytes())
        shown.verify_directly_issued_by(authority)
        limits = authority.extensions.get_extension_for_class(x509.NameConstraints).value
        covered = shown.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (OSError, ValueError, TypeError, InvalidSignature, x509.ExtensionNotFound):
        return False
    return (
        chained == authority
        and shown.public_key() == key.public_key()
        and set(names) <= set(covered)
        and limits == _limits(covered)
        and shown.not_valid_after_utc > now + dt.timedelta(days=RENEW_DAYS)
        and (os.name == "nt" or key_path.stat().st_mode & 0o077 == 0)
    )


def _put(path: Path, body: bytes) -> None:
    """Write a file that only its owner reads, new and whole, in the place of an older one."""
    part = path.with_name(f".{path.name}.{os.getpid()}")
    part.unlink(missing_ok=True)
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(body)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise


def make_certificate(folder: Path | str, names: list[str]) -> tuple[Path, Path]:
    """The certificate to show and its key, for ``names``; made once, kept in ``folder``, remade when due or torn.

    Beside them lies ``boreside.crt``, which a phone is to trust. Valid a year. Raises OSError
    where the folder cannot be written.
    """
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    wanted, now = _names(names), dt.datetime.now(dt.UTC)
    if not _serves(folder, wanted, now):
        (folder / "boreside.key").unlink(missing_ok=True)  # an earlier version's: an authority's key without limits
        for name, body in _made(wanted, now).items():
            _put(folder / name, body)
    return folder / SHOWN, folder / KEY
