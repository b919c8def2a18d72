"""What a person can do about a doubt: go to a value, take what was likely meant, or say that it was checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from logic.doubt import Doubt, Place
from logic.fields import Field
from logic.say import L, Line, Qty, Style, figure, say
from logic.units import Entered, convert, unit_shown

from . import draft
from .documents import Decision, Reading
from .facts.evidence import NOMINAL, stands_key
from .facts.worn import worn_bore
from .fields import bores, declared
from .sheets import all_sheets
from .view import View

__all__ = ["Way", "checked", "corrected", "likely_value", "ways"]


@dataclass(frozen=True, slots=True)
class Way:
    """One value that a doubt rests on: its name, its place, and the part of the job where it is entered."""

    name: Line
    about: Place
    part: str  # "details", a step's key, or "gauge" for what the worn bores' readings rest on


def _asked_in(key: str) -> str | None:
    """The step that asks a field, if one does."""
    return next((s.key for s in all_sheets() if key in s.fields), None)


def ways(view: View, doubt: Doubt) -> tuple[Way, ...]:
    """Where the values of a doubt can be corrected, each field once, those that were entered first."""
    out: dict[str, Way] = {}
    for key, at in sorted(doubt.about, key=lambda about: not _entered(view, about)):
        if key == NOMINAL[0]:
            out.setdefault(key, Way(L("Nominal bore"), (key, at), "details"))
            continue
        field = declared().get(key)
        if field is not None and key.startswith("visit."):
            out.setdefault(key, Way(field.label, (key, at), "visit"))
            continue
        part = _asked_in(key)
        if field is not None and part is not None:
            elsewhere = part == bores_sheet() and key != bores.READING.key
            out.setdefault(key, Way(field.label, (key, at), "gauge" if elsewhere else part))
    return tuple(out.values())


def bores_sheet() -> str:
    """The step in which the worn bores are read; its readings have a screen of their own."""
    return "bores"


def _entered(view: View, about: Place) -> bool:
    key, at = about
    return bool(view.all(key, **dict(at)))


def _diameter_mm(view: View, where: Mapping[str, Any]) -> float | None:
    """The diameter that the gauge's reading at a place stands for, as far as it is known."""
    worn = worn_bore(view, int(where["cylinder"]))
    if worn is None:
        return None
    return next((c.d_mm for c in worn.cells if (c.depth, c.axis) == (where["depth"], where["axis"])), None)


def likely_value(view: View, doubt: Doubt) -> tuple[Field, Place, float] | None:
    """The one value that was likely meant otherwise, and as what, in its field's unit; None where that is not told."""
    if doubt.likely is None or len(doubt.about) != 1:
        return None
    (key, at) = doubt.about[0]
    field = declared().get(key)
    if field is None:
        return None
    if field.kind == doubt.likely.kind:
        return field, (key, at), doubt.likely.value
    if key != bores.READING.key or doubt.likely.kind != "size":
        return None
    where = dict(at)
    size, now = _diameter_mm(view, where), view.get(bores.READING, **where)
    return None if size is None or now is None else (field, (key, at), now.value + doubt.likely.value - size)


def corrected(view: View, doubt: Doubt, style: Style) -> Reading | None:
    """The correction that puts the likely value in; None where there is none to put in."""
    found = likely_value(view, doubt)
    if found is None:
        return None
    field, (_, at), value = found
    before = view.get(field, **dict(at))
    unit = unit_shown(field.kind, style)
    text = figure(Qty(value, field.kind), Style(style.length, style.temperature)).replace("\u202f", " ")
    # what is stored is what is shown: a person reads it again in the log
    shown = float(text.split(" ")[0].replace("\u2212", "-"))
    logic = field.unit
    exact = convert(shown, unit, logic) if logic not in ("", "1") else value
    return draft.reading(
        field,
        dict(at),
        Entered(text, unit, exact, logic),
        replaces=before.entry.id if before is not None and before.entry is not None else None,
    )


def checked(doubt: Doubt) -> Decision:
    """Somebody looked again and found that what was entered is right."""
    return draft.decision(stands_key(doubt.key), "checked", advised=say(doubt.line))
