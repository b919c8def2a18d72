"""The two pages of the report that a customer reads.

Nothing is said to be in order that is not: what each cylinder's row says is its state on
the board (:mod:`store.board`), and what was left out or not finished stands on its own.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from logic.bore import section, study
from logic.flow import State
from logic.parts import fitted
from logic.pictures import BoreSection
from logic.places import banks_written
from logic.result import Result, Verdict
from logic.say import LN, L, Line, Qty

from .board import Bore, BoreState, board
from .documents import Typed, value_of
from .facts import final
from .facts.banks import banks
from .facts.oversize import choice, step_of_mm
from .facts.parts import parts_to_order
from .facts.pistons import own_piston
from .facts.sleeves import sleeved
from .facts.worn import worn_bores
from .fields.clean import HANDED_ON, OIL_ON, RETORQUE, RETORQUE_ON, RUN_IN, RUN_IN_UNTIL
from .fields.parts import MAKE, ORDERED
from .fields.rings import GAP
from .fields.sizes import CLEARANCE
from .flow import flow, skip_key, work_of
from .handover import dates
from .reasons import told
from .sheets import headline, sheet
from .telling import Block, Grid, Part, Pictures, Points, Signs, Teller, Words, sentence, shown_figure
from .view import View

__all__ = ["before_after", "facts", "in_short", "last", "not_done", "parts_fitted", "running_in", "signed"]


#: With no more cylinders than this the first page holds all their pictures.
_ONE_PAGE = 6


def last(view: View) -> str:
    return max((e.stamp for e in view.entries.values()), default="")


def facts(view: View, tell: Teller) -> tuple[tuple[str, str], ...]:
    """Whose engine, which engine, when and by whom."""
    stamps = sorted(e.stamp for e in view.entries.values())
    found: list[tuple[Line, str]] = [
        (L("Customer"), str(view.header("customer") or "")),
        (L("Engine"), view.word("engine")),
        (L("Engine number"), view.word("number")),
        (L("Nominal bore"), _nominal(view, tell)),
        (L("Cylinders"), _cylinders(view, tell)),
    ]
    if stamps:
        found.append((L("Work begun"), tell.when(stamps[0])))
        found.append((L("Last entry"), tell.when(stamps[-1])))
    found.append((L("Measured by"), ", ".join(dict.fromkeys(e.by for e in view.entries.values() if e.by))))
    return tuple((tell(name), value) for name, value in found if value)


def _cylinders(view: View, tell: Teller) -> str:
    """How many, and how they stand in a vee."""
    count = str(view.header("cylinders") or "")
    rows = banks(view)
    return count if len(rows) < 2 else tell(L("{n}, in banks {banks}", n=count, banks=banks_written(rows)))


def _nominal(view: View, tell: Teller) -> str:
    if view.nominal_mm is None:
        return ""
    size, stored = tell.figure(Qty(view.nominal_mm, "size")), value_of(view.document, "nominal")
    return tell(L("{size}, entered as {typed}", size=size, typed=stored.text)) if isinstance(stored, Typed) else size


# -- what came of it, and why ------------------------------------------------------------------------
def in_short(view: View, tell: Teller) -> Iterable[Part]:
    """How the bores stand; what was decided, and why."""
    blocks: list[Block] = [*_how_they_stand(view, tell)]
    blocks += [Words(text) for text in (_decided(view, tell), *_why(view, tell)) if text]
    yield Part(tell(L("In short")), tuple(blocks))


def _how_they_stand(view: View, tell: Teller) -> list[Words]:
    bores = board(view)
    if not final.checked(view) or not bores:
        return [Words(tell(L("No finished bore has been measured yet.")), strong=True)] if bores else []
    good = sum(b.state == BoreState.DONE for b in bores)
    line = L("Finished bores found in order: {good} of {all}.", good=good, all=len(bores))
    return [Words(tell(line), strong=True)]


def _decided(view: View, tell: Teller) -> str:
    decided = view.decisions.get((headline().key, ()))
    if decided is None:
        return ""
    value = decided.value if decided.typed is None else Qty(decided.typed.value, "step")
    said = {"day": tell.day(decided.stamp), "value": value, "reason": decided.reason}
    if decided.reason:
        return tell(L("Decided on {day}: {value}. {reason}", **said))
    return tell(L("Decided on {day}: {value}.", **said))


def _why(view: View, tell: Teller) -> Iterable[str]:
    """What the oversize step says, and why no smaller step would do."""
    for result in work_of(view, headline()).results[:1]:
        yield sentence(tell, result)
    found = choice(view)
    if found is None or found.step_mm is None:
        return
    smaller = [s for s in found.steps if s.step_mm < found.step_mm - 1e-6]
    if smaller:
        next_down = smaller[-1]
        left = tuple(c for c, chance in next_down.chances if chance < 0.5)
        if left:
            step = Qty(next_down.step_mm, "step")
            yield tell(
                LN(
                    "The step below, {step}, would leave cylinder {c} unclean.",
                    "The step below, {step}, would leave cylinders {c} unclean.",
                    len(left),
                    c=left,
                    step=step,
                )
            )


# -- cylinder by cylinder ------------------------------------------------------------------------------
def before_after(view: View, tell: Teller) -> Iterable[Part]:
    """A table with a row to each cylinder, then the pictures."""
    worn, done = worn_bores(view), final.checked(view)
    if not worn and not done:
        return
    before = {c: study(w) for c, w in worn.items()}
    head = (
        L("Cylinder"),
        L("Largest, worn"),
        L("Wear"),
        L("Finished"),
        L("Out of round"),
        L("Taper"),
        L("Piston"),
        L("Clearance"),
        L("State"),
    )
    rows = tuple(_row(view, tell, bore, before.get(bore.cylinder), done.get(bore.cylinder)) for bore in board(view))
    pictures = [p for c in view.cylinders for p in _sections(view, c)]
    blocks: list[Block] = [
        Grid(tuple(map(tell, head)), rows, (1.4, 2.8, 1.5, 2.8, 1.6, 1.5, 1.7, 1.7, 2.2)),
        Words(tell(L("Sizes are diameters at 20 °C. The figure after ± covers about 95 %.")), small=True),
    ]
    if pictures:
        blocks.append(Pictures(tuple(pictures), across=4 if len(view.cylinders) <= 4 else 6))
    yield Part(tell(L("Before and after")), tuple(blocks))


def _row(view: View, tell: Teller, bore: Bore, before: Result | None, done: Result | None) -> tuple[str, ...]:
    """A cylinder's row: worn and finished, its piston, and how it stands."""
    piston = own_piston(view, bore.cylinder)
    return (
        str(bore.cylinder),
        shown_figure(tell, before, "worst"),
        shown_figure(tell, before, "wear", spread=False),
        shown_figure(tell, done, "mean"),
        *(shown_figure(tell, done, key, spread=False) for key in ("round", "taper")),
        "–" if piston is None else tell(L("{size}", size=Qty(piston[0], "size"))),
        shown_figure(tell, done, "clearance", spread=False) if piston is not None else "–",
        _state(tell, bore),
    )


def _state(tell: Teller, bore: Bore) -> str:
    if bore.state == BoreState.DONE:
        return tell(L("In order"))
    if bore.state == BoreState.OUT:
        return tell(L("Not in order: {needs}", needs=bore.needs))
    return tell(L("Not finished: {needs}", needs=bore.needs))


def _sections(view: View, cylinder: int) -> tuple[BoreSection, ...]:
    """A bore cut lengthwise, worn and finished, to one scale and the same way round; what was measured of the two."""
    row: list[BoreSection] = []
    worn = worn_bores(view).get(cylinder)
    if worn is not None and worn.measured:
        row.append(replace(section(worn), title=L("Cylinder {n}, before", n=cylinder)))
    finished = final.after(view, cylinder)
    if finished is not None:
        row.append(replace(finished, title=L("Cylinder {n}, after", n=cylinder)))
    most = max((abs(w) for p in row for _, _, w in p.rows), default=0.0)
    left = row[0].governing[1] if row and row[0].governing is not None else ""
    return tuple(replace(p, at_least_mm=most, left=left) for p in row)


# -- the second page -----------------------------------------------------------------------------------
def parts_fitted(view: View, tell: Teller) -> Iterable[Part]:
    """Pistons, clearance, rings and sleeves, as measured."""
    said = [*_pistons(view, tell), *_sleeves(view, tell), *_ordered(view, tell)]
    if view.numbers(GAP):
        said += [sentence(tell, r) for r in work_of(view, sheet("rings")).results[:1]]
    yield Part(tell(L("Parts fitted")), (Points(tuple(said)),) if said else (), fresh=len(view.cylinders) <= _ONE_PAGE)


def _pistons(view: View, tell: Teller) -> Iterable[str]:
    by_step: dict[float, list[float]] = {}
    for c in view.cylinders:
        piston, step = own_piston(view, c), step_of_mm(view, c)
        if piston is not None:
            by_step.setdefault(round(step or 0.0, 6), []).append(piston[0])
    for step, sizes in sorted(by_step.items()):
        yield tell(
            LN(
                "{n} piston, {step} over, measured {least} at 20 °C.",
                "{n} pistons, {step} over, measured {least} to {most} at 20 °C.",
                len(sizes),
                step=Qty(step, "step"),
                least=Qty(min(sizes), "size"),
                most=Qty(max(sizes), "size"),
            )
        )
    clearance = view.number(CLEARANCE)
    if by_step and clearance is not None:
        yield tell(L("Clearance asked for by the piston's maker: {clearance}.", clearance=Qty(clearance, "fine")))


def _ordered(view: View, tell: Teller) -> Iterable[str]:
    """What was ordered to suit the new bores, as far as somebody said that it is here, or on its way."""
    where, new = view.choice(ORDERED), fitted(parts_to_order(view))
    make = view.text(MAKE)
    if make and where is not None:
        yield tell(L("Make or number of the pistons: {make}.", make=make))
    if new and where == "here":
        yield tell(L("Also: {parts}.", parts=new))
    elif new and where is not None:
        yield tell(L("Ordered, not yet marked as here: {parts}.", parts=new))


def _sleeves(view: View, tell: Teller) -> Iterable[str]:
    which = tuple(c for c in view.cylinders if c in sleeved(view))
    if which:
        yield tell(LN("Sleeve in cylinder {c}.", "Sleeves in cylinders {c}.", len(which), c=which))


def not_done(view: View, tell: Teller) -> Iterable[Part]:
    """The steps that are not done, and the finished bores that are not in order."""
    rows = _incomplete(view, tell)
    others = tuple(Words(sentence(tell, b)) for b in final.checked(view).values() if b.verdict != Verdict.GO)
    blocks: list[Block] = [*others]
    if rows:
        blocks.append(Grid((tell(L("Step")), tell(L("State")), tell(L("Why"))), rows, (2, 2, 5)))
    yield Part(tell(L("Not done, and why")), tuple(blocks) or (Words(tell(L("Every step is complete."))),))


def _incomplete(view: View, tell: Teller) -> tuple[tuple[str, str, str], ...]:
    """The steps that are not done: each with its state and why."""
    names = {
        State.SKIPPED: L("Left out"),
        State.LOOK: L("Wants another look"),
        State.NEXT: L("Not finished"),
        State.OPEN: L("Not finished"),
        State.BLOCKED: L("Not finished"),
    }
    rows = []
    for status in flow(view).statuses:
        if status.state in names:
            begun = any(view.all(key) for key in sheet(status.key).fields)
            word = names[status.state] if begun or status.state in (State.SKIPPED, State.LOOK) else L("Not begun")
            left = view.skipped.get(skip_key(status.key))
            why = tell(told(left.reason)) if left is not None else tell(status.reason) if status.reason else ""
            rows.append((tell(status.title), tell(word), why))
    return tuple(rows)


def running_in(view: View, tell: Teller) -> Iterable[Part]:
    """What the engine asks for when it runs again (common practice, no source), with room for the dates."""
    if not final.checked(view):
        return
    points = (
        L("Run in as the makers of pistons and rings say. Their words come first."),
        L("Without them: load gently, vary the speed, no long idling."),
        L("Change oil and filter early: the first run washes out the last fine dust."),
    )
    written = view.text(RUN_IN)
    said = [written] if written else [tell(p) for p in points[:2]]
    blocks: list[Block] = [Points((*said, tell(points[2]))), Points(tuple(_dates(view, tell)))]
    if view.choice(RETORQUE) is None:
        blocks.append(Signs((tell(L("Head to be retightened at, if its gasket asks for it")),)))
    yield Part(tell(L("Running-in")), tuple(b for b in blocks if b != Points(())))


def _dates(view: View, tell: Teller) -> Iterable[str]:
    """When what is due, as written or by the handover and the duty."""
    found = dates(view, tell.style, tell.offset_minutes)
    named = (
        (HANDED_ON, L("Handed over on")),
        (OIL_ON, L("First change of oil and filter")),
        (RUN_IN_UNTIL, L("Run in by")),
        (RETORQUE_ON, L("Head to be retightened, cold")),
    )
    for field, name in named:
        if field.key in found and not (field is RETORQUE_ON and view.choice(RETORQUE) == "never"):
            yield tell(L("{what}: {when}", what=name, when=found[field.key]))
    if view.choice(RETORQUE) == "never":
        yield tell(L("The head is not retightened with this gasket."))


def signed(tell: Teller) -> Iterable[Part]:
    """The lines to sign on, and what the figures are worth."""
    lines = (L("Work done by, date"), L("Received by, date"))
    yield Part(
        tell(L("Signed")),
        (
            Signs(tuple(map(tell, lines))),
            Words(
                tell(
                    L("Measured values are as read by the person named. Calculated values were checked by measuring.")
                ),
                small=True,
            ),
            Words(
                tell(L("The instructions of the makers of engine, pistons and rings come first.")),
                small=True,
            ),
        ),
    )
