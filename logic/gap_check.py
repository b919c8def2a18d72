"""The ring maker's gaps against the bore they are for: another unit, a point one place off, another engine's figures.

What is usual is common practice, no source: three to eight thousandths of the bore, far from either bound here.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from .doubt import Doubt, Place
from .say import L, Line, Qty

__all__ = ["check_least", "check_widest"]

#: Least and widest gap that a maker gives, as shares of the bore, and for rails of an oil ring.
LEAST, WIDEST = (0.002, 0.011), (0.0035, 0.03)
RAIL_LEAST, RAIL_WIDEST = (0.001, 0.02), (0.0035, 0.05)


def check_least(ring: int, name: Line, gap_mm: float, bore_mm: float, *, role: str, about: Place) -> Iterator[Doubt]:
    """The least gap that the maker gives for a ring of ``role``."""
    span = _Span(gap_mm, bore_mm, RAIL_LEAST if role == "rail" else LEAST)
    line = L(
        "The least gap of the {ring} is {gap}: in a bore of {bore} makers give {low} to {high}.",
        ring=name,
        **span.said(),
    )
    return span.check(f"ring.least.{ring}", line, about)


def check_widest(ring: int, name: Line, gap_mm: float, bore_mm: float, *, role: str, about: Place) -> Iterator[Doubt]:
    """The widest gap that the maker gives for a ring of ``role``."""
    span = _Span(gap_mm, bore_mm, RAIL_WIDEST if role == "rail" else WIDEST)
    line = L(
        "The widest gap of the {ring} is {gap}: in a bore of {bore} makers give {low} to {high}.",
        ring=name,
        **span.said(),
    )
    return span.check(f"ring.widest.{ring}", line, about)


class _Span(NamedTuple):
    """A gap, and the shares of its bore between which makers give it."""

    gap_mm: float
    bore_mm: float
    shares: tuple[float, float]

    def said(self) -> dict[str, Qty]:
        low, high = (Qty(share * self.bore_mm, "diff") for share in self.shares)
        return {"gap": Qty(self.gap_mm, "diff"), "bore": Qty(self.bore_mm, "size"), "low": low, "high": high}

    def check(self, key: str, line: Line, about: Place) -> Iterator[Doubt]:
        low, high = self.shares
        if not low * self.bore_mm <= self.gap_mm <= high * self.bore_mm:
            yield Doubt(key=key, line=line, settle=_SETTLE, about=(about,))


_SETTLE = L("Look at the figure again, and at its unit.")
