"""The kit of the demo: cards of a bar, a hone, a gauge and a micrometer. All of it is invented."""

from __future__ import annotations

from typing import NamedTuple

from store import cards
from store.documents import Document
from store.sheets import cut

from .notebook import Notebook

__all__ = ["BY", "Ids", "kit"]

BY = "Demo (invented)"
#: What the bar cut in two earlier invented jobs: (set, measured) in inches.
EARLIER = (
    (("3.5180", "3.5184"), ("3.5180", "3.5185"), ("3.5270", "3.5274"), ("3.5270", "3.5273")),
    (("2.7600", "2.7604"), ("2.7600", "2.7604"), ("2.7890", "2.7895"), ("2.7890", "2.7894")),
)


class Ids(NamedTuple):
    """Under which ids the cards are kept, and the two earlier jobs that the bar's card tells of."""

    bar: str
    hone: str
    gauge: str
    micrometer: str
    earlier: tuple[str, str]


def _card(id: str, role: str, title: str, begin: str) -> Notebook:
    card = Notebook(id, begin, type="card", by=BY, fields=cards.sheet(role).fields)
    card.header(card=role, title=title)
    return card


def _checks(card: Notebook, errors: tuple[str, ...]) -> None:
    """Checks against a master, four weeks apart."""
    for number, said in enumerate(errors, 1):
        card.put("card.error", said, check=number)
        card.later(days=28)


def kit(ids: Ids, *, strokes_per_minute: str) -> list[Document]:
    """The four cards; the hone makes so many double strokes a minute. The same every time."""
    bar = _card(ids.bar, "bar", "Small boring bar (invented)", "2025-05-06 09:00")
    for key, said in {
        "meter": "bore",
        "spin": "320",
        "feed": "3.9",
        "nose": "0.016",
        "material": "carbide",
        "motor": "550",
        "life": "10",
    }.items():
        bar.put(f"cut.{key}", said)
    for job, pairs in zip(ids.earlier, EARLIER, strict=True):
        bar.later(days=30)
        for number, (setting, measured) in enumerate(pairs):
            at = {"job": job, "cylinder": number % 2 + 1, "pass": number // 2 + 1}
            bar.raw(cut.HISTORY_SET, setting, **at)
            bar.raw(cut.HISTORY_MEASURED, measured, **at)
    hone = _card(ids.hone, "hone", "Portable hone (invented)", "2025-05-06 09:30")
    for key, said in {"spin": "180", "rate": strokes_per_minute, "stone": "2.75", "below_stones": "0.20"}.items():
        hone.put(f"hone.{key}", said)
    gauge = _card(ids.gauge, "gauge", "Dial bore gauge, tenths (invented)", "2025-06-17 09:00")
    for key, said in {
        "bore.division": "0.1",
        "bore.repeat": "0.06",
        "bore.master_u": "0.04",
        "card.limit": "0.2",
    }.items():
        gauge.put(key, said)
    _checks(gauge, ("+0.1", "0", "+0.1", "+0.1"))
    micrometer = _card(ids.micrometer, "micrometer", "Micrometer, 3 to 4 in (invented)", "2025-06-17 09:10")
    micrometer.put("card.division", "0.1")
    micrometer.put("card.limit", "0.2")
    _checks(micrometer, ("0", "+0.1", "0", "0"))
    return [n.document() for n in (bar, hone, gauge, micrometer)]
