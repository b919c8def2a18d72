"""The local server: what it sends, and what it refuses."""

from __future__ import annotations

import gzip
import http.client
import socket
import ssl
from collections.abc import Iterator
from pathlib import Path

import pytest

from mobile.build import POLICY
from mobile.server import Server, addresses, make_certificate, qr


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    web = tmp_path / "web"
    (web / "assets").mkdir(parents=True)
    (web / "index.html").write_text("<title>x</title>")
    (web / "app.zip").write_bytes(b"P" * 5000)
    (web / "app.zip.gz").write_bytes(gzip.compress(b"P" * 5000, mtime=0))
    (web / "app.zip.br").write_bytes(b"brotli bytes")
    (web / "engine.wasm").write_bytes(b"\0asm")
    (web / "boot.js").write_text("1")
    (web / ".hidden").write_text("no")
    (tmp_path / "secret.txt").write_text("no")
    (web / "out").symlink_to(tmp_path / "secret.txt")
    return web


@pytest.fixture
def server(folder: Path) -> Iterator[Server]:
    with Server(folder, port=0) as running:
        yield running


def ask(server: Server, path: str, method: str = "GET", **headers: str) -> tuple[int, dict[str, str], bytes]:
    line = http.client.HTTPConnection("127.0.0.1", server.port, timeout=10)
    line.request(method, path, headers={k.replace("_", "-"): v for k, v in headers.items()})
    got = line.getresponse()
    body = got.read()
    line.close()
    return got.status, {k.lower(): v for k, v in got.getheaders()}, body


def test_listens_to_this_computer_only_unless_told(folder: Path) -> None:
    with Server(folder, port=0) as running:
        assert running.server_address[0] == "127.0.0.1"


def test_sends_security_headers_with_every_answer(server: Server) -> None:
    for path, status in (("/", 200), ("/missing", 404)):
        got, headers, _ = ask(server, path)
        assert got == status
        assert headers["content-security-policy"] == POLICY + "; frame-ancestors 'none'"
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"
        assert headers["referrer-policy"] == "no-referrer"
        assert headers["cross-origin-opener-policy"] == "same-origin"
        assert "python" not in headers["server"].lower()


def test_policy_allows_this_origin_and_no_text_as_script() -> None:
    rules = dict(rule.split(" ", 1) for rule in POLICY.split("; "))
    assert rules["default-src"] == "'none'"
    assert rules["script-src"] == "'self' 'wasm-unsafe-eval'"
    assert rules["connect-src"] == "'self'"
    assert "http" not in POLICY and "*" not in POLICY


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/", "text/html"),
        ("/engine.wasm", "application/wasm"),
        ("/boot.js", "text/javascript"),
        ("/app.zip", "application/zip"),
    ],
)
def test_media_types(server: Server, path: str, kind: str) -> None:
    assert ask(server, path)[1]["content-type"].startswith(kind)


def test_sends_what_was_compressed_to_who_takes_it(server: Server) -> None:
    _, headers, body = ask(server, "/app.zip", Accept_Encoding="gzip, deflate, br")
    assert headers["content-encoding"] == "br" and body == b"brotli bytes"
    _, headers, body = ask(server, "/app.zip", Accept_Encoding="gzip")
    assert headers["content-encoding"] == "gzip" and gzip.decompress(body) == b"P" * 5000
    assert headers["content-type"] == "application/zip" and headers["vary"] == "Accept-Encoding"
    for refuses in ("", "identity", "br;q=0, gzip;q=0"):
        _, headers, body = ask(server, "/app.zip", Accept_Encoding=refuses)
        assert "content-encoding" not in headers and body == b"P" * 5000


def test_says_unchanged_for_a_known_tag(server: Server, folder: Path) -> None:
    _, headers, _ = ask(server, "/boot.js")
    tag = headers["etag"]
    status, headers, body = ask(server, "/boot.js", If_None_Match=f'"other", W/{tag}')
    assert (status, body) == (304, b"") and headers["cache-control"] == "no-cache"
    (folder / "boot.js").write_text("22")
    status, headers, body = ask(server, "/boot.js", If_None_Match=tag)
    assert (status, body) == (200, b"22") and headers["etag"] != tag


def test_head_sends_no_body(server: Server) -> None:
    status, headers, body = ask(server, "/boot.js", "HEAD")
    assert (status, headers["content-length"], body) == (200, "1", b"")


@pytest.mark.parametrize(
    "path",
    [
        "/../secret.txt",
        "/%2e%2e/secret.txt",
        "/assets/..%2f..%2fsecret.txt",
        "/.hidden",
        "/out",
        "/assets",
        "/assets/",
        "/..%5csecret.txt",
        "/%00",
        "//etc/passwd",
    ],
)
def test_nothing_outside_the_folder_is_sent(server: Server, path: str) -> None:
    status, _, body = ask(server, path)
    assert status == 404 and b"no\n" not in body and body != b"no"


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS"])
def test_takes_nothing_in(server: Server, method: str) -> None:
    assert ask(server, "/", method)[0] == 501


def test_refuses_a_folder_without_an_app(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        Server(tmp_path, port=0)


def test_tls_with_a_certificate_made_here(folder: Path, tmp_path: Path) -> None:
    place = tmp_path / "tls"
    cert, key = make_certificate(place, ["localhost", "192.0.2.7"])
    assert key.stat().st_mode & 0o077 == 0
    assert make_certificate(place, ["192.0.2.7"]) == (cert, key)
    before = cert.read_bytes()
    assert make_certificate(place, ["localhost"])[0].read_bytes() == before, "a good certificate is kept"
    assert make_certificate(place, ["192.0.2.8"])[0].read_bytes() != before, "a new address needs a new one"
    cert, key = make_certificate(place, ["localhost"])
    trust = ssl.create_default_context(cafile=str(cert))  # who installed it trusts it, by name
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


def test_addresses() -> None:
    assert addresses("127.0.0.1") == ["127.0.0.1"]
    assert addresses("0.0.0.0")[0] == "localhost"


def test_qr_code_for_a_terminal_has_the_size_the_standard_gives() -> None:
    # ISO/IEC 18004: version 2 (25 modules) holds up to 26 bytes at level M; two modules of border here, two rows a line
    lines = qr("http://127.0.0.1:8420/").splitlines()
    assert {len(line) for line in lines if line} == {29}
    assert len([line for line in lines if line]) == 15
