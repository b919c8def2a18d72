"""Boring in numbers: force and power, the passes, time and length of cut. No sentence.

Relations: Kienzle's specific cutting force k_c = k_c1.1 · h^(−m), F = k_c · b · h,
P = F · v_c. Depths are radial (``depth_mm``) where a single edge is meant and on diameter
(``cut_mm``) where the bore is meant. ``edge_angle_deg`` is the tool cutting edge angle κr
of ISO 3002-1: between the edge and the feed. :mod:`logic.cutting` puts the figures into
words.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from .constants import constant

__all__ = [
    "EFFICIENCY",
    "KC11_GREY_IRON",
    "LAST_MM",
    "LEAST_MM",
    "M_GREY_IRON",
    "SPEEDS_M_MIN",
    "U_FORCE",
    "WEAR",
    "CutLoad",
    "Pass",
    "PassPlan",
    "above_zero",
    "bore_time_s",
    "cut_load",
    "cutting_length_m",
    "edge_length_mm",
    "force_n",
    "largest_cut_mm",
    "largest_depth_mm",
    "pass_plan",
    "specific_force",
    "speed_m_min",
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


def above_zero(**values: float) -> None:
    """Raise ValueError for a value that is not finite and above zero, by its name."""
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"{name} must be above zero")


def speed_m_min(diameter_mm: float, spin_rpm: float) -> float:
    """Cutting speed v_c = π D n in m/min."""
    above_zero(diameter_mm=diameter_mm, spin_rpm=spin_rpm)
    return math.pi * diameter_mm * spin_rpm / 1000.0


def edge_length_mm(depth_mm: float, edge_angle_deg: float = 90.0, nose_mm: float = 0.0) -> float:
    """Length of edge in the cut for a radial depth, tool cutting edge angle and nose radius.

    Without a nose radius b = depth / sin κ. With one, the arc in the cut plus the
    straight edge above it: a light pass may run on the nose alone.
    """
    above_zero(depth_mm=depth_mm, edge_angle_deg=edge_angle_deg)
    if edge_angle_deg > 90.0 or nose_mm < 0.0:
        raise ValueError("the edge angle is at most 90 degrees and the nose radius not negative")
    kappa = math.radians(edge_angle_deg)
    nose_height = nose_mm * (1.0 - math.cos(kappa))
    if depth_mm <= nose_height:
        return nose_mm * math.acos(1.0 - depth_mm / nose_mm)
    return nose_mm * kappa + (depth_mm - nose_height) / math.sin(kappa)


def specific_force(chip_mm: float, kc11: float = KC11_GREY_IRON, m: float = M_GREY_IRON) -> float:
    """Kienzle's specific cutting force in N/mm² for a chip ``chip_mm`` thick."""
    above_zero(chip_mm=chip_mm, kc11=kc11)
    return float(kc11 * chip_mm ** (-m))


def force_n(
    depth_mm: float,
    feed_mm: float,
    *,
    edge_angle_deg: float = 90.0,
    nose_mm: float = 0.0,
    kc11: float = KC11_GREY_IRON,
    m: float = M_GREY_IRON,
    wear: float = 1.0,
) -> float:
    """Cutting force F = k_c · f · depth in N.

    The chip thickness is the chip's area over the length of edge in the cut (for a
    straight edge that is f sin κ). ``wear`` multiplies the force of a sharp edge.
    """
    above_zero(feed_mm=feed_mm, wear=wear)
    area = feed_mm * depth_mm
    chip = area / edge_length_mm(depth_mm, edge_angle_deg, nose_mm)
    return wear * specific_force(chip, kc11, m) * area


@dataclass(frozen=True, slots=True, kw_only=True)
class CutLoad:
    """The load of one pass: depth and chip in mm, ``specific_n_mm2`` the force per area of chip, power in W.

    ``tool_w`` is taken at the edge, ``motor_w`` drawn from the motor, ``worn_motor_w``
    drawn with a worn edge. ``state`` is "enough" where the motor drives a worn edge with
    twice the force's doubt in hand, "doubtful" where it just drives one, else "too much".
    """

    depth_mm: float
    chip_mm: float
    specific_n_mm2: float
    force_n: float
    worn_force_n: float
    speed_m_min: float
    tool_w: float
    motor_w: float
    worn_motor_w: float
    state: str


def cut_load(
    cut_mm: float,
    diameter_mm: float,
    spin_rpm: float,
    feed_mm: float,
    *,
    motor_w: float,
    efficiency: float,
    edge_angle_deg: float,
    nose_mm: float,
    kc11: float,
    m: float,
    wear: float,
    offset_mm: float,
) -> CutLoad:
    """Work out the load of a pass; see :func:`logic.cutting.load` for the terms. Raises ValueError out of range."""
    above_zero(cut_mm=cut_mm, motor_w=motor_w, efficiency=efficiency, wear=wear)
    if efficiency > 1.0 or offset_mm < 0.0:
        raise ValueError("efficiency is at most 1 and an offset is not negative")
    depth = cut_mm / 2.0 + offset_mm
    chip = feed_mm * depth / edge_length_mm(depth, edge_angle_deg, nose_mm)
    k = specific_force(chip, kc11, m)
    force = force_n(depth, feed_mm, edge_angle_deg=edge_angle_deg, nose_mm=nose_mm, kc11=kc11, m=m)
    speed = speed_m_min(diameter_mm, spin_rpm)
    tool = force * speed / 60.0
    worn = wear * tool / efficiency
    return CutLoad(
        depth_mm=depth,
        chip_mm=chip,
        specific_n_mm2=k,
        force_n=force,
        worn_force_n=wear * force,
        speed_m_min=speed,
        tool_w=tool,
        motor_w=tool / efficiency,
        worn_motor_w=worn,
        state=_load_state(worn, motor_w),
    )


def _load_state(worn_w: float, motor_w: float) -> str:
    # the force is known to about U_FORCE; ask for two of those in hand with a worn edge
    if worn_w * (1 + 2 * U_FORCE) <= motor_w:
        return "enough"
    return "doubtful" if worn_w <= motor_w else "too much"


#: No cut is deeper; a motor that could take more is no motor, mm.
_DEEPEST_MM = 1e6


def largest_depth_mm(
    power_w: float,
    diameter_mm: float,
    spin_rpm: float,
    feed_mm: float,
    *,
    edge_angle_deg: float = 90.0,
    nose_mm: float = 0.0,
    kc11: float = KC11_GREY_IRON,
    m: float = M_GREY_IRON,
    wear: float = 1.0,
) -> float:
    """The radial depth at which the cut takes ``power_w`` at the edge (the inverse of force times speed)."""
    above_zero(power_w=power_w)
    wanted = 60.0 * power_w / speed_m_min(diameter_mm, spin_rpm)

    def too_much(depth: float) -> bool:
        return (
            force_n(depth, feed_mm, edge_angle_deg=edge_angle_deg, nose_mm=nose_mm, kc11=kc11, m=m, wear=wear) > wanted
        )

    low, high = 0.0, 0.01
    while high < _DEEPEST_MM and not too_much(high):
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
    edge_angle_deg: float = 90.0,
    nose_mm: float = 0.0,
    kc11: float = KC11_GREY_IRON,
    m: float = M_GREY_IRON,
    wear: float = WEAR,
    offset_mm: float = 0.0,
) -> float:
    """The largest cut on diameter the motor drives with a worn edge and twice U_FORCE in hand.

    An offset bar cuts one side deeper, which leaves less for the diameter; where it
    leaves nothing, a thousandth of a millimetre is given back.
    """
    spare = motor_w * efficiency / (1.0 + 2.0 * U_FORCE)
    depth = largest_depth_mm(
        spare,
        diameter_mm,
        spin_rpm,
        feed_mm,
        edge_angle_deg=edge_angle_deg,
        nose_mm=nose_mm,
        kc11=kc11,
        m=m,
        wear=wear,
    )
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


@dataclass(frozen=True, slots=True, kw_only=True)
class PassPlan:
    """The passes still to take, mm on diameter.

    ``stock_mm`` is what stands between the present and the bored size, ``limit`` the
    reason for the largest cut ``largest_mm``. ``state`` is "at size", "over" (more than
    the tolerance above the bored size), "rubs" (the largest cut is no cut) or "bore".
    ``last_mm`` is what the last pass takes.
    """

    stock_mm: float
    largest_mm: float
    limit: str
    state: str
    passes: tuple[Pass, ...] = ()
    last_mm: float = 0.0


#: A hair of slack, mm, so that a stock of exactly n cuts is not split into n + 1.
_SLACK_MM = 1e-9


def pass_plan(
    present_mm: float,
    bored_mm: float,
    *,
    largest_mm: Mapping[str, float],
    last_mm: float,
    least_mm: float,
    tolerance_mm: float,
) -> PassPlan:
    """Split the stock into passes; see :func:`logic.cutting.passes` for the terms. Raises ValueError out of range."""
    above_zero(present_mm=present_mm, bored_mm=bored_mm, last_mm=last_mm, least_mm=least_mm, **largest_mm)
    limit = min(largest_mm, key=lambda name: largest_mm[name])
    top = largest_mm[limit]
    stock = bored_mm - present_mm
    if stock <= max(tolerance_mm, _SLACK_MM):
        state = "at size" if -stock <= tolerance_mm else "over"
        return PassPlan(stock_mm=stock, largest_mm=top, limit=limit, state=state)
    if top < least_mm:
        return PassPlan(stock_mm=stock, largest_mm=top, limit=limit, state="rubs")
    rough, last = _cuts_mm(stock, top, last_mm)
    sizes = [present_mm]
    for cut in rough:
        sizes.append(sizes[-1] + cut)
    sizes.append(bored_mm)
    return PassPlan(
        stock_mm=stock,
        largest_mm=top,
        limit=limit,
        state="bore",
        passes=tuple(Pass(i + 1, sizes[i], sizes[i + 1]) for i in range(len(rough) + 1)),
        last_mm=last,
    )


def _cuts_mm(stock: float, top: float, last_mm: float) -> tuple[list[float], float]:
    """Equal roughing cuts, none above ``top``, and the last cut, the lightest."""
    # one cut half as heavy again as a last pass is still light: no sense in splitting it
    last = stock if stock <= min(1.5 * last_mm, top) else min(last_mm, top)
    rough = stock - last
    count = math.ceil(rough / top - _SLACK_MM) if rough > _SLACK_MM else 0
    if count and rough / count < last:
        # too little is left for a heavier roughing pass: make them all alike
        last = stock / (count + 1)
        rough = stock - last
    return [rough / count for _ in range(count)], last


def bore_time_s(length_mm: float, feed_mm: float, spin_rpm: float, *, runs_mm: float = 10.0) -> float:
    """Time of one pass in s: (bore length + run in and out) / (f n)."""
    above_zero(length_mm=length_mm, feed_mm=feed_mm, spin_rpm=spin_rpm)
    return 60.0 * (length_mm + runs_mm) / (feed_mm * spin_rpm)


def cutting_length_m(diameter_mm: float, length_mm: float, feed_mm: float) -> float:
    """How far the edge travels through iron in one pass, in m: π D · L / f."""
    above_zero(diameter_mm=diameter_mm, length_mm=length_mm, feed_mm=feed_mm)
    return math.hypot(math.pi * diameter_mm, feed_mm) * (length_mm / feed_mm) / 1000.0
