"""Facts: named functions of a job, worked out once for each state of it.

What :func:`fact` wraps is known by its name, can be listed (:data:`FACTS`), and is worked
out once for each state of the view: an entry taken in, a changed header or a changed kit
card starts afresh. The answer is handed out again and again: whoever asks must not change it.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import update_wrapper
from inspect import signature
from typing import Concatenate, Generic, ParamSpec, TypeVar

from .memo import remembered
from .view import View

__all__ = ["FACTS", "Fact", "fact"]

P = ParamSpec("P")
T = TypeVar("T")


class Fact(Generic[P, T]):
    """A named function of a view. Called like the function it wraps; arguments must be hashable.

    ``name`` is the module's last word and the function's name: ``walls.least_wall``.
    """

    name: str

    def __init__(self, function: Callable[Concatenate[View, P], T]) -> None:
        update_wrapper(self, function)
        self.function = function
        self.name = f"{function.__module__.rsplit('.', 1)[-1]}.{function.__name__.lstrip('_')}"
        self._signature = signature(function)
        self._ask = remembered(function)

    def __call__(self, view: View, /, *args: P.args, **kwargs: P.kwargs) -> T:
        if kwargs:  # one answer, however its question is put
            bound = self._signature.bind(view, *args, **kwargs)
            bound.apply_defaults()
            return self._ask(*bound.args)
        return self._ask(view, *args)

    def __repr__(self) -> str:
        return f"<fact {self.name}>"


#: Every fact, by its name.
FACTS: dict[str, Fact[..., object]] = {}


def fact(function: Callable[Concatenate[View, P], T]) -> Fact[P, T]:
    """Make a fact of ``function(view, *args)``. Raises ValueError where the name is taken by another module."""
    made = Fact(function)
    other = FACTS.get(made.name)
    if other is not None and other.function.__module__ != function.__module__:
        raise ValueError(f"two facts are called {made.name}")
    FACTS[made.name] = made
    return made
