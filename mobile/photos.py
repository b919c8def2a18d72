"""Photos: made small before they are kept.

In the browser the picture is drawn on an off-screen canvas, which also drops what
the camera wrote beside the picture (place, time, model). On a computer a picture is
kept as it is, if it is small enough.
"""

from __future__ import annotations

import sys

from logic.say import L
from store.errors import Refused

LONGEST_PX = 1600
QUALITY = 0.8
LARGEST = 60_000_000
#: A picture is refused before it is decoded beyond this: four bytes a pixel have to fit into a phone's memory.
MOST_PIXELS = 80_000_000
TOO_LARGE = L("That picture is too large to open on this device.")
NO_PICTURE = L("That file is no picture this device can read.")


async def shrink(data: bytes) -> tuple[bytes, str]:
    """A picture no longer than 1600 px on its long side, as JPEG: (bytes, media type).

    Raises Refused where the bytes are no picture the device can read.
    """
    if len(data) > LARGEST:
        raise Refused(TOO_LARGE, "size")
    told = dimensions(data)
    if told is None:
        raise Refused(NO_PICTURE, "media")
    if told[0] * told[1] > MOST_PIXELS:
        raise Refused(TOO_LARGE, "size")
    if sys.platform != "emscripten":
        return data, _media(data)
    from js import Blob, Object, OffscreenCanvas, Uint8Array, createImageBitmap
    from pyodide.ffi import to_js

    blob = Blob.new([Uint8Array.new(to_js(data))])
    try:
        picture = await createImageBitmap(blob)
    except Exception as wrong:
        raise Refused(NO_PICTURE, "media") from wrong
    scale = min(1.0, LONGEST_PX / max(picture.width, picture.height, 1))
    width, height = max(1, round(picture.width * scale)), max(1, round(picture.height * scale))
    canvas = OffscreenCanvas.new(width, height)
    canvas.getContext("2d").drawImage(picture, 0, 0, width, height)
    picture.close()
    options = to_js({"type": "image/jpeg", "quality": QUALITY}, dict_converter=Object.fromEntries)
    small = await canvas.convertToBlob(options)
    return (await small.arrayBuffer()).to_bytes(), "image/jpeg"


def _media(data: bytes) -> str:
    if data.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if data.startswith(b"\x89PNG"):
        return "image/png"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "image/webp"
    raise Refused(NO_PICTURE, "media")


def dimensions(data: bytes) -> tuple[int, int] | None:
    """Width and height (pixels) that a picture states at its head; None where it states none.

    Read without decoding: JPEG (ISO/IEC 10918-1, frame header), PNG (IHDR), WebP (RFC 9649:
    VP8, VP8L and VP8X chunks), GIF (logical screen), HEIF and AVIF (ISO/IEC 23008-12, the
    largest of their "ispe" properties).
    """
    for begin, read in ((b"\xff\xd8", _jpeg), (b"\x89PNG", _png), (b"RIFF", _webp), (b"GIF8", _gif)):
        if data.startswith(begin):
            return read(data)
    return _heif(data) if data[4:8] == b"ftyp" else None


def _png(data: bytes) -> tuple[int, int] | None:
    if len(data) < 24 or data[12:16] != b"IHDR":
        return None
    return int.from_bytes(data[16:20], "big"), int.from_bytes(data[20:24], "big")


def _gif(data: bytes) -> tuple[int, int] | None:
    return None if len(data) < 10 else (int.from_bytes(data[6:8], "little"), int.from_bytes(data[8:10], "little"))


def _heif(data: bytes) -> tuple[int, int] | None:
    found, at = [], data.find(b"ispe")
    while 0 <= at <= len(data) - 16:
        found.append((int.from_bytes(data[at + 8 : at + 12], "big"), int.from_bytes(data[at + 12 : at + 16], "big")))
        at = data.find(b"ispe", at + 4)
    return max(found, key=lambda size: size[0] * size[1], default=None)


def _jpeg(data: bytes) -> tuple[int, int] | None:
    at = 2
    while at + 9 <= len(data):
        if data[at] != 0xFF:
            return None
        marker = data[at + 1]
        if marker == 0xFF:  # a fill byte
            at += 1
        elif 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):  # a frame header, whatever the coding
            return int.from_bytes(data[at + 7 : at + 9], "big"), int.from_bytes(data[at + 5 : at + 7], "big")
        elif marker == 0xDA:  # the picture itself, with no frame before it
            return None
        else:
            at += 2 if marker == 0x01 or 0xD0 <= marker <= 0xD8 else 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    return None


def _webp(data: bytes) -> tuple[int, int] | None:
    if len(data) < 30 or data[8:12] != b"WEBP":
        return None
    if data[12:16] == b"VP8X":
        return int.from_bytes(data[24:27], "little") + 1, int.from_bytes(data[27:30], "little") + 1
    if data[12:16] == b"VP8L":
        bits = int.from_bytes(data[21:25], "little")
        return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    if data[12:16] == b"VP8 ":
        return int.from_bytes(data[26:28], "little") & 0x3FFF, int.from_bytes(data[28:30], "little") & 0x3FFF
    return None
