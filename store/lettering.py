"""The fonts of a PDF: which letters were written, their codes, and the font files that carry just these."""

from __future__ import annotations

from collections.abc import Mapping

import pydyf

from .typeface import typeface

__all__ = ["Lettering"]


class Lettering:
    """Gives each letter its code in each font, and puts the fonts into the file in the end.

    A code is the glyph's number; letters that the font lacks have codes of their own, beyond
    its glyphs, so that each stays itself for whoever searches or copies the text.
    ``lacks_letters`` says whether some letter so far could not be drawn.
    """

    def __init__(self) -> None:
        self.lacks_letters = False
        #: By font: the letter that each code stands for, and the code of each letter.
        self._used: dict[str, dict[int, str]] = {"text": {}, "bold": {}}
        self._codes: dict[str, dict[str, int]] = {"text": {}, "bold": {}}

    def code(self, name: str, letter: str) -> int:
        """The code of a letter in a font."""
        known, face = self._codes[name], typeface(name)
        code = known.get(letter)
        if code is None:
            code = face.glyph(letter)
            if not face.has(letter):
                self.lacks_letters = self.lacks_letters or not face.unseen(letter)
                code = min(face.glyphs + len(known), 0xFFFF)
            known[letter] = code
            self._used[name].setdefault(code, letter)
        return code

    def put_into(self, pdf: pydyf.PDF) -> pydyf.Dictionary:
        """Every font that was written with, by its name."""
        return pydyf.Dictionary({name: _embed(pdf, name, used).reference for name, used in self._used.items() if used})


def _map_of(pdf: pydyf.PDF, drawn: Mapping[int, int]) -> pydyf.Stream:
    """Which glyph each code draws, as two bytes each (ISO 32000-1, 9.7.4.2)."""
    rows = [0] * (max(drawn) + 1)
    for code, glyph in drawn.items():
        rows[code] = glyph
    stream = pydyf.Stream([b"".join(glyph.to_bytes(2, "big") for glyph in rows)], compress=True)
    pdf.add_object(stream)
    return stream


def _embed(pdf: pydyf.PDF, name: str, used: Mapping[int, str]) -> pydyf.Dictionary:
    """The font with its letters in use, as a composite font whose codes are glyph numbers (ISO 32000-1, 9.7)."""
    face = typeface(name)
    base = f"BORESD+DejaVuSansCondensed{'-Bold' if name == 'bold' else ''}"
    drawn = {code: 3 if face.unseen(letter) else face.glyph(letter) for code, letter in used.items()}
    data = face.cut_down(set(drawn.values()))
    file = pydyf.Stream([data], {"Length1": len(data)}, compress=True)
    pdf.add_object(file)
    descriptor = pydyf.Dictionary(
        {
            "Type": "/FontDescriptor",
            "FontName": f"/{base}",
            "Flags": 4,
            "FontBBox": pydyf.Array(face.box),
            "ItalicAngle": 0,
            "Ascent": face.ascent,
            "Descent": face.descent,
            "CapHeight": 729,
            "StemV": 120 if name == "bold" else 80,
            "FontFile2": file.reference,
        }
    )
    pdf.add_object(descriptor)
    widths: list[object] = []
    for code in sorted(used):
        widths += [code, pydyf.Array([round(face.letter_width(used[code]))])]
    letters = pydyf.Dictionary(
        {
            "Type": "/Font",
            "Subtype": "/CIDFontType2",
            "BaseFont": f"/{base}",
            "CIDSystemInfo": pydyf.Dictionary(
                {"Registry": pydyf.String("Adobe"), "Ordering": pydyf.String("Identity"), "Supplement": 0}
            ),
            "FontDescriptor": descriptor.reference,
            "W": pydyf.Array(widths),
            "CIDToGIDMap": "/Identity" if max(used) < face.glyphs else _map_of(pdf, drawn).reference,
        }
    )
    pdf.add_object(letters)
    to_unicode = pydyf.Stream([_unicode_map(used)], compress=True)
    pdf.add_object(to_unicode)
    font = pydyf.Dictionary(
        {
            "Type": "/Font",
            "Subtype": "/Type0",
            "BaseFont": f"/{base}",
            "Encoding": "/Identity-H",
            "DescendantFonts": pydyf.Array([letters.reference]),
            "ToUnicode": to_unicode.reference,
        }
    )
    pdf.add_object(font)
    return font


def _letter(letter: str) -> str:
    return "\ufffd" if 0xD800 <= ord(letter) <= 0xDFFF else letter


def _unicode_map(used: Mapping[int, str]) -> bytes:
    """Which letter each glyph number stands for, so that the text can be searched and copied (ISO 32000-1, 9.10.3)."""
    rows = [f"<{glyph:04x}> <{_letter(letter).encode('utf-16-be').hex()}>" for glyph, letter in sorted(used.items())]
    parts = [
        (
            "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CMapName /Letters def\n/CMapType 2 def\n"
            "1 begincodespacerange\n<0000> <ffff>\nendcodespacerange"
        )
    ]
    for start in range(0, len(rows), 100):
        block = rows[start : start + 100]
        parts.append(f"{len(block)} beginbfchar\n" + "\n".join(block) + "\nendbfchar")
    parts.append("endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend")
    return "\n".join(parts).encode()
