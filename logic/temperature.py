"""Sizes at 20 °C: what a warm or cold part, gauge and master really measure.

ISO 1 states sizes at 20 °C. A part of size D20 measures D20 (1 + α (T − 20)) at T. A
gauge zeroed on a master carries the master's size at that moment, and then its own
expansion. A bore that was just honed is warm and shrinks as it cools.
"""

from __future__ import annotations

import math

from .constants import constant
from .result import Assumption, Caution, Figure, Influence, Result
from .say import L, Qty

__all__ = [
    "REFERENCE_C",
    "as_shown_mm",
    "bore_at_20",
    "read_at_20",
    "size_at",
    "size_at_20",
    "warm_bore",
    "warm_target_mm",
]

REFERENCE_C = constant("temperature.reference").value
_STEEL = constant("expansion.steel").value


def _stretch(temp_c: float, alpha_per_k: float) -> float:
    """1 + α (T − 20), refused where it is not near 1."""
    stretch = 1.0 + alpha_per_k * (temp_c - REFERENCE_C)
    if not 0.9 < stretch < 1.1:
        raise ValueError("temperature or expansion is out of all reason")
    return stretch


def size_at_20(size_mm: float, temp_c: float, alpha_per_k: float) -> float:
    """The size at 20 °C of a part that truly measures ``size_mm`` at ``temp_c``."""
    return size_mm / _stretch(temp_c, alpha_per_k)


def size_at(size_20_mm: float, temp_c: float, alpha_per_k: float) -> float:
    """The size at ``temp_c`` of a part that measures ``size_20_mm`` at 20 °C."""
    return size_20_mm * _stretch(temp_c, alpha_per_k)


def bore_at_20(
    *,
    zero_mm: float,
    deviation_mm: float,
    block_c: float,
    alpha_block_per_k: float,
    master_c: float = REFERENCE_C,
    alpha_master_per_k: float = _STEEL,
    gauge_warmed_k: float = 0.0,
    alpha_gauge_per_k: float = _STEEL,
) -> float:
    """A bore's diameter at 20 °C from a gauge that was zeroed on a master.

    ``zero_mm`` is the master's size as stated at 20 °C (or what a setting micrometer
    showed), ``master_c`` its temperature when the gauge was zeroed, ``deviation_mm`` the
    gauge's reading in the bore (plus is larger), ``gauge_warmed_k`` how much warmer the
    gauge is in the bore than it was at zeroing.
    """
    zero_then = size_at(zero_mm, master_c, alpha_master_per_k) * (1.0 + alpha_gauge_per_k * gauge_warmed_k)
    return size_at_20(zero_then + deviation_mm, block_c, alpha_block_per_k)


def read_at_20(
    shown_mm: float,
    *,
    block_c: float,
    alpha_block_per_k: float,
    master_c: float = REFERENCE_C,
    alpha_master_per_k: float = _STEEL,
) -> float:
    """A bore's size at 20 °C where the gauge shows the whole size ``shown_mm``.

    Such a gauge, or a micrometer, was set on a master at ``master_c`` and shows what it
    would at 20 °C: block and master at one temperature nearly cancel.
    """
    return bore_at_20(
        zero_mm=shown_mm, deviation_mm=0.0, block_c=block_c, alpha_block_per_k=alpha_block_per_k, master_c=master_c, alpha_master_per_k=alpha_master_per_k
    )  # fmt: skip


def as_shown_mm(
    size_20_mm: float,
    *,
    block_c: float,
    alpha_block_per_k: float,
    master_c: float = REFERENCE_C,
    alpha_master_per_k: float = _STEEL,
) -> float:
    """What that gauge or micrometer shows in a bore of ``size_20_mm``: :func:`read_at_20` turned round."""
    return size_at_20(size_at(size_20_mm, block_c, alpha_block_per_k), master_c, alpha_master_per_k)


def warm_target_mm(target_20_mm: float, block_c: float, alpha_per_k: float) -> float:
    """The true size a bore must have while at ``block_c`` so that it is ``target_20_mm`` at 20 °C."""
    return size_at(target_20_mm, block_c, alpha_per_k)


def warm_bore(
    size_mm: float,
    block_c: float,
    alpha_per_k: float,
    *,
    block_u_c: float,
    alpha_u_per_k: float,
    size_u_mm: float = 0.0,
    alpha_source: str = "from memory",
) -> Result:
    """What a bore that truly measures ``size_mm`` at ``block_c`` will measure at 20 °C.

    ``block_u_c`` and ``alpha_u_per_k`` are standard uncertainties; near a fresh cut the
    metal's temperature is not known well, so its uncertainty matters most.
    """
    cold = size_at_20(size_mm, block_c, alpha_per_k)
    change = size_mm - cold
    parts = {
        "block_c": cold * alpha_per_k * block_u_c,
        "alpha": cold * (block_c - REFERENCE_C) * alpha_u_per_k,
    }
    u_change = math.hypot(*parts.values())
    u_cold = math.hypot(size_u_mm, u_change)
    said = {
        "size": Qty(cold, "size", u_cold),
        "change": Qty(abs(change), "fine", u_change),
        "temp": Qty(block_c, "temperature"),
    }
    if abs(change) < 0.0005:
        line = L("The bore is near enough to 20 °C: {size}.", **said)
    elif change > 0:
        line = L("At {temp} the bore is warm. It will be {change} smaller at 20 °C: {size}.", **said)
    else:
        line = L("At {temp} the bore is cold. It will be {change} larger at 20 °C: {size}.", **said)
    cautions: tuple[Caution, ...] = ()
    if block_c - REFERENCE_C > 10.0:
        cautions = (
            Caution(
                "temperature.warm_bore",
                L(
                    "The wall near a fresh cut is hotter than the block around it. Let it cool and measure again before taking the last of the stock."
                ),
            ),
        )
    variance = u_cold**2
    influences: tuple[Influence, ...] = ()
    if variance > 0:
        shares = (
            (L("block temperature"), parts["block_c"] ** 2 / variance),
            (L("expansion of the block"), parts["alpha"] ** 2 / variance),
            (L("the reading itself"), size_u_mm**2 / variance),
        )
        influences = tuple(Influence(n, s) for n, s in sorted(shares, key=lambda x: -x[1]) if s > 0)
    return Result(
        key="temperature.warm_bore",
        line=line,
        value=Qty(cold, "size", u_cold),
        figures=(
            Figure("now", L("Size as it is now"), Qty(size_mm, "size", size_u_mm)),
            Figure("cold", L("Size at 20 °C"), Qty(cold, "size", u_cold)),
            Figure("change", L("How much it shrinks in cooling to 20 °C"), Qty(change, "fine", u_change)),
        ),
        assumptions=(
            Assumption(L("Sizes are stated at 20 °C."), "ISO 1"),
            Assumption(L("The block is at {temp} all through.", temp=Qty(block_c, "temperature")), "entered"),
            Assumption(
                L("The block expands by {alpha}.", alpha=Qty(alpha_per_k, "expansion", alpha_u_per_k)), alpha_source
            ),
        ),
        influences=influences,
        cautions=cautions,
    )
