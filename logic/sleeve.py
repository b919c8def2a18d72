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
from .press_fit import (
    COLD_IRON_PER_K,
    DRY_ICE_C,
    FLATTENED_MM,
    GREY_IRON,
    LEAST_FIT_PER_MM,
    MOST_FIT_PER_MM,
    NITROGEN_C,
    BoreFit,
    DropIn,
    Finishing,
    Grip,
    Iron,
    Sleeve,
    bore_change_mm,
    bore_fit,
    contact_pressure_mpa,
    drop_in,
    finishing_of,
    grip_of,
    hoop_block_mpa,
    hoop_sleeve_mpa,
    plausible,
    push_force_n,
)
from .result import Assumption, Caution, Figure, Influence, Result, Verdict
from .say import LN, L, Line, Qty

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
    "hot",
    "none_wanted",
    "plausible",
    "push_force_n",
]


#: What may be taken as true of the block, by what was done to find out.
_SOUND = {
    "tested": Assumption(L("The block held its pressure test: none is cracked or porous."), "entered"),
    "looked": Assumption(L("No crack and no pore was seen. Only a pressure test finds them all."), "entered"),
}
_NOT_LOOKED = Assumption(L("Nobody has said yet whether a bore is cracked or porous."), "common practice")


def none_wanted(advised: tuple[int, ...], *, sound: str | None = None) -> Result:
    """What to say while no cylinder is marked for a sleeve; ``advised`` are those that no oversize cleans up.

    ``sound`` is what was said of cracks and pores: "tested" under pressure, "looked" at, or None.
    """
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
        assumptions=(_SOUND.get(sound or "", _NOT_LOOKED),),
    )


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
    found = bore_fit(sleeve, bored_mm, u_bored_mm)
    low, high = (Qty(fit_mm, "diff") for fit_mm in sleeve.interference_mm)
    aim, least, most = Qty(found.aim_mm, "size"), Qty(found.least_mm, "size"), Qty(found.most_mm, "size")
    gaps: dict[str, int | Qty] = {"cylinder": cylinder, "aim": aim, "least": least, "most": most}
    figures = [
        Figure("aim", L("Bore for the sleeve"), aim),
        Figure("least", L("Smallest"), least),
        Figure("most", L("Largest"), most),
    ]
    if found.has_mm is not None:
        has = gaps["has"] = Qty(found.has_mm, "diff", found.u_mm)
        figures.append(Figure("interference", L("Interference as bored"), has))
    assumptions = [
        Assumption(L("Sleeve and bore are measured at the same temperature, or both brought to 20 °C."), "ISO 1"),
    ]
    if sleeve.fit_mm is None:
        said = L("The interference is {low} to {high}.", low=low, high=high)
        assumptions.append(Assumption(said, "common practice"))
    verdict, line = _bore_said(found, gaps)
    why = [
        L(
            "The sleeve measures {outside} outside; it is to be {low} to {high} larger than its bore.",
            outside=Qty(sleeve.outside_mm, "size", sleeve.u_outside_mm),
            low=low,
            high=high,
        )
    ]
    u = math.hypot(sleeve.u_outside_mm, u_bored_mm)
    if not found.decides(u):
        why.append(
            L(
                "Sleeve and bore are measured to ±{u} together: too coarse to call this fit right. Measure both finer, or widen the fit.",
                u=Qty(2 * u, "fine"),
            )
        )
    return SleeveBore(
        key=f"sleeve.bore.{cylinder}",
        line=line,
        value=aim,
        verdict=verdict,
        why=tuple(why),
        figures=tuple(figures),
        assumptions=tuple(assumptions),
        cylinder=cylinder,
        aim_mm=found.aim_mm,
        least_mm=found.least_mm,
        most_mm=found.most_mm,
        interference_mm=None if verdict == Verdict.STOP else found.has_mm,
    )


def _bore_said(found: BoreFit, gaps: dict[str, int | Qty]) -> tuple[str, Line]:
    """The verdict on the bore for a sleeve, and what to do."""
    if found.state == "to bore":
        return Verdict.INFO, L(
            "Bore cylinder {cylinder} to {aim} for its sleeve, no less than {least} and no more than {most}.", **gaps
        )
    if found.state == "right":
        return Verdict.GO, L("Cylinder {cylinder}'s sleeve grips by {has}: right.", **gaps)
    if found.state == "large":
        return Verdict.STOP, L(
            "Cylinder {cylinder} is bored too large for this sleeve: it would grip by only {has}.", **gaps
        )
    if found.state == "small":
        return Verdict.STOP, L(
            "Cylinder {cylinder} is still too small for this sleeve: it would grip by {has}. Bore to {aim}.", **gaps
        )
    return Verdict.MAYBE, L(
        "Cylinder {cylinder}'s sleeve grips by {has}, too near the limit to call: measure both again.", **gaps
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
    if wall is None or wall.value <= 0:
        return Result(
            key=f"sleeve.grip.{cylinder}",
            line=L(
                "Cylinder {cylinder}: measure the walls to learn what a sleeve does to the block.", cylinder=cylinder
            )
            if wall is None
            else L("Cylinder {cylinder}: there is no wall left to hold this sleeve.", cylinder=cylinder),
            verdict=Verdict.MAYBE if wall is None else Verdict.STOP,
            assumptions=(Assumption(L("The block round the sleeve bears its grip."), "Lamé"),),
        )
    found = grip_of(
        sleeve,
        wall_mm=wall.value,
        u_wall_mm=wall.u or 0.0,
        finished_mm=finished_mm,
        interference_mm=interference_mm,
        friction=friction,
        block=block,
    )
    verdict, line = _grip_said(cylinder, found, block_limit_mpa)
    if finished_mm >= found.joint_mm:
        verdict = Verdict.STOP
        line = L("Cylinder {cylinder}'s sleeve would be bored away altogether: choose a thicker one.", **line.values)
    return Result(
        key=f"sleeve.grip.{cylinder}",
        line=line,
        value=Qty(found.pressure_high_mpa, "pressure"),
        verdict=verdict,
        why=(
            L("Pushing it in takes up to {force} at the end of its travel.", **line.values),
            L(
                "After the sleeve is bored out it still grips with at least {stays}.",
                stays=Qty(found.stays_n, "heavy_force"),
            ),
        ),
        figures=(
            Figure("pressure_low", L("Contact pressure, least"), Qty(found.pressure_low_mpa, "pressure")),
            Figure("pressure_high", L("Contact pressure, most"), Qty(found.pressure_high_mpa, "pressure")),
            Figure("block_low", L("Hoop tension in the block, least"), Qty(found.block_low_mpa, "pressure")),
            Figure(
                "block_high",
                L("Hoop tension in the block, most"),
                Qty(found.block_high_mpa, "pressure", found.u_block_mpa),
            ),
            Figure("sleeve_low", L("Hoop compression in the sleeve, least"), Qty(found.squeeze_low_mpa, "pressure")),
            Figure("sleeve_high", L("Hoop compression in the sleeve, most"), Qty(found.squeeze_high_mpa, "pressure")),
            Figure("push_low", L("Press-in force, least"), Qty(found.push_low_n, "heavy_force")),
            Figure("push_high", L("Press-in force, most"), Qty(found.push_high_n, "heavy_force")),
            Figure("stays", L("Pressure left after boring the sleeve"), Qty(found.stays_mpa, "pressure")),
        ),
        assumptions=(
            Assumption(
                L("The block counts as a free ring as thick as its least wall; the real block is stiffer."), "Lamé"
            ),
            Assumption(
                L(
                    "The modulus is {block} in the block and {sleeve} in the sleeve.",
                    block=Qty(block.modulus_mpa, "modulus"),
                    sleeve=Qty(sleeve.iron.modulus_mpa, "modulus"),
                ),
                "from memory",
            ),
        ),
        influences=_grip_influences(found),
        cautions=(caution("press_guards"),),
    )


def _grip_said(cylinder: int, found: Grip, limit_mpa: float) -> tuple[str, Line]:
    """The verdict on the block's stress, guarded at k = 2, and the sentence."""
    gaps: dict[str, int | Qty] = {
        "cylinder": cylinder,
        "low": Qty(found.pressure_low_mpa, "pressure"),
        "high": Qty(found.pressure_high_mpa, "pressure"),
        "stress": Qty(found.block_high_mpa, "pressure", found.u_block_mpa),
        "limit": Qty(limit_mpa, "pressure"),
        "force": Qty(found.push_high_n, "heavy_force"),
    }
    if found.block_high_mpa + 2 * found.u_block_mpa <= limit_mpa:
        return Verdict.GO, L(
            "Cylinder {cylinder}'s sleeve presses on the block with {low} to {high}; the block bears {stress}, allowed {limit}.",
            **gaps,
        )
    if found.block_high_mpa - 2 * found.u_block_mpa > limit_mpa:
        return Verdict.STOP, L(
            "Cylinder {cylinder}'s sleeve could stress the block to {stress}, over the {limit} allowed: use less interference.",
            **gaps,
        )
    return Verdict.MAYBE, L(
        "Cylinder {cylinder}'s sleeve stresses the block to about {stress}, too near the {limit} allowed to call.",
        **gaps,
    )


def _grip_influences(found: Grip) -> tuple[Influence, ...]:
    names = {
        "fit": L("The interference"),
        "wall": L("The wall left round the sleeve"),
        "iron": L("How stiff the metal is"),
    }
    variance = found.u_block_mpa * found.u_block_mpa
    if not variance:
        return ()
    parts = (Influence(names[k], v * v / variance) for k, v in found.parts_mpa.items() if v)
    return tuple(sorted(parts, key=lambda i: -i.share))


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
    found = drop_in(
        sleeve,
        interference_mm=interference_mm,
        clearance_mm=drop_clearance_mm,
        room_c=room_c,
        sleeve_c=sleeve_c,
        block=block,
        cold_per_k=cold_per_k,
    )
    block_hot, alone = Qty(found.block_c, "temperature"), Qty(found.block_alone_c, "temperature")
    cold = Qty(found.sleeve_alone_c, "temperature")
    gaps: dict[str, int | Qty] = {
        "cylinder": cylinder,
        "block": block_hot,
        "sleeve": Qty(found.sleeve_c, "temperature"),
        "limit": Qty(block_limit_c, "temperature"),
        "alone": alone,
        "cold": cold,
    }
    return Result(
        key=f"sleeve.fitting.{cylinder}",
        line=_drop_in_said(found, room_c, block_limit_c, gaps),
        value=block_hot,
        verdict=Verdict.GO if found.block_c <= block_limit_c else Verdict.STOP,
        why=(
            L("The block alone would have to reach {alone}; the sleeve alone, {cold}.", **gaps),
            *_cold_said(found.sleeve_alone_c),
            L("The sleeve warms within seconds of touching: have the way in clear and a stop under it."),
        ),
        figures=(
            Figure("block", L("Block temperature"), block_hot),
            Figure("block_alone", L("Block temperature, sleeve not cooled"), alone),
            Figure("sleeve_alone", L("Sleeve temperature, block not heated"), cold),
            Figure("shrink", L("Shrinkage of the cooled sleeve"), Qty(found.shrink_mm, "diff")),
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
        cautions=_drop_in_cautions(found, room_c),
    )


def hot(cylinder: int, sleeve: Sleeve, *, interference_mm: float | None, running_c: float, block: Iron) -> Result:
    """What is left of the interference when block and sleeve are at work, both at ``running_c``.

    An aluminium block grows away from an iron sleeve by (α_block − α_sleeve) d (T − 20),
    and the grooves that pressing flattens are gone for good. Go where something is left at
    the least interference, with the expansions' doubt counted twice.
    """
    low, _ = sleeve.interference_or(interference_mm)
    d = sleeve.outside_mm
    grows = (block.expansion_per_k - sleeve.iron.expansion_per_k) * d * (running_c - 20.0)
    left = low - FLATTENED_MM - grows
    u = math.hypot(1e-6 * d * (running_c - 20.0), sleeve.u_outside_mm) if grows > 0.1 * low else sleeve.u_outside_mm
    gaps: dict[str, int | Qty] = {
        "cylinder": cylinder,
        "left": Qty(left, "deviation", u),
        "running": Qty(running_c, "temperature"),
    }
    if left >= 2 * u:
        verdict, line = Verdict.GO, L("Cylinder {cylinder}'s sleeve still grips by {left} at {running}.", **gaps)
    elif left > -2 * u:
        verdict = Verdict.MAYBE
        line = L(
            "Cylinder {cylinder}'s sleeve may come loose at {running}: {left} of grip is left. Use more interference.",
            **gaps,
        )
    else:
        verdict = Verdict.STOP
        line = L(
            "Cylinder {cylinder}'s sleeve comes loose at {running}: {left} of grip is left. Use more interference.",
            **gaps,
        )
    return Result(
        key=f"sleeve.hot.{cylinder}",
        line=line,
        value=Qty(left, "deviation", u),
        verdict=verdict,
        why=(L("From cold to hot the block grows away from the sleeve by {grows}.", grows=Qty(grows, "deviation")),),
        figures=(
            Figure("hot", L("Interference left hot"), Qty(left, "deviation", u)),
            Figure("grows", L("The block grows more than the sleeve by"), Qty(grows, "deviation")),
        ),
        assumptions=(
            Assumption(L("Block and sleeve are both at {running} at work.", **gaps), "common practice"),
            Assumption(
                L("Pressing flattens {lost} of the interference.", lost=Qty(FLATTENED_MM, "fine")),
                "DIN 7190 (from memory)",
            ),
        ),
    )


def _drop_in_said(found: DropIn, room_c: float, limit_c: float, gaps: dict[str, int | Qty]) -> Line:
    """How hot the block and how cold the sleeve must be for it to drop in."""
    if found.block_c > limit_c:
        return L(
            "Cylinder {cylinder} would need the block at {block}, over the {limit} allowed here: cool the sleeve or press it in.",
            **gaps,
        )
    if found.block_c <= room_c:
        return L("Cylinder {cylinder}'s sleeve drops in without heat once it is at {sleeve}.", **gaps)
    if found.sleeve_c < room_c:
        return L("Cylinder {cylinder}'s sleeve drops in with the block at {block} and the sleeve at {sleeve}.", **gaps)
    return L("Cylinder {cylinder}'s sleeve drops in with the block at {block}.", **gaps)


def _cold_said(sleeve_alone_c: float) -> tuple[Line, ...]:
    """Which means of cooling would not do it alone."""
    if sleeve_alone_c < NITROGEN_C:
        return (
            L(
                "No cold you can get does it alone: liquid nitrogen boils at {cold}.",
                cold=Qty(NITROGEN_C, "temperature"),
            ),
        )
    if sleeve_alone_c < DRY_ICE_C:
        return (L("Dry ice, at {cold}, does not do it alone.", cold=Qty(DRY_ICE_C, "temperature")),)
    return ()


def _drop_in_cautions(found: DropIn, room_c: float) -> tuple[Caution, ...]:
    cautions = []
    if found.block_c > room_c:
        cautions.append(caution("hot_metal"))
    if found.sleeve_c < 0:
        cautions.append(caution("deep_cold"))
    return tuple(cautions)


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
    known_wall = wall.value if wall is not None and wall.value > 0 else None
    found = finishing_of(
        sleeve,
        wall_mm=known_wall,
        finished_mm=finished_mm,
        interference_mm=interference_mm,
        least_stock_mm=least_stock_mm,
        least_sleeve_mm=least_sleeve_mm,
        block=block,
    )
    closes, inside = Qty(found.closes_mm, "diff", found.u_closes_mm), Qty(found.inside_mm, "size")
    stock, left = Qty(found.stock_mm, "diff"), Qty(found.left_mm, "wall")
    gaps: dict[str, int | Qty] = {
        "cylinder": cylinder,
        "closes": closes,
        "inside": inside,
        "stock": stock,
        "left": left,
        "least": Qty(least_sleeve_mm, "wall"),
        "want": Qty(least_stock_mm, "diff"),
        "finished": Qty(finished_mm, "size"),
    }
    verdict, line = _finishing_said(found, gaps)
    return Result(
        key=f"sleeve.finish.{cylinder}",
        line=line,
        value=inside,
        verdict=verdict,
        why=(
            L("The grip closes the sleeve's bore by about {closes}.", **gaps),
            L("The finished sleeve is {left} thick.", **gaps),
            L("Boring the sleeve lets it move again a little: leave the hone its stock and measure after boring."),
        ),
        figures=(
            Figure("closes", L("Sleeve bore closes by"), closes),
            Figure("inside", L("Sleeve bore when fitted"), inside),
            Figure("stock", L("To bore and hone, on diameter"), stock),
            Figure("left", L("Finished sleeve wall"), left),
        ),
        assumptions=(
            Assumption(
                L("The block counts as a free ring as thick as its least wall.")
                if known_wall is not None
                else L("The block does not give at all, since its wall is not known."),
                "Lamé",
            ),
        ),
    )


def _finishing_said(found: Finishing, gaps: dict[str, int | Qty]) -> tuple[str, Line]:
    """The verdict on the fitted sleeve's stock and wall, and the sentence."""
    if found.state == "over":
        return Verdict.STOP, L(
            "Cylinder {cylinder}'s sleeve comes out at {inside}, already over the finished {finished}: it cannot be used.",
            **gaps,
        )
    if found.state == "thin":
        return Verdict.STOP, L(
            "Cylinder {cylinder}'s sleeve would end only {left} thick; {least} is the least.", **gaps
        )
    if found.state == "short":
        return Verdict.MAYBE, L(
            "Cylinder {cylinder}'s sleeve leaves only {stock} to bore, less than {want}: it may not clean up.", **gaps
        )
    return Verdict.GO, L(
        "Cylinder {cylinder}'s sleeve closes in to {inside} when fitted; bore and hone {stock} to reach {finished}.",
        **gaps,
    )
