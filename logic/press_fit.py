"""A dry sleeve in numbers: press fit, the size to bore, the grip, and how it drops in. No sentence.

Lamé's thick cylinders without end load; :mod:`logic.sleeve` states the relations and puts
the figures into words. Diameters and interference on diameter in mm, stresses in MPa.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from .constants import constant

__all__ = [
    "COLD_IRON_PER_K",
    "DRY_ICE_C",
    "FIT_WINDOW_MM",
    "FLATTENED_MM",
    "GREY_IRON",
    "LEAST_FIT_PER_MM",
    "MOST_FIT_PER_MM",
    "NITROGEN_C",
    "BoreFit",
    "DropIn",
    "Finishing",
    "Grip",
    "Iron",
    "Sleeve",
    "above_zero",
    "bore_change_mm",
    "bore_fit",
    "contact_pressure_mpa",
    "drop_in",
    "finishing_of",
    "grip_of",
    "hoop_block_mpa",
    "hoop_sleeve_mpa",
    "plausible",
    "push_force_n",
]

#: Default interference on diameter per millimetre of diameter, iron in iron (common practice).
LEAST_FIT_PER_MM = constant("sleeve.fit_least").value
MOST_FIT_PER_MM = constant("sleeve.fit_most").value
#: The range from least to most is never narrower than this, mm: a small sleeve's share of its diameter is too fine
#: a range to be made, or measured.
FIT_WINDOW_MM = constant("sleeve.fit_window").value
COLD_IRON_PER_K = constant("expansion.grey_iron_cold").value
#: Interference lost where the surfaces are pressed together, on diameter.
FLATTENED_MM = constant("sleeve.flattened_share").value * constant("sleeve.flattened_rz").value / 1000
DRY_ICE_C = constant("temperature.dry_ice").value
NITROGEN_C = constant("temperature.nitrogen").value


def above_zero(name: str, value: float) -> None:
    """Raise ValueError for a value that is not finite and above zero."""
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{name} must be above zero, not {value}")


@dataclass(frozen=True, slots=True)
class Iron:
    """What a ring is made of: stiffness (MPa), Poisson's ratio, expansion (1/K)."""

    modulus_mpa: float
    poisson: float
    expansion_per_k: float

    def __post_init__(self) -> None:
        above_zero("modulus", self.modulus_mpa)
        above_zero("expansion", self.expansion_per_k)
        if not 0 <= self.poisson < 0.5:
            raise ValueError(f"Poisson's ratio must be from 0 to below 0.5, not {self.poisson}")


#: Grey iron of an engine block.
GREY_IRON = Iron(
    constant("modulus.grey_iron").value, constant("poisson.grey_iron").value, constant("expansion.grey_iron").value
)


def _rings(joint_mm: float, inner_mm: float, outer_mm: float) -> tuple[float, float]:
    """C_o and C_i of the two rings."""
    above_zero("sleeve bore", inner_mm)
    if not inner_mm < joint_mm < outer_mm:
        raise ValueError(f"the rings do not nest: {inner_mm}, {joint_mm}, {outer_mm}")
    d2, i2, o2 = joint_mm**2, inner_mm**2, outer_mm**2
    return (o2 + d2) / (o2 - d2), (d2 + i2) / (d2 - i2)


def contact_pressure_mpa(
    interference_mm: float,
    joint_mm: float,
    inner_mm: float,
    outer_mm: float,
    sleeve: Iron = GREY_IRON,
    block: Iron = GREY_IRON,
) -> float:
    """Pressure between sleeve and block; zero where there is no interference.

    Diameters in mm, ``interference_mm`` on diameter. Raises ValueError if the
    diameters do not nest (sleeve bore < joint < outside).
    """
    c_o, c_i = _rings(joint_mm, inner_mm, outer_mm)
    if interference_mm <= 0:
        return 0.0
    give = (c_o + block.poisson) / block.modulus_mpa + (c_i - sleeve.poisson) / sleeve.modulus_mpa
    return interference_mm / (joint_mm * give)


def hoop_block_mpa(pressure_mpa: float, joint_mm: float, outer_mm: float) -> float:
    """Tension round the block at the joint, MPa."""
    return pressure_mpa * (outer_mm**2 + joint_mm**2) / (outer_mm**2 - joint_mm**2)


def hoop_sleeve_mpa(pressure_mpa: float, joint_mm: float, inner_mm: float) -> float:
    """Stress round the sleeve at its bore, MPa; negative, since it is squeezed."""
    return -2 * pressure_mpa * joint_mm**2 / (joint_mm**2 - inner_mm**2)


def bore_change_mm(pressure_mpa: float, joint_mm: float, inner_mm: float, sleeve: Iron = GREY_IRON) -> float:
    """How the sleeve's bore changes under the pressure, mm on diameter; negative, it closes in."""
    return hoop_sleeve_mpa(pressure_mpa, joint_mm, inner_mm) * inner_mm / sleeve.modulus_mpa


def push_force_n(pressure_mpa: float, joint_mm: float, length_mm: float, friction: float) -> float:
    """Force to push the sleeve over its whole length: friction × pressure × π d L."""
    above_zero("length", length_mm)
    above_zero("friction", friction)
    return friction * pressure_mpa * math.pi * joint_mm * length_mm


def plausible(outside_mm: float, inside_mm: float) -> bool:
    """Whether the two sizes can be those of a sleeve: a wall of half a millimetre at least."""
    return outside_mm - inside_mm >= 1.0


# -- the sleeve in hand ------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Sleeve:
    """The sleeve in hand and where it goes.

    ``outside_mm`` (standard uncertainty ``u_outside_mm``) and ``inside_mm`` as measured
    before fitting, at 20 °C; ``length_mm`` in contact. ``fit_mm`` is the range of
    interference on diameter, or None for the default per unit of diameter (:data:`FIT_WINDOW_MM` wide at least).
    """

    outside_mm: float
    inside_mm: float
    length_mm: float
    u_outside_mm: float = 0.003
    fit_mm: tuple[float, float] | None = None
    iron: Iron = GREY_IRON

    def __post_init__(self) -> None:
        above_zero("length", self.length_mm)
        above_zero("sleeve bore", self.inside_mm)
        if not plausible(self.outside_mm, self.inside_mm):
            raise ValueError("a sleeve must be larger outside than inside")
        if self.u_outside_mm < 0:
            raise ValueError("an uncertainty cannot be below zero")
        if self.fit_mm is not None and not 0 <= self.fit_mm[0] <= self.fit_mm[1] < self.outside_mm - self.inside_mm:
            raise ValueError(f"the interference must run from least to most, not {self.fit_mm}")

    @property
    def interference_mm(self) -> tuple[float, float]:
        """Least and most interference on diameter, mm."""
        if self.fit_mm is not None:
            return self.fit_mm
        least = LEAST_FIT_PER_MM * self.outside_mm
        return least, max(MOST_FIT_PER_MM * self.outside_mm, least + FIT_WINDOW_MM)

    def interference_or(self, measured_mm: float | None) -> tuple[float, float]:
        """Least and most interference, mm: the measured one where there is one."""
        return self.interference_mm if measured_mm is None else (measured_mm, measured_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoreFit:
    """The size to bore for a sleeve, mm: ``aim_mm`` between ``least_mm`` and ``most_mm``.

    ``has_mm`` is the interference as bored, with standard uncertainty ``u_mm`` (both None
    until measured). ``state`` is "to bore", "right", "large", "small" or "close" (too near
    a limit to call).
    """

    aim_mm: float
    least_mm: float
    most_mm: float
    state: str
    has_mm: float | None = None
    u_mm: float | None = None

    def decides(self, u_mm: float) -> bool:
        """Whether a fit known to ``u_mm`` (standard uncertainty) can ever be called right: the range leaves room for it."""
        return self.most_mm - self.least_mm > 4 * u_mm


def bore_fit(sleeve: Sleeve, bored_mm: float | None, u_bored_mm: float) -> BoreFit:
    """The size to bore, or the fit as bored, guarded by both uncertainties at k = 2 (ISO 14253-1)."""
    low, high = sleeve.interference_mm
    least, most = sleeve.outside_mm - high, sleeve.outside_mm - low
    aim = (least + most) / 2
    if bored_mm is None:
        return BoreFit(aim_mm=aim, least_mm=least, most_mm=most, state="to bore")
    above_zero("bored size", bored_mm)
    has = sleeve.outside_mm - bored_mm
    u = math.hypot(sleeve.u_outside_mm, u_bored_mm)
    if low + 2 * u <= has <= high - 2 * u:
        state = "right"
    elif has < low - 2 * u:
        state = "large"
    else:
        state = "small" if has > high + 2 * u else "close"
    return BoreFit(aim_mm=aim, least_mm=least, most_mm=most, state=state, has_mm=has, u_mm=u)


# -- grip --------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Grip:
    """What the fit does, at its least and its most: pressures and stresses in MPa, push forces in N.

    ``stays_mpa`` is the pressure, and ``stays_n`` the push force, that remain once the
    sleeve is bored out. ``u_block_mpa`` is the standard uncertainty of ``block_high_mpa``,
    made up of ``parts_mpa`` ("fit", "wall", "iron").
    """

    joint_mm: float
    pressure_low_mpa: float
    pressure_high_mpa: float
    block_low_mpa: float
    block_high_mpa: float
    u_block_mpa: float
    parts_mpa: dict[str, float]
    squeeze_low_mpa: float
    squeeze_high_mpa: float
    push_low_n: float
    push_high_n: float
    stays_mpa: float
    stays_n: float


def grip_of(
    sleeve: Sleeve,
    *,
    wall_mm: float,
    u_wall_mm: float,
    finished_mm: float,
    interference_mm: float | None,
    friction: float,
    block: Iron,
) -> Grip:
    """Contact pressure, stress and push force at both ends of the interference; see :func:`logic.sleeve.grip`.

    The push forces are bounds: the most for a block that does not give at all and the
    upper friction, the least for its least wall, the lower friction, and the interference
    without what pressing flattens (0.8 of the grooves of both surfaces, DIN 7190, from memory).
    Spread of the greatest block stress: sleeve and bore sizes, wall, and the iron's
    stiffness (a tenth, the spread inside one grade; EN 1561, from memory).
    """
    low, high = sleeve.interference_or(interference_mm)
    d = sleeve.outside_mm - (low + high) / 2

    def hoop(interference: float, wall: float, stiff: float = 1.0) -> tuple[float, float]:
        ring = d + 2 * wall
        b = Iron(block.modulus_mpa * stiff, block.poisson, block.expansion_per_k)
        s = Iron(sleeve.iron.modulus_mpa * stiff, sleeve.iron.poisson, sleeve.iron.expansion_per_k)
        p = contact_pressure_mpa(interference, d, sleeve.inside_mm, ring, s, b)
        return p, hoop_block_mpa(p, d, ring)

    w = wall_mm
    friction_row = constant("friction.press_fit")
    # pressed in, the tops of the grooves are sheared or pressed flat: that much less interference is sure
    sure = max(0.0, low - FLATTENED_MM)
    p_low, s_low = hoop(sure, w)
    p_high, s_high = hoop(high, w)
    stays = contact_pressure_mpa(sure, d, finished_mm, d + 2 * w, sleeve.iron, block) if finished_mm < d else 0.0
    parts = {"fit": 0.0, "wall": 0.0, "iron": 0.0}
    if high > 0:
        parts = {
            "fit": s_high / high * math.hypot(sleeve.u_outside_mm, sleeve.u_outside_mm),
            "wall": (hoop(high, w * 1.01)[1] - s_high) / (w * 0.01) * u_wall_mm,
            "iron": hoop(high, w, 1.05)[1] - hoop(high, w, 0.95)[1],
        }
    return Grip(
        joint_mm=d,
        pressure_low_mpa=p_low,
        pressure_high_mpa=p_high,
        block_low_mpa=s_low,
        block_high_mpa=s_high,
        u_block_mpa=math.sqrt(sum(v * v for v in parts.values())),
        parts_mpa=parts,
        squeeze_low_mpa=-hoop_sleeve_mpa(p_low, d, sleeve.inside_mm),
        squeeze_high_mpa=-hoop_sleeve_mpa(p_high, d, sleeve.inside_mm),
        push_low_n=push_force_n(p_low, d, sleeve.length_mm, friction * friction_row.low / friction_row.value),
        push_high_n=push_force_n(
            _stiff_pressure_mpa(sleeve, high + 2 * math.hypot(sleeve.u_outside_mm, sleeve.u_outside_mm), d),
            d,
            sleeve.length_mm,
            friction * friction_row.high / friction_row.value,
        ),
        stays_mpa=stays,
        stays_n=push_force_n(stays, d, sleeve.length_mm, friction * friction_row.low / friction_row.value),
    )


# -- dropping it in ----------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class DropIn:
    """Temperatures at which a sleeve drops in: the block with the sleeve at ``sleeve_c``, and either alone."""

    sleeve_c: float
    shrink_mm: float
    block_c: float
    block_alone_c: float
    sleeve_alone_c: float


def drop_in(
    sleeve: Sleeve,
    *,
    interference_mm: float | None,
    clearance_mm: float,
    room_c: float,
    sleeve_c: float | None,
    block: Iron,
    cold_per_k: float,
) -> DropIn:
    """The temperatures for ``clearance_mm`` to spare. Raises ValueError if the sleeve is to be warmer than the room."""
    above_zero("clearance", clearance_mm)
    most = sleeve.interference_or(interference_mm)[1]
    d = sleeve.outside_mm
    cold = room_c if sleeve_c is None else sleeve_c
    if cold > room_c:
        raise ValueError("a sleeve warmer than the room would not help")
    gap = max(0.0, most) + clearance_mm
    shrink = cold_per_k * d * (room_c - cold)
    grow = block.expansion_per_k * (d - most)
    return DropIn(
        sleeve_c=cold,
        shrink_mm=shrink,
        block_c=room_c + max(0.0, gap - shrink) / grow,
        block_alone_c=room_c + gap / grow,
        sleeve_alone_c=room_c - gap / (cold_per_k * d),
    )


# -- finishing it ------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Finishing:
    """The fitted sleeve, mm: its bore closes by ``closes_mm`` to ``inside_mm``.

    ``stock_mm`` is left to bore and hone, on diameter, and ``left_mm`` is the wall that
    remains. ``state`` is "over" (no stock), "thin", "short" (of stock) or "right".
    """

    closes_mm: float
    u_closes_mm: float
    inside_mm: float
    stock_mm: float
    left_mm: float
    state: str


def finishing_of(
    sleeve: Sleeve,
    *,
    wall_mm: float | None,
    finished_mm: float,
    interference_mm: float | None,
    least_stock_mm: float,
    least_sleeve_mm: float,
    block: Iron,
) -> Finishing:
    """The sleeve's bore after fitting; a ``wall_mm`` of None counts as a block that does not give at all."""
    low, high = sleeve.interference_or(interference_mm)
    above_zero("finished bore", finished_mm)
    d = sleeve.outside_mm - (low + high) / 2
    closes = [_closes_mm(sleeve, fit_mm, d, wall_mm, block) for fit_mm in (low, high)]
    inside = sleeve.inside_mm - sum(closes) / 2
    stock, left = finished_mm - inside, (d - finished_mm) / 2
    if stock <= 0:
        state = "over"
    elif left < least_sleeve_mm:
        state = "thin"
    else:
        state = "short" if stock < least_stock_mm else "right"
    return Finishing(
        closes_mm=sum(closes) / 2,
        u_closes_mm=(closes[1] - closes[0]) / (2 * math.sqrt(3)),
        inside_mm=inside,
        stock_mm=stock,
        left_mm=left,
        state=state,
    )


def _stiff_pressure_mpa(sleeve: Sleeve, fit_mm: float, joint_mm: float) -> float:
    """The pressure in a block that does not give: the sleeve takes the whole interference."""
    c_i = (joint_mm**2 + sleeve.inside_mm**2) / (joint_mm**2 - sleeve.inside_mm**2)
    return max(0.0, fit_mm) * sleeve.iron.modulus_mpa / (joint_mm * (c_i - sleeve.iron.poisson))


def _closes_mm(sleeve: Sleeve, fit_mm: float, joint_mm: float, wall_mm: float | None, block: Iron) -> float:
    d = joint_mm
    if wall_mm is not None:
        p = contact_pressure_mpa(fit_mm, d, sleeve.inside_mm, d + 2 * wall_mm, sleeve.iron, block)
    else:
        p = _stiff_pressure_mpa(sleeve, fit_mm, d)
    return -bore_change_mm(p, d, sleeve.inside_mm, sleeve.iron)
