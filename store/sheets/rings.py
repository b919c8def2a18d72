"""Ring gaps: what is wanted in the finished bore, and each gap as it was measured."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from logic import rings
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number
from logic.result import Verdict
from logic.say import L, Line

from .assumed import with_assumed
from .base import Group, Sheet, Work
from .final import depth_means_mm
from .oversize import chosen_step_mm
from .sizes import COOLING, DUTY, finished_mm

__all__ = ["GAP", "SHEET", "rings_of"]

COMPRESSION_RINGS = DefaultNumber(
    key="rings.compression",
    label=L("Compression rings on a piston"),
    kind="count",
    help=L("How many rings lie above the oil ring. They are counted from the crown down."),
    low=1,
    high=5,
    default=2,
)
OIL_RING = DefaultSelect(
    key="rings.oil",
    label=L("Oil ring"),
    help=L(
        "Two thin steel rails with an expander between them, or one slotted ring of iron. They have different gaps."
    ),
    default="rails",
    choices=(Choice("rails", L("Two steel rails")), Choice("cast", L("One iron ring"))),
)
TOP_SHARE = Number(
    key="rings.top_share",
    label=L("Top ring: gap per unit of bore"),
    kind="per_size",
    help=L("The ring maker's share of the bore, where one is given. Left out, the share goes by what the engine does."),
    low=0.001,
    high=0.02,
    optional=True,
    formula="least gap = share × bore",
)
SECOND_SHARE = Number(
    key="rings.second_share",
    label=L("Other iron rings: gap per unit of bore"),
    kind="per_size",
    help=L("The same for the second ring and those below it. Left out, the share goes by what the engine does."),
    low=0.001,
    high=0.02,
    optional=True,
    formula="least gap = share × bore",
)
WIDEST_SHARE = DefaultNumber(
    key="rings.widest_share",
    label=L("Widest gap per unit of bore"),
    kind="per_size",
    help=L(
        "A new ring with a wider gap than this is most likely the wrong ring for the bore. It does not count for oil rails."
    ),
    low=0.002,
    high=0.05,
    default=rings.WIDEST_PER_BORE,
    formula="widest gap = share × bore",
)
FEELER = DefaultNumber(
    key="rings.feeler",
    label=L("Step of the feelers"),
    kind="diff",
    help=L("The difference from one blade, or pair of blades, to the next. The gap is known to about a third of it."),
    low=0.0,
    high=0.2,
    default=0.0254,
    formula="u = step / √12",
)
RING_TEMPERATURE = Number(
    key="rings.ring_temperature",
    label=L("Top ring when hot"),
    kind="temperature",
    help=L("Used only to show how much of the gap is left when hot. Left out, it goes by what the engine does."),
    low=60,
    high=450,
    optional=True,
    source="from memory",
)
WALL_TEMPERATURE = Number(
    key="rings.wall_temperature",
    label=L("Cylinder wall when hot"),
    kind="temperature",
    help=L("The wall at the top of ring travel. Left out, it goes by what the engine does."),
    low=40,
    high=300,
    optional=True,
    source="from memory",
)
LEAST = Number(
    key="rings.least",
    label=L("Least gap the maker gives"),
    kind="diff",
    help=L("For this ring, in this bore. It takes the place of the share of the bore."),
    low=0.02,
    high=5.0,
    at=("ring",),
    optional=True,
)
WIDEST = Number(
    key="rings.widest",
    label=L("Widest gap the maker gives"),
    kind="diff",
    help=L("For this ring, in this bore. It takes the place of the usual widest gap."),
    low=0.02,
    high=8.0,
    at=("ring",),
    optional=True,
)
GAP = Number(
    key="rings.gap",
    label=L("Gap measured"),
    kind="diff",
    help=L(
        "The thickest feeler that just drags, with the ring square at the top of ring travel. Measure each ring in the bore it will run in."
    ),
    low=0.0,
    high=8.0,
    at=("cylinder", "ring"),
)
READ_IN = Number(
    key="rings.bore",
    label=L("Bore the rings were tried in"),
    kind="size",
    help=L(
        "Only where it was not the finished bore, such as before the last honing. The gap is carried over to the finished size."
    ),
    low=25.0,
    high=400.0,
    at=("cylinder",),
    optional=True,
    formula="gap + π (finished bore − this bore)",
)


def rings_of(view: Any) -> tuple[tuple[int, Line, str], ...]:
    """The rings of one piston as (number from the crown, name, role)."""
    compression, rails = int(view.number(COMPRESSION_RINGS)), view.number(OIL_RING) == "rails"
    count = compression + (2 if rails else 1)
    return tuple(
        (n, rings.ring_name(n, compression, rails=rails), rings.role_of(n, compression, rails=rails)) for n in range(1, count + 1)
    )


def _duty(view: Any) -> rings.Duty:
    """What the engine does, as it was said for the sizes."""
    return rings.duty(view.number(DUTY), view.number(COOLING))


def _limits(view: Any, ring: int, role: str, bore_mm: float) -> rings.Limits:
    return rings.limits(
        bore_mm,
        role,
        _duty(view),
        top_per_bore=view.number(TOP_SHARE),
        second_per_bore=view.number(SECOND_SHARE),
        widest_per_bore=view.number(WIDEST_SHARE),
        least_mm=view.number(LEAST, ring=ring),
        widest_mm=view.number(WIDEST, ring=ring),
    )


def _heat(view: Any, role: str) -> rings.Heat | None:
    """Temperatures for the top ring, the one that runs hottest; the rest are not worked out."""
    if role != "top":
        return None
    duty, ring, wall = _duty(view), view.number(RING_TEMPERATURE), view.number(WALL_TEMPERATURE)
    return rings.Heat(ring_c=duty.ring_c if ring is None else ring, wall_c=duty.wall_c if wall is None else wall)


def _ring_places(view: Any) -> list[dict[str, Any]]:
    return [{"ring": n} for n, _, _ in rings_of(view)]


def _gap_places(view: Any) -> list[dict[str, Any]]:
    return [{"cylinder": c, "ring": n} for c in view.cylinders for n, _, _ in rings_of(view)]


def _name(place: Mapping[str, Any]) -> Line:
    if "cylinder" not in place:
        return L("Ring {ring} from the crown", ring=place["ring"])
    if "ring" not in place:
        return L("Cylinder {cylinder}", cylinder=place["cylinder"])
    return L("Cylinder {cylinder}, ring {ring} from the crown", cylinder=place["cylinder"], ring=place["ring"])


def work(view: Any) -> Work:
    """The gaps wanted, what the oversize does to a gap, and a verdict on each gap measured."""
    bores = {c: finished_mm(view, c) for c in view.cylinders}
    known = {c: b for c, b in bores.items() if b is not None}
    if not known:
        return Work(blocked=L("Settle the finished bore size first."))
    listed = rings_of(view)
    smallest = min(known.values())
    wanted = rings.wanted_gaps(
        smallest, _duty(view), [(name, _limits(view, n, role, smallest)) for n, name, role in listed]
    )
    results = [with_assumed(wanted, view, DUTY, COOLING, WIDEST_SHARE)]
    step = chosen_step_mm(view)
    if step is not None:
        results.append(rings.opened(step))
    checks, missing = [], []
    u_mm = rings.feeler_u_mm(view.number(FEELER))
    for cylinder, bore in bores.items():
        for n, name, role in listed:
            measured = view.number(GAP, cylinder=cylinder, ring=n)
            if measured is None:
                if role != "rail":
                    missing.append((GAP.key, {"cylinder": cylinder, "ring": n}))
            elif bore is not None:
                along = depth_means_mm(view, cylinder) or (bore,)
                checks.append(
                    rings.check(
                        cylinder,
                        n,
                        name,
                        measured_mm=measured,
                        u_mm=u_mm,
                        limits=_limits(view, n, role, bore),
                        bore_mm=along[0],
                        measured_bore_mm=view.number(READ_IN, cylinder=cylinder),
                        narrowest_mm=min(along),
                        widest_bore_mm=max(along),
                        heat=_heat(view, role),
                    )
                )
    if checks:
        results = [with_assumed(rings.summary(checks), view, FEELER), *checks, *results]
    return Work(
        results=tuple(results),
        missing=tuple(missing),
        done=not missing and all(c.verdict == Verdict.GO for c in checks),
        cautions=rings.FILE_CAUTIONS,
    )


SHEET = Sheet(
    key="rings",
    order=13,
    title=L("Ring gaps"),
    purpose=L("Check that every ring has room to grow in the bore it will run in."),
    groups=(
        Group(
            key="duty",
            title=L("The rings"),
            fields=(
                COMPRESSION_RINGS,
                OIL_RING,
                TOP_SHARE,
                SECOND_SHARE,
                WIDEST_SHARE,
                FEELER,
                RING_TEMPERATURE,
                WALL_TEMPERATURE,
            ),
        ),
        Group(
            key="maker",
            title=L("The ring maker's figures"),
            fields=(LEAST, WIDEST),
            places=_ring_places,
            name=_name,
            help=L("Fill these in where the maker gives them; they win."),
        ),
        Group(
            key="tried_in",
            title=L("Tried in another bore"),
            fields=(READ_IN,),
            places=lambda view: [{"cylinder": c} for c in view.cylinders],
            name=_name,
        ),
        Group(key="gaps", title=L("Gaps"), fields=(GAP,), places=_gap_places, name=_name),
    ),
    work=work,
    needs=("oversize", "sizes", "final"),
    cautions=rings.FILE_CAUTIONS,
)
