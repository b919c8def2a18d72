"""The customer's report of a job: two pages a customer reads, and on request the annex with every reading.

:func:`gather` takes what the report says out of a view, as sentences, tables and pictures
(:mod:`store.customer`, :mod:`store.annex`); :func:`html_report`, :func:`pdf_report` and
:func:`text_report` lay the same content out. The HTML is one file that fetches nothing and
prints on A4 and Letter; whatever people typed is escaped. There is no clock here: dates are
those of the log, in the reader's own time (``offset_minutes`` ahead of UTC).
"""

from __future__ import annotations

import base64
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from html import escape as _escaped
from typing import TYPE_CHECKING, Any

from logic.drawing import draw
from logic.pictures import BoreSection
from logic.say import L, Line, Style, say

from . import annex as annexed
from . import customer
from .errors import broke
from .svg import svg
from .telling import Block, Grid, Log, Part, Pictures, Points, Report, Signs, Teller, Words, stands
from .view import View

if TYPE_CHECKING:
    from .paper import Paper

__all__ = [
    "Grid",
    "Part",
    "Pictures",
    "Points",
    "Report",
    "Signs",
    "Words",
    "gather",
    "html_report",
    "pdf_report",
    "text_report",
]

_PICTURE = (300.0, 340.0)
#: Where more than two share a row they are drawn on a smaller ground, so that their letters stay readable.
_SMALL = (190.0, 190.0)
#: In the place of a picture that the drawing breaks off over.
NOT_DRAWN = L("A picture cannot be drawn from what was entered.")


def gather(
    view: View,
    style: Style = Style(),
    *,
    offset_minutes: int = 0,
    photos: Mapping[str, bytes] | None = None,
    annex: bool = False,
    shop: Sequence[str] = (),
) -> Report:
    """What the report says about a job.

    ``photos`` maps a photo's digest to its bytes, for those to be shown; ``annex`` adds
    every step's workings and every reading; ``shop`` is the name and address of who made
    it, line by line.
    """
    tell = Teller(style, offset_minutes)
    log = Log(view, tell)
    title = str(view.header("title") or view.header("engine") or tell(L("Job without a name")))
    made: list[tuple[Line, Callable[[], Iterable[Part]]]] = [
        (L("In short"), lambda: customer.in_short(view, tell)),
        (L("Before and after"), lambda: customer.before_after(view, tell)),
        (L("Parts fitted"), lambda: customer.parts_fitted(view, tell)),
        (L("Not done, and why"), lambda: customer.not_done(view, tell)),
        (L("Running-in"), lambda: customer.running_in(view, tell)),
        (L("Signed"), lambda: customer.signed(tell)),
    ]
    if annex:
        made += annexed.made(view, tell, log)
    return Report(
        title=tell(L("Bore report: {title}", title=title)),
        facts=customer.facts(view, tell),
        parts=tuple(p for name, make in made for p in stands(tell, name, make) if p.blocks),
        photos=_photos(view, photos or {}),
        footer=tell(L("{title}, as of {when}", title=title, when=tell.when(customer.last(view))))
        if view.entries
        else title,
        shop=tuple(line for line in shop if line.strip()),
    )


def _photos(view: View, found: Mapping[str, bytes]) -> tuple[tuple[str, str, bytes], ...]:
    return tuple((p.caption, p.media, found[p.digest]) for p in view.photos if p.digest in found)


#: No HTML may hold these (HTML Living Standard, 13.2.3.5), and a terminal would obey some of them.
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff]")


def escape(text: str) -> str:
    return _escaped(_CONTROL.sub("\ufffd", text))


# -- HTML ------------------------------------------------------------------------------------------
_CSS = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1.2rem; max-width: 62rem; font: 15px/1.45 system-ui, sans-serif; color: #14181c; background: #fff; overflow-wrap: anywhere; }
h1 { font-size: 1.7rem; margin: 0 0 .6rem; }
header { border-bottom: 1px solid #b9c1c9; margin-bottom: .8rem; padding-bottom: .4rem; }
header p { margin: 0; }
header p:first-child { font-weight: 700; font-size: 1.1rem; }
h2 { font-size: 1.2rem; margin: 1.6rem 0 .5rem; padding-bottom: .15rem; border-bottom: 2px solid #14181c; break-after: avoid; }
h3 { font-size: 1rem; margin: 1rem 0 .3rem; break-after: avoid; }
p, ul { margin: .35rem 0; }
ul { padding-left: 1.2rem; }
.strong { font-weight: 600; }
.small { font-size: .85em; color: #343c44; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .1rem 1rem; margin: .4rem 0; }
dt { color: #343c44; }
dd { margin: 0; font-weight: 600; }
@media (min-width: 44rem), print { dl { grid-template-columns: max-content 1fr max-content 1fr; } }
table { width: 100%; border-collapse: collapse; margin: .5rem 0; table-layout: fixed; font-size: .87em; }
th, td { text-align: left; vertical-align: top; padding: .25rem .35rem; border-bottom: 1px solid #b9c1c9; }
th { background: #eef1f4; }
tr { break-inside: avoid; }
.scroll { overflow-x: auto; }
.scroll table { min-width: 34rem; }
@media screen { .scroll table { table-layout: auto; min-width: 0; } .scroll th, .scroll td { overflow-wrap: break-word; } }
.row { display: flex; flex-wrap: wrap; gap: 1rem; margin: .5rem 0; break-inside: avoid; }
figure { margin: 0; flex: 1 1 16rem; max-width: 24rem; break-inside: avoid; }
figure.wide { max-width: none; flex-basis: 100%; }
figure svg, figure img { width: 100%; height: auto; display: block; }
figure.small { flex: 0 1 calc(25% - .75rem); min-width: 8rem; }
.signs { display: flex; flex-wrap: wrap; gap: 2.6rem 2rem; margin-top: 2.8rem; break-inside: avoid; }
.signs p { flex: 1 1 14rem; border-top: 1px solid #14181c; margin: 0; padding-top: .2rem; font-size: .85em; }
figcaption { font-weight: 600; font-size: .9em; }
footer { margin-top: 1.5rem; font-size: .85em; color: #343c44; }
@page { margin: 14mm 13mm 15mm; }
@media print {
  body { padding: 0; max-width: none; font-size: 10pt; }
  th { -webkit-print-color-adjust: exact; print-color-adjust: exact; }
  svg { -webkit-print-color-adjust: exact; print-color-adjust: exact; }
  .fresh { break-before: page; }
  table { font-size: 7.4pt; }
  th, td { padding: .2rem .15rem; }
  .scroll { overflow: visible; }
  .scroll table { min-width: 0; }
  thead { display: table-header-group; }
}
"""


def _html_photos(photos: Iterable[tuple[str, str, bytes]], style: Style) -> Iterable[str]:
    yield f'<h2>{escape(say(L("Photos"), style))}</h2><div class="row">'
    for caption, media, data in photos:
        source = f"data:{media};base64,{base64.b64encode(data).decode('ascii')}"
        yield f'<figure><img src="{escape(source)}" alt="{escape(caption)}"><figcaption>{escape(caption)}</figcaption></figure>'
    yield "</div>"


def html_report(view: View, style: Style = Style(), **options: Any) -> str:
    """The report as one HTML file; ``options`` as for :func:`gather`.

    It fetches nothing: pictures are drawn in it, photos are carried in it, and its own
    policy forbids scripts and any address.
    """
    report = gather(view, style, **options)
    body = [f"<header>{''.join(f'<p>{escape(line)}</p>' for line in report.shop)}</header>"] if report.shop else []
    body.append(f"<h1>{escape(report.title)}</h1>")
    if report.facts:
        rows = "".join(f"<dt>{escape(k)}</dt><dd>{escape(v)}</dd>" for k, v in report.facts)
        body.append(f"<dl>{rows}</dl>")
    for part in report.parts:
        level = "h3" if part.sub else "h2"
        fresh = ' class="fresh"' if part.fresh else ""
        body.append(f"<{level}{fresh}>{escape(part.title)}</{level}>")
        body.extend(_html(block, style) for block in part.blocks)
    if report.photos:
        body.extend(_html_photos(report.photos, style))
    body.append(f"<footer>{escape(report.footer)}</footer>")
    return (
        f'<!DOCTYPE html>\n<html lang="{escape(style.language)}">\n<head>\n<meta charset="utf-8">\n'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\">\n"
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(report.title)}</title>\n<style>{_CSS}</style>\n</head>\n<body>\n"
        + "\n".join(body)
        + "\n</body>\n</html>\n"
    )


def _html(block: Block, style: Style) -> str:
    match block:
        case Words():
            kind = " ".join(k for k, on in (("strong", block.strong), ("small", block.small)) if on)
            return f'<p class="{kind}">{escape(block.text)}</p>' if kind else f"<p>{escape(block.text)}</p>"
        case Points():
            kind = " class=small" if block.small else ""
            return f"<ul{kind}>{_each('li', block.entries)}</ul>"
        case Grid():
            return _html_table(block)
        case Pictures():
            return _html_pictures(block, style)
        case Signs():
            return f'<div class="signs">{_each("p", block.under)}</div>'
    raise TypeError(f"not a block: {type(block).__name__}")


def _each(tag: str, texts: Iterable[str], how: str = "") -> str:
    """Each text in an element of its own."""
    return "".join(f"<{tag}{how}>{escape(text)}</{tag}>" for text in texts)


def _html_table(block: Grid) -> str:
    total = sum(block.shares)
    columns = "".join(f'<col style="width:{100 * s / total:.2f}%">' for s in block.shares)
    head = _each("th", block.head, ' scope="col"')
    rows = "".join(f"<tr>{_each('td', row)}</tr>" for row in block.rows)
    table = f"<table><colgroup>{columns}</colgroup><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
    return f'<div class="scroll">{table}</div>'


def _html_pictures(block: Pictures, style: Style) -> str:
    figures = []
    drawn = _drawn(block, style)
    small = ' class="small"' if block.across > 2 else ""
    for d in drawn:
        kind = ' class="wide"' if d.width > 1.5 * _PICTURE[0] else small
        figures.append(f"<figure{kind}>{svg(d)}<figcaption>{escape(d.title)}</figcaption></figure>")
    lacking = f"<p>{escape(say(NOT_DRAWN, style))}</p>" if len(drawn) < len(block.row) else ""
    return f'<div class="row">{"".join(figures)}</div>{lacking}'


def _drawn(block: Pictures, style: Style) -> list[Any]:
    wide = len(block.row) == 1 and not isinstance(block.row[0], BoreSection)
    width, height = (2 * _PICTURE[0], 0.75 * _PICTURE[1]) if wide else _PICTURE if block.across <= 2 else _SMALL
    out = []
    for p in block.row:
        try:
            out.append(draw(p, width, height, style))
        except Exception as error:  # noqa: BLE001  a picture that cannot be drawn leaves the others and the figures
            broke(f"the picture {type(p).__name__}", error)
    return out


# -- PDF ---------------------------------------------------------------------------------------------
def pdf_report(view: View, style: Style = Style(), *, paper: str | None = None, **options: Any) -> bytes:
    """The report as a PDF; ``options`` as for :func:`gather`.

    ``paper`` is "A4" or "Letter"; left out, Letter for a person who works in inches and
    A4 for one who works in millimetres. Photos other than JPEG are left to the HTML.
    """
    from .paper import Paper

    report = gather(view, style, **options)
    sheet_of_paper = Paper(
        paper or ("Letter" if style.length == "in" else "A4"), title=report.title, footer=report.footer
    )
    sheet_of_paper.letterhead(report.shop)
    sheet_of_paper.title(report.title)
    sheet_of_paper.facts(report.facts)
    for part in report.parts:
        if part.fresh:
            sheet_of_paper.fresh()
        _put_heading(sheet_of_paper, part, style)
        for block in part.blocks:
            _put(sheet_of_paper, block, style)
    _put_photos(sheet_of_paper, report.photos, style)
    if sheet_of_paper.lacks_letters:
        sheet_of_paper.paragraph(
            say(
                L(
                    "Some letters are not in this file's typeface and show as a sign; the web page form of this report has them."
                ),
                style,
            ),
            small=True,
        )
    return sheet_of_paper.finish()


def _put_heading(paper: Paper, part: Part, style: Style) -> None:
    """A part's heading, kept together with the table or the pictures under it."""
    first = part.blocks[0]
    keep = 70.0 if isinstance(first, Grid) else 0.0
    if isinstance(first, Pictures):
        keep = paper.height_of_drawings(_drawn(first, style)[: first.across])
    (paper.subheading if part.sub else paper.heading)(part.title, keep=keep)


def _put_photos(paper: Paper, photos: Iterable[tuple[str, str, bytes]], style: Style) -> None:
    jpegs = [(caption, data) for caption, media, data in photos if media == "image/jpeg"]
    if jpegs:
        paper.heading(say(L("Photos"), style))
        for caption, data in jpegs:
            paper.photo(data, caption)


def _put(paper: Paper, block: Block, style: Style) -> None:
    match block:
        case Words():
            paper.paragraph(block.text, bold=block.strong, small=block.small)
        case Points():
            paper.items(block.entries, small=block.small)
        case Grid():
            paper.table(block.head, block.rows, block.shares)
        case Pictures():
            drawn = _drawn(block, style)
            for start in range(0, len(drawn), block.across):
                paper.drawings(drawn[start : start + block.across], across=block.across)
            if len(drawn) < len(block.row):
                paper.paragraph(say(NOT_DRAWN, style))
        case Signs():
            paper.signs(block.under)


# -- plain text ----------------------------------------------------------------------------------
def text_report(view: View, style: Style = Style(), **options: Any) -> str:
    """The report as plain text, for a terminal or a message; ``options`` as for :func:`gather`. Pictures are told."""
    report = gather(view, style, **options)
    out = [*report.shop, *([""] if report.shop else []), report.title, "=" * len(report.title)]
    out += [f"{name}: {value}" for name, value in report.facts]
    for part in report.parts:
        out += ["", part.title, ("-" if part.sub else "=") * len(part.title)]
        for block in part.blocks:
            out += _text(block, style)
    return _CONTROL.sub("\ufffd", "\n".join((*out, "", report.footer))) + "\n"


def _text(block: Block, style: Style) -> list[str]:
    match block:
        case Words():
            return [block.text]
        case Points():
            return [f"- {entry}" for entry in block.entries]
        case Grid():
            return _text_table(block)
        case Pictures():
            return [f"[{say(p.text, style)}]" for p in block.row]
        case Signs():
            return [f"{under}: {'_' * 30}" for under in block.under]
    raise TypeError(f"not a block: {type(block).__name__}")


def _text_table(block: Grid) -> list[str]:
    """Columns under each other; a last cell may be as long as it likes."""
    rows = [block.head, *block.rows]
    wide = [max(len(row[i]) for row in rows) for i in range(len(block.head))]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, wide, strict=True)).rstrip() for row in rows]
    return [lines[0], "-" * len(lines[0]), *lines[1:]]
