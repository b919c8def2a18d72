"""The list of parts as plain text, to be sent to a supplier."""

from __future__ import annotations

from logic.say import L, Qty, Style, say

from .facts.parts import parts_to_order
from .fields.parts import MAKE
from .view import View

__all__ = ["order_text"]


def order_text(view: View, style: Style) -> str:
    """The order in the person's language and units, a line for each part; "" while there is nothing to order."""
    found = parts_to_order(view)
    if not found:
        return ""
    nominal = view.nominal_mm
    head = [
        L("Parts wanted"),
        *((L("Engine: {name}", name=view.word("engine")),) if view.word("engine") else ()),
        *((L("Engine number: {number}", number=number),) if (number := view.word("number")) else ()),
        *((L("Nominal bore: {bore}", bore=Qty(nominal, "size")),) if nominal is not None else ()),
        L("Cylinders: {n}", n=str(len(view.cylinders))),
        *((L("Pistons wanted: {make}", make=make),) if (make := view.text(MAKE)) else ()),
    ]
    lines = [L("{n} × {what}", n=str(p.count), what=p.line) for p in found]
    asked = L("Please say what can be had, at what price, and when.")
    return (
        "\n".join([*(say(x, style) for x in head), "", *(say(x, style) for x in lines), "", say(asked, style)]) + "\n"
    )
