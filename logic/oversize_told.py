"""Which oversize: each outcome of the choice as sentences and cautions."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

from .result import Caution, Verdict
from .say import LN, L, Line, Qty
from .steps import NOTHING_SPARE_MM, Choice, Outcome, Step

__all__ = ["Asked", "Told", "count_word", "naive_lines", "tell"]

_COUNTS = {
    3: L("three"),
    4: L("four"),
    5: L("five"),
    6: L("six"),
    8: L("eight"),
    10: L("ten"),
    12: L("twelve"),
}


def count_word(n: int) -> Line:
    """A small number in words."""
    return _COUNTS.get(n, L("{n}", n=n))


class Asked(NamedTuple):
    """What the choice was made from, as far as its words tell it."""

    nominal_mm: float
    stock_mm: float
    u_bored_mm: float
    wanted: float
    hone_allow_mm: float
    largest_mm: Mapping[int, float]


class Told(NamedTuple):
    """One outcome in words."""

    line: Line
    verdict: str
    why: Sequence[Line] = ()
    cautions: Sequence[Caution] = ()


def tell(found: Choice, asked: Asked) -> Told:
    """The outcome of a choice in words."""
    return _TELLERS[found.outcome](found, asked)


# -- outcomes ---------------------------------------------------------------------------------
def _said(found: Choice, asked: Asked) -> dict[str, Any]:
    return {
        "n": found.governing.cylinder,
        "count": count_word(len(found.cleanups)),
        "needed": Qty(found.needed_mm, "size"),
        "wanted": Qty(asked.wanted, "percent"),
    }


def _tell_step(found: Choice, asked: Asked) -> Told:
    if (found.spare_mm or 0.0) < NOTHING_SPARE_MM:
        line = L("{step} would just clean up, with nothing to spare. Measure again.", step=_step_of(found.row))
        return Told(line, Verdict.MAYBE, _nearest_lines(found), _HAVE_PISTONS)
    spare = Qty(max(0.0, found.spare_mm or 0.0), "diff")
    said = {**_said(found, asked), "step": _step_of(found.row), "spare": spare}
    if len(found.cleanups) == 1:
        line = L("A bore at {step} cleans up, {spare} to spare.", **said)
    elif len(found.cleanups) == 2:
        line = L("Bores at {step} clean up both. Cylinder {n} governs, {spare} to spare.", **said)
    else:
        line = L("Bores at {step} clean up all {count}. Cylinder {n} governs, {spare} to spare.", **said)
    why = []
    if found.without is not None:
        why.append(
            L(
                "Without cylinder {n} a step of {step} would do: sleeving that one keeps the others smaller.",
                n=found.without[0],
                step=Qty(found.without[1], "step"),
            )
        )
    return Told(line, Verdict.GO, [*why, *_nearest_lines(found)], _HAVE_PISTONS)


def _step_of(row: Step | None) -> Qty:
    if row is None:
        raise ValueError("this outcome has a step")
    return Qty(row.step_mm, "step")


def _nearest_lines(found: Choice) -> list[Line]:
    """What could bring a smaller step within reach."""
    if found.nearest is None:
        return []
    said = {"step": _step_of(found.nearest), "chance": Qty(found.nearest.probability, "chance")}
    if len(found.cleanups) == 1:
        return [L("{step} has a chance of {chance}. Sweep the bore with an indicator to find out.", **said)]
    return [
        LN(
            "{step} has a chance of {chance}. Sweep cylinder {names} with an indicator to find out.",
            "{step} has a chance of {chance}. Sweep cylinders {names} with an indicator to find out.",
            len(found.doubtful),
            names=found.doubtful,
            **said,
        )
    ]


def _tell_hone(found: Choice, asked: Asked) -> Told:
    said = {
        **_said(found, asked),
        "size": Qty(found.honed_mm or 0.0, "size"),
        "chance": Qty(found.confidence or 0.0, "chance"),
    }
    if len(found.cleanups) == 1:
        line = L("Hone only: {size} takes out the wear, and the present piston can stay.", **said)
    elif len(found.cleanups) == 2:
        line = L("Hone only: {size} takes out the wear in both, and the present pistons can stay.", **said)
    else:
        line = L("Hone only: {size} takes out the wear in all {count}, and the present pistons can stay.", **said)
    allow = Qty(asked.hone_allow_mm, "diff")
    why = [L("The wear is within {allow}, which the present pistons may run with.", allow=allow)]
    return Told(line, Verdict.GO, why, _KEEP_PISTONS)


def _tell_mixed(found: Choice, asked: Asked) -> Told:
    steps = tuple(L("cylinder {n} at {step}", n=n, step=Qty(s, "step")) for n, s in found.own_steps if s is not None)
    sure = found.confidence is not None and found.confidence >= asked.wanted
    sure = sure and (found.spare_mm or 0.0) >= NOTHING_SPARE_MM
    return Told(
        L("Each bore to its own step: {steps}.", steps=steps),
        Verdict.GO if sure else Verdict.MAYBE,
        [L("One step for all would be {step}.", step=_step_of(found.row))],
        (*_HAVE_PISTONS, _MIXED),
    )


def _tell_measure(found: Choice, asked: Asked) -> Told:
    last = found.steps[-1]
    close = {"step": _step_of(last), "chance": Qty(last.probability, "chance")}
    if len(found.cleanups) == 1:
        line = L(
            "Too close to call: {step}, the largest step, has a chance of {chance}. Sweep the bore before deciding.",
            **close,
        )
    else:
        line = LN(
            "Too close to call: {step}, the largest step, has a chance of {chance}. Sweep cylinder {names} before deciding.",
            "Too close to call: {step}, the largest step, has a chance of {chance}. Sweep cylinders {names} before deciding.",
            len(found.culprits),
            names=found.culprits,
            **close,
        )
    said = _said(found, asked) | {"over": _over(found, asked)}
    return Told(line, Verdict.MAYBE, [L("{needed} bored, {over} finished, would be sure enough.", **said)])


def _over(found: Choice, asked: Asked) -> Qty:
    """The step that would clean up every cylinder, if there were one."""
    return Qty(found.needed_mm + asked.stock_mm - asked.nominal_mm, "step")


def _tell_beyond(found: Choice, asked: Asked) -> Told:
    said = _said(found, asked) | {"over": _over(found, asked)}
    if len(found.cleanups) == 1:
        line = L("No step in the list cleans up this bore: {over} would. Look for a larger piston, or sleeve.", **said)
        return Told(line, Verdict.STOP)
    return Told(
        L("No step in the list cleans up every bore: {over} would. Look for larger pistons, or sleeve.", **said),
        Verdict.STOP,
        [
            LN(
                "Short of it: cylinder {names}.",
                "Short of it: cylinders {names}.",
                len(found.culprits),
                names=found.culprits,
            )
        ]
        if found.culprits
        else [],
    )


def _tell_stop(found: Choice, asked: Asked) -> Told:
    if found.sleeve:
        return _tell_sleeve(found, asked)
    line = LN(
        "Stop: cleaning up takes {step}, and the wall of cylinder {names} is too thin for it.",
        "Stop: cleaning up takes {step}, and the walls of cylinders {names} are too thin for it.",
        len(found.culprits),
        names=found.culprits,
        step=_step_of(found.forbidden),
    )
    why = [*_limit_lines(found, asked), L("What is left: sleeve the bores, or find another block.")]
    return Told(line, Verdict.STOP, why)


def _tell_sleeve(found: Choice, asked: Asked) -> Told:
    if found.forbidden is not None:
        because = L("its wall is too thin for {step}", step=_step_of(found.forbidden))
    else:
        said = _said(found, asked) | {"over": _over(found, asked)}
        because = L("it needs {over}, more than any step in the list", **said)
    why = _limit_lines(found, asked)
    if found.row is None:
        line = LN(
            "Sleeve cylinder {names}: {because}. The other cleans up at no listed step either.",
            "Sleeve cylinder {names}: {because}. The others clean up at no listed step either.",
            len(found.cleanups) - len(found.sleeve),
            names=found.sleeve,
            because=because,
        )
        return Told(line, Verdict.STOP, why)
    line = LN(
        "Sleeve cylinder {names}: {because}. The other cleans up at {step}.",
        "Sleeve cylinder {names}: {because}. The others clean up at {step}.",
        len(found.cleanups) - len(found.sleeve),
        names=found.sleeve,
        because=because,
        step=_step_of(found.row),
    )
    return Told(line, Verdict.STOP, why, _HAVE_PISTONS)


def _limit_lines(found: Choice, asked: Asked) -> list[Line]:
    """What the walls of the cylinders in question allow."""
    return [
        L("The wall of cylinder {n} allows {limit} at most.", n=n, limit=Qty(asked.largest_mm[n], "size"))
        for n in found.culprits
        if n in asked.largest_mm
    ]


_TELLERS: Mapping[str, Callable[[Choice, Asked], Told]] = {
    Outcome.HONE: _tell_hone,
    Outcome.STEP: _tell_step,
    Outcome.MIXED: _tell_mixed,
    Outcome.MEASURE: _tell_measure,
    Outcome.BEYOND: _tell_beyond,
    Outcome.SLEEVE: _tell_sleeve,
    Outcome.STOP: _tell_stop,
}

_HAVE_PISTONS = (
    Caution(
        "oversize.pistons",
        L("Have the pistons in hand and measured before any metal is cut, and go by their maker's clearance."),
    ),
)
_KEEP_PISTONS = (
    Caution(
        "oversize.keep_pistons",
        L(
            "Before you keep the pistons, measure them, check their ring grooves, and go by the maker's clearance limit."
        ),
    ),
)
_MIXED = Caution(
    "oversize.mixed",
    L(
        "Mixed oversizes weigh differently and upset the balance: match the piston weights, and ask the engine's maker whether mixing is allowed."
    ),
)


def naive_lines(found: Choice) -> list[Line]:
    """What going by the largest diameter alone would have said, where that is too small."""
    naive, step_mm = found.naive, found.step_mm
    if not naive.fails or naive.step_mm is None or (step_mm is not None and naive.step_mm >= step_mm):
        return []
    said: dict[str, Any] = {
        "step": Qty(naive.step_mm, "step"),
        "chance": Qty(naive.probability, "chance"),
        "names": naive.cylinders,
    }
    if len(found.cleanups) == 1:
        if found.nearest is not None and found.nearest.step_mm == naive.step_mm:  # its chance is told already
            return [L("The largest diameter alone would say {step}.", step=said["step"])]
        return [
            L(
                "The largest diameter alone would say {step}: the chance that it cleans up is {chance}.",
                **said,
            )
        ]
    return [
        LN(
            "The largest diameter alone would say {step}: the chance that it cleans up every bore is {chance}. Not sure: cylinder {names}.",
            "The largest diameter alone would say {step}: the chance that it cleans up every bore is {chance}. Not sure: cylinders {names}.",
            len(naive.cylinders),
            **said,
        )
    ]
