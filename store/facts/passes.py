"""The passes logged, and the size each bore has come to."""

from __future__ import annotations

from logic import cutting
from logic.temperature import read_at_20

from ..fields.cut import BLOCK_C, FEED, INDEXED, MEASURED, PRESENT, SETTING, WARM, ZERO_C
from ..graph import fact
from ..view import View
from .block import block_expansion_per_k, bore_length_mm
from .worn import worn_bore

__all__ = ["bored_now_mm", "edge_log", "pass_mm", "passes_logged", "size_now_mm", "start_mm"]


@fact
def passes_logged(view: View, cylinder: int) -> list[int]:
    keys = (SETTING.key, MEASURED.key)
    return sorted({n for key in keys for n in view.events(key, "pass", cylinder=cylinder)})


def _temperature(view: View, cylinder: int, number: int) -> float:
    own = view.number(WARM, cylinder=cylinder, **{"pass": number})
    return view.number(BLOCK_C) if own is None else own


@fact
def pass_mm(view: View, cylinder: int, number: int) -> float | None:
    """What a pass measured, at 20 °C."""
    got = view.number(MEASURED, cylinder=cylinder, **{"pass": number})
    if got is None:
        return None
    return read_at_20(
        got,
        block_c=_temperature(view, cylinder, number),
        alpha_block_per_k=block_expansion_per_k(view),
        master_c=view.number(ZERO_C),
    )


@fact
def start_mm(view: View, cylinder: int) -> float | None:
    """The smallest size before boring, at 20 °C: entered here, else the unworn bore from the readings."""
    stated = view.number(PRESENT, cylinder=cylinder)
    if stated is not None:
        return stated
    worn = worn_bore(view, cylinder)
    return worn.unworn.mm if worn is not None and worn.measured else None


@fact
def bored_now_mm(view: View, cylinder: int) -> float | None:
    """What the bar has left so far, at 20 °C: the last pass that was measured. None before the first."""
    measured = [s for n in passes_logged(view, cylinder) if (s := pass_mm(view, cylinder, n)) is not None]
    return measured[-1] if measured else None


@fact
def size_now_mm(view: View, cylinder: int) -> float | None:
    """The bore's size now, at 20 °C: the last pass measured, else the size before boring. None if unknown."""
    bored = bored_now_mm(view, cylinder)
    return start_mm(view, cylinder) if bored is None else bored


@fact
def edge_log(view: View) -> list[tuple[float, bool]]:
    rows = []
    for c in view.cylinders:
        for n in passes_logged(view, c):
            at = {"cylinder": c, "pass": n}
            measured = view.get(MEASURED, **at)
            if measured is not None:
                length = cutting.cutting_length_m(measured.value, bore_length_mm(view), view.number(FEED))
                rows.append((measured.entry.stamp, length, view.choice(INDEXED, **at) == "fresh"))
    return [(length, fresh) for _, length, fresh in sorted(rows)]
