"""How the bar will stand in each bore, and what it leaves of the walls."""

from __future__ import annotations

from dataclasses import replace

from logic import walls

from ..graph import fact
from ..view import View
from .face import bore_lean
from .sweep import swept
from .thickness import thrust_side_deg, walls_read
from .worn import wear_side

__all__ = ["bar_boring", "bar_stand", "largest_bore_mm", "remaining", "wall_at"]


@fact
def bar_stand(view: View, cylinder: int) -> walls.Boring:
    """How the bar will stand, at no size in particular: where the sweep advises or the person
    sets it over, leaning with the face, centred as well as it is."""
    side = wear_side(view, cylinder)
    stand = walls.Boring(new_mm=1.0, u_shift_mm=side.u_centring_mm)
    found = swept(view, cylinder)
    thrust = thrust_side_deg(view)
    if found is not None:
        far, toward = walls.polar(*found.moved_mm)
        stand = replace(stand, shift_mm=far, shift_deg=toward)
    elif side.bar_shift_mm and thrust is not None:
        stand = replace(stand, shift_mm=side.bar_shift_mm, shift_deg=float(thrust))
    elif side.bar_shift_mm:
        stand = replace(stand, either_way_mm=side.bar_shift_mm)
    leaning = bore_lean(view, cylinder)
    far, toward = walls.polar(-leaning.along_mm, leaning.across_mm)
    return replace(stand, lean_mm=far, lean_deg=toward, u_lean_mm=leaning.u_mm)


@fact
def bar_boring(view: View, cylinder: int, new_mm: float) -> walls.Boring:
    """A cut to ``new_mm`` with the bar as it will stand."""
    return replace(bar_stand(view, cylinder), new_mm=new_mm)


@fact
def wall_at(view: View, cylinder: int, new_mm: float) -> walls.WallCheck | None:
    """The cylinder's walls if it were bored to ``new_mm``; None where none was measured."""
    places = walls_read(view, cylinder)
    return walls.check(cylinder, places, bar_boring(view, cylinder, new_mm)) if places else None


@fact
def largest_bore_mm(view: View, cylinder: int) -> float | None:
    """The largest finished bore the measured walls allow; None where none was measured."""
    places = walls_read(view, cylinder)
    return walls.largest_bore_mm(places, bar_boring(view, cylinder, places[0].bore_mm)) if places else None


@fact
def remaining(view: View, cylinder: int, new_mm: float) -> tuple[tuple[float, float], ...]:
    """(angle_deg, wall left_mm) at each measured place if bored to ``new_mm``, for the ring picture."""
    found = wall_at(view, cylinder, new_mm)
    return () if found is None else tuple((p.angle_deg, p.after.value) for p in found.places)
