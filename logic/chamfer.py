"""The same chamfer on every bore, from one dial datum.

The edge of a chamfer tool stands at an angle to the bore's axis and is fed down. It
first touches the rim where it is as wide as the bore; fed ``depth`` further, it leaves
a chamfer ``depth`` deep and depth · tan(angle) wide. With the tool left alone and the
dial zeroed once, the dial reading at which it touches differs from bore to bore only by
the bores' sizes and by the height of the face.

A width is known by the dial to what the touch was felt, and where a bore was not touched by
how its face may stand as well; measured across it is known to :data:`U_ACROSS_MM`. It is within its
tolerance with the chance of JCGM 106:2012, 7.3; all bores together with the product of theirs.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from .result import Assumption, Caution, Figure, Influence, Result, Verdict
from .say import L, Line, Qty
from .uncertainty import chance_between

__all__ = ["BoreChamfer", "Chamfers", "chamfers", "touch_shift_mm", "width_mm"]

#: How well a width is measured across the chamfer (standard uncertainty, mm; common practice: a scale and a magnifier).
U_ACROSS_MM = 0.02
#: How far the face at a bore that was not touched may stand above or below the datum's (the same; common practice).
U_HEIGHT_MM = 0.02
#: The chance from which on a chamfer is called within its tolerance, or out of it.
CONFIDENCE = 0.95


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
    ``u_width_mm`` is the standard uncertainty of that width, ``inside`` the chance that it is
    within the tolerance (None: not cut yet).
    """

    cylinder: int
    touch_mm: float
    touched: bool
    stop_mm: float
    made_depth_mm: float | None
    made_width_mm: float | None
    u_width_mm: float = 0.0
    inside: float | None = None


@dataclass(frozen=True, kw_only=True)
class Chamfers(Result):
    """Every bore's chamfer, and the cylinders that differ from the rest."""

    bores: tuple[BoreChamfer, ...]
    differ: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChamferRows:
    """All bores' chamfers in numbers: ``deep_mm`` is the depth wanted, ``datum`` the cylinder reckoned from.

    ``worst`` is the bore that differs most from the wanted width (None: none does), ``differ``
    all that do: too narrow by more than the tolerance, or too wide for certain. ``near`` are those
    too close to call, ``inside`` the chance that all chamfers cut so far are within it.
    """

    datum: int
    deep_mm: float
    inside: float
    bores: tuple[BoreChamfer, ...]
    differ: tuple[int, ...]
    near: tuple[int, ...]
    worst: BoreChamfer | None


def _check_terms(wanted_mm: float, sizes_mm: Mapping[int, float], tolerance_mm: float) -> None:
    if not sizes_mm or not wanted_mm > 0.0 or not tolerance_mm > 0.0:
        raise ValueError("bores, a width and a tolerance above zero are needed")


def _made_mm(
    contact_mm: float, stopped_mm: float | None, measured_mm: float | None, angle_deg: float
) -> tuple[float | None, float | None]:
    """Depth and width of what has been cut: from the width measured across it, else from the dial, else unknown."""
    if measured_mm is not None:
        return depth_mm(measured_mm, angle_deg), measured_mm
    if stopped_mm is None:
        return None, None
    made = stopped_mm - contact_mm
    return made, width_mm(max(0.0, made), angle_deg)


def chamfer_rows(
    wanted_mm: float,
    angle_deg: float,
    sizes_mm: Mapping[int, float],
    *,
    touch_mm: Mapping[int, float],
    stopped_mm: Mapping[int, float],
    width_measured_mm: Mapping[int, float],
    height_mm: Mapping[int, float],
    tolerance_mm: float,
    u_touch_mm: float,
) -> ChamferRows:
    """Work out every bore's chamfer; see :func:`chamfers` for the terms and errors."""
    _check_terms(wanted_mm, sizes_mm, tolerance_mm)
    deep = depth_mm(wanted_mm, angle_deg)
    datum = next((c for c in sorted(sizes_mm) if c in touch_mm), min(sizes_mm))
    rows = []
    for c in sorted(sizes_mm):
        higher = height_mm.get(c, 0.0) - height_mm.get(datum, 0.0)
        shift = touch_shift_mm(sizes_mm[c], sizes_mm[datum], angle_deg) - higher
        contact = touch_mm.get(c, touch_mm.get(datum, 0.0) + shift)
        made, wide = _made_mm(contact, stopped_mm.get(c), width_measured_mm.get(c), angle_deg)
        u = _u_width_mm(u_touch_mm, angle_deg, touched=c in touch_mm, across=c in width_measured_mm)
        inside = None if wide is None else chance_between(wide, u, wanted_mm - tolerance_mm, wanted_mm + tolerance_mm)
        rows.append(BoreChamfer(c, contact, c in touch_mm, contact + deep, made, wide, u, inside))
    off = {r.cylinder: r.made_width_mm - wanted_mm for r in rows if r.made_width_mm is not None}
    chances = {r.cylinder: r.inside for r in rows if r.inside is not None}
    differ = tuple(
        c for c, by in off.items() if by < -tolerance_mm or (by > tolerance_mm and chances[c] <= 1 - CONFIDENCE)
    )
    return ChamferRows(
        datum=datum,
        deep_mm=deep,
        inside=math.prod(chances.values()),
        bores=tuple(rows),
        differ=differ,
        near=_near({c: p for c, p in chances.items() if c not in differ}),
        worst=_worst(rows, differ, {c: abs(by) for c, by in off.items()}),
    )


def _u_width_mm(u_touch_mm: float, angle_deg: float, *, touched: bool, across: bool) -> float:
    """Standard uncertainty of a chamfer's width."""
    if across:
        return U_ACROSS_MM
    return width_mm(u_touch_mm if touched else math.hypot(u_touch_mm, U_HEIGHT_MM), angle_deg)


def _worst(rows: Sequence[BoreChamfer], differ: Collection[int], off_mm: Mapping[int, float]) -> BoreChamfer | None:
    return max((r for r in rows if r.cylinder in differ), key=lambda r: off_mm[r.cylinder], default=None)


def _near(chances: Mapping[int, float]) -> tuple[int, ...]:
    """The cylinders that keep all of them together from being called: those not sure themselves, or the least sure."""
    if math.prod(chances.values()) >= CONFIDENCE:
        return ()
    return tuple(c for c, p in chances.items() if p < CONFIDENCE) or (min(chances, key=lambda c: chances[c]),)


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
    found = chamfer_rows(
        wanted_mm,
        angle_deg,
        sizes_mm,
        touch_mm=touch_mm or {},
        stopped_mm=stopped_mm or {},
        width_measured_mm=width_measured_mm or {},
        height_mm=height_mm or {},
        tolerance_mm=tolerance_mm,
        u_touch_mm=u_touch_mm,
    )
    deep = Qty(found.deep_mm, "size")
    verdict, line = _chamfers_said(found, wanted_mm, tolerance_mm)
    return Chamfers(
        key="chamfer",
        line=line,
        value=deep,
        verdict=verdict,
        confidence=found.inside if verdict == Verdict.GO else None,
        why=_reckoned_said(found),
        figures=_chamfer_figures(found, u_touch_mm),
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
        bores=found.bores,
        differ=found.differ,
    )


def _chamfers_said(found: ChamferRows, wanted_mm: float, tolerance_mm: float) -> tuple[str, Line]:
    """The verdict on the chamfers so far, and what to do next."""
    if found.worst is not None and found.worst.made_width_mm is not None:
        return _differs_said(found.worst, found.worst.made_width_mm, wanted_mm)
    if found.near:
        return Verdict.MAYBE, L("Too close to call on cylinder {c}: measure across its chamfer.", c=found.near)
    if all(r.made_width_mm is not None for r in found.bores):
        return Verdict.GO, L(
            "Every chamfer is {w} wide, ± {tol}.", w=Qty(wanted_mm, "wall"), tol=Qty(tolerance_mm, "wall")
        )
    return Verdict.INFO, L(
        "Touch the rim, note the dial, and feed {deep} further down for a chamfer {w} wide.",
        deep=Qty(found.deep_mm, "size"),
        w=Qty(wanted_mm, "size"),
    )


def _differs_said(bore: BoreChamfer, width_mm: float, wanted_mm: float) -> tuple[str, Line]:
    """The verdict on a chamfer that is too wide (no help for it) or too narrow (cut further)."""
    if width_mm > wanted_mm:
        return Verdict.STOP, L(
            "Cylinder {c} differs: its chamfer is {w} wide, {off} too wide. It cannot be undone; make sure the ring and the gasket still have land.",
            c=bore.cylinder,
            w=Qty(width_mm, "size"),
            off=Qty(width_mm - wanted_mm, "diff"),
        )
    return Verdict.MAYBE, L(
        "Cylinder {c} differs: its chamfer is {w} wide, {off} too narrow. Feed down to {stop} on the dial.",
        c=bore.cylinder,
        w=Qty(width_mm, "size"),
        off=Qty(wanted_mm - width_mm, "diff"),
        stop=Qty(bore.stop_mm, "size"),
    )


def _reckoned_said(found: ChamferRows) -> tuple[Line, ...]:
    if len(found.bores) < 2 or all(r.touched for r in found.bores):
        return ()
    return (
        L(
            "Bores without a touch reading are worked out from cylinder {c} by their size; a touch on each is surer.",
            c=found.datum,
        ),
    )


def _chamfer_figures(found: ChamferRows, u_touch_mm: float) -> tuple[Figure, ...]:
    figures = [Figure("depth", L("Depth below first touch"), Qty(found.deep_mm, "size"))]
    figures += [
        Figure(
            f"stop{r.cylinder}", L("Cylinder {c}: stop the dial at", c=r.cylinder), Qty(r.stop_mm, "size", u_touch_mm)
        )
        for r in found.bores
    ]
    figures += [
        Figure(
            f"width{r.cylinder}",
            L("Cylinder {c}: chamfer width", c=r.cylinder),
            Qty(r.made_width_mm, "size", r.u_width_mm),
        )
        for r in found.bores
        if r.made_width_mm is not None
    ]
    return tuple(figures)
