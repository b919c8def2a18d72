"""Parts to order once the oversize is decided on, and what to do when they cannot be had.

How many of each follows from the engine; which a job needs is common practice without a
source, and the engine's own parts list comes first.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from .compression import GASKET_COVER_MM
from .result import Assumption, Result, Verdict
from .say import L, Line, Qty
from .steps import HONE_ALLOW_MM, Step

__all__ = ["Part", "Wanted", "fitted", "instead", "listed", "parts"]


@dataclass(frozen=True, slots=True)
class Part:
    """One line of the order: ``key`` is stable, ``count`` how many, ``line`` what it is, in words."""

    key: str
    count: int
    line: Line


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What the list goes by: each cylinder's step over nominal (mm, 0 where the present piston stays), the cylinders
    that get a sleeve, the largest finished bore (mm, None while unknown), rings on a piston, and what is renewed."""

    steps_mm: Mapping[int, float]
    sleeves: Sequence[int] = ()
    finished_mm: float | None = None
    compression_rings: int = 2
    oil_rings: int = 1
    gasket_set: bool = True
    bearings: str = "none"
    liners: bool = False


def parts(wanted: Wanted) -> tuple[Part, ...]:
    """The parts to order, in the order in which they are asked for. Raises ValueError without cylinders."""
    if not wanted.steps_mm:
        raise ValueError("an engine has cylinders")
    out: list[Part] = []
    for step, count in sorted(Counter(wanted.steps_mm.values()).items()):
        out += _for_step(step, count, wanted)
    if wanted.sleeves:
        out.append(
            Part("sleeves", len(wanted.sleeves), L("sleeve, for cylinders {c}", c=tuple(sorted(wanted.sleeves))))
        )
    if wanted.liners:
        out.append(Part("seals", len(wanted.steps_mm), L("set of seals for a wet liner")))
    out.append(_head_gasket(wanted.finished_mm))
    if wanted.gasket_set:
        out.append(Part("gaskets", 1, L("set of gaskets and seals for the strip-down")))
    if wanted.bearings in ("all", "rods"):
        out.append(Part("rod_bearings", 1, L("set of big-end bearings, to the size of the crank")))
    if wanted.bearings == "all":
        out.append(Part("main_bearings", 1, L("set of main bearings, to the size of the crank")))
    out.append(Part("oil", 2, L("oil and filter: for the start, and after the first run")))
    return tuple(out)


#: How a part that was ordered is named once it is in the engine, by the first word of its key.
_FITTED: Mapping[str, Line] = {
    "rings": L("new rings"),
    "sleeves": L("new sleeves"),
    "seals": L("new liner seals"),
    "head_gasket": L("new head gasket"),
    "gaskets": L("new gaskets and seals"),
    "rod_bearings": L("new big-end bearings"),
    "main_bearings": L("new main bearings"),
    "oil": L("oil and filter"),
}


def fitted(found: Sequence[Part]) -> tuple[Line, ...]:
    """What goes into the engine of an order, each thing once and without the pistons, which are measured one by one."""
    names = dict.fromkeys(p.key.split(".")[0] for p in found)
    return tuple(_FITTED[name] for name in names if name in _FITTED)


def _for_step(step_mm: float, count: int, wanted: Wanted) -> list[Part]:
    said = {"step": Qty(step_mm, "step"), "rings": wanted.compression_rings, "oil": wanted.oil_rings}
    if step_mm <= 0:
        return [
            Part(
                f"rings.{step_mm:.3f}",
                count,
                L("ring set for the present piston, {rings} compression and {oil} oil", **said),
            )
        ]
    return [
        Part(f"pistons.{step_mm:.3f}", count, L("piston {step} over nominal, with pin and circlips", **said)),
        Part(f"rings.{step_mm:.3f}", count, L("ring set {step}, {rings} compression and {oil} oil", **said)),
    ]


def _head_gasket(finished_mm: float | None) -> Part:
    if finished_mm is None:
        return Part("head_gasket", 1, L("head gasket"))
    bore = Qty(finished_mm + 2 * GASKET_COVER_MM, "place")
    return Part("head_gasket", 1, L("head gasket, gasket bore at least {bore}", bore=bore))


def listed(found: Sequence[Part], *, make: str | None, ordered: str | None) -> Result:
    """The list as an answer: ``make`` what the person wrote of the pistons, ``ordered`` "yes", "here" or None."""
    if ordered == "here":
        line = L("The parts are here. Measure every piston before a bore is cut.")
    elif ordered == "yes":
        line = L("Ordered. Cut nothing before the pistons are here and measured.")
    else:
        line = L("Order these, and cut nothing before the pistons are here.")
    return Result(
        key="parts.list",
        line=line,
        verdict=Verdict.GO if ordered in ("yes", "here") else Verdict.INFO,
        why=(
            *(L("{n} × {what}", n=str(p.count), what=p.line) for p in found),
            *((L("Pistons wanted: {make}", make=make),) if make else ()),
        ),
        value=Qty(len(found), "count"),
        assumptions=(
            Assumption(
                L(
                    "The gasket bore clears the finished bore by {cover} all round.",
                    cover=Qty(GASKET_COVER_MM, "diff"),
                )
            ),
            Assumption(L("The engine's own parts list comes first.")),
        ),
    )


def _take_larger(s: Step) -> Line:
    return L(
        "Take {step}: finished {size}. Check walls and gasket again.",
        step=Qty(s.step_mm, "step"),
        size=Qty(s.finished_mm, "size"),
    )


def instead(step_mm: float, steps: Sequence[Step], *, wear_mm: float | None, wanted: float = 0.95) -> Result:
    """What to do where pistons of ``step_mm`` over nominal cannot be had.

    ``steps`` are those weighed, with the chance of each and the cylinders whose limit it
    passes; ``wear_mm`` is the most wear of any bore.
    """
    likely = [s for s in steps if s.probability >= wanted]
    larger = [s for s in likely if s.step_mm > step_mm + 1e-6 and not s.limited]
    ways = [_take_larger(s) for s in larger[:2]]
    ways.append(L("Sleeve every bore back to the size that can be had."))
    if wear_mm is not None and wear_mm <= HONE_ALLOW_MM:
        ways.append(L("Hone only, keep the pistons, and fit new rings: the wear is {wear}.", wear=Qty(wear_mm, "diff")))
    smaller = [s for s in likely if 0 < s.step_mm < step_mm - 1e-6]
    if smaller:
        ways.insert(0, L("Take {step}: it cleans up as well.", step=Qty(smaller[-1].step_mm, "step")))
    return Result(
        key="parts.instead",
        line=L("{step} cannot be had. {first}", step=Qty(step_mm, "step"), first=ways[0]),
        value=Qty(step_mm, "step"),
        verdict=Verdict.MAYBE,
        why=tuple(ways[1:]),
        assumptions=(Assumption(L("Ask other suppliers first; pistons can also be made to order.")),),
    )
