"""Remembering what was worked out for a view, until something is added to it.

A sheet's answer and the values that other sheets take from it are asked for many
times between two entries. What :func:`remembered` wraps is worked out once per state
of the view: an entry taken in, a changed header or a changed kit card starts afresh.
Nothing is kept once the view itself is gone.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar
from weakref import WeakKeyDictionary

from .view import View

__all__ = ["remembered", "state_of"]

Answer = TypeVar("Answer")

_TABLES: WeakKeyDictionary[View, tuple[tuple[Any, ...], dict[Any, Any]]] = WeakKeyDictionary()


def state_of(view: View) -> tuple[Any, ...]:
    """What a view's answers rest on: its header, how many entries it has taken in, and its kit cards.

    Compared by identity and count, so it costs the same however long the log is.
    """
    return (
        view.document,
        len(view.entries),
        *((card, card.document, len(card.entries)) for card in view.cards.values()),
    )


def _alike(a: tuple[Any, ...], b: tuple[Any, ...]) -> bool:
    if len(a) != len(b):
        return False
    for x, y in zip(a, b):
        if isinstance(x, tuple):
            if not _alike(x, y):
                return False
        elif isinstance(x, int):
            if x != y:
                return False
        elif x is not y:
            return False
    return True


def _table(view: View) -> dict[Any, Any]:
    state = state_of(view)
    kept = _TABLES.get(view)
    if kept is not None and _alike(kept[0], state):
        return kept[1]
    fresh: dict[Any, Any] = {}
    _TABLES[view] = state, fresh
    return fresh


def remembered(function: Callable[..., Answer]) -> Callable[..., Answer]:
    """Work out ``function(view, *args)`` once for each state of ``view``; ``args`` must be hashable.

    The answer is handed out again and again: it must not be changed by whoever asks.
    """

    @wraps(function)
    def ask(view: View, *args: Any) -> Answer:
        table = _table(view)
        key = (function, args)
        if key not in table:
            table[key] = function(view, *args)
        return table[key]

    return ask
