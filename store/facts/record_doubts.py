"""Where this job does not fit the record of its machines, and what the record says of the hone's next strokes."""

from __future__ import annotations

import math

from logic.doubt import Doubt
from logic.machine_record import Basis, standing_out
from logic.pooling import Predicted, predict, sums
from logic.readings_check import spot
from logic.record_told import bar_doubt, hone_doubt, taper_doubt

from ..fields.cut import MEASURED
from ..fields.hone import SIZE
from ..fields.record import BAR_FIT, HONE_FIT
from ..graph import fact
from ..view import View
from .bias import cuts, stands_out
from .record import BAR_DOUBT, HONE_DOUBT, bar_fit, bar_record, bored_taper, hone_fit
from .stones import hone_rate
from .taught import bored_forms, own_rates

__all__ = ["expected_rate", "record_doubts"]


@fact
def _bar(view: View) -> tuple[Doubt, ...]:
    model = bar_record(view)
    resting = None if model is None else model.series.basis
    if model is None or resting is None or bar_fit(view) or not stands_out(view):
        return ()
    own = cuts(view)
    off = math.fsum(b for b, _, _ in own) / len(own) - model.next_mm(model.usual).mean
    return (bar_doubt(BAR_DOUBT, off, resting, (spot(MEASURED.key), spot(BAR_FIT.key))),)


@fact
def _taper(view: View) -> tuple[Doubt, ...]:
    """A taper that the bar did not leave before: a dropped or dirty base, a knock, a blunt edge."""
    series = bored_taper(view)
    resting = None if series is None else series.basis
    own = [t for t, _ in bored_forms(view)]
    if series is None or resting is None or not own or bar_fit(view) or not standing_out(series, sums(own)):
        return ()
    now, usual = math.fsum(own) / len(own), predict(series.learned).mean
    return (taper_doubt(f"{BAR_DOUBT}.taper", now, usual, resting, (spot(SIZE.key), spot(BAR_FIT.key))),)


@fact
def odd_grits(view: View) -> tuple[str, ...]:
    """The grits that took off something else in this job than the hone's record led to expect."""
    out = []
    for grit, values in own_rates(view).items():
        known = hone_rate(view, grit)
        if known is not None and values:
            series, x = known
            one = sums(values, [x for _ in values])
            if standing_out(series, one):
                out.append(grit)
    return tuple(out)


@fact
def _hone(view: View) -> tuple[Doubt, ...]:
    if hone_fit(view):
        return ()
    out = []
    for grit in odd_grits(view):
        known, values = hone_rate(view, grit), own_rates(view)[grit]
        resting = None if known is None else known[0].basis
        if known is not None and resting is not None:
            usual = predict(known[0].learned, known[1]).mean
            times = math.exp(math.fsum(values) / len(values) - usual)
            about = (spot(SIZE.key), spot(HONE_FIT.key))
            out.append(hone_doubt(f"{HONE_DOUBT}.{grit}", times, grit, resting, about))
    return tuple(out)


@fact
def record_doubts(view: View) -> tuple[Doubt, ...]:
    """Every doubt about how this job fits the records."""
    return (*_bar(view), *_taper(view), *_hone(view))


@fact
def expected_rate(view: View, grit: str) -> tuple[Predicted, Basis] | None:
    """The logarithm of what a stroke takes off, by the hone's record; None without one, or where this job does not fit
    it and nobody has said that it counts."""
    known = hone_rate(view, grit)
    resting = None if known is None else known[0].basis
    if known is None or resting is None:
        return None
    said = hone_fit(view)
    fits = said == "counts" or (not said and grit not in odd_grits(view))
    return (predict(known[0].learned, known[1]), resting) if fits else None
