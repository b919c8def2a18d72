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

import math
from dataclasses import dataclass

from .cautions import caution
from .constants import constant, stress_area_mm2
from .result import Assumption, Figure, Influence, Result, Verdict
from .say import L, Line, Qty
from .uncertainty import normal_cdf, normal_quantile

__all__ = [
    "GRADES",
    "THREADS",
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

_CONFIDENCE = 0.95


def _above_zero(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{name} must be above zero, not {value}")


@dataclass(frozen=True, slots=True)
class Thread:
    """A stud's thread: nominal diameter and pitch in mm; ``inch`` for unified threads."""

    key: str
    diameter_mm: float
    pitch_mm: float
    inch: bool = False

    @property
    def stress_area_mm2(self) -> float:
        """ISO 898-1 for metric, ASME B1.1 for inch threads."""
        return stress_area_mm2(self.diameter_mm, self.pitch_mm, unified=self.inch)


def _inch(size: str, diameter_in: float, per_inch: int, series: str) -> Thread:
    return Thread(f"{size}-{per_inch} {series}", diameter_in * 25.4, 25.4 / per_inch, True)


#: Coarse and fine threads that studs of engine blocks have, by name.
THREADS: dict[str, Thread] = {
    t.key: t
    for t in (
        Thread("M8", 8, 1.25),
        Thread("M10", 10, 1.5),
        Thread("M10x1.25", 10, 1.25),
        Thread("M12", 12, 1.75),
        Thread("M12x1.5", 12, 1.5),
        Thread("M12x1.25", 12, 1.25),
        Thread("M14", 14, 2.0),
        Thread("M14x1.5", 14, 1.5),
        Thread("M16", 16, 2.0),
        Thread("M16x1.5", 16, 1.5),
        Thread("M18", 18, 2.5),
        Thread("M20", 20, 2.5),
        _inch("5/16", 5 / 16, 18, "UNC"),
        _inch("3/8", 3 / 8, 16, "UNC"),
        _inch("3/8", 3 / 8, 24, "UNF"),
        _inch("7/16", 7 / 16, 14, "UNC"),
        _inch("7/16", 7 / 16, 20, "UNF"),
        _inch("1/2", 1 / 2, 13, "UNC"),
        _inch("1/2", 1 / 2, 20, "UNF"),
        _inch("9/16", 9 / 16, 12, "UNC"),
        _inch("5/8", 5 / 8, 11, "UNC"),
        _inch("3/4", 3 / 4, 10, "UNC"),
    )
}


def thread(key: str) -> Thread:
    """The thread called ``key`` ("M12", "1/2-13 UNC"). Raises KeyError."""
    return THREADS[key]


@dataclass(frozen=True, slots=True)
class Grade:
    """A strength class of stud; ``inch`` where it belongs to inch threads."""

    key: str
    inch: bool
    source: str

    def proof_stress_mpa(self, diameter_mm: float) -> float:
        """Stress the stud must bear without lasting stretch, for its size."""
        if self.key == "8.8" and diameter_mm > 16:
            return constant("proof.8.8.large").value
        return constant("proof." + self.key.replace(" ", "")).value


#: Strength classes: metric by ISO 898-1, inch by SAE J429 (sizes up to 3/4 in).
GRADES: dict[str, Grade] = {
    g.key: g
    for g in (
        Grade("4.8", False, "ISO 898-1"),
        Grade("5.8", False, "ISO 898-1"),
        Grade("8.8", False, "ISO 898-1"),
        Grade("9.8", False, "ISO 898-1"),
        Grade("10.9", False, "ISO 898-1"),
        Grade("12.9", False, "ISO 898-1"),
        Grade("grade 2", True, "SAE J429, from memory"),
        Grade("grade 5", True, "SAE J429, from memory"),
        Grade("grade 8", True, "SAE J429, from memory"),
    )
}


def grade(key: str) -> Grade:
    """The strength class called ``key`` ("8.8", "grade 5"). Raises KeyError."""
    return GRADES[key]


def assumed_grade(t: Thread) -> Grade:
    """The class to count on where a stud bears no mark: a weak one (common practice)."""
    return GRADES["grade 2" if t.inch else "5.8"]


def proof_load_n(t: Thread, g: Grade) -> float:
    """Load the stud must bear without lasting stretch. Raises ValueError if thread and class do not belong together."""
    if t.inch != g.inch:
        raise ValueError(f"{g.key} is no class for {t.key}")
    return t.stress_area_mm2 * g.proof_stress_mpa(t.diameter_mm)


def preload_n(torque_nm: float, diameter_mm: float, nut_factor: float) -> float:
    """F = T / (K d)."""
    for name, value in (("torque", torque_nm), ("diameter", diameter_mm), ("nut factor", nut_factor)):
        _above_zero(name, value)
    return torque_nm * 1000 / (nut_factor * diameter_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stud:
    """How a stud is tightened: thread, class, torque, and the nut factor with its relative standard uncertainty."""

    thread: Thread
    grade: Grade
    torque_nm: float
    nut_factor: float = 0.20
    relative_u: float = 0.15

    def __post_init__(self) -> None:
        proof_load_n(self.thread, self.grade)
        preload_n(self.torque_nm, self.thread.diameter_mm, self.nut_factor)
        if not 0 <= self.relative_u < 1:
            raise ValueError(f"the relative uncertainty must be from 0 to below 1, not {self.relative_u}")

    @property
    def preload_n(self) -> float:
        """The likely preload."""
        return preload_n(self.torque_nm, self.thread.diameter_mm, self.nut_factor)

    def bound_n(self, probability: float) -> float:
        """The preload that is not exceeded with ``probability`` (log-normal about the likely one)."""
        return self.preload_n * math.exp(normal_quantile(probability) * self.relative_u)


def _chance(ratio: float, relative_u: float) -> float:
    """Probability that a log-normal quantity with median ``ratio`` is above one."""
    if ratio <= 0:
        return 0.0
    if relative_u == 0:
        return 1.0 if ratio >= 1 else 0.0
    return normal_cdf(math.log(ratio) / relative_u)


def _judge(chance: float) -> tuple[str, float]:
    if chance >= _CONFIDENCE:
        return Verdict.GO, chance
    if chance <= 1 - _CONFIDENCE:
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
    if not 0 < share <= 1:
        raise ValueError(f"the share of the proof load must be above 0 and at most 1, not {share}")
    proof = proof_load_n(s.thread, s.grade)
    allowed = share * proof
    chance = _chance(allowed / s.preload_n, s.relative_u)
    verdict, sure = _judge(chance)
    # torque at which the high side of the preload just reaches the allowed load
    torque = s.torque_nm * allowed / s.bound_n(_CONFIDENCE)
    gaps = {
        "thread": s.thread.key,
        "grade": s.grade.key,
        "torque": Qty(s.torque_nm, "torque"),
        "preload": Qty(s.preload_n, "heavy_force", s.preload_n * s.relative_u),
        "used": Qty(s.preload_n / proof, "percent"),
        "most": Qty(torque, "torque"),
        "high": Qty(s.bound_n(_CONFIDENCE), "heavy_force"),
        "proof": Qty(proof, "heavy_force"),
    }
    if verdict == Verdict.GO:
        line = L(
            "{torque} on each {thread} stud gives about {preload}, {used} of what a {grade} stud is proofed to.", **gaps
        )
    elif verdict == Verdict.STOP:
        line = L("{torque} is too much for a {thread} {grade} stud: use no more than {most}.", **gaps)
    else:
        line = L("{torque} may overstretch a {thread} {grade} stud: use no more than {most} to be sure.", **gaps)
    return Result(
        key="clamp.stud",
        line=line,
        value=gaps["preload"],
        verdict=verdict,
        confidence=sure,
        why=(L("The preload could be as high as {high}; the stud is proofed to {proof}.", **gaps),),
        figures=(
            Figure("preload", L("Preload of one stud"), gaps["preload"]),
            Figure("low", L("Preload, low side"), Qty(s.bound_n(1 - _CONFIDENCE), "heavy_force")),
            Figure("high", L("Preload, high side"), gaps["high"]),
            Figure(
                "area",
                L("Stress area"),
                Qty(s.thread.stress_area_mm2, "area"),
                formula="π/4 (d − 0.9743 P)²" if s.thread.inch else "",
                source="ASME B1.1" if s.thread.inch else "",
            ),
            Figure("proof", L("Proof load"), gaps["proof"], source=s.grade.source if s.grade.inch else ""),
            Figure("used", L("Share of the proof load"), gaps["used"]),
            Figure("most_torque", L("Most torque for this stud"), gaps["most"]),
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


def stud_thread(s: Stud, *, engagement_mm: float, block_shear_mpa: float = 180.0) -> Result:
    """The stud's thread in the iron of the block: engagement in diameters, and what it takes to pull it out.

    Shear area of the block's thread at its basic sizes, A = π d L (1/2 + (d − d₂)/(P √3))
    with d − d₂ = 0.6495 P (basic profile of ISO 68-1; the form of FED-STD-H28, from
    memory), which is 0.875 π d L. Common practice asks for 1.5 diameters in iron.
    """
    _above_zero("engagement", engagement_mm)
    _above_zero("shear strength", block_shear_mpa)
    d = s.thread.diameter_mm
    area = math.pi * d * engagement_mm * (0.5 + 0.649519 / math.sqrt(3))
    pull_out = area * block_shear_mpa
    diameters = engagement_mm / d
    # the iron's strength and the thread's wear are poorly known: 20 % (common practice)
    chance = _chance(pull_out / (1.5 * s.preload_n), math.hypot(s.relative_u, 0.2))
    verdict, sure = _judge(chance)
    if verdict == Verdict.GO and diameters < 1.0:
        verdict, sure = Verdict.MAYBE, chance
    gaps = {
        "engagement": Qty(engagement_mm, "place"),
        "diameters": Qty(diameters, "plain"),
        "force": Qty(pull_out, "heavy_force"),
        "wanted": Qty(1.5 * d, "place"),
    }
    if verdict == Verdict.GO:
        line = L("The stud's thread in the block, {engagement} deep, holds.", **gaps)
    elif verdict == Verdict.STOP:
        line = L(
            "The stud's thread in the block, {engagement} deep, is likely to pull out: lower the torque or repair the thread.",
            **gaps,
        )
    else:
        line = L("The stud's thread in the block, {engagement} deep, is short for iron: {wanted} is wanted.", **gaps)
    return Result(
        key="clamp.thread",
        line=line,
        value=gaps["force"],
        verdict=verdict,
        confidence=sure,
        why=(
            L("It is {diameters} diameters deep and would pull out at about {force} if the thread is sound.", **gaps),
        ),
        figures=(
            Figure("diameters", L("Engagement in diameters"), gaps["diameters"]),
            Figure("pull_out", L("Pull-out load of the block's thread"), gaps["force"]),
        ),
        assumptions=(
            _preload_assumption(s),
            Assumption(
                L("The block's iron shears at {shear}; a sound, clean thread.", shear=Qty(block_shear_mpa, "pressure")),
                "from memory",
            ),
            Assumption(L("The thread is to bear half as much again as the preload."), "common practice"),
        ),
        cautions=(caution("stud_torque"),),
    )


def thread_unknown(s: Stud) -> Result:
    """What to say of the block's thread while nobody has measured how deep the stud goes."""
    return Result(
        key="clamp.thread",
        line=L(
            "Measure how deep the stud is screwed into the block: iron wants {wanted} of sound thread.",
            wanted=Qty(1.5 * s.thread.diameter_mm, "place"),
        ),
        assumptions=(Assumption(L("In iron a stud goes in one and a half diameters."), "common practice"),),
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
    for name, value in (
        ("cutting force", force_n),
        ("bore", bore_mm),
        ("depth", depth_mm),
        ("base", half_base_mm),
        ("grip radius", grip_radius_mm),
        ("friction", friction),
        ("safety factor", safety),
    ):
        _above_zero(name, value)
    if studs < 1:
        raise ValueError("at least one stud must hold the machine")
    if not offset_mm >= 0 or not axial_share >= 0:
        raise ValueError("the offset and the axial share must be zero or more")
    down = studs * s.preload_n
    grip = friction * down
    twist = force_n * (bore_mm / 2 + offset_mm)
    sliding = 1 / (force_n / grip + twist / (grip * grip_radius_mm))
    overturn = force_n * depth_mm + axial_share * force_n * (bore_mm / 2 + offset_mm)
    tipping = down * half_base_mm / overturn
    u_slide = math.sqrt(s.relative_u**2 + friction_u**2 + force_u**2)
    u_tip = math.sqrt(s.relative_u**2 + force_u**2)
    slides = sliding / safety if u_slide == 0 else math.log(sliding / safety) / u_slide
    tips = tipping / safety if u_tip == 0 else math.log(tipping / safety) / u_tip
    chance = min(_chance(sliding / safety, u_slide), _chance(tipping / safety, u_tip))
    verdict, sure = _judge(chance)
    by_sliding = slides <= tips
    factor, u = (sliding, u_slide) if by_sliding else (tipping, u_tip)
    need = s.torque_nm * safety / factor * math.exp(normal_quantile(_CONFIDENCE) * u)
    gaps = {
        "force": Qty(force_n, "force"),
        "factor": Qty(factor, "times"),
        "wanted": Qty(safety, "times"),
        "need": Qty(need, "torque"),
        "offset": Qty(offset_mm, "place"),
        "down": Qty(down, "heavy_force"),
        "grip": Qty(grip, "force"),
        "sliding": Qty(sliding, "times"),
        "tipping": Qty(tipping, "times"),
    }
    if verdict == Verdict.GO:
        line = L("The clamps hold the machine {factor} times over against {force} of cutting force.", **gaps)
    elif by_sliding:
        line = (
            L(
                "The machine could slide: {factor} times the force held, {wanted} wanted. Take a lighter cut or tighten to {need} if the stud allows.",
                **gaps,
            )
            if verdict == Verdict.STOP
            else L(
                "The machine may slide: about {factor} times the force held, {wanted} wanted. A torque of {need} would make sure, if the stud allows.",
                **gaps,
            )
        )
    else:
        line = (
            L(
                "The machine could tip: {factor} times the moment held, {wanted} wanted. Clamp nearer the cut or take a lighter one.",
                **gaps,
            )
            if verdict == Verdict.STOP
            else L(
                "The machine may tip: about {factor} times the moment held, {wanted} wanted. Clamp nearer the cut or take a lighter one.",
                **gaps,
            )
        )
    parts: list[tuple[Line, float]] = [
        (L("How torque turns into preload"), s.relative_u),
        (L("The cutting force"), force_u),
    ]
    if by_sliding:
        parts.append((L("Friction under the base"), friction_u))
    total = sum(v * v for _, v in parts)
    return Result(
        key="clamp.hold.offset" if offset_mm else "clamp.hold.centred",
        line=line,
        value=gaps["factor"],
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
            Figure("down", L("Clamping force"), gaps["down"]),
            Figure("grip", L("Friction under the base"), gaps["grip"]),
            Figure("twist", L("Twist about the clamps"), Qty(twist / 1000, "torque")),
            Figure("overturn", L("Tipping moment"), Qty(overturn / 1000, "torque")),
            Figure("sliding", L("Held against sliding"), gaps["sliding"]),
            Figure("tipping", L("Held against tipping"), gaps["tipping"]),
            Figure("need", L("Torque that would hold with the wanted safety"), gaps["need"]),
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
                L("The base bears all round on a clean, flat face; the machine's weight is left out."),
                "common practice",
            ),
        ),
        influences=tuple(sorted((Influence(n, v * v / total) for n, v in parts if v), key=lambda i: -i.share))
        if total
        else (),
        cautions=(caution("machine_lifting"), caution("stud_torque")),
    )
