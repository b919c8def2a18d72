"""What of a step's work may be said before what it rests on is settled (see :mod:`store.facts.gates`)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from logic.result import Result, Verdict
from logic.say import LN, L, Line

from ..facts import gates
from ..facts.final import checked
from ..facts.forbids import cuts_forbidden, size_forbidden
from ..facts.honing import checks_logged
from ..facts.sizes import Route, target
from ..fields.clamp import THREAD, TORQUE
from ..fields.final import WASHED
from ..fields.rings import GAP
from ..fields.sizes import CLEARANCE, PISTON
from ..view import View
from .base import Risk, Work

__all__ = [
    "bar_may_cut",
    "chamfer_may_be",
    "hone_may_cut",
    "may_cut",
    "may_judge",
    "only_assumed",
    "only_honed",
    "risks",
    "size_may_be",
    "waits_for_bar",
    "waits_for_clamps",
    "waits_for_decision",
    "waits_for_final",
    "waits_for_hone",
    "waits_for_rings",
    "waits_for_size",
    "wanted",
]


def _why_shut(view: View) -> Line:
    if not gates.decided(view):
        return L("Decide on the oversize first. Until then there is no size to cut to.")
    return L("Measure the pistons first: each bore is made to fit its piston.")


def _cylinder(result: Result) -> int | None:
    return next((int(part) for part in result.key.split(".") if part.isdigit()), None)


def _stopped(work: Work, why: Mapping[int, tuple[Line, ...]], said: Callable[[Line], Line]) -> Work:
    """No yes for a cylinder that another step says no to: its reasons take the place of the answer."""
    if not why:
        return work

    def stop(result: Result) -> Result:
        cylinder = _cylinder(result)
        lines = why.get(cylinder, ()) if cylinder is not None else next(iter(why.values()))
        if result.verdict != Verdict.GO or not lines:
            return result
        without = L("Without that it would be: {line}", line=result.line)
        return replace(
            result, verdict=Verdict.STOP, confidence=None, line=said(lines[0]), why=(*lines[1:], without, *result.why)
        )

    return replace(work, results=tuple(map(stop, work.results)), done=False)


def bar_may_cut(view: View, work: Work) -> Work:
    """As :func:`may_cut`, and nothing is cut that walls, deck, block, reach or clamps forbid."""
    work = may_cut(view, work)
    to_cut = [c for c in view.cylinders if not gates.bored(view, c)]
    why = {c: found for c in to_cut if (found := cuts_forbidden(view, c))}
    return _stopped(work, why, lambda line: L("Do not cut: {why}", why=line))


def hone_may_cut(view: View, work: Work) -> Work:
    """As :func:`may_cut`, and no bore is honed on to a size that its wall or the largest bore allowed forbids."""
    work = _not_on(may_cut(view, work), _forbidden_sizes(view), lambda line: L("Do not hone on: {why}", why=line))
    to_bore = [c for c in view.cylinders if not gates.bored(view, c) and not checks_logged(view, c)]
    return _not_on(
        work,
        {c: (L("Cylinder {c}: {answer}", c=c, answer=L("Not bored to size yet.")),) for c in to_bore},
        lambda line: line,
        Verdict.MAYBE,
    )


def chamfer_may_be(view: View, work: Work) -> Work:
    """As :func:`may_cut`, and no bore is chamfered that may not be finished."""
    return _not_on(may_cut(view, work), _forbidden_sizes(view), lambda line: L("Do not chamfer: {why}", why=line))


def _forbidden_sizes(view: View) -> dict[int, tuple[Line, ...]]:
    """Why bores that are not honed yet may not come to their size, by cylinder."""
    to_hone = [c for c in view.cylinders if not gates.honed(view, c)]
    return {c: found for c in to_hone if (found := size_forbidden(view, c))}


def _not_on(
    work: Work, why: Mapping[int, tuple[Line, ...]], said: Callable[[Line], Line], verdict: str = Verdict.STOP
) -> Work:
    """What is said of cylinders that may not be worked on gives way to why, which comes first."""
    if not why or work.blocked is not None:
        return work
    stops = tuple(
        Result(key=f"forbidden.{c}", line=said(lines[0]), verdict=verdict, why=lines[1:]) for c, lines in why.items()
    )
    kept = tuple(r for r in work.results if _cylinder(r) not in why or r.verdict in (Verdict.STOP, Verdict.MAYBE))
    missing = tuple(m for m in work.missing if m[1].get("cylinder") not in why)
    return replace(work, results=(*stops, *kept), missing=missing, done=False)


def size_may_be(view: View, work: Work) -> Work:
    """As :func:`only_assumed`, and no size that the walls or the largest bore allowed forbid."""
    why = {c: found for c in view.cylinders if (found := size_forbidden(view, c))}
    return _stopped(only_assumed(view, work), why, lambda line: L("Not to this size: {why}", why=line))


def may_cut(view: View, work: Work) -> Work:
    """No size before the oversize is decided on and the pistons are measured, or the risk is taken."""
    shut = gates.shut_cylinders(view)
    if not shut or work.blocked is not None:
        return work
    why = _why_shut(view)
    if len(shut) == len(view.cylinders):
        return Work(blocked=why, cautions=work.cautions)
    kept = tuple(r for r in work.results if _cylinder(r) not in shut)
    missing = tuple(m for m in work.missing if m[1].get("cylinder") not in shut)
    return replace(work, results=kept, missing=missing, done=False, pictures=())


def may_judge(view: View, work: Work) -> Work:
    """No verdict on a bore that may still be warm or dirty."""
    if gates.washed(view) or work.blocked is not None:
        return work
    said_no = view.choice(WASHED) == "no"
    return Work(
        blocked=L("Wash the bores, dry them and let the block go cold. Then measure.") if said_no else None,
        missing=((WASHED.key, {}),),
        cautions=work.cautions,
    )


def risks(view: View) -> tuple[Risk, ...]:
    """What is assumed of the pistons and their clearance, each with what somebody says who goes on with it."""
    if not gates.decided(view):
        return ()
    out = []
    lacking = gates.pistons_lacking(view)
    if lacking and not gates.risk_taken(view, gates.PISTON_RISK):
        out.append(
            Risk(
                what=gates.PISTON_RISK,
                line=L("Not every piston is measured. A piston that differs from its list size makes the bore wrong."),
                take=L("I take the risk: bore without"),
                decided=L("Bored without measuring the pistons"),
            )
        )
    if not gates.clearance_settled(view) and gates.usual_clearance(view):
        out.append(
            Risk(
                what=gates.CLEARANCE_RISK,
                line=L("The clearance is that of a plain cast piston. Only the piston's maker knows what it needs."),
                take=L("Plain cast: take the usual clearance"),
                decided=L("The usual clearance taken, without the maker's"),
            )
        )
    return tuple(out)


def only_assumed(view: View, work: Work) -> Work:
    """No yes to a size whose piston or clearance nobody entered and nobody took on."""
    if not wanted(view):
        return work
    why = (
        L("A piston or its clearance is only assumed.")
        if gates.usual_clearance(view)
        else L("Ask the piston's maker for the clearance: only plain cast pistons have a usual one.")
    )
    results = tuple(
        replace(r, verdict=Verdict.MAYBE, confidence=None, why=(why, *r.why)) if r.verdict == Verdict.GO else r
        for r in work.results
    )
    return replace(work, results=results, done=False)


def wanted(view: View) -> tuple[tuple[str, dict[str, int]], ...]:
    """The pistons and the clearance that are still to be entered."""
    out: list[tuple[str, dict[str, int]]] = []
    if not gates.clearance_settled(view):
        out.append((CLEARANCE.key, {}))
    if not gates.pistons_settled(view):
        out += [(PISTON.key, {"cylinder": c}) for c in gates.pistons_lacking(view)]
    return tuple(out)


def only_honed(view: View) -> Line | None:
    """Why nothing is clamped, bored or chamfered: the hone alone takes out the wear."""
    if not gates.decided(view) or any(target(view, c).route != Route.HONE for c in view.cylinders):
        return None
    return L("The bores are only honed")


# -- the order of the work -------------------------------------------------------------------------
def waits_for_decision(view: View) -> Line | None:
    """Before the pistons and their clearance: the oversize."""
    return None if gates.decided(view) else L("Decide on the oversize first.")


def waits_for_size(view: View) -> Line | None:
    """Before the machine goes on: the oversize and the pistons."""
    return None if not gates.shut_cylinders(view) else _why_shut(view)


def waits_for_clamps(view: View) -> Line | None:
    """Before the bar cuts: the clamps."""
    shut = waits_for_size(view)
    if shut is not None or gates.left_out(view, "clamp"):
        return shut
    tight = view.get(THREAD) is not None and view.get(TORQUE) is not None
    return None if tight else L("Clamp the machine first.")


def waits_for_bar(view: View) -> Line | None:
    """Before chamfer and hone: every bore that is to be bored."""
    to_bore = [c for c in view.cylinders if not gates.bored(view, c)]
    if not to_bore:
        return None
    return waits_for_size(view) or LN(
        "Bore cylinder {c} first.", "Bore cylinders {c} first.", len(to_bore), c=tuple(map(str, to_bore))
    )


def waits_for_hone(view: View) -> Line | None:
    """Before the wash and the final check: every bore honed."""
    to_hone = [c for c in view.cylinders if not gates.honed(view, c)]
    if not to_hone:
        return None
    return waits_for_bar(view) or LN(
        "Hone cylinder {c} first.", "Hone cylinders {c} first.", len(to_hone), c=tuple(map(str, to_hone))
    )


def waits_for_final(view: View) -> Line | None:
    """Before the rings and the handover: every bore washed, cold and measured."""
    if gates.left_out(view, "final"):
        return None
    if not gates.washed(view):
        return waits_for_hone(view) or L("Wash, let it go cold and measure first.")
    unread = [c for c in view.cylinders if c not in checked(view)]
    if not unread:
        return None
    return LN(
        "Measure the finished bore {c} first.",
        "Measure the finished bores {c} first.",
        len(unread),
        c=tuple(map(str, unread)),
    )


def waits_for_rings(view: View) -> Line | None:
    """Before the handover: the ring gaps."""
    first = waits_for_final(view)
    if first is not None or gates.left_out(view, "rings") or view.all(GAP):
        return first
    return L("Fit the rings first.")
