"""What goes to others as plain text: the list of parts to a supplier, the estimate to the customer."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from logic.estimate import in_money
from logic.material import part
from logic.parts import Part
from logic.say import LN, L, Line, Qty, Style, say

from . import rates
from .estimate import estimate
from .facts.material import material_used
from .facts.oversize import step_of_mm
from .facts.parts import parts_to_order
from .fields.parts import MAKE
from .view import View

__all__ = ["at_hand", "estimate_text", "order_text"]


def at_hand(view: View) -> tuple[Part, ...]:
    """What bar and hone will use up, to be had before the work begins; empty while no oversize is decided on."""
    return tuple(part(u) for u in material_used(view)) if parts_to_order(view) else ()


def _listed(found: Iterable[Part]) -> list[Line]:
    return [L("{n} × {what}", n=str(p.count), what=p.line) for p in found]


def order_text(view: View, style: Style) -> str:
    """The order in the person's language and units, a line for each part; "" while there is nothing to order."""
    found = parts_to_order(view)
    if not found:
        return ""
    head = [
        L("Parts wanted"),
        *_engine(view),
        *((L("Pistons wanted: {make}", make=make),) if (make := view.text(MAKE)) else ()),
    ]
    tools = _listed(at_hand(view))
    asked = L("Please say what can be had, at what price, and when.")
    return _written([head, _listed(found), [L("For bar and hone:"), *tools] if tools else [], [asked]], style)


def _engine(view: View) -> list[Line]:
    """Which engine it is about."""
    nominal = view.nominal_mm
    return [
        *((L("Engine: {name}", name=view.word("engine")),) if view.word("engine") else ()),
        *((L("Engine number: {number}", number=number),) if (number := view.word("number")) else ()),
        *((L("Nominal bore: {bore}", bore=Qty(nominal, "size")),) if nominal is not None else ()),
        L("Cylinders: {n}", n=str(len(view.cylinders))),
    ]


def _written(paragraphs: Iterable[list[Line]], style: Style) -> str:
    return "\n\n".join("\n".join(say(x, style) for x in lines) for lines in paragraphs if lines) + "\n"


def _in_money(span: Mapping[str, Qty], currency: str) -> dict[str, Qty | Line]:
    """The ends of a range of money with their currency."""
    return {end: in_money(q.value, currency) for end, q in span.items()}


def estimate_text(view: View, style: Style) -> str:
    """The estimate for the customer in the person's language and units: the work, its time, and its price where the rates
    are known, from the least to the most; "" while no oversize is decided on."""
    if not parts_to_order(view):
        return ""
    figures = {f.key: f.qty for f in estimate(view).figures}

    def span(key: str) -> dict[str, Qty] | None:
        return {end: figures[f"{key}_{end}"] for end in ("low", "high")} if f"{key}_low" in figures else None

    steps = sorted({round(s, 6) for c in view.cylinders if (s := step_of_mm(view, c))})
    work = (
        [
            LN(
                "Work: {n} cylinder rebored and honed, {step} over nominal.",
                "Work: {n} cylinders rebored and honed, {step} over nominal.",
                len(view.cylinders),
                step=tuple(Qty(s, "step") for s in steps),
            )
        ]
        if steps
        else []
    )
    costs = [L("Time: {low} to {high}.", **(span("time") or {}))]
    currency = rates.of(view).currency
    parts_price, material, price = rates.price(view).parts, span("material"), span("price")
    if parts_price is not None:
        costs.append(L("Parts: about {price}.", price=in_money(parts_price, currency)))
    if material is not None:
        costs.append(L("Edges and stones: {low} to {high}.", **_in_money(material, currency)))
    if price is not None:
        costs.append(L("In all: {low} to {high}.", **_in_money(price, currency)))
    end = L("Nine jobs in ten stay within this range. What is found when measuring comes first.")
    return _written([[L("Estimate"), *_engine(view)], [*work, *costs], [end]], style)
