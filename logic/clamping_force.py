"""Studs and clamps in numbers: threads, strength classes, preload, and what holds the machine. No sentence.

Lengths in mm, forces in N, stresses in MPa; :mod:`logic.clamping` puts the figures into
words and says where the relations come from.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from .constants import constant, stress_area_mm2
from .uncertainty import normal_cdf, normal_quantile

__all__ = [
    "CONFIDENCE",
    "GRADES",
    "THREADS",
    "Engagement",
    "Grade",
    "Holding",
    "Stud",
    "StudLoad",
    "Thread",
    "assumed_grade",
    "engagement",
    "grade",
    "holding",
    "preload_n",
    "proof_load_n",
    "stud_load",
    "thread",
]

#: The confidence asked of every verdict on studs and clamps.
CONFIDENCE = 0.95


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


# -- one stud ----------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class StudLoad:
    """The preload of a stud against its proof load, N; ``chance`` that it stays under the part allowed.

    ``low_n`` and ``high_n`` are the preload's two sides (95 % each); with ``most_torque_nm``
    the high side just reaches the load allowed.
    """

    proof_n: float
    low_n: float
    high_n: float
    most_torque_nm: float
    chance: float


def stud_load(s: Stud, share: float) -> StudLoad:
    """Preload against ``share`` of the proof load. Raises ValueError for a share outside (0, 1]."""
    if not 0 < share <= 1:
        raise ValueError(f"the share of the proof load must be above 0 and at most 1, not {share}")
    proof = proof_load_n(s.thread, s.grade)
    allowed = share * proof
    high = s.bound_n(CONFIDENCE)
    return StudLoad(
        proof_n=proof,
        low_n=s.bound_n(1 - CONFIDENCE),
        high_n=high,
        most_torque_nm=s.torque_nm * allowed / high,
        chance=_chance(allowed / s.preload_n, s.relative_u),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Engagement:
    """A stud's thread in the block: how deep in diameters, and the load that pulls it out, N.

    ``chance`` that it bears half as much again as the preload.
    """

    diameters: float
    pull_out_n: float
    chance: float


def engagement(s: Stud, engagement_mm: float, block_shear_mpa: float) -> Engagement:
    """What the block's thread bears; see :func:`logic.clamping.stud_thread` for the relation. ValueError below zero."""
    _above_zero("engagement", engagement_mm)
    _above_zero("shear strength", block_shear_mpa)
    d = s.thread.diameter_mm
    area = math.pi * d * engagement_mm * (0.5 + 0.649519 / math.sqrt(3))
    pull_out = area * block_shear_mpa
    # the iron's strength and the thread's wear are poorly known: 20 % (common practice)
    chance = _chance(pull_out / (1.5 * s.preload_n), math.hypot(s.relative_u, 0.2))
    return Engagement(diameters=engagement_mm / d, pull_out_n=pull_out, chance=chance)


# -- all the clamps ----------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """What the clamps hold against: forces in N, moments in N·mm, factors as multiples of the load.

    ``factor`` is the lesser of ``sliding`` and ``tipping``, measured against what each is
    known to; ``by_sliding`` says which. ``chance`` that the wanted safety is there, and
    ``need_nm`` the torque on each stud that would make it sure.
    """

    down_n: float
    grip_n: float
    twist_nmm: float
    overturn_nmm: float
    sliding: float
    tipping: float
    factor: float
    by_sliding: bool
    chance: float
    need_nm: float


def holding(
    s: Stud,
    *,
    force_n: float,
    bore_mm: float,
    depth_mm: float,
    studs: int,
    offset_mm: float,
    half_base_mm: float,
    grip_radius_mm: float,
    friction: float,
    friction_u: float,
    force_u: float,
    axial_share: float,
    safety: float,
) -> Holding:
    """Work out the clamps' hold; see :func:`logic.clamping.hold` for the terms. Raises ValueError out of range."""
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
    by_sliding = _in_hand(sliding / safety, u_slide) <= _in_hand(tipping / safety, u_tip)
    factor, u = (sliding, u_slide) if by_sliding else (tipping, u_tip)
    return Holding(
        down_n=down,
        grip_n=grip,
        twist_nmm=twist,
        overturn_nmm=overturn,
        sliding=sliding,
        tipping=tipping,
        factor=factor,
        by_sliding=by_sliding,
        chance=min(_chance(sliding / safety, u_slide), _chance(tipping / safety, u_tip)),
        need_nm=s.torque_nm * safety / factor * math.exp(normal_quantile(CONFIDENCE) * u),
    )


def _in_hand(ratio: float, relative_u: float) -> float:
    """How far a ratio is from one, in its own uncertainty where it has one."""
    return ratio if relative_u == 0 else math.log(ratio) / relative_u
