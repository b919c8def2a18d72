"""Finished and bored sizes, and the clearance behind them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from logic import rings, sizing
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number
from logic.oversize import HONE_STOCK_MM, Outcome
from logic.result import Result
from logic.say import L, Line
from logic.uncertainty import Budget

from ..memo import remembered
from .assumed import with_assumed
from .base import Group, Sheet, Work
from .bores import block_expansion_per_k, worn_bores
from .oversize import choice, chosen_step_mm, step_of_mm

__all__ = [
    "FITTED",
    "PISTON",
    "SHEET",
    "bored_mm",
    "clearance_mm",
    "finished",
    "finished_mm",
    "hone_stock_mm",
    "measured_piston",
    "piston_mm",
    "piston_number",
]

CLEARANCE = Number(
    key="sizes.clearance",
    label=L("Clearance the piston maker gives"),
    kind="fine",
    help=L(
        "Cold, on diameter, at the piston's gauge point. It comes before any table; the middle of a range is a good choice."
    ),
    low=0.0,
    high=0.6,
    optional=True,
    formula="finished = piston + clearance",
)
ALLOY = DefaultSelect(
    key="sizes.alloy",
    label=L("What the pistons are made of"),
    help=L("Decides the clearance where the maker's figure is missing, and how much the skirt grows when hot."),
    default="cast",
    choices=tuple(Choice(a.key, a.label) for a in sizing.ALLOYS.values()),
)
DUTY = DefaultSelect(
    key="sizes.duty",
    label=L("What the engine does"),
    help=L(
        "Harder work makes the pistons hotter, so they need more clearance. The maker's figure comes before any of these."
    ),
    default="road",
    choices=tuple(Choice(d.key, d.label) for d in sizing.DUTIES.values()),
)
COOLING = DefaultSelect(
    key="sizes.cooling",
    label=L("Cooling"),
    help=L("Air-cooled barrels run hotter and less evenly. They get more clearance."),
    default="water",
    choices=(Choice("water", L("Water")), Choice("air", L("Air"))),
)
HONE_STOCK = DefaultNumber(
    key="sizes.hone_stock",
    label=L("Left for the hone, on diameter"),
    kind="diff",
    help=L("What the bar leaves so that the hone can take out its grooves. A rough or dull cut needs more."),
    low=0.0,
    high=0.4,
    default=HONE_STOCK_MM,
    formula="bored = finished − hone stock",
)
PISTON = Number(
    key="sizes.piston",
    label=L("Piston, measured at its gauge point"),
    kind="size",
    help=L("Where its maker says, square to the pin. Measure the piston that will run in this bore."),
    low=20.0,
    high=500.0,
    at=("cylinder",),
    optional=True,
)
FITTED = Number(
    key="fitting.piston",
    label=L("Piston that goes in this bore"),
    kind="count",
    help=L("The number of the cylinder it was entered under. Left out, each bore keeps its own."),
    low=1,
    high=64,
    at=("cylinder",),
    optional=True,
)
PISTON_C = DefaultNumber(
    key="sizes.piston_temperature",
    label=L("Piston temperature when measured"),
    kind="temperature",
    help=L("A cold piston measures small. Leave the pistons next to the block until both are alike."),
    low=-30.0,
    high=70.0,
    default=20.0,
    formula="D20 = D / (1 + α (T − 20))",
)
PISTON_C_U = DefaultNumber(
    key="sizes.piston_temperature_u",
    label=L("How well that temperature is known"),
    kind="temperature_difference",
    help=L("As a standard uncertainty. Pistons warmed in the hand or in the sun are hard to judge."),
    low=0.1,
    high=20.0,
    default=2.0,
)
PISTON_U = DefaultNumber(
    key="sizes.piston_u",
    label=L("How well the micrometer reads"),
    kind="fine",
    help=L(
        "As a standard uncertainty, for one piston. A tenth micrometer checked on its standard gives about 0.003 mm."
    ),
    low=0.0002,
    high=0.1,
    default=0.003,
)
WALL_C = Number(
    key="sizes.wall_temperature",
    label=L("Wall temperature at full work"),
    kind="temperature",
    help=L("Beside the piston's gauge point. Left out, it goes by duty and cooling."),
    low=20.0,
    high=300.0,
    optional=True,
    source="from memory",
)
SKIRT_C = Number(
    key="sizes.skirt_temperature",
    label=L("Skirt temperature at full work"),
    kind="temperature",
    help=L("At the piston's gauge point, far cooler than the crown. Left out, it goes by duty and cooling."),
    low=20.0,
    high=400.0,
    optional=True,
    source="from memory",
)
LEAST_RUNNING = DefaultNumber(
    key="sizes.least_running",
    label=L("Least running clearance wanted"),
    kind="fine",
    help=L("What should be left when all is hot. Nothing left means the skirt touches all round."),
    low=0.0,
    high=0.3,
    default=0.0,
)


# -- what other steps ask --------------------------------------------------------------------
def hone_stock_mm(view: Any) -> float:
    """What the bar leaves for the hone, on diameter."""
    return view.number(HONE_STOCK)


def clearance_mm(view: Any) -> float | None:
    """Cold clearance on diameter: the maker's, else by the table; None while no bore size is known."""
    stated = view.number(CLEARANCE)
    if stated is not None:
        return stated
    if view.nominal_mm is None:
        return None
    bore = view.nominal_mm + (chosen_step_mm(view) or 0.0)
    return sizing.default_clearance(bore, view.number(ALLOY), view.number(DUTY), view.number(COOLING)).mm


def piston_number(view: Any, cylinder: int) -> int:
    """Under which number the piston of this cylinder was entered: its own unless another was put in its place."""
    stated = view.number(FITTED, cylinder=cylinder)
    return cylinder if stated is None else int(stated)


def measured_piston(view: Any, number: int) -> tuple[float, Budget] | None:
    """The size at 20 °C of the piston entered under ``number``, with its budget; None while it is not measured."""
    reading = view.number(PISTON, cylinder=number)
    if reading is None:
        return None
    alloy = sizing.ALLOYS[view.number(ALLOY)]
    return sizing.measured_piston(
        reading,
        u_reading_mm=view.number(PISTON_U),
        piston_c=view.number(PISTON_C),
        u_piston_c=view.number(PISTON_C_U),
        alpha_per_k=alloy.expansion_per_k,
        alpha_u_per_k=alloy.expansion_u_per_k,
    )


def _measured(view: Any, cylinder: int) -> tuple[float, Budget] | None:
    """The piston that goes in a cylinder: its own, unless another was put in its place."""
    return measured_piston(view, piston_number(view, cylinder))


@remembered
def piston_mm(view: Any, cylinder: int) -> float | None:
    """The piston's gauge-point size at 20 °C: measured, else what the step implies; None while neither is known."""
    measured = _measured(view, cylinder)
    if measured is not None:
        return measured[0]
    step, clearance = step_of_mm(view, cylinder), clearance_mm(view)
    return None if not step or view.nominal_mm is None or clearance is None else view.nominal_mm + step - clearance


def piston_u_mm(view: Any, cylinder: int) -> float:
    """The standard uncertainty of that size; 0 where it only follows from the step."""
    measured = _measured(view, cylinder)
    return 0.0 if measured is None else measured[1].u


@remembered
def finished(view: Any, cylinder: int) -> sizing.Finished | None:
    """A cylinder's sizes with their reasons; None while no step is known or only honing is needed."""
    piston, clearance = piston_mm(view, cylinder), clearance_mm(view)
    if piston is None or clearance is None:
        return None
    measured = _measured(view, cylinder)
    return sizing.finished(
        cylinder,
        piston_mm=piston,
        clearance_mm=clearance,
        hone_stock_mm=hone_stock_mm(view),
        piston=measured[1] if measured else None,
        maker=view.number(CLEARANCE) is not None,
        measured=measured is not None,
        chance=_chance(view, cylinder, piston + clearance - hone_stock_mm(view)),
        wanted=choice(view).wanted if choice(view) is not None else 0.95,
        step_finished_mm=_by_step(view, cylinder),
    )


def _by_step(view: Any, cylinder: int) -> float | None:
    step = step_of_mm(view, cylinder)
    return None if not step or view.nominal_mm is None else view.nominal_mm + step


def _chance(view: Any, cylinder: int, bored: float) -> float | None:
    advised = choice(view)
    if advised is None or cylinder in advised.sleeve:
        return None
    mine = next((c for c in advised.cleanups if c.cylinder == cylinder), None)
    return None if mine is None else mine.probability(bored, advised.u_bored_mm)


def finished_mm(view: Any, cylinder: int) -> float | None:
    """A cylinder's finished size at 20 °C; None while it is not known."""
    found = finished(view, cylinder)
    if found is not None:
        return found.finished_mm
    advised = choice(view)
    hone_only = advised is not None and advised.outcome == Outcome.HONE and chosen_step_mm(view) == 0.0
    return advised.finished_mm if hone_only else None


def bored_mm(view: Any, cylinder: int) -> float | None:
    """The size the bar is to leave at 20 °C; None while it is not known or nothing is bored."""
    found = finished(view, cylinder)
    return None if found is None else found.bored_mm


# -- the step ----------------------------------------------------------------------------------
def _running(view: Any, sizes: list[sizing.Finished]) -> Result:
    """Running clearance of the tightest bore."""
    tightest = min(sizes, key=lambda s: s.finished_mm - s.piston_mm)
    duty, cooling, alloy = view.number(DUTY), view.number(COOLING), sizing.ALLOYS[view.number(ALLOY)]
    wall, skirt = sizing.running_temperatures_c(duty, cooling)
    stated_wall, stated_skirt = view.number(WALL_C), view.number(SKIRT_C)
    return sizing.running(
        bore_mm=tightest.finished_mm,
        piston_mm=tightest.piston_mm,
        wall_c=wall if stated_wall is None else stated_wall,
        skirt_c=skirt if stated_skirt is None else stated_skirt,
        alpha_block_per_k=block_expansion_per_k(view),
        alpha_piston_per_k=alloy.expansion_per_k,
        alpha_piston_u_per_k=alloy.expansion_u_per_k,
        u_cold_mm=max(tightest.u_mm, 0.003),
        least_mm=view.number(LEAST_RUNNING),
    )


def work(view: Any) -> Work:
    """Each cylinder's sizes, the running clearance, and what the step does to a ring's gap."""
    advised = choice(view)
    if chosen_step_mm(view) is None and not view.all(PISTON.key):
        if advised is None:
            return Work(blocked=L("Measure the worn bores first."))
        return Work(blocked=L("Decide on an oversize first."))
    if chosen_step_mm(view) == 0.0 and not view.all(PISTON.key):
        return Work(results=(advised,) if advised is not None else (), done=True)
    sizes = [s for c in view.cylinders if (s := finished(view, c)) is not None]
    if not sizes:
        return Work(blocked=L("Decide on an oversize first."))
    results: list[Result] = [with_assumed(s, view, HONE_STOCK, PISTON_C) for s in sizes]
    results.append(with_assumed(_running(view, sizes), view, ALLOY, DUTY, COOLING))
    worn = worn_bores(view)
    unworn = [w.unworn.mm for w in worn.values()] or [view.nominal_mm]
    results.append(rings.opened(sizes[0].finished_mm - sum(unworn) / len(unworn)))
    return Work(results=tuple(results), done=len(sizes) == len(view.cylinders))


def _per_cylinder(view: Any) -> list[dict[str, Any]]:
    return [{"cylinder": c} for c in view.cylinders]


def _name(place: Mapping[str, Any]) -> Line:
    return L("Cylinder {cylinder}", cylinder=place["cylinder"])


SHEET = Sheet(
    key="sizes",
    order=7,
    title=L("Sizes"),
    purpose=L("Settle the finished size of each bore from its piston, and how far the bar may cut."),
    groups=(
        Group(key="clearance", title=L("Clearance"), fields=(CLEARANCE, ALLOY, DUTY, COOLING, HONE_STOCK)),
        Group(key="pistons", title=L("Pistons"), fields=(PISTON,), places=_per_cylinder, name=_name),
        Group(key="measuring", title=L("How they were measured"), fields=(PISTON_C, PISTON_C_U, PISTON_U)),
        Group(key="running", title=L("When hot"), fields=(WALL_C, SKIRT_C, LEAST_RUNNING)),
    ),
    work=work,
    needs=("bores", "oversize"),
)
