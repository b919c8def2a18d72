"""What the checks logged on a kit card add to the readings of a job that was measured with it."""

from __future__ import annotations

from typing import NamedTuple

from logic import cards

from ..clock import ms_of
from ..fields import bores
from ..fields.kit import CHECK_ERROR, DIVISION, LIMIT, MASTER_U
from ..graph import fact
from ..view import View

__all__ = ["Instrument", "checks", "instrument"]

_DAY_MS = 86_400_000


class Instrument(NamedTuple):
    """An instrument as its checks show it, mm: the error it has now and nobody corrects, and its spread from check to check."""

    error_mm: float = 0.0
    spread_mm: float = 0.0


def checks(card: View) -> tuple[cards.Check, ...]:
    """The checks logged on a card, in order of the time they were entered; days since 1970."""
    found = sorted(
        (card.first_stamp(v.entry), v.entry.id, v.value) for v in card.all(CHECK_ERROR).values() if v.entry is not None
    )
    return tuple(cards.Check(day=ms_of(stamp) / _DAY_MS, error_mm=error) for stamp, _, error in found)


@fact
def instrument(view: View, role: str) -> Instrument:
    """What the card chosen for ``role`` ("gauge" or "micrometer") says; nothing where none is chosen or it was never checked."""
    card = view.card(role)
    logged = () if card is None else checks(card)
    if card is None or not logged:
        return Instrument()
    division, master_u = (bores.DIVISION, bores.MASTER_U) if role == "gauge" else (DIVISION, MASTER_U)
    found = cards.errors(
        logged, division_mm=card.number(division), limit_mm=card.number(LIMIT), master_u_mm=card.number(master_u)
    )
    return Instrument(abs(found.present_mm), found.spread_mm if found.count > 1 else 0.0)
