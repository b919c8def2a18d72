"""What is asked about the machines' records: whether a job uses them, and what a job was that does not fit."""

from __future__ import annotations

from logic.fields import Choice, DefaultSelect, Select
from logic.say import L

__all__ = ["BAR_FIT", "HONE_FIT", "USE"]

USE = DefaultSelect(
    key="record.use",
    label=L("Earlier jobs of these machines"),
    help=L("What bar and hone did before makes forecasts surer. Off: this job alone."),
    default="use",
    choices=(Choice("use", L("Used")), Choice("off", L("Not used"))),
)
_ANSWERS = (
    Choice("counts", L("It is right and counts")),
    Choice("restart", L("The machine was changed: start again from here")),
    Choice("aside", L("A one-off: leave this job out")),
)
BAR_FIT = Select(
    key="record.bar_fit",
    label=L("This job against the bar's record"),
    help=L("A new insert grade, a knock, a dressed base: say so, and the record starts again here."),
    choices=_ANSWERS,
    optional=True,
)
HONE_FIT = Select(
    key="record.hone_fit",
    label=L("This job against the hone's record"),
    help=L("Other stones, another oil, another pressure: say so, and the record starts again here."),
    choices=_ANSWERS,
    optional=True,
)
