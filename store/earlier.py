"""Figures of an earlier job of the same engine, taken over into another and marked as such.

What is taken over stands in the log like any entry; one decision beside it says which fields
came from which job. Until somebody confirms them they are in doubt (:mod:`store.facts.taken`),
and no step that rests on them says yes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from logic.fields import Field
from logic.say import Line, Qty

from . import draft
from .documents import Chosen, Decision, Reading, Typed, value_of
from .facts.taken import NOMINAL, TAKEN, taken_keys
from .fields import bores, clamp, compression, face, parts, rings, sizes, strip
from .view import View

__all__ = ["FIELDS", "Figure", "drafts", "nominal", "same_engine", "takeable"]

#: What belongs to the engine or the shop and not to one job, in the order in which it is shown.
FIELDS: tuple[Field, ...] = (
    sizes.CLEARANCE,
    sizes.ALLOY,
    sizes.FUEL,
    sizes.DUTY,
    sizes.COOLING,
    rings.COMPRESSION_RINGS,
    rings.OIL_RING,
    rings.OIL_RINGS,
    rings.TOP_SHARE,
    rings.SECOND_SHARE,
    rings.LEAST,
    rings.WIDEST,
    compression.STROKE,
    compression.CHAMBER,
    compression.GASKET_BORE,
    compression.GASKET,
    compression.DECK,
    compression.DECK_AGAIN,
    compression.STANDS,
    compression.BOOK,
    clamp.THREAD,
    clamp.GRADE,
    clamp.TORQUE,
    clamp.STUDS,
    bores.MATERIAL,
    bores.LENGTH,
    bores.SPACING,
    strip.BLOCK,
    strip.LOWEST,
    strip.HIGHEST,
    *(f for deck in face.DECKS for f in (deck.skim, deck.first)),
    parts.PER_HOUR,
    parts.PER_BORE,
    parts.PER_EDGE,
    parts.PER_SET,
)


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure that may be taken over: its field, its place, the entry it stands in, and its value as shown."""

    field: Field
    at: tuple[tuple[str, int | str], ...]
    entry: Reading | Chosen
    shown: Line | Qty | str


def same_engine(one: str, other: str) -> bool:
    """Whether two names mean the same engine: alike but for case and spaces, and not empty."""
    a, b = (" ".join(name.casefold().split()) for name in (one, other))
    return bool(a) and a == b


def takeable(view: View, earlier: View) -> tuple[Figure, ...]:
    """The figures somebody entered in ``earlier`` for fields of which nothing is entered in ``view``.

    What is still unconfirmed in the earlier job itself is not handed on.
    """
    doubtful = set(taken_keys(earlier))
    out = []
    for field in FIELDS:
        if field.key in doubtful or view.all(field):
            continue
        for where, value in earlier.all(field).items():
            if value.entry is not None:
                out.append(Figure(field, where, value.entry, _shown(field, value.value)))
    return tuple(out)


def nominal(view: View, earlier: View) -> Typed | None:
    """The nominal bore of the earlier job where ``view`` has none, as somebody typed it; None where it is in doubt there."""
    held = value_of(earlier.document, NOMINAL)
    if view.nominal_mm is not None or earlier.nominal_mm is None or NOMINAL in taken_keys(earlier):
        return None
    return held if isinstance(held, Typed) else None


def _shown(field: Field, value: float | str) -> Line | Qty | str:
    if isinstance(value, str):
        return next((c.label for c in field.choices if c.value == value), value)
    return Qty(value, field.kind)


def drafts(
    view: View, figures: Iterable[Figure], *, title: str, also: Iterable[str] = ()
) -> list[Reading | Chosen | Decision]:
    """The entries that take figures over, and last the decision that says so; ``title`` is the earlier job's.

    ``also`` names header fields that are taken over along with them.
    """
    chosen, also = tuple(figures), tuple(also)
    out: list[Reading | Chosen | Decision] = []
    for figure in chosen:
        if isinstance(figure.entry, Reading):
            out.append(draft.reading(figure.field, dict(figure.at), figure.entry.typed))
        else:
            out.append(draft.chosen(figure.field, figure.entry.value, dict(figure.at)))
    keys = dict.fromkeys((*taken_keys(view), *(f.field.key for f in chosen), *also))
    if out or also:
        out.append(draft.decision(TAKEN, title[:200] or "–", advised=" ".join(keys)))
    return out
