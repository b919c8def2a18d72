"""What the command's verbs share: exit codes, files in and out, and what is said where."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import Any

__all__ = ["BAD_INPUT", "DONE", "SAYS_NO", "InputError", "print_data", "print_out", "put", "read", "tell"]

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
    try:
        return sys.stdin.buffer.read() if path == "-" else Path(path).read_bytes()
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror or error}.") from None


def put(path: str, data: bytes) -> None:
    if path == "-":
        sys.stdout.buffer.write(data)
        return
    target = Path(path)
    part = target.with_name(f".{target.name}.{os.getpid()}")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        part.write_bytes(data)
        part.replace(target)
    except OSError as error:
        if part.exists():
            part.unlink()
        raise InputError(f"{path} cannot be written: {error.strerror or error}.") from None
