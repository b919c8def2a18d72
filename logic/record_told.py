"""The machines' records in words: what they rest on, what they say of the next bore, and what does not fit."""

from __future__ import annotations

from .machine_record import Basis
from .say import LN, Line

__all__ = ["from_record"]


def from_record(rests_on: Basis) -> Line:
    """What a figure rests on."""
    return LN(
        "From one bore of this machine since {since}.",
        "From {n} bores of this machine since {since}.",
        rests_on.bores,
        since=rests_on.since,
    )
