"""Shapes a picture is made of, and a page that keeps its words apart.

A drawing is a list of shapes in the order they are painted, in pixels from the top
left corner. Every shape has a ``role``: what it shows, not what colour it is. Whoever
paints (the phone's canvas, the report) decides how a role looks; lines that differ in
role also differ in weight or in dashes, so that colour is never the only sign.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

__all__ = [
    "LINE",
    "ROLES",
    "TEXT_PX",
    "Arc",
    "Band",
    "Circle",
    "Drawing",
    "Page",
    "Polygon",
    "Polyline",
    "Shape",
    "Text",
    "text_width",
]

#: Smallest text, in pixels at text scale 1.
TEXT_PX = 13.0
#: Height of a line of text, in text sizes.
LINE = 1.25

#: What a shape may show.
ROLES = (
    "metal",  # iron that stays
    "wear",  # what has been worn away, or the worn surface
    "cut",  # the proposed cut
    "fit",  # a fitted circle or line, a forecast
    "axis",  # centre lines, unworn outlines, frames
    "point",  # a measured point
    "governing",  # the one that decides
    "limit",  # a limit or a target
    "band",  # a range that is wanted
    "wall",  # a wall measured from outside
    "plate",  # ground behind words
    "label",  # words
    "note",  # words about the drawing itself
)

Pair = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Polyline:
    """An open line through ``points``; ``dashed`` where it is not a real edge."""

    points: tuple[Pair, ...]
    role: str
    width: float = 2.0
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed area; filled, unless ``outline`` gives the width of its line."""

    points: tuple[Pair, ...]
    role: str
    outline: float | None = None
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle; filled, unless ``outline`` gives the width of its line."""

    x: float
    y: float
    r: float
    role: str
    outline: float | None = None


@dataclass(frozen=True, slots=True)
class Arc:
    """Part of a circle; angles in degrees from three o'clock, clockwise as on screens."""

    x: float
    y: float
    r: float
    start_deg: float
    sweep_deg: float
    role: str
    width: float = 2.0


@dataclass(frozen=True, slots=True)
class Band:
    """A filled upright rectangle."""

    x: float
    y: float
    w: float
    h: float
    role: str


@dataclass(frozen=True, slots=True)
class Text:
    """Words. (x, y) is their ``anchor`` ("start", "middle", "end") across and their middle in height."""

    x: float
    y: float
    text: str
    role: str = "label"
    size: float = TEXT_PX
    anchor: str = "start"

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom of the space the words take, if anything too large."""
        w, h = text_width(self.text, self.size), self.size * LINE
        left = self.x - {"start": 0.0, "middle": w / 2, "end": w}[self.anchor]
        return left, self.y - h / 2, left + w, self.y + h / 2


Shape = Polyline | Polygon | Circle | Arc | Band | Text


@dataclass(frozen=True, slots=True)
class Drawing:
    """What to paint, in order, on ``width`` × ``height`` pixels; ``title`` and ``text`` say the same in words."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
    title: str
    text: str


#: Widths of letters in text sizes: those of a wide sans-serif face, so that other faces fit as well.
_NARROW = dict.fromkeys("ijl.,:;'|!·", 0.33) | dict.fromkeys("frt()[]/ ", 0.42) | {"\u202f": 0.3, "\u2009": 0.3}
_WIDE = dict.fromkeys("mwMW%@", 0.98) | dict.fromkeys("ABCDEFGHKNOPQRSUVXYZÆØÅÄÖÜ+−=<>±", 0.8)


def text_width(text: str, size: float) -> float:
    """The width of words set in ``size``, in pixels, if anything too large."""
    return size * math.fsum(_NARROW.get(c) or _WIDE.get(c) or 0.645 for c in text)


def _apart(a: Sequence[float], b: Sequence[float]) -> bool:
    """Whether two boxes (left, top, right, bottom) do not meet; touching edges may."""
    return max(b[0] - a[2], a[0] - b[2], b[1] - a[3], a[1] - b[3]) >= -0.01


@dataclass
class Page:
    """A drawing in the making. Words are only placed where they fit and meet no others."""

    width: float
    height: float
    text_scale: float = 1.0
    shapes: list[Shape] = field(default_factory=list)
    taken: list[tuple[float, float, float, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        if not (all(math.isfinite(v) and v > 0 for v in (self.width, self.height, self.text_scale))):
            raise ValueError("a drawing needs a width, a height and a text scale above zero")

    @property
    def size(self) -> float:
        """The size of ordinary words."""
        return TEXT_PX * self.text_scale

    @property
    def line(self) -> float:
        """The height of a line of them."""
        return self.size * LINE

    def add(self, *shapes: Shape) -> None:
        self.shapes.extend(shapes)

    def room(self, text: Text) -> bool:
        """Whether these words lie on the page and clear of those placed before."""
        left, top, right, bottom = text.box
        if min(left, top, self.width - right, self.height - bottom) < -0.01:
            return False
        return all(_apart(text.box, other) for other in self.taken)

    def put(
        self, words: str, at: Iterable[tuple[float, float, str]], role: str = "label", *, plate: bool = False
    ) -> Text | None:
        """Place words at the first of the places (x, y, anchor) where there is room; None if there is none.

        ``plate`` lays ground under them, for words that stand on lines.
        """
        for x, y, anchor in at:
            text = Text(x, y, words, role, self.size, anchor)
            if self.room(text):
                self.taken.append(text.box)
                if plate:
                    left, top, right, bottom = text.box
                    self.add(Band(left - 1, top, right - left + 2, bottom - top, "plate"))
                self.add(text)
                return text
        return None

    def lines(self, words: str) -> list[str]:
        """Words broken into lines that fit the page's width."""
        out: list[str] = []
        for word in words.split(" "):
            longer = f"{out[-1]} {word}" if out else word
            if out and text_width(longer, self.size) <= self.width - 4:
                out[-1] = longer
            else:
                out.append(word)
        return out

    def foot_height(self, words: str) -> float:
        """The height that :meth:`foot` will take for these words."""
        return len(self.lines(words)) * self.line

    def foot(self, words: str) -> None:
        """Put a note at the bottom, on as many lines as it needs."""
        lines = self.lines(words)
        top = self.height - len(lines) * self.line
        for i, line in enumerate(lines):
            self.put(line, [(2.0, top + (i + 0.5) * self.line, "start")], "note")

    def drawing(self, title: str, text: str) -> Drawing:
        """What has been laid down: areas and lines first, words last so that nothing covers them."""

        def last(shape: Shape) -> bool:
            return isinstance(shape, Text) or (isinstance(shape, Band) and shape.role == "plate")

        return Drawing(self.width, self.height, tuple(sorted(self.shapes, key=last)), title, text)
