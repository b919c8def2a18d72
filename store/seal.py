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

from logic.say import L

from .errors import Refused
from .form import canonical

__all__ = ["ITERATIONS", "seal", "sealed", "unseal"]

#: Rounds of key derivation for a new file (OWASP Password Storage Cheat Sheet, 2023, for PBKDF2-HMAC-SHA-256).
ITERATIONS = 600_000
_MOST = 5_000_000
_START = b'{"boreside": "sealed"'


def sealed(data: bytes) -> bool:
    """Whether these bytes are a sealed export."""
    return data[:64].lstrip().startswith(_START)


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
        head = json.loads(data)
        if head["format"] != 1:
            raise Refused(L("This file was made by a newer Boreside. Update this copy first."), "newer")
        box, salt, nonce = (base64.b64decode(head[k], validate=True) for k in ("data", "salt", "nonce"))
        iterations = int(head["iterations"])
        if not 1 <= iterations <= _MOST or len(nonce) != 12:
            raise ValueError("parameters out of bounds")
    except (ValueError, LookupError, TypeError, RecursionError) as problem:
        raise Refused(L("This locked file is damaged, or breaks off. It cannot be opened."), "damaged") from problem
    known = canonical({k: v for k, v in head.items() if k != "data"}).encode()
    try:
        return await _crypt("decrypt", box, _words(passphrase), salt, iterations, nonce, known)
    except _Wrong as problem:
        raise Refused(L("The passphrase does not fit this file, or the file is damaged."), "passphrase") from problem


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
