"""Holding the boring machine down: stud preload, what the stud and its thread bear, friction and tipping.

Preload F = T / (K d) (Shigley's Mechanical Engineering Design). K is poorly known: a
torque wrench on a stud gives the preload within about ±30 % (from memory), so
preloads here are log-normal and every comparison uses the side that is less
favourable: the low preload for holding, the high one for the stud and its thread.

Holding. A single edge pushes the machine sideways with the force F and twists it
about the clamp with F (D/2 + e), e being how far the cut lies from the centre of the
clamps. Friction under the base bears both at once; adding the two uses
F/(μN) + twist/(μN r) is safe, since they peak at one point of the turn. The force
acts down in the bore, and the feed force F_a out at the cutting edge, so they also tip
the base over the nearer edge: F z + F_a (D/2 + e) against N b, z the depth of the edge,
b the distance from the clamps' centre to the nearer edge of the base. The two do not
peak at the same point of the turn, so adding them is safe. The machine's own weight is
left out.
"""

from __future__ import annotations

from .cautions import caution
from .clamping_force import (
    CONFIDENCE,
    GRADES,
    THREADS,
    Grade,
    Holding,
    Stud,
    Thread,
    assumed_grade,
    engagement,
    grade,
    holding,
    preload_n,
    proof_load_n,
    stud_load,
    thread,
)
from .result import Assumption, Figure, Influence, Result, Verdict
from .say import L, Line, Qty

__all__ = [
    "GRADES",
    "THREADS",
    "WANTED_DIAMETERS",
    "WANTED_IN_ALUMINIUM",
    "Grade",
    "Stud",
    "Thread",
    "assumed_grade",
    "grade",
    "hold",
    "preload_n",
    "proof_load_n",
    "stud",
    "stud_thread",
    "thread",
    "thread_unknown",
]


def _judge(chance: float) -> tuple[str, float]:
    if chance >= CONFIDENCE:
        return Verdict.GO, chance
    if chance <= 1 - CONFIDENCE:
        return Verdict.STOP, 1 - chance
    return Verdict.MAYBE, chance


def _preload_assumption(s: Stud) -> Assumption:
    return Assumption(
        L(
            "Torque turns into preload with a factor of {factor}, known within {spread}.",
            factor=Qty(s.nut_factor, "plain"),
            spread=Qty(2 * s.relative_u, "percent"),
        ),
        "Shigley's Mechanical Engineering Design",
    )


def stud(s: Stud, *, share: float = 0.75) -> Result:
    """Preload of one stud against its proof load.

    ``share`` of the proof load is the most a stud that is used again may carry
    (Shigley: 75 %). Go where the preload stays under that with 95 % confidence.
    """
    load = stud_load(s, share)
    verdict, sure = _judge(load.chance)
    preload = Qty(s.preload_n, "heavy_force", s.preload_n * s.relative_u)
    used = Qty(s.preload_n / load.proof_n, "percent")
    most = Qty(load.most_torque_nm, "torque")
    high, proof = Qty(load.high_n, "heavy_force"), Qty(load.proof_n, "heavy_force")
    gaps = {
        "thread": s.thread.key,
        "grade": s.grade.key,
        "torque": Qty(s.torque_nm, "torque"),
        "preload": preload,
        "used": used,
        "most": most,
        "high": high,
        "proof": proof,
    }
    if verdict == Verdict.GO:
        line = L("{torque} on each {thread} stud ({grade}) gives about {preload}, {used} of its proof load.", **gaps)
    elif verdict == Verdict.STOP:
        line = L("{torque} is too much for {thread} studs ({grade}): use no more than {most}.", **gaps)
    else:
        line = L("{torque} may overstretch {thread} studs ({grade}): use no more than {most} to be sure.", **gaps)
    inch = s.thread.inch
    return Result(
        key="clamp.stud",
        line=line,
        value=preload,
        verdict=verdict,
        confidence=sure,
        why=(L("The preload could be as high as {high}; the stud is proofed to {proof}.", **gaps),),
        figures=(
            # its doubt is not even: the two sides say it
            Figure("preload", L("Preload of one stud"), Qty(s.preload_n, "heavy_force")),
            Figure("low", L("Preload, low side"), Qty(load.low_n, "heavy_force")),
            Figure("high", L("Preload, high side"), high),
            Figure(
                "area",
                L("Stress area"),
                Qty(s.thread.stress_area_mm2, "area"),
                formula="π/4 (d − 0.9743 P)²" if inch else "",
                source="ASME B1.1" if inch else "",
            ),
            Figure("proof", L("Proof load"), proof, source=s.grade.source if inch else ""),
            Figure("used", L("Share of the proof load"), used),
            Figure("most_torque", L("Most torque for this stud"), most),
        ),
        assumptions=(
            _preload_assumption(s),
            Assumption(
                L("A stud used again carries at most {share} of its proof load.", share=Qty(share, "percent")),
                "Shigley's Mechanical Engineering Design",
            ),
        ),
        cautions=(caution("stud_torque"),),
    )


#: So many diameters of thread a stud wants in a block of iron or steel, and in one of aluminium (common practice).
WANTED_DIAMETERS, WANTED_IN_ALUMINIUM = 1.5, 2.0


def stud_thread(
    s: Stud, *, engagement_mm: float, block_shear_mpa: float = 180.0, wanted: float = WANTED_DIAMETERS
) -> Result:
    """The stud's thread in the block: engagement in diameters, of which ``wanted`` are right, and what it takes to pull it out.

    Shear area of the block's thread at its basic sizes, A = π d L (1/2 + (d − d₂)/(P √3))
    with d − d₂ = 0.6495 P (basic profile of ISO 68-1; the form of FED-STD-H28, from
    memory), which is 0.875 π d L. Common practice asks for 1.5 diameters in iron, 2 in aluminium.
    """
    found = engagement(s, engagement_mm, block_shear_mpa)
    verdict, sure = _judge(found.chance)
    if verdict == Verdict.GO and found.diameters < wanted / 1.5:
        verdict, sure = Verdict.MAYBE, found.chance
    force, diameters = Qty(found.pull_out_n, "heavy_force"), Qty(found.diameters, "plain")
    gaps = {
        "engagement": Qty(engagement_mm, "place"),
        "diameters": diameters,
        "force": force,
        "wanted": Qty(wanted * s.thread.diameter_mm, "place"),
    }
    if verdict == Verdict.GO:
        line = L("The stud's thread in the block, {engagement} deep, holds.", **gaps)
    elif verdict == Verdict.STOP:
        line = L(
            "The stud's thread in the block, {engagement} deep, is likely to pull out: lower the torque or repair the thread.",
            **gaps,
        )
    else:
        line = L("The stud's thread in the block, {engagement} deep, is short: {wanted} is wanted.", **gaps)
    return Result(
        key="clamp.thread",
        line=line,
        value=force,
        verdict=verdict,
        confidence=sure,
        why=(
            L("It is {diameters} diameters deep and would pull out at about {force} if the thread is sound.", **gaps),
        ),
        figures=(
            Figure("diameters", L("Engagement in diameters"), diameters),
            Figure("pull_out", L("Pull-out load of the block's thread"), force),
        ),
        assumptions=(
            _preload_assumption(s),
            Assumption(
                L("The block shears at {shear}; a sound, clean thread.", shear=Qty(block_shear_mpa, "pressure")),
                "from memory",
            ),
            Assumption(L("The thread is to bear half as much again as the preload."), "common practice"),
        ),
        cautions=(caution("stud_torque"),),
    )


def thread_unknown(s: Stud, wanted: float = WANTED_DIAMETERS) -> Result:
    """What to say of the block's thread while nobody has measured how deep the stud goes."""
    return Result(
        key="clamp.thread",
        line=L(
            "Measure how deep the stud is screwed into the block: it wants {wanted} of sound thread.",
            wanted=Qty(wanted * s.thread.diameter_mm, "place"),
        ),
        assumptions=(
            Assumption(L("A stud goes in one and a half diameters in iron, two in aluminium."), "common practice"),
        ),
        cautions=(caution("stud_torque"),),
    )


def hold(
    s: Stud,
    *,
    force_n: float,
    bore_mm: float,
    depth_mm: float,
    studs: int = 2,
    offset_mm: float = 0.0,
    half_base_mm: float = 60.0,
    grip_radius_mm: float = 50.0,
    friction: float = 0.15,
    friction_u: float = 0.2,
    force_u: float = 0.2,
    axial_share: float = 0.5,
    safety: float = 2.0,
) -> Result:
    """Whether the clamps hold the machine against the cutting force, with ``safety`` in hand.

    ``force_n`` is the main cutting force, ``bore_mm`` the diameter cut, ``depth_mm``
    how far below the base the edge reaches; ``offset_mm`` the distance from the cut's
    axis to the centre of the clamps (0: centred), ``half_base_mm`` from that centre to
    the nearer edge of the base, ``grip_radius_mm`` the mean radius at which the base
    bears. ``friction_u`` and ``force_u`` are relative standard uncertainties;
    ``axial_share`` the feed force as a share of the main force. The value is the
    safety factor found (the least of sliding and tipping).
    """
    found = holding(
        s,
        force_n=force_n,
        bore_mm=bore_mm,
        depth_mm=depth_mm,
        studs=studs,
        offset_mm=offset_mm,
        half_base_mm=half_base_mm,
        grip_radius_mm=grip_radius_mm,
        friction=friction,
        friction_u=friction_u,
        force_u=force_u,
        axial_share=axial_share,
        safety=safety,
    )
    verdict, sure = _judge(found.chance)
    factor, need = Qty(found.factor, "times"), Qty(found.need_nm, "torque")
    down, grip = Qty(found.down_n, "heavy_force"), Qty(found.grip_n, "force")
    sliding, tipping = Qty(found.sliding, "times"), Qty(found.tipping, "times")
    gaps = {
        "force": Qty(force_n, "force"),
        "factor": factor,
        "wanted": Qty(safety, "times"),
        "need": need,
        "offset": Qty(offset_mm, "place"),
        "down": down,
        "grip": grip,
        "sliding": sliding,
        "tipping": tipping,
    }
    return Result(
        key="clamp.hold.offset" if offset_mm else "clamp.hold.centred",
        line=_hold_said(verdict, gaps, by_sliding=found.by_sliding),
        value=factor,
        verdict=verdict,
        confidence=sure,
        why=(
            L("The studs press the base down with about {down}, which grips sideways with {grip}.", **gaps),
            L("Against sliding {sliding} times, against tipping {tipping} times.", **gaps)
            if not offset_mm
            else L(
                "With the cut {offset} from the clamps: against sliding {sliding} times, against tipping {tipping} times.",
                **gaps,
            ),
        ),
        figures=(
            Figure("down", L("Clamping force"), down),
            Figure("grip", L("Friction under the base"), grip),
            Figure("twist", L("Twist about the clamps"), Qty(found.twist_nmm / 1000, "torque")),
            Figure("overturn", L("Tipping moment"), Qty(found.overturn_nmm / 1000, "torque")),
            Figure("sliding", L("Held against sliding"), sliding),
            Figure("tipping", L("Held against tipping"), tipping),
            Figure("need", L("Torque that would hold with the wanted safety"), need),
        ),
        assumptions=(
            _preload_assumption(s),
            Assumption(
                L(
                    "Friction and force are known within {f} and {g}.",
                    f=Qty(2 * friction_u, "percent"),
                    g=Qty(2 * force_u, "percent"),
                ),
                "common practice",
            ),
            Assumption(
                L("The feed force is {share} of the cutting force.", share=Qty(axial_share, "percent")),
                "common practice",
            ),
            Assumption(
                L("The base bears all round on a clean, flat deck; the machine's weight is left out."),
                "common practice",
            ),
        ),
        influences=_hold_influences(found, s.relative_u, force_u, friction_u),
        cautions=(caution("machine_lifting"), caution("stud_torque")),
    )


def _hold_said(verdict: str, gaps: dict[str, Qty], *, by_sliding: bool) -> Line:
    """Whether the machine holds, and what to do where it does not."""
    if verdict == Verdict.GO:
        return L("The clamps hold the machine {factor} times over against {force} of cutting force.", **gaps)
    if by_sliding and verdict == Verdict.STOP:
        return L(
            "The machine could slide: {factor} times the force held, {wanted} wanted. Take a lighter cut or tighten to {need} if the stud allows.",
            **gaps,
        )
    if by_sliding:
        return L(
            "The machine may slide: about {factor} times the force held, {wanted} wanted. A torque of {need} would make sure, if the stud allows.",
            **gaps,
        )
    if verdict == Verdict.STOP:
        return L(
            "The machine could tip: {factor} times the moment held, {wanted} wanted. Clamp nearer the cut or take a lighter one.",
            **gaps,
        )
    return L(
        "The machine may tip: about {factor} times the moment held, {wanted} wanted. Clamp nearer the cut or take a lighter one.",
        **gaps,
    )


def _hold_influences(found: Holding, preload_u: float, force_u: float, friction_u: float) -> tuple[Influence, ...]:
    """What the hold's doubt comes from, largest first; the arguments are relative standard uncertainties."""
    parts = [(L("How torque turns into preload"), preload_u), (L("The cutting force"), force_u)]
    if found.by_sliding:
        parts.append((L("Friction under the base"), friction_u))
    total = sum(v * v for _, v in parts)
    return tuple(sorted((Influence(n, v * v / total) for n, v in parts if v), key=lambda i: -i.share))
