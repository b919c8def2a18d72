"""What a phone is asked to trust, checked by OpenSSL as a browser's library would."""

from __future__ import annotations

import http.client
import socket
import ssl
import subprocess
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import serialization

from mobile.certificate import make_certificate
from mobile.server import Server


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    web = tmp_path / "web"
    web.mkdir()
    (web / "index.html").write_text("<title>x</title>")
    return web


def test_who_installed_it_is_served_over_https(folder: Path, tmp_path: Path) -> None:
    place = tmp_path / "tls"
    cert, key = make_certificate(place, ["localhost", "192.0.2.7"])
    assert key.stat().st_mode & 0o777 == 0o600
    before = cert.read_bytes()
    assert make_certificate(place, ["192.0.2.7"]) == (cert, key)
    assert make_certificate(place, ["localhost"])[0].read_bytes() == before, "a good certificate is kept"
    assert make_certificate(place, ["192.0.2.8"])[0].read_bytes() != before, "a new address needs a new one"
    cert, key = make_certificate(place, ["localhost"])
    trust = ssl.create_default_context(cafile=str(place / "boreside.crt"))
    with Server(folder, port=0, certificate=(cert, key)) as running:
        line = http.client.HTTPSConnection("localhost", running.port, timeout=10, context=trust)
        line.request("GET", "/")
        got = line.getresponse()
        assert got.status == 200 and got.getheader("Strict-Transport-Security") == "max-age=86400"
        assert line.sock.version() in ("TLSv1.2", "TLSv1.3")
        line.close()
        stranger = http.client.HTTPSConnection("localhost", running.port, timeout=10)
        with pytest.raises(ssl.SSLCertVerificationError):
            stranger.request("GET", "/")
        # somebody who never finishes the handshake does not keep others waiting
        with socket.create_connection(("127.0.0.1", running.port)):
            again = http.client.HTTPSConnection("localhost", running.port, timeout=10, context=trust)
            again.request("GET", "/")
            assert again.getresponse().status == 200


def test_the_authority_vouches_for_the_names_served_and_no_other(tmp_path: Path) -> None:
    make_certificate(tmp_path, ["192.0.2.7", "2001:db8::7", "shop.local"])
    (authority,) = x509.load_pem_x509_certificates((tmp_path / "boreside.crt").read_bytes())
    limits = authority.extensions.get_extension_for_class(x509.NameConstraints)
    assert limits.critical and limits.value.excluded_subtrees is None
    assert {str(n.value) for n in limits.value.permitted_subtrees} == {
        "192.0.2.7/32",
        "2001:db8::7/128",
        "shop.local",
        "localhost",
        "127.0.0.1/32",
    }
    basic = authority.extensions.get_extension_for_class(x509.BasicConstraints)
    assert basic.critical and basic.value.ca and basic.value.path_length == 0


def test_its_key_is_nowhere(tmp_path: Path) -> None:
    """Only the key of the one certificate that is shown is kept, and that one may sign nothing."""
    make_certificate(tmp_path, ["192.0.2.7"])
    assert sorted(p.name for p in tmp_path.iterdir()) == ["boreside.crt", "server.crt", "server.key"]
    key = serialization.load_pem_private_key((tmp_path / "server.key").read_bytes(), None)
    authority = x509.load_pem_x509_certificate((tmp_path / "boreside.crt").read_bytes())
    shown = x509.load_pem_x509_certificates((tmp_path / "server.crt").read_bytes())[0]
    assert key.public_key() == shown.public_key() != authority.public_key()
    assert not shown.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    done = subprocess.run(
        [
            "openssl",
            "verify",
            "-x509_strict",
            "-purpose",
            "sslserver",
            "-CAfile",
            str(tmp_path / "boreside.crt"),
            str(tmp_path / "server.crt"),
        ],
        check=False,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("torn", ["server.key", "server.crt", "boreside.crt"])
@pytest.mark.parametrize("how", ["gone", "empty", "cut", "another's", "open to others"])
def test_a_torn_pair_is_made_anew(tmp_path: Path, torn: str, how: str) -> None:
    place = tmp_path / "tls"
    make_certificate(place, ["192.0.2.7"])
    other = tmp_path / "other"
    make_certificate(other, ["192.0.2.7"])
    hurt = place / torn
    match how:
        case "gone":
            hurt.unlink()
        case "empty":
            hurt.write_bytes(b"")
        case "cut":
            hurt.write_bytes(hurt.read_bytes()[:200])
        case "another's":
            hurt.write_bytes((other / torn).read_bytes())
        case _:
            hurt.chmod(0o644)
    cert, key = make_certificate(place, ["192.0.2.7"])
    ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(cert, key)
    assert key.stat().st_mode & 0o777 == 0o600
    shown = x509.load_pem_x509_certificates(cert.read_bytes())[0]
    shown.verify_directly_issued_by(x509.load_pem_x509_certificate((place / "boreside.crt").read_bytes()))
