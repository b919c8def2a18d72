"""What was entered and does not count because something else does: said beside the answer, never silently passed over.

Two sources of one thing that contradict each other are a doubt (:mod:`store.facts.evidence`). Here is
what merely gives way: a maker's figure counts before a rule of thumb, what was measured before what follows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from logic.fields import Field
from logic.say import L, Line

from ..fields import bores, chamfer, clamp, cut, declared, face, hone, rings, sizes, sleeve, sweep
from ..folded import numbered
from ..graph import fact
from ..view import View
from .sleeves import sleeved
from .sweep import swept, zero_by_gap, zero_entered

__all__ = ["RULES", "set_aside"]


def _there(view: View, *fields: Field, **at: int) -> bool:
    """Whether each of the fields was entered in the job, at a place that agrees."""
    return all(view.all(f.key, **at) for f in fields)


def _sweep(view: View) -> Iterator[Line]:
    for c in view.cylinders:
        if zero_entered(view, c) is not None and zero_by_gap(view, c) is not None:
            yield L("Cylinder {n}: the zero entered counts; the gap only checks it.", n=c)
        elif _there(view, sweep.GAP, cylinder=c) and zero_by_gap(view, c) is None:
            yield L("Cylinder {n}: the gap counts only with the spindle's diameter.", n=c)


def _bores(view: View) -> Iterator[Line]:
    for c in view.cylinders:
        if not (_there(view, bores.OFFSET, cylinder=c) or _there(view, bores.BAR_SHIFT, cylinder=c)):
            continue
        if swept(view, c) is not None:
            yield L("Cylinder {n}: the sweep counts, not the offset or the set-over entered.", n=c)


def _clamp(view: View) -> Iterator[Line]:
    if _there(view, clamp.NUT_FACTOR, clamp.THREAD_STATE):
        yield L("The nut factor measured counts, not dry or oiled.")


def _face(view: View) -> Iterator[Line]:
    feet = _there(view, face.FOOT_X, face.FOOT_Y)
    if feet and _there(view, face.BASE_WIDTH):
        yield L("The feet's places count, not the width of the base.")
    if feet and view.choice(face.REMEDY) != "shim":
        yield L("The feet's places count for shims only.")


def _cut(view: View) -> Iterator[Line]:
    if _there(view, cut.BAR) and view.choice(cut.METER) == "bore":
        yield L("The bar's diameter counts only where the micrometer measures over bar and tip.")


def _chamfer(view: View) -> Iterator[Line]:
    for c in view.cylinders:
        if _there(view, chamfer.MEASURED, chamfer.STOPPED, cylinder=c):
            yield L("Cylinder {n}: the width measured counts, not the dial.", n=c)


def _hone(view: View) -> Iterator[Line]:
    checked = {(numbered(at, "cylinder"), numbered(at, "check")) for at in view.all(hone.SIZE.key)}
    warm = {(numbered(at, "cylinder"), numbered(at, "check")) for at in view.all(hone.WARM.key)}
    if checked and checked <= warm and _there(view, hone.BLOCK_C):
        yield L("The temperature entered at each check counts, not the block's before honing.")


def _rings(view: View) -> Iterator[Line]:
    if _there(view, rings.LEAST) and (_there(view, rings.TOP_SHARE) or _there(view, rings.SECOND_SHARE)):
        yield L("Where the maker gives a least gap, that counts, not the gap per unit of bore.")
    if _there(view, rings.WIDEST, rings.WIDEST_SHARE):
        yield L("Where the maker gives a widest gap, that counts, not the widest per unit of bore.")


def _sizes(view: View) -> Iterator[Line]:
    if _there(view, sizes.CLEARANCE, sizes.COOLING):
        yield L("The maker's clearance counts; the cooling goes into the rings' gaps only.")


def _sleeve(view: View) -> Iterator[Line]:
    wanted = sleeved(view)
    for c in view.cylinders:
        if c not in wanted and any(_there(view, f, cylinder=c) for f in _OF_ONE):
            yield L("Cylinder {n} gets no sleeve: what was entered for one is not used.", n=c)
    if not wanted and any(_there(view, f) for f in _OF_ALL):
        yield L("No cylinder gets a sleeve: what was entered for its fit is not used.")


_OF_ONE = (sleeve.OUTSIDE, sleeve.OUTSIDE_AGAIN, sleeve.INSIDE, sleeve.LENGTH, sleeve.BORED)
_OF_ALL = tuple(f for f in declared().values() if f.key.startswith("sleeve.") and not f.at)

#: By step: what gives way there.
RULES: Mapping[str, Callable[[View], Iterator[Line]]] = {
    "bores": _bores,
    "sweep": _sweep,
    "sleeve": _sleeve,
    "sizes": _sizes,
    "face": _face,
    "clamp": _clamp,
    "cut": _cut,
    "chamfer": _chamfer,
    "hone": _hone,
    "rings": _rings,
}


@fact
def set_aside(view: View, step: str) -> tuple[Line, ...]:
    """What was entered in a step and does not count, each with what counts instead."""
    return tuple(RULES[step](view))
