"""How long work lasts, in words: nobody plans a day by the second."""

from __future__ import annotations

from .say import L, Line

__all__ = ["duration"]


def duration(minutes: float) -> Line:
    """A length of work in hours and minutes, to five minutes."""
    rounded = max(5, 5 * round(minutes / 5))
    hours, rest = divmod(rounded, 60)
    if not hours:
        return L("{n} min", n=str(rest))
    return L("{h} h", h=str(hours)) if not rest else L("{h} h {n} min", h=str(hours), n=str(rest))
