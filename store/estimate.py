"""Time and price of a job, from its path and the person's own rates."""

from __future__ import annotations

from collections.abc import Mapping

from logic import estimate as reckoning
from logic.result import Result

from .facts.material import material_used
from .facts.record import STEPS, job_minutes
from .flow import minutes, off_path, skip_key
from .rates import price
from .sheets import all_sheets
from .view import View

__all__ = ["estimate", "own_times", "times"]


def times(view: View, own: Mapping[str, reckoning.Time] | None = None) -> tuple[reckoning.Time, ...]:
    """The time of each step on the job's path, done or not; ``own`` are better ones, by the step's key."""
    known = own or {}
    return tuple(
        known.get(s.key) or reckoning.stated(s.title, minutes(view, s))
        for s in all_sheets()
        if skip_key(s.key) not in view.skipped and (s.key in _ALWAYS or off_path(view, s) is None)
    )


#: Steps that are work done in any case, also once they are off the path of what is still to do.
_ALWAYS = frozenset({"strip", "parts"})


def own_times(view: View) -> dict[str, reckoning.Time]:
    """The times of the steps that the person's own jobs tell of, by the step's key."""
    found = {s: job_minutes(view, s.key) for s in all_sheets() if s.key in STEPS}
    return {
        s.key: reckoning.Time(s.title, took[0], took[1], known=True, rests_on=took[2])
        for s, took in found.items()
        if took is not None
    }


def estimate(view: View, own: Mapping[str, reckoning.Time] | None = None) -> Result:
    """The whole job's time, what it uses up of edges and stones, and its price, as ranges; ``own`` as in :func:`times`,
    the person's own jobs unless given."""
    known = own_times(view) if own is None else own
    return reckoning.estimate(times(view, known), price(view), len(view.cylinders), material_used(view))
