"""Honing a warm bore: where to stop so that it comes to size once it has cooled to 20 °C."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .constants import constant
from .result import Assumption, Figure, Result, Verdict
from .say import LN, L, Qty
from .temperature import REFERENCE_C, as_shown_mm, warm_bore, warm_target_mm

__all__ = ["Heat", "Warmth", "heat", "warmth"]

#: Warmth over the block at rest from which honing to size is put off, K.
WARM_K = constant("hone.warm").value


@dataclass(frozen=True, slots=True, kw_only=True)
class Warmth:
    """What warmth does: ``warm_stop_mm`` is the stop as warm as the bore, ``shown_stop_mm`` as the gauge shows it.

    ``added_k`` is how much warmer the wall is than the settled block, ``u_c`` how well its
    temperature is known (standard uncertainty).
    """

    added_k: float
    u_c: float
    warm_stop_mm: float
    shrink_mm: float
    shown_stop_mm: float


def warmth(
    stop_mm: float,
    bore_c: float,
    alpha_per_k: float,
    *,
    settled_c: float,
    master_c: float = REFERENCE_C,
    u_temp_c: float = 1.0,
) -> Warmth:
    """The size at which to stop in a warm bore; a quarter of what honing has added is in doubt (common practice)."""
    added = max(0.0, bore_c - settled_c)
    warm_stop = warm_target_mm(stop_mm, bore_c, alpha_per_k)
    return Warmth(
        added_k=added,
        u_c=math.hypot(u_temp_c, added / 4.0),
        warm_stop_mm=warm_stop,
        shrink_mm=warm_stop - stop_mm,
        shown_stop_mm=as_shown_mm(stop_mm, block_c=bore_c, alpha_block_per_k=alpha_per_k, master_c=master_c),
    )


@dataclass(frozen=True, kw_only=True)
class Heat(Result):
    """What warmth does to the size. ``shrink_mm`` on cooling to 20 °C; ``stop_early_mm`` how much to leave."""

    shrink_mm: float
    stop_early_mm: float
    shown_stop_mm: float
    early_strokes: int | None


def heat(
    stop_mm: float,
    bore_c: float,
    alpha_per_k: float,
    *,
    settled_c: float,
    master_c: float = REFERENCE_C,
    band_mm: float,
    u_temp_c: float = 1.0,
    alpha_u_per_k: float = 0.6e-6,
    per_stroke_mm: float | None = None,
    largest_k: float = WARM_K,
) -> Heat:
    """Whether the bore is too warm to hone to size, and where to stop until it has cooled.

    ``stop_mm`` is the size at 20 °C at which the grit in use stops, ``bore_c`` the wall's
    temperature now, ``settled_c`` the block's before honing. A gauge zeroed on a steel master
    at ``master_c`` shows ``shown_stop_mm`` at the stop; how far the bore then shrinks is known only as well as
    its temperature: ``u_temp_c``, and a quarter of what honing has added, since the wall is
    not warmed evenly (common practice, no source). Twice that is left as
    ``stop_early_mm``. More than ``largest_k`` above the settled block, or a doubt above half
    of ``band_mm``, means: stop early and let it cool.
    """
    if not band_mm > 0.0:
        raise ValueError("a band above zero is needed")
    w = warmth(stop_mm, bore_c, alpha_per_k, settled_c=settled_c, master_c=master_c, u_temp_c=u_temp_c)
    base = warm_bore(w.warm_stop_mm, bore_c, alpha_per_k, block_u_c=w.u_c, alpha_u_per_k=alpha_u_per_k)
    shrink, shown = w.shrink_mm, w.shown_stop_mm
    early = 2.0 * (base.figure("change").u or 0.0)
    strokes = math.ceil(early / per_stroke_mm) if per_stroke_mm and per_stroke_mm > 0.0 else None
    warm = w.added_k > largest_k or (w.added_k > 1.0 and early > band_mm / 2.0)
    if not warm:
        text = L("At {t} the bore is cool enough to hone to size.", t=Qty(bore_c, "temperature"))
    elif strokes is not None:
        text = LN(
            "At {t} the bore will shrink {shrink} by 20 °C. Stop {early} early, about one double stroke, let it cool, then finish.",
            "At {t} the bore will shrink {shrink} by 20 °C. Stop {early} early, about {n} double strokes, let it cool, then finish.",
            strokes,
            t=Qty(bore_c, "temperature"),
            shrink=Qty(shrink, "fine"),
            early=Qty(early, "fine"),
        )
    else:
        text = L(
            "At {t} the bore will shrink {shrink} by 20 °C. Stop {early} early, let it cool, then finish.",
            t=Qty(bore_c, "temperature"),
            shrink=Qty(shrink, "fine"),
            early=Qty(early, "fine"),
        )
    return Heat(
        key="hone.heat",
        line=text,
        value=Qty(shrink, "fine", early / 2.0),
        verdict=Verdict.MAYBE if warm else Verdict.GO,
        why=(
            L(
                "Hone until the gauge shows {shown}: that is {stop} at 20 °C.",
                shown=Qty(shown, "size"),
                stop=Qty(stop_mm, "size"),
            ),
        ),
        figures=(
            Figure("shrink", L("Shrinks on cooling to 20 °C"), Qty(shrink, "fine", early / 2.0)),
            Figure("early", L("Stop early by"), Qty(early, "fine")),
            Figure("shown_stop", L("What the gauge shows at the stop"), Qty(shown, "size")),
        ),
        assumptions=(
            *base.assumptions,
            Assumption(L("The wall's temperature is known to about {u}.", u=Qty(2 * w.u_c, "temperature_difference"))),
        ),
        influences=base.influences,
        cautions=base.cautions,
        shrink_mm=shrink,
        stop_early_mm=early,
        shown_stop_mm=shown,
        early_strokes=strokes,
    )
