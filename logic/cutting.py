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

from .constants import constant
from .result import Assumption, Caution, Figure, Influence, Result, Verdict
from .say import LN, L, Line, Qty

__all__ = [
    "KC11_GREY_IRON",
    "M_GREY_IRON",
    "SPEEDS_M_MIN",
    "EdgeUse",
    "Load",
    "Pass",
    "Passes",
    "bore_time_s",
    "centre_height",
    "cutting_length_m",
    "edge_use",
    "finish",
    "force_n",
    "largest_cut_mm",
    "largest_depth_mm",
    "load",
    "passes",
    "specific_force",
    "speed_m_min",
    "spin_for",
]

#: Kienzle's constants for grey iron: k_c1.1 in N/mm² and the exponent.
KC11_GREY_IRON = constant("cutting.force.grey_iron").value
M_GREY_IRON = constant("cutting.exponent.grey_iron").value
#: Standard uncertainty of a force from such a table, relative: grade, hardness and rake differ.
U_FORCE = constant("cutting.force.grey_iron").u / KC11_GREY_IRON
#: Cutting speeds for grey iron by edge material, m/min.
SPEEDS_M_MIN = {
    edge: (constant(f"cutting.speed_low.{edge}").value, constant(f"cutting.speed_high.{edge}").value)
    for edge in ("hss", "carbide", "cbn")
}
#: Defaults of the functions below.
WEAR = constant("cutting.wear").value
EFFICIENCY = constant("cutting.efficiency").value
LAST_MM = constant("cutting.last_pass").value
LEAST_MM = constant("cutting.least_cut").value


def _above_zero(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"{name} must be above zero")


def speed_m_min(diameter_mm: float, spin_rpm: float) -> float:
    """Cutting speed v_c = π D n in m/min."""
    _above_zero(diameter_mm=diameter_mm, spin_rpm=spin_rpm)
    return math.pi * diameter_mm * spin_rpm / 1000.0


def spin_for(speed: float, diameter_mm: float) -> float:
    """Spindle speed in rev/min for a cutting speed in m/min."""
    _above_zero(speed=speed, diameter_mm=diameter_mm)
    return 1000.0 * speed / (math.pi * diameter_mm)


def edge_length_mm(depth_mm: float, lead_deg: float = 90.0, nose_mm: float = 0.0) -> float:
    """Length of edge in the cut for a radial depth, tool cutting edge angle and nose radius.

    Without a nose radius b = depth / sin κ. With one, the arc in the cut plus the
    straight edge above it: a light pass may run on the nose alone.
    """
    _above_zero(depth_mm=depth_mm, lead_deg=lead_deg)
    if lead_deg > 90.0 or nose_mm < 0.0:
        raise ValueError("the edge angle is at most 90 degrees and the nose radius not negative")
    kappa = math.radians(lead_deg)
    nose_height = nose_mm * (1.0 - math.cos(kappa))
    if depth_mm <= nose_height:
        return nose_mm * math.acos(1.0 - depth_mm / nose_mm)
    return nose_mm * kappa + (depth_mm - nose_height) / math.sin(kappa)


def specific_force(chip_mm: float, kc11: float = KC11_GREY_IRON, m: float = M_GREY_IRON) -> float:
    """Kienzle's specific cutting force in N/mm² for a chip ``chip_mm`` thick."""
    _above_zero(chip_mm=chip_mm, kc11=kc11)
    return kc11 * chip_mm ** (-m)


def force_n(
    depth_mm: float,
    feed_mm: float,
    *,
    lead_deg: float = 90.0,
    nose_mm: float = 0.0,
    kc11: float = KC11_GREY_IRON,
    m: float = M_GREY_IRON,
    wear: float = 1.0,
) -> float:
    """Cutting force F = k_c · f · depth in N.

    The chip thickness is the chip's area over the length of edge in the cut (for a
    straight edge that is f sin κ). ``wear`` multiplies the force of a sharp edge.
    """
    _above_zero(feed_mm=feed_mm, wear=wear)
    area = feed_mm * depth_mm
    chip = area / edge_length_mm(depth_mm, lead_deg, nose_mm)
    return wear * specific_force(chip, kc11, m) * area


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
    lead_deg: float = 90.0,
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
    _above_zero(cut_mm=cut_mm, motor_w=motor_w, efficiency=efficiency, wear=wear)
    if efficiency > 1.0 or offset_mm < 0.0:
        raise ValueError("efficiency is at most 1 and an offset is not negative")
    depth = cut_mm / 2.0 + offset_mm
    chip = feed_mm * depth / edge_length_mm(depth, lead_deg, nose_mm)
    k = specific_force(chip, kc11, m)
    force = force_n(depth, feed_mm, lead_deg=lead_deg, nose_mm=nose_mm, kc11=kc11, m=m)
    speed = speed_m_min(diameter_mm, spin_rpm)
    tool = force * speed / 60.0
    drawn, worn = tool / efficiency, wear * tool / efficiency
    # the force is known to about U_FORCE; ask for two of those in hand with a worn edge
    enough, doubtful = worn * (1 + 2 * U_FORCE) <= motor_w, worn <= motor_w
    verdict = Verdict.GO if enough else Verdict.MAYBE if doubtful else Verdict.STOP
    if enough:
        line = L(
            "The cut draws about {w} from a motor of {motor}.",
            w=Qty(drawn, "power", U_FORCE * drawn),
            motor=Qty(motor_w, "power"),
        )
    elif doubtful:
        line = L(
            "The cut draws about {w}, with a worn edge {worn}: close to the motor's {motor}. Take less, or keep the edge sharp.",
            w=Qty(drawn, "power"),
            worn=Qty(worn, "power"),
            motor=Qty(motor_w, "power"),
        )
    else:
        line = L(
            "Too much for the motor: {worn} with a worn edge against {motor}. Take a smaller cut or feed.",
            worn=Qty(worn, "power"),
            motor=Qty(motor_w, "power"),
        )
    why: list[Line] = []
    if edge is not None:
        low, high = SPEEDS_M_MIN[edge]
        if speed < low:
            why.append(
                L(
                    "{v} is slow for this edge ({low} to {high}): it may tear the iron.",
                    v=Qty(speed, "speed"),
                    low=Qty(low, "speed"),
                    high=Qty(high, "speed"),
                )
            )
        elif speed > high:
            why.append(
                L(
                    "{v} is fast for this edge ({low} to {high}): it will wear quickly.",
                    v=Qty(speed, "speed"),
                    low=Qty(low, "speed"),
                    high=Qty(high, "speed"),
                )
            )
        else:
            why.append(
                L(
                    "{v} suits this edge ({low} to {high}).",
                    v=Qty(speed, "speed"),
                    low=Qty(low, "speed"),
                    high=Qty(high, "speed"),
                )
            )
    if offset_mm:
        why.append(
            L(
                "The bar stands {offset} off the old centre, so one side is cut {depth} deep.",
                offset=Qty(offset_mm, "diff"),
                depth=Qty(depth, "diff"),
            )
        )
    return Load(
        key="cut.load",
        line=line,
        value=Qty(force, "force", U_FORCE * force),
        verdict=verdict,
        why=tuple(why),
        figures=(
            Figure("speed", L("Cutting speed"), Qty(speed, "speed")),
            Figure("kc", L("Force per area of chip"), Qty(k, "pressure")),
            Figure("force", L("Cutting force, sharp edge"), Qty(force, "force", U_FORCE * force)),
            Figure("worn", L("Cutting force, worn edge"), Qty(wear * force, "force", U_FORCE * wear * force)),
            Figure("tool_w", L("Power at the edge"), Qty(tool, "power", U_FORCE * tool)),
            Figure("motor_w", L("Power drawn from the motor"), Qty(drawn, "power", U_FORCE * drawn)),
        ),
        assumptions=(
            Assumption(
                L("Grey iron with k_c1.1 = {k} and m = {m}.", k=Qty(kc11, "pressure"), m=Qty(m, "plain")), "from memory"
            ),
            Assumption(L("A worn edge raises the force {factor} times.", factor=Qty(wear, "ratio"))),
            Assumption(L("{share} of the motor's power reaches the spindle.", share=Qty(efficiency, "percent"))),
            Assumption(L("A force from such a table is good to about {u}.", u=Qty(2 * U_FORCE, "percent"))),
        ),
        influences=(Influence(L("The iron's hardness and the edge's rake"), 1.0),),
        depth_mm=depth,
        chip_mm=chip,
        specific_n_mm2=k,
        force_n=force,
        speed_m_min=speed,
        tool_w=tool,
        motor_w=drawn,
        worn_force_n=wear * force,
        worn_motor_w=worn,
    )


def largest_depth_mm(
    power_w: float,
    diameter_mm: float,
    spin_rpm: float,
    feed_mm: float,
    *,
    lead_deg: float = 90.0,
    nose_mm: float = 0.0,
    kc11: float = KC11_GREY_IRON,
    m: float = M_GREY_IRON,
    wear: float = 1.0,
) -> float:
    """The radial depth at which the cut takes ``power_w`` at the edge (the inverse of force times speed)."""
    _above_zero(power_w=power_w)
    wanted = 60.0 * power_w / speed_m_min(diameter_mm, spin_rpm)

    def too_much(depth: float) -> bool:
        return force_n(depth, feed_mm, lead_deg=lead_deg, nose_mm=nose_mm, kc11=kc11, m=m, wear=wear) > wanted

    low, high = 0.0, 0.01
    while not too_much(high):
        low, high = high, 2.0 * high
    for _ in range(60):
        middle = 0.5 * (low + high)
        if too_much(middle):
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


def largest_cut_mm(
    motor_w: float,
    diameter_mm: float,
    spin_rpm: float,
    feed_mm: float,
    *,
    efficiency: float = EFFICIENCY,
    lead_deg: float = 90.0,
    nose_mm: float = 0.0,
    wear: float = WEAR,
    offset_mm: float = 0.0,
) -> float:
    """The largest cut on diameter the motor drives with a worn edge and twice U_FORCE in hand.

    An offset bar cuts one side deeper, which leaves less for the diameter; where it
    leaves nothing, a thousandth of a millimetre is given back.
    """
    spare = motor_w * efficiency / (1.0 + 2.0 * U_FORCE)
    depth = largest_depth_mm(spare, diameter_mm, spin_rpm, feed_mm, lead_deg=lead_deg, nose_mm=nose_mm, wear=wear)
    return max(0.001, 2.0 * (depth - offset_mm))


@dataclass(frozen=True, slots=True)
class Pass:
    """One pass: its number from 1, the size before and after, and what it takes off the diameter, mm."""

    number: int
    from_mm: float
    to_mm: float

    @property
    def cut_mm(self) -> float:
        return self.to_mm - self.from_mm


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
    _above_zero(present_mm=present_mm, bored_mm=bored_mm, last_mm=last_mm, least_mm=least_mm, **largest)
    limit = min(largest, key=lambda name: largest[name])
    top = largest[limit]
    # a hair of slack, so that a stock of exactly n cuts is not split into n + 1
    slack = 1e-9
    stock = bored_mm - present_mm
    within = Assumption(L("Within {tolerance} of the bored size counts as bored.", tolerance=Qty(tolerance_mm, "diff")))
    if stock <= max(tolerance_mm, slack):
        left = None if finished_mm is None else finished_mm - present_mm
        if -stock <= tolerance_mm:
            line, verdict = L("At size: nothing left to bore."), Verdict.GO
        elif left is not None and left >= least_hone_mm:
            line, verdict = (
                L(
                    "{over} over the bored size, but {left} is still there for the hone.",
                    over=Qty(-stock, "diff"),
                    left=Qty(left, "diff"),
                ),
                Verdict.MAYBE,
            )
        else:
            line, verdict = (
                L(
                    "{over} over the bored size, too little for the hone. Measure again; if it stands, take the next step.",
                    over=Qty(-stock, "diff"),
                ),
                Verdict.STOP,
            )
        return Passes(
            key="cut.passes",
            line=line,
            value=Qty(0, "count"),
            verdict=verdict,
            assumptions=(within,),
            passes=(),
            largest_mm=top,
            limit=limit,
        )
    if top < least_mm:
        return Passes(
            key="cut.passes",
            line=L(
                "Only {top} on diameter is allowed, set by {limit}: that would rub and not cut. Slow down, feed less, or change the set-up.",
                top=Qty(top, "diff"),
                limit=_LIMITS[limit],
            ),
            verdict=Verdict.STOP,
            assumptions=(Assumption(L("Less than {least} on diameter rubs.", least=Qty(least_mm, "diff"))),),
            passes=(),
            largest_mm=top,
            limit=limit,
        )
    # one cut half as heavy again as a last pass is still light: no sense in splitting it
    last = stock if stock <= min(1.5 * last_mm, top) else min(last_mm, top)
    rough = stock - last
    count = math.ceil(rough / top - slack) if rough > slack else 0
    if count and rough / count < last:
        # too little is left for a heavier roughing pass: make them all alike
        count, last = count, stock / (count + 1)
        rough = stock - last
    cuts = [rough / count for _ in range(count)] + [last]
    sizes = [present_mm]
    for c in cuts[:-1]:
        sizes.append(sizes[-1] + c)
    sizes.append(bored_mm)
    plan = tuple(Pass(i + 1, sizes[i], sizes[i + 1]) for i in range(len(cuts)))
    why = [L("The largest cut is {top} on diameter, set by {limit}.", top=Qty(top, "diff"), limit=_LIMITS[limit])]
    if count:
        why.append(
            L(
                "The last pass takes only {last}, so that the bar springs little and the size is sure.",
                last=Qty(last, "diff"),
            )
        )
    verdict = Verdict.GO
    if last < least_mm:
        verdict = Verdict.MAYBE
        why.append(
            L(
                "Less than {least} may rub instead of cutting. Leave it to the hone if the hone can take it.",
                least=Qty(least_mm, "diff"),
            )
        )
    return Passes(
        key="cut.passes",
        line=LN("Bore {stock} in one pass.", "Bore {stock} in {n} passes.", len(plan), stock=Qty(stock, "diff")),
        value=Qty(len(plan), "count"),
        verdict=verdict,
        why=tuple(why),
        figures=tuple(
            Figure(f"pass{p.number}", L("Pass {n}: bore to", n=p.number), Qty(p.to_mm, "size")) for p in plan
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
        passes=plan,
        largest_mm=top,
        limit=limit,
    )


def bore_time_s(length_mm: float, feed_mm: float, spin_rpm: float, *, runs_mm: float = 10.0) -> float:
    """Time of one pass in s: (bore length + run in and out) / (f n)."""
    _above_zero(length_mm=length_mm, feed_mm=feed_mm, spin_rpm=spin_rpm)
    return 60.0 * (length_mm + runs_mm) / (feed_mm * spin_rpm)


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
            total=Qty(total, "duration"),
        ),
        value=Qty(total, "duration"),
        figures=(
            Figure("pass", L("Cutting time of one pass"), Qty(one, "duration")),
            Figure(
                "bore",
                L("One bore, setting and measuring included"),
                Qty(max(passes_left, default=0) * (one + setting_s), "duration"),
            ),
            Figure("job", L("All bores"), Qty(total, "duration")),
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
    _above_zero(feed_mm=feed_mm, nose_mm=nose_mm)
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


def cutting_length_m(diameter_mm: float, length_mm: float, feed_mm: float) -> float:
    """How far the edge travels through iron in one pass, in m: π D · L / f."""
    _above_zero(diameter_mm=diameter_mm, length_mm=length_mm, feed_mm=feed_mm)
    return math.hypot(math.pi * diameter_mm, feed_mm) * (length_mm / feed_mm) / 1000.0


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
    _above_zero(life_m=life_m)
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
            "Passes cut by this edge: {n}, {share} of its life.",
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


def centre_height(radius_mm: float, off_mm: float) -> Result:
    """What a tip ``off_mm`` above or below the bar's centre line does.

    The tip stands at √(x² + off²) when the micrometer is set for x: the bore comes out
    larger by 2 (√(R² + off²) − R), and the rake changes by asin(off / R).
    """
    _above_zero(radius_mm=radius_mm)
    if abs(off_mm) >= radius_mm:
        raise ValueError("the tip cannot be that far off the centre")
    larger = 2.0 * (math.hypot(radius_mm, off_mm) - radius_mm)
    turn = math.degrees(math.asin(off_mm / radius_mm))
    verdict = Verdict.MAYBE if abs(turn) > 2.0 else Verdict.GO
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
