"""The local server: what it sends, and what it refuses."""

from __future__ import annotations

import errno
import gzip
import http.client
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import NoReturn

import pytest

from mobile.build import POLICY
from mobile.server import Server, addresses, qr


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


@pytest.mark.parametrize(
    ("target", "status"),
    [
        ("/" + "a" * 5000, 414),
        ("/" + "a" * 300, 414),
        ("/?" + "a" * 9000, 414),
        ("/" + "a/" * 2030 + "a", 404),  # shorter than a request may be, longer than a path may be
        ("/index.html/", 404),
        ("http://localhost", 200),  # the whole address of the folder itself (RFC 9112, 3.2.2)
        ("http://localhost?", 200),
        ("/%zz", 400),
        ("/%ff%fe", 400),
        ("/%", 400),
        ("http://[::1", 400),
        ("x", 400),
        ("*", 400),
        ("/\u00e9", 400),
    ],
)
def test_long_and_broken_addresses_get_an_answer(server: Server, target: str, status: int) -> None:
    assert raw(server, f"GET {target} HTTP/1.1\r\nHost: x\r\n\r\n".encode("latin-1")) == status


def test_a_file_that_cannot_be_read_gets_an_answer(
    server: Server, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not ours to read, a failing disk, or gone between two looks as a new build takes its place."""

    def fails(*_: object) -> NoReturn:
        raise OSError(errno.EIO, "read")

    monkeypatch.setattr(server, "tag", fails)
    assert raw(server, b"GET / HTTP/1.1\r\nHost: x\r\n\r\n") == 503
    monkeypatch.undo()
    (folder / "ring").symlink_to(folder / "ring")
    assert raw(server, b"GET /ring HTTP/1.1\r\nHost: x\r\n\r\n") == 404
    assert ask(server, "/")[0] == 200


@pytest.mark.parametrize(
    ("request_bytes", "status"),
    [
        (b"\r\n", 400),
        (b"GET /\r\n\r\n", 400),
        (b"GET / HTTP/9.9\r\n\r\n", 400),
        (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\n\r\n", 400),
        (b"GET / HTTP/1.1\r\nno colon\r\n\r\n", 400),
        (b"GET / HTTP/1.1\r\nX: " + b"y" * 9000 + b"\r\n\r\n", 431),
        (b"GET / HTTP/1.1\r\n" + b"X: y\r\n" * 200 + b"\r\n", 431),
        (b"GET / HTTP/1.0\r\n\r\n", 200),
        (b"BREW /pot HTTP/1.1\r\n\r\n", 501),
    ],
)
def test_broken_requests_get_an_answer(server: Server, request_bytes: bytes, status: int) -> None:
    assert raw(server, request_bytes) == status
    assert ask(server, "/")[0] == 200


def raw(server: Server, data: bytes) -> int:
    with socket.create_connection(("127.0.0.1", server.port), timeout=10) as line:
        line.sendall(data)
        return int(line.recv(65536).split()[1])


def test_idle_connections_hold_neither_thread_nor_processor(server: Server) -> None:
    """Ninety that say nothing and one that dribbles; a browser is served meanwhile."""
    before, used = threading.active_count(), time.process_time()
    with ExitStack() as lines:
        for _ in range(90):
            lines.enter_context(socket.create_connection(("127.0.0.1", server.port), timeout=10))
        slow = lines.enter_context(socket.create_connection(("127.0.0.1", server.port), timeout=10))
        slow.sendall(b"GET / HT")
        time.sleep(1.0)
        assert ask(server, "/")[0] == 200
        assert threading.active_count() <= before + 4, "the few that read files for all"
        assert time.process_time() - used < 0.5
        slow.sendall(b"TP/1.1\r\n\r\n")
        assert slow.recv(12) == b"HTTP/1.1 200"


def test_a_client_that_takes_nothing_is_hung_up_on(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("mobile.server.STALL_S", 0.5)
    monkeypatch.setattr("mobile.server.IDLE_S", 0.5)
    (folder / "large.bin").write_bytes(b"x" * 30_000_000)
    with Server(folder, port=0) as running, socket.socket() as line, socket.socket() as idle:
        line.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        for one in (line, idle):
            one.settimeout(10)
            one.connect(("127.0.0.1", running.port))
        line.sendall(b"GET /large.bin HTTP/1.1\r\n\r\n")
        assert idle.recv(1) == b""
        time.sleep(1.0)
        taken = 0
        with suppress(ConnectionError):
            while piece := line.recv(1 << 20):
                taken += len(piece)
        assert taken < 30_000_000


def test_a_half_sent_head_is_not_waited_for(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("mobile.server.HEAD_S", 0.4)
    with Server(folder, port=0) as running, socket.create_connection(("127.0.0.1", running.port), timeout=10) as line:
        line.sendall(b"GET / HTTP/1.1\r\nX: ")
        with suppress(ConnectionError):
            assert line.recv(1) == b""


def test_many_requests_go_over_one_connection_and_a_body_ends_it(server: Server) -> None:
    line = http.client.HTTPConnection("127.0.0.1", server.port, timeout=10)
    for path in ("/", "/app.zip", "/missing", "/boot.js"):
        line.request("GET", path)
        assert line.getresponse().read() is not None
        assert line.sock is not None
    line.request("GET", "/", body=b"GET /secret HTTP/1.1\r\n\r\n")
    assert line.getresponse().status == 200
    line.close()


def test_addresses() -> None:
    assert addresses("127.0.0.1") == ["127.0.0.1"]
    assert addresses("0.0.0.0")[0] == "localhost"


def test_qr_code_for_a_terminal_has_the_size_the_standard_gives() -> None:
    # ISO/IEC 18004: version 2 (25 modules) holds up to 26 bytes at level M; two modules of border here, two rows a line
    lines = qr("http://127.0.0.1:8420/").splitlines()
    assert {len(line) for line in lines if line} == {29}
    assert len([line for line in lines if line]) == 15
