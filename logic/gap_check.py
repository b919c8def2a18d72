"""The ring maker's gaps against the bore they are for: another unit, a point one place off, another engine's figures.

What is usual is common practice, no source: three to eight thousandths of the bore, far from either bound here.
"""

from __future__ import annotations

from collections.abc import Iterator

from .doubt import Doubt, Place
from .say import L, Line, Qty

__all__ = ["check_least", "check_widest"]

#: Least and widest gap that a maker gives, as shares of the bore, and for rails of an oil ring.
LEAST, WIDEST = (0.002, 0.011), (0.0035, 0.03)
RAIL_LEAST, RAIL_WIDEST = (0.001, 0.02), (0.0035, 0.05)


def check_least(ring: int, name: Line, gap_mm: float, bore_mm: float, *, role: str, about: Place) -> Iterator[Doubt]:
    """The least gap that the maker gives for a ring of ``role``."""
    low, high = RAIL_LEAST if role == "rail" else LEAST
    if low * bore_mm <= gap_mm <= high * bore_mm:
        return
    yield Doubt(
        key=f"ring.least.{ring}",
        line=L(
            "The least gap of the {ring} is {gap}: in a bore of {bore} makers give {low} to {high}.",
            ring=name,
            **_said(gap_mm, bore_mm, low, high),
        ),
        settle=_SETTLE,
        about=(about,),
    )


def check_widest(ring: int, name: Line, gap_mm: float, bore_mm: float, *, role: str, about: Place) -> Iterator[Doubt]:
    """The widest gap that the maker gives for a ring of ``role``."""
    low, high = RAIL_WIDEST if role == "rail" else WIDEST
    if low * bore_mm <= gap_mm <= high * bore_mm:
        return
    yield Doubt(
        key=f"ring.widest.{ring}",
        line=L(
            "The widest gap of the {ring} is {gap}: in a bore of {bore} makers give {low} to {high}.",
            ring=name,
            **_said(gap_mm, bore_mm, low, high),
        ),
        settle=_SETTLE,
        about=(about,),
    )


_SETTLE = L("Look at the figure again, and at its unit.")


def _said(gap_mm: float, bore_mm: float, low: float, high: float) -> dict[str, Qty]:
    return {
        "gap": Qty(gap_mm, "diff"),
        "bore": Qty(bore_mm, "size"),
        "low": Qty(low * bore_mm, "diff"),
        "high": Qty(high * bore_mm, "diff"),
    }
