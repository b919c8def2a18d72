"""Words from files on a terminal: control characters are shown, never obeyed."""

from __future__ import annotations

from typing import Any, TextIO

__all__ = ["PlainText", "plain"]

#: C0 but for tab and line feed, DEL, C1, the line and paragraph separators, and what turns the direction of writing.
_CONTROLS = (
    *(set(range(0x20)) - {0x09, 0x0A}),
    *range(0x7F, 0xA0),
    *(0x2028, 0x2029, 0x200E, 0x200F, 0x061C),
    *range(0x202A, 0x202F),
    *range(0x2066, 0x206A),
    *range(0xD800, 0xE000),
)
_SHOWN = {code: f"\\u{code:04x}" for code in _CONTROLS}


def plain(text: str) -> str:
    """The text with each control character as a backslash, u and four digits, which JSON reads as the character again."""
    return text.translate(_SHOWN)


class PlainText:
    """A text stream that control characters do not pass. Everything else of it is the stream's own."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        self._stream.write(plain(text))
        return len(text)

    def writelines(self, lines: Any) -> None:
        for line in lines:
            self.write(line)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)
