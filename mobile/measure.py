"""How wide words are in the app's font, reckoned before they are drawn.

A screen that knows how many lines its words will take can lay them out so that nothing is
cut off: a title goes below the bar, a row becomes two, a figure is set smaller.
"""

from __future__ import annotations

__all__ = ["fitted", "lines", "stands", "whole", "width", "words"]

#: Advance widths of the app's font (Roboto, the one weight the client carries) in thousandths of the size, by letter.
_WIDE: dict[int, str] = {
    180: "'", 200: ",\u202f", 230: ";", 245: "ijl :", 262: ".·!", 275: "I-", 322: 't"', 343: "fr()„", 356: "“”",
    374: "°", 412: "/", 480: "vy?", 500: "kxz", 523: "ces", 544: "aLä±=", 562: "bdghnopquEFJ0123456789+öü",
    572: "−", 597: "STYZß", 624: "BKRX", 645: "PUVÜ", 656: "ACD–Ä…", 686: "GOQÖ", 713: "HN", 735: "%", 751: "w",
    780: "⌀", 880: "mMW",
}  # fmt: skip
_ADVANCE = {letter: wide / 1000 for wide, letters in _WIDE.items() for letter in letters}
#: Of a letter that is not in the table.
_OTHER = 0.6
#: What the drawing engine puts between two letters of running text, in pixels whatever the size.
_BETWEEN = 0.25


def width(text: str, size: float) -> float:
    """Width of one line of ``text`` in pixels; ``size`` is that of its letters, the device's text scale included."""
    return size * sum(_ADVANCE.get(letter, _OTHER) for letter in text) + _BETWEEN * len(text)


def words(text: str) -> list[str]:
    """What stays together on a line: words, and the pieces of one that is parted by hyphens."""
    return text.replace("-", "- ").split(" ") if "-" in text else text.split(" ")


def lines(text: str, size: float, room: float) -> int:
    """On how many lines ``text`` stands in a column ``room`` pixels wide. A word longer than the line is broken."""
    count, used, gap = 1, 0.0, width(" ", size)
    for word in words(text):
        wide = width(word, size)
        if used and used + gap + wide > room:
            count, used = count + 1, 0.0
        if wide > room:
            count += int(wide // max(room, 1.0))
            wide %= max(room, 1.0)
        used += wide + (gap if used else 0.0)
    return count


def whole(text: str, size: float, room: float) -> bool:
    """Whether each word of ``text`` stands unbroken in a column ``room`` pixels wide."""
    return all(width(word, size) <= room for word in words(text))


def stands(text: str, size: float, room: float, *, rows: int) -> bool:
    """Whether ``text`` stands on at most ``rows`` lines of a column ``room`` pixels wide, no word broken."""
    return whole(text, size, room) and lines(text, size, room) <= rows


def fitted(text: str, room: float, *, most: float, least: float, scale: float = 1.0, rows: int = 1) -> float:
    """The largest text size from ``most`` down to ``least`` at which ``text`` takes at most ``rows`` lines, no word broken.

    ``scale`` is the device's text scale, by which what is drawn is larger than its size.
    """
    size = most
    while size > least and not stands(text, size * scale, room, rows=rows):
        size -= 1
    return max(size, least)
