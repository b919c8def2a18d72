"""What is asked before the engine is handed over."""

from __future__ import annotations

from logic.fields import Choice, Select, Text
from logic.say import L, Line

__all__ = [
    "CHECKS",
    "CLEANING",
    "DATES",
    "HANDED_ON",
    "HANDOVER",
    "OIL_ON",
    "RETORQUE",
    "RETORQUE_ON",
    "RUN_IN",
    "RUN_IN_UNTIL",
]

_ANSWERS = (
    Choice("yes", L("Yes")),
    Choice("no", L("No, to put right")),
    Choice("none", L("Does not apply here")),
)


def _check(name: str, label: Line, told: Line) -> Select:
    return Select(key=f"clean.{name}", label=label, help=told, choices=_ANSWERS)


CLEANING = (
    _check(
        "chips",
        L("Swarf and grit are out of the crankcase"),
        L("Look from below with lamp and mirror. Collect and wipe; do not blow."),
    ),
    _check(
        "bores",
        L("The bores stay clean on a white cloth"),
        L("Scrub with hot soapy water until a white cloth stays clean. Oil at once."),
    ),
    _check(
        "oilways",
        L("The oilways are brushed and flushed through"),
        L("Plugs out, brush each way and flush until clear. Plugs back with sealant."),
    ),
    _check(
        "holes",
        L("Stud holes and threads are clean and dry"),
        L("Chase each thread. Liquid trapped under a stud can crack the block."),
    ),
    _check(
        "jackets",
        L("Water jackets are free of swarf and scale"),
        L("Look in through the deck and flush both ways. Swarf left here ends up in the radiator."),
    ),
    _check(
        "core_plugs",
        L("Core plugs are sound or new"),
        L("Press and look for rust and weeping. A plug that was moved or heated is replaced."),
    ),
    _check(
        "deck",
        L("The deck is clean, flat and free of burrs"),
        L("Run a flat stone over it and wipe it. The bores' edges are chamfered and smooth."),
    ),
    _check(
        "rust",
        L("Bare iron is oiled against rust"),
        L("Clean iron rusts within minutes. Wipe every bore with clean oil."),
    ),
    _check(
        "covers",
        L("Every plug, rag and cover put in is out again"),
        L("Count them against what went in. One left behind ruins the engine."),
    ),
)
HANDOVER = (
    _check(
        "oil",
        L("Oil and filter are changed, and will be again after the first run"),
        L("The old oil holds what fell in. Tell the customer when the first change is due."),
    ),
    _check(
        "running_in",
        L("Running-in is explained"),
        L("Pass on the ring and piston makers' words: load gently, no long idling."),
    ),
    _check(
        "report",
        L("The customer has the report"),
        L("What was found, chosen and left out. Keep a copy with the job."),
    ),
    _check(
        "place",
        L("The place is left clean and the waste is taken care of"),
        L("Oil, solvent, grit and rags go where local rules say. Nothing goes into a drain."),
    ),
)
CHECKS = (*CLEANING, *HANDOVER)
RETORQUE = Select(
    key="clean.retorque",
    label=L("Head to be retightened"),
    help=L("As the gasket's maker says. It goes into the report with the date."),
    optional=True,
    choices=(
        Choice("never", L("Not with this gasket")),
        Choice("cold", L("After the first warm run, cold again")),
        Choice("later", L("After the running-in")),
    ),
)
RETORQUE_ON = Text(
    key="clean.retorque_on",
    label=L("Retighten on or at"),
    help=L("As you tell the customer. Until you write something, by the handover and the duty."),
    optional=True,
)
HANDED_ON = Text(
    key="clean.handed_on",
    label=L("Handed over on"),
    help=L("The dates below count from it. Empty: the day of the last check."),
    optional=True,
)
OIL_ON = Text(
    key="clean.oil_on",
    label=L("First oil change on or at"),
    help=L("As you tell the customer. Until you write something, by the handover and the duty."),
    optional=True,
)
RUN_IN_UNTIL = Text(
    key="clean.run_in_until",
    label=L("Run in by or at"),
    help=L("As you tell the customer. Until you write something, by the handover and the duty."),
    optional=True,
)
RUN_IN = Text(
    key="clean.run_in",
    label=L("Running-in"),
    help=L("The ring maker's words. Empty: the usual advice is given."),
    optional=True,
)
DATES = (HANDED_ON, OIL_ON, RUN_IN_UNTIL, RETORQUE, RETORQUE_ON, RUN_IN)
