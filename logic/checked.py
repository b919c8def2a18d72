"""What the calculations have been checked against, and how far apart they were.

The words are here; the figures are measured by ``python -m tests.bench.checked`` and kept
in :mod:`logic.checked_figures`, which a test works out again.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from .checked_figures import APART, CAME_TRUE
from .say import LN, L, Line, Qty

__all__ = ["CHANCES", "CHECKS", "NOT_YET", "Chance", "Check", "came_true", "how_far_apart"]


class Check(NamedTuple):
    """One calculation: what it is, and the source or library that its answer was compared with."""

    key: str
    what: Line
    against: str


class Chance(NamedTuple):
    """One stated chance: what was said, and the simulated worlds in which it was counted how often it came true."""

    key: str
    what: Line


CHECKS = (
    Check("gauge_block", L("Size at 20 °C and its ±, of a 50 mm gauge block"), "JCGM 100:2008, example H.1"),
    Check("budget", L("± of a reading, put together from its parts"), "uncertainties (Python)"),
    Check("student", L("± from few readings"), "SciPy, stats.t"),
    Check("line", L("Straight line through points"), "NIST StRD, Norris"),
    Check("expansion", L("A warm bore: 90 mm of grey iron at 35 °C"), "ISO 1"),
    Check("clean_up", L("Chance that a bore cleans up"), "NumPy, JCGM 101 Monte Carlo"),
    Check("unread", L("Wear above the first reading"), "SciPy, stats.norm"),
    Check("force", L("Cutting force in grey iron"), "Kienzle, from memory"),
    Check("preload", L("Preload of a stud, M12 at 40 N·m"), "Shigley, T = K F d"),
    Check("press_fit", L("Pressure of a sleeve's press fit"), "Shigley, press and shrink fits"),
    Check("push", L("Force to press a sleeve in"), "published worked example"),
    Check("capacity", L("Capacity: four bores of 3 in by 3.5 in"), "geometry"),
    Check("crosshatch", L("Angle of the hone's pattern"), "geometry"),
    Check("conformance", L("Chance that a size is within its limits"), "JCGM 106:2012, 7.4"),
    Check("risks", L("How often a wrong size is taken for right"), "SciPy, JCGM 106:2012, 9.5"),
    Check("forecast", L("Range of the next bore by a machine's record"), "SciPy, stats.t"),
    Check("chart", L("Limits of a control chart"), "NIST/SEMATECH e-Handbook, 6.3.2.4, from memory"),
    Check("used_up", L("Edges used up in a long run"), "renewal theorem (Cox, 1962), SciPy"),
)

CHANCES = (
    Chance("clean_5", L("A step said to clean up with 5 %")),
    Chance("clean_35", L("A step said to clean up with 35 %")),
    Chance("clean_65", L("A step said to clean up with 65 %")),
    Chance("clean_95", L("A step said to clean up with 95 %")),
    Chance("four_clean", L("Four bores said to clean up together, the deck not measured")),
    Chance("deck_square", L("Steps said to clean up if the deck turns out square")),
    Chance("quick_clean", L("The quick check's sizes said to clean up")),
    Chance("walls_kept", L("Walls said to keep their minimum, gauge tried on one piece")),
    Chance("walls_untried", L("Walls said to keep their minimum, gauge not tried on this block")),
    Chance("walls_largest", L("Largest bores that the walls allow, gauge not tried on this block")),
    Chance("swept_walls", L("Walls said to keep their minimum, the bore cut about its swept centre")),
    Chance("lean_in", L("Bores said to lean less than the limit, four heights")),
    Chance("clamps_hold", L("Clamps said to hold")),
    Chance("bias_edge", L("Cuts within the range stated, five cuts logged, the edge wearing")),
    Chance("bias_record", L("Cuts within the range stated by the bar's record, edges wearing unlike each other")),
    Chance("bias_record_odd", L("The same where an edge wears as none of this bar's did before")),
    Chance("chamfers_in", L("Chamfers said to be within their tolerance, one bore touched")),
    Chance("hone_bite", L("Strokes to size within the range stated, the stones changing their bite")),
    Chance("first_strokes", L("The same after a single stretch under the hone")),
    Chance("straight_in", L("Bores under the hone called straight")),
    Chance("one_reading", L("Readings as good as the gauge was said to be beforehand")),
    Chance("final_in", L("Finished bores passed, half-thou gauge read four times")),
    Chance("fits_in", L("Pistons and bores said to have their clearance")),
    Chance("weights_in", L("Pistons said to be within the spread of weight allowed")),
    Chance("gap_in", L("Ring gaps called right")),
    Chance("squeezed_in", L("Compression ratios said to stay below the highest wanted")),
    Chance("finish_in", L("Honed surfaces said to be within their limits")),
    Chance("card_in", L("Instruments said to be within their limit after two checks")),
    Chance("slips", L("Slips of the hand that still got a yes, up to the oversize")),
    Chance("slips_after", L("Slips of the hand that still got a yes, from the pistons to the rings")),
    Chance(
        "slips_more", L("Slips of the hand that still got a yes, in clamps, sleeves, walls, weights, deck and limits")
    ),
    Chance("slips_rest", L("Slips of the hand that still got a yes, in sweeps, chamfers and ring gaps")),
    Chance("slips_own", L("Slips of the hand that still got a yes, in limits and factors of one's own")),
    Chance("slips_last", L("Slips of the hand that still got a yes, in choices and in figures beside the others")),
    Chance("needless", L("Jobs without a slip that were asked about all the same, up to the oversize")),
    Chance(
        "needless_after", L("Jobs without a slip that were asked about all the same, from the pistons to the rings")
    ),
    Chance(
        "needless_more",
        L(
            "Jobs without a slip that were asked about all the same, in clamps, sleeves, walls, weights, deck and limits"
        ),
    ),
    Chance(
        "needless_rest", L("Jobs without a slip that were asked about all the same, in sweeps, chamfers and ring gaps")
    ),
    Chance(
        "needless_own", L("Jobs without a slip that were asked about all the same, in limits and factors of one's own")
    ),
    Chance(
        "needless_last",
        L("Jobs without a slip that were asked about all the same, in choices and in figures beside the others"),
    ),
    Chance("record_bias", L("Bores within the range that the bar's record states")),
    Chance("record_bias_other", L("The same in shops unlike those the app was made by")),
    Chance("record_rate", L("Strokes' removal within the range that the hone's record states")),
    Chance("record_rate_other", L("The same of the hone, in shops unlike those the app was made by")),
    Chance("record_made", L("Finished bores within what the record leads the final check to expect")),
    Chance("record_made_other", L("The same of finished bores, in shops unlike those the app was made by")),
    Chance("record_used", L("Edges (from five jobs on) and stones (from twenty) used up within the range estimated")),
    Chance("record_used_other", L("The same of edges and stones, in shops unlike those the app was made by")),
    Chance("hours_in", L("Jobs that took the time estimated, three jobs timed before")),
    Chance("price_in", L("Jobs that came to the price estimated, twenty jobs timed before")),
    Chance("noticed", L("Bars dropped by 0.04 mm, noticed within 30 jobs")),
    Chance("noticed_creep", L("Bars that creep by 0.002 mm a job, noticed within 30 jobs")),
    Chance("needless_record", L("Jobs of a bar that did not change, asked about all the same")),
)

NOT_YET = (
    L("No figure here was compared with engines bored and measured by somebody else."),
    L("How wear fades down the bore, and how often a hand slips, are common practice."),
    L("Sound speeds of cast irons and the cutting force's constants are from memory."),
    L("Chances were counted in simulated jobs, most of them drawn from the laws that the app takes as true."),
    L("A deck that nobody measured is taken to lean as decks do. On a square deck more bores clean up than is said."),
    L("How long edges and stones last, and how machines differ, is common practice until your jobs say so."),
)


#: Below this part of the reference a difference is only that of the computer's own rounding.
_ROUNDING = 1e-6


def how_far_apart(check: Check) -> Line:
    """How far the app's figure was from the reference's."""
    part = APART[check.key]
    if part < _ROUNDING:
        return L("Alike, but for the computer's rounding.")
    if part < 0.001:
        return L("Apart by less than 1 part in {n}.", n=Qty(math.floor(0.1 / part) * 10, "count"))
    return L("Apart by less than {part}.", part=Qty(part, "percent"))


def came_true(chance: Chance) -> Line:
    """How often it came true in the jobs counted."""
    _, came, jobs = CAME_TRUE[chance.key]
    return LN("{came} in {n} job.", "{came} in {n} jobs.", jobs, came=Qty(came, "percent"))
