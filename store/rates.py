"""The person's own rates, kept with the settings of the device, and the price they make of a job.

What a job itself says of its price comes first. The rates belong to the device and not to
a job, so no fact asks for them: they are made known to a view (:func:`know`) for the
estimate, which stands beside a step and is no part of its verdict.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any
from weakref import WeakKeyDictionary

from logic.estimate import Price

from .fields.parts import MARGIN, PARTS_PRICE, PER_BORE, PER_EDGE, PER_HOUR, PER_SET, TRAVEL

if TYPE_CHECKING:
    from .view import View

__all__ = ["MOST_MONEY", "SETTING", "Rates", "know", "of", "price", "read"]

#: The setting of the device that holds the rates.
SETTING = "rates"
#: No rate is higher than this, in anybody's money.
MOST_MONEY = 1_000_000.0
#: A name or sign of a currency is no longer than this.
_LONGEST = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """What the person asks: by the hour, by the bore, for an edge and a set of stones, for the journey, and on top of
    what parts cost (a share); None where not said. ``currency`` is a sign or short name."""

    per_hour: float | None = None
    per_bore: float | None = None
    per_edge: float | None = None
    per_set: float | None = None
    travel: float | None = None
    margin: float | None = None
    currency: str = ""


def _money(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    return float(value) if math.isfinite(value) and 0 <= value <= MOST_MONEY else None


def read(stored: object) -> Rates:
    """The rates as they are stored with the settings; what does not fit counts as not said."""
    told: Mapping[str, Any] = stored if isinstance(stored, dict) else {}
    numbers = {f.name: _money(told.get(f.name)) for f in fields(Rates) if f.name != "currency"}
    currency = told.get("currency", "")
    return Rates(**numbers, currency=currency.strip()[:_LONGEST] if isinstance(currency, str) else "")


#: The device's rates, for each view they were made known to.
_KNOWN: WeakKeyDictionary[View, Rates] = WeakKeyDictionary()


def know(view: View, rates: Rates) -> None:
    """Make the device's rates known to a view."""
    _KNOWN[view] = rates


def of(view: View) -> Rates:
    """The device's rates, as far as they are known to a view."""
    return _KNOWN.get(view, Rates())


def price(view: View) -> Price:
    """What a job costs by: as entered in it, else as the settings say.

    The margin comes on top of the parts, and the journey is shared out over the bores.
    """
    mine, bores = of(view), len(view.cylinders)

    def first(entered: float | None, usual: float | None) -> float | None:
        return usual if entered is None else entered

    per_bore, travel = first(view.number(PER_BORE), mine.per_bore), first(view.number(TRAVEL), mine.travel)
    parts, margin = view.number(PARTS_PRICE), first(view.number(MARGIN), mine.margin)
    return Price(
        per_hour=first(view.number(PER_HOUR), mine.per_hour),
        per_bore=per_bore if travel is None else (per_bore or 0.0) + travel / bores,
        parts=None if parts is None else parts * (1 + (margin or 0.0)),
        per_edge=first(view.number(PER_EDGE), mine.per_edge),
        per_set=first(view.number(PER_SET), mine.per_set),
        currency=mine.currency,
    )
