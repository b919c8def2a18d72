"""What was entered and would change nothing, read off the fields: those that count only beside another, and limits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from logic.doubt import Doubt
from logic.fields import Field, Number, Select
from logic.idle_check import check_alone, check_fuel, check_limits
from logic.places import place_name
from logic.readings_check import spot
from logic.say import L, Line, Qty

from ..fields import declared
from ..fields.sizes import DUTY, FUEL
from ..graph import fact
from ..view import View

__all__ = ["idle_doubts"]


@fact
def idle_doubts(view: View) -> tuple[Doubt, ...]:
    """Half entries, values beside the choice they belong to, limits that leave nothing between them."""
    out: list[Doubt] = []
    for field in declared().values():
        if field.beside:
            out += _alone(view, field)
        if field.below:
            out += _limits(view, field, declared()[field.below])
    fuel, duty = view.get(FUEL), view.get(DUTY)
    stated = duty.value if duty.entered else None
    out += check_fuel(None if fuel is None else str(fuel.value), stated, about=(spot(FUEL.key), spot(DUTY.key)))
    return tuple(out)


def _alone(view: View, field: Field) -> Iterator[Doubt]:
    """The values of a field that has to stand beside others, as far as one of them is not there."""
    known = declared()
    for where in view.all(field.key):
        at = dict(where)
        for key, wanted in field.beside:
            other = known[key]
            here = {name: at[name] for name in other.at if name in at}
            if _there(view, other, here, wanted):
                continue
            named = "_".join((field.key, *(str(at[name]) for name in sorted(at))))
            about = (spot(field.key, **at), spot(other.key, **here))
            yield from check_alone(named, _named(field, at), _wanted(other, wanted), about=about)
            break


def _there(view: View, other: Field, at: Mapping[str, Any], wanted: str) -> bool:
    if wanted and isinstance(other, Select):
        return view.choice(other, **at) == wanted
    return bool(view.all(other.key, **at))


def _named(field: Field, at: Mapping[str, Any]) -> Line:
    return L("{what} ({where})", what=field.label, where=place_name(at)) if at else field.label


def _wanted(other: Field, wanted: str) -> Line:
    """The other field, with the choice that it has to say where it is one of several."""
    said = next((c.label for c in other.choices if c.value == wanted), None)
    return other.label if said is None else L("{what}: {answer}", what=other.label, answer=said)


def _limits(view: View, low: Field, high: Field) -> Iterator[Doubt]:
    """A lower and an upper limit, wherever both were entered."""
    if not (isinstance(low, Number) and isinstance(high, Number)):
        return
    for where, value in view.all(low.key).items():
        at = dict(where)
        most = view.number(high, **at)
        if most is None:
            continue
        named = "_".join((low.key, *(str(at[name]) for name in sorted(at))))
        yield from check_limits(
            named,
            (_named(low, at), Qty(float(value.value), low.kind)),
            (high.label, Qty(most, high.kind)),
            about=(spot(low.key, **at), spot(high.key, **at)),
        )
