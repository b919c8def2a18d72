"""Parts and lengths that have to go with one another: chamfer and gasket, sleeve and ring travel, stroke and bore, gauge and iron.

What is geometry says so; the rest is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from .doubt import DIGITS, Doubt, Place
from .say import L, Line, Qty

__all__ = [
    "check_chamfer",
    "check_gasket_land",
    "check_gauge",
    "check_offset_said",
    "check_settled",
    "check_sleeve_length",
    "check_stroke",
]

#: Between two bores a gasket keeps at least this much land, mm.
LAND_MM = 2.0
#: The rings travel as far as the piston, the lowest one ends lower by the height of the rings: no less, no more than, mm.
TRAVEL_MM, PACK_MM = 5.0, 30.0
#: A sleeve may be longer than the bore by what is faced off afterwards, mm.
FACED_MM = 3.0
#: A gauge tried on the block's own iron: so far beyond the speeds of its iron, and a zero of no more than so much, mm.
SCALE_PART, ZERO_MM = 0.04, 0.5


def check_chamfer(bore_mm: float, width_mm: float, gasket_mm: float, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """The chamfer's outer edge against the bore of the gasket, whose ring must lie on flat iron (geometry)."""
    edge = bore_mm + 2 * width_mm
    if gasket_mm >= edge:
        return
    yield Doubt(
        key="chamfer.gasket",
        line=L(
            "A chamfer {width} wide ends at {edge}, under a gasket with a bore of {gasket}: its ring would hang over.",
            width=Qty(width_mm, "size"),
            edge=Qty(edge, "size"),
            gasket=Qty(gasket_mm, "size"),
        ),
        settle=L("Make the chamfer narrower, or measure the gasket bore again."),
        about=tuple(about),
    )


def check_gasket_land(gasket_mm: float, spacing_mm: float, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """The bore of a gasket against the distance between the bores (geometry)."""
    if gasket_mm <= spacing_mm - LAND_MM:
        return
    yield Doubt(
        key="gasket.land",
        line=L(
            "A gasket bore of {gasket} leaves no land between bores {spacing} apart.",
            gasket=Qty(gasket_mm, "size"),
            spacing=Qty(spacing_mm, "place"),
        ),
        settle=DIGITS,
        about=tuple(about),
    )


def check_stroke(stroke_mm: float, travel_mm: float, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """The stroke against the rings' travel in the bore, which is as long (geometry)."""
    if stroke_mm - TRAVEL_MM <= travel_mm <= stroke_mm + PACK_MM:
        return
    yield Doubt(
        key="stroke.travel",
        line=L(
            "The rings travel {travel} in the bore, but the stroke is {stroke}.",
            travel=Qty(travel_mm, "place"),
            stroke=Qty(stroke_mm, "place"),
        ),
        settle=L("Check the stroke, and where the ring's travel starts and ends."),
        about=tuple(about),
    )


def check_sleeve_length(
    cylinder: int, sleeve_mm: float, bore_mm: float, bottom_mm: float | None, *, about: Sequence[Place]
) -> Iterator[Doubt]:
    """A sleeve's length against the bore and the end of the rings' travel, which may not cross its end."""
    gaps = {"n": cylinder, "sleeve": Qty(sleeve_mm, "place"), "bore": Qty(bore_mm, "place")}
    if sleeve_mm > bore_mm + FACED_MM:
        line = L("Cylinder {n}: a sleeve {sleeve} long, in a bore of {bore}.", **gaps)
    elif bottom_mm is not None and sleeve_mm < bottom_mm:
        line = L(
            "Cylinder {n}: the sleeve ends {sleeve} down, but the rings travel to {bottom}.",
            **gaps,
            bottom=Qty(bottom_mm, "place"),
        )
    else:
        return
    yield Doubt(key=f"sleeve.length.{cylinder}", line=line, settle=DIGITS, about=tuple(about))


def check_gauge(scale: float, zero_mm: float, low: float, high: float, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """What a gauge tried on known pieces makes of a reading, against the speeds of sound that the block's iron can have."""
    if low * (1 - SCALE_PART) <= scale <= high * (1 + SCALE_PART) and abs(zero_mm) <= ZERO_MM:
        return
    yield Doubt(
        key="wall.pieces",
        line=L(
            "By the known pieces the gauge's readings count {scale} times, and {zero} more. Of this iron {low} to {high} times is likely.",
            scale=Qty(scale, "factor"),
            zero=Qty(zero_mm, "deviation"),
            low=Qty(low, "factor"),
            high=Qty(high, "factor"),
        ),
        settle=L("Check which figure is known and which was shown, or try the gauge on another place."),
        about=tuple(about),
    )


def check_offset_said(cylinder: int, *, about: Sequence[Place]) -> Iterator[Doubt]:
    """A bore whose side is said to be swept, without the offset that the sweep found."""
    yield Doubt(
        key=f"bore.swept.{cylinder}",
        line=L("Cylinder {n}: said to be swept, but how far it lies off is not entered.", n=cylinder),
        settle=L("Enter the offset, or the readings of the sweep. Else say what is known of the side."),
        about=tuple(about),
    )


def check_settled(what: Line, key: str, *, about: Place) -> Iterator[Doubt]:
    """A check that every block needs, said not to apply."""
    yield Doubt(
        key=f"applies.{key}",
        line=L("“{what}” is said not to apply, but here it does.", what=what),
        settle=L("Do it and say so, or say that it is right."),
        about=(about,),
    )
