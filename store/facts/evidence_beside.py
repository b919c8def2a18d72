"""Figures against those that stand beside them: see :mod:`logic.beside_check`."""

from __future__ import annotations

from collections.abc import Iterator

from logic import beside_check, readings_check
from logic.doubt import Doubt
from logic.readings_check import spot
from logic.say import L

from ..fields import bores, cut, face, final, fitting, hone, sleeve
from ..graph import fact
from ..view import View
from .block import block_metal
from .face import skim_plan
from .honing import checks_logged
from .oversize import choice
from .passes import start_mm
from .sleeves import sleeved
from .visit import block_c, master_c
from .worn import worn_bore

__all__ = ["beside_doubts"]

#: The steps, beside that of the worn bores, in which a job has temperatures of its own: of the block, and of the master.
_OWN = {
    "cut": (cut.BLOCK_C, cut.ZERO_C),
    "hone": (hone.BLOCK_C, hone.ZERO_C),
    "final": (final.BLOCK_C, final.ZERO_C),
}


@fact
def own_temperature_doubts(view: View) -> tuple[Doubt, ...]:
    """The temperatures of block and master where a step has its own, as those of the worn bores."""
    out: list[Doubt] = []
    for step, (block, master) in _OWN.items():
        if view.get(block).entered or view.get(master).entered:
            out += readings_check.check_temperatures(
                block_c(view, step), master_c(view, step), block=spot(block.key), master=spot(master.key), name=step
            )
    return tuple(out)


@fact
def warm_doubts(view: View, cylinder: int) -> tuple[Doubt, ...]:
    """How warm the bore was at each pass and each check of the hone, where that was entered."""
    out: list[Doubt] = []
    for n, value in view.events(cut.WARM, "pass", cylinder=cylinder).items():
        at = {"cylinder": cylinder, "pass": n}
        about = (spot(cut.WARM.key, **at), spot(cut.BLOCK_C.key))
        block = block_c(view, "cut", cylinder, **{"pass": n})
        out += beside_check.check_warm(
            cylinder, L("pass {p}", p=n), value.value, block, beside_check.CUT_K, about=about
        )
    for n, value in view.events(hone.WARM, "check", cylinder=cylinder).items():
        about = (spot(hone.WARM.key, cylinder=cylinder, check=n), spot(hone.BLOCK_C.key))
        block = block_c(view, "hone", cylinder, check=n)
        out += beside_check.check_warm(
            cylinder, L("hone check {k}", k=n), value.value, block, beside_check.HONED_K, about=about
        )
    return tuple(out)


@fact
def bore_doubts(view: View, cylinder: int) -> tuple[Doubt, ...]:
    """A bore's offset, its size before boring, and the two axes at the hone's last check."""
    out: list[Doubt] = []
    worn = worn_bore(view, cylinder)
    if worn is not None and worn.measured and worn.unworn.mm is not None:
        wear = worn.worst.d_mm - worn.unworn.mm
        for field in (bores.OFFSET, bores.BAR_SHIFT):
            stated = view.number(field, cylinder=cylinder)
            if stated is not None:
                about = (spot(field.key, cylinder=cylinder), spot(bores.READING.key, cylinder=cylinder))
                out += beside_check.check_offset(cylinder, stated, wear, about=about)
        start = start_mm(view, cylinder)
        if start is not None and view.number(cut.PRESENT, cylinder=cylinder) is not None:
            about = (spot(cut.PRESENT.key, cylinder=cylinder), spot(bores.READING.key, cylinder=cylinder))
            out += beside_check.check_present(cylinder, start, worn.unworn.mm, about=about)
    out += _axes(view, cylinder)
    out += _trace(view, cylinder)
    return tuple(out)


def _trace(view: View, cylinder: int) -> Iterator[Doubt]:
    measured = {key: view.number(field, cylinder=cylinder) for key, field in hone.MEASURED.items()}
    ra, rpk, rk, rvk = (measured[key] for key in ("ra", "rpk", "rk", "rvk"))
    if ra is not None and rpk is not None and rk is not None and rvk is not None:
        about = tuple(spot(field.key, cylinder=cylinder) for field in hone.MEASURED.values())
        yield from beside_check.check_trace(cylinder, ra, rpk, rk, rvk, about=about)


def _axes(view: View, cylinder: int) -> Iterator[Doubt]:
    logged = checks_logged(view, cylinder)
    for d, value in view.events(hone.ACROSS, "depth", cylinder=cylinder, check=logged[-1]).items() if logged else ():
        at = {"cylinder": cylinder, "check": logged[-1], "depth": d}
        size = view.number(hone.SIZE, **at)
        if size is not None:
            about = (spot(hone.ACROSS.key, **at), spot(hone.SIZE.key, **at))
            yield from beside_check.check_axes(cylinder, d, size, value.value, about=about)


@fact
def sleeve_figure_doubts(view: View) -> tuple[Doubt, ...]:
    """Where a sleeve is wanted: which cylinders need one, how cold it is made, how stiff block and sleeve are."""
    marked, advised = sleeved(view), choice(view)
    if not marked:
        return ()
    needed = () if advised is None else advised.sleeve
    both = tuple(spot(sleeve.WANTED.key, cylinder=c) for c in (*marked, *needed))
    out = list(beside_check.check_sleeved(marked, needed, about=both))
    cold = view.number(sleeve.COLD)
    if cold is not None:
        out += beside_check.check_cold(cold, about=(spot(sleeve.COLD.key),))
    if view.get(sleeve.BLOCK_MODULUS).entered:
        field, about = sleeve.BLOCK_MODULUS, (spot(sleeve.BLOCK_MODULUS.key), spot(bores.MATERIAL.key))
        usual = block_metal(view).modulus_mpa
        out += beside_check.check_stiffness(field.label, view.number(field), usual, about=about)
    if view.get(sleeve.SLEEVE_MODULUS).entered:
        field = sleeve.SLEEVE_MODULUS
        out += beside_check.check_stiffness(field.label, view.number(field), None, about=(spot(field.key),))
    return tuple(out)


@fact
def grade_doubts(view: View) -> tuple[Doubt, ...]:
    """The rows of the maker's list of grades against each other."""
    rows, about = [], {}
    for n, name in view.events(fitting.GRADE, "grade").items():
        low, high = view.number(fitting.GRADE_LOW, grade=n), view.number(fitting.GRADE_HIGH, grade=n)
        if low is not None and high is not None and low <= high:
            rows.append((n, name.value, low, high))
            about[n] = (spot(fitting.GRADE_LOW.key, grade=n), spot(fitting.GRADE_HIGH.key, grade=n))
    return tuple(beside_check.check_grades(rows, about=about))


@fact
def skim_doubts(view: View) -> tuple[Doubt, ...]:
    """The skim taken against the one planned, where one was chosen for the deck as measured."""
    taken, plan = view.number(face.SKIM), skim_plan(view)
    if taken is None or plan is None or view.choice(face.REMEDY) != "skim":
        return ()
    about = (spot(face.SKIM.key), spot(face.HEIGHT.key))
    return tuple(beside_check.check_skim(taken, max(plan.mean_mm, 0.0), about=about))


@fact
def beside_doubts(view: View) -> tuple[Doubt, ...]:
    """Every doubt about a figure that another beside it does not bear out."""
    out = [*own_temperature_doubts(view), *sleeve_figure_doubts(view), *grade_doubts(view), *skim_doubts(view)]
    for c in view.cylinders:
        out += [*warm_doubts(view, c), *bore_doubts(view, c)]
    return tuple(out)
