"""Every standing caution of the job: its words, and the steps at which it is shown.

A caution is shown where it matters, acknowledged once per job and logged by its
``key``, so a key never changes its meaning. It names every step at which the danger
is there, not the first alone: a step may be left out, or somebody may begin in the
middle, and what was read once is not shown again. The texts come from common practice in
the trade; where a maker's instruction, a local code or a licensed trade has a say,
the text gives way to it.
"""

from __future__ import annotations

from typing import NamedTuple

from .result import Caution
from .say import L, Line

__all__ = ["CAUTIONS", "caution", "for_sheet"]


class Row(NamedTuple):
    """One caution and the names of the steps that show it."""

    key: str
    text: Line
    sheets: tuple[str, ...]


#: In the order in which they first matter.
CAUTIONS: tuple[Row, ...] = (
    Row(
        "vehicle_supported",
        L(
            "Stand the vehicle on firm, level ground, chock the wheels, and rest it on stands rated for it. "
            "Never trust a jack alone."
        ),
        ("strip", "bores", "cut", "hone"),
    ),
    Row(
        "battery_off",
        L(
            "Disconnect the battery before you start, earth side first, and keep the lead from springing back. "
            "On a vehicle with a high-voltage system, leave the electrical part to a person licensed for it."
        ),
        ("strip", "bores", "cut", "hone"),
    ),
    Row(
        "fuel_vapour",
        L(
            "Close off and drain fuel lines, and air the place until no vapour is left. "
            "No sparks or flames, and an extinguisher within reach."
        ),
        ("strip", "bores", "sleeve", "cut", "clean"),
    ),
    Row(
        "drain_hot",
        L(
            "Let the engine go cold before you open the cooling system or drain it: hot coolant and oil scald. "
            "Catch both, and keep coolant away from animals."
        ),
        ("strip", "bores"),
    ),
    Row(
        "licensed",
        L(
            "Makers' instructions, local codes and licensed trades come before anything shown here. "
            "Electrical, fuel, brake and lifting work may need a licence where you are."
        ),
        ("bores", "clean"),
    ),
    Row(
        "old_paint",
        L(
            "Old engine paint may hold lead. Do not dry-sand or burn it; wet it, wear a filter mask rated for dust, "
            "and collect what comes off."
        ),
        ("walls", "clean"),
    ),
    Row(
        "old_gaskets",
        L(
            "Old gaskets may contain asbestos. Do not scrape, wire-brush or blow them dry; "
            "if you cannot rule asbestos out, follow the local code or call a licensed person."
        ),
        ("strip", "bores", "compression", "face", "clamp", "cut", "clean"),
    ),
    Row(
        "machine_lifting",
        L(
            "Lift the boring machine with two people or a hoist, and keep hands out from under its base. "
            "Leave the hoist slack but hooked until the machine is clamped."
        ),
        ("bores", "face", "clamp", "cut"),
    ),
    Row(
        "stud_torque",
        L(
            "Use the torque the maker of the engine or of the machine gives, if there is one. "
            "Look at each stud and its thread in the block first; a pulled thread lets the machine go."
        ),
        ("clamp", "cut"),
    ),
    Row(
        "hot_metal",
        L(
            "A heated block burns skin and sets fire to oil, fuel and paint. Clear all fuel and oil first, "
            "heat it evenly and slowly, measure the temperature, and wear dry heat-proof gloves."
        ),
        ("sleeve",),
    ),
    Row(
        "deep_cold",
        L(
            "Dry ice and liquid nitrogen burn like fire and drive the air out of a closed or low place. "
            "Work in the open or with strong airing, with insulated gloves and a face shield, "
            "never close a vessel tightly, and follow the supplier's sheet."
        ),
        ("sleeve",),
    ),
    Row(
        "press_guards",
        L(
            "A sleeve under a press can burst or jump. Keep the guard in place, press in line on a flat plate, "
            "stand aside, and stop if the force runs past what was worked out."
        ),
        ("sleeve",),
    ),
    Row(
        "mains_outdoors",
        L(
            "Feed mains tools through a residual-current device that you have just tested, keep leads off wet ground, "
            "and stand on something dry. Not in rain."
        ),
        ("cut", "chamfer", "hone"),
    ),
    Row(
        "eyes",
        L("Wear eye protection: swarf and grit come out of the bore without warning."),
        ("chamfer", "clean"),
    ),
    Row(
        "no_gloves",
        L(
            "No gloves, loose sleeves, rings or long hair near a turning spindle or hone. "
            "Stop it fully before you reach in to measure."
        ),
        ("cut", "chamfer", "hone"),
    ),
    Row(
        "chips_out",
        L(
            "Keep swarf and grit out of the crankcase and the oilways: cover the crank, plug the oil holes, "
            "and collect from below as you go."
        ),
        ("cut", "chamfer", "hone"),
    ),
    Row(
        "drill_kick",
        L(
            "A hone driven by a drill kicks. Brace it with both hands, start it only inside the bore, "
            "and never run it outside."
        ),
        ("hone",),
    ),
    Row(
        "tip_and_swarf",
        L(
            "Pull the plug before you touch, set or change the tip. "
            "Swarf cuts: use a brush or a magnet, never the hand and never an air jet."
        ),
        ("cut", "chamfer"),
    ),
    Row(
        "eyes_ears_lungs",
        L("Wear eye protection, hearing protection and a dust mask: grit flies, and dry iron dust harms the lungs."),
        ("cut", "chamfer", "hone"),
    ),
    Row(
        "hot_swarf",
        L(
            "Swarf leaves the tip hot. Drain or close off fuel, air the place, "
            "and keep oil and rags away from where it falls."
        ),
        ("cut", "chamfer"),
    ),
    Row(
        "swarf_cuts",
        L(
            "Swarf in the crankcase and the jackets cuts. Take it out with a magnet, a brush and a rag, not with bare hands."
        ),
        ("clean",),
    ),
    Row(
        "white_cloth",
        L(
            "Solvent alone leaves grit in the hone marks. Scrub with hot soapy water and wash until a white cloth "
            "stays clean, then dry and oil at once."
        ),
        ("clean",),
    ),
    Row(
        "solvents",
        L(
            "Solvents and hot wash harm skin, lungs and eyes, and vapour can catch fire. Air the place, wear gloves "
            "made for the solvent, and hand the waste to someone allowed to take it."
        ),
        ("clean",),
    ),
)

_BY_KEY = {row.key: row for row in CAUTIONS}


def caution(key: str) -> Caution:
    """The caution called ``key``. Raises KeyError if there is none."""
    row = _BY_KEY[key]
    return Caution(row.key, row.text)


def for_sheet(name: str) -> tuple[Caution, ...]:
    """The cautions shown at the step ``name``, in order; empty if it has none of its own."""
    return tuple(Caution(row.key, row.text) for row in CAUTIONS if name in row.sheets)
