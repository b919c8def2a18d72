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
from store.pieces import Held

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


def test_it_is_pbkdf2_and_aes_gcm_as_the_standards_have_them(monkeypatch: pytest.MonkeyPatch) -> None:
    """Opened here without the module: key by hashlib's PBKDF2 (SP 800-132), content by AES-GCM (SP 800-38D),
    number and "last" in the nonces as the STREAM construction has them (Hoang and others, CRYPTO 2015)."""
    monkeypatch.setattr(seal, "SEGMENT", 10)
    content = bytes(range(25))
    data = json.loads(run(seal.seal(content, "pass")))
    boxes = [base64.b64decode(text) for text in data.pop("segments")]
    salt, prefix = base64.b64decode(data["salt"]), base64.b64decode(data["nonce"])
    assert data["iterations"] == seal.ITERATIONS >= 600_000 and len(prefix) == 7
    key = AESGCM(hashlib.pbkdf2_hmac("sha256", b"pass", salt, data["iterations"]))
    nonces = [prefix + bytes((0, 0, 0, n, n == 2)) for n in range(3)]
    opened = [key.decrypt(n, box, canonical(data).encode()) for n, box in zip(nonces, boxes, strict=True)]
    assert opened == [content[:10], content[10:20], content[20:]]


def first_form(content: bytes, passphrase: str, **other: object) -> bytes:
    """A file as it was locked before there were segments, made here without the module."""
    salt, nonce = bytes(range(16)), bytes(range(12))
    head = {
        "boreside": "sealed",
        "format": 1,
        "key": "PBKDF2-HMAC-SHA-256",
        "iterations": 1000,
        "cipher": "AES-256-GCM",
        "salt": base64.b64encode(salt).decode(),
        "nonce": base64.b64encode(nonce).decode(),
    }
    key = AESGCM(hashlib.pbkdf2_hmac("sha256", passphrase.encode(), salt, 1000))
    box = key.encrypt(nonce, content, canonical(head).encode())
    whole = {**head, "data": base64.b64encode(box).decode(), **other}
    return json.dumps(whole, indent=1).replace("{\n ", "{", 1).encode() + b"\n"


def test_a_file_locked_in_one_piece_by_an_earlier_version_still_opens() -> None:
    data = first_form(b"content", "pass")
    assert seal.sealed(data) and run(seal.unseal(data, "pass")) == b"content"
    assert code_of(data, "past") == "passphrase"
    for key, value in (("cipher", "none"), ("key", "none"), ("iterations", 1)):
        assert code_of(first_form(b"content", "pass", **{key: value}), "pass") == "passphrase"
    for key, value in (("iterations", 10**9), ("nonce", "AA=="), ("salt", 5), ("data", "?"), ("format", True)):
        assert code_of(first_form(b"content", "pass", **{key: value}), "pass") == "damaged"


@pytest.mark.parametrize("length", [0, 1, 9, 10, 11, 20, 29, 30, 31])
def test_any_length_comes_back_from_anywhere_in_it(length: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(seal, "SEGMENT", 10)
    monkeypatch.setattr(seal, "ITERATIONS", 1)
    content = bytes(range(length))

    async def work() -> None:
        sealer = seal.Sealer("pass")
        data = b"".join([await sealer.add(content[n : n + 3]) for n in range(0, length, 3)]) + await sealer.end()
        json.loads(data)
        opened = await seal.unsealed(Held(data), "pass")
        assert isinstance(opened, seal.Opened) and opened.size == length
        for start in range(length + 1):
            for end in range(start, length + 3):
                assert await opened.fetch(start, end) == content[start:end]
        with pytest.raises(Refused) as refused:
            await seal.unsealed(Held(data), "past")
        assert refused.value.code == "passphrase"

    run(work())


def test_segments_left_out_added_or_in_another_order_are_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(seal, "SEGMENT", 10)
    monkeypatch.setattr(seal, "ITERATIONS", 1)
    data = run(seal.seal(bytes(range(40)), "pass"))
    head, rest = data.split(b"[\n")
    lines = rest.removesuffix(b"\n]}\n").split(b",\n")
    assert len(lines) == 4

    def with_lines(*order: int) -> bytes:
        return head + b"[\n" + b",\n".join(lines[n] for n in order) + b"\n]}\n"

    assert run(seal.unseal(with_lines(0, 1, 2, 3), "pass")) == bytes(range(40))
    for order in ((0, 1, 2), (1, 0, 2, 3), (0, 1, 3), (0, 0, 1, 2, 3), (0, 1, 2, 3, 3), (3,), (0, 2, 1, 3)):
        assert code_of(with_lines(*order), "pass") in ("damaged", "passphrase"), order
    for cut in range(len(head), len(data) - 1):
        assert code_of(data[:cut], "pass") in ("damaged", "passphrase"), cut


def test_composed_and_decomposed_letters_are_the_same_passphrase() -> None:
    assert run(seal.unseal(run(seal.seal(b"x", "caf\u00e9")), "cafe\u0301")) == b"x"


def test_two_locked_copies_have_nothing_in_common() -> None:
    one, two = (json.loads(run(seal.seal(b"x" * 100, "pass"))) for _ in range(2))
    assert one["salt"] != two["salt"] and one["nonce"] != two["nonce"] and one["segments"] != two["segments"]


def test_damage_is_noticed() -> None:
    data = run(seal.seal(b"content", "pass"))
    assert code_of(data[: len(data) // 2], "pass") == "damaged"

    def other(key: str, value: object) -> bytes:
        line = next(row for row in data.split(b"\n") if f'"{key}": '.encode() in row)
        return data.replace(line, f' "{key}": {json.dumps(value)},'.encode(), 1)

    assert other("key", "PBKDF2-HMAC-SHA-256") == data
    for key, value in (("cipher", "none"), ("key", "none"), ("iterations", 1)):
        assert code_of(other(key, value), "pass") == "passphrase"
    for key, value in (("iterations", 10**9), ("iterations", "x"), ("nonce", "AA=="), ("salt", 5), ("segment", 0)):
        assert code_of(other(key, value), "pass") == "damaged"
    assert code_of(other("format", 3), "pass") == "newer"
