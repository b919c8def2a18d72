"""The size of a JPEG, read from its header: what a PDF needs to carry it as it is."""

from __future__ import annotations

__all__ = ["size_of"]


def _frame_size(header: bytes) -> tuple[int, int, int] | None:
    """Width, height and number of colours from the six bytes that begin with the sample precision."""
    height, width = int.from_bytes(header[1:3], "big"), int.from_bytes(header[3:5], "big")
    colours = header[5]
    return (width, height, colours) if width and height and header[0] == 8 and colours in (1, 3) else None


def size_of(data: bytes) -> tuple[int, int, int] | None:
    """Width, height and number of colours of a JPEG (ISO/IEC 10918-1, frame header), or None if it is not one
    that a PDF can carry as it is."""
    if data[:2] != b"\xff\xd8":
        return None
    at = 2
    while at + 9 < len(data):
        if data[at] != 0xFF:
            return None
        marker, length = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        if marker in (0xC0, 0xC1, 0xC2):
            return _frame_size(data[at + 4 : at + 10])
        if marker == 0xD8 or 0xD0 <= marker <= 0xD7 or marker == 0x01:
            at += 2
        elif marker in (0xD9, 0xDA) or length < 2:
            return None
        else:
            at += 2 + length
    return None
