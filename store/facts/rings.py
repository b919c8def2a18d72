"""The rings of a piston, their limits and temperatures."""

from __future__ import annotations

from logic import rings
from logic.say import Line

from ..fields.rings import (
    COMPRESSION_RINGS,
    LEAST,
    OIL_RING,
    OIL_RINGS,
    RING_TEMPERATURE,
    SECOND_SHARE,
    TOP_SHARE,
    WALL_TEMPERATURE,
    WIDEST,
    WIDEST_SHARE,
)
from ..fields.sizes import COOLING
from ..graph import fact
from ..view import View
from .pistons import duty

__all__ = ["ring_duty", "ring_heat", "ring_limits", "rings_of"]


@fact
def rings_of(view: View) -> tuple[tuple[int, Line, str], ...]:
    """The rings of one piston as (number from the crown, name, role)."""
    compression, rails = int(view.number(COMPRESSION_RINGS)), view.choice(OIL_RING) == "rails"
    oil = int(view.number(OIL_RINGS))
    count = compression + (2 if rails else 1) * oil
    return tuple(
        (
            n,
            rings.ring_name(n, compression, rails=rails, oil_rings=oil),
            rings.role_of(n, compression, rails=rails, oil_rings=oil),
        )
        for n in range(1, count + 1)
    )


@fact
def ring_duty(view: View) -> rings.Duty:
    """What the engine does, as it was said for the sizes."""
    return rings.duty(duty(view), view.choice(COOLING))


@fact
def ring_limits(view: View, ring: int, role: str, bore_mm: float) -> rings.Limits:
    return rings.limits(
        bore_mm,
        role,
        ring_duty(view),
        top_per_bore=view.number(TOP_SHARE),
        second_per_bore=view.number(SECOND_SHARE),
        widest_per_bore=view.number(WIDEST_SHARE),
        least_mm=view.number(LEAST, ring=ring),
        widest_mm=view.number(WIDEST, ring=ring),
    )


@fact
def ring_heat(view: View, role: str) -> rings.Heat | None:
    """Temperatures for the top ring, the one that runs hottest; the rest are not worked out."""
    if role != "top":
        return None
    duty, ring, wall = ring_duty(view), view.number(RING_TEMPERATURE), view.number(WALL_TEMPERATURE)
    return rings.Heat(ring_c=duty.ring_c if ring is None else ring, wall_c=duty.wall_c if wall is None else wall)
