"""Capacity, compression ratio and what is left between piston and head, with the new bore and the skim."""

from __future__ import annotations

from typing import Any

from logic import compression
from logic.fields import DefaultNumber, Number
from logic.result import Verdict
from logic.say import L

from .base import Group, Sheet, Work
from .face import skim_mm
from .sizes import finished_mm

__all__ = ["SHEET", "STROKE", "spaces"]

_DOUBT = compression.Doubt()

STROKE = Number(
    key="compression.stroke",
    label=L("Stroke"),
    kind="size",
    help=L("The piston's travel from bottom to top, from the engine's book or measured. The bore does not change it."),
    low=20.0,
    high=400.0,
    formula="V = π/4 D² S n",
)
CHAMBER = Number(
    key="compression.chamber",
    label=L("Chamber in the head"),
    kind="volume",
    help=L("What it takes to fill one chamber to the head's face, with plug and valves in. Zero for a flat head."),
    low=0.0,
    high=1000.0,
)
GASKET_BORE = Number(
    key="compression.gasket_bore",
    label=L("Hole in the head gasket"),
    kind="size",
    help=L("Measured across the gasket itself. It must be larger than the new bore."),
    low=25.0,
    high=400.0,
)
GASKET = DefaultNumber(
    key="compression.gasket",
    label=L("Gasket thickness, clamped"),
    kind="diff",
    help=L(
        "From the gasket's maker, or measure an old one between the bolt holes. A new one is thicker until it is clamped."
    ),
    low=0.0,
    high=5.0,
    default=1.2,
)
DECK = Number(
    key="compression.deck",
    label=L("Face clearance before the work"),
    kind="deviation",
    help=L("How far the flat of the crown lies below the block's face at top dead centre. Minus if it stands proud."),
    low=-5.0,
    high=30.0,
)
CROWN = DefaultNumber(
    key="compression.crown",
    label=L("Dish in the old crown"),
    kind="volume",
    help=L("Filled and measured, or from the piston's maker. Minus for a dome, zero for a flat crown."),
    low=-200.0,
    high=500.0,
    default=0.0,
)
NEW_CROWN = Number(
    key="compression.crown_new",
    label=L("Dish in the new crown"),
    kind="volume",
    help=L("Only where the new pistons differ from the old ones. Minus for a dome."),
    low=-200.0,
    high=500.0,
    optional=True,
)
TALLER = DefaultNumber(
    key="compression.taller",
    label=L("Extra compression height of the new pistons"),
    kind="deviation",
    help=L(
        "Pin centre to crown, new less old. Minus where the new ones are lower, as those made for skimmed blocks are."
    ),
    low=-10.0,
    high=10.0,
    default=0.0,
    formula="face clearance − skim − extra height",
)
NEW_CHAMBER = Number(
    key="compression.chamber_new",
    label=L("Chamber after head work"),
    kind="volume",
    help=L("Only where the head is skimmed or its chambers are cut. Measure it again rather than work it out."),
    low=0.0,
    high=1000.0,
    optional=True,
)
NEW_GASKET = Number(
    key="compression.gasket_new",
    label=L("New gasket's thickness, clamped"),
    kind="diff",
    help=L("Only where it differs from the old one."),
    low=0.0,
    high=5.0,
    optional=True,
)
NEW_GASKET_BORE = Number(
    key="compression.gasket_bore_new",
    label=L("Hole in the new gasket"),
    kind="size",
    help=L("Only where it differs from the old one."),
    low=25.0,
    high=400.0,
    optional=True,
)
LEAST_GAP = DefaultNumber(
    key="compression.least_gap",
    label=L("Least distance from piston to head"),
    kind="diff",
    help=L(
        "Rod and bearings give at speed, so something must be left. The engine's maker comes first; a light-alloy rod wants more."
    ),
    low=0.0,
    high=10.0,
    default=compression.LEAST_GAP_MM,
)
HIGHEST = Number(
    key="compression.highest",
    label=L("Highest ratio wanted"),
    kind="ratio",
    help=L("For the fuel that will be used, if somebody has set one. Left out, the ratio is shown without a verdict."),
    low=3.0,
    high=30.0,
    optional=True,
)
CHAMBER_U = DefaultNumber(
    key="compression.volume_u",
    label=L("Doubt in a filled volume"),
    kind="volume",
    help=L(
        "The standard uncertainty of chamber and crown readings. A burette with a clear plate does about this well."
    ),
    low=0.0,
    high=10.0,
    default=_DOUBT.chamber_cm3,
)
DECK_U = DefaultNumber(
    key="compression.deck_u",
    label=L("Doubt in the face clearance"),
    kind="diff",
    help=L("The standard uncertainty of the depth reading. The piston rocks, so take it over the pin."),
    low=0.0,
    high=1.0,
    default=_DOUBT.deck_mm,
)

_NEEDED = (CHAMBER, GASKET_BORE, DECK)


def spaces(view: Any, finished: float) -> tuple[compression.Space, compression.Space] | None:
    """One cylinder's space before and after the work, bored to ``finished`` mm; None until enough is entered."""
    nominal, stroke = view.nominal_mm, view.number(STROKE)
    if nominal is None or stroke is None or any(view.number(f) is None for f in _NEEDED):
        return None
    before = compression.Space(
        bore_mm=nominal,
        stroke_mm=stroke,
        chamber_cm3=view.number(CHAMBER),
        gasket_bore_mm=view.number(GASKET_BORE),
        gasket_mm=view.number(GASKET),
        deck_mm=view.number(DECK),
        crown_cm3=view.number(CROWN),
    )
    after = compression.worked(
        before,
        bore_mm=finished,
        skim_mm=skim_mm(view),
        taller_mm=view.number(TALLER),
        chamber_cm3=view.number(NEW_CHAMBER),
        gasket_bore_mm=view.number(NEW_GASKET_BORE),
        gasket_mm=view.number(NEW_GASKET),
        crown_cm3=view.number(NEW_CROWN),
    )
    return before, after


def _doubt(view: Any) -> compression.Doubt:
    volume = view.number(CHAMBER_U)
    return compression.Doubt(chamber_cm3=volume, crown_cm3=volume, deck_mm=view.number(DECK_U))


def work(view: Any) -> Work:
    """Capacity, ratio, piston-to-head and gasket cover, for the largest finished bore of the set."""
    if view.nominal_mm is None:
        return Work(blocked=L("Enter the nominal bore first."))
    bores = [finished_mm(view, c) for c in view.cylinders]
    if any(b is None for b in bores):
        return Work(blocked=L("Settle the finished bore size first."))
    missing = tuple((f.key, {}) for f in (STROKE, *_NEEDED) if view.number(f) is None)
    results = []
    if view.number(STROKE) is not None:
        results.append(compression.capacity(view.nominal_mm, bores, view.number(STROKE)))
    both = spaces(view, max(bores))
    if both is not None:
        before, after = both
        ratio = compression.compression(
            before, after, doubt=_doubt(view), highest=view.number(HIGHEST), skim_mm=skim_mm(view)
        )
        gap = compression.piston_gap(after, least_mm=view.number(LEAST_GAP), doubt=_doubt(view))
        cover = compression.gasket_cover(after.bore_mm, after.gasket_bore_mm)
        results = [ratio, gap, cover, *results]
    return Work(
        results=tuple(results),
        missing=missing,
        done=not missing and all(r.verdict in (Verdict.GO, Verdict.INFO) for r in results),
    )


SHEET = Sheet(
    key="compression",
    order=15,
    title=L("Capacity and compression"),
    purpose=L("See what the larger bore and the skim do to the ratio, and that no piston can reach the head."),
    groups=(
        Group(
            key="before",
            title=L("As it was"),
            fields=(STROKE, CHAMBER, GASKET_BORE, GASKET, DECK, CROWN),
            help=L("One cylinder stands for all: take the one with the least face clearance."),
        ),
        Group(
            key="after",
            title=L("What changes"),
            fields=(NEW_CROWN, TALLER, NEW_CHAMBER, NEW_GASKET, NEW_GASKET_BORE),
            help=L("The bore step and the skim are known already."),
        ),
        Group(key="limits", title=L("Limits and doubts"), fields=(LEAST_GAP, HIGHEST, CHAMBER_U, DECK_U)),
    ),
    work=work,
    needs=("oversize", "sizes", "face"),
)
