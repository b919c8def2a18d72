"""What is asked about the chamfers."""

from __future__ import annotations

from logic.fields import DefaultNumber, Number
from logic.say import L

__all__ = ["ANGLE", "MEASURED", "STOPPED", "TOLERANCE", "TOUCH", "TOUCH_U", "WIDTH"]

WIDTH = DefaultNumber(
    key="chamfer.width",
    label=L("Width wanted"),
    kind="size",
    help=L("Enough to lead the rings in, and clear of the gasket's fire ring."),
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
    label=L("Touch-off error ±"),
    kind="fine",
    help=L("How finely you feel the tool touch, turned by hand. Two times in three."),
    low=0.002,
    high=0.2,
    default=0.02,
)
TOUCH = Number(
    key="chamfer.touch",
    label=L("Dial at first touch"),
    kind="size",
    help=L("Where the tool first touches the rim, counted down from the datum."),
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
    help=L("Across the finished chamfer, with a glass or scale. It beats the dial."),
    low=0.0,
    high=5.0,
    at=("cylinder",),
    optional=True,
)
