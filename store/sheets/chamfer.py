"""Chamfers: the same width on every bore from one dial datum."""

from __future__ import annotations

from logic import chamfer
from logic.cautions import for_sheet
from logic.fields import Number
from logic.result import Verdict
from logic.say import L

from ..assumed import with_assumed
from ..facts.passes import size_now_mm
from ..facts.sizes import bar_mm
from ..fields.chamfer import ANGLE, MEASURED, STOPPED, TOLERANCE, TOUCH, TOUCH_U, WIDTH
from ..places import cylinder_places, place_name
from ..view import View
from .base import Group, Sheet, Work
from .gates import chamfer_may_be, only_honed, waits_for_bar

__all__ = ["MEASURED", "SHEET", "STOPPED", "TOUCH"]


def work(view: View) -> Work:
    """Where to stop the dial at each bore, and which chamfer differs from the rest."""
    sizes = {c: s for c in view.cylinders if (s := size_now_mm(view, c) or bar_mm(view, c)) is not None}
    if not sizes:
        return Work(blocked=L("Bore the cylinders first, or measure them: the chamfer follows from the bore's size."))

    def held(field: Number) -> dict[int, float]:
        return {c: v for c in sizes if (v := view.number(field, cylinder=c)) is not None}

    answer = chamfer.chamfers(
        view.number(WIDTH),
        view.number(ANGLE),
        sizes,
        touch_mm=held(TOUCH),
        stopped_mm=held(STOPPED),
        width_measured_mm=held(MEASURED),
        tolerance_mm=view.number(TOLERANCE),
        u_touch_mm=view.number(TOUCH_U),
    )
    made = {r.cylinder for r in answer.bores if r.made_width_mm is not None}
    missing = tuple((STOPPED.key, {"cylinder": c}) for c in sizes if c not in made)
    return Work(
        results=(with_assumed(answer, view, WIDTH, ANGLE, TOLERANCE),),
        missing=missing,
        done=len(made) == len(view.cylinders) and answer.verdict == Verdict.GO,
    )


SHEET = Sheet(
    key="chamfer",
    order=11,
    title=L("Chamfers"),
    purpose=L("Cut the same chamfer on every bore, so that rings go in without catching."),
    groups=(
        Group(
            key="bores",
            title=L("Each bore"),
            fields=(TOUCH, STOPPED, MEASURED),
            places=cylinder_places,
            name=place_name,
            help=L("Zero the dial once and leave the tool alone from the first bore to the last."),
        ),
        Group(key="wanted", title=L("The chamfer"), fields=(WIDTH, ANGLE, TOLERANCE, TOUCH_U)),
    ),
    work=work,
    minutes=(5, 3),
    waits=waits_for_bar,
    idle=only_honed,
    gate=chamfer_may_be,
    cautions=for_sheet("chamfer"),
)
