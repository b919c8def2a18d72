"""Pages of paper as a PDF: headings, paragraphs, tables and drawings, one under the other.

The objects of the file are kept by `pydyf <https://doc.courtbouillon.org/pydyf/>`_, a
small writer in pure Python; how text is broken into lines and tables into pages is
done here. Lengths are in points (1/72 in), measured from the top left corner.

Words that nobody at the keyboard can foresee (names in any script) never break a
page: letters the font lacks are drawn as the sign for a missing letter, but each stays
itself for whoever searches or copies the text, in the order in which it was written; and
words longer than a line are cut where the line ends, between what is read as letters.
"""

from __future__ import annotations

import io
import math
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence

import pydyf

from logic.factors import MM_PER_INCH
from logic.shapes import Arc, Band, Circle, Drawing, Polygon, Polyline, Shape, Text

from .svg import PAPER, Look
from .typeface import Typeface, typeface

__all__ = ["PAPERS", "Paper"]

#: Width and height in points: ISO 216 A4 (210 × 297 mm) and Letter (8.5 × 11 in, ANSI/ASME Y14.1 size A).
PAPERS: Mapping[str, tuple[float, float]] = {
    "A4": (210 / MM_PER_INCH * 72, 297 / MM_PER_INCH * 72),
    "Letter": (612.0, 792.0),
}

MARGIN = 45.0
BODY, SMALL, HEAD, TITLE = 9.0, 7.5, 12.5, 18.0
LEADING = 1.32
INK, GREY, RULE, TINT = "#14181c", "#4a5560", "#b9c1c9", "#eef1f4"
#: Letters that run to the left (Unicode Standard Annex 9, table 4).
_LEFTWARD = ("R", "AL")
#: Joins the signs of one emoji, and letters of some scripts (zero width joiner).
_JOINER = chr(0x200D)
#: Control points of a quarter circle drawn as a cubic curve.
_KAPPA = 4 / 3 * (math.sqrt(2) - 1)


#: Where a point of a drawing lies on the page.
_At = Callable[[float, float], tuple[float, float]]


def _rgb(colour: str) -> tuple[float, float, float]:
    red, green, blue = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    return red, green, blue


def _clusters(word: str) -> list[str]:
    """What is read as one letter each: marks, joined signs and skin tones stay with the letter before them."""
    out: list[list[str]] = []
    for letter in word:
        joined = (
            unicodedata.category(letter) in ("Mn", "Me", "Mc") or letter == _JOINER or 0x1F3FB <= ord(letter) <= 0x1F3FF
        )
        if out and (joined or out[-1][-1] == _JOINER):
            out[-1].append(letter)
        else:
            out.append([letter])
    return ["".join(cluster) for cluster in out]


def _laid(line: str) -> str:
    """A line as it is laid from left to right: what runs to the left turned round, numbers in it as they are.

    The Unicode Bidirectional Algorithm (Unicode Standard Annex 9) for a line that runs to
    the right as a whole and has nothing nested in it but numbers (rules N1, I1 and L2).
    """
    kinds = [unicodedata.bidirectional(letter) for letter in line]
    if not any(kind in _LEFTWARD for kind in kinds):
        return line
    out, at = [], 0
    while at < len(line):
        if kinds[at] not in _LEFTWARD:
            out.append(line[at])
            at += 1
            continue
        stop = at
        while stop < len(line) and kinds[stop] != "L":
            stop += 1
        while kinds[stop - 1] not in (*_LEFTWARD, "NSM"):
            stop -= 1
        out += _turned(line[at:stop])
        at = stop
    return "".join(out)


def _turned(run: str) -> list[str]:
    """Letters that run to the left, the last first; the digits of a number stay in their order."""
    parts: list[str] = []
    for cluster in _clusters(run):
        number = unicodedata.bidirectional(cluster[0]) in ("EN", "AN")
        if number and parts and unicodedata.bidirectional(parts[-1][0]) in ("EN", "AN"):
            parts[-1] += cluster
        else:
            parts.append(cluster)
    return parts[::-1]


def _cut(word: str, face: Typeface, most: float) -> list[str]:
    """A word in pieces no wider than ``most`` (thousandths of the letter size), in one pass."""
    pieces: list[list[str]] = [[]]
    run = 0.0
    for cluster in _clusters(word):
        for part in [cluster] if face.width(cluster) <= most else cluster:
            wide = face.width(part)
            if pieces[-1] and run + wide > most:
                pieces.append([])
                run = 0.0
            pieces[-1].append(part)
            run += wide
    return ["".join(piece) for piece in pieces]


class Paper:
    """A document in the making. Raises ValueError for a paper that is not in :data:`PAPERS`."""

    def __init__(self, paper: str = "A4", *, title: str = "", footer: str = "") -> None:
        if paper not in PAPERS:
            raise ValueError(f"no such paper: {paper}")
        self.width, self.height = PAPERS[paper]
        self._title, self._footer = title, footer
        self._pages: list[pydyf.Stream] = []
        #: By font: the letter that each code stands for. A code is the glyph's number; letters
        #: that the font lacks have codes of their own, beyond its glyphs.
        self._used: dict[str, dict[int, str]] = {"text": {}, "bold": {}}
        self._codes: dict[str, dict[str, int]] = {"text": {}, "bold": {}}
        self._images: dict[str, pydyf.Stream] = {}
        #: Whether some letter so far could not be drawn.
        self.lacks_letters = False
        self.y = 0.0
        self._turn()

    # -- pages ---------------------------------------------------------------------------------
    @property
    def inside(self) -> float:
        """The width between the margins."""
        return self.width - 2 * MARGIN

    @property
    def _room(self) -> float:
        return self.height - MARGIN - 14 - self.y

    def _turn(self) -> None:
        self._pages.append(pydyf.Stream(compress=True))
        self.y = MARGIN

    def need(self, height: float) -> None:
        """Turn the page if ``height`` no longer fits on this one (and would on a fresh one)."""
        if height > self._room and self.y > MARGIN:
            self._turn()

    def gap(self, height: float) -> None:
        self.y += height

    # -- marks -----------------------------------------------------------------------------------
    def _font(self, *, bold: bool) -> tuple[str, Typeface]:
        name = "bold" if bold else "text"
        return name, typeface(name)

    def _write(
        self, x: float, baseline: float, words: str, size: float, *, bold: bool = False, colour: str = INK
    ) -> None:
        if not words:
            return
        name, _ = self._font(bold=bold)
        codes = [f"{self._code(name, letter):04x}" for letter in _laid(words)]
        page = self._pages[-1]
        page.begin_text()
        page.set_color_rgb(*_rgb(colour))
        page.set_font_size(name, size)
        page.set_text_matrix(1, 0, 0, 1, x, self.height - baseline)
        page.stream.append(f"<{''.join(codes)}> Tj")
        page.end_text()

    def _code(self, name: str, letter: str) -> int:
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

    def _rule(self, x: float, y: float, width: float, *, colour: str = RULE, weight: float = 0.6) -> None:
        page = self._pages[-1]
        page.set_color_rgb(*_rgb(colour), stroke=True)
        page.set_line_width(weight)
        page.move_to(x, self.height - y)
        page.line_to(x + width, self.height - y)
        page.stroke()

    def _fill(self, x: float, y: float, width: float, height: float, colour: str) -> None:
        page = self._pages[-1]
        page.set_color_rgb(*_rgb(colour))
        page.rectangle(x, self.height - y - height, width, height)
        page.fill()

    # -- words -------------------------------------------------------------------------------------
    def measure(self, words: str, size: float, *, bold: bool = False) -> float:
        """The width of words on one line."""
        return self._font(bold=bold)[1].width(words) * size / 1000

    def break_lines(self, words: str, width: float, size: float, *, bold: bool = False) -> list[str]:
        """Words as lines no wider than ``width``; a word wider than that is cut."""
        face = self._font(bold=bold)[1]
        space = face.letter_width(" ")
        out: list[str] = []
        for paragraph in words.split("\n"):
            line, run = "", 0.0
            for word in paragraph.split(" "):
                longer = face.width(word)
                if line and (run + space + longer) * size / 1000 <= width:
                    line, run = f"{line} {word}", run + space + longer
                    continue
                if line:
                    out.append(line)
                if longer * size / 1000 > width:
                    *whole, word = _cut(word, face, 1000 * width / size)  # noqa: PLW2901  what is left of it begins the next line
                    out += whole
                    longer = face.width(word)
                line, run = word, longer
            out.append(line)
        return out

    def _lines(self, lines: Sequence[str], x: float, size: float, *, bold: bool = False, colour: str = INK) -> None:
        for line in lines:
            self.need(size * LEADING)
            self._write(x, self.y + size, line, size, bold=bold, colour=colour)
            self.y += size * LEADING

    def letterhead(self, lines: Sequence[str]) -> None:
        """Who the paper comes from: the name large, the rest under it, and a rule."""
        for n, line in enumerate(lines):
            size = HEAD if n == 0 else BODY
            self._lines(self.break_lines(line, self.inside, size, bold=n == 0), MARGIN, size, bold=n == 0)
        if lines:
            self._rule(MARGIN, self.y + 3, self.inside)
            self.gap(12)

    def signs(self, under: Sequence[str]) -> None:
        """Lines to write on, two beside each other, each with what it is for under it."""
        width = (self.inside - 24) / 2
        for start in range(0, len(under), 2):
            self.need(46)
            self.gap(30)
            for n, words in enumerate(under[start : start + 2]):
                x = MARGIN + n * (width + 24)
                self._rule(x, self.y, width, colour=INK)
                self._write(x, self.y + SMALL + 3, words, SMALL, colour=GREY)
            self.gap(16)

    def fresh(self) -> None:
        """Go on at the head of a page."""
        if self.y > MARGIN:
            self._turn()

    def title(self, words: str) -> None:
        self._lines(self.break_lines(words, self.inside, TITLE, bold=True), MARGIN, TITLE, bold=True)
        self.gap(2)

    def heading(self, words: str, *, keep: float = 0.0) -> None:
        """A heading, kept on one page with the first lines of what follows, or with ``keep`` points of it."""
        self.gap(10)
        self.need(HEAD * LEADING + 12 + max(28.0, keep))
        self._lines(self.break_lines(words, self.inside, HEAD, bold=True), MARGIN, HEAD, bold=True)
        self._rule(MARGIN, self.y + 1, self.inside, colour=INK, weight=0.9)
        self.gap(6)

    def subheading(self, words: str, *, keep: float = 0.0) -> None:
        """A smaller heading; ``keep`` as for :meth:`heading`."""
        self.gap(4)
        self.need((BODY + 1) * LEADING + max(26.0, keep))
        self._lines(self.break_lines(words, self.inside, BODY + 1, bold=True), MARGIN, BODY + 1, bold=True)

    def paragraph(self, words: str, *, bold: bool = False, small: bool = False, indent: float = 0.0) -> None:
        size = SMALL if small else BODY
        lines = self.break_lines(words, self.inside - indent, size, bold=bold)
        self._lines(lines, MARGIN + indent, size, bold=bold, colour=GREY if small else INK)
        self.gap(2)

    def items(self, entries: Iterable[str], *, small: bool = False) -> None:
        """A list, one dot to each entry."""
        size = SMALL if small else BODY
        for entry in entries:
            lines = self.break_lines(entry, self.inside - 10, size)
            self.need(size * LEADING * min(2, len(lines)))
            self._write(MARGIN + 1, self.y + size, "·", size, bold=True)
            self._lines(lines, MARGIN + 10, size, colour=GREY if small else INK)
        self.gap(2)

    def facts(self, rows: Sequence[tuple[str, str]]) -> None:
        """Names and what they are; two beside each other where there are more than four."""
        across = 2 if len(rows) > 4 else 1
        width = (self.inside - 12 * (across - 1)) / across
        left = min(width / 2.5, max((self.measure(name, BODY) for name, _ in rows), default=0.0) + 10)
        for start in range(0, len(rows), across):
            cells = [
                (self.break_lines(name, left - 6, BODY), self.break_lines(value, width - left, BODY, bold=True))
                for name, value in rows[start : start + across]
            ]
            height = max(len(lines) for cell in cells for lines in cell)
            self.need(BODY * LEADING * min(3, height))
            for line in range(height):
                self.need(BODY * LEADING)
                for n, (names, values) in enumerate(cells):
                    x = MARGIN + n * (width + 12)
                    self._write(x, self.y + BODY, "".join(names[line : line + 1]), BODY, colour=GREY)
                    self._write(x + left, self.y + BODY, "".join(values[line : line + 1]), BODY, bold=True)
                self.y += BODY * LEADING
        self.gap(2)

    # -- tables ------------------------------------------------------------------------------------
    def table(self, head: Sequence[str], rows: Sequence[Sequence[str]], shares: Sequence[float]) -> None:  # noqa: C901  # one search over many cases, told in one piece
        """A table as wide as the page; ``shares`` divide the width. The head is repeated on every page."""
        total = sum(shares)
        widths = [self.inside * s / total for s in shares]
        pad, size = 3.0, SMALL + 0.5

        def laid(cells: Sequence[str], *, bold: bool = False) -> tuple[list[list[str]], float]:
            lines = [self.break_lines(c, w - 2 * pad, size, bold=bold) for c, w in zip(cells, widths, strict=True)]
            return lines, max(map(len, lines)) * size * LEADING + 2 * pad

        def paint(lines: list[list[str]], height: float, *, bold: bool = False) -> None:
            if bold:
                self._fill(MARGIN, self.y, self.inside, height, TINT)
            x = MARGIN
            for cell, width in zip(lines, widths, strict=True):
                y = self.y + pad
                for line in cell:
                    self._write(x + pad, y + size, line, size, bold=bold)
                    y += size * LEADING
                x += width
            self.y += height
            self._rule(MARGIN, self.y, self.inside)

        top, top_height = laid(head, bold=True)
        line, started = size * LEADING, False
        for row in rows:
            lines, height = laid(row)
            while True:
                above = 0.0 if started else top_height
                if above + height <= self._room:
                    break
                # a row that fits on a fresh page moves there, unless it is so high that it would leave a hole
                count = int((self._room - above - 2 * pad) // line)
                if count >= 3 and height > 8 * line:
                    if not started:
                        paint(top, top_height, bold=True)
                    part, lines = [c[:count] for c in lines], [c[count:] or [""] for c in lines]
                    paint(part, count * line + 2 * pad)
                    height = max(map(len, lines)) * line + 2 * pad
                self._turn()
                paint(top, top_height, bold=True)
                started = True
            if not started:
                paint(top, top_height, bold=True)
                started = True
            paint(lines, height)
        self.gap(6)

    # -- drawings ------------------------------------------------------------------------------------
    def _scale(self, row: Sequence[Drawing], gap: float) -> float:
        return min(0.75, (self.inside - gap * (len(row) - 1)) / sum(d.width for d in row))

    def height_of_drawings(self, row: Sequence[Drawing], *, gap: float = 12.0) -> float:
        """The height that :meth:`drawings` will take."""
        return max(d.height for d in row) * self._scale(row, gap) + BODY * LEADING + 8 if row else 0.0

    def drawings(
        self, row: Sequence[Drawing], *, gap: float = 12.0, theme: Mapping[str, Look] = PAPER, across: int = 1
    ) -> None:
        """Drawings side by side with their titles over them, scaled to share the width, as if there were ``across``."""
        if not row:
            return
        self.gap(4)
        full = [*row, *[row[-1]] * (across - len(row))]
        scale, caption = self._scale(full, gap), BODY * LEADING
        height = self.height_of_drawings(full, gap=gap) - 4
        self.need(height)
        x, top = MARGIN, self.y
        for d in row:
            width = d.width * scale
            for line in self.break_lines(d.title, width, BODY, bold=True)[:1]:
                self._write(x, top + BODY, line, BODY, bold=True)
            self._draw(d, x, top + caption + 2, scale, theme)
            x += width + gap
        self.y = top + height + 4

    def _draw(self, d: Drawing, left: float, top: float, scale: float, theme: Mapping[str, Look]) -> None:
        page = self._pages[-1]
        page.push_state()
        page.rectangle(left, self.height - top - d.height * scale, d.width * scale, d.height * scale)
        page.clip()
        page.end()
        page.set_line_cap(1)
        page.set_line_join(1)
        for shape in d.shapes:
            self._shape(shape, left, top, scale, theme[shape.role])
        page.pop_state()

    def _shape(self, shape: Shape, left: float, top: float, k: float, look: Look) -> None:  # noqa: C901  # one search over many cases, told in one piece
        page = self._pages[-1]

        def at(x: float, y: float) -> tuple[float, float]:
            return left + x * k, self.height - top - y * k

        def stroke(width: float, *, dashed: bool = False) -> None:
            page.set_color_rgb(*_rgb(look.line), stroke=True)
            page.set_line_width(max(0.3, width * k))
            page.set_dash([(width * 3 + 2) * k, (width * 2 + 2) * k] if dashed else [], 0)

        def path(points: Sequence[tuple[float, float]]) -> None:
            page.move_to(*at(*points[0]))
            for p in points[1:]:
                page.line_to(*at(*p))

        match shape:
            case Polyline():
                if len(shape.points) > 1:
                    stroke(shape.width, dashed=shape.dashed)
                    path(shape.points)
                    page.stroke()
            case Polygon():
                if len(shape.points) > 1:
                    path(shape.points)
                    if shape.outline is None:
                        page.set_color_rgb(*_rgb(look.area))
                        page.close()
                        page.fill()
                    else:
                        stroke(shape.outline, dashed=shape.dashed)
                        page.stroke_and_close()
            case Circle():
                self._arc(shape.x, shape.y, shape.r, 0.0, 360.0, at)
                if shape.outline is None:
                    page.set_color_rgb(*_rgb(look.area))
                    page.fill()
                else:
                    stroke(shape.outline)
                    page.stroke_and_close()
            case Arc():
                stroke(shape.width)
                self._arc(shape.x, shape.y, shape.r, shape.start_deg, shape.sweep_deg, at)
                page.stroke()
            case Band():
                x, y = at(shape.x, shape.y + shape.h)
                page.set_color_rgb(*_rgb(look.area))
                page.rectangle(x, y, max(0.0, shape.w) * k, max(0.0, shape.h) * k)
                page.fill()
            case Text():
                size = shape.size * k
                x, y = at(shape.x, shape.y + 0.35 * shape.size)
                x -= {"start": 0.0, "middle": 0.5, "end": 1.0}[shape.anchor] * self.measure(shape.text, size)
                self._write(x, self.height - y, shape.text, size, colour=look.line)

    def _arc(self, x: float, y: float, r: float, start_deg: float, sweep_deg: float, at: _At) -> None:
        """An arc as cubic curves of at most a quarter turn each."""
        page = self._pages[-1]
        sweep = max(-360.0, min(360.0, sweep_deg))
        parts = max(1, math.ceil(abs(sweep) / 90 - 1e-9))
        step = math.radians(sweep / parts)
        pull = _KAPPA if abs(step) == math.pi / 2 else 4 / 3 * math.tan(step / 4)
        pull = math.copysign(abs(pull), step)
        a = math.radians(start_deg)
        page.move_to(*at(x + r * math.cos(a), y + r * math.sin(a)))
        for _ in range(parts):
            b = a + step
            c1 = at(x + r * (math.cos(a) - pull * math.sin(a)), y + r * (math.sin(a) + pull * math.cos(a)))
            c2 = at(x + r * (math.cos(b) + pull * math.sin(b)), y + r * (math.sin(b) - pull * math.cos(b)))
            page.curve_to(*c1, *c2, *at(x + r * math.cos(b), y + r * math.sin(b)))
            a = b

    # -- photos --------------------------------------------------------------------------------------
    def photo(self, data: bytes, caption: str) -> None:
        """A JPEG, at most as wide as the page and half as high. One that cannot be read is named instead."""
        size = _jpeg_size(data)
        if size is None:
            self.paragraph(caption)
            return
        width, height, colours = size
        scale = min(self.inside / width, self.height / 2 / height, 0.75)
        self.need(height * scale + BODY * LEADING + 8)
        image = pydyf.Stream(
            [data],
            {
                "Type": "/XObject",
                "Subtype": "/Image",
                "Width": width,
                "Height": height,
                "ColorSpace": "/DeviceGray" if colours == 1 else "/DeviceRGB",
                "BitsPerComponent": 8,
                "Filter": "/DCTDecode",
            },
        )
        name = f"photo{len(self._images)}"
        self._images[name] = image
        page = self._pages[-1]
        page.push_state()
        page.set_matrix(width * scale, 0, 0, height * scale, MARGIN, self.height - self.y - height * scale)
        page.draw_x_object(name)
        page.pop_state()
        self.y += height * scale + 2
        self.paragraph(caption)

    # -- the file --------------------------------------------------------------------------------------
    def _foot(self) -> None:
        """The footer and page number on every page."""
        for number, page in enumerate(self._pages, 1):
            last, self._pages[-1] = self._pages[-1], page
            count = f"{number} / {len(self._pages)}"
            baseline = self.height - MARGIN + 12
            room = self.inside - self.measure(count, SMALL) - 12
            self._write(MARGIN, baseline, self.break_lines(self._footer, room, SMALL)[0], SMALL, colour=GREY)
            self._write(self.width - MARGIN - self.measure(count, SMALL), baseline, count, SMALL, colour=GREY)
            self._pages[-1] = last

    def finish(self) -> bytes:
        """The PDF file."""
        self._foot()
        pdf = pydyf.PDF()
        fonts = pydyf.Dictionary({name: self._embed(pdf, name).reference for name in self._used if self._used[name]})
        pdf.add_object(fonts)
        for image in self._images.values():
            pdf.add_object(image)
        pictures = pydyf.Dictionary({name: image.reference for name, image in self._images.items()})
        resources = pydyf.Dictionary({"Font": fonts.reference, "XObject": pictures})
        pdf.add_object(resources)
        for page in self._pages:
            pdf.add_object(page)
            pdf.add_page(
                pydyf.Dictionary(
                    {
                        "Type": "/Page",
                        "Parent": pdf.pages.reference,
                        "MediaBox": pydyf.Array([0, 0, round(self.width, 2), round(self.height, 2)]),
                        "Contents": page.reference,
                        "Resources": resources.reference,
                    }
                )
            )
        pdf.info["Title"] = pydyf.String(self._title)
        pdf.catalog["ViewerPreferences"] = pydyf.Dictionary({"DisplayDocTitle": "true"})
        out = io.BytesIO()
        pdf.write(out)
        return out.getvalue()

    @staticmethod
    def _map_of(pdf: pydyf.PDF, drawn: Mapping[int, int]) -> pydyf.Stream:
        """Which glyph each code draws, as two bytes each (ISO 32000-1, 9.7.4.2)."""
        rows = [0] * (max(drawn) + 1)
        for code, glyph in drawn.items():
            rows[code] = glyph
        stream = pydyf.Stream([b"".join(glyph.to_bytes(2, "big") for glyph in rows)], compress=True)
        pdf.add_object(stream)
        return stream

    def _embed(self, pdf: pydyf.PDF, name: str) -> pydyf.Dictionary:
        """The font with its letters in use, as a composite font whose codes are glyph numbers (ISO 32000-1, 9.7)."""
        face, used = typeface(name), self._used[name]
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
                "CIDToGIDMap": "/Identity" if max(used) < face.glyphs else self._map_of(pdf, drawn).reference,
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


def _frame_size(header: bytes) -> tuple[int, int, int] | None:
    """Width, height and number of colours from the six bytes that begin with the sample precision."""
    height, width = int.from_bytes(header[1:3], "big"), int.from_bytes(header[3:5], "big")
    colours = header[5]
    return (width, height, colours) if width and height and header[0] == 8 and colours in (1, 3) else None


def _jpeg_size(data: bytes) -> tuple[int, int, int] | None:
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
