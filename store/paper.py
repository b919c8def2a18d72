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
from collections.abc import Iterable, Mapping, Sequence

import pydyf

from logic.factors import MM_PER_INCH
from logic.shapes import Drawing

from .jpeg import size_of
from .lettering import Lettering
from .letters import cut, laid
from .sketch import Sketch, rgb
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
#: The letters of a table, and the space round them in a cell.
FINE, CELL = SMALL + 0.5, 3.0
INK, GREY, RULE, TINT = "#14181c", "#4a5560", "#b9c1c9", "#eef1f4"


class Paper:
    """A document in the making. Raises ValueError for a paper that is not in :data:`PAPERS`."""

    def __init__(self, paper: str = "A4", *, title: str = "", footer: str = "") -> None:
        if paper not in PAPERS:
            raise ValueError(f"no such paper: {paper}")
        self.width, self.height = PAPERS[paper]
        self._title, self._footer = title, footer
        self._pages: list[pydyf.Stream] = []
        self._lettering = Lettering()
        self._images: dict[str, pydyf.Stream] = {}
        self.y = 0.0
        self.turn()

    @property
    def lacks_letters(self) -> bool:
        """Whether some letter so far could not be drawn."""
        return self._lettering.lacks_letters

    # -- pages ---------------------------------------------------------------------------------
    @property
    def inside(self) -> float:
        """The width between the margins."""
        return self.width - 2 * MARGIN

    @property
    def room(self) -> float:
        """The height that is left on this page."""
        return self.height - MARGIN - 14 - self.y

    def turn(self) -> None:
        """Go on with a fresh page."""
        self._pages.append(pydyf.Stream(compress=True))
        self.y = MARGIN

    def need(self, height: float) -> None:
        """Turn the page if ``height`` no longer fits on this one (and would on a fresh one)."""
        if height > self.room and self.y > MARGIN:
            self.turn()

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
        codes = [f"{self._lettering.code(name, letter):04x}" for letter in laid(words)]
        page = self._pages[-1]
        page.begin_text()
        page.set_color_rgb(*rgb(colour))
        page.set_font_size(name, size)
        page.set_text_matrix(1, 0, 0, 1, x, self.height - baseline)
        page.stream.append(f"<{''.join(codes)}> Tj")
        page.end_text()

    def _rule(self, x: float, y: float, width: float, *, colour: str = RULE, weight: float = 0.6) -> None:
        page = self._pages[-1]
        page.set_color_rgb(*rgb(colour), stroke=True)
        page.set_line_width(weight)
        page.move_to(x, self.height - y)
        page.line_to(x + width, self.height - y)
        page.stroke()

    def _fill(self, x: float, y: float, width: float, height: float, colour: str) -> None:
        page = self._pages[-1]
        page.set_color_rgb(*rgb(colour))
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
                    *whole, word = cut(word, face, 1000 * width / size)  # noqa: PLW2901  what is left of it begins the next line
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
            self.turn()

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
    def table(self, head: Sequence[str], rows: Sequence[Sequence[str]], shares: Sequence[float]) -> None:
        """A table as wide as the page; ``shares`` divide the width. The head is repeated on every page."""
        grid = _Grid(self, head, [self.inside * s / sum(shares) for s in shares])
        for row in rows:
            grid.put(row)
        self.gap(6)

    def row(self, cells: Sequence[Sequence[str]], widths: Sequence[float], height: float, *, bold: bool) -> None:
        """One row of a table, its cells as lines; the head is ``bold`` and on a ground of its own."""
        if bold:
            self._fill(MARGIN, self.y, self.inside, height, TINT)
        x = MARGIN
        for cell, width in zip(cells, widths, strict=True):
            y = self.y + CELL
            for line in cell:
                self._write(x + CELL, y + FINE, line, FINE, bold=bold)
                y += FINE * LEADING
            x += width
        self.y += height
        self._rule(MARGIN, self.y, self.inside)

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
            self._sketch(x, top + caption + 2, scale).draw(d, theme)
            x += width + gap
        self.y = top + height + 4

    def _sketch(self, left: float, top: float, scale: float) -> Sketch:
        """Draws on this page with its corner at ``left``, ``top``."""

        def write(x: float, y: float, words: str, size: float, colour: str) -> None:
            self._write(x, self.height - y, words, size, colour=colour)

        return Sketch(
            self._pages[-1], left=left, bottom=self.height - top, scale=scale, write=write, measure=self.measure
        )

    # -- photos --------------------------------------------------------------------------------------
    def photo(self, data: bytes, caption: str) -> None:
        """A JPEG, at most as wide as the page and half as high. One that cannot be read is named instead."""
        size = size_of(data)
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
        fonts = self._lettering.put_into(pdf)
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


class _Grid:
    """A table in the making: its head comes again on each page, and a row too high for a page is shared out."""

    def __init__(self, paper: Paper, head: Sequence[str], widths: Sequence[float]) -> None:
        self._paper, self._widths = paper, widths
        self._head, self._head_height = self._laid(head, bold=True)
        self._headed = False  # whether this page has the head already

    def _laid(self, cells: Sequence[str], *, bold: bool = False) -> tuple[list[list[str]], float]:
        """Cells as lines, and the height they take."""
        lines = [
            self._paper.break_lines(c, w - 2 * CELL, FINE, bold=bold) for c, w in zip(cells, self._widths, strict=True)
        ]
        return lines, _height(lines)

    def _start(self) -> None:
        if not self._headed:
            self._paper.row(self._head, self._widths, self._head_height, bold=True)
            self._headed = True

    def _fits(self, height: float) -> bool:
        return (0.0 if self._headed else self._head_height) + height <= self._paper.room

    def put(self, row: Sequence[str]) -> None:
        """A row. One that fits on a fresh page moves there, unless it is so high that it would leave a hole."""
        line = FINE * LEADING
        lines, height = self._laid(row)
        while not self._fits(height):
            above = 0.0 if self._headed else self._head_height
            count = int((self._paper.room - above - 2 * CELL) // line)
            if count >= 3 and height > 8 * line:
                self._start()
                part, lines = [c[:count] for c in lines], [c[count:] or [""] for c in lines]
                self._paper.row(part, self._widths, _height(part), bold=False)
                height = _height(lines)
            self._paper.turn()
            self._headed = False
            self._start()
        self._start()
        self._paper.row(lines, self._widths, height, bold=False)


def _height(lines: Sequence[Sequence[str]]) -> float:
    """The height of a row whose cells are these lines."""
    return max(map(len, lines)) * FINE * LEADING + 2 * CELL
