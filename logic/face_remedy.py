"""What to do about a top face that is out of square: a skim, or shims under the base, in words.

The figures are worked out in :mod:`logic.face_plane`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from .directions import compass
from .face_doubt import assumptions_of, cautions_of
from .face_plane import Face, Skimming, above_zero, shimming, skimming
from .result import Assumption, Caution, Figure, Result
from .say import L, Line, Qty

__all__ = ["ShimPlan", "SkimPlan", "shims", "skim"]


# -- skim ------------------------------------------------------------------------------------
@dataclass(frozen=True, kw_only=True)
class SkimPlan(Result):
    """The least stock that cleans the whole face parallel to the axis.

    ``corners`` are (name, x, y, stock); ``removed_mm`` what each cylinder's face loses;
    ``most_mm`` the deepest cut; ``mean_mm`` the mean over the bores.
    """

    corners: tuple[tuple[Line, float, float, float], ...]
    removed_mm: Mapping[int, float]
    most_mm: float
    mean_mm: float


def skim(
    face: Face,
    bores_mm: Mapping[int, float],
    *,
    outline_mm: tuple[float, float, float, float] | None = None,
    bore_mm: float | None = None,
) -> SkimPlan:
    """Plan a skim parallel to the main-bearing axis and level across.

    ``bores_mm`` maps cylinder to its x; ``outline_mm`` is (x front, x rear, y right, y
    left) of the face, by default the extent of the points. ``bore_mm``, where given,
    turns the loss of height into volume per cylinder. The cut goes down to the lowest
    of the measured points and the fitted corners.
    """
    plan = skimming(face, bores_mm, outline_mm)
    corners = _named(plan.corners)
    high, low = max(corners, key=lambda c: c[3]), min(corners, key=lambda c: c[3])
    most = Qty(plan.most_mm, "diff", plan.u_mm)
    return SkimPlan(
        key="face.skim",
        line=L(
            "Skimming {most} at {high}, and just touching at {low}, brings the deck parallel to the main-bearing axis.",
            most=most,
            high=high[0],
            low=low[0],
        ),
        value=most,
        why=(
            L(
                "On average the bores lose {mean} of height, which raises the compression.",
                mean=Qty(plan.mean_mm, "diff"),
            ),
            L("Measure again after the cut: the plan rests on the fitted deck."),
        ),
        figures=_skim_figures(plan, corners, bore_mm),
        assumptions=(
            *assumptions_of(face),
            Assumption(L("The cut is parallel to the main-bearing axis and level across."), "common practice"),
        ),
        cautions=(*cautions_of(face), _SKIM_LIMITS),
        corners=corners,
        removed_mm=plan.removed_mm,
        most_mm=plan.most_mm,
        mean_mm=plan.mean_mm,
    )


_SKIM_LIMITS = Caution(
    "face.skim_limits",
    L(
        "Before any skim, check the maker's least height of the block, the clearance from piston to head, and what the skim does to compression and timing drive."
    ),
)


def _named(corners: Sequence[tuple[float, float, float]]) -> tuple[tuple[Line, float, float, float], ...]:
    """The corners of a face with their names, seen from its middle."""
    xs, ys = [x for x, _, _ in corners], [y for _, y, _ in corners]
    x0, x1, y0, y1 = min(xs), max(xs), min(ys), max(ys)
    return tuple(
        (compass(math.degrees(math.atan2((y > y0) - (y < y1), (x < x1) - (x > x0)))), x, y, stock)
        for x, y, stock in corners
    )


def _skim_figures(
    plan: Skimming, corners: Sequence[tuple[Line, float, float, float]], bore_mm: float | None
) -> tuple[Figure, ...]:
    figures = [
        Figure(f"corner.{i}", L("Stock at {corner}", corner=c[0]), Qty(c[3], "diff")) for i, c in enumerate(corners, 1)
    ]
    if bore_mm is not None:
        above_zero("bore", bore_mm)
    for n, taken in plan.removed_mm.items():
        figures.append(
            Figure(f"removed.{n}", L("Deck lowered at cylinder {n}", n=n), Qty(taken, "diff", plan.u_removed_mm[n]))
        )
        if bore_mm is not None:
            figures.append(
                Figure(
                    f"volume.{n}",
                    L("Volume lost above the piston, cylinder {n}", n=n),
                    Qty(math.pi / 4 * bore_mm**2 * taken / 1000, "volume"),
                )
            )
    return tuple(figures)


# -- shims ----------------------------------------------------------------------------------
@dataclass(frozen=True, kw_only=True)
class ShimPlan(Result):
    """Shims under the base for one bore. ``feet`` are (number, x, y, thickness), x and y from the bore's centre."""

    cylinder: int
    feet: tuple[tuple[int, float, float, float], ...]


def shims(
    face: Face, feet_mm: Sequence[tuple[float, float]], *, cylinder: int, x_mm: float, y_mm: float = 0.0
) -> ShimPlan:
    """Shim thickness under each foot so that the bar stands square to the axis at this bore.

    ``feet_mm`` are (x, y) of three or more feet from the bore's centre, x to the rear
    and y to the left. The highest foot gets none. Raises ValueError for fewer feet.
    """
    plan = shimming(face, feet_mm, x_mm=x_mm, y_mm=y_mm)
    places = [compass(math.degrees(math.atan2(y, -x))) for _, x, y, _ in plan.feet]
    most, high = plan.most, plan.high
    thickest = Qty(most[3], "diff", plan.u_mm[most[0] - 1])
    if thickest.value < 0.0025:
        line = L("Cylinder {n}: no shims needed under the base.", n=cylinder)
    else:
        line = L(
            "Cylinder {n}: shim {most} under the foot at {place}, none under the foot at {high}.",
            n=cylinder,
            most=thickest,
            place=places[most[0] - 1],
            high=places[high[0] - 1],
        )
    return ShimPlan(
        key=f"face.shims.{cylinder}",
        line=line,
        value=thickest,
        why=(
            L(
                "Use the nearest shims you have, under clean feet, and check the bar against a square or by sweeping the bore before you cut."
            ),
        ),
        figures=tuple(
            Figure(f"foot.{i}", L("Shim under foot {i}, at {place}", i=i, place=place), Qty(t, "diff", u))
            for (i, _, _, t), u, place in zip(plan.feet, plan.u_mm, places, strict=True)
        ),
        assumptions=assumptions_of(face),
        cautions=(*cautions_of(face), _SHIM_SUPPORT),
        cylinder=cylinder,
        feet=plan.feet,
    )


_SHIM_SUPPORT = Caution(
    "face.shim_support",
    L(
        "A shimmed base touches only at its feet. Put each shim under a clamp's line of force, and see that the base neither rocks nor bends."
    ),
)
