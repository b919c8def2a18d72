"""The passes logged, and the size each bore has come to."""

from __future__ import annotations

from logic import cutting
from logic.temperature import read_at_20

from ..fields.cut import FEED, INDEXED, MEASURED, PRESENT, SETTING, WARM
from ..fields.sleeve import BORED
from ..folded import Place, place
from ..graph import fact
from ..view import View
from .block import block_expansion_per_k, bore_length_mm
from .sleeve_in import inside_mm
from .sleeves import Stage, sleeved, stage
from .visit import block_c, master_c
from .worn import worn_bore

__all__ = [
    "bored_now_mm",
    "edge_log",
    "logged_at",
    "next_entry",
    "pass_mm",
    "passes_in_hand",
    "passes_in_order",
    "passes_logged",
    "size_now_mm",
    "start_mm",
]


@fact
def passes_logged(view: View, cylinder: int) -> list[int]:
    keys = (SETTING.key, MEASURED.key)
    return sorted({n for key in keys for n in view.events(key, "pass", cylinder=cylinder)})


def _temperature(view: View, cylinder: int, number: int) -> float:
    own = view.number(WARM, cylinder=cylinder, **{"pass": number})
    return block_c(view, "cut", cylinder, **{"pass": number}) if own is None else own


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
        master_c=master_c(view, "cut", cylinder, **{"pass": number}),
    )


@fact
def start_mm(view: View, cylinder: int) -> float | None:
    """The smallest size before boring, at 20 °C: measured before it, else the unworn bore from the readings."""
    stated = view.number(PRESENT, cylinder=cylinder)
    if stated is not None:
        return read_at_20(
            stated,
            block_c=block_c(view, "present", cylinder),
            alpha_block_per_k=block_expansion_per_k(view),
            master_c=master_c(view, "present", cylinder),
        )
    worn = worn_bore(view, cylinder)
    return worn.unworn.mm if worn is not None and worn.measured else None


def _in_sleeve(view: View, cylinder: int) -> tuple[int, ...]:
    """The passes bored in a fitted sleeve. A bore never grows smaller: what follows one as large as the
    sleeve's own bore is in the sleeve; without such a pass, what was logged after that bore was measured."""
    inside, bored = inside_mm(view, cylinder), view.get(BORED, cylinder=cylinder)
    if inside is None or bored is None or bored.entry is None:
        return ()
    numbers = passes_logged(view, cylinder)
    last = _last_above(view, cylinder, (inside + bored.value) / 2)
    if last is not None:
        return tuple(n for n in numbers if n > last)
    return tuple(n for n in numbers if logged_at(view, cylinder, n) > bored.stamp)


def _last_above(view: View, cylinder: int, size_mm: float) -> int | None:
    """The last pass of a cylinder that measured more than a size; None where none did."""
    above = [n for n in passes_logged(view, cylinder) if (pass_mm(view, cylinder, n) or 0.0) > size_mm]
    return above[-1] if above else None


@fact
def logged_at(view: View, cylinder: int, number: int) -> str:
    """The stamp of a pass: of its latest entry that stands."""
    at = {"cylinder": cylinder, "pass": number}
    return max(e.stamp for f in (SETTING, MEASURED) for e in view.rivals(f.key, **at))


@fact
def passes_in_hand(view: View, cylinder: int) -> tuple[int, ...]:
    """The passes logged of the bore that the bar is at now: in a sleeve, those before it was fitted are done with."""
    if cylinder in sleeved(view) and stage(view, cylinder) == Stage.FINISH:
        return _in_sleeve(view, cylinder)
    return tuple(passes_logged(view, cylinder))


def _last_mm(view: View, cylinder: int) -> float | None:
    measured = [s for n in passes_in_hand(view, cylinder) if (s := pass_mm(view, cylinder, n)) is not None]
    return measured[-1] if measured else None


@fact
def bored_now_mm(view: View, cylinder: int) -> float | None:
    """How far the bar has brought the bore the piston runs in, at 20 °C: the last pass measured. None before the first.

    The bore for a sleeve is not yet that bore.
    """
    return _last_mm(view, cylinder) if stage(view, cylinder) == Stage.FINISH else None


@fact
def size_now_mm(view: View, cylinder: int) -> float | None:
    """The size the bar meets now, at 20 °C: the last pass measured, else the size before it. None if unknown."""
    last, now = _last_mm(view, cylinder), stage(view, cylinder)
    if now == Stage.SEAT:  # the bore measured for the sleeve is this very bore
        last = view.number(BORED, cylinder=cylinder) or last
    if last is not None:
        return last
    fitted = cylinder in sleeved(view) and now == Stage.FINISH
    return inside_mm(view, cylinder) if fitted else start_mm(view, cylinder)


@fact
def next_entry(view: View, cylinder: int) -> tuple[str, Place]:
    """What is logged next while boring a bore: where the micrometer is set, then what the pass measured."""
    logged = passes_logged(view, cylinder)
    n = max(logged, default=1)
    at = place({"cylinder": cylinder, "pass": n})
    if view.number(MEASURED, **dict(at)) is not None:
        at = place({"cylinder": cylinder, "pass": n + 1})
        return SETTING.key, at
    return (SETTING.key if view.number(SETTING, **dict(at)) is None else MEASURED.key), at


@fact
def passes_in_order(view: View) -> tuple[tuple[int, int, bool], ...]:
    """Every pass measured, as measured: cylinder, pass, whether it was begun with a fresh edge."""
    rows = []
    for c in view.cylinders:
        for n in passes_logged(view, c):
            at = {"cylinder": c, "pass": n}
            measured = view.get(MEASURED, **at)
            if measured is not None:
                rows.append((measured.stamp, c, n, view.choice(INDEXED, **at) == "fresh"))
    return tuple((c, n, fresh) for _, c, n, fresh in sorted(rows))


@fact
def edge_log(view: View) -> list[tuple[float, bool]]:
    """What the edge has cut, pass by pass as measured: metres of chip, and whether it was a fresh edge."""
    rows = []
    for c in view.cylinders:
        for n in passes_logged(view, c):
            at = {"cylinder": c, "pass": n}
            measured = view.get(MEASURED, **at)
            if measured is not None:
                length = cutting.cutting_length_m(measured.value, bore_length_mm(view), view.number(FEED))
                rows.append((measured.stamp, length, view.choice(INDEXED, **at) == "fresh"))
    return [(length, fresh) for _, length, fresh in sorted(rows)]
