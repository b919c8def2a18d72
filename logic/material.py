"""What the tools of a job use up: cutting edges and sets of stones, as a range. Numbers, and the lines that tell them.

A job asks so much of a tool (passes of an edge, cm³ of iron of a set of stones), P, and a tool lasts for so much, L. Both
are known as logarithms: P from the plan of the job, L from the record of the machine
(:mod:`logic.machine_record`), else from common practice. What is used up is, in whole tools and parts
of one,

    E(U) = P / E(L), log-normal, with variance u²(P) + u²(μ) + s² / n

where μ is the mean logarithm of the life, s its spread from tool to tool and n = max(1, U) the number of
tools it averages out over (for many tools the renewal theorem: E(N) → P / E(L), var(N) → P s² / E(L);
D. R. Cox, Renewal Theory, 1962, ch. 4). A job that takes only a part of one meets the tool that is in use,
which is a long-lasting one the more often, as it is in use for longer (the same, ch. 5): 1 / L of it has
the mean 1 / E(L) again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

from . import student
from .job_record import Stones
from .machine_record import Basis, Series
from .parts import Part
from .pooling import predict
from .record_told import from_record
from .result import Assumption, Result
from .say import LN, L, Line, Qty

__all__ = [
    "LEVEL",
    "Asked",
    "Life",
    "UsedUp",
    "asked",
    "assumption",
    "cost",
    "edges",
    "life_of",
    "part",
    "stones",
    "told",
]

#: The level of every range here.
LEVEL = 0.9
_FACTOR = NormalDist().inv_cdf(0.5 + LEVEL / 2.0)


@dataclass(frozen=True, slots=True)
class Life:
    """How much a tool lasts for, as a natural logarithm: mean, standard uncertainty of the mean, spread from tool to tool."""

    mean_log: float
    u_log: float
    spread_log: float


def life_of(series: Series) -> Life:
    """The life of the next tool by a series of lives (logarithms), or by its prior where it holds none."""
    found, learned = predict(series.learned), series.learned
    inside = learned.spread**2 + learned.between**2
    # half the 90 % range of Student's t, as that of a normal distribution
    scale = student.two_sided(LEVEL, found.dof) / _FACTOR
    return Life(found.mean, scale * math.sqrt(max(0.0, found.u_next**2 - inside)), scale * math.sqrt(inside))


@dataclass(frozen=True, slots=True)
class Asked:
    """What a job asks of a tool: the middle (passes, or cm³ of iron) and the uncertainty of its logarithm."""

    amount: float
    u_log: float


def asked(amount: float, u_log: float) -> Asked:
    """Raises ValueError for nothing, or for less."""
    if not (amount > 0.0 and math.isfinite(amount) and u_log >= 0.0):
        raise ValueError("a job asks something of its tools")
    return Asked(amount, u_log)


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedUp:
    """What a job uses up of one kind of tool, in whole tools and parts of one: from ``low`` by way of ``mean`` to ``high``
    in nine jobs of ten, ``sd`` the standard deviation. ``key`` is stable ("edges", "stones.220"); ``grit`` is "" for
    edges. ``rests_on`` is the record behind it with ``worn_out`` tools; None where it is common practice."""

    key: str
    low: float
    mean: float
    high: float
    sd: float
    grit: str = ""
    rests_on: Basis | None = None
    worn_out: int = 0

    @property
    def at_hand(self) -> int:
        """How many fresh ones to have at hand."""
        return max(1, math.ceil(self.high - 1e-9))

    @property
    def at_least(self) -> int:
        """How many are changed at the least."""
        return math.floor(self.low + 1e-9)


def _used(key: str, want: Asked, life: Life, grit: str, rests_on: Basis | None, worn_out: int) -> UsedUp:
    plain = math.log(want.amount) - life.mean_log
    many = max(1.0, math.exp(plain - life.spread_log**2 / 2.0))
    middle = plain - life.spread_log**2 / 2.0 * (1.0 + 1.0 / many)
    variance = want.u_log**2 + life.u_log**2 + life.spread_log**2 / many
    u = math.sqrt(variance)
    mean = math.exp(middle + variance / 2.0)
    return UsedUp(
        key=key,
        low=math.exp(middle - _FACTOR * u),
        mean=mean,
        high=math.exp(middle + _FACTOR * u),
        sd=mean * math.sqrt(math.expm1(variance)),
        grit=grit,
        rests_on=rests_on,
        worn_out=worn_out,
    )


def edges(want: Asked, life: Life, rests_on: Basis | None = None, worn_out: int = 0) -> UsedUp:
    """Edges for so many passes."""
    return _used("edges", want, life, "", rests_on, worn_out)


def stones(grit: str, want: Asked, life: Life, rests_on: Basis | None = None, worn_out: int = 0) -> UsedUp:
    """Sets of stones of a grit for so much iron, cm³."""
    return _used(f"stones.{grit}", want, life, grit, rests_on, worn_out)


def cost(used: Sequence[UsedUp], per_edge: float | None, per_set: float | None) -> tuple[float, float] | None:
    """What the tools cost, in the person's own money: mean and standard deviation; None where no price is known."""
    rows = [(u, p) for u in used if (p := per_set if u.grit else per_edge) is not None]
    if not rows:
        return None
    return math.fsum(p * u.mean for u, p in rows), math.sqrt(math.fsum((p * u.sd) ** 2 for u, p in rows))


# -- in words ----------------------------------------------------------------------------------------
def part(used: UsedUp) -> Part:
    """What is to be at hand, as a line of the list of parts."""
    said = {"low": Qty(used.low, "times"), "high": Qty(used.high, "times")}
    if used.grit:
        line = L("set of {grit} stones for the hone: {low} to {high} sets will be used up", grit=used.grit, **said)
    else:
        line = L("fresh edge for the boring bar: {low} to {high} edges will be used up", **said)
    return Part(used.key, used.at_hand, line)


def told(used: UsedUp) -> Line:
    """What is used up, and what that rests on."""
    said = {"low": Qty(used.low, "times"), "high": Qty(used.high, "times")}
    if used.rests_on is None:
        basis = L("By common practice: none of this machine has been used up yet.")
        if used.grit:
            return L("Sets of {grit} stones used up: {low} to {high}. {basis}", grit=used.grit, basis=basis, **said)
        return L("Cutting edges used up: {low} to {high}. {basis}", basis=basis, **said)
    known = from_record(used.rests_on)
    if used.grit:
        return LN(
            "Sets of {grit} stones used up: {low} to {high}, going by one set before. {basis}",
            "Sets of {grit} stones used up: {low} to {high}, going by {n} sets before. {basis}",
            used.worn_out,
            grit=used.grit,
            basis=known,
            **said,
        )
    return LN(
        "Cutting edges used up: {low} to {high}, going by one edge before. {basis}",
        "Cutting edges used up: {low} to {high}, going by {n} edges before. {basis}",
        used.worn_out,
        basis=known,
        **said,
    )


def set_use(grit: str, used: Stones, life: Life, rests_on: Basis | None) -> Result:
    """What the set of stones in use has done in this job of its life."""
    taken, lasts = used.taken_cm3[-1], math.exp(life.mean_log)
    return Result(
        key=f"hone.set.{grit}",
        line=L(
            "This set of {grit} stones: {taken} of iron in this job, {share} of a usual life.",
            grit=grit,
            taken=Qty(taken, "volume"),
            share=Qty(taken / lasts, "percent"),
        ),
        value=Qty(taken, "volume"),
        why=(
            L("A fresh set bites differently until it has run in: check after a few strokes."),
            *(() if rests_on is None else (from_record(rests_on),)),
        ),
        assumptions=(
            Assumption(
                L("A set of stones lasts for about {life} of iron.", life=Qty(lasts, "volume")),
                "common practice" if rests_on is None else "own history",
            ),
        ),
    )


def assumption(used: Sequence[UsedUp]) -> Assumption:
    """What all of it takes for granted."""
    own = all(u.rests_on is not None for u in used)
    line = L("Edges and stones last as they did; a job pays for the part of each that it uses up.")
    return Assumption(line, "own history" if own else "common practice")
