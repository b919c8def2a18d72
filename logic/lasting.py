"""How long work lasts: nobody plans a day by the second."""

from __future__ import annotations

from .say import Qty

__all__ = ["duration"]


def duration(minutes: float) -> Qty:
    """A length of work to come, told in hours and minutes as roughly as it is known."""
    return Qty(60.0 * minutes, "work")
