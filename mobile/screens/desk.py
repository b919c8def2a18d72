"""A step as its screen works on it: which cylinder is on show, what is typed into, what comes next. Draws nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from logic.fields import Field
from logic.flow import Status
from logic.result import Caution, Result, Verdict
from logic.say import KINDS, L, Line, Qty, Style, figure, say
from store.documents import Chosen, Entry, Reading
from store.facts.strip import order_of_boring
from store.facts.visit import OLD
from store.flow import skip_key
from store.sheets import Group, Sheet, Work
from store.view import View

from .words import unseen

__all__ = ["Desk", "Place", "Slot", "begun", "common", "cylinder_of"]

Place = Mapping[str, Any]

#: Places that number what is done again and again; the earliest unfinished one is asked for first.
COUNTERS = ("pass", "check", "point", "item", "piece", "grade", "foot")
#: Verdicts, the one to look at first last.
WEIGHT = (Verdict.INFO, Verdict.GO, Verdict.MAYBE, Verdict.STOP)


class Slot(NamedTuple):
    """A field at a place: what one entry fills."""

    field: Field
    at: Place

    @property
    def key(self) -> str:
        return self.field.key + "|" + "|".join(f"{k}={v}" for k, v in sorted(self.at.items()))

    def same(self, other: Slot | None) -> bool:
        return other is not None and (self.field.key, dict(self.at)) == (other.field.key, dict(other.at))


def cylinder_of(result: Result) -> int | None:
    """The cylinder a result is about: the first number in its key, as in ``hone.shape.3``."""
    return next((int(part) for part in result.key.split(".") if part.isdigit()), None)


def common(names: list[str]) -> str:
    """What all names begin with, up to a comma."""
    first, last = (min(names), max(names)) if len(names) > 1 else ("", "")
    alike = next((i for i, (a, b) in enumerate(zip(first, last, strict=False)) if a != b), min(len(first), len(last)))
    return first[: first.rfind(", ", 0, alike) + 2] if ", " in first[:alike] else ""


def begun(said: str) -> str:
    """Words that stand at the beginning of a line, with a capital letter."""
    return said[:1].upper() + said[1:]


def fields_at(group: Group, at: Place, view: View) -> list[Field]:
    """The fields of a group that belong to a place; all of them where none does.

    What is asked once a visit is not asked by a step as well; an earlier job that has it there shows it.
    """
    shown = [f for f in group.fields if f.key not in OLD or view.all(f)]
    return [f for f in shown if set(f.at) == set(at)] or shown


def yes_no(field: Field) -> bool:
    """Whether a field is a line to check off: yes, no, perhaps "does not apply", and nothing assumed."""
    values = [c.value for c in field.choices]
    return field.kind == "choice" and field.default is None and values[:2] == ["yes", "no"] and len(values) <= 3


class Desk:
    """One step of one job or card, and where the person is in it.

    ``worked`` gives what the step says now; ``apart`` names fields that are entered on a
    screen of their own.
    """

    def __init__(self, view: View, sheet: Sheet, worked: Callable[[], Work], apart: frozenset[str]) -> None:
        self.view, self.sheet, self.apart = view, sheet, apart
        self._worked = worked
        self.work = worked()
        self.aimed: Slot | None = None  # what the pad is for
        self.asking: Slot | None = None  # whose choices are open
        self.doubt: Line | None = None  # why somebody should look at the step again
        self.upcoming: Status | None = None  # the step to go to when this one is done
        self.complete = False  # whether no step of the job is left to do
        self.later: Result | None = None  # advice that is worked out between two entries
        self.opened: dict[str, bool] = {}  # groups opened or folded by hand
        self.cylinder = self._first_cylinder()

    def again(self) -> None:
        """Work the step out again: something was entered."""
        self.work = self._worked()

    def _first_cylinder(self) -> int:
        """The cylinder to show first: where something is missing, else where the answer is not yes, else the first with an answer."""
        missing = (dict(at).get("cylinder") for _, at in self.work.missing)
        doubtful = (cylinder_of(r) for r in self.work.results if r.verdict in (Verdict.STOP, Verdict.MAYBE))
        any_at_all = (cylinder_of(r) for r in self.work.results)
        there = self.view.cylinders
        return next((int(c) for c in (*missing, *doubtful, *any_at_all) if c in there), 1)

    @property
    def left_out(self) -> str | None:
        """Why the step is left out; None where it is not."""
        skipped = self.view.skipped.get(skip_key(self.sheet.key))
        return None if skipped is None else skipped.reason

    # -- answers -----------------------------------------------------------------------
    @property
    def by_cylinder(self) -> bool:
        """Whether the step is laid out cylinder by cylinder, with a tab for each."""
        return len(self.view.cylinders) > 1 and any(
            "cylinder" in at for g in self.sheet.groups for at in g.places(self.view)
        )

    def answers(self) -> tuple[list[Result], list[Result]]:
        """The step's results: those of the cylinder on show and of the whole job; and the other cylinders'."""
        results = list(self.work.results)
        if not self.by_cylinder or not results:
            return results, []
        mine = [r for r in results if cylinder_of(r) == self.cylinder]
        general = [r for r in results if cylinder_of(r) is None]
        headline = general[:1] if results[0] in general else []
        shown = [*headline, *mine, *general[len(headline) :]]
        return shown, [r for r in results if r not in shown]

    def settled(self) -> set[int]:
        """The cylinders that have their yes: nothing of them is missing, and nothing in doubt."""
        if self.work.doubts or not self.by_cylinder:
            return set()
        said: dict[int, set[str]] = {}
        for result in self.work.results:
            cylinder = cylinder_of(result)
            if cylinder is not None:
                said.setdefault(cylinder, set()).add(result.verdict)
        if not said:  # one answer for all of them
            return set(self.view.cylinders) if self.work.done else set()
        waiting = {at.get("cylinder") for _, at in self.work.missing}
        yes = (c for c, verdicts in said.items() if Verdict.GO in verdicts <= {Verdict.GO, Verdict.INFO})
        return {c for c in yes if c not in waiting}

    def unseen(self) -> list[Caution]:
        """The step's cautions that nobody has acknowledged yet."""
        return unseen(self.view, self.sheet.cautions, self.work.cautions)

    def own_cautions(self, result: Result) -> list[Caution]:
        """The cautions of one answer; those of the whole step are shown once, before it."""
        standing = {c.key for c in (*self.sheet.cautions, *self.work.cautions)}
        return [c for c in result.cautions if c.key not in standing]

    # -- what is asked -----------------------------------------------------------------
    def mine(self, at: Place) -> bool:
        """Whether a place is on show: those of other cylinders wait behind their tab."""
        return bool(at.get("cylinder", self.cylinder) == self.cylinder)

    def tally(self, group: Group, shown: list[dict[str, Any]]) -> tuple[int, int]:
        """(how many are entered, how many are to be entered) in a group, for the cylinder on show; none where the step waits
        for none of them."""
        missing = {(k, tuple(sorted(at.items()))) for k, at in self.work.missing}
        entered = wanted = empty = 0
        for at in shown:
            for f in fields_at(group, at, self.view):
                got = self.view.get(f, **at)
                entered += bool(got and got.entered)
                empty += got is None and not f.optional
                wanted += (f.key, tuple(sorted(at.items()))) in missing
        return entered, max(wanted, empty) if wanted else 0

    def next_ask(self) -> Slot | None:
        """What the log waits for: of the bore at work first, then whatever is missing, then the next turn."""
        fields = self.sheet.fields
        missing = [Slot(fields[key], dict(at)) for key, at in self.work.missing if key in fields]
        if self.sheet.next_at is not None:
            return self._at_the_bore(missing)
        return next(iter(missing), None) or self._next_turn()

    def _at_the_bore(self, missing: list[Slot]) -> Slot | None:
        """What is asked of the bore at work until it is finished; then of the next that is not."""
        there = order_of_boring(self.view)
        here = there.index(self.cylinder)
        for cylinder in (*there[here:], *there[:here]):
            if self.sheet.finished is not None and self.sheet.finished(self.view, cylinder):
                continue
            own = next((slot for slot in missing if slot.at.get("cylinder") == cylinder), None)
            ask = own or self._turn_of(cylinder)
            if ask is not None:
                return ask
        return next(iter(missing), None)

    def _turn_of(self, cylinder: int) -> Slot | None:
        """What is logged next of a bore."""
        found = None if self.sheet.next_at is None else self.sheet.next_at(self.view, cylinder)
        return None if found is None else Slot(self.sheet.fields[found[0]], dict(found[1]))

    def _next_turn(self) -> Slot | None:
        """The earliest place that is not filled yet, of what is logged again and again."""
        waiting = [
            (max((n for k, n in slot.at.items() if k in COUNTERS), default=0), order, slot)
            for order, group in enumerate(self.sheet.groups)
            if group.grows
            for slot in self._slots(group)
        ]
        waiting = [w for w in waiting if self._waits(w[2], w[0])]
        return min(waiting, key=lambda w: w[:2])[2] if waiting else None

    def _slots(self, group: Group) -> list[Slot]:
        """Every field of a group at each of its places on show."""
        return [Slot(f, at) for at in group.places(self.view) if self.mine(at) for f in fields_at(group, at, self.view)]

    def _waits(self, slot: Slot, turn: int) -> bool:
        """Whether a number has to be logged here; a default will do the first time."""
        f = slot.field
        if f.kind not in KINDS or f.optional:
            return False
        got = self.view.get(f, **slot.at)
        return got is None or not (got.entered or turn <= 1)

    def waited_for(self, slot: Slot) -> bool:
        """Whether the step waits for what is asked here."""
        return any(key == slot.field.key and dict(at) == dict(slot.at) for key, at in self.work.missing)

    def following(self, slot: Slot, order: list[Slot], *, waited_for: bool = False) -> Slot | None:
        """What to ask for after ``slot``, which stood in ``order`` before it was entered.

        Where the step had ``waited_for`` it, the next thing it waits for; else the next in its own table.
        """
        if self.sheet.next_at is not None and "cylinder" in slot.at:
            return self._following_turn(slot)
        if waited_for:
            ask = self.next_ask() if self.work.missing else None
            return ask if ask is not None and ask.field.kind in KINDS else None
        keys = [s.key for s in order]
        here = keys.index(slot.key) if slot.key in keys else -1
        now = self.order()
        after = now[here + 1] if 0 <= here < len(now) - 1 else None
        return after if after is not None and (slot.at or after.field.at == slot.field.at) else None

    def _following_turn(self, slot: Slot) -> Slot | None:
        """The rest of the same turn at the same bore; after it the pad closes, and the answer is seen."""
        after = self._turn_of(int(slot.at.get("cylinder", self.cylinder)))
        same = {k: v for k, v in slot.at.items() if k != "depth"}
        return after if after is not None and {k: v for k, v in after.at.items() if k != "depth"} == same else None

    def order(self) -> list[Slot]:
        """Every number the step asks for, in the order of work."""
        return [
            Slot(f, at)
            for group in self.sheet.groups
            for at in group.places(self.view)
            for f in group.fields
            if f.kind in KINDS and f.key not in self.apart and set(f.at) == set(at)
            if f.key not in OLD or self.view.all(f)
        ]

    def told(self, entry: Entry, style: Style) -> str:
        """What an entry of this step says, in words: the field, where, and the value."""
        field = self.sheet.fields.get(getattr(entry, "what", ""))
        if field is None or not isinstance(entry, (Reading, Chosen)):
            value = getattr(entry, "value", None) or getattr(entry, "reason", None)
            return str(value or say(L("the last entry"), style))
        where = self.where(entry.at, lambda line: say(line, style)) if entry.at else ""
        if isinstance(entry, Reading):
            value = figure(Qty(entry.typed.value, field.kind), style)
        else:
            value = next((say(c.label, style) for c in field.choices if c.value == entry.value), entry.value)
        return ", ".join(x for x in (say(field.label, style), where, value) if x)

    def where(self, at: Place, say: Callable[[Line], str]) -> str:
        """A place in words, as its group names it."""
        for g in self.sheet.groups:
            if g.name and at and any(set(f.at) == set(at) for f in g.fields):
                return say(g.name(at))
        return ", ".join(str(v) for v in at.values())
