"""Cleaning and handover: the checks before the engine goes together and the customer gets it back."""

from __future__ import annotations

from logic.cautions import for_sheet
from logic.checklist import afterwards, tally
from logic.result import Verdict
from logic.say import L

from ..fields.clean import (
    CHECKS,
    CLEANING,
    DATES,
    HANDED_ON,
    HANDOVER,
    OIL_ON,
    RETORQUE,
    RETORQUE_ON,
    RUN_IN,
    RUN_IN_UNTIL,
)
from ..handover import suggested
from ..view import View
from .base import Group, Sheet, Work
from .gates import waits_for_rings

__all__ = ["CAUTIONS", "CHECKS", "SHEET"]


def work(view: View) -> Work:
    """How many checks are settled, and what is still to be put right."""
    answers = [(field.label, view.choice(field)) for field in CHECKS]
    result = tally("clean", answers, cautions=CAUTIONS)
    after = afterwards(
        retorque=view.choice(RETORQUE),
        retorque_on=view.text(RETORQUE_ON),
        oil_on=view.text(OIL_ON),
        run_in=view.text(RUN_IN),
        run_in_until=view.text(RUN_IN_UNTIL),
        handed_on=view.text(HANDED_ON),
    )
    return Work(
        results=(result, after),
        missing=tuple((field.key, {}) for field in CHECKS if view.choice(field) is None),
        done=result.verdict == Verdict.GO,
        cautions=CAUTIONS,
    )


CAUTIONS = for_sheet("clean")
SHEET = Sheet(
    key="clean",
    order=16,
    title=L("Cleaning and handover"),
    purpose=L("Leave nothing in the engine that does not belong there, and hand it over with its record."),
    groups=(
        Group(key="cleaning", title=L("Cleaning"), fields=CLEANING),
        Group(key="handover", title=L("Handover"), fields=HANDOVER),
        Group(key="dates", title=L("Afterwards"), fields=DATES),
    ),
    work=work,
    minutes=(45, 0),
    waits=waits_for_rings,
    vital=True,
    closes=True,
    suggests=suggested,
    cautions=CAUTIONS,
)
