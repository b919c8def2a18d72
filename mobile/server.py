"""A small static server for the built folder: this computer only, unless told otherwise.

It sends the files compressed as the build left them, with the security headers, and
nothing outside the folder. A phone needs https to install the app (browsers allow a
service worker on plain http for localhost alone), so the server can speak TLS with a
certificate the user names, or with one it makes (:mod:`mobile.certificate`).

One thread serves every connection, so one that idles or is slow costs nothing but its
socket; each is closed when it has been silent, or has not taken what it is sent, for too
long. A file is read as fast as it is taken.
"""

from __future__ import annotations

import asyncio
import email.utils
import hashlib
import io
import re
import socket
import ssl
import sys
import threading
from collections.abc import Mapping
from contextlib import suppress
from http import HTTPStatus
from pathlib import Path
from typing import NamedTuple, Self
from urllib.parse import unquote, urlsplit

from .build import mime, security_headers
from .plain import plain

__all__ = ["Server", "addresses", "qr"]

LONGEST_LINE = 4096  # bytes of the first line of a request, or of one header
LONGEST_NAME = 255  # bytes of one part of an address: no file system here takes a longer one
MOST_HEADERS = 100
MOST_CONNECTIONS = 500
HEAD_S, IDLE_S, STALL_S = 15.0, 30.0, 30.0  # to send a whole head; between two requests; with no byte taken
PIECE = 64 * 1024
_ESCAPE = re.compile(r"%(?![0-9A-Fa-f]{2})")


class _RefusedError(Exception):
    """A request that is answered with a status and a sentence, and then hung up on."""

    def __init__(self, status: HTTPStatus, words: str) -> None:
        super().__init__(words)
        self.status, self.words = status, words


class _Request(NamedTuple):
    method: str
    target: str
    headers: Mapping[str, str]
    stays: bool


async def _line(reader: asyncio.StreamReader, status: HTTPStatus, words: str) -> bytes:
    try:
        return await reader.readuntil(b"\n")
    except asyncio.LimitOverrunError:
        raise _RefusedError(status, words) from None


async def _headers(reader: asyncio.StreamReader) -> dict[str, str]:
    found: dict[str, str] = {}
    for _ in range(MOST_HEADERS):
        line = await _line(reader, HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE, "A header is too long.")
        if line in (b"\r\n", b"\n"):
            return found
        name, colon, value = line.decode("latin-1").partition(":")
        if not colon or not name.strip() or name != name.strip():
            raise _RefusedError(HTTPStatus.BAD_REQUEST, "A header is broken.")
        found[name.lower()] = value.strip()
    raise _RefusedError(HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE, "There are too many headers.")


async def _request(reader: asyncio.StreamReader, begun: bytes) -> _Request:
    """The request that began with a byte. Raises :class:`_RefusedError`, and IncompleteReadError where there is no more."""
    first = begun + await _line(reader, HTTPStatus.REQUEST_URI_TOO_LONG, "The address is too long.")
    words = first.decode("latin-1").split()
    if len(words) != 3 or not words[2].startswith("HTTP/1.") or not first.isascii():
        raise _RefusedError(HTTPStatus.BAD_REQUEST, "The request is broken.")
    headers = await _headers(reader)
    method, target, version = words
    if method not in ("GET", "HEAD"):
        raise _RefusedError(HTTPStatus.NOT_IMPLEMENTED, "This server only sends the app's files.")
    wish = headers.get("connection", "").lower()
    stays = wish != "close" if version == "HTTP/1.1" else wish == "keep-alive"
    body = headers.get("content-length", "0") != "0" or "transfer-encoding" in headers
    return _Request(method, _path(target), headers, stays and not body)


def _path(target: str) -> str:
    """The path of an address, unescaped. Raises :class:`_RefusedError` for one that is broken or too long."""
    try:
        whole = target.startswith(("http://", "https://"))
        path = (urlsplit(target).path or "/") if whole else target.partition("?")[0]
        plain = unquote(path, errors="strict")
    except ValueError:
        raise _RefusedError(HTTPStatus.BAD_REQUEST, "The address is broken.") from None
    if _ESCAPE.search(path) or not path.startswith("/"):
        raise _RefusedError(HTTPStatus.BAD_REQUEST, "The address is broken.")
    if any(len(part.encode()) > LONGEST_NAME for part in plain.split("/")):
        raise _RefusedError(HTTPStatus.REQUEST_URI_TOO_LONG, "The address is too long.")
    return plain


class _Connection:
    """One browser's connection, from its first request to its last."""

    def __init__(self, server: Server, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self.server, self.reader, self.writer = server, reader, writer
        self.asked = ""

    async def run(self) -> None:
        try:
            while await self._one():
                pass
        except _RefusedError as refused:
            await self._refuse(refused.status, refused.words, body=True)
            await self._drain_in()

    async def _one(self) -> bool:
        """Answer one request; whether another may follow."""
        first = await asyncio.wait_for(self.reader.read(1), IDLE_S)
        if not first:
            return False
        request = await asyncio.wait_for(_request(self.reader, first), HEAD_S)
        self.asked = f"{request.method} {request.target}"
        await self._serve(request)
        return request.stays

    async def _drain_in(self) -> None:
        """Take in what is still being sent, for a moment, so that the answer gets through."""
        with suppress(TimeoutError):
            async with asyncio.timeout(2):
                while await self.reader.read(PIECE):
                    pass

    def _head(self, status: HTTPStatus, more: Mapping[str, str]) -> None:
        rows = {
            "Server": "boreside",
            "Date": email.utils.formatdate(usegmt=True),
            **security_headers(),
            **more,
            **({"Strict-Transport-Security": "max-age=86400"} if self.server.tls else {}),
        }
        head = f"HTTP/1.1 {status.value} {status.phrase}\r\n" + "".join(f"{k}: {v}\r\n" for k, v in rows.items())
        self.writer.write(head.encode("latin-1") + b"\r\n")
        if self.server.loud:
            sys.stderr.write(plain(f"{status.value} {self.asked}") + "\n")

    async def _refuse(self, status: HTTPStatus, words: str, *, body: bool) -> None:
        text = words.encode()
        more = {
            "Content-Type": "text/plain; charset=utf-8",
            "Content-Length": str(len(text)),
            "Cache-Control": "no-store",
        }
        if status != HTTPStatus.NOT_FOUND:
            more["Connection"] = "close"
        self._head(status, more)
        self.writer.write(text if body else b"")
        await self._taken()

    async def _taken(self) -> None:
        """Wait until what was written is on its way; give up on who takes nothing."""
        await asyncio.wait_for(self.writer.drain(), STALL_S)

    async def _serve(self, request: _Request) -> None:
        found = self.server.find(request.target)
        if found is None:
            await self._refuse(HTTPStatus.NOT_FOUND, "There is no such file in the app.", body=request.method == "GET")
            return
        path, encoding = _packed(found, request.headers.get("accept-encoding", ""))
        try:
            tag = await asyncio.to_thread(self.server.tag, path)
        except OSError:  # it may not be read, or another build has just taken its place
            await self._refuse(
                HTTPStatus.SERVICE_UNAVAILABLE, "This file cannot be read now.", body=request.method == "GET"
            )
            return
        more = {"ETag": tag, "Cache-Control": "no-cache", "Vary": "Accept-Encoding", "Content-Type": mime(found.name)}
        if found.name == "sw.js":
            more["Service-Worker-Allowed"] = "/"
        if encoding:
            more["Content-Encoding"] = encoding
        if tag in (t.strip().removeprefix("W/") for t in request.headers.get("if-none-match", "").split(",")):
            self._head(HTTPStatus.NOT_MODIFIED, more)
            await self._taken()
            return
        with path.open("rb") as file:
            size = path.stat().st_size
            self._head(HTTPStatus.OK, {**more, "Content-Length": str(size)})
            self.server.count(found, size)
            while request.method == "GET" and (piece := file.read(PIECE)):
                self.writer.write(piece)
                await self._taken()
        await self._taken()


def _packed(found: Path, takes: str) -> tuple[Path, str]:
    """The file as it is sent to a browser that takes these encodings, and how it is packed ("" where it is not)."""
    taken = {
        part.split(";")[0].strip()
        for part in takes.split(",")
        if "q=0" not in part.replace(" ", "").replace("q=0.", "")
    }
    for name, ending in (("br", ".br"), ("gzip", ".gz")):
        packed = found.with_name(found.name + ending)
        if name in taken and packed.is_file():
            return packed, name
    return found, ""


class Server:
    """Serves ``folder``. ``port`` 0 takes a free one. Use as a context manager, or :meth:`serve_forever`.

    Raises FileNotFoundError for a folder without an app, OSError where the port cannot be had.
    """

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
        self._tags: dict[tuple[str, int, int], str] = {}
        #: Bytes sent by file, in this run.
        self.sent: dict[str, int] = {}
        self._context = _tls(certificate) if certificate is not None else None
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        self._socket = socket.create_server((host, port), family=family, backlog=64)
        self._stop: tuple[asyncio.AbstractEventLoop, asyncio.Event] | None = None
        self._ready = threading.Event()
        self._open = 0

    @property
    def tls(self) -> bool:
        return self._context is not None

    @property
    def server_address(self) -> tuple[str, int]:
        host, port = self._socket.getsockname()[:2]
        return str(host), int(port)

    @property
    def port(self) -> int:
        return self.server_address[1]

    def find(self, path: str) -> Path | None:
        """The file that an unescaped path names, or None. Nothing outside the folder, nothing hidden, no link followed out."""
        parts = [p for p in path.split("/") if p]
        if any(p.startswith(".") or "\\" in p or "\0" in p for p in parts):
            return None
        found = self.folder.joinpath(*(parts or ["index.html"]))
        if parts and path.endswith("/"):
            return None
        try:
            there = found.is_file() and self.folder in found.resolve().parents
        except (OSError, RuntimeError):  # longer than a path may be here, or a ring of links
            return None
        return found if there else None

    def tag(self, path: Path) -> str:
        about = path.stat()
        key = (str(path), about.st_mtime_ns, about.st_size)
        if key not in self._tags:
            self._tags[key] = '"' + hashlib.sha256(path.read_bytes()).hexdigest()[:32] + '"'
        return self._tags[key]

    def count(self, path: Path, size: int) -> None:
        name = path.relative_to(self.folder).as_posix()
        self.sent[name] = self.sent.get(name, 0) + size

    async def _client(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._open += 1
        try:
            if self._open <= MOST_CONNECTIONS:
                await _Connection(self, reader, writer).run()
        except (OSError, TimeoutError, asyncio.IncompleteReadError, asyncio.CancelledError):
            writer.transport.abort()  # gone, silent or too slow: there is nobody to tell
        finally:
            self._open -= 1
            writer.close()

    async def _run(self) -> None:
        stop = asyncio.Event()
        loop = asyncio.get_running_loop()
        loop.set_exception_handler(lambda _, about: sys.stderr.write(f"{about['message']}\n") if self.loud else None)
        patience = HEAD_S if self._context is not None else None
        serving = await asyncio.start_server(
            self._client, sock=self._socket, limit=LONGEST_LINE, ssl=self._context, ssl_handshake_timeout=patience
        )
        self._stop = loop, stop
        self._ready.set()
        await stop.wait()
        serving.close()

    def serve_forever(self) -> None:
        """Serve until :meth:`shutdown`, or until interrupted."""
        asyncio.run(self._run())

    def shutdown(self) -> None:
        if self._stop is not None:
            loop, stop = self._stop
            with suppress(RuntimeError):  # it has come to its end already
                loop.call_soon_threadsafe(stop.set)

    def server_close(self) -> None:
        self._socket.close()

    def __enter__(self) -> Self:
        self._thread = threading.Thread(target=self.serve_forever, daemon=True)
        self._thread.start()
        self._ready.wait(10)
        return self

    def __exit__(self, *_: object) -> None:
        self.shutdown()
        self._thread.join(5)
        self.server_close()


def _tls(certificate: tuple[Path, Path]) -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.load_cert_chain(*map(str, certificate))
    return context


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


def qr(address: str) -> str:
    """The address as a QR code (ISO/IEC 18004) in block characters for a terminal."""
    import qrcode

    code = qrcode.QRCode(border=2, error_correction=qrcode.constants.ERROR_CORRECT_M)
    code.add_data(address)
    out = io.StringIO()
    code.print_ascii(out=out, invert=True)
    return out.getvalue()
