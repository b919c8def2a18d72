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


async def shrink(data: bytes) -> tuple[bytes, str]:
    """A picture no longer than 1600 px on its long side, as JPEG: (bytes, media type).

    Raises Refused where the bytes are no picture the device can read.
    """
    if len(data) > LARGEST:
        raise Refused(L("That picture is too large to open on this device."), "size")
    if sys.platform != "emscripten":
        return data, _media(data)
    from js import Blob, Object, OffscreenCanvas, Uint8Array, createImageBitmap
    from pyodide.ffi import to_js

    blob = Blob.new([Uint8Array.new(to_js(data))])
    try:
        picture = await createImageBitmap(blob)
    except Exception as wrong:
        raise Refused(L("That file is no picture this device can read."), "media") from wrong
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
    raise Refused(L("That file is no picture this device can read."), "media")
