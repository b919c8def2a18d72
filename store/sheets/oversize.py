"""Which oversize cleans up every bore."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from logic import bore, cleanup, oversize
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number
from logic.result import Verdict
from logic.say import L, Line

from ..memo import remembered
from ..view import place
from .assumed import with_assumed
from .base import Group, Sheet, Work
from .bores import bore_lean, wear_side, worn_bores

__all__ = ["SHEET", "choice", "chosen_step_mm", "cleanups", "step_of_mm", "steps_mm"]

SERIES = DefaultSelect(
    key="oversize.series",
    label=L("Steps to choose from"),
    help=L(
        "The oversizes that pistons are made in. A nominal bore that is whole in tenths of a millimetre gets the metric list unless you say otherwise."
    ),
    default="auto",
    choices=(
        Choice("auto", L("By the nominal bore")),
        Choice("inch", L("Inch steps")),
        Choice("mm", L("Millimetre steps")),
        Choice("both", L("Both")),
        Choice("listed", L("Only the ones I list")),
    ),
)
LISTED = Number(
    key="oversize.listed",
    label=L("Oversize of pistons to be had"),
    kind="step",
    help=L("Over the nominal bore. List what your supplier really has, to add it to the usual steps."),
    low=0.01,
    high=10.0,
    at=("item",),
    optional=True,
)
CONFIDENCE = DefaultNumber(
    key="oversize.confidence",
    label=L("Confidence wanted"),
    kind="percent",
    help=L(
        "How sure it must be that every bore cleans up before a step is advised. A block that cannot be replaced deserves more."
    ),
    low=0.5,
    high=0.999,
    default=oversize.CONFIDENCE,
)
HONE_ALLOW = DefaultNumber(
    key="oversize.hone_allow",
    label=L("Wear that may be honed out for the present pistons"),
    kind="diff",
    help=L("How much larger than unworn a bore may be with the pistons it had. The maker's clearance limit decides."),
    low=0.0,
    high=0.3,
    default=oversize.HONE_ALLOW_MM,
)
BORED_U = DefaultNumber(
    key="oversize.bored_u",
    label=L("How well the bar holds the bored size"),
    kind="fine",
    help=L("As a standard uncertainty, with its setting learned. It is weighed against the spare."),
    low=0.0,
    high=0.1,
    default=oversize.U_BORED_MM,
)
MIXED = DefaultSelect(
    key="oversize.mixed",
    label=L("Oversizes may differ from bore to bore"),
    help=L("Usually all bores get the same. Different pistons weigh differently and upset the balance."),
    default="no",
    choices=(Choice("no", L("No, one for all")), Choice("yes", L("Yes, each its own"))),
)
LARGEST = Number(
    key="oversize.largest",
    label=L("Largest finished bore allowed"),
    kind="size",
    help=L("The maker's limit for this block, if there is one. Measured walls set their own limit besides."),
    low=20.0,
    high=500.0,
    optional=True,
)


# -- what other steps ask --------------------------------------------------------------------
@remembered
def cleanups(view: Any) -> dict[int, cleanup.CleanUp]:
    """The clean-up diameter of each measured cylinder: swept where it was swept, else from two-point readings."""
    from .sweep import swept

    out = {}
    for cylinder, worn in worn_bores(view).items():
        found = swept(view, cylinder)
        if found is not None:
            out[cylinder] = cleanup.from_sweep(
                cylinder,
                found.clean_mm if found.safe_mm is None else found.safe_mm,
                found.u_own_mm,
                u_common_mm=found.u_zero_mm,
                worst_mm=worn.worst.d_mm,
                unworn_mm=worn.unworn.mm,
                u_wear_mm=worn.u_wear_mm,
                cell=(worn.worst.depth_mm, worn.worst.axis),
            )
        else:
            out[cylinder] = cleanup.clean_up(worn, wear_side(view, cylinder), bore_lean(view, cylinder))
    return out


def steps_mm(view: Any) -> tuple[float, ...]:
    """The steps there are to choose from."""
    series = view.number(SERIES)
    if series == "auto":
        series = oversize.series_for(view.nominal_mm)
    listed = [v.value for v in view.all(LISTED.key).values()]
    return oversize.steps_mm("both" if series == "listed" and not listed else series, listed)


def _limits(view: Any) -> dict[int, float]:
    from .walls import largest_bore_mm

    stated = view.number(LARGEST)
    out = {}
    for cylinder in view.cylinders:
        known = [x for x in (stated, largest_bore_mm(view, cylinder)) if x is not None]
        if known:
            out[cylinder] = min(known)
    return out


@remembered
def choice(view: Any) -> oversize.Oversize | None:
    """The oversize advised; None while the nominal bore or every reading is missing."""
    from .sizes import hone_stock_mm

    found = cleanups(view)
    if view.nominal_mm is None or not found:
        return None
    return oversize.choose(
        tuple(found.values()),
        nominal_mm=view.nominal_mm,
        steps=steps_mm(view),
        hone_stock_mm=hone_stock_mm(view),
        u_bored_mm=view.number(BORED_U),
        confidence=view.number(CONFIDENCE),
        largest_mm=_limits(view),
        hone_allow_mm=view.number(HONE_ALLOW),
        waiting=tuple(c for c in view.cylinders if c not in found),
        mixed=view.number(MIXED) == "yes",
    )


def decided_step_mm(view: Any) -> float | None:
    """The step the person decided on, or None. A decision that is no oversize does not count."""
    decision = view.decisions.get(("oversize", place()))
    step = None if decision is None or decision.typed is None else decision.typed.value
    return step if step is not None and 0.0 <= step <= LISTED.high else None


def chosen_step_mm(view: Any) -> float | None:
    """The person's step if they decided, else the advised one (0 for hone only); None while there is none."""
    decided = decided_step_mm(view)
    if decided is not None:
        return decided
    advised = choice(view)
    return None if advised is None else advised.step_mm


def step_of_mm(view: Any, cylinder: int) -> float | None:
    """The step of one cylinder: its own where oversizes are mixed, else the job's."""
    advised = choice(view)
    if decided_step_mm(view) is None and advised is not None and advised.outcome == oversize.Outcome.MIXED:
        return dict(advised.own_steps).get(cylinder)
    return chosen_step_mm(view)


# -- the step ----------------------------------------------------------------------------------
def _decided(view: Any, found: oversize.Oversize) -> Line | None:
    """What to say of a decision that differs from the advice."""
    decided = decided_step_mm(view)
    if decided is None or (found.step_mm is not None and abs(decided - found.step_mm) < 1e-6):
        return None
    return oversize.decision_line(found, decided)


def work(view: Any) -> Work:
    """The verdict first, then each cylinder's part in it, with a section of each bore and the proposed cut."""
    found = choice(view)
    if found is None:
        if view.nominal_mm is None:
            return Work(blocked=L("Enter the nominal bore first: every oversize counts from it."))
        return Work(blocked=L("Measure the worn bores first."))
    verdict = with_assumed(found, view, HONE_ALLOW, BORED_U)
    said = _decided(view, found)
    if said is not None:
        verdict = replace(verdict, why=(said, *verdict.why))
    step = chosen_step_mm(view)
    results = [oversize.cylinder_result(found, c.cylinder, step) for c in found.cleanups]
    cut = None if not step else view.nominal_mm + step - found.hone_stock_mm
    worn = worn_bores(view)
    pictures = tuple(bore.section(worn[c.cylinder], cut_diameter_mm=cut, governing=c.cell) for c in found.cleanups)
    settled = decided_step_mm(view) is not None or found.verdict == Verdict.GO
    return Work(
        results=(verdict, *results), done=settled and len(found.cleanups) == len(view.cylinders), pictures=pictures
    )


def _items(view: Any) -> list[dict[str, Any]]:
    return [{"item": n} for n in range(1, max(view.events(LISTED.key, "item"), default=0) + 2)]


def _item_name(place: Mapping[str, Any]) -> Line:
    return L("Piston set {item}", item=place["item"])


SHEET = Sheet(
    key="oversize",
    order=5,
    title=L("Oversize"),
    purpose=L("Choose the smallest oversize at which every bore cleans up."),
    groups=(
        Group(
            key="choice", title=L("How it is chosen"), fields=(SERIES, CONFIDENCE, LARGEST, HONE_ALLOW, BORED_U, MIXED)
        ),
        Group(key="listed", title=L("Pistons to be had"), fields=(LISTED,), places=_items, name=_item_name, grows=True),
    ),
    work=work,
    needs=("bores", "walls", "face", "sweep"),
)
