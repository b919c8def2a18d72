"""A small static server for the built folder: this computer only, unless told otherwise.

It sends the files compressed as the build left them, with the security headers, and
nothing outside the folder. A phone needs https to install the app (browsers allow a
service worker on plain http for localhost alone), so the server can speak TLS with a
certificate the user names, or with one it makes.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import ipaddress
import os
import socket
import ssl
import sys
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, Self
from urllib.parse import unquote, urlsplit

from .build import mime, security_headers

__all__ = ["Server", "addresses", "make_certificate", "qr"]


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server_version = "boreside"
    sys_version = ""
    timeout = 30
    server: Server

    def do_GET(self) -> None:
        self._serve(body=True)

    def do_HEAD(self) -> None:
        self._serve(body=False)

    def _refuse(self, status: int, words: str) -> None:
        body = words.encode()
        self.send_response(status)
        self._headers(
            {"Content-Type": "text/plain; charset=utf-8", "Content-Length": str(len(body)), "Cache-Control": "no-store"}
        )
        if self.command != "HEAD":
            self.wfile.write(body)

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:  # noqa: ARG002  (the base's)
        self.close_connection = True
        self._refuse(code, message or "This server only sends the app's files.")

    def _headers(self, more: dict[str, str]) -> None:
        for name, value in {**security_headers(), **more}.items():
            self.send_header(name, value)
        if self.server.tls:
            self.send_header("Strict-Transport-Security", "max-age=86400")
        self.end_headers()

    def _serve(self, *, body: bool) -> None:
        found = self.server.find(urlsplit(self.path).path)
        if found is None:
            self._refuse(404, "There is no such file in the app.")
            return
        path, encoding = self._packed(found)
        tag = self.server.tag(path)
        more = {"ETag": tag, "Cache-Control": "no-cache", "Vary": "Accept-Encoding", "Content-Type": mime(found.name)}
        if found.name == "sw.js":
            more["Service-Worker-Allowed"] = "/"
        if encoding:
            more["Content-Encoding"] = encoding
        if tag in (t.strip().removeprefix("W/") for t in self.headers.get("If-None-Match", "").split(",")):
            self.send_response(304)
            self._headers(more)
            return
        size = path.stat().st_size
        self.send_response(200)
        self._headers({**more, "Content-Length": str(size)})
        self.server.count(found, size)
        if body:
            with path.open("rb") as file:
                try:
                    self.wfile.write(file.read())
                except (BrokenPipeError, ConnectionResetError):
                    self.close_connection = True

    def _packed(self, found: Path) -> tuple[Path, str]:
        """The file as it is sent to this browser, and how it is packed ("" where it is not)."""
        takes = {
            part.split(";")[0].strip()
            for part in self.headers.get("Accept-Encoding", "").split(",")
            if "q=0" not in part.replace(" ", "").replace("q=0.", "")
        }
        for name, ending in (("br", ".br"), ("gzip", ".gz")):
            packed = found.with_name(found.name + ending)
            if name in takes and packed.is_file():
                return packed, name
        return found, ""

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002  (the base's name)
        if self.server.loud:
            sys.stderr.write(f"{self.address_string()} {format % args}\n")


class Server(ThreadingHTTPServer):
    """Serves ``folder``. ``port`` 0 takes a free one. Use as a context manager, or :meth:`serve_forever`."""

    daemon_threads = True
    request_queue_size = 64

    def __init__(
        self,
        folder: Path | str,
        host: str = "127.0.0.1",
        port: int = 8420,
        *,
        certificate: tuple[Path, Path] | None = None,
        loud: bool = False,
    ) -> None:
        self.folder = Path(folder).resolve()
        if not (self.folder / "index.html").is_file():
            raise FileNotFoundError(f"{self.folder} holds no built app")
        self.loud = loud
        self.tls = certificate is not None
        self._tags: dict[tuple[str, int, int], str] = {}
        self._lock = threading.Lock()
        #: Bytes sent by file, in this run.
        self.sent: dict[str, int] = {}
        if ":" in host:
            self.address_family = socket.AF_INET6
        super().__init__((host, port), _Handler)
        if certificate is not None:
            context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
            context.minimum_version = ssl.TLSVersion.TLSv1_2
            context.load_cert_chain(*map(str, certificate))
            # the handshake is made in the connection's own thread, at its first read
            self.socket = context.wrap_socket(self.socket, server_side=True, do_handshake_on_connect=False)

    @property
    def port(self) -> int:
        return self.server_address[1]

    def find(self, path: str) -> Path | None:
        """The file that an address names, or None. Nothing outside the folder, nothing hidden, no link followed out."""
        parts = [p for p in unquote(path).split("/") if p]
        if any(p.startswith(".") or "\\" in p or "\0" in p for p in parts):
            return None
        found = self.folder.joinpath(*(parts or ["index.html"]))
        if not found.is_file() or self.folder not in found.resolve().parents:
            return None
        return found

    def tag(self, path: Path) -> str:
        about = path.stat()
        key = (str(path), about.st_mtime_ns, about.st_size)
        if key not in self._tags:
            self._tags[key] = '"' + hashlib.sha256(path.read_bytes()).hexdigest()[:32] + '"'
        return self._tags[key]

    def count(self, path: Path, size: int) -> None:
        with self._lock:
            name = path.relative_to(self.folder).as_posix()
            self.sent[name] = self.sent.get(name, 0) + size

    def handle_error(self, request: Any, client_address: Any) -> None:
        error = sys.exc_info()[1]
        if self.loud and not isinstance(error, (ConnectionError, TimeoutError, ssl.SSLError)):
            super().handle_error(request, client_address)

    def __enter__(self) -> Self:
        self._thread = threading.Thread(target=self.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.shutdown()
        self.server_close()
        self._thread.join(5)


def addresses(host: str) -> list[str]:
    """The names this computer answers to when bound to ``host``."""
    if host not in ("0.0.0.0", "::", ""):  # noqa: S104  (asked about, not bound to)
        return [host]
    found = ["localhost"]
    for family, far in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")):
        # connecting a datagram socket sends nothing: it only asks which of our addresses would be used
        with socket.socket(family, socket.SOCK_DGRAM) as probe:
            try:
                probe.connect((far, 9))
                found.append(probe.getsockname()[0])
            except OSError:
                continue
    return list(dict.fromkeys(found))


def make_certificate(folder: Path | str, names: list[str]) -> tuple[Path, Path]:
    """A self-made certificate and its key for ``names``, valid a year; made once, kept in ``folder``, renewed when due.

    The key file is readable by its owner alone. A browser warns of such a certificate until
    it is accepted or installed on the phone. Raises ImportError where ``cryptography`` is missing.
    """
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    cert_path, key_path = folder / "boreside.crt", folder / "boreside.key"
    wanted: list[x509.GeneralName] = []
    for name in dict.fromkeys([*names, "localhost", "127.0.0.1"]):
        try:
            wanted.append(x509.IPAddress(ipaddress.ip_address(name)))
        except ValueError:
            wanted.append(x509.DNSName(name))
    now = dt.datetime.now(dt.UTC)
    if cert_path.exists() and key_path.exists():
        held = x509.load_pem_x509_certificate(cert_path.read_bytes())
        covered = set(held.extensions.get_extension_for_class(x509.SubjectAlternativeName).value)
        if held.not_valid_after_utc > now + dt.timedelta(days=14) and set(wanted) <= covered:
            return cert_path, key_path
    key = ec.generate_private_key(ec.SECP256R1())
    who = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Boreside on this computer")])
    certificate = (
        x509.CertificateBuilder()
        .subject_name(who)
        .issuer_name(who)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - dt.timedelta(hours=1))
        .not_valid_after(now + dt.timedelta(days=365))
        .add_extension(x509.SubjectAlternativeName(wanted), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(key, hashes.SHA256())
    )
    handle = os.open(key_path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(
            key.private_bytes(
                serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
            )
        )
    cert_path.write_bytes(certificate.public_bytes(serialization.Encoding.PEM))
    return cert_path, key_path


def qr(address: str) -> str:
    """The address as a QR code (ISO/IEC 18004) in block characters for a terminal."""
    import qrcode

    code = qrcode.QRCode(border=2, error_correction=qrcode.constants.ERROR_CORRECT_M)
    code.add_data(address)
    out = io.StringIO()
    code.print_ascii(out=out, invert=True)
    return out.getvalue()
