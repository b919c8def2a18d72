"""How the cylinders stand: in one row, or in the banks of a vee, numbered as the person says."""

from __future__ import annotations

from logic.places import banks_of

from ..graph import fact
from ..view import View

__all__ = ["bank_of", "banks", "beside"]


@fact
def banks(view: View) -> tuple[tuple[int, ...], ...]:
    """The cylinders of each bank from the front to the rear; one bank of all where nobody said otherwise."""
    return banks_of(view.word("banks"), view.cylinders) or (tuple(view.cylinders),)


@fact
def bank_of(view: View, cylinder: int) -> int:
    """The bank a cylinder stands in, counted from 1."""
    return next((n for n, bank in enumerate(banks(view), 1) if cylinder in bank), 1)


@fact
def beside(view: View, cylinder: int) -> tuple[int, ...]:
    """The cylinders right before and behind one in its bank."""
    bank = banks(view)[bank_of(view, cylinder) - 1]
    here = bank.index(cylinder)
    return (*bank[max(0, here - 1) : here], *bank[here + 1 : here + 2])
