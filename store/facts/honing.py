"""The hone's grits, stroke and checks, and how far each bore has come under it."""

from __future__ import annotations

from logic import finish, hone_plan, hone_progress
from logic.result import Verdict
from logic.temperature import read_at_20

from ..fields.hone import (
    BAND,
    BELOW_STONES,
    BLOCK_C,
    CLEAR,
    FACE,
    FINISH_U,
    GRIT,
    GRITS,
    LIMITS,
    MEASURED,
    OVERRUN,
    REPEAT,
    SHARED,
    SIZE,
    STONE,
    STROKES,
    WARM,
    ZERO_C,
)
from ..graph import fact
from ..view import View
from .block import block_expansion_per_k, bore_length_mm
from .sizes import bored_mm, finished_mm

__all__ = [
    "DEPTHS",
    "at_size",
    "checks",
    "checks_logged",
    "depth_mm",
    "finish_limits",
    "finish_made",
    "grits",
    "keep_mm",
    "progress",
    "ring_face",
    "split",
    "stroke",
]

DEPTHS = 3


@fact
def ring_face(view: View) -> str:
    """The face of the top ring: a key of logic.finish.RINGS."""
    return view.choice(FACE)


@fact
def grits(view: View) -> tuple[int, ...]:
    """The grits in use, coarsest first: as entered, else by the ring's face."""
    stated = sorted({int(g) for f in GRITS if (g := view.number(f)) is not None})
    return tuple(stated) or finish.RINGS[ring_face(view)].grits


@fact
def split(view: View, cylinder: int) -> hone_plan.Split | None:
    """The stock over the grits, from the size the bar left. None while the finished size is not known."""
    target = finished_mm(view, cylinder)
    if target is None:
        return None
    logged = checks(view, cylinder)
    start = logged[0].mean_mm if logged else bored_mm(view, cylinder)
    return None if start is None else hone_plan.split(start, target, grits(view))


@fact
def depth_mm(view: View, depth: int) -> float:
    """Where the gauge stands at depth 1 (top), 2 or 3 (bottom), mm below the face."""
    return hone_plan.check_depth_mm(depth, DEPTHS, bore_length_mm(view))


@fact
def checks_logged(view: View, cylinder: int) -> list[int]:
    return sorted(view.events(SIZE, "check", cylinder=cylinder))


def _temperature(view: View, cylinder: int, number: int) -> float:
    own = view.number(WARM, cylinder=cylinder, check=number)
    return view.number(BLOCK_C) if own is None else own


@fact
def checks(view: View, cylinder: int) -> tuple[hone_progress.Check, ...]:
    """The gauge checks of a cylinder, sizes at 20 °C, in order."""
    out: list[hone_progress.Check] = []
    grit, alpha, zeroed = "", block_expansion_per_k(view), view.number(ZERO_C)
    for n in checks_logged(view, cylinder):
        warm = _temperature(view, cylinder, n)
        sizes = tuple(
            (depth_mm(view, d), read_at_20(read, block_c=warm, alpha_block_per_k=alpha, master_c=zeroed))
            for d in range(1, DEPTHS + 1)
            if (read := view.number(SIZE, cylinder=cylinder, check=n, depth=d)) is not None
        )
        strokes = view.number(STROKES, cylinder=cylinder, check=n)
        stated = view.number(GRIT, cylinder=cylinder, check=n)
        if stated is not None:
            grit = f"{stated:.0f}"
        elif strokes and not grit:
            grit = f"{grits(view)[0]}"
        # what measured the bored size belongs to no grit; a check repeated without strokes stays with its own
        out.append(hone_progress.Check(n, strokes, sizes, grit if strokes or out else ""))
    return tuple(out)


@fact
def keep_mm(view: View, cylinder: int) -> float:
    """Stock kept back for the grits after the one in use (before the first stroke: after the first grit)."""
    plan, logged = split(view, cylinder), checks(view, cylinder)
    if plan is None:
        return 0.0
    in_use = next((float(c.grit) for c in reversed(logged) if c.grit), plan.steps[0].grit)
    return plan.keep_for_finer_mm(in_use)


@fact
def progress(view: View, cylinder: int) -> hone_progress.Progress | None:
    """Where a cylinder stands under the hone. None while its finished size is not known."""
    target = finished_mm(view, cylinder)
    if target is None:
        return None
    return hone_progress.progress(
        checks(view, cylinder),
        target,
        band_mm=view.number(BAND),
        keep_mm=keep_mm(view, cylinder),
        u_mm=view.number(REPEAT),
        u_shared_mm=view.number(SHARED),
        cylinder=cylinder,
    )


@fact
def stroke(view: View) -> hone_plan.Stroke:
    """Stroke and overrun for the job's bores."""
    return hone_plan.stroke(
        bore_length_mm(view),
        view.number(STONE),
        share=view.number(OVERRUN),
        clear_below_mm=view.number(CLEAR),
        below_stones_mm=view.number(BELOW_STONES),
    )


@fact
def finish_limits(view: View) -> dict[str, finish.Limits]:
    """The limits of the finish: the ring maker's where entered, else by the ring's face."""
    return finish.limits_for(
        ring_face(view),
        {key: (view.number(LIMITS[key, "low"]), view.number(LIMITS[key, "high"])) for key in finish.PARAMETERS},
    )


@fact
def at_size(view: View, cylinder: int) -> bool:
    """Whether the last grit has brought the cylinder to size."""
    now = progress(view, cylinder)
    return now is not None and now.verdict == Verdict.GO and keep_mm(view, cylinder) == 0


@fact
def finish_made(view: View, cylinder: int) -> finish.Finish | None:
    measured = {k: v for k, f in MEASURED.items() if (v := view.number(f, cylinder=cylinder)) is not None}
    return finish.accept(measured, finish_limits(view), u_relative=view.number(FINISH_U))
