"""The app's icons, drawn by calculation: a bore seen from above with the cutter's nick.

Only the standard library is used, so the build needs no image file and no image library.
"""

from __future__ import annotations

import math
import struct
import zlib

__all__ = ["icon", "png"]

Colour = tuple[int, int, int]  #: red, green and blue, 0 to 255

PAPER = (248, 246, 240)
INK = (22, 27, 33)
STEEL = (92, 107, 120)
SHINE = (176, 188, 198)
CUT = (214, 84, 20)


def png(width: int, height: int, rgb: bytes) -> bytes:
    """An 8-bit RGB PNG (W3C PNG specification, filter 0). ``rgb`` holds 3·width·height bytes."""
    if len(rgb) != 3 * width * height:
        raise ValueError("rgb must hold 3 bytes a pixel")

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    rows = b"".join(b"\0" + rgb[3 * width * y : 3 * width * (y + 1)] for y in range(height))
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows, 9)) + chunk(b"IEND", b"")


def _mix(a: Colour, b: Colour, t: float) -> Colour:
    t = min(1.0, max(0.0, t))
    r, g, b_ = (round(x + (y - x) * t) for x, y in zip(a, b, strict=True))
    return r, g, b_


def icon(size: int, *, maskable: bool = False) -> bytes:
    """A square icon as PNG bytes. ``maskable`` keeps the drawing inside the inner 80 % circle."""
    scale = (0.62 if maskable else 0.84) * size / 2
    middle = (size - 1) / 2
    soft = max(0.8, size / 160) / scale  # edge width, for smooth edges
    out = bytearray()
    nick = math.radians(-52)
    along, across = math.cos(nick), math.sin(nick)
    for y in range(size):
        for x in range(size):
            u, v = (x - middle) / scale, (y - middle) / scale
            r = math.hypot(u, v)
            colour = PAPER
            # the block's wall: a steel ring, lighter on the side the light comes from
            light = 0.5 - 0.5 * (u + v) / (r * math.sqrt(2)) if r > 1e-9 else 0.5
            ring = _mix(STEEL, SHINE, 0.75 * light)
            colour = _mix(colour, ring, (1.0 - r) / soft + 0.5)
            # the hole, and one step of fresh cut half way round it
            colour = _mix(colour, INK, (0.70 - r) / soft + 0.5)
            p, q = u * along + v * across, -u * across + v * along
            if q > 0 or abs(q) < soft:
                fresh = min((0.76 - r) / soft + 0.5, (r - 0.70) / soft + 0.5, q / soft + 0.5)
                colour = _mix(colour, CUT, fresh)
            # the cutter: a bar from the middle to the wall, pointed
            tip = 0.17 - max(0.0, p - 0.60) * 0.9
            bar = min((tip - abs(q)) / soft, (p + 0.02) / soft, (0.76 - p) / soft) + 0.5
            colour = _mix(colour, CUT, bar)
            colour = _mix(colour, PAPER, (0.235 - r) / soft + 0.5)
            colour = _mix(colour, STEEL, (0.13 - r) / soft + 0.5)
            out += bytes(colour)
    return png(size, size, bytes(out))
