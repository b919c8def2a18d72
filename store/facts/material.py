"""What this job uses up of its tools, by the record of its machines: cutting edges and sets of stones."""

from __future__ import annotations

import math
from typing import NamedTuple

from logic import hone_plan, material
from logic.constants import constant
from logic.machine_record import Basis, basis, edge_lives, edge_model, of_job, passes_model, stone_lives, stone_model

from ..fields.cut import EDGE, EDGE_LIFE
from ..graph import fact
from ..view import View
from .block import bore_length_mm
from .honing import grits, split
from .load import passes_left
from .oversize import hone_stock_mm
from .passes import passes_logged
from .record import earlier, every_job
from .sizes import Route, finished_mm, target

__all__ = ["Lasting", "edge_life", "known_edge_life", "material_used", "stones_life"]


class Lasting(NamedTuple):
    """How long a tool lasts: the life, the jobs it rests on (None: none), and how many were used up in them."""

    life: material.Life
    rests_on: Basis | None
    worn_out: int


@fact
def edge_life(view: View) -> Lasting:
    """How many passes an edge lasts on the chosen bar: by the edges that were used up, else as stated, else by common
    practice."""
    tip, stated = view.choice(EDGE), view.get(EDGE_LIFE)
    rows = tuple(r for r in earlier(view, "bar") if r.edges.passes and r.tip in ("", tip))
    lives = edge_lives(rows, tip)
    said = stated.value if stated.entered or stated.source == "kit card" else None
    return Lasting(material.life_of(edge_model(rows, tip, said)), basis(rows) if lives else None, len(lives))


@fact
def known_edge_life(view: View) -> tuple[float, Basis] | None:
    """The passes an edge lasts in the middle, by the bar's record, and what that rests on; None where none was used up, or
    somebody has stated it for this job."""
    life, rests_on, _ = edge_life(view)
    if rests_on is None or view.get(EDGE_LIFE).entered:
        return None
    return math.exp(life.mean_log), rests_on


@fact
def stones_life(view: View, grit: str) -> Lasting:
    """The same of a set of stones: the iron it takes off, cm³."""
    rows = tuple(r for r in earlier(view, "hone") if grit in r.stones)
    lives = stone_lives(rows, grit)
    return Lasting(material.life_of(stone_model(rows, grit)), basis(rows) if lives else None, len(lives))


@fact
def _passes_over(view: View) -> tuple[float, float]:
    """Passes cut against passes planned by the person's own jobs, as a logarithm: mean and standard uncertainty."""
    rows = [r for r in every_job(view) if r.of("passes.over") is not None]
    return of_job(passes_model(rows), len(view.cylinders))


def _planned(view: View, cylinder: int) -> float:
    """The passes planned for a bore that are still to come."""
    if target(view, cylinder).route == Route.HONE:
        return 0.0
    left = passes_left(view, cylinder)
    return constant("record.passes_bore").value if left is None else float(len(left.passes))


@fact
def _edges(view: View) -> material.UsedUp | None:
    made = float(sum(len(passes_logged(view, c)) for c in view.cylinders))
    over, u_over = _passes_over(view)
    to_come = math.exp(over) * math.fsum(_planned(view, c) for c in view.cylinders)
    if made + to_come <= 0.0:
        return None
    want = material.asked(made + to_come, u_over * to_come / (made + to_come))
    life, rests_on, worn = edge_life(view)
    return material.edges(want, life, rests_on, worn)


@fact
def _iron_cm3(view: View) -> dict[str, float]:
    """The iron each grit is to take off in the whole job, cm³, by the plan; without one, by what the bar leaves as a rule."""
    out: dict[str, float] = {}
    for c in view.cylinders:
        plan, size = split(view, c), finished_mm(view, c) or view.nominal_mm
        if size is None:
            continue
        if plan is None:
            plan = hone_plan.split(size - hone_stock_mm(view), size, grits(view))
        for step in plan.steps:
            taken = math.pi / 2.0 * size * bore_length_mm(view) * max(0.0, step.take_mm) / 1000.0
            out[f"{step.grit}"] = out.get(f"{step.grit}", 0.0) + taken
    return out


@fact
def material_used(view: View) -> tuple[material.UsedUp, ...]:
    """What the job uses up: edges of the bar, and sets of stones of each grit."""
    share = constant("record.stones_share").value / math.sqrt(max(1, len(view.cylinders)))
    cut = _edges(view)
    out = [] if cut is None else [cut]
    for grit, iron in _iron_cm3(view).items():
        if iron > 0.0:
            life, rests_on, worn = stones_life(view, grit)
            out.append(material.stones(grit, material.asked(iron, share), life, rests_on, worn))
    return tuple(out)
