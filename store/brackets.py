"""Where the documents of an export lie, found by its brackets alone, before anything is built from it.

So size, nesting and the number of things in a file from elsewhere are known, in bounded memory and time.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from logic.say import L

from .checking import Limits, row_at
from .errors import Refused

__all__ = ["Scan", "scan"]

#: Up to and with the next bracket outside a text; a text that does not end runs to the end.
_BRACKET = re.compile(r'(?:[^"\[\]{}]++|"(?:[^"\\]++|\\.)*+(?:"|\Z))*+([\[\]{}])', re.DOTALL)
_DOCUMENTS = re.compile(r'"documents"\s{0,20}:\s{0,20}\Z')


@dataclass
class Scan:
    """Where the documents of a file lie. ``broken`` is where an unfinished one starts, if the file breaks off."""

    spans: list[tuple[int, int]] = field(default_factory=list)
    inside: tuple[int, int] | None = None
    complete: bool = False
    broken: int | None = None
    _opened: int = -1  # behind the bracket that the documents begin with
    _start: int = 0  # the latest part

    @property
    def _among_documents(self) -> bool:
        return self._opened >= 0 and self.inside is None

    def opens(self, text: str, bracket: str, depth: int, position: int) -> bool:
        """A bracket has opened, at most three deep. Whether it begins a part."""
        if depth == 2 and bracket == "[" and self._opened < 0:
            if _DOCUMENTS.search(text, max(0, position - 60), position - 1):
                self._opened = position
        elif depth == 3 and self._among_documents:
            self._start = position - 1
            return True
        return False

    def closes(self, text: str, depth: int, position: int, limits: Limits) -> None:
        """A bracket has closed and left at most two open."""
        if depth == 2 and self._among_documents:
            self._check_part(text, position, limits)
            self.spans.append((self._start, position))
        elif depth == 1 and self._among_documents:
            self.inside = (self._opened, position - 1)
        elif depth == 0:
            self.complete = not text[position:].strip()

    def breaks_off(self, depth: int) -> None:
        """The text has ended with brackets open."""
        if depth >= 3 and self._among_documents:
            self.broken = self._start

    def too_much(self, text: str) -> Refused:
        return Refused(L("The part at line {row} holds more than a log can.", row=row_at(text, self._start)), "size")

    def _check_part(self, text: str, end: int, limits: Limits) -> None:
        if end - self._start > limits.part_chars or text.count(",", self._start, end) > limits.commas:
            raise self.too_much(text)


def scan(text: str, limits: Limits) -> Scan:
    """Where the documents lie. Raises Refused ("nesting", "size") where the file holds more than a log can."""
    found = Scan()
    depth, position, brackets = 0, 0, 0
    while match := _BRACKET.match(text, position):
        position = match.end()
        if match[1] in "[{":
            depth += 1
            if depth > limits.nesting:
                raise Refused(L("Line {row} is nested too deeply for a log.", row=row_at(text, position)), "nesting")
            if depth <= 3 and found.opens(text, match[1], depth, position):
                brackets = 0
        else:
            depth -= 1
            if depth <= 2:
                found.closes(text, depth, position, limits)
            if depth <= 0:
                return found
        brackets += 1
        if brackets > limits.brackets:
            raise found.too_much(text)
    found.breaks_off(depth)
    return found
