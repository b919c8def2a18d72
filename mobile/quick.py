"""The two numbers of the quick check, as the first screen and the command ask for them."""

from __future__ import annotations

from typing import Unpack

from logic.fields import Field, Number
from logic.likely import Anywhere, Expectation, Near, Ratio, Wear
from logic.meaning import Hand, understand
from logic.say import L
from logic.units import Entered

__all__ = ["NOMINAL", "WORST", "read_size"]

NOMINAL = Number(
    key="quick.nominal",
    label=L("Nominal bore"),
    kind="size",
    low=20,
    high=500,
    help=L("The bore size the engine was made with. The oversize steps are counted from here."),
)
WORST = Number(
    key="quick.worst",
    label=L("Worst reading"),
    kind="size",
    low=20,
    high=500,
    over=True,
    help=L("The largest diameter found anywhere in the bore. A signed number is taken as over nominal."),
)

#: Bores of engines that are rebored where they stand, mm: median, and spread as a natural logarithm (common practice).
_BORE_MM, _BORE_SPREAD = 88.0, 0.35


def _likely(base_mm: float | None) -> Expectation:
    """Of the worst reading where the nominal bore is known, else of the nominal bore: wear over it or over an oversize."""
    if base_mm is None:
        return Expectation.of((1.0, Ratio(_BORE_MM, _BORE_SPREAD)), (0.05, Anywhere(20.0, 500.0)))
    return Expectation.of(
        (0.7, Wear(base_mm, -2.0, 1.2)), (0.25, Near(base_mm + 0.7, 0.4)), (0.02, Anywhere(20.0, 500.0))
    )


def read_size(text: str, field: Field, **how: Unpack[Hand]) -> Entered:
    """One number of the quick check, as :func:`logic.meaning.understand` reads it; raises what that raises."""
    return understand(text, field, density=_likely(how.get("base_mm")).density, **how)
