"""Dry sleeves: for the cylinders that get one, the size to bore, the grip, how to fit it, and what is left to finish."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from logic import sleeve
from logic.cautions import for_sheet
from logic.constants import constant
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number
from logic.result import Result, Verdict
from logic.say import L

from .assumed import with_assumed
from .base import Group, Sheet, Work
from .named import cylinder_places, place_name

__all__ = ["SHEET", "WANTED", "bore_for_sleeve_mm", "sleeve_of", "sleeved"]

WANTED = DefaultSelect(
    key="sleeve.wanted",
    label=L("This cylinder gets a sleeve"),
    help=L("For a cylinder that no oversize cleans up, or that is cracked or pitted. The others keep their oversize."),
    default="no",
    at=("cylinder",),
    choices=(Choice("no", L("No")), Choice("yes", L("Yes"))),
)
OUTSIDE = Number(
    key="sleeve.outside",
    label=L("Sleeve, outside"),
    kind="size",
    help=L(
        "The mean of readings at top, middle and bottom, each taken two ways. Let sleeve, block and micrometer reach one temperature first."
    ),
    low=25.0,
    high=400.0,
    at=("cylinder",),
)
INSIDE = Number(
    key="sleeve.inside",
    label=L("Sleeve, inside"),
    kind="size",
    help=L("As it comes, before it is fitted. It closes in when it is."),
    low=20.0,
    high=390.0,
    at=("cylinder",),
)
LENGTH = Number(
    key="sleeve.length",
    label=L("Sleeve, length in the block"),
    kind="place",
    help=L("The length that touches the block. Left out, the bore's length is taken."),
    low=20.0,
    high=600.0,
    at=("cylinder",),
    optional=True,
)
BORED = Number(
    key="sleeve.bored",
    label=L("Bore for the sleeve, as measured"),
    kind="size",
    help=L("After boring for the sleeve and before fitting it. Measure it as carefully as a finished bore."),
    low=25.0,
    high=400.0,
    at=("cylinder",),
)
LEAST_FIT = Number(
    key="sleeve.fit_least",
    label=L("Least interference"),
    kind="diff",
    help=L(
        "How much larger than its bore the sleeve must be, at least. The sleeve maker's figure wins; left out, it goes by the diameter."
    ),
    low=0.0,
    high=0.3,
    optional=True,
)
MOST_FIT = Number(
    key="sleeve.fit_most",
    label=L("Most interference"),
    kind="diff",
    help=L(
        "How much larger than its bore the sleeve may be, at most. Too much distorts or cracks the block and its neighbours."
    ),
    low=0.0,
    high=0.4,
    optional=True,
)
FRICTION = DefaultNumber(
    key="sleeve.friction",
    label=L("Friction while pressing in"),
    kind="plain",
    help=L("Lightly oiled iron in iron. It decides the force of the press."),
    low=0.03,
    high=0.4,
    default=constant("friction.press_fit").value,
    source=constant("friction.press_fit").source,
)
BLOCK_LIMIT = DefaultNumber(
    key="sleeve.block_limit",
    label=L("Most tension in the block"),
    kind="pressure",
    help=L(
        "What the iron round the sleeve may bear. About a quarter of grey iron's strength leaves room for heat and firing."
    ),
    low=5.0,
    high=300.0,
    default=60.0,
)
BLOCK_MODULUS = DefaultNumber(
    key="sleeve.block_modulus",
    label=L("Stiffness of the block's iron"),
    kind="modulus",
    help=L("The elastic modulus of the block. Grey irons differ by a third."),
    low=60_000.0,
    high=220_000.0,
    default=constant("modulus.grey_iron").value,
    source=constant("modulus.grey_iron").source,
)
SLEEVE_MODULUS = DefaultNumber(
    key="sleeve.modulus",
    label=L("Stiffness of the sleeve's iron"),
    kind="modulus",
    help=L("The elastic modulus of the sleeve. A spun-cast sleeve may be stiffer than the block."),
    low=60_000.0,
    high=220_000.0,
    default=constant("modulus.grey_iron").value,
    source=constant("modulus.grey_iron").source,
)
CLEARANCE = DefaultNumber(
    key="sleeve.clearance",
    label=L("Clearance for a free drop"),
    kind="diff",
    help=L(
        "Room all round, on diameter, so that the sleeve falls in before it warms. More is safer, and needs more heat or cold."
    ),
    low=0.005,
    high=0.5,
    default=0.05,
)
ROOM = DefaultNumber(
    key="sleeve.room",
    label=L("Temperature of block and sleeve before"),
    kind="temperature",
    help=L("Where both have lain long enough to be alike. It is the start for heating and cooling."),
    low=-20.0,
    high=50.0,
    default=20.0,
)
COLD = Number(
    key="sleeve.cold",
    label=L("How cold the sleeve is made"),
    kind="temperature",
    help=L("A freezer gives about −18 °C, dry ice about −70 °C. Left out, the sleeve is not cooled."),
    low=-196.0,
    high=40.0,
    optional=True,
)
HOTTEST = DefaultNumber(
    key="sleeve.hottest",
    label=L("How hot the block may get"),
    kind="temperature",
    help=L("Where the engine stands, with what is near it. Paint, seals and bearings left in set the limit."),
    low=30.0,
    high=250.0,
    default=120.0,
)
LEAST_STOCK = DefaultNumber(
    key="sleeve.least_stock",
    label=L("Least to bore out of a fitted sleeve"),
    kind="diff",
    help=L(
        "On diameter, so that the whole sleeve cleans up true to the crank. A sleeve never goes in quite straight or round."
    ),
    low=0.05,
    high=3.0,
    default=0.4,
)
LEAST_SLEEVE = DefaultNumber(
    key="sleeve.least_wall",
    label=L("Thinnest finished sleeve"),
    kind="wall",
    help=L("The sleeve's wall after boring and honing. Thinner sleeves crack and let heat through unevenly."),
    low=0.5,
    high=10.0,
    default=1.5,
)


def sleeved(view: Any) -> list[int]:
    """The cylinders that get a sleeve."""
    return [c for c in view.cylinders if view.number(WANTED, cylinder=c) == "yes"]


def sleeve_of(view: Any, cylinder: int) -> sleeve.Sleeve | None:
    """The sleeve for a cylinder as entered; None while a size is missing or the sizes contradict each other."""
    from .bores import bore_length_mm

    outside, inside = view.number(OUTSIDE, cylinder=cylinder), view.number(INSIDE, cylinder=cylinder)
    length = view.number(LENGTH, cylinder=cylinder)
    if length is None:
        length = bore_length_mm(view)
    if outside is None or inside is None or length is None or not sleeve.plausible(outside, inside):
        return None
    least, most = view.number(LEAST_FIT), view.number(MOST_FIT)
    fit = (least, most) if least is not None and most is not None and least <= most else None
    grey = sleeve.GREY_IRON
    iron = sleeve.Iron(view.number(SLEEVE_MODULUS), grey.poisson, grey.expansion_per_k)
    return sleeve.Sleeve(outside_mm=outside, inside_mm=inside, length_mm=length, fit_mm=fit, iron=iron)


def bore_for_sleeve_mm(view: Any, cylinder: int) -> float | None:
    """The size to bore a cylinder to for its sleeve; None where it gets none or its sizes are missing."""
    found = sleeve_of(view, cylinder) if cylinder in sleeved(view) else None
    return None if found is None else sleeve.bore_for_sleeve(cylinder, found).aim_mm


def _one(view: Any, cylinder: int, given: sleeve.Sleeve) -> list[Result]:
    from .bores import block_expansion_per_k
    from .sizes import finished_mm
    from .walls import wall_at

    bored = view.number(BORED, cylinder=cylinder)
    size = sleeve.bore_for_sleeve(cylinder, given, bored_mm=bored)
    found = wall_at(view, cylinder, size.aim_mm if size.interference_mm is None else bored)
    wall = None if found is None else found.least.after
    has = size.interference_mm
    grey = sleeve.GREY_IRON
    block = sleeve.Iron(view.number(BLOCK_MODULUS), grey.poisson, block_expansion_per_k(view))
    room = view.number(ROOM)
    cold = view.number(COLD)
    results: list[Result] = [size]
    if found is not None:
        results.append(found)
    fitting = sleeve.fitting(
        cylinder,
        given,
        interference_mm=has,
        drop_clearance_mm=view.number(CLEARANCE),
        room_c=room,
        sleeve_c=None if cold is None else min(cold, room),
        block_limit_c=view.number(HOTTEST),
        block=block,
    )
    finished = finished_mm(view, cylinder)
    if finished is not None:
        grip = sleeve.grip(
            cylinder,
            given,
            wall=wall,
            finished_mm=finished,
            interference_mm=has,
            friction=view.number(FRICTION),
            block=block,
            block_limit_mpa=view.number(BLOCK_LIMIT),
        )
        finishing = sleeve.finishing(
            cylinder,
            given,
            wall=wall,
            finished_mm=finished,
            interference_mm=has,
            least_stock_mm=view.number(LEAST_STOCK),
            least_sleeve_mm=view.number(LEAST_SLEEVE),
            block=block,
        )
        results.append(with_assumed(grip, view, FRICTION, BLOCK_LIMIT))
        results.append(with_assumed(fitting, view, CLEARANCE, ROOM, HOTTEST))
        results.append(with_assumed(finishing, view, LEAST_STOCK, LEAST_SLEEVE))
    else:
        results.append(with_assumed(fitting, view, CLEARANCE, ROOM, HOTTEST))
    return results


def work(view: Any) -> Work:
    """The four answers for each sleeved cylinder; done at once where none gets a sleeve."""
    from .oversize import choice

    wanted = sleeved(view)
    if not wanted:
        advised = choice(view)
        if advised is None:
            return Work(blocked=L("Measure the worn bores first."))
        return Work(results=(sleeve.none_wanted(tuple(advised.sleeve)),), done=not advised.sleeve)
    results: list[Result] = []
    missing: list[tuple[str, Mapping[str, Any]]] = []
    contradiction = None
    for cylinder in wanted:
        lacking = [f for f in (OUTSIDE, INSIDE) if view.number(f, cylinder=cylinder) is None]
        missing.extend((f.key, {"cylinder": cylinder}) for f in lacking)
        given = sleeve_of(view, cylinder)
        if given is not None:
            results.extend(_one(view, cylinder, given))
            if view.number(BORED, cylinder=cylinder) is None:
                missing.append((BORED.key, {"cylinder": cylinder}))
        elif not lacking:
            contradiction = (
                L(
                    "Cylinder {cylinder}: the sleeve is not larger outside than inside. Measure it again.",
                    cylinder=cylinder,
                )
                if not sleeve.plausible(view.number(OUTSIDE, cylinder=cylinder), view.number(INSIDE, cylinder=cylinder))
                else L("Cylinder {cylinder}: enter the sleeve's length, or the bore's.", cylinder=cylinder)
            )
    judged = [r for r in results if not r.key.startswith("sleeve.fitting")]
    return Work(
        results=tuple(results),
        missing=tuple(missing),
        blocked=contradiction,
        done=not missing and contradiction is None and all(r.verdict in (Verdict.GO, Verdict.INFO) for r in judged),
        cautions=CAUTIONS,
    )


def _sleeved_places(view: Any) -> list[dict[str, Any]]:
    return [{"cylinder": c} for c in sleeved(view)]


CAUTIONS = for_sheet("sleeve")

SHEET = Sheet(
    key="sleeve",
    order=6,
    title=L("Sleeves"),
    purpose=L("Save a cylinder that no oversize cleans up by boring it for a dry sleeve."),
    groups=(
        Group(key="wanted", title=L("Which cylinders"), fields=(WANTED,), places=cylinder_places, name=place_name),
        Group(
            key="sleeve",
            title=L("The sleeve"),
            fields=(OUTSIDE, INSIDE, LENGTH, BORED),
            places=_sleeved_places,
            name=place_name,
        ),
        Group(
            key="fit",
            title=L("The fit"),
            fields=(LEAST_FIT, MOST_FIT, BLOCK_LIMIT, FRICTION, BLOCK_MODULUS, SLEEVE_MODULUS),
        ),
        Group(key="fitting", title=L("Getting it in"), fields=(CLEARANCE, ROOM, COLD, HOTTEST)),
        Group(key="finish", title=L("Finishing it"), fields=(LEAST_STOCK, LEAST_SLEEVE)),
    ),
    work=work,
    needs=("bores", "walls", "oversize", "sizes"),
    cautions=CAUTIONS,
)
