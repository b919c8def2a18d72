"""Honing: the plan, the gauge checks as they are made, and the finish."""

from __future__ import annotations

from typing import Any

from logic import finish, hone_plan, hone_progress
from logic.cautions import for_sheet
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number
from logic.result import Result, Verdict
from logic.say import L
from logic.temperature import read_at_20

from ..memo import remembered
from .assumed import with_assumed
from .base import Group, Sheet, Work
from .bores import block_expansion_per_k, bore_length_mm, zero_temperature
from .named import cylinder_places, of_cylinder, place_name
from .sizes import bored_mm, finished_mm

__all__ = ["SHEET", "checks", "progress", "ring_face", "split", "stroke"]

DEPTHS = 3

FACE = DefaultSelect(
    key="hone.face",
    label=L("Face of the top ring"),
    help=L("What the ring runs on the wall with decides the finish. The ring maker's figures come first."),
    default="iron",
    choices=tuple(Choice(key, ring.name) for key, ring in finish.RINGS.items()),
)
GRITS = tuple(
    Number(
        key=f"hone.grit{n}",
        label=(L("First grit"), L("Second grit"), L("Third grit"))[n - 1],
        kind="count",
        help=L("The number on the stones, the coarsest first. Left out, it goes by the face of the ring."),
        low=60,
        high=1200,
        optional=True,
        source="from memory",
    )
    for n in (1, 2, 3)
)
BAND = DefaultNumber(
    key="hone.band",
    label=L("Finished size may be off by"),
    kind="fine",
    help=L("Either way from the finished size. The piston's clearance allows about this much."),
    low=0.002,
    high=0.05,
    default=0.0065,
)
STRAIGHT = DefaultNumber(
    key="hone.straight",
    label=L("Straight means within"),
    kind="fine",
    help=L(
        "The largest taper, waist or barrel allowed down the bore, on diameter. Half a thou is a common limit, a quarter is good work."
    ),
    low=0.001,
    high=0.05,
    default=0.0065,
)
SPIN = DefaultNumber(
    key="hone.spin",
    label=L("Spindle speed"),
    kind="spin",
    help=L("As the hone turns in the bore, under load. It decides the crosshatch together with the strokes."),
    low=20.0,
    high=1500.0,
    default=200.0,
    card="hone",
)
RATE = DefaultNumber(
    key="hone.rate",
    label=L("Double strokes per minute"),
    kind="rate",
    help=L("Down and up counts as one. Count them for half a minute and double it."),
    low=2.0,
    high=200.0,
    default=60.0,
    card="hone",
)
STONE = DefaultNumber(
    key="hone.stone",
    label=L("Length of the stones"),
    kind="place",
    help=L("The abrasive alone, without its holder. Best between half and three quarters of the bore."),
    low=15.0,
    high=300.0,
    default=75.0,
    card="hone",
)
BELOW_STONES = DefaultNumber(
    key="hone.below_stones",
    label=L("Hone below its stones"),
    kind="place",
    help=L("How far the body or the holders reach below the stones. It needs room under the bore as well."),
    low=0.0,
    high=100.0,
    default=5.0,
    card="hone",
)
CLEAR = Number(
    key="hone.clear",
    label=L("Room under the bore to the web"),
    kind="place",
    help=L(
        "From the lower end of the bore to the crankcase web, the cap or the crank, whichever is nearest. Measure it in every bore and enter the least."
    ),
    low=0.0,
    high=500.0,
    optional=True,
)
OVERRUN = DefaultNumber(
    key="hone.overrun",
    label=L("Share of the stone that runs out"),
    kind="percent",
    help=L("At each end of the stroke. More makes the ends wide, less leaves them tight."),
    low=0.1,
    high=0.5,
    default=hone_plan.OVERRUN,
)
ANGLE = DefaultNumber(
    key="hone.angle",
    label=L("Crosshatch wanted"),
    kind="angle",
    help=L("The included angle between the two sets of marks. Flat holds oil, steep lets it drain."),
    low=22.5,
    high=44.5,
    default=hone_plan.CROSSHATCH.value,
)
REPEAT = DefaultNumber(
    key="hone.repeat",
    label=L("Gauge repeats within"),
    kind="fine",
    help=L("One standard deviation of the gauge's readings at one place. Read one place ten times to find out."),
    low=0.0002,
    high=0.02,
    default=0.0015,
)
SHARED = DefaultNumber(
    key="hone.shared",
    label=L("Doubt about the gauge's zero"),
    kind="fine",
    help=L(
        "From the master, the zero and the temperatures together, one standard deviation. It is the same in every reading."
    ),
    low=0.0,
    high=0.02,
    default=0.001,
)
BLOCK_C = DefaultNumber(
    key="hone.block",
    label=L("Block temperature before honing"),
    kind="temperature",
    help=L("The block at rest, before the stones warm it. The bore is compared with it."),
    low=-20.0,
    high=60.0,
    default=20.0,
    source="ISO 1",
)
ZERO_C = zero_temperature("hone.zero_temperature")
STROKES = DefaultNumber(
    key="hone.strokes",
    label=L("Double strokes since the check before"),
    kind="count",
    help=L("Zero at the first check, before any stroke. Count down and up as one."),
    low=0,
    high=500,
    default=0,
    at=("cylinder", "check"),
)
GRIT = Number(
    key="hone.grit",
    label=L("Grit of these strokes"),
    kind="count",
    help=L("The number on the stones you used since the check before. Left out, it goes on as before."),
    low=60,
    high=1200,
    optional=True,
    at=("cylinder", "check"),
)
WARM = Number(
    key="hone.temperature",
    label=L("Bore temperature"),
    kind="temperature",
    help=L("Of the wall at this check. Left out, the bore is taken to be as warm as the block before honing."),
    low=-20.0,
    high=120.0,
    optional=True,
    at=("cylinder", "check"),
)
SIZE = Number(
    key="hone.size",
    label=L("Size"),
    kind="size",
    help=L("Top, middle and bottom, the mean of two axes at each. As the gauge shows it now, warm or cold."),
    low=25.0,
    high=400.0,
    over=True,
    at=("cylinder", "check", "depth"),
)
MEASURED = {
    key: Number(
        key=f"hone.{key}",
        label=label,
        kind="rough",
        help=L("From a roughness instrument, in the middle of the bore along its axis. Leave it out if you have none."),
        low=0.02,
        high=20.0,
        optional=True,
        at=("cylinder",),
    )
    for key, label in finish.PARAMETERS.items()
}
FINISH_U = DefaultNumber(
    key="hone.finish_doubt",
    label=L("Doubt about a measured finish"),
    kind="percent",
    help=L(
        "One standard deviation, of the instrument and of the finish from place to place. Several places make it smaller."
    ),
    low=0.01,
    high=0.5,
    default=0.06,
)
LIMITS = {
    (key, side): Number(
        key=f"hone.{key}_{side}",
        label=L("{what}, at least", what=label) if side == "low" else L("{what}, at most", what=label),
        kind="rough",
        help=L("The ring maker's figure, if you have it. Left out, it goes by the face of the ring."),
        low=0.0,
        high=20.0,
        optional=True,
        source="from memory",
    )
    for key, label in finish.PARAMETERS.items()
    for side in ("low", "high")
}


def ring_face(view: Any) -> str:
    """The face of the top ring: a key of logic.finish.RINGS."""
    return view.number(FACE)


def grits(view: Any) -> tuple[int, ...]:
    """The grits in use, coarsest first: as entered, else by the ring's face."""
    stated = sorted({int(g) for f in GRITS if (g := view.number(f)) is not None})
    return tuple(stated) or finish.RINGS[ring_face(view)].grits


@remembered
def split(view: Any, cylinder: int) -> hone_plan.Split | None:
    """The stock over the grits, from the size the bar left. None while the finished size is not known."""
    target = finished_mm(view, cylinder)
    if target is None:
        return None
    logged = checks(view, cylinder)
    start = logged[0].mean_mm if logged else bored_mm(view, cylinder)
    return None if start is None else hone_plan.split(start, target, grits(view))


def depth_mm(view: Any, depth: int) -> float:
    """Where the gauge stands at depth 1 (top), 2 or 3 (bottom), mm below the face."""
    return hone_plan.check_depth_mm(depth, DEPTHS, bore_length_mm(view))


def _check_numbers(view: Any, cylinder: int) -> list[int]:
    return sorted({n for n in view.events(SIZE.key, "check", cylinder=cylinder)})


def _temperature(view: Any, cylinder: int, number: int) -> float:
    own = view.number(WARM, cylinder=cylinder, check=number)
    return view.number(BLOCK_C) if own is None else own


@remembered
def checks(view: Any, cylinder: int) -> tuple[hone_progress.Check, ...]:
    """The gauge checks of a cylinder, sizes at 20 °C, in order."""
    out, grit, alpha, zeroed = [], "", block_expansion_per_k(view), view.number(ZERO_C)
    for n in _check_numbers(view, cylinder):
        warm = _temperature(view, cylinder, n)
        sizes = tuple(
            (depth_mm(view, d), read_at_20(read, block_c=warm, alpha_block_per_k=alpha, master_c=zeroed))
            for d in range(1, DEPTHS + 1)
            if (read := view.number(SIZE, cylinder=cylinder, check=n, depth=d)) is not None
        )
        strokes = view.number(STROKES, cylinder=cylinder, check=n)
        stated = view.number(GRIT, cylinder=cylinder, check=n)
        if stated is not None:
            grit = f"{stated:.0f}"
        elif strokes and not grit:
            grit = f"{grits(view)[0]}"
        # what measured the bored size belongs to no grit; a check repeated without strokes stays with its own
        out.append(hone_progress.Check(n, strokes, sizes, grit if strokes or out else ""))
    return tuple(out)


def _keep_mm(view: Any, cylinder: int) -> float:
    """Stock kept back for the grits after the one in use (before the first stroke: after the first grit)."""
    plan, logged = split(view, cylinder), checks(view, cylinder)
    if plan is None:
        return 0.0
    in_use = next((float(c.grit) for c in reversed(logged) if c.grit), plan.steps[0].grit)
    return plan.keep_for_finer_mm(in_use)


@remembered
def progress(view: Any, cylinder: int) -> hone_progress.Progress | None:
    """Where a cylinder stands under the hone. None while its finished size is not known."""
    target = finished_mm(view, cylinder)
    if target is None:
        return None
    return hone_progress.progress(
        checks(view, cylinder),
        target,
        band_mm=view.number(BAND),
        keep_mm=_keep_mm(view, cylinder),
        u_mm=view.number(REPEAT),
        u_shared_mm=view.number(SHARED),
        cylinder=cylinder,
    )


@remembered
def stroke(view: Any) -> hone_plan.Stroke:
    """Stroke and overrun for the job's bores."""
    return hone_plan.stroke(
        bore_length_mm(view),
        view.number(STONE),
        share=view.number(OVERRUN),
        clear_below_mm=view.number(CLEAR),
        below_stones_mm=view.number(BELOW_STONES),
    )


def finish_limits(view: Any) -> dict[str, finish.Limits]:
    """The limits of the finish: the ring maker's where entered, else by the ring's face."""
    return finish.limits_for(
        ring_face(view),
        {key: (view.number(LIMITS[key, "low"]), view.number(LIMITS[key, "high"])) for key in finish.PARAMETERS},
    )


def _live(view: Any, cylinder: int) -> list[Result]:
    """Progress, shape and heat of one cylinder, at its latest check."""
    now = progress(view, cylinder)
    logged = checks(view, cylinder)
    if now is None or not logged:
        return []
    out: list[Result] = [now]
    found = hone_progress.shape(
        logged[-1],
        tolerance_mm=view.number(STRAIGHT),
        u_mm=view.number(REPEAT),
        per_stroke_mm=now.per_stroke_mm,
        sweep_gain=stroke(view).sweep_gain,
        left_mm=now.left_mm,
    )
    if found is not None:
        out.append(found)
    own = view.number(WARM, cylinder=cylinder, check=logged[-1].number)
    if own is not None:
        warm = hone_progress.heat(
            now.stop_mm,
            own,
            block_expansion_per_k(view),
            settled_c=view.number(BLOCK_C),
            master_c=view.number(ZERO_C),
            band_mm=view.number(BAND),
            per_stroke_mm=now.per_stroke_mm,
        )
        # a bore that is cool enough says nothing of its heat, and one at size has no stroke left to stop
        if warm.verdict != Verdict.GO and not _at_size(view, cylinder):
            out.append(warm)
    return [of_cylinder(r, cylinder) for r in out]


def _at_size(view: Any, cylinder: int) -> bool:
    """Whether the last grit has brought the cylinder to size."""
    now = progress(view, cylinder)
    return now is not None and now.verdict == Verdict.GO and _keep_mm(view, cylinder) == 0


def _finish(view: Any, cylinder: int) -> finish.Finish | None:
    measured = {k: v for k, f in MEASURED.items() if (v := view.number(f, cylinder=cylinder)) is not None}
    return finish.accept(measured, finish_limits(view), u_relative=view.number(FINISH_U))


def work(view: Any) -> Work:
    """The bore in hand first, then the others; then the plan: grits, stroke, crosshatch, finish."""
    targets = {c: finished_mm(view, c) for c in view.cylinders}
    known = [c for c, t in targets.items() if t is not None]
    if not known:
        return Work(blocked=L("Choose the oversize and settle the sizes first: then it is known what to hone to."))
    live = {c: _live(view, c) for c in known}
    states = {c: progress(view, c) for c in known}
    latest = {c: max((v.entry.stamp for v in view.all(SIZE.key, cylinder=c).values()), default="") for c in known}
    finished = [c for c in known if _at_size(view, c)]
    order = sorted((c for c in known if c not in finished), key=lambda c: latest[c], reverse=True) + finished
    results: list[Result] = [r for c in order for r in live[c]]
    finishes = {c: f for c in known if (f := _finish(view, c)) is not None}
    results += [of_cylinder(f, c) for c, f in finishes.items()]
    plans = {c: plan for c in known if (plan := split(view, c)) is not None}
    results += [of_cylinder(plan, c) for c, plan in plans.items()]
    run = stroke(view)
    results.append(with_assumed(run, view, STONE, BELOW_STONES))
    if run.stroke_mm > 0:
        results.append(
            with_assumed(
                hone_plan.crosshatch(
                    targets[known[0]],
                    view.number(SPIN),
                    run.stroke_mm,
                    view.number(RATE),
                    wanted_deg=view.number(ANGLE),
                ),
                view,
                SPIN,
                RATE,
            )
        )
    results.append(finish.target(ring_face(view)))
    missing = tuple(
        (SIZE.key, {"cylinder": c, "check": 1, "depth": d})
        for c in known
        for d in range(1, DEPTHS + 1)
        if not checks(view, c)
    )
    done = (
        len(known) == len(targets) and finished == known and all(f.verdict != Verdict.STOP for f in finishes.values())
    )
    return Work(
        results=tuple(results),
        missing=missing,
        done=done,
        pictures=tuple(p.picture for c in order if (p := states[c]) is not None and p.picture is not None),
    )


def _check_places(view: Any) -> list[dict[str, Any]]:
    out = []
    for c in view.cylinders:
        logged = _check_numbers(view, c)
        out += [{"cylinder": c, "check": n} for n in [*logged, max(logged, default=0) + 1]]
    return out


def _size_places(view: Any) -> list[dict[str, Any]]:
    return [{**at, "depth": d} for at in _check_places(view) for d in range(1, DEPTHS + 1)]


SHEET = Sheet(
    key="hone",
    order=11,
    title=L("Honing"),
    purpose=L("Bring each bore to size, straight and with the right marks, and stop in time."),
    groups=(
        Group(
            key="sizes",
            title=L("Gauge checks"),
            fields=(SIZE,),
            places=_size_places,
            name=place_name,
            grows=True,
            help=L(
                "Check 1 is the bored size, before any stroke. Depth 1 is near the top, 2 the middle, 3 near the bottom."
            ),
        ),
        Group(
            key="strokes",
            title=L("Strokes before each check"),
            fields=(STROKES, GRIT, WARM),
            places=_check_places,
            name=place_name,
            grows=True,
        ),
        Group(key="target", title=L("What is wanted"), fields=(FACE, BAND, STRAIGHT, ANGLE, *GRITS)),
        Group(key="hone", title=L("The hone and the stroke"), fields=(SPIN, RATE, STONE, BELOW_STONES, CLEAR, OVERRUN)),
        Group(key="doubt", title=L("The gauge and the block"), fields=(REPEAT, SHARED, BLOCK_C, ZERO_C)),
        Group(
            key="finish",
            title=L("Finish measured"),
            fields=tuple(MEASURED.values()),
            places=cylinder_places,
            name=place_name,
        ),
        Group(key="limits", title=L("The ring maker's finish"), fields=(*LIMITS.values(), FINISH_U)),
    ),
    work=work,
    needs=("sizes", "cut"),
    cautions=for_sheet("hone"),
)
