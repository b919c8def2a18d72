"""Boring: the machine, the passes, and for each pass what was set and what was measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from logic import cutting, setting
from logic.cautions import for_sheet
from logic.constants import constant
from logic.fields import Choice, DefaultNumber, DefaultSelect, Number
from logic.result import Result, Verdict
from logic.say import L
from logic.temperature import as_shown_mm, read_at_20

from .. import draft
from ..documents import Typed
from ..memo import remembered
from .base import Group, Sheet, Work
from .bores import block_expansion_per_k, bore_length_mm, wear_side, worn_bores, zero_temperature
from .named import cylinder_places, of_cylinder, place_name
from .sizes import bored_mm, finished_mm

__all__ = [
    "SHEET",
    "bar_bias",
    "bias",
    "bored_now_mm",
    "cutting_force_n",
    "heaviest",
    "history",
    "history_drafts",
    "pairs",
    "passes_left",
    "size_now_mm",
    "start_mm",
]

METER = DefaultSelect(
    key="cut.meter",
    label=L("Setting micrometer"),
    help=L("One kind reads the bore's diameter, the other is put over bar and tip. Choose the one in your hand."),
    default=setting.BORE,
    choices=(Choice(setting.BORE, L("Reads the bore's diameter")), Choice(setting.BAR_TIP, L("Reads bar and tip"))),
    card="bar",
)
BAR = Number(
    key="cut.bar",
    label=L("Bar diameter at the micrometer"),
    kind="size",
    help=L("Needed only for a micrometer that reads bar and tip. Measure the bar where the micrometer's anvil sits."),
    low=15.0,
    high=150.0,
    optional=True,
    formula="D = 2 M − bar",
    card="bar",
)
SPIN = DefaultNumber(
    key="cut.spin",
    label=L("Spindle speed"),
    kind="spin",
    help=L("As the machine runs under load. A plate speed is a little above it."),
    low=20.0,
    high=3000.0,
    default=300.0,
    card="bar",
)
FEED = DefaultNumber(
    key="cut.feed",
    label=L("Feed"),
    kind="feed",
    help=L("How far the bar goes down in one turn. A finer feed leaves finer grooves and takes longer."),
    low=0.02,
    high=0.6,
    default=0.10,
    card="bar",
)
NOSE = DefaultNumber(
    key="cut.nose",
    label=L("Nose radius of the tip"),
    kind="size",
    help=L(
        "The rounding at the tip's point, marked on the insert's box. A larger one leaves finer grooves but pushes harder."
    ),
    low=0.1,
    high=2.0,
    default=0.4,
    formula="Rt = f² / 8 r",
    card="bar",
)
LEAD = DefaultNumber(
    key="cut.lead",
    label=L("Angle of the edge to the feed"),
    kind="angle",
    help=L("Ninety degrees is an edge square to the feed. A smaller angle spreads the cut over a longer edge."),
    low=30.0,
    high=90.0,
    default=90.0,
    formula="h = f sin κ",
    card="bar",
)
EDGE = DefaultSelect(
    key="cut.material",
    label=L("Edge"),
    help=L("What the tip is made of decides the cutting speed. The maker's figure comes first."),
    default="carbide",
    source="from memory",
    choices=(Choice("hss", L("High-speed steel")), Choice("carbide", L("Carbide")), Choice("cbn", L("Boron nitride"))),
    card="bar",
)
MOTOR = DefaultNumber(
    key="cut.motor",
    label=L("Motor power"),
    kind="power",
    help=L("From the motor's plate. A motor on a long thin lead gives less."),
    low=50.0,
    high=20000.0,
    default=constant("cutting.small_bar_power").value,
    card="bar",
)
EFFICIENCY = DefaultNumber(
    key="cut.efficiency",
    label=L("Share of the power that reaches the spindle"),
    kind="percent",
    help=L("Belts, gears and a cold gearbox take the rest. Seventy in a hundred is usual for a small bar."),
    low=0.2,
    high=1.0,
    default=cutting.EFFICIENCY,
    card="bar",
)
WEAR = DefaultNumber(
    key="cut.wear",
    label=L("Force of a worn edge against a sharp one"),
    kind="ratio",
    help=L("How many times harder a worn edge pushes. The power is checked with it."),
    low=1.0,
    high=3.0,
    default=cutting.WEAR,
)
TOOL_LIMIT = DefaultNumber(
    key="cut.largest",
    label=L("Largest cut on diameter, tool"),
    kind="diff",
    help=L("The most this bar and tip take in one pass. Twice the depth of the cut on one side."),
    low=0.1,
    high=6.0,
    default=constant("cutting.largest_pass").value,
    card="bar",
)
SETUP_LIMIT = Number(
    key="cut.setup",
    label=L("Largest cut on diameter, set-up"),
    kind="diff",
    help=L(
        "Enter one where the clamps, a weak stud or a thin block allow less than the tool does. Left out, the tool and the motor decide."
    ),
    low=0.05,
    high=6.0,
    optional=True,
)
LAST = DefaultNumber(
    key="cut.last",
    label=L("Last pass, on diameter"),
    kind="diff",
    help=L("A light last pass springs the bar little and keeps the size sure. It must still cut and not rub."),
    low=0.05,
    high=1.0,
    default=cutting.LAST_MM,
)
LEAST_HONE = DefaultNumber(
    key="cut.least_hone",
    label=L("Least the hone must still take off"),
    kind="diff",
    help=L(
        "What the hone needs to clear the marks of the bar. A bore that comes out larger than this leaves is too large."
    ),
    low=0.005,
    high=0.2,
    default=0.025,
)
BLOCK_C = DefaultNumber(
    key="cut.block",
    label=L("Block temperature while boring"),
    kind="temperature",
    help=L("Sizes are stated at 20 °C, so a warm block is bored a little larger. Measure it on the wall of a bore."),
    low=-20.0,
    high=80.0,
    default=20.0,
    source="ISO 1",
)
ZERO_C = zero_temperature("cut.zero_temperature")
EDGE_LIFE = DefaultNumber(
    key="cut.life",
    label=L("Passes an edge lasts"),
    kind="count",
    help=L("After so many passes you are reminded to index the insert. A hard block or a crust of rust shortens it."),
    low=1,
    high=200,
    default=constant("cutting.edge_life").value,
    card="bar",
)
SETTING_TIME = DefaultNumber(
    key="cut.setting_time",
    label=L("Time to set and measure a pass"),
    kind="duration",
    help=L("Setting the tip, measuring, and lifting the bar. It goes into the time for the job."),
    low=0.0,
    high=3600.0,
    default=240.0,
)
CENTRE = Number(
    key="cut.centre",
    label=L("Tip above or below the bar's centre line"),
    kind="deviation",
    help=L("Measure it once with the tip in the bar. Zero is right; a tip off centre rubs or digs in."),
    low=-5.0,
    high=5.0,
    optional=True,
    card="bar",
)
RESOLUTION = DefaultNumber(
    key="cut.division",
    label=L("Division of the bore gauge"),
    kind="fine",
    help=L("The smallest step you read when you measure a pass. The bias cannot be known better than it."),
    low=0.0005,
    high=0.05,
    default=0.0025,
)
PRESENT = Number(
    key="cut.present",
    label=L("Smallest size before boring"),
    kind="size",
    help=L(
        "Where the bore is least worn, below ring travel. Left out, it is taken from the readings of the worn bore."
    ),
    low=25.0,
    high=400.0,
    at=("cylinder",),
    optional=True,
    over=True,
)
SETTING = Number(
    key="cut.setting",
    label=L("Micrometer was set to"),
    kind="size",
    help=L("What the setting micrometer read on the tip for this pass. Log it before you cut."),
    low=15.0,
    high=400.0,
    at=("cylinder", "pass"),
)
MEASURED = Number(
    key="cut.measured",
    label=L("Bore measured"),
    kind="size",
    help=L("What the bore measured after this pass, as it was, warm or cold. Clean it and measure on two axes."),
    low=25.0,
    high=400.0,
    at=("cylinder", "pass"),
    over=True,
)
WARM = Number(
    key="cut.temperature",
    label=L("Bore temperature when measured"),
    kind="temperature",
    help=L("Only where it differs from the block's. A fresh cut is warm."),
    low=-20.0,
    high=120.0,
    at=("cylinder", "pass"),
    optional=True,
)
INDEXED = DefaultSelect(
    key="cut.edge",
    label=L("Edge for this pass"),
    help=L("Say so when you indexed or changed the insert before this pass. The count starts again."),
    default="same",
    at=("cylinder", "pass"),
    choices=(Choice("same", L("Same edge as before")), Choice("fresh", L("Fresh edge"))),
)
USE = DefaultSelect(
    key="cut.use",
    label=L("This pair"),
    help=L("Leave a pair out when the tip slipped or a figure was misread. It stays in the log."),
    default="keep",
    at=("cylinder", "pass"),
    choices=(Choice("keep", L("Counts for the bias")), Choice("strike", L("Left out"))),
)

#: Under these keys, at (job, cylinder, pass), a bar's card keeps what the bar cut in earlier jobs, as diameters.
HISTORY_SET, HISTORY_MEASURED = "bias.set", "bias.measured"


def _passes_logged(view: Any, cylinder: int) -> list[int]:
    keys = (SETTING.key, MEASURED.key)
    return sorted({n for key in keys for n in view.events(key, "pass", cylinder=cylinder)})


def _pass_places(view: Any) -> list[dict[str, Any]]:
    out = []
    for c in view.cylinders:
        logged = _passes_logged(view, c)
        out += [{"cylinder": c, "pass": n} for n in [*logged, max(logged, default=0) + 1]]
    return out


def _temperature(view: Any, cylinder: int, number: int) -> float:
    own = view.number(WARM, cylinder=cylinder, **{"pass": number})
    return view.number(BLOCK_C) if own is None else own


def _cold(view: Any, cylinder: int, number: int) -> float | None:
    """What a pass measured, at 20 °C."""
    got = view.number(MEASURED, cylinder=cylinder, **{"pass": number})
    if got is None:
        return None
    return read_at_20(
        got,
        block_c=_temperature(view, cylinder, number),
        alpha_block_per_k=block_expansion_per_k(view),
        master_c=view.number(ZERO_C),
    )


def start_mm(view: Any, cylinder: int) -> float | None:
    """The smallest size before boring, at 20 °C: entered here, else the unworn bore from the readings."""
    stated = view.number(PRESENT, cylinder=cylinder)
    if stated is not None:
        return stated
    worn = worn_bores(view).get(cylinder)
    return worn.unworn.mm if worn is not None and worn.measured else None


def bored_now_mm(view: Any, cylinder: int) -> float | None:
    """What the bar has left so far, at 20 °C: the last pass that was measured. None before the first."""
    measured = [s for n in _passes_logged(view, cylinder) if (s := _cold(view, cylinder, n)) is not None]
    return measured[-1] if measured else None


def size_now_mm(view: Any, cylinder: int) -> float | None:
    """The bore's size now, at 20 °C: the last pass measured, else the size before boring. None if unknown."""
    bored = bored_now_mm(view, cylinder)
    return start_mm(view, cylinder) if bored is None else bored


def _odd(view: Any) -> dict[tuple[int, int], Result]:
    """Logged settings that cannot belong to their measured size, by (cylinder, pass)."""
    meter, bar = view.number(METER), view.number(BAR)
    out = {}
    for c in view.cylinders:
        for n in _passes_logged(view, c):
            at = {"cylinder": c, "pass": n}
            read = view.number(SETTING, **at)
            if read is not None and (meter == setting.BORE or bar is not None):
                found = setting.impossible(meter, read, view.number(MEASURED, **at), place_name(at), bar)
                if found is not None:
                    out[c, n] = replace(found, key=f"{found.key}.{c}.{n}")
    return out


@remembered
def _logged(view: Any) -> tuple[tuple[int, int, setting.Pair], ...]:
    """This job's pairs as (cylinder, pass, pair), in the order they were measured."""
    meter, bar = view.number(METER), view.number(BAR)
    if meter == setting.BAR_TIP and bar is None:
        return ()
    odd = _odd(view)
    rows = []
    for c in view.cylinders:
        before = start_mm(view, c)
        for n in _passes_logged(view, c):
            at = {"cylinder": c, "pass": n}
            read, measured, cold = view.number(SETTING, **at), view.get(MEASURED, **at), _cold(view, c, n)
            if read is not None and measured is not None and (c, n) not in odd:
                cut = None if before is None or cold is None or cold <= before else cold - before
                pair = setting.Pair(
                    set_mm=setting.diameter_mm(meter, read, bar),
                    measured_mm=measured.value,
                    cut_mm=cut,
                    name=place_name(at),
                    kept=view.number(USE, **at) == "keep",
                )
                rows.append((measured.entry.stamp, c, n, pair))
            if cold is not None:
                before = cold
    return tuple((c, n, pair) for _, c, n, pair in sorted(rows, key=lambda r: r[:3]))


def pairs(view: Any) -> tuple[setting.Pair, ...]:
    """This job's logged pairs of setting and measured size, in the order they were measured."""
    return tuple(pair for _, _, pair in _logged(view))


def _jobs_on(card: Any, but: str = "") -> tuple[tuple[setting.Pair, ...], ...]:
    jobs: dict[str, list[setting.Pair]] = {}
    measured = card.all(HISTORY_MEASURED)
    for where, value in card.all(HISTORY_SET).items():
        job = str(dict(where).get("job", ""))
        if where in measured and job != but:
            jobs.setdefault(job, []).append(setting.Pair(set_mm=value.value, measured_mm=measured[where].value))
    return tuple(tuple(found) for _, found in sorted(jobs.items()))


@remembered
def history(view: Any) -> tuple[tuple[setting.Pair, ...], ...]:
    """What the chosen bar cut in earlier jobs, from its kit card: one tuple of pairs for each job."""
    card = view.card("bar")
    return () if card is None else _jobs_on(card, view.document.id)


def bar_bias(card: Any) -> setting.Bias:
    """What a bar adds to its setting, by all the jobs on its card. ``card`` is the card's own view."""
    return setting.bias((), _jobs_on(card))


def history_drafts(view: Any) -> tuple[Any, ...]:
    """Entries to append to the bar's card, so that later jobs know what it cut here. Empty without a card.

    Pairs the card already holds are left out, and so are struck-out ones.
    """
    card = view.card("bar")
    if card is None:
        return ()
    out: list[Any] = []
    for c, n, pair in _logged(view):
        at = {"job": view.document.id, "cylinder": c, "pass": n}
        if pair.kept and not card.rivals(HISTORY_SET, **at):
            for what, mm in ((HISTORY_SET, pair.set_mm), (HISTORY_MEASURED, pair.measured_mm)):
                out.append(draft.reading(what, at, Typed(text=f"{mm:.4f}", typed_unit="mm", value=mm, unit="mm")))
    return tuple(out)


@remembered
def bias(view: Any) -> setting.Bias:
    """What the bar adds to its setting: this job's pairs first, the machine's history next."""
    return setting.bias(pairs(view), history(view), resolution_mm=view.number(RESOLUTION))


def _offset_mm(view: Any, cylinder: int) -> float:
    """How far the bar is set off the unworn centre on purpose: one side is then cut deeper by as much."""
    return abs(wear_side(view, cylinder).bar_shift_mm)


def _load(view: Any, cut_mm: float, size_mm: float, offset_mm: float) -> cutting.Load:
    return cutting.load(
        cut_mm,
        size_mm,
        view.number(SPIN),
        view.number(FEED),
        motor_w=view.number(MOTOR),
        efficiency=view.number(EFFICIENCY),
        lead_deg=view.number(LEAD),
        nose_mm=view.number(NOSE),
        wear=view.number(WEAR),
        offset_mm=offset_mm,
        edge=view.number(EDGE),
    )


def _largest(view: Any, size_mm: float, offset_mm: float) -> dict[str, float]:
    limits = {
        "tool": view.number(TOOL_LIMIT),
        "power": cutting.largest_cut_mm(
            view.number(MOTOR),
            size_mm,
            view.number(SPIN),
            view.number(FEED),
            efficiency=view.number(EFFICIENCY),
            lead_deg=view.number(LEAD),
            nose_mm=view.number(NOSE),
            wear=view.number(WEAR),
            offset_mm=offset_mm,
        ),
    }
    setup = view.number(SETUP_LIMIT)
    if setup is not None:
        limits["set-up"] = setup
    return limits


@remembered
def passes_left(view: Any, cylinder: int) -> cutting.Passes | None:
    """The passes still to take in a cylinder. None where its bored size or its present size is not known."""
    target, present = bored_mm(view, cylinder), size_now_mm(view, cylinder)
    if target is None or present is None:
        return None
    return cutting.passes(
        present,
        target,
        largest=_largest(view, target, _offset_mm(view, cylinder)),
        last_mm=view.number(LAST),
        finished_mm=finished_mm(view, cylinder),
        least_hone_mm=view.number(LEAST_HONE),
    )


@remembered
def heaviest(view: Any) -> cutting.Load | None:
    """The load of the heaviest pass still to take; with none planned yet, of the largest cut the tool allows.

    None only where not even the nominal bore is known.
    """
    planned = [
        (p.cut_mm / 2 + _offset_mm(view, c), p, c)
        for c in view.cylinders
        if (plan := passes_left(view, c)) is not None
        for p in plan.passes
    ]
    if planned:
        # cuts alike to a nanometre are one cut: the larger bore then decides, not the last digit
        _, heavy, c = max(planned, key=lambda row: (round(row[0], 6), row[1].to_mm))
        return _load(view, heavy.cut_mm, heavy.to_mm, _offset_mm(view, c))
    size = next((s for c in view.cylinders if (s := bored_mm(view, c)) is not None), view.nominal_mm)
    return None if size is None else _load(view, view.number(TOOL_LIMIT), size, 0.0)


def cutting_force_n(view: Any) -> float | None:
    """The cutting force the clamps must hold, N: the heaviest pass to come, cut with a worn edge. None if unknown."""
    load = heaviest(view)
    return None if load is None else load.worn_force_n


def _edge_log(view: Any) -> list[tuple[float, bool]]:
    rows = []
    for c in view.cylinders:
        for n in _passes_logged(view, c):
            at = {"cylinder": c, "pass": n}
            measured = view.get(MEASURED, **at)
            if measured is not None:
                length = cutting.cutting_length_m(measured.value, bore_length_mm(view), view.number(FEED))
                rows.append((measured.entry.stamp, length, view.number(INDEXED, **at) == "fresh"))
    return [(length, fresh) for _, length, fresh in sorted(rows)]


def _now(view: Any, plans: dict[int, cutting.Passes], learned: setting.Bias) -> list[Result]:
    """What to do next at the machine: a trial cut, or the setting for the next pass of the bore in hand."""
    open_bores = [c for c in plans if plans[c].passes]
    if not open_bores:
        return []
    begun = [c for c in open_bores if _passes_logged(view, c)]
    c = (begun or open_bores)[0]
    nxt = plans[c].passes[0]
    meter, bar = view.number(METER), view.number(BAR)
    at = {
        "block_c": view.number(BLOCK_C),
        "alpha_block_per_k": block_expansion_per_k(view),
        "master_c": view.number(ZERO_C),
    }
    wanted = as_shown_mm(nxt.to_mm, **at)
    if not learned.known:
        return [of_cylinder(setting.trial(wanted, as_shown_mm(nxt.from_mm, **at), meter=meter, bar_mm=bar), c)]
    finished = finished_mm(view, c)
    limit = None if finished is None else as_shown_mm(finished - view.number(LEAST_HONE), **at)
    cuts = [p.cut_mm for p in pairs(view) if p.cut_mm is not None and p.kept]
    return [
        of_cylinder(
            setting.next_setting(
                wanted,
                learned,
                meter=meter,
                bar_mm=bar,
                limit_mm=limit,
                cut_mm=nxt.cut_mm,
                usual_cut_mm=sorted(cuts)[len(cuts) // 2] if cuts else None,
                cold_mm=nxt.to_mm,
            ),
            c,
        )
    ]


def work(view: Any) -> Work:
    """The next setting first, then the passes of every cylinder, the load, the edge, the time and the finish."""
    targets = {c: bored_mm(view, c) for c in view.cylinders}
    if all(t is None for t in targets.values()):
        return Work(blocked=L("Choose the oversize and settle the sizes first: then it is known what to bore to."))
    if view.number(METER) == setting.BAR_TIP and view.number(BAR) is None:
        return Work(blocked=L("Enter the bar's diameter: the micrometer you chose reads bar and tip."))
    plans = {c: plan for c in view.cylinders if (plan := passes_left(view, c)) is not None}
    if not plans:
        return Work(blocked=L("Measure the worn bores, or enter the smallest size before boring."))
    sizes = [size_now_mm(view, c) for c in plans]
    if view.number(METER) == setting.BAR_TIP and not all(setting.bar_fits(view.number(BAR), s) for s in sizes):
        return Work(blocked=L("The bar would be as large as the bore. Check the bar's diameter."))
    learned = bias(view)
    alarms: Sequence[Result | None] = (
        *_odd(view).values(),
        setting.slipped(pairs(view), history(view)),
        setting.wearing(pairs(view)),
    )
    results: list[Result] = [a for a in alarms if a is not None]
    results += _now(view, plans, learned)
    results += [of_cylinder(plan, c) for c, plan in plans.items()]
    load = heaviest(view)
    if load is not None:
        results.append(load)
    if learned.known:
        results.append(learned)
    length = bore_length_mm(view)
    size = next(t for t in targets.values() if t is not None)
    one = cutting.cutting_length_m(size, length, view.number(FEED))
    results.append(cutting.edge_use(_edge_log(view), one, life_m=one * view.number(EDGE_LIFE)))
    results.append(
        cutting.time(
            [len(p.passes) for p in plans.values()],
            length,
            view.number(FEED),
            view.number(SPIN),
            setting_s=view.number(SETTING_TIME),
        )
    )
    if view.number(FEED) < 2 * view.number(NOSE):
        results.append(cutting.finish(view.number(FEED), view.number(NOSE)))
    off = view.number(CENTRE)
    if off is not None:
        results.append(cutting.centre_height(size / 2, off))
    done = len(plans) == len(targets) and all(not p.passes and p.verdict != Verdict.STOP for p in plans.values())
    return Work(results=tuple(results), done=done)


SHEET = Sheet(
    key="cut",
    order=9,
    title=L("Boring"),
    purpose=L("Set the cutter for each pass, log what the bore measured, and learn what the bar really cuts."),
    groups=(
        Group(
            key="passes",
            title=L("Passes"),
            fields=(SETTING, MEASURED, WARM, INDEXED, USE),
            places=_pass_places,
            name=place_name,
            grows=True,
            help=L("Log the setting before the cut and the size after it. Every pair makes the next setting surer."),
        ),
        Group(key="present", title=L("Before boring"), fields=(PRESENT,), places=cylinder_places, name=place_name),
        Group(key="micrometer", title=L("Setting the cutter"), fields=(METER, BAR, RESOLUTION, CENTRE)),
        Group(
            key="machine",
            title=L("The machine and the cut"),
            fields=(
                SPIN,
                FEED,
                NOSE,
                LEAD,
                EDGE,
                EDGE_LIFE,
                MOTOR,
                EFFICIENCY,
                WEAR,
                TOOL_LIMIT,
                SETUP_LIMIT,
                LAST,
                LEAST_HONE,
                BLOCK_C,
                ZERO_C,
                SETTING_TIME,
            ),
            help=L(
                "Taken from the card of the bar you chose, where it says so. What you enter here holds for this job."
            ),
        ),
    ),
    work=work,
    needs=("bores", "oversize", "sizes"),
    cautions=for_sheet("cut"),
)
