"""The clean-up diameter of each bore, the oversize advised, and the one decided on."""

from __future__ import annotations

from logic import cleanup, oversize
from logic.sweep import Swept

from ..fields.oversize import CONFIDENCE, HONE_ALLOW, LARGEST, LISTED, MIXED, SERIES
from ..fields.sizes import HONE_STOCK
from ..fields.sweep import READING_U
from ..graph import fact
from ..view import View
from .block import bore_length_mm
from .face import bore_lean
from .gauging import unread_cells
from .record import bored_u_mm
from .sleeves import sleeved
from .sweep import sweep_lean, swept
from .walls import largest_bore_mm
from .worn import wear_side, worn_bore

__all__ = [
    "choice",
    "chosen_step_mm",
    "cleanup_of",
    "cleanups",
    "decided_step_mm",
    "deciding",
    "hone_stock_mm",
    "step_of_mm",
    "steps_mm",
    "waiting",
]


@fact
def cleanup_of(view: View, cylinder: int) -> cleanup.CleanUp | None:
    """The clean-up diameter of a cylinder: swept where it was swept, else from two-point readings; None while it has none."""
    worn, found = worn_bore(view, cylinder), swept(view, cylinder)
    if worn is None:
        return None
    if found is None:
        return cleanup.clean_up(worn, wear_side(view, cylinder), bore_lean(view, cylinder))
    return cleanup.from_sweep(
        cylinder,
        found.clean_mm if found.safe_mm is None else found.safe_mm,
        found.u_own_mm,
        u_common_mm=found.u_zero_mm,
        worst_mm=worn.worst.d_mm,
        unworn_mm=worn.unworn.mm,
        u_wear_mm=worn.u_wear_mm,
        cell=(worn.worst.depth_mm, worn.worst.axis),
        missed_mm=found.missed_mm,
        u_gauge_mm=worn.u_common_mm,
        unswept=cleanup.needs_unswept(worn, _seen(view, found)),
    )


@fact
def cleanups(view: View) -> dict[int, cleanup.CleanUp]:
    """The clean-up diameter of each measured cylinder."""
    return {c: one for c in view.cylinders if (one := cleanup_of(view, c)) is not None}


def _seen(view: View, found: Swept) -> cleanup.SeenBySweep:
    """What the sweep saw of the bore's middle down its length, to the front and to the left."""
    lean, length = sweep_lean(view, found.cylinder), bore_length_mm(view)
    return cleanup.SeenBySweep(
        rings=found.rings,
        u_reading_mm=view.number(READING_U),
        at_mm=found.centre_mm if found.safe_centre_mm is None else found.safe_centre_mm,
        u_centring_mm=wear_side(view, found.cylinder).u_centring_mm,
        slope=(lean.along_mm / length, -lean.across_mm / length),
        u_slope=(lean.u_along_mm / length, lean.u_across_mm / length),
    )


@fact
def steps_mm(view: View) -> tuple[float, ...]:
    """The steps there are to choose from."""
    series = view.choice(SERIES)
    if series == "auto":
        series = "both" if view.nominal_mm is None else oversize.series_for(view.nominal_mm)
    listed = [v.value for v in view.all(LISTED).values()]
    return oversize.steps_mm("both" if series == "listed" and not listed else series, listed)


def _limits(view: View) -> dict[int, float]:
    stated = view.number(LARGEST)
    out = {}
    for cylinder in view.cylinders:
        known = [x for x in (stated, largest_bore_mm(view, cylinder)) if x is not None]
        if known:
            out[cylinder] = min(known)
    return out


@fact
def deciding(view: View) -> dict[int, cleanup.CleanUp]:
    """The clean-up of the cylinders that keep their iron: a bore that gets a sleeve decides no oversize, unless all do."""
    found = cleanups(view)
    kept = {c: one for c, one in found.items() if c not in sleeved(view)}
    return kept or found


@fact
def waiting(view: View) -> tuple[int, ...]:
    """The cylinders that have a say in the oversize and are not measured yet, at every place asked for or by a sweep."""
    return tuple(c for c in view.cylinders if c not in sleeved(view) and not _covered(view, c))


def _covered(view: View, cylinder: int) -> bool:
    return swept(view, cylinder) is not None or not unread_cells(view, cylinder)


@fact
def choice(view: View) -> oversize.Oversize | None:
    """The oversize advised; None while the nominal bore or every reading is missing."""
    found = deciding(view)
    if view.nominal_mm is None or not found:
        return None
    return oversize.choose(
        tuple(found.values()),
        nominal_mm=view.nominal_mm,
        steps=steps_mm(view),
        hone_stock_mm=hone_stock_mm(view),
        u_bored_mm=bored_u_mm(view),
        confidence=view.number(CONFIDENCE),
        largest_mm=_limits(view),
        hone_allow_mm=view.number(HONE_ALLOW),
        waiting=waiting(view),
        mixed=view.choice(MIXED) == "yes",
    )


@fact
def decided_step_mm(view: View) -> float | None:
    """The step the person decided on, or None. A decision that is no oversize does not count."""
    decision = view.decision("oversize")
    step = None if decision is None or decision.typed is None else decision.typed.value
    most = LISTED.high
    return step if step is not None and step >= 0.0 and (most is None or step <= most) else None


@fact
def chosen_step_mm(view: View) -> float | None:
    """The person's step if they decided, else the advised one (0 for hone only); None while there is none."""
    decided = decided_step_mm(view)
    if decided is not None:
        return decided
    advised = choice(view)
    return None if advised is None else advised.step_mm


@fact
def step_of_mm(view: View, cylinder: int) -> float | None:
    """The step of one cylinder: its own where oversizes are mixed, else the job's."""
    advised = choice(view)
    if decided_step_mm(view) is None and advised is not None and advised.outcome == oversize.Outcome.MIXED:
        return dict(advised.own_steps).get(cylinder)
    return chosen_step_mm(view)


@fact
def hone_stock_mm(view: View) -> float:
    """What the bar leaves for the hone, on diameter."""
    return view.number(HONE_STOCK)
