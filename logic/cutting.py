"""Boring: force and power, speed, passes, time, finish and the life of the edge.

Relations: Kienzle's specific cutting force k_c = k_c1.1 · h^(−m), F = k_c · b · h,
P = F · v_c; ideal profile of a round nose. Depths are radial (``depth_mm``) where a
single edge is meant and on diameter (``cut_mm``) where the bore is meant; a cut on
diameter is twice the depth.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .cutting_force import (
    EFFICIENCY,
    KC11_GREY_IRON,
    LAST_MM,
    LEAST_MM,
    M_GREY_IRON,
    SPEEDS_M_MIN,
    U_FORCE,
    WEAR,
    CutLoad,
    Pass,
    PassPlan,
    above_zero,
    bore_time_s,
    cut_load,
    cutting_length_m,
    edge_length_mm,
    force_n,
    largest_cut_mm,
    largest_depth_mm,
    pass_plan,
    specific_force,
    speed_m_min,
)
from .result import Assumption, Caution, Figure, Influence, Result, Verdict
from .say import LN, L, Line, Qty

__all__ = [
    "EFFICIENCY",
    "KC11_GREY_IRON",
    "LAST_MM",
    "M_GREY_IRON",
    "SPEEDS_M_MIN",
    "WEAR",
    "EdgeUse",
    "Load",
    "Pass",
    "Passes",
    "bore_time_s",
    "centre_height",
    "cutting_length_m",
    "edge_length_mm",
    "edge_use",
    "finish",
    "force_n",
    "largest_cut_mm",
    "largest_depth_mm",
    "load",
    "passes",
    "specific_force",
    "speed_m_min",
]

#: The verdict on each state of :class:`~logic.cutting_force.CutLoad`.
_LOAD_VERDICTS = {"enough": Verdict.GO, "doubtful": Verdict.MAYBE, "too much": Verdict.STOP}


@dataclass(frozen=True, kw_only=True)
class Load(Result):
    """The load of one pass. Power in W at the edge (``tool_w``) and drawn from the motor (``motor_w``)."""

    depth_mm: float
    chip_mm: float
    specific_n_mm2: float
    force_n: float
    speed_m_min: float
    tool_w: float
    motor_w: float
    worn_force_n: float
    worn_motor_w: float


def load(
    cut_mm: float,
    diameter_mm: float,
    spin_rpm: float,
    feed_mm: float,
    *,
    motor_w: float,
    efficiency: float = EFFICIENCY,
    edge_angle_deg: float = 90.0,
    nose_mm: float = 0.0,
    kc11: float = KC11_GREY_IRON,
    m: float = M_GREY_IRON,
    wear: float = WEAR,
    offset_mm: float = 0.0,
    edge: str | None = None,
) -> Load:
    """Force, speed and power of a pass that takes ``cut_mm`` off the diameter.

    ``diameter_mm`` is the size bored, ``motor_w`` the motor's power, ``efficiency`` what
    reaches the spindle (0..1), ``wear`` the factor by which a worn edge raises the force,
    ``offset_mm`` how far the bar stands off the old bore's centre: one side is then cut
    deeper by that much. ``edge`` is a key of SPEEDS_M_MIN or None.
    """
    found = cut_load(
        cut_mm,
        diameter_mm,
        spin_rpm,
        feed_mm,
        motor_w=motor_w,
        efficiency=efficiency,
        edge_angle_deg=edge_angle_deg,
        nose_mm=nose_mm,
        kc11=kc11,
        m=m,
        wear=wear,
        offset_mm=offset_mm,
    )
    return Load(
        key="cut.load",
        line=_load_said(found, motor_w),
        value=Qty(found.force_n, "force", U_FORCE * found.force_n),
        verdict=_LOAD_VERDICTS[found.state],
        why=_load_reasons(found, edge, offset_mm),
        figures=(
            Figure("speed", L("Cutting speed"), Qty(found.speed_m_min, "speed")),
            Figure("kc", L("Force per area of chip"), Qty(found.specific_n_mm2, "pressure")),
            Figure("force", L("Cutting force, sharp edge"), Qty(found.force_n, "force", U_FORCE * found.force_n)),
            Figure(
                "worn", L("Cutting force, worn edge"), Qty(found.worn_force_n, "force", U_FORCE * wear * found.force_n)
            ),
            Figure("tool_w", L("Power at the edge"), Qty(found.tool_w, "power", U_FORCE * found.tool_w)),
            Figure("motor_w", L("Power drawn from the motor"), Qty(found.motor_w, "power", U_FORCE * found.motor_w)),
        ),
        assumptions=(
            Assumption(
                L("The metal cut has k_c1.1 = {k} and m = {m}.", k=Qty(kc11, "pressure"), m=Qty(m, "plain")),
                "from memory",
            ),
            Assumption(L("A worn edge raises the force {factor} times.", factor=Qty(wear, "ratio"))),
            Assumption(L("{share} of the motor's power reaches the spindle.", share=Qty(efficiency, "percent"))),
            Assumption(L("A force from such a table is good to about {u}.", u=Qty(2 * U_FORCE, "percent"))),
        ),
        influences=(Influence(L("The metal's hardness and the edge's rake"), 1.0),),
        depth_mm=found.depth_mm,
        chip_mm=found.chip_mm,
        specific_n_mm2=found.specific_n_mm2,
        force_n=found.force_n,
        speed_m_min=found.speed_m_min,
        tool_w=found.tool_w,
        motor_w=found.motor_w,
        worn_force_n=found.worn_force_n,
        worn_motor_w=found.worn_motor_w,
    )


def _load_said(found: CutLoad, motor_w: float) -> Line:
    """Whether the motor drives the cut, and what to do where it may not."""
    motor, worn = Qty(motor_w, "power"), Qty(found.worn_motor_w, "power")
    if found.state == "enough":
        return L(
            "The cut draws about {w} from a motor of {motor}.",
            w=Qty(found.motor_w, "power", U_FORCE * found.motor_w),
            motor=motor,
        )
    if found.state == "doubtful":
        return L(
            "The cut draws about {w}, with a worn edge {worn}: close to the motor's {motor}. Take less, or keep the edge sharp.",
            w=Qty(found.motor_w, "power"),
            worn=worn,
            motor=motor,
        )
    return L(
        "Too much for the motor: {worn} with a worn edge against {motor}. Take a smaller cut or feed.",
        worn=worn,
        motor=motor,
    )


def _load_reasons(found: CutLoad, edge: str | None, offset_mm: float) -> tuple[Line, ...]:
    why = [] if edge is None else [_speed_said(found.speed_m_min, edge)]
    if offset_mm:
        why.append(
            L(
                "The bar stands {offset} off the old centre, so one side is cut {depth} deep.",
                offset=Qty(offset_mm, "diff"),
                depth=Qty(found.depth_mm, "diff"),
            )
        )
    return tuple(why)


def _speed_said(speed: float, edge: str) -> Line:
    """How a cutting speed in m/min suits the edge's material."""
    low, high = SPEEDS_M_MIN[edge]
    gaps = {"v": Qty(speed, "speed"), "low": Qty(low, "speed"), "high": Qty(high, "speed")}
    if speed < low:
        return L("{v} is slow for this edge ({low} to {high}): it may tear the wall.", **gaps)
    if speed > high:
        return L("{v} is fast for this edge ({low} to {high}): it will wear quickly.", **gaps)
    return L("{v} suits this edge ({low} to {high}).", **gaps)


@dataclass(frozen=True, kw_only=True)
class Passes(Result):
    """The passes still to take, in order, and which limit set them ("tool", "power", "set-up")."""

    passes: tuple[Pass, ...]
    largest_mm: float
    limit: str


_LIMITS = {
    "tool": L("the tool"),
    "power": L("the motor's power"),
    "set-up": L("the set-up"),
}


def passes(
    present_mm: float,
    bored_mm: float,
    *,
    largest: dict[str, float],
    last_mm: float = LAST_MM,
    least_mm: float = LEAST_MM,
    tolerance_mm: float = 0.01,
    finished_mm: float | None = None,
    least_hone_mm: float = 0.025,
) -> Passes:
    """Split the metal between the present and the bored size into passes.

    ``present_mm`` is the smallest size the bar will meet (the unworn bore, or what the
    last pass measured), ``largest`` the largest cut on diameter by reason ("tool",
    "power", "set-up"), ``last_mm`` what the last pass takes, ``least_mm`` below which an
    edge rubs instead of cutting. Roughing passes are equal and none is above the largest
    cut; the last pass is the lightest, and up to half as heavy again if that saves a
    pass. Within ``tolerance_mm`` of the bored size the bar is done; above it, what
    remains up to ``finished_mm`` is compared with ``least_hone_mm``, which the hone must
    take off to clear the bar's marks. A largest cut below ``least_mm`` is no cut: the
    verdict is to stop.
    """
    plan = pass_plan(
        present_mm, bored_mm, largest_mm=largest, last_mm=last_mm, least_mm=least_mm, tolerance_mm=tolerance_mm
    )
    within = Assumption(L("Within {tolerance} of the bored size counts as bored.", tolerance=Qty(tolerance_mm, "diff")))
    if plan.state in ("at size", "over"):
        return _bored(plan, None if finished_mm is None else finished_mm - present_mm, least_hone_mm, within)
    top = Qty(plan.largest_mm, "diff")
    if plan.state == "rubs":
        return Passes(
            key="cut.passes",
            line=L(
                "Only {top} on diameter is allowed, set by {limit}: that would rub and not cut. Slow down, feed less, or change the set-up.",
                top=top,
                limit=_LIMITS[plan.limit],
            ),
            verdict=Verdict.STOP,
            assumptions=(Assumption(L("Less than {least} on diameter rubs.", least=Qty(least_mm, "diff"))),),
            passes=(),
            largest_mm=plan.largest_mm,
            limit=plan.limit,
        )
    why = [L("The largest cut is {top} on diameter, set by {limit}.", top=top, limit=_LIMITS[plan.limit])]
    if len(plan.passes) > 1:
        why.append(
            L(
                "The last pass takes only {last}, so that the bar springs little and the size is sure.",
                last=Qty(plan.last_mm, "diff"),
            )
        )
    verdict = Verdict.GO
    if plan.last_mm < least_mm:
        verdict = Verdict.MAYBE
        why.append(
            L(
                "Less than {least} may rub instead of cutting. Leave it to the hone if the hone can take it.",
                least=Qty(least_mm, "diff"),
            )
        )
    return Passes(
        key="cut.passes",
        line=LN(
            "Bore {stock} in one pass.",
            "Bore {stock} in {n} passes.",
            len(plan.passes),
            stock=Qty(plan.stock_mm, "diff"),
        ),
        verdict=verdict,
        why=tuple(why),
        figures=tuple(
            Figure(f"pass{p.number}", L("Pass {n}: bore to", n=p.number), Qty(p.to_mm, "size")) for p in plan.passes
        ),
        assumptions=(
            within,
            Assumption(
                L("The bar is centred; a worn or off-centre bore is cut deeper on one side and less on the other.")
            ),
        ),
        cautions=(
            Caution(
                "cut_measure_first",
                L(
                    "Measure the bore after every pass before setting the next one. A figure here is advice, not a size."
                ),
            ),
        ),
        passes=plan.passes,
        largest_mm=plan.largest_mm,
        limit=plan.limit,
    )


def _bored(plan: PassPlan, left_mm: float | None, least_hone_mm: float, within: Assumption) -> Passes:
    """What to say of a bore that has nothing left to bore; ``left_mm`` is what is there for the hone."""
    over = Qty(-plan.stock_mm, "diff")
    if plan.state == "at size" and (left_mm is None or left_mm >= least_hone_mm):
        line, verdict = L("At size: nothing left to bore."), Verdict.GO
    elif plan.state == "at size" and left_mm is not None:
        verdict = Verdict.MAYBE
        line = L(
            "At size, but {left} is all that is left for the hone, which should take off {least} at least.",
            left=Qty(left_mm, "diff"),
            least=Qty(least_hone_mm, "diff"),
        )
    elif left_mm is not None and left_mm >= least_hone_mm:
        verdict = Verdict.MAYBE
        line = L(
            "{over} over the bored size, but {left} is still there for the hone.",
            over=over,
            left=Qty(left_mm, "diff"),
        )
    else:
        verdict = Verdict.STOP
        line = L(
            "{over} over the bored size, too little for the hone. Measure again; if it stands, take the next step.",
            over=over,
        )
    return Passes(
        key="cut.passes",
        line=line,
        value=Qty(0, "count"),
        verdict=verdict,
        assumptions=(within,),
        passes=(),
        largest_mm=plan.largest_mm,
        limit=plan.limit,
    )


def time(
    passes_left: Sequence[int],
    length_mm: float,
    feed_mm: float,
    spin_rpm: float,
    *,
    runs_mm: float = 10.0,
    setting_s: float = 240.0,
) -> Result:
    """Time for the job: ``passes_left`` per bore, each with ``setting_s`` for setting and measuring."""
    one = bore_time_s(length_mm, feed_mm, spin_rpm, runs_mm=runs_mm)
    total = sum(passes_left) * (one + setting_s)
    return Result(
        key="cut.time",
        line=L(
            "About {one} of cutting a pass; {total} for what is left of the job.",
            one=Qty(one, "duration"),
            total=Qty(total, "work"),
        ),
        value=Qty(total, "work"),
        figures=(
            Figure("pass", L("Cutting time of one pass"), Qty(one, "duration")),
            Figure(
                "bore",
                L("One bore, setting and measuring included"),
                Qty(max(passes_left, default=0) * (one + setting_s), "work"),
            ),
            Figure("job", L("All bores"), Qty(total, "work")),
        ),
        assumptions=(
            Assumption(L("{s} a pass for setting, measuring and lifting the bar.", s=Qty(setting_s, "duration"))),
            Assumption(L("{runs} of run-in and run-out.", runs=Qty(runs_mm, "place"))),
        ),
    )


def finish(feed_mm: float, nose_mm: float) -> Result:
    """Ideal roughness of a round nose: Rt = f² / 8 r and Ra = f² / (18 √3 r).

    The parabola stands for the arc, which holds while f is small against r; ValueError
    when the feed reaches past the nose (f >= 2 r).
    """
    above_zero(feed_mm=feed_mm, nose_mm=nose_mm)
    if feed_mm >= 2.0 * nose_mm:
        raise ValueError("the feed is wider than the nose")
    rt = 1000.0 * feed_mm**2 / (8.0 * nose_mm)
    ra = 1000.0 * feed_mm**2 / (18.0 * math.sqrt(3.0) * nose_mm)
    return Result(
        key="cut.finish",
        line=L(
            "The bar leaves grooves at least {rt} deep, Ra {ra}, before the hone.",
            rt=Qty(rt, "rough"),
            ra=Qty(ra, "rough"),
        ),
        value=Qty(ra, "rough"),
        why=(L("A worn edge, chatter and torn iron make it rougher, often two or three times; never smoother."),),
        figures=(
            Figure("rt", L("Depth of the feed grooves, Rt"), Qty(rt, "rough")),
            Figure("ra", L("Mean roughness, Ra"), Qty(ra, "rough")),
        ),
        assumptions=(
            Assumption(L("The tip's nose is a true arc of {r}, and the feed is steady.", r=Qty(nose_mm, "size"))),
        ),
    )


@dataclass(frozen=True, kw_only=True)
class EdgeUse(Result):
    """What the present edge has cut: ``used_m`` of ``life_m``, in ``passes`` passes."""

    used_m: float
    life_m: float
    passes: int


def edge_use(log: Sequence[tuple[float, bool]], next_m: float, *, life_m: float) -> EdgeUse:
    """Count the present edge's work.

    ``log`` holds, in order, (length of cut in m, whether the insert was indexed or
    changed before that pass); ``next_m`` is the length of the pass to come (0: none).
    """
    above_zero(life_m=life_m)
    used, count = 0.0, 0
    for length, fresh in log:
        if fresh:
            used, count = 0.0, 0
        used += length
        count += 1
    due = used > 0 and used + next_m > life_m
    line = (
        L("Index the insert before the next pass. Passes cut by this edge: {n}.", n=Qty(count, "count"))
        if due
        else L(
            "Passes cut by this edge: {n} ({share} of its life).",
            n=Qty(count, "count"),
            share=Qty(used / life_m, "percent"),
        )
    )
    return EdgeUse(
        key="cut.edge",
        line=line,
        value=Qty(used / life_m, "percent"),
        verdict=Verdict.MAYBE if due else Verdict.INFO,
        why=(L("Look at the edge with a glass: a chip or a flat you can see is worn, whatever the count says."),),
        assumptions=(
            Assumption(L("Life of an edge, in passes like the next one: {n}.", n=Qty(life_m / next_m, "count"))),
        )
        if next_m > 0
        else (),
        used_m=used,
        life_m=life_m,
        passes=count,
    )


#: A tip off centre may make the bore larger by so much before it is to be set again: half a thou (common practice).
LARGER_MM = 0.0127


def centre_height(radius_mm: float, off_mm: float) -> Result:
    """What a tip ``off_mm`` above or below the bar's centre line does.

    The tip stands at √(x² + off²) when the micrometer is set for x: the bore comes out
    larger by 2 (√(R² + off²) − R), and the rake changes by asin(off / R).
    """
    above_zero(radius_mm=radius_mm)
    if abs(off_mm) >= radius_mm:
        raise ValueError("the tip cannot be that far off the centre")
    larger = 2.0 * (math.hypot(radius_mm, off_mm) - radius_mm)
    turn = math.degrees(math.asin(off_mm / radius_mm))
    verdict = Verdict.MAYBE if abs(turn) > 2.0 or larger > LARGER_MM else Verdict.GO
    return Result(
        key="cut.centre_height",
        line=L(
            "The tip stands {off} off the centre line: rake changes by {turn}, size by {larger}.",
            off=Qty(abs(off_mm), "diff"),
            turn=Qty(abs(turn), "angle"),
            larger=Qty(larger, "fine"),
        ),
        value=Qty(turn, "angle"),
        verdict=verdict,
        why=(
            L(
                "A tip off centre rubs on one flank or digs in. Set it level with the bar's centre, and never change it between setting and cutting."
            ),
        ),
        figures=(
            Figure("larger", L("Bore comes out larger by"), Qty(larger, "fine")),
            Figure("turn", L("Change of rake"), Qty(turn, "angle")),
        ),
        assumptions=(
            Assumption(L("The micrometer measures along the tip's own line, as it would with the tip on centre.")),
        ),
    )
