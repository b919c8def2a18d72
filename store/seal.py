"""An export encrypted with a passphrase.

AES-256-GCM with a key from PBKDF2-HMAC-SHA-256 (NIST SP 800-132, SP 800-38D). The
primitives are the browser's own Web Cryptography API in the browser and the
``cryptography`` package on a computer; both read what the other wrote. A sealed
file is JSON text. Its parameters are authenticated along with the content.
"""

from __future__ import annotations

import base64
import json
import os
import sys
import unicodedata
from typing import Any

from logic.say import L, Line

from .errors import Refused
from .form import canonical

__all__ = ["ITERATIONS", "SHORTEST", "checked", "seal", "sealed", "strength", "unseal"]

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


async def seal(data: bytes, passphrase: str) -> bytes:
    """The bytes, encrypted."""
    salt, nonce = os.urandom(16), os.urandom(12)
    head = {
        "boreside": "sealed",
        "format": 1,
        "key": "PBKDF2-HMAC-SHA-256",
        "iterations": ITERATIONS,
        "cipher": "AES-256-GCM",
        "salt": base64.b64encode(salt).decode(),
        "nonce": base64.b64encode(nonce).decode(),
    }
    box = await _crypt("encrypt", data, _words(passphrase), salt, ITERATIONS, nonce, canonical(head).encode())
    return (json.dumps({**head, "data": base64.b64encode(box).decode()}, indent=1)).replace(
        "{\n ", "{", 1
    ).encode() + b"\n"


async def unseal(data: bytes, passphrase: str) -> bytes:
    """The bytes that were sealed. Raises Refused ("passphrase", "newer", "damaged")."""
    if not passphrase:
        raise Refused(L("This file is locked with a passphrase. Type it to go on."), "passphrase")
    try:
        head = json.loads(data, parse_constant=_no_constant)
        if head["format"] != 1:
            raise Refused(L("This file was made by a newer Boreside. Update this copy first."), "newer")
        box, salt, nonce = (base64.b64decode(head[k], validate=True) for k in ("data", "salt", "nonce"))
        iterations = head["iterations"]
        if isinstance(iterations, bool) or not isinstance(iterations, int) or not 1 <= iterations <= _MOST:
            raise ValueError("rounds out of bounds")
        if len(nonce) != 12:
            raise ValueError("parameters out of bounds")
        known = canonical({k: v for k, v in head.items() if k != "data"}).encode()
    except (ValueError, LookupError, TypeError, AttributeError, OverflowError, RecursionError) as problem:
        raise Refused(L("This locked file is damaged, or breaks off. It cannot be opened."), "damaged") from problem
    try:
        return await _crypt("decrypt", box, _words(passphrase), salt, iterations, nonce, known)
    except _Wrong as problem:
        raise Refused(L("The passphrase does not fit this file, or the file is damaged."), "passphrase") from problem


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

    async def _crypt(
        way: str, data: bytes, words: bytes, salt: bytes, iterations: int, nonce: bytes, known: bytes
    ) -> bytes:
        subtle = getattr(crypto, "subtle", None)
        if subtle is None:
            raise Refused(L("Files can only be locked and opened on a page served over https."), "closed")
        base = await subtle.importKey("raw", to_js(words), "PBKDF2", False, to_js(["deriveKey"]))
        how = _object(name="PBKDF2", hash="SHA-256", salt=to_js(salt), iterations=iterations)
        key = await subtle.deriveKey(how, base, _object(name="AES-GCM", length=256), False, to_js([way]))
        gcm = _object(name="AES-GCM", iv=to_js(nonce), additionalData=to_js(known), tagLength=128)
        try:
            result = await getattr(subtle, way)(gcm, key, to_js(data))
        except JsException as problem:
            raise _Wrong from problem
        return bytes(result.to_bytes())

else:

    async def _crypt(
        way: str, data: bytes, words: bytes, salt: bytes, iterations: int, nonce: bytes, known: bytes
    ) -> bytes:
        from cryptography.exceptions import InvalidTag
        from cryptography.hazmat.primitives.ciphers.aead import AESGCM
        from cryptography.hazmat.primitives.hashes import SHA256
        from cryptography.hazmat.primitives.kdf.pbkdf2 import PBKDF2HMAC

        key = PBKDF2HMAC(SHA256(), 32, salt, iterations).derive(words)
        try:
            return (
                AESGCM(key).encrypt(nonce, data, known) if way == "encrypt" else AESGCM(key).decrypt(nonce, data, known)
            )
        except InvalidTag as problem:
            raise _Wrong from problem
