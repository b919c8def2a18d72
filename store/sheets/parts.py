"""Parts to order, from the decision, and what the job takes in time and money."""

from __future__ import annotations

from logic import parts
from logic.result import Result, Verdict
from logic.say import L, Line

from ..estimate import estimate
from ..facts.gates import decided, pistons_settled
from ..facts.parts import parts_instead, parts_to_order
from ..fields.parts import (
    BEARINGS,
    GASKETS,
    MAKE,
    MARGIN,
    ORDERED,
    PARTS_PRICE,
    PER_BORE,
    PER_EDGE,
    PER_HOUR,
    PER_SET,
    TO_BE_HAD,
    TRAVEL,
)
from ..order import estimate_text, order_text
from ..view import View
from .base import Group, Sheet, Work
from .gates import waits_for_decision

__all__ = ["SHEET"]


def work(view: View) -> Work:
    """The list, and the ways out where a part cannot be had."""
    found = parts_to_order(view)
    if not found:
        return Work(blocked=L("Decide on the oversize first."))
    ordered, other = view.choice(ORDERED), parts_instead(view)
    results: list[Result] = [] if other is None else [other]
    results.append(parts.listed(found, make=view.text(MAKE), ordered=ordered))
    return Work(
        results=tuple(results),
        missing=() if ordered else ((ORDERED.key, {}),),
        done=ordered is not None and all(r.verdict in (Verdict.GO, Verdict.INFO) for r in results),
    )


def _idle(view: View) -> Line | None:
    """On the path between the decision and the pistons; before and after there is nothing to order."""
    if not decided(view):
        return L("Parts are ordered once the oversize is decided on")
    return L("The pistons are settled") if pistons_settled(view) else None


SHEET = Sheet(
    key="parts",
    order=6.5,
    title=L("Parts and price"),
    purpose=L("Order what suits the new bores, and say what the job takes."),
    groups=(
        Group(key="parts", title=L("The order"), fields=(TO_BE_HAD, ORDERED, MAKE, GASKETS, BEARINGS)),
        Group(
            key="price",
            title=L("The price"),
            fields=(PARTS_PRICE, PER_HOUR, PER_BORE, PER_EDGE, PER_SET, TRAVEL, MARGIN),
            help=L("Your rates come from the settings. What you enter here holds for this job."),
        ),
    ),
    work=work,
    minutes=(15, 0),
    waits=waits_for_decision,
    idle=_idle,
    later=estimate,
    later_title=L("Time and price"),
    sends=order_text,
    quotes=estimate_text,
)
