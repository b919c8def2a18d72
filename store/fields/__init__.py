"""What is asked, step by step: the declarations of every field, and nothing else."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from importlib import import_module
from typing import Any

from logic.fields import Field, by_key

__all__ = ["MODULES", "declared"]

#: The modules of this package, in the order of the work.
MODULES = (
    "bores",
    "walls",
    "face",
    "sweep",
    "oversize",
    "sleeve",
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
def declared() -> Mapping[str, Field]:
    """Every field declared in this package, by key. Raises ValueError where two share a key."""
    found: dict[int, Field] = {}
    for name in MODULES:
        for value in vars(import_module(f".{name}", __name__)).values():
            found.update((id(field), field) for field in _held(value))
    return by_key(*found.values())
