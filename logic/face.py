"""The top face against the main-bearing axis: lean of the bores, skim, shims, dirt.

A bar stands square to what its base stands on. If the top face is not parallel to the
main-bearing axis, or a chip lies under the base, every bore it cuts leans by the slope
times the bore's length. :mod:`logic.face_plane` fits the face and works out the figures,
with the frame and the model; here they become verdicts and sentences. The verdict keeps
a guard band as ISO 14253-1 asks, with probabilities after JCGM 106:2012.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from .constants import constant
from .directions import toward
from .face_doubt import assumptions_of, cautions_of
from .face_plane import Believed, Face, Leaning, Spot, above_zero, bore_places_mm, corners_mm, leaning, survey
from .face_remedy import ShimPlan, SkimPlan, shims, skim
from .pictures import TiltedFace
from .result import Assumption, Figure, Influence, Result, Verdict
from .say import L, Line, Qty

__all__ = [
    "Dirt",
    "Face",
    "Lean",
    "Ready",
    "ShimPlan",
    "SkimPlan",
    "Spot",
    "after_remedy",
    "bore_places_mm",
    "corners_mm",
    "dirt",
    "lean",
    "picture",
    "ready",
    "shims",
    "skim",
    "survey",
]
LEAN_LIMIT_MM = constant("face.lean_limit").value
#: Probability asked for before the answer is "go" or "stop" (ISO 14253-1:2017 default).
CONFIDENCE = 0.95


# -- lean of one bore ------------------------------------------------------------------
@dataclass(frozen=True, kw_only=True)
class Lean(Result):
    """How a bore cut square to the face leans over ``length_mm``.

    ``along_mm``: its lower end comes out that far toward the rear of where it should;
    ``across_mm``: toward the left. ``total_mm`` is the two together, ``u_mm`` the
    largest standard uncertainty of the lower end in any direction, ``u_along_mm`` and
    ``u_across_mm`` those along and across. ``chance`` is the probability that the lean
    is within ``limit_mm``; ``believed`` is what it rests on.
    """

    cylinder: int
    along_mm: float
    across_mm: float
    total_mm: float
    u_mm: float
    u_along_mm: float
    u_across_mm: float
    length_mm: float
    limit_mm: float
    chance: float
    believed: Believed


def lean(
    face: Face,
    *,
    cylinder: int,
    x_mm: float,
    length_mm: float,
    y_mm: float = 0.0,
    limit_mm: float = LEAN_LIMIT_MM,
    confidence: float = CONFIDENCE,
    remedied: bool = False,
) -> Lean:
    """The lean of the bore at (``x_mm``, ``y_mm``), ``length_mm`` long, judged against ``limit_mm``.

    ``remedied``: the face is skimmed or the base shimmed as planned from these heights,
    which takes the slope away and leaves its doubt.
    """
    found = leaning(face, x_mm=x_mm, y_mm=y_mm, length_mm=length_mm, limit_mm=limit_mm, remedied=remedied)
    verdict, sure = _judged(found.chance, confidence)
    total = Qty(found.total_mm, "diff", found.u_mm)
    where = toward(-found.along_mm, found.across_mm)
    gaps = {"n": cylinder, "total": total, "length": Qty(length_mm, "place"), "limit": Qty(limit_mm, "diff")}
    if verdict == Verdict.MAYBE:
        line = L(
            "Cylinder {n}: too close to call. It would lean about {total} over {length}; the limit is {limit}.",
            **gaps,
            where=where,
        )
    else:
        line = L("Cylinder {n} would lean {total} over {length}; the limit is {limit}.", **gaps, where=where)
    return Lean(
        key=f"lean.{cylinder}",
        line=line,
        value=total,
        verdict=verdict,
        confidence=sure,
        why=(_PLANNED if remedied else L("Its lower end would come out {where}.", **gaps, where=where),),
        figures=_lean_figures(found, limit_mm),
        assumptions=assumptions_of(face),
        influences=_lean_influences(found),
        cautions=cautions_of(face),
        cylinder=cylinder,
        along_mm=found.along_mm,
        across_mm=found.across_mm,
        total_mm=found.total_mm,
        u_mm=found.u_mm,
        u_along_mm=found.u_along_mm,
        u_across_mm=found.u_across_mm,
        length_mm=length_mm,
        limit_mm=limit_mm,
        chance=found.chance,
        believed=found.believed,
    )


_PLANNED = L(
    "The skim or the shims take the slope away; what is left is the error of the heights they were planned from."
)


def _judged(chance: float, confidence: float) -> tuple[str, float]:
    """The verdict on a chance that all is well, and how sure it is."""
    if chance >= confidence:
        return Verdict.GO, chance
    if chance <= 1 - confidence:
        return Verdict.STOP, 1 - chance
    return Verdict.MAYBE, max(chance, 1 - chance)


def _lean_figures(found: Leaning, limit_mm: float) -> tuple[Figure, ...]:
    return (
        Figure("total", L("Lean over the bore's length"), Qty(found.total_mm, "diff", found.u_mm)),
        Figure("along", L("Lower end toward the rear"), Qty(found.along_mm, "deviation", found.u_along_mm)),
        Figure("across", L("Lower end toward the left"), Qty(found.across_mm, "deviation", found.u_across_mm)),
        Figure("limit", L("Most lean allowed"), Qty(limit_mm, "diff")),
        Figure("chance", L("Chance that the lean is within the limit"), Qty(found.chance, "chance")),
    )


def _lean_influences(found: Leaning) -> tuple[Influence, ...]:
    along, _, across = found.variance_mm2
    return (
        Influence(L("Slope along the block"), along / (along + across)),
        Influence(L("Slope across the block"), across / (along + across)),
    )


# -- go or no go --------------------------------------------------------------------------
@dataclass(frozen=True, kw_only=True)
class Ready(Result):
    """Whether the bar may be clamped on the face as it is. ``worst`` is the bore that decides."""

    worst: Lean
    leans: tuple[Lean, ...]


def ready(face: Face, leans: Sequence[Lean]) -> Ready:
    """Go or no go for the whole block, before the bar is clamped. Raises ValueError without leans."""
    if not leans:
        raise ValueError("no bore to judge")
    worst = min(leans, key=lambda one: (one.chance, -one.total_mm))
    seen, figures = _slopes_seen(face)
    bow_seen, bow_figures = _bow_seen(face)
    limit = L("A bore may lean up to {limit} over its length.", limit=Qty(worst.limit_mm, "diff"))
    return Ready(
        key="face.ready",
        line=_ready_line(worst),
        value=worst.value,
        verdict=worst.verdict,
        confidence=worst.confidence,
        why=(*seen, *bow_seen, *(one.line for one in leans)),
        figures=(*figures, *bow_figures),
        assumptions=(*assumptions_of(face), Assumption(limit, "entered or common practice")),
        influences=worst.influences,
        cautions=cautions_of(face),
        worst=worst,
        leans=tuple(leans),
    )


def _ready_line(worst: Lean) -> Line:
    gaps = {
        "n": worst.cylinder,
        "total": worst.value,
        "length": Qty(worst.length_mm, "place"),
        "limit": Qty(worst.limit_mm, "diff"),
    }
    if worst.verdict == Verdict.GO:
        return L(
            "Go: on this deck no bore leans more than {limit}. Cylinder {n} leans most, {total} over {length}.", **gaps
        )
    if worst.verdict == Verdict.STOP:
        return L(
            "Do not clamp on this deck as it is: cylinder {n} would lean {total} over {length}, and the limit is {limit}. Skim the deck or shim the base.",
            **gaps,
        )
    return L(
        "Too close to call: cylinder {n} would lean about {total} over {length}, and the limit is {limit}. "
        "Measure the heights again, at more places.",
        **gaps,
    )


def _slopes_seen(face: Face) -> tuple[list[Line], list[Figure]]:
    """The face's slopes in the middle of what was measured, and its flatness."""
    xs, ys = [s.x_mm for s in face.spots], [s.y_mm for s in face.spots]
    run, width = max(xs) - min(xs), max(ys) - min(ys)
    along, across, (vaa, _, vbb) = face.slopes((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2)
    figures = [
        Figure(
            "rise_along",
            L("Deck rises toward the rear, over what was measured"),
            Qty(along * run, "deviation", math.sqrt(vaa) * run),
        ),
        Figure(
            "rise_across",
            L("Deck rises toward the left, over what was measured"),
            Qty(across * width, "deviation", math.sqrt(vbb) * width),
        ),
    ]
    if face.flatness_mm is not None:
        figures.append(Figure("flatness", L("Flatness of the measured points"), Qty(face.flatness_mm, "diff")))
    slopes = L(
        "Slope along the block {along}, across it {across}.", along=Qty(along, "slope"), across=Qty(across, "slope")
    )
    return [slopes], figures


def _bow_seen(face: Face) -> tuple[list[Line], list[Figure]]:
    """The bow along the block: its figure where the heights can show one, its sentence where it stands out of the doubt."""
    bow = face.bow_mm()
    if bow is None:
        return [], []
    rise, u = bow
    figures = [Figure("bow", L("Middle of the deck above its ends"), Qty(rise, "deviation", u))]
    if abs(rise) <= 2 * u:
        return [], figures
    if rise > 0:
        return [L("The deck is humped along the block by {bow}.", bow=Qty(rise, "diff"))], figures
    return [L("The deck is hollow along the block by {bow}.", bow=Qty(-rise, "diff"))], figures


def after_remedy(leans: Sequence[Lean], *, skimmed: bool) -> Result:
    """What the bores will lean once the face is skimmed (or the base shimmed) as planned: nothing, give or take."""
    if not leans:
        raise ValueError("no bore to judge")
    worst = min(leans, key=lambda one: (one.chance, -one.u_mm))
    gaps = {"n": worst.cylinder, "u": Qty(2 * worst.u_mm, "diff"), "limit": Qty(worst.limit_mm, "diff")}
    if worst.verdict == Verdict.GO:
        line = (
            L("Cylinder {n} leans no more than about {u} once skimmed as planned; the limit is {limit}.", **gaps)
            if skimmed
            else L("Cylinder {n} leans no more than about {u} once shimmed as planned; the limit is {limit}.", **gaps)
        )
    else:
        line = L(
            "These heights are not sure enough to plan from: cylinder {n} could still lean {u}, and the limit is {limit}. Measure more of them.",
            **gaps,
        )
    return Result(
        key="face.after",
        line=line,
        value=worst.value,
        verdict=worst.verdict,
        confidence=worst.confidence,
        why=worst.why,
        assumptions=(
            *worst.assumptions,
            Assumption(L("The skim or the shims come out as planned; check by measuring again.")),
        ),
        cautions=worst.cautions,
    )


# -- dirt under the base ---------------------------------------------------------------------
@dataclass(frozen=True, kw_only=True)
class Dirt(Result):
    """What a chip under one side of the base does. ``lean_mm`` over the bore, ``most_mm`` the chip that just meets the limit."""

    lean_mm: float
    most_mm: float


def dirt(thickness_mm: float, *, base_mm: float, length_mm: float, limit_mm: float = LEAN_LIMIT_MM) -> Dirt:
    """Lean from ``thickness_mm`` under one side of a base ``base_mm`` long: t / base × bore length."""
    if not (math.isfinite(thickness_mm) and thickness_mm >= 0):
        raise ValueError(f"thickness must be zero or more, not {thickness_mm}")
    above_zero("base length", base_mm)
    above_zero("bore length", length_mm)
    above_zero("lean limit", limit_mm)
    leaning, most = thickness_mm / base_mm * length_mm, limit_mm * base_mm / length_mm
    return Dirt(
        key="face.dirt",
        line=L(
            "Dirt or a burr of {t} under one side of the base leans the bore {lean} over {length}.",
            t=Qty(thickness_mm, "diff"),
            lean=Qty(leaning, "diff"),
            length=Qty(length_mm, "place"),
        ),
        value=Qty(leaning, "diff"),
        why=(
            L(
                "As little as {most} of dirt uses up the whole limit of {limit}.",
                most=Qty(most, "diff"),
                limit=Qty(limit_mm, "diff"),
            ),
            L("Stone the deck, wipe deck and base dry, and feel for burrs before you set the machine down."),
        ),
        figures=(
            Figure("lean", L("Lean over the bore's length"), Qty(leaning, "diff")),
            Figure("most", L("Most dirt allowed"), Qty(most, "diff")),
        ),
        assumptions=(
            Assumption(
                L("The base is {base} long in the direction that tips.", base=Qty(base_mm, "place")),
                "entered or common practice",
            ),
        ),
        lean_mm=leaning,
        most_mm=most,
    )


# -- picture ------------------------------------------------------------------------------------
def picture(face: Face, leans: Sequence[Lean], bores_mm: Mapping[int, float]) -> TiltedFace:
    """The top face seen from the side, with each bore's lean along the block."""
    mean = sum(s.height_mm for s in face.spots) / len(face.spots)
    xs = [s.x_mm for s in face.spots] + list(bores_mm.values())
    y = sum(s.y_mm for s in face.spots) / len(face.spots)
    middle = (min(xs) + max(xs)) / 2
    slope, _, _ = face.slopes(middle, y)
    level = face.height_mm(middle, y) - mean
    front, rear = min(xs), max(xs)
    run = rear - front
    rise = Qty(abs(slope * run), "diff")
    if rise.value < 0.0005:
        text = L("The deck is level along the block as far as the heights tell.")
    elif slope > 0:
        text = L("The deck rises {rise} from the front to the rear over {run}.", rise=rise, run=Qty(run, "place"))
    else:
        text = L("The deck falls {rise} from the front to the rear over {run}.", rise=rise, run=Qty(run, "place"))
    return TiltedFace(
        title=L("Deck from the side, tilt drawn larger than life"),
        text=text,
        points=tuple((s.x_mm, s.height_mm - mean) for s in face.spots),
        ends=((front, level + slope * (front - middle)), (rear, level + slope * (rear - middle))),
        bores=tuple((str(one.cylinder), bores_mm[one.cylinder], one.along_mm) for one in leans),
    )
