"""A dry sleeve in a bored-out cylinder: size to bore, grip, stress, and how to get it in.

Lamé's thick cylinders without end load (as in Shigley's Mechanical Engineering
Design, press and shrink fits). With d the diameter of the joint, d_i the sleeve's bore,
d_o the outside of the iron round it, and δ the interference on diameter:

    p = δ / (d [ (C_o + ν_o)/E_o + (C_i − ν_i)/E_i ]),
    C_o = (d_o² + d²)/(d_o² − d²),  C_i = (d² + d_i²)/(d² − d_i²)

    hoop stress: block at the joint p C_o (tension), sleeve at its bore −2 p d²/(d² − d_i²)
    change of the sleeve's bore: −2 p d² d_i / (E_i (d² − d_i²))
    push force μ p π d L

A cylinder wall is no free ring: it is tied to its neighbours and the deck, and its
thickness varies. Taking the least wall all round as the ring overstates the stress in
the block and understates the grip; results say so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from .cautions import caution
from .constants import constant
from .result import Assumption, Figure, Influence, Result, Verdict
from .say import LN, L, Qty

__all__ = [
    "COLD_IRON_PER_K",
    "GREY_IRON",
    "LEAST_FIT_PER_MM",
    "MOST_FIT_PER_MM",
    "Iron",
    "Sleeve",
    "SleeveBore",
    "bore_change_mm",
    "bore_for_sleeve",
    "contact_pressure_mpa",
    "finishing",
    "fitting",
    "grip",
    "hoop_block_mpa",
    "hoop_sleeve_mpa",
    "none_wanted",
    "plausible",
    "push_force_n",
]

#: Default interference on diameter per millimetre of diameter, iron in iron (common practice).
LEAST_FIT_PER_MM = constant("sleeve.fit_least").value
MOST_FIT_PER_MM = constant("sleeve.fit_most").value
COLD_IRON_PER_K = constant("expansion.grey_iron_cold").value
DRY_ICE_C = constant("temperature.dry_ice").value
NITROGEN_C = constant("temperature.nitrogen").value


def _above_zero(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{name} must be above zero, not {value}")


@dataclass(frozen=True, slots=True)
class Iron:
    """What a ring is made of: stiffness (MPa), Poisson's ratio, expansion (1/K)."""

    modulus_mpa: float
    poisson: float
    expansion_per_k: float

    def __post_init__(self) -> None:
        _above_zero("modulus", self.modulus_mpa)
        _above_zero("expansion", self.expansion_per_k)
        if not 0 <= self.poisson < 0.5:
            raise ValueError(f"Poisson's ratio must be from 0 to below 0.5, not {self.poisson}")


#: Grey iron of an engine block.
GREY_IRON = Iron(
    constant("modulus.grey_iron").value, constant("poisson.grey_iron").value, constant("expansion.grey_iron").value
)


def _rings(joint_mm: float, inner_mm: float, outer_mm: float) -> tuple[float, float]:
    """C_o and C_i of the two rings."""
    _above_zero("sleeve bore", inner_mm)
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
    _above_zero("length", length_mm)
    _above_zero("friction", friction)
    return friction * pressure_mpa * math.pi * joint_mm * length_mm


def plausible(outside_mm: float, inside_mm: float) -> bool:
    """Whether the two sizes can be those of a sleeve: a wall of half a millimetre at least."""
    return outside_mm - inside_mm >= 1.0


def none_wanted(advised: tuple[int, ...]) -> Result:
    """What to say while no cylinder is marked for a sleeve; ``advised`` are those that no oversize cleans up."""
    if advised:
        return Result(
            key="sleeve.none",
            line=LN(
                "No oversize cleans up cylinder {cylinders}: mark it for a sleeve.",
                "No oversize cleans up cylinders {cylinders}: mark them for sleeves.",
                len(advised),
                cylinders=advised,
            ),
            verdict=Verdict.MAYBE,
            assumptions=(Assumption(L("The oversize advised stands."), "entered"),),
        )
    return Result(
        key="sleeve.none",
        line=L("No cylinder gets a sleeve."),
        assumptions=(Assumption(L("Every cylinder cleans up, and none is cracked or porous."), "entered"),),
    )


# -- results ---------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Sleeve:
    """The sleeve in hand and where it goes.

    ``outside_mm`` (standard uncertainty ``u_outside_mm``) and ``inside_mm`` as measured
    before fitting, at 20 °C; ``length_mm`` in contact. ``fit_mm`` is the range of
    interference on diameter, or None for the default per unit of diameter.
    """

    outside_mm: float
    inside_mm: float
    length_mm: float
    u_outside_mm: float = 0.003
    fit_mm: tuple[float, float] | None = None
    iron: Iron = GREY_IRON

    def __post_init__(self) -> None:
        _above_zero("length", self.length_mm)
        _above_zero("sleeve bore", self.inside_mm)
        if not plausible(self.outside_mm, self.inside_mm):
            raise ValueError("a sleeve must be larger outside than inside")
        if self.u_outside_mm < 0:
            raise ValueError("an uncertainty cannot be below zero")
        if self.fit_mm is not None and not 0 <= self.fit_mm[0] <= self.fit_mm[1] < self.outside_mm - self.inside_mm:
            raise ValueError(f"the interference must run from least to most, not {self.fit_mm}")

    @property
    def interference_mm(self) -> tuple[float, float]:
        """Least and most interference on diameter, mm."""
        return self.fit_mm or (LEAST_FIT_PER_MM * self.outside_mm, MOST_FIT_PER_MM * self.outside_mm)


@dataclass(frozen=True, kw_only=True)
class SleeveBore(Result):
    """The size to bore the block for a sleeve: aim, least and most, mm at 20 °C.

    ``interference_mm`` is what the bored size gives, where it was measured and is one
    that the sleeve can be fitted with; else None.
    """

    cylinder: int
    aim_mm: float
    least_mm: float
    most_mm: float
    interference_mm: float | None = None


def bore_for_sleeve(
    cylinder: int, sleeve: Sleeve, *, bored_mm: float | None = None, u_bored_mm: float = 0.003
) -> SleeveBore:
    """The size to bore for ``sleeve``, or the verdict on ``bored_mm`` once that is measured.

    The sleeve's and the bore's uncertainties guard the judgement (ISO 14253-1): go
    only where the interference is inside its range with both counted at k = 2.
    """
    low, high = sleeve.interference_mm
    least, most = sleeve.outside_mm - high, sleeve.outside_mm - low
    aim = (least + most) / 2
    gaps = {"cylinder": cylinder, "aim": Qty(aim, "size"), "least": Qty(least, "size"), "most": Qty(most, "size")}
    why = [
        L(
            "The sleeve measures {outside} outside; it is to be {low} to {high} larger than its bore.",
            outside=Qty(sleeve.outside_mm, "size", sleeve.u_outside_mm),
            low=Qty(low, "diff"),
            high=Qty(high, "diff"),
        )
    ]
    verdict = Verdict.INFO
    line = L("Bore cylinder {cylinder} to {aim} for its sleeve, no less than {least} and no more than {most}.", **gaps)
    figures = [
        Figure("aim", L("Bore for the sleeve"), gaps["aim"]),
        Figure("least", L("Smallest"), gaps["least"]),
        Figure("most", L("Largest"), gaps["most"]),
    ]
    if bored_mm is not None:
        _above_zero("bored size", bored_mm)
        has = sleeve.outside_mm - bored_mm
        u = math.hypot(sleeve.u_outside_mm, u_bored_mm)
        figures.append(Figure("interference", L("Interference as bored"), Qty(has, "diff", u)))
        gaps["has"] = Qty(has, "diff", u)
        if low + 2 * u <= has <= high - 2 * u:
            verdict = Verdict.GO
            line = L("Cylinder {cylinder}'s sleeve grips by {has}: right.", **gaps)
        elif has < low - 2 * u:
            verdict = Verdict.STOP
            line = L("Cylinder {cylinder} is bored too large for this sleeve: it would grip by only {has}.", **gaps)
        elif has > high + 2 * u:
            verdict = Verdict.STOP
            line = L(
                "Cylinder {cylinder} is still too small for this sleeve: it would grip by {has}. Bore to {aim}.", **gaps
            )
        else:
            verdict = Verdict.MAYBE
            line = L(
                "Cylinder {cylinder}'s sleeve grips by {has}, too near the limit to call: measure both again.", **gaps
            )
    assumptions = [
        Assumption(L("Sleeve and bore are measured at the same temperature, or both brought to 20 °C."), "ISO 1"),
    ]
    if sleeve.fit_mm is None:
        assumptions.append(
            Assumption(
                L("The interference is {low} to {high}.", low=Qty(low, "diff"), high=Qty(high, "diff")),
                "common practice",
            )
        )
    return SleeveBore(
        key=f"sleeve.bore.{cylinder}",
        line=line,
        value=Qty(aim, "size"),
        verdict=verdict,
        why=tuple(why),
        figures=tuple(figures),
        assumptions=tuple(assumptions),
        cylinder=cylinder,
        aim_mm=aim,
        least_mm=least,
        most_mm=most,
        interference_mm=None if bored_mm is None or verdict == Verdict.STOP else sleeve.outside_mm - bored_mm,
    )


def grip(
    cylinder: int,
    sleeve: Sleeve,
    *,
    wall: Qty | None,
    finished_mm: float,
    interference_mm: float | None = None,
    friction: float = 0.12,
    block: Iron = GREY_IRON,
    block_limit_mpa: float = 60.0,
) -> Result:
    """Contact pressure, stress in block and sleeve, and push force, at both ends of the interference.

    ``wall`` is the least wall left round the bore for the sleeve (value and u in mm);
    None asks for it. ``interference_mm`` is the measured interference, if bored.
    ``finished_mm`` is the sleeve's bore when finished: the grip that stays is worked
    out for the thinned sleeve. ``block_limit_mpa`` is the tension allowed in the block.
    """
    low, high = (interference_mm, interference_mm) if interference_mm is not None else sleeve.interference_mm
    if wall is None or wall.value <= 0:
        return Result(
            key=f"sleeve.grip.{cylinder}",
            line=L(
                "Cylinder {cylinder}: measure the walls to learn what a sleeve does to the block.", cylinder=cylinder
            )
            if wall is None
            else L("Cylinder {cylinder}: there is no wall left to hold this sleeve.", cylinder=cylinder),
            verdict=Verdict.MAYBE if wall is None else Verdict.STOP,
            assumptions=(Assumption(L("The iron round the sleeve bears its grip."), "Lamé"),),
        )
    d = sleeve.outside_mm - (low + high) / 2

    def hoop(interference: float, wall_mm: float, stiff: float = 1.0) -> tuple[float, float]:
        ring = d + 2 * wall_mm
        b = Iron(block.modulus_mpa * stiff, block.poisson, block.expansion_per_k)
        s = Iron(sleeve.iron.modulus_mpa * stiff, sleeve.iron.poisson, sleeve.iron.expansion_per_k)
        p = contact_pressure_mpa(interference, d, sleeve.inside_mm, ring, s, b)
        return p, hoop_block_mpa(p, d, ring)

    w = wall.value
    p_low, s_low = hoop(low, w)
    p_high, s_high = hoop(high, w)
    stays = contact_pressure_mpa(low, d, finished_mm, d + 2 * w, sleeve.iron, block) if finished_mm < d else 0.0
    # Spread of the greatest block stress: sleeve and bore sizes, wall, and the iron's
    # stiffness (a tenth, the spread inside one grade; EN 1561, from memory).
    if high > 0:
        du = {
            "fit": s_high / high * math.hypot(sleeve.u_outside_mm, sleeve.u_outside_mm),
            "wall": (hoop(high, w * 1.01)[1] - s_high) / (w * 0.01) * (wall.u or 0.0),
            "iron": hoop(high, w, 1.05)[1] - hoop(high, w, 0.95)[1],
        }
    else:
        du = {"fit": 0.0, "wall": 0.0, "iron": 0.0}
    u = math.sqrt(sum(v * v for v in du.values()))
    names = {
        "fit": L("The interference"),
        "wall": L("The wall left round the sleeve"),
        "iron": L("How stiff the iron is"),
    }
    gaps = {
        "cylinder": cylinder,
        "low": Qty(p_low, "pressure"),
        "high": Qty(p_high, "pressure"),
        "stress": Qty(s_high, "pressure", u),
        "limit": Qty(block_limit_mpa, "pressure"),
        "force": Qty(push_force_n(p_high, d, sleeve.length_mm, friction), "heavy_force"),
    }
    if s_high + 2 * u <= block_limit_mpa:
        verdict = Verdict.GO
        line = L(
            "Cylinder {cylinder}'s sleeve presses on the block with {low} to {high}; the block bears {stress}, allowed {limit}.",
            **gaps,
        )
    elif s_high - 2 * u > block_limit_mpa:
        verdict = Verdict.STOP
        line = L(
            "Cylinder {cylinder}'s sleeve could stress the block to {stress}, over the {limit} allowed: use less interference.",
            **gaps,
        )
    else:
        verdict = Verdict.MAYBE
        line = L(
            "Cylinder {cylinder}'s sleeve stresses the block to about {stress}, too near the {limit} allowed to call.",
            **gaps,
        )
    if finished_mm >= d:
        verdict = Verdict.STOP
        line = L("Cylinder {cylinder}'s sleeve would be bored away altogether: choose a thicker one.", **gaps)
    variance = u * u
    return Result(
        key=f"sleeve.grip.{cylinder}",
        line=line,
        value=Qty(p_high, "pressure"),
        verdict=verdict,
        why=(
            L("Pushing it in takes up to {force} at the end of its travel.", **gaps),
            L(
                "After the sleeve is bored out it still grips with at least {stays}.",
                stays=Qty(push_force_n(stays, d, sleeve.length_mm, friction), "heavy_force"),
            ),
        ),
        figures=(
            Figure("pressure_low", L("Contact pressure, least"), Qty(p_low, "pressure")),
            Figure("pressure_high", L("Contact pressure, most"), Qty(p_high, "pressure")),
            Figure("block_low", L("Tension in the block, least"), Qty(s_low, "pressure")),
            Figure("block_high", L("Tension in the block, most"), Qty(s_high, "pressure", u)),
            Figure(
                "sleeve_low",
                L("Squeeze in the sleeve, least"),
                Qty(-hoop_sleeve_mpa(p_low, d, sleeve.inside_mm), "pressure"),
            ),
            Figure(
                "sleeve_high",
                L("Squeeze in the sleeve, most"),
                Qty(-hoop_sleeve_mpa(p_high, d, sleeve.inside_mm), "pressure"),
            ),
            Figure(
                "push_low",
                L("Push force, least"),
                Qty(push_force_n(p_low, d, sleeve.length_mm, friction), "heavy_force"),
            ),
            Figure("push_high", L("Push force, most"), gaps["force"]),
            Figure("stays", L("Pressure left after boring the sleeve"), Qty(stays, "pressure")),
        ),
        assumptions=(
            Assumption(
                L("The block counts as a free ring as thick as its least wall; the real block is stiffer."), "Lamé"
            ),
            Assumption(
                L(
                    "The iron's modulus is {block} in the block and {sleeve} in the sleeve.",
                    block=Qty(block.modulus_mpa, "modulus"),
                    sleeve=Qty(sleeve.iron.modulus_mpa, "modulus"),
                ),
                "from memory",
            ),
        ),
        influences=tuple(
            sorted((Influence(names[k], v * v / variance) for k, v in du.items() if v), key=lambda i: -i.share)
        )
        if variance
        else (),
        cautions=(caution("press_guards"),),
    )


def fitting(
    cylinder: int,
    sleeve: Sleeve,
    *,
    interference_mm: float | None = None,
    drop_clearance_mm: float = 0.05,
    room_c: float = 20.0,
    sleeve_c: float | None = None,
    block_limit_c: float = 120.0,
    block: Iron = GREY_IRON,
    cold_per_k: float = COLD_IRON_PER_K,
) -> Result:
    """Temperatures at which the sleeve drops in by its own weight with ``drop_clearance_mm`` to spare.

    ``sleeve_c`` is how cold the sleeve is made (None: left at room temperature), and
    ``block_limit_c`` how hot the block may get where it stands. The value is the block
    temperature needed. Also gives the block alone and the sleeve alone. Raises
    ValueError if the sleeve is to be warmer than the room.
    """
    _above_zero("clearance", drop_clearance_mm)
    most = interference_mm if interference_mm is not None else sleeve.interference_mm[1]
    d = sleeve.outside_mm
    cold = room_c if sleeve_c is None else sleeve_c
    if cold > room_c:
        raise ValueError("a sleeve warmer than the room would not help")
    gap = max(0.0, most) + drop_clearance_mm
    shrink = cold_per_k * d * (room_c - cold)
    grow = block.expansion_per_k * (d - most)
    block_c = room_c + max(0.0, gap - shrink) / grow
    block_alone = room_c + gap / grow
    sleeve_alone = room_c - gap / (cold_per_k * d)
    gaps = {
        "cylinder": cylinder,
        "block": Qty(block_c, "temperature"),
        "sleeve": Qty(cold, "temperature"),
        "limit": Qty(block_limit_c, "temperature"),
        "alone": Qty(block_alone, "temperature"),
        "cold": Qty(sleeve_alone, "temperature"),
    }
    cautions = []
    if block_c <= block_limit_c:
        verdict = Verdict.GO
        if block_c <= room_c:
            line = L("Cylinder {cylinder}'s sleeve drops in without heat once it is at {sleeve}.", **gaps)
        elif cold < room_c:
            line = L(
                "Cylinder {cylinder}'s sleeve drops in with the block at {block} and the sleeve at {sleeve}.", **gaps
            )
        else:
            line = L("Cylinder {cylinder}'s sleeve drops in with the block at {block}.", **gaps)
    else:
        verdict = Verdict.STOP
        line = L(
            "Cylinder {cylinder} would need the block at {block}, over the {limit} allowed here: cool the sleeve or press it in.",
            **gaps,
        )
    if block_c > room_c:
        cautions.append(caution("hot_metal"))
    if cold < 0:
        cautions.append(caution("deep_cold"))
    why = [L("The block alone would have to reach {alone}; the sleeve alone, {cold}.", **gaps)]
    if sleeve_alone < NITROGEN_C:
        why.append(
            L(
                "No cold within reach does it alone: liquid nitrogen boils at {cold}.",
                cold=Qty(NITROGEN_C, "temperature"),
            )
        )
    elif sleeve_alone < DRY_ICE_C:
        why.append(L("Dry ice, at {cold}, does not do it alone.", cold=Qty(DRY_ICE_C, "temperature")))
    why.append(L("The sleeve warms within seconds of touching: have the way in clear and a stop under it."))
    return Result(
        key=f"sleeve.fitting.{cylinder}",
        line=line,
        value=gaps["block"],
        verdict=verdict,
        why=tuple(why),
        figures=(
            Figure("block", L("Block temperature"), gaps["block"]),
            Figure("block_alone", L("Block temperature, sleeve not cooled"), gaps["alone"]),
            Figure("sleeve_alone", L("Sleeve temperature, block not heated"), gaps["cold"]),
            Figure("shrink", L("Shrinkage of the cooled sleeve"), Qty(shrink, "diff")),
        ),
        assumptions=(
            Assumption(
                L(
                    "The block grows by {alpha} all round, evenly heated.",
                    alpha=Qty(block.expansion_per_k, "expansion"),
                ),
                "from memory",
            ),
            Assumption(L("A cold sleeve shrinks by {alpha}.", alpha=Qty(cold_per_k, "expansion")), "from memory"),
        ),
        cautions=tuple(cautions),
    )


def finishing(
    cylinder: int,
    sleeve: Sleeve,
    *,
    wall: Qty | None,
    finished_mm: float,
    interference_mm: float | None = None,
    least_stock_mm: float = 0.4,
    least_sleeve_mm: float = 1.5,
    block: Iron = GREY_IRON,
) -> Result:
    """The sleeve's bore after fitting, the stock left to bore and hone, and the sleeve wall that remains.

    ``finished_mm`` is the finished bore; ``least_stock_mm`` on diameter cleans the
    sleeve up; ``least_sleeve_mm`` is the thinnest finished sleeve.
    """
    low, high = (interference_mm, interference_mm) if interference_mm is not None else sleeve.interference_mm
    _above_zero("finished bore", finished_mm)
    d = sleeve.outside_mm - (low + high) / 2
    closes = []
    for fit_mm in (low, high):
        if wall is not None and wall.value > 0:
            p = contact_pressure_mpa(fit_mm, d, sleeve.inside_mm, d + 2 * wall.value, sleeve.iron, block)
            closes.append(-bore_change_mm(p, d, sleeve.inside_mm, sleeve.iron))
        else:  # a block that does not give: the sleeve takes the whole interference
            c_i = (d**2 + sleeve.inside_mm**2) / (d**2 - sleeve.inside_mm**2)
            p = max(0.0, fit_mm) * sleeve.iron.modulus_mpa / (d * (c_i - sleeve.iron.poisson))
            closes.append(-bore_change_mm(p, d, sleeve.inside_mm, sleeve.iron))
    inside = sleeve.inside_mm - sum(closes) / 2
    stock = finished_mm - inside
    left = (d - finished_mm) / 2
    gaps = {
        "cylinder": cylinder,
        "closes": Qty(sum(closes) / 2, "diff", (closes[1] - closes[0]) / (2 * math.sqrt(3))),
        "inside": Qty(inside, "size"),
        "stock": Qty(stock, "diff"),
        "left": Qty(left, "wall"),
        "least": Qty(least_sleeve_mm, "wall"),
        "want": Qty(least_stock_mm, "diff"),
        "finished": Qty(finished_mm, "size"),
    }
    if stock <= 0:
        verdict = Verdict.STOP
        line = L(
            "Cylinder {cylinder}'s sleeve comes out at {inside}, already over the finished {finished}: it cannot be used.",
            **gaps,
        )
    elif left < least_sleeve_mm:
        verdict = Verdict.STOP
        line = L("Cylinder {cylinder}'s sleeve would end only {left} thick; {least} is the least.", **gaps)
    elif stock < least_stock_mm:
        verdict = Verdict.MAYBE
        line = L(
            "Cylinder {cylinder}'s sleeve leaves only {stock} to bore, less than {want}: it may not clean up.", **gaps
        )
    else:
        verdict = Verdict.GO
        line = L(
            "Cylinder {cylinder}'s sleeve closes in to {inside} when fitted; bore and hone {stock} to reach {finished}.",
            **gaps,
        )
    return Result(
        key=f"sleeve.finish.{cylinder}",
        line=line,
        value=gaps["inside"],
        verdict=verdict,
        why=(
            L("The grip closes the sleeve's bore by about {closes}.", **gaps),
            L("The finished sleeve is {left} thick.", **gaps),
            L("Boring the sleeve lets it move again a little: leave the hone its stock and measure after boring."),
        ),
        figures=(
            Figure("closes", L("Sleeve bore closes by"), gaps["closes"]),
            Figure("inside", L("Sleeve bore when fitted"), gaps["inside"]),
            Figure("stock", L("To bore and hone, on diameter"), gaps["stock"]),
            Figure("left", L("Finished sleeve wall"), gaps["left"]),
        ),
        assumptions=(
            Assumption(
                L("The block counts as a free ring as thick as its least wall.")
                if wall is not None and wall.value > 0
                else L("The block does not give at all, since its wall is not known."),
                "Lamé",
            ),
        ),
    )
