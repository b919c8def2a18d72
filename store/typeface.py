"""A TrueType font, read just far enough to measure text and to put it into a PDF.

Reads the tables ``head``, ``hhea``, ``maxp``, ``hmtx``, ``cmap`` (format 4) and
``loca``/``glyf`` of the fonts in ``store/fonts``, as laid down in ISO/IEC 14496-22
(Open Font Format). It is no general font reader: it knows the fonts it comes with.
"""

from __future__ import annotations

import struct
import unicodedata
from functools import cache
from pathlib import Path

__all__ = ["Typeface", "typeface"]

#: Drawn in place of a letter the font does not have.
MISSING = "\ufffd"
#: Letters that look the same, or near enough, for those a font may lack.
ALIKE = {"\u202f": "\u00a0", "\u2011": "-", "\u2009": "\u00a0", "\t": " "}


class Typeface:
    """Measures of one font. Lengths are in thousandths of the letter size unless said otherwise."""

    def __init__(self, data: bytes) -> None:
        if data[:4] != b"\0\1\0\0":
            raise ValueError("this is no TrueType font")
        self.data = data
        count = struct.unpack(">H", data[4:6])[0]
        self._table: dict[str, bytes] = {}
        for i in range(count):
            tag, _, start, length = struct.unpack(">4sIII", data[12 + 16 * i : 28 + 16 * i])
            self._table[tag.decode()] = data[start : start + length]
        head = self._table["head"]
        units: int = struct.unpack(">H", head[18:20])[0]
        self._per_unit = 1000 / units
        self.box = tuple(round(v * self._per_unit) for v in struct.unpack(">4h", head[36:44]))
        self._long_loca = struct.unpack(">h", head[50:52])[0] == 1
        ascent, descent = struct.unpack(">hh", self._table["hhea"][4:8])
        self.ascent, self.descent = round(ascent * self._per_unit), round(descent * self._per_unit)
        metrics = struct.unpack(">H", self._table["hhea"][34:36])[0]
        self.glyphs: int = struct.unpack(">H", self._table["maxp"][4:6])[0]
        hmtx = self._table["hmtx"]
        widths = [struct.unpack(">H", hmtx[4 * i : 4 * i + 2])[0] for i in range(metrics)]
        self._widths: list[int] = widths + [widths[-1]] * (self.glyphs - metrics)
        self._map = self._read_cmap(self._table["cmap"])
        self._letter_widths: dict[str, float] = {}

    @staticmethod
    def _read_cmap(cmap: bytes) -> dict[int, int]:
        tables = struct.unpack(">H", cmap[2:4])[0]
        for i in range(tables):
            platform, coding, start = struct.unpack(">HHI", cmap[4 + 8 * i : 12 + 8 * i])
            part = cmap[start:]
            if (platform, coding) in ((3, 1), (0, 3), (0, 4)) and struct.unpack(">H", part[:2])[0] == 4:
                break
        else:
            raise ValueError("the font has no character map this can read")
        segments = struct.unpack(">H", part[6:8])[0] // 2
        step = 2 * segments

        def row(at: int, kind: str) -> tuple[int, ...]:
            return struct.unpack(f">{segments}{kind}", part[at : at + step])

        ends, starts = row(14, "H"), row(16 + step, "H")
        deltas, offsets = row(16 + 2 * step, "h"), row(16 + 3 * step, "H")
        found: dict[int, int] = {}
        for i, (a, b, delta, offset) in enumerate(zip(starts, ends, deltas, offsets, strict=True)):
            for code in range(a, min(b, 0xFFFE) + 1):
                if offset:
                    at = 16 + 3 * step + 2 * i + offset + 2 * (code - a)
                    glyph = struct.unpack(">H", part[at : at + 2])[0]
                    glyph = (glyph + delta) & 0xFFFF if glyph else 0
                else:
                    glyph = (code + delta) & 0xFFFF
                if glyph:
                    found[code] = glyph
        return found

    def glyph(self, letter: str) -> int:
        """The font's number of a letter; that of the sign for a missing letter if it has none."""
        code = ord(letter)
        if code in self._map:
            return self._map[code]
        return self._map.get(ord(ALIKE.get(letter, MISSING)), self._map.get(ord(MISSING), 0))

    def has(self, letter: str) -> bool:
        return ord(letter) in self._map or letter in ALIKE

    def advance(self, glyph: int) -> float:
        return self._widths[glyph] * self._per_unit

    def letter_width(self, letter: str) -> float:
        """How wide a letter runs; nothing for a mark or a joiner that the font does not have."""
        found = self._letter_widths.get(letter)
        if found is None:
            found = 0.0 if self.unseen(letter) else self.advance(self.glyph(letter))
            self._letter_widths[letter] = found
        return found

    def unseen(self, letter: str) -> bool:
        """Whether a letter is a mark, a joiner or a turner of direction that the font does not have: nothing is drawn."""
        return not self.has(letter) and unicodedata.category(letter) in ("Cf", "Mn", "Me")

    def width(self, text: str) -> float:
        """How wide a text runs."""
        return sum(map(self.letter_width, text))

    # -- only the letters in use -------------------------------------------------------------
    def _offsets(self) -> tuple[int, ...]:
        loca = self._table["loca"]
        if self._long_loca:
            return tuple(struct.unpack(f">{self.glyphs + 1}I", loca[: 4 * (self.glyphs + 1)]))
        return tuple(2 * v for v in struct.unpack(f">{self.glyphs + 1}H", loca[: 2 * (self.glyphs + 1)]))

    def _parts(self, body: bytes) -> list[int]:
        """Glyphs that a composite glyph is put together from."""
        if len(body) < 12 or struct.unpack(">h", body[:2])[0] >= 0:
            return []
        found, at = [], 10
        while True:
            flags, glyph = struct.unpack(">HH", body[at : at + 4])
            found.append(glyph)
            at += 4 + (4 if flags & 0x0001 else 2)
            at += 2 if flags & 0x0008 else 4 if flags & 0x0040 else 8 if flags & 0x0080 else 0
            if not flags & 0x0020:
                return found

    def cut_down(self, used: set[int]) -> bytes:
        """The font as a file with the outlines of ``used`` glyphs alone; glyph numbers stay as they are."""
        offsets, glyf = self._offsets(), self._table["glyf"]
        keep, waiting = set(), [0, *used]
        while waiting:
            g = waiting.pop()
            if g not in keep:
                keep.add(g)
                waiting.extend(self._parts(glyf[offsets[g] : offsets[g + 1]]))
        bodies, places = [], [0]
        for g in range(self.glyphs):
            body = glyf[offsets[g] : offsets[g + 1]] if g in keep else b""
            body += b"\0" * (-len(body) % 4)
            bodies.append(body)
            places.append(places[-1] + len(body))
        head = bytearray(self._table["head"])
        head[8:12] = b"\0\0\0\0"
        head[50:52] = struct.pack(">h", 1)
        tables = {
            "cmap": self._table["cmap"],
            "glyf": b"".join(bodies),
            "head": bytes(head),
            "hhea": self._table["hhea"],
            "hmtx": self._table["hmtx"],
            "loca": struct.pack(f">{len(places)}I", *places),
            "maxp": self._table["maxp"],
        }
        return _assemble(tables)


def _assemble(tables: dict[str, bytes]) -> bytes:
    """A font file from its tables, with checksums (ISO/IEC 14496-22, organisation of a font)."""

    def checksum(body: bytes) -> int:
        body += b"\0" * (-len(body) % 4)
        words: tuple[int, ...] = struct.unpack(f">{len(body) // 4}I", body)
        return sum(words) & 0xFFFFFFFF

    n = len(tables)
    power = 1 << (n.bit_length() - 1)
    out = bytearray(struct.pack(">IHHHH", 0x00010000, n, 16 * power, power.bit_length() - 1, 16 * (n - power)))
    at = 12 + 16 * n
    head_at = 0
    for tag in sorted(tables):
        body = tables[tag]
        if tag == "head":
            head_at = at
        out += struct.pack(">4sIII", tag.encode(), checksum(body), at, len(body))
        at += len(body) + (-len(body) % 4)
    for tag in sorted(tables):
        out += tables[tag] + b"\0" * (-len(tables[tag]) % 4)
    out[head_at + 8 : head_at + 12] = struct.pack(">I", (0xB1B0AFBA - checksum(bytes(out))) & 0xFFFFFFFF)
    return bytes(out)


@cache
def typeface(name: str) -> Typeface:
    """The font "text" or "bold"."""
    return Typeface((Path(__file__).parent / "fonts" / f"{name}.ttf").read_bytes())
