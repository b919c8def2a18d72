"""The hone's grits, stroke and checks, and how far each bore has come under it."""

from __future__ import annotations

from logic import finish, hone_plan, hone_progress
from logic.result import Verdict
from logic.temperature import read_at_20

from ..fields.hone import (
    ACROSS,
    BAND,
    BELOW_STONES,
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
)
from ..folded import Place, place
from ..graph import fact
from ..view import View
from .block import block_expansion_per_k, bore_length_mm
from .oversize import hone_stock_mm
from .passes import bored_now_mm
from .sizes import bored_mm, finished_mm
from .strip import stepped
from .visit import block_c, master_c

__all__ = [
    "DEPTHS",
    "at_size",
    "check_temperature_c",
    "checks",
    "checks_logged",
    "depth_mm",
    "finish_limits",
    "finish_made",
    "grit_in_use",
    "grits",
    "keep_mm",
    "next_entry",
    "progress",
    "ring_face",
    "split",
    "start_check",
    "stroke",
    "two_axes_mm",
    "whole_check",
]

DEPTHS = 3
#: The depth measured at every check; the ends follow where the size comes near.
MIDDLE = 2


@fact
def ring_face(view: View) -> str:
    """The face of the top ring: a key of logic.finish.RINGS."""
    return view.choice(FACE)


@fact
def grits(view: View) -> tuple[int, ...]:
    """The grits in use, coarsest first: as entered, else by the ring's face and what the bar leaves."""
    stated = sorted({int(g) for f in GRITS if (g := view.number(f)) is not None})
    return tuple(stated) or hone_plan.with_coarser(finish.RINGS[ring_face(view)].grits, hone_stock_mm(view))


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


@fact
def check_temperature_c(view: View, cylinder: int, number: int) -> float:
    """How warm the bore was at a check: as entered, else as the block at rest."""
    own = view.number(WARM, cylinder=cylinder, check=number)
    return block_c(view, "hone", cylinder, check=number) if own is None else own


def _sizes(view: View, cylinder: int, number: int) -> dict[int, float]:
    """What a check measured, by depth, at 20 °C."""
    warm, alpha = check_temperature_c(view, cylinder, number), block_expansion_per_k(view)
    master = master_c(view, "hone", cylinder, check=number)
    found: dict[int, float] = {}
    for d in range(1, DEPTHS + 1):
        read = view.number(SIZE, cylinder=cylinder, check=number, depth=d)
        other = view.number(ACROSS, cylinder=cylinder, check=number, depth=d)
        if read is not None:
            mean = read if other is None else (read + other) / 2
            found[d] = read_at_20(mean, block_c=warm, alpha_block_per_k=alpha, master_c=master)
    return found


@fact
def two_axes_mm(view: View, cylinder: int) -> dict[int, tuple[float, float]]:
    """The last check's readings where both axes were read, (across, along the crank), as read, by depth."""
    logged = checks_logged(view, cylinder)
    out: dict[int, tuple[float, float]] = {}
    for d in range(1, DEPTHS + 1) if logged else ():
        at = {"cylinder": cylinder, "check": logged[-1], "depth": d}
        one, other = view.number(SIZE, **at), view.number(ACROSS, **at)
        if one is not None and other is not None:
            out[d] = (one, other)
    return out


@fact
def whole_check(view: View, cylinder: int, number: int) -> bool:
    """Whether a check was measured at every depth."""
    return len(_sizes(view, cylinder, number)) == DEPTHS


@fact
def start_check(view: View, cylinder: int) -> hone_progress.Check | None:
    """The size the bar left, as a check before any stroke; None where it is not known, or was measured anew as check 1."""
    left = bored_now_mm(view, cylinder)
    if left is None:
        return None
    anew = 1 in checks_logged(view, cylinder) and not view.number(STROKES, cylinder=cylinder, check=1)
    return None if anew else hone_progress.Check(0, 0, ((depth_mm(view, MIDDLE), left),), "")


def _with_ends(read: dict[int, float], ends: dict[int, float]) -> tuple[dict[int, float], dict[int, float]]:
    """A check, with the ends as they last differed from the middle where only that was measured; and how they differ now."""
    if len(read) == DEPTHS:
        return read, {d: mm - read[MIDDLE] for d, mm in read.items()}
    if MIDDLE in read:
        taken = {d: read[MIDDLE] + off for d, off in ends.items()}
        return {**{d: mm for d, mm in taken.items() if mm > 0}, **read}, ends
    return read, ends


@fact
def checks(view: View, cylinder: int) -> tuple[hone_progress.Check, ...]:
    """The gauge checks of a cylinder, sizes at 20 °C, in order; first the size the bar left, as check 0.

    Where only the middle was measured, the ends are taken to differ from it as they last did.
    """
    start = start_check(view, cylinder)
    out: list[hone_progress.Check] = [] if start is None else [start]
    grit, ends = "", dict[int, float]()
    for n in checks_logged(view, cylinder):
        read = _sizes(view, cylinder, n)
        read, ends = _with_ends(read, ends)
        sizes = tuple((depth_mm(view, d), read[d]) for d in sorted(read))
        if not sizes:  # read at a depth that is none of the three
            continue
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
def grit_in_use(view: View, cylinder: int) -> str | None:
    """The grit last used in a bore, else the first of the plan; None while there is no plan."""
    plan = split(view, cylinder)
    used = next((c.grit for c in reversed(checks(view, cylinder)) if c.grit), None)
    return used if used is not None or plan is None else f"{plan.steps[0].grit:.0f}"


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
    """Stroke and overrun for the job's bores; over a step at the bottom there is no room unless it was measured."""
    clear = view.number(CLEAR)
    return hone_plan.stroke(
        bore_length_mm(view),
        view.number(STONE),
        share=view.number(OVERRUN),
        clear_below_mm=0.0 if clear is None and stepped(view) else clear,
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
    """Whether the last grit has brought the cylinder to size, at the top, in the middle and at the bottom."""
    now = progress(view, cylinder)
    done = now is not None and now.verdict == Verdict.GO and keep_mm(view, cylinder) == 0
    return done and _ends_known(view, cylinder)


def _ends_known(view: View, cylinder: int) -> bool:
    """Whether the ends were measured when the bore had come near its size: the little that came off since is alike."""
    size = finished_mm(view, cylinder)
    if size is None:
        return False
    near = size - 2 * view.number(BAND)
    return any(
        whole_check(view, cylinder, n) and sum(read.values()) / DEPTHS >= near
        for n in checks_logged(view, cylinder)
        if (read := _sizes(view, cylinder, n))
    )


def _near(view: View, cylinder: int) -> bool:
    """Whether the bore has come so near to its size that its ends count as well."""
    now, size = progress(view, cylinder), finished_mm(view, cylinder)
    if now is None or size is None or now.size_mm is None:
        return False
    return now.size_mm >= size - 2 * view.number(BAND)


@fact
def next_entry(view: View, cylinder: int) -> tuple[str, Place] | None:
    """What is logged next while honing a bore: strokes, then the size in the middle; near the end, the ends too.

    None where the bore is at size or its finished size is not known.
    """
    if finished_mm(view, cylinder) is None or at_size(view, cylinder):
        return None
    logged = checks_logged(view, cylinder)
    last = logged[-1] if logged else 0
    depth = _depth_wanted(view, cylinder, last) if last else None
    if depth is not None:
        return SIZE.key, place(cylinder=cylinder, check=last, depth=depth)
    n = last + 1
    if n == 1 and start_check(view, cylinder) is None:
        return SIZE.key, place(cylinder=cylinder, check=1, depth=1)
    if not view.get(STROKES, cylinder=cylinder, check=n).entered:
        return STROKES.key, place(cylinder=cylinder, check=n)
    return SIZE.key, place(cylinder=cylinder, check=n, depth=MIDDLE)


def _depth_wanted(view: View, cylinder: int, number: int) -> int | None:
    """Where the check in hand is still to be measured; None where it has all it needs."""
    read = _sizes(view, cylinder, number)
    first = number == 1 and start_check(view, cylinder) is None
    if MIDDLE not in read and not first:
        return MIDDLE
    ends = first or (_near(view, cylinder) and not _ends_known(view, cylinder))
    wanted = range(1, DEPTHS + 1) if ends else ()
    return next((d for d in wanted if d not in read), None)


@fact
def finish_made(view: View, cylinder: int) -> finish.Finish | None:
    measured = {k: v for k, f in MEASURED.items() if (v := view.number(f, cylinder=cylinder)) is not None}
    return finish.accept(measured, finish_limits(view), u_relative=view.number(FINISH_U))
