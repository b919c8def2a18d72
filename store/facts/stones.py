"""What the stones of this job did, and what the hone's earlier jobs lead to expect of them."""

from __future__ import annotations

import math
from itertools import pairwise

from logic import machine_record
from logic.job_record import Stones
from logic.machine_record import Series

from ..fields.bores import MATERIAL
from ..fields.hone import SET, SIZE
from ..graph import fact
from ..view import View
from .block import bore_length_mm
from .honing import checks
from .record import earlier, other_machines

__all__ = ["hone_rate", "stones_used"]

_MM3_PER_CM3 = 1000.0


@fact
def _in_order(view: View) -> tuple[tuple[str, float, float, bool], ...]:
    """Every stretch of honing as it was checked: grit, strokes, iron taken off (cm³), whether the set was fresh."""
    rows = []
    for c in view.cylinders:
        for before, now in pairwise(checks(view, c)):
            if now.strokes > 0 and now.grit:
                at = {"cylinder": c, "check": now.number}
                stamp = max((v.stamp for v in view.all(SIZE, **at).values()), default="")
                off = max(0.0, now.mean_mm - before.mean_mm)
                taken = math.pi / 2.0 * now.mean_mm * bore_length_mm(view) * off / _MM3_PER_CM3
                rows.append((stamp, c, now.number, now.grit, now.strokes, taken, view.choice(SET, **at) == "fresh"))
    return tuple((grit, strokes, taken, fresh) for _, _, _, grit, strokes, taken, fresh in sorted(rows))


@fact
def stones_used(view: View) -> dict[str, Stones]:
    """What each set of stones of a grit did in this job, by grit."""
    out: dict[str, Stones] = {}
    for grit, strokes, taken, fresh in _in_order(view):
        had = out.get(grit, Stones(fresh=fresh))
        if fresh or not had.taken_cm3:
            out[grit] = Stones((*had.taken_cm3, taken), (*had.strokes, strokes), had.fresh)
        else:
            sums = had.taken_cm3[-1] + taken, had.strokes[-1] + strokes
            out[grit] = Stones((*had.taken_cm3[:-1], sums[0]), (*had.strokes[:-1], sums[1]), had.fresh)
    return out


@fact
def hone_rate(view: View, grit: str) -> tuple[Series, tuple[float, ...]] | None:
    """The removal of a grit by the chosen hone's earlier jobs, and the covariates of this job's bores."""
    rows = earlier(view, "hone")
    if not any(r.of(f"rate.{grit}") for r in rows):
        return None
    used = stones_used(view).get(grit)
    fresh = used is not None and used.fresh
    return machine_record.hone_model(rows, grit, other_machines(view, "hone"), view.choice(MATERIAL), fresh=fresh)
