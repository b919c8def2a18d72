"""What the heights of a top face take as true and cannot show, in words."""

from __future__ import annotations

from .face_plane import Face
from .result import Assumption, Caution
from .say import L, Qty

__all__ = ["assumptions_of", "cautions_of"]


def cautions_of(face: Face) -> tuple[Caution, ...]:
    """What these points cannot show."""
    out = []
    if len(face.spots) == 2:
        out.append(
            Caution(
                "face.two_points",
                L(
                    "Two heights show no mistake: neither a misread figure nor a hollow deck. Measure at least one more, off their line."
                ),
            )
        )
    if not face.across_known:
        out.append(
            Caution(
                "face.one_line",
                L(
                    "All heights lie on one line, so the slope square to it is a guess. Measure a point on the other side of the bores."
                ),
            )
        )
    if not face.bowed:
        out.append(
            Caution(
                "face.bow_unseen",
                L(
                    "These heights cannot show a hollow or humped deck. Lay a straightedge along it, or measure in the middle as well."
                ),
            )
        )
    return tuple(out)


def assumptions_of(face: Face) -> tuple[Assumption, ...]:
    """What is taken as true of the heights and of the bar on the face."""
    out = [
        Assumption(
            L("One height is good to ±{u}, two times in three.", u=Qty(face.spread_mm, "fine")),
            "entered" if face.spread_mm == face.u_mm else "scatter of the heights",
        ),
        Assumption(L("The bar stands square to the deck under its base, and the base is clean."), "common practice"),
    ]
    if not face.across_known:
        out.append(
            Assumption(
                L(
                    "In the direction not measured the deck is taken as level, give or take {rise} in {run}.",
                    rise=Qty(face.unmeasured_slope * 100, "diff"),
                    run=Qty(100, "place"),
                ),
                "common practice",
            )
        )
    return tuple(out)
