"""What the command's verbs share: exit codes, files in and out, and what is said where."""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import sys
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from typing import Any, BinaryIO

from logic.say import say
from store.seal import checked, strength

__all__ = [
    "BAD_INPUT",
    "DONE",
    "SAYS_NO",
    "InputError",
    "passphrase",
    "print_data",
    "print_out",
    "put",
    "put_pieces",
    "read",
    "tell",
    "to_lock_with",
]

DONE, SAYS_NO, BAD_INPUT = 0, 1, 2


class InputError(Exception):
    """What was given cannot be used; the message is the sentence to show."""


def print_out(text: str) -> None:
    sys.stdout.write(text if text.endswith("\n") else text + "\n")


def tell(text: str) -> None:
    """To the person, where standard output carries data."""
    sys.stderr.write(text + "\n")
    sys.stderr.flush()


def print_data(data: Any) -> None:
    print_out(json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False))


def read(path: str) -> bytes:
    if not path:
        raise InputError("An empty name is no file to read.")
    try:
        return sys.stdin.buffer.read() if path == "-" else Path(path).read_bytes()
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror or error}.") from None


def put(path: str, data: bytes) -> None:
    """Write a file, whole or not at all; "-" is standard output."""
    if path == "-":
        sys.stdout.buffer.write(data)
        return
    with _replacing(path) as file:
        file.write(data)


async def put_pieces(path: str, pieces: AsyncIterator[bytes]) -> int:
    """The same for a file that comes piece by piece; gives its length in bytes."""
    count = 0
    with contextlib.nullcontext(sys.stdout.buffer) if path == "-" else _replacing(path) as file:
        async for piece in pieces:
            file.write(piece)
            count += len(piece)
    return count


@contextlib.contextmanager
def _replacing(path: str) -> Iterator[BinaryIO]:
    """A file that takes the place of the one at ``path`` once it is whole and on the disk."""
    target = Path(path)
    if not target.name or target.is_dir():
        raise InputError(f"{path or 'An empty name'} is no file to write to.")
    part = target.with_name(f".{target.name}.{os.getpid()}")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with part.open("wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        part.replace(target)
    except OSError as error:
        raise InputError(f"{path} cannot be written: {error.strerror or error}.") from None
    finally:
        with contextlib.suppress(OSError):  # it is in its place, or was never made
            part.unlink()


def passphrase(given: argparse.Namespace) -> str:
    """The passphrase in the file named, or "". Raises :class:`InputError` where that holds no text."""
    if not given.passphrase_file:
        return ""
    try:
        return read(given.passphrase_file).decode("utf-8").strip("\r\n")
    except UnicodeDecodeError:
        raise InputError(f"{given.passphrase_file} is not UTF-8 text: save the passphrase as UTF-8.") from None


def to_lock_with(given: argparse.Namespace) -> str:
    """The passphrase for a new locked file; empty where none is asked for."""
    if not given.seal:
        return ""
    words = passphrase(given)
    if not words:
        raise InputError("--seal needs a passphrase: name a file that holds one with --passphrase-file.")
    checked(words)
    tell(say(strength(words)))
    return words
