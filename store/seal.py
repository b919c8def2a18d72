"""An export encrypted with a passphrase.

AES-256-GCM with a key from PBKDF2-HMAC-SHA-256 (NIST SP 800-132, SP 800-38D). The
primitives are the browser's own Web Cryptography API in the browser and the
``cryptography`` package on a computer; both read what the other wrote. A sealed
file is JSON text. Its parameters are authenticated along with the content, which is encrypted
in segments of :data:`SEGMENT` bytes so that no more than one need be in memory.
"""

from __future__ import annotations

import base64
import json
import os
import sys
import unicodedata
from typing import Any, NamedTuple

from logic.say import L, Line

from .errors import Refused
from .form import canonical
from .pieces import Held, Source

__all__ = [
    "ITERATIONS",
    "SHORTEST",
    "Opened",
    "Sealer",
    "checked",
    "seal",
    "sealed",
    "strength",
    "unseal",
    "unsealed",
]

#: Rounds of key derivation for a new file (OWASP Password Storage Cheat Sheet, 2023, for PBKDF2-HMAC-SHA-256).
ITERATIONS = 600_000
_MOST = 5_000_000
#: Characters a new passphrase has at least (NIST SP 800-63B, 5.1.1.2), and how many of them differ at least (common practice).
SHORTEST = 8
_DIFFERENT = 5
#: Bits of guessing a word and a character of a mixture are taken for, and those at which a passphrase counts as
#: fair and as strong (common practice; a word out of a list of some thousands has 12 to 13 bits).
_WORD_BITS, _CHARACTER_BITS = 12, 4
_FAIR_BITS, _STRONG_BITS = 36, 48
_START = b'{"boreside": "sealed"'
#: Bytes encrypted at a time in a new file.
SEGMENT = 1_000_000
#: Bytes of a segment's nonce that are the file's own; four for its number and one for "the last" follow.
_PREFIX, _TAG = 7, 16
_OPENING, _END = b',\n "segments": [\n', b"\n]}\n"
_LONGEST_HEAD = 2_000
DAMAGED = L("This locked file is damaged, or breaks off. It cannot be opened.")
UNFIT = L("The passphrase does not fit this file, or the file is damaged.")


def sealed(data: bytes) -> bool:
    """Whether these bytes are a sealed export."""
    return data[:64].lstrip().startswith(_START)


def strength(passphrase: str) -> Line:
    """A word on how well a passphrase keeps: by the number of words, or the length of a mixture."""
    words = passphrase.split()
    if all(word.isalpha() for word in words):
        bits = _WORD_BITS * len({word.casefold() for word in words})
    else:
        bits = _CHARACTER_BITS * min(len(passphrase), 2 * len(set(passphrase)))
    if bits < _FAIR_BITS:
        return L(
            "This passphrase is weak: whoever has the file can try many words. Four words or more that do not belong together are strong."
        )
    if bits < _STRONG_BITS:
        return L("This passphrase is fair. Four words or more that do not belong together are strong.")
    return L("This passphrase is strong. Write it down where the file is not: without it nobody can open the file.")


def checked(passphrase: str) -> str:
    """A passphrase that a new file may be locked with. Raises Refused ("short")."""
    if len(passphrase.strip()) < SHORTEST or len(set(passphrase)) < _DIFFERENT:
        raise Refused(
            L(
                "That is too short or too plain for a passphrase. Use several words: eight letters at least, not all alike."
            ),
            "short",
        )
    return passphrase


class Sealer:
    """Encrypts a file that comes piece by piece: hand each to :meth:`add`, then :meth:`end`; both give bytes to write.

    Segments of :data:`SEGMENT` bytes are encrypted each for itself. Number and place as the last
    go into a segment's nonce, so that none can be left out, put elsewhere or added, and a file
    that breaks off is known by it (the STREAM construction of Hoang, Reyhanitabar, Rogaway and
    Vizár, "Online Authenticated-Encryption and its Nonce-Reuse Misuse-Resistance", CRYPTO 2015).
    """

    def __init__(self, passphrase: str) -> None:
        self._passphrase = passphrase
        self._key: Any = None
        self._rest = bytearray()
        self._number = 0
        self._prefix = b""
        self._known = b""

    async def add(self, data: bytes) -> bytes:
        """The next bytes of the file; gives what of it is ready."""
        self._rest += data
        out = [] if self._key is not None else [await self._begin()]
        while len(self._rest) > SEGMENT:  # the last one is held back, for it is marked as the last
            out.append(await self._sealed(bytes(self._rest[:SEGMENT]), last=False))
            del self._rest[:SEGMENT]
        return b"".join(out)

    async def end(self) -> bytes:
        """The file has come to its end."""
        begin = b"" if self._key is not None else await self._begin()
        return begin + await self._sealed(bytes(self._rest), last=True) + _END

    async def _begin(self) -> bytes:
        salt, self._prefix = os.urandom(16), os.urandom(_PREFIX)
        head = {
            "boreside": "sealed",
            "format": 2,
            "key": "PBKDF2-HMAC-SHA-256",
            "iterations": ITERATIONS,
            "cipher": "AES-256-GCM",
            "segment": SEGMENT,
            "salt": base64.b64encode(salt).decode(),
            "nonce": base64.b64encode(self._prefix).decode(),
        }
        self._known = canonical(head).encode()
        self._key = await _derived(_words(self._passphrase), salt, ITERATIONS)
        lines = ",\n".join(f" {json.dumps(k)}: {json.dumps(v)}" for k, v in head.items())
        return b"{" + lines.strip().encode() + _OPENING

    async def _sealed(self, data: bytes, *, last: bool) -> bytes:
        box = await _encrypt(self._key, _nonce(self._prefix, self._number, last=last), self._known, data)
        comma = b",\n" if self._number else b""
        self._number += 1
        return comma + b'"' + base64.b64encode(box) + b'"'


def _nonce(prefix: bytes, number: int, *, last: bool) -> bytes:
    return prefix + number.to_bytes(4, "big") + bytes([last])


async def seal(data: bytes, passphrase: str) -> bytes:
    """The bytes, encrypted."""
    sealer = Sealer(passphrase)
    return await sealer.add(data) + await sealer.end()


async def unseal(data: bytes, passphrase: str) -> bytes:
    """The bytes that were sealed. Raises Refused ("passphrase", "newer", "damaged")."""
    opened = await unsealed(Held(data), passphrase)
    return opened.read(0, opened.size) if isinstance(opened, Held) else await opened.fetch(0, opened.size)


async def unsealed(source: Source, passphrase: str) -> Held | Opened:
    """A sealed file, to be read as it was before: piece by piece, but for a file of the first form, which
    was encrypted in one piece and is opened in one. Raises Refused ("passphrase", "newer", "damaged")."""
    if not passphrase:
        raise Refused(L("This file is locked with a passphrase. Type it to go on."), "passphrase")
    start = source.read(0, _LONGEST_HEAD)
    at = start.find(_OPENING)
    try:
        whole = start[:at] + b"}" if at >= 0 else source.read(0, source.size)
        head = _head_of(whole, in_segments=at >= 0)
    except (ValueError, LookupError, TypeError, AttributeError, OverflowError, RecursionError) as problem:
        raise Refused(DAMAGED, "damaged") from problem
    key = await _derived(_words(passphrase), head.salt, head.iterations)
    if head.form == 1:
        try:
            return Held(await _decrypt(key, head.nonce, head.known, head.box))
        except _Wrong as problem:
            raise Refused(UNFIT, "passphrase") from problem
    opened = Opened(source, at + len(_OPENING), head.segment, key, head.nonce, head.known)
    await opened.check()
    return opened


class _Head(NamedTuple):
    """The parameters of a sealed file. ``known`` are the bytes authenticated along, ``box`` what a file of the first form holds."""

    form: int
    salt: bytes
    nonce: bytes
    iterations: int
    segment: int
    known: bytes
    box: bytes


def _head_of(text: bytes, *, in_segments: bool) -> _Head:
    """Raises Refused for a newer form, and one of several errors where the parameters make no sense."""
    head = json.loads(text, parse_constant=_no_constant)
    form = _form_of(head)
    salt, nonce = (base64.b64decode(head[k], validate=True) for k in ("salt", "nonce"))
    iterations = _bounded(head["iterations"])
    if (form == 2) != in_segments or len(nonce) != (12 if form == 1 else _PREFIX):
        raise ValueError("parameters out of bounds")
    box = base64.b64decode(head["data"], validate=True) if form == 1 else b""
    known = canonical({k: v for k, v in head.items() if k != "data"}).encode()
    segment = _bounded(head["segment"]) if form == 2 else SEGMENT
    return _Head(form, salt, nonce, iterations, segment, known, box)


def _form_of(head: Any) -> int:
    form = head["format"]
    if isinstance(form, bool) or not isinstance(form, int):
        raise TypeError("no form at all")
    if form not in (1, 2):
        raise Refused(L("This file was made by a newer Boreside. Update this copy first."), "newer")
    return form


def _bounded(number: Any) -> int:
    """A number of rounds or of bytes in a segment. Raises ValueError where it is none, or no sensible one."""
    if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number <= _MOST:
        raise ValueError("rounds or segments out of bounds")
    return number


class Opened:
    """A sealed file that is decrypted as it is read, one segment in memory at a time."""

    def __init__(self, source: Source, begin: int, segment: int, key: Any, prefix: bytes, known: bytes) -> None:
        self._source, self._begin, self._segment = source, begin, segment
        self._key, self._prefix, self._known = key, prefix, known
        self._line = 4 * -(-(segment + _TAG) // 3)  # a full segment in base64
        self._stride = self._line + 4  # with its quotes, the comma and the end of the line
        body = source.size - begin - len(_END)
        self._count = max(1, -(-(body + 2) // self._stride))
        self._last = body - (self._count - 1) * self._stride - 2
        if self._last < 4 or source.read(source.size - len(_END), source.size) != _END:
            raise Refused(DAMAGED, "damaged")
        quoted = self._read_line(self._count - 1)
        padding = len(quoted) - len(quoted.rstrip(b"="))
        self.size = (self._count - 1) * segment + self._last // 4 * 3 - padding - _TAG
        self._held: tuple[int, bytes] = (-1, b"")

    def _read_line(self, number: int) -> bytes:
        start = self._begin + number * self._stride
        length = self._line if number < self._count - 1 else self._last
        text = self._source.read(start, start + length + 2)
        if text[:1] != b'"' or text[-1:] != b'"':
            raise Refused(DAMAGED, "damaged")
        return text[1:-1]

    async def check(self) -> None:
        """Open the first segment, so that a passphrase that does not fit is told at once."""
        await self._segment_at(0)

    async def _segment_at(self, number: int) -> bytes:
        if self._held[0] != number:
            nonce = _nonce(self._prefix, number, last=number == self._count - 1)
            try:
                box = base64.b64decode(self._read_line(number), validate=True)
                self._held = number, await _decrypt(self._key, nonce, self._known, box)
            except ValueError as problem:
                raise Refused(DAMAGED, "damaged") from problem
            except _Wrong as problem:
                raise Refused(*((UNFIT, "passphrase") if self._held[0] < 0 else (DAMAGED, "damaged"))) from problem
        return self._held[1]

    async def fetch(self, start: int, end: int) -> bytes:
        """Bytes of the file as it was before. Raises Refused ("passphrase", "damaged")."""
        out, end = bytearray(), min(end, self.size)
        while start < end:
            number, within = divmod(start, self._segment)
            piece = (await self._segment_at(number))[within : within + end - start]
            if not piece:
                raise Refused(DAMAGED, "damaged")
            out += piece
            start += len(piece)
        return bytes(out)


def _no_constant(text: str) -> Any:
    raise ValueError(f"{text} is no number")


class _Wrong(Exception):
    """The content does not authenticate."""


def _words(passphrase: str) -> bytes:
    return unicodedata.normalize("NFC", passphrase).encode("utf-8", "surrogatepass")


if sys.platform == "emscripten":  # pragma: no cover - run by the browser tests
    from js import Object, crypto  # type: ignore[import-not-found]
    from pyodide.ffi import JsException, to_js  # type: ignore[import-not-found]

    def _object(**values: Any) -> Any:
        return to_js(values, dict_converter=Object.fromEntries)

    async def _derived(words: bytes, salt: bytes, iterations: int) -> Any:
        subtle = getattr(crypto, "subtle", None)
        if subtle is None:
            raise Refused(L("Files can only be locked and opened on a page served over https."), "closed")
        base = await subtle.importKey("raw", to_js(words), "PBKDF2", False, to_js(["deriveKey"]))
        how = _object(name="PBKDF2", hash="SHA-256", salt=to_js(salt), iterations=iterations)
        both = to_js(["encrypt", "decrypt"])
        return await subtle.deriveKey(how, base, _object(name="AES-GCM", length=256), False, both)

    def _gcm(nonce: bytes, known: bytes) -> Any:
        return _object(name="AES-GCM", iv=to_js(nonce), additionalData=to_js(known), tagLength=128)

    async def _encrypt(key: Any, nonce: bytes, known: bytes, data: bytes) -> bytes:
        return bytes((await crypto.subtle.encrypt(_gcm(nonce, known), key, to_js(data))).to_bytes())

    async def _decrypt(key: Any, nonce: bytes, known: bytes, data: bytes) -> bytes:
        try:
            return bytes((await crypto.subtle.decrypt(_gcm(nonce, known), key, to_js(data))).to_bytes())
        except JsException as problem:
            raise _Wrong from problem

else:

    async def _derived(words: bytes, salt: bytes, iterations: int) -> Any:
        from cryptography.hazmat.primitives.ciphers.aead import AESGCM
        from cryptography.hazmat.primitives.hashes import SHA256
        from cryptography.hazmat.primitives.kdf.pbkdf2 import PBKDF2HMAC

        return AESGCM(PBKDF2HMAC(SHA256(), 32, salt, iterations).derive(words))

    async def _encrypt(key: Any, nonce: bytes, known: bytes, data: bytes) -> bytes:
        return bytes(key.encrypt(nonce, data, known))

    async def _decrypt(key: Any, nonce: bytes, known: bytes, data: bytes) -> bytes:
        from cryptography.exceptions import InvalidTag

        try:
            return bytes(key.decrypt(nonce, data, known))
        except InvalidTag as problem:
            raise _Wrong from problem
