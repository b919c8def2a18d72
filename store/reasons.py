"""The usual reasons to leave a step out: stored as they were said, and told again in whoever reads's language."""

from __future__ import annotations

from logic.say import L, Line, Style, say

__all__ = ["REASONS", "told"]

#: Pressed instead of typed; another may be typed.
REASONS = (L("No gauge for it"), L("Not needed on this engine"), L("Customer declined"), L("Later"))
_STYLES = (Style(language="en"), Style(language="de"))


def told(reason: str) -> Line | str:
    """A usual reason, in whatever language it was stored, as a line; any other as it was typed."""
    return next((line for line in REASONS for style in _STYLES if say(line, style) == reason), reason)
