"""Defaults that stood in for values nobody entered, as assumptions of a result."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, TypeVar

from logic.fields import Field
from logic.result import Assumption, Result
from logic.say import KINDS, L, Qty

from .view import View

__all__ = ["assumed", "with_assumed"]

R = TypeVar("R", bound=Result)


def assumed(view: View, *fields: Field, **at: Any) -> tuple[Assumption, ...]:
    """One assumption for each of ``fields`` whose default is in use at this place, with the default's source."""
    out: list[Assumption] = []
    for field in fields:
        got = view.get(field, **at)
        if got is None or got.entered:
            continue
        if field.kind in KINDS:
            shown: Any = Qty(float(got.value), field.kind)
        else:
            shown = next((c.label for c in field.choices if c.value == got.value), got.value)
        out.append(Assumption(L("{what}: {value}", what=field.label, value=shown), got.source))
    return tuple(out)


def with_assumed(result: R, view: View, *fields: Field, **at: Any) -> R:
    """``result`` with the defaults it rests on listed among its assumptions."""
    return replace(result, assumptions=(*result.assumptions, *assumed(view, *fields, **at)))
