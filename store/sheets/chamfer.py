"""Chamfers: the same width on every bore from one dial datum."""

from __future__ import annotations

from typing import Any

from logic import chamfer
from logic.cautions import for_sheet
from logic.fields import DefaultNumber, Field, Number
from logic.result import Verdict
from logic.say import L

from .assumed import with_assumed
from .base import Group, Sheet, Work
from .cut import size_now_mm
from .named import cylinder_places, place_name
from .sizes import bored_mm

__all__ = ["SHEET"]

WIDTH = DefaultNumber(
    key="chamfer.width",
    label=L("Width wanted"),
    kind="size",
    help=L(
        "Measured across the face, from the bore's wall outward. Enough to lead the rings in, and clear of the gasket's fire ring."
    ),
    low=0.1,
    high=3.0,
    default=0.75,
)
ANGLE = DefaultNumber(
    key="chamfer.angle",
    label=L("Angle of the chamfer to the bore"),
    kind="angle",
    help=L("Between the chamfer and the wall of the bore. Smaller leads the rings in more gently."),
    low=10.0,
    high=80.0,
    default=45.0,
    formula="width = depth · tan(angle)",
)
TOLERANCE = DefaultNumber(
    key="chamfer.tolerance",
    label=L("Widths may differ by"),
    kind="diff",
    help=L("How far a chamfer may be from the wanted width. It is what you can see with a glass."),
    low=0.02,
    high=0.5,
    default=0.10,
)
TOUCH_U = DefaultNumber(
    key="chamfer.doubt",
    label=L("Doubt about a touch"),
    kind="fine",
    help=L("How finely you feel or hear the tool touch the rim, one standard deviation. Turn the spindle by hand."),
    low=0.002,
    high=0.2,
    default=0.02,
)
TOUCH = Number(
    key="chamfer.touch",
    label=L("Dial at first touch"),
    kind="size",
    help=L(
        "The dial when the tool first touches the rim, counted downward from the datum you zeroed once. The first bore touched is the datum for those not touched."
    ),
    low=-20.0,
    high=100.0,
    at=("cylinder",),
    optional=True,
)
STOPPED = Number(
    key="chamfer.stopped",
    label=L("Dial where it was stopped"),
    kind="size",
    help=L("The dial when you stopped feeding down. The depth, and with it the width, follow from it."),
    low=-20.0,
    high=100.0,
    at=("cylinder",),
)
MEASURED = Number(
    key="chamfer.measured",
    label=L("Width measured"),
    kind="size",
    help=L("Across the finished chamfer, with a glass or a scale. It counts more than what the dial says."),
    low=0.0,
    high=5.0,
    at=("cylinder",),
    optional=True,
)


def work(view: Any) -> Work:
    """Where to stop the dial at each bore, and which chamfer differs from the rest."""
    sizes = {c: s for c in view.cylinders if (s := size_now_mm(view, c) or bored_mm(view, c)) is not None}
    if not sizes:
        return Work(
            blocked=L("Bore the cylinders first, or measure them: the chamfer is reckoned from the bore's size.")
        )

    def held(field: Field) -> dict[int, float]:
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
    order=10,
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
    needs=("sizes", "cut"),
    cautions=for_sheet("chamfer"),
)
