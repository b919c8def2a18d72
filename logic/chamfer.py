"""The same chamfer on every bore, from one dial datum.

The edge of a chamfer tool stands at an angle to the bore's axis and is fed down. It
first touches the rim where it is as wide as the bore; fed ``depth`` further, it leaves
a chamfer ``depth`` deep and depth · tan(angle) wide. With the tool left alone and the
dial zeroed once, the dial reading at which it touches differs from bore to bore only by
the bores' sizes and by the height of the face.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from .result import Assumption, Caution, Figure, Influence, Result, Verdict
from .say import L, Qty

__all__ = ["BoreChamfer", "Chamfers", "chamfers", "touch_shift_mm", "width_mm"]


def _angle(angle_deg: float) -> float:
    if not 5.0 <= angle_deg <= 85.0:
        raise ValueError("a chamfer's angle to the bore lies between 5 and 85 degrees")
    return math.tan(math.radians(angle_deg))


def width_mm(depth_mm: float, angle_deg: float) -> float:
    """Width across the face of a chamfer ``depth_mm`` deep, its edge at ``angle_deg`` to the bore's axis."""
    return depth_mm * _angle(angle_deg)


def depth_mm(width: float, angle_deg: float) -> float:
    """Depth of a chamfer of that width (undoes :func:`width_mm`)."""
    return width / _angle(angle_deg)


def touch_shift_mm(size_mm: float, datum_size_mm: float, angle_deg: float) -> float:
    """How much further down the tool touches a bore of ``size_mm`` than the datum bore."""
    return (size_mm - datum_size_mm) / 2.0 / _angle(angle_deg)


@dataclass(frozen=True, slots=True)
class BoreChamfer:
    """One bore: the dial reading to stop at, and what has been done, mm down from the datum.

    ``stop_mm`` is the reading that gives the wanted chamfer, ``touch_mm`` where the tool
    touches (measured, else expected). With a reading taken, ``made_depth_mm`` and
    ``made_width_mm`` follow from it; a width measured across the chamfer stands instead.
    """

    cylinder: int
    touch_mm: float
    touched: bool
    stop_mm: float
    made_depth_mm: float | None
    made_width_mm: float | None


@dataclass(frozen=True, kw_only=True)
class Chamfers(Result):
    """Every bore's chamfer, and the cylinders that differ from the rest."""

    bores: tuple[BoreChamfer, ...]
    differ: tuple[int, ...]


def chamfers(
    wanted_mm: float,
    angle_deg: float,
    sizes_mm: Mapping[int, float],
    *,
    touch_mm: Mapping[int, float] | None = None,
    stopped_mm: Mapping[int, float] | None = None,
    width_measured_mm: Mapping[int, float] | None = None,
    height_mm: Mapping[int, float] | None = None,
    tolerance_mm: float = 0.10,
    u_touch_mm: float = 0.02,
) -> Chamfers:
    """Where to stop the dial for a chamfer ``wanted_mm`` wide on each bore, and which bore differs.

    ``sizes_mm`` are the bored sizes by cylinder. ``touch_mm`` are dial readings at first
    touch (down is positive), ``stopped_mm`` the readings at which each was stopped,
    ``width_measured_mm`` widths measured across the finished chamfer, ``height_mm`` how
    much higher the face stands at each bore than at the datum bore. The datum is the
    first cylinder with a touch reading; for a bore without one, its touch is worked out
    from its size and height. ``tolerance_mm`` is how much a width may differ from the
    wanted one; ``u_touch_mm`` the standard uncertainty of a touch. Raises ValueError
    without bores or for a width that is not above zero.
    """
    if not sizes_mm or not wanted_mm > 0.0 or not tolerance_mm > 0.0:
        raise ValueError("bores, a width and a tolerance above zero are needed")
    tangent = _angle(angle_deg)
    touch, stopped = dict(touch_mm or {}), dict(stopped_mm or {})
    measured, height = dict(width_measured_mm or {}), dict(height_mm or {})
    datum = next((c for c in sorted(sizes_mm) if c in touch), min(sizes_mm))
    zero = touch.get(datum, 0.0)
    deep = wanted_mm / tangent
    rows = []
    for c in sorted(sizes_mm):
        shift = touch_shift_mm(sizes_mm[c], sizes_mm[datum], angle_deg) - (height.get(c, 0.0) - height.get(datum, 0.0))
        contact = touch.get(c, zero + shift)
        made = stopped[c] - contact if c in stopped else None
        wide = measured.get(c, None if made is None else max(0.0, made) * tangent)
        if c in measured:
            made = measured[c] / tangent
        rows.append(BoreChamfer(c, contact, c in touch, contact + deep, made, wide))
    u_width = u_touch_mm * tangent
    known = [r for r in rows if r.made_width_mm is not None]
    differ = tuple(r.cylinder for r in known if abs(r.made_width_mm - wanted_mm) > tolerance_mm)
    near = tuple(
        r.cylinder
        for r in known
        if r.cylinder not in measured
        and r.cylinder not in differ
        and abs(r.made_width_mm - wanted_mm) > tolerance_mm - 2.0 * u_width
    )
    if differ:
        worst = max((r for r in known if r.cylinder in differ), key=lambda r: abs(r.made_width_mm - wanted_mm))
        line = (
            L("Cylinder {c} differs: its chamfer is {w} wide, {off} too wide. It cannot be undone; make sure the ring and the gasket still have land.",
              c=worst.cylinder, w=Qty(worst.made_width_mm, "size"), off=Qty(worst.made_width_mm - wanted_mm, "diff"))
            if worst.made_width_mm > wanted_mm
            else L("Cylinder {c} differs: its chamfer is {w} wide, {off} too narrow. Feed down to {stop} on the dial.",
                   c=worst.cylinder, w=Qty(worst.made_width_mm, "size"), off=Qty(wanted_mm - worst.made_width_mm, "diff"), stop=Qty(worst.stop_mm, "size"))
        )  # fmt: skip
        verdict = Verdict.STOP if worst.made_width_mm > wanted_mm else Verdict.MAYBE
    elif near:
        line, verdict = L("Too close to call on cylinder {c}: measure across its chamfer.", c=near), Verdict.MAYBE
    elif len(known) == len(rows):
        line, verdict = (
            L("Every chamfer is {w} wide within {tol}.", w=Qty(wanted_mm, "size"), tol=Qty(tolerance_mm, "diff")),
            Verdict.GO,
        )
    else:
        line = L(
            "Touch the rim, note the dial, and feed {deep} further down for a chamfer {w} wide.",
            deep=Qty(deep, "size"),
            w=Qty(wanted_mm, "size"),
        )
        verdict = Verdict.INFO
    why = []
    if len(rows) > 1 and any(not r.touched for r in rows):
        why.append(
            L(
                "Bores without a touch reading are reckoned from cylinder {c} by their size; a touch on each is surer.",
                c=datum,
            )
        )
    figures = [Figure("depth", L("Depth below first touch"), Qty(deep, "size"))]
    figures += [
        Figure(
            f"stop{r.cylinder}", L("Cylinder {c}: stop the dial at", c=r.cylinder), Qty(r.stop_mm, "size", u_touch_mm)
        )
        for r in rows
    ]
    figures += [
        Figure(
            f"width{r.cylinder}", L("Cylinder {c}: chamfer width", c=r.cylinder), Qty(r.made_width_mm, "size", u_width)
        )
        for r in known
    ]
    return Chamfers(
        key="chamfer",
        line=line,
        value=Qty(deep, "size"),
        verdict=verdict,
        why=tuple(why),
        figures=tuple(figures),
        assumptions=(
            Assumption(L("The tool stays as it is in its holder from the first bore to the last.")),
            Assumption(L("A touch is felt to about {u}.", u=Qty(2 * u_touch_mm, "diff"))),
        ),
        influences=(Influence(L("How finely the touch is felt"), 1.0),),
        cautions=(
            Caution(
                "chamfer_land",
                L(
                    "A chamfer must end clear of the fire ring of the gasket: look at the gasket on the block before you cut."
                ),
            ),
        ),
        bores=tuple(rows),
        differ=differ,
    )
