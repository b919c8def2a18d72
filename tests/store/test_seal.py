"""A locked export: opened with its passphrase, and with nothing else."""

from __future__ import annotations

import base64
import hashlib
import json

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from store import seal
from store.errors import Refused
from store.form import canonical
from store.jobs import Jobs
from store.memory import MemoryBackend

from .support import reading, run, texts


def code_of(data: bytes, passphrase: str) -> str:
    with pytest.raises(Refused) as refused:
        run(seal.unseal(data, passphrase))
    return refused.value.code


def test_a_locked_export_needs_its_passphrase() -> None:
    async def work() -> None:
        jobs = await Jobs.open(MemoryBackend())
        made = await jobs.create(title="Private")
        await jobs.append(made.id, reading("3.0"))
        data = await jobs.export(passphrase="blue iron")
        assert seal.sealed(data) and b"Private" not in data and b"reading" not in data
        other = await Jobs.open(MemoryBackend())
        for wrong in ("", "blue iro", "Blue iron"):
            with pytest.raises(Refused) as refused:
                await other.examine(data, passphrase=wrong)
            assert refused.value.code == "passphrase"
        await other.take_in(await other.examine(data, passphrase="blue iron"))
        assert texts(await other.load(made.id)) == ["3.0"]

    run(work())


def test_it_is_pbkdf2_and_aes_gcm_as_the_standards_have_them() -> None:
    """Opened here without the module: key by hashlib's PBKDF2 (SP 800-132), content by AES-GCM (SP 800-38D)."""
    data = json.loads(run(seal.seal(b"content", "pass")))
    box = base64.b64decode(data.pop("data"))
    salt, nonce = base64.b64decode(data["salt"]), base64.b64decode(data["nonce"])
    assert data["iterations"] == seal.ITERATIONS >= 600_000
    key = hashlib.pbkdf2_hmac("sha256", b"pass", salt, data["iterations"])
    assert AESGCM(key).decrypt(nonce, box, canonical(data).encode()) == b"content"


def test_composed_and_decomposed_letters_are_the_same_passphrase() -> None:
    assert run(seal.unseal(run(seal.seal(b"x", "caf\u00e9")), "cafe\u0301")) == b"x"


def test_two_locked_copies_have_nothing_in_common() -> None:
    one, two = (json.loads(run(seal.seal(b"x" * 100, "pass"))) for _ in range(2))
    assert one["salt"] != two["salt"] and one["nonce"] != two["nonce"] and one["data"] != two["data"]


def test_damage_is_noticed() -> None:
    data = run(seal.seal(b"content", "pass"))
    whole = json.loads(data)
    assert code_of(data[: len(data) // 2], "pass") == "damaged"
    for key, value in (("cipher", "none"), ("key", "none"), ("iterations", 1)):
        assert code_of(json.dumps({**whole, key: value}).encode(), "pass") == "passphrase"
    for key, value in (("iterations", 10**9), ("iterations", "x"), ("nonce", "AA=="), ("salt", 5), ("data", "?")):
        assert code_of(json.dumps({**whole, key: value}).encode(), "pass") == "damaged"
    assert code_of(json.dumps({**whole, "format": 2}).encode(), "pass") == "newer"
