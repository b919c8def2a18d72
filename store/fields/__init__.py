"""What is asked, step by step: the declarations of every field, and nothing else."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from importlib import import_module
from typing import Any

from logic.fields import Field, by_key

__all__ = ["MODULES", "declare", "declared"]

#: The modules of this package, in the order of the work.
MODULES = (
    "strip",
    "bores",
    "walls",
    "face",
    "sweep",
    "oversize",
    "sleeve",
    "parts",
    "sizes",
    "clamp",
    "cut",
    "chamfer",
    "hone",
    "final",
    "rings",
    "fitting",
    "compression",
    "clean",
    "record",
    "visit",
)


def _held(value: Any) -> Iterator[Field]:
    if isinstance(value, Field):
        yield value
    elif isinstance(value, Mapping):
        for one in value.values():
            yield from _held(one)
    elif isinstance(value, (tuple, list)):
        for one in value:
            yield from _held(one)


@cache
def _here() -> dict[str, Field]:
    """The fields of this package, and whatever was declared since."""
    found: dict[int, Field] = {}
    for name in MODULES:
        for value in vars(import_module(f".{name}", __name__)).values():
            found.update((id(field), field) for field in _held(value))
    return by_key(*found.values())


def declared() -> Mapping[str, Field]:
    """Every field that can be entered in a job, by key. Raises ValueError where two share a key."""
    return _here()


def declare(*more: Field) -> Callable[[], None]:
    """Make known the fields of a step that are not in this package; what is given back forgets them again.

    Raises ValueError where another field has the key.
    """
    known = _here()
    fresh = {field.key: field for field in more if known.get(field.key) is not field}
    taken = fresh.keys() & known.keys()
    if taken:
        raise ValueError(f"declared already: {', '.join(sorted(taken))}")
    known.update(fresh)

    def forget() -> None:
        for key in fresh:
            del known[key]

    return forget
