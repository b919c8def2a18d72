"""Kit cards: the person's own bar, hone, gauges and masters.

A card is a document of type "card". Its header says what it is (``card``: a key of
:data:`ROLES`) and what it is called (``title``). Everything else is in its log, entered
on the same number pad as a job: the constants, under the keys of the job's own fields
(those marked ``card="bar"`` and so on, so that a job takes them from here), and the
checks against a master, each with the time it was logged.

:func:`sheet` gives the fields of one role and what its checks say, in the same form as
a step of a job; its ``work`` takes a :class:`~store.view.View` of the card.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any, NamedTuple

from logic import cards
from logic.fields import DefaultNumber, Field
from logic.places import place_name
from logic.result import Assumption, Result, Verdict
from logic.say import L, Line, Qty

from . import roles
from .clock import ms_of
from .facts.instruments import checks
from .fields.kit import (
    CHECK_ERROR,
    DIVISION,
    INTERVAL,
    LIMIT,
    MASTER_EXPANSION,
    MASTER_SIZE,
    MASTER_U,
    THICKNESS_LIMIT,
)
from .sheets import all_sheets, bores, cut
from .sheets.base import Group, Sheet, Work
from .view import View

__all__ = [
    "CHECK_ERROR",
    "DIVISION",
    "INTERVAL",
    "LIMIT",
    "MASTER_U",
    "ROLES",
    "Role",
    "checks",
    "due_for",
    "health",
    "instrument_u_mm",
    "sheet",
]

_DAY_MS = 86_400_000


class Role(NamedTuple):
    """A kind of kit. ``own`` are the fields only its card has; ``checked`` tells whether it is
    checked against a master, with ``limit``, ``interval``, ``division`` and ``master_u`` to judge it by."""

    key: str
    name: Line
    purpose: Line
    checked: bool = False
    limit: DefaultNumber = LIMIT
    interval: DefaultNumber = INTERVAL
    division: DefaultNumber = DIVISION
    master_u: DefaultNumber = MASTER_U
    more: tuple[Field, ...] = ()

    @property
    def own(self) -> tuple[Field, ...]:
        mine = (self.limit, self.interval, self.division, self.master_u) if self.checked else ()
        return (*self.more, *(f for f in mine if f.card != self.key))


#: Every role a card can have, in the order they are listed.
ROLES: Mapping[str, Role] = {
    r.key: r
    for r in (
        Role(
            "bar",
            roles.ROLES["bar"],
            L("The machine's constants, and what it cut against its setting in earlier jobs."),
        ),
        Role("hone", roles.ROLES["hone"], L("The hone's stones, speed and stroke.")),
        Role(
            "gauge",
            roles.ROLES["gauge"],
            L("Its division, and how it stands against a setting ring."),
            True,
            division=bores.DIVISION,
            master_u=bores.MASTER_U,
        ),
        Role(
            "micrometer",
            roles.ROLES["micrometer"],
            L("Its division, and how it stands against a rod or block."),
            True,
            limit=replace(LIMIT, default=0.004),
        ),
        Role(
            "master",
            roles.ROLES["master"],
            L("Its size, and what it was found to be against a better one."),
            True,
            limit=replace(LIMIT, default=0.003),
            interval=replace(INTERVAL, default=365),
            division=replace(DIVISION, default=0.0005),
            master_u=replace(MASTER_U, default=0.0005),
            more=(MASTER_SIZE, MASTER_EXPANSION),
        ),
        Role(
            "thickness",
            roles.ROLES["thickness"],
            L("How it stands against a measured piece of the same iron."),
            True,
            limit=THICKNESS_LIMIT,
            division=replace(DIVISION, default=0.01),
            master_u=replace(MASTER_U, default=0.01),
        ),
    )
}


def _role(view: View) -> Role:
    """What a card is for. One that says nothing usable is taken for a machine's: it is judged by no check."""
    return ROLES.get(view.word("card"), ROLES["bar"])


def _name(view: View) -> Line | str:
    return view.word("title") or _role(view).name


def health(view: View) -> cards.Health:
    """What the checks of a card say of the instrument. ``view`` is the card's own."""
    role = _role(view)
    return cards.health(
        f"card.{role.key}",
        _name(view),
        checks(view),
        division_mm=view.number(role.division),
        limit_mm=view.number(role.limit),
        master_u_mm=view.number(role.master_u),
        interval_days=view.number(role.interval),
    )


def instrument_u_mm(view: View, role: str) -> float | None:
    """The standard uncertainty (mm) that the instrument chosen for ``role`` brings to each reading of a job.

    From its checks; None where no card is chosen or it was never checked.
    """
    card = view.card(role)
    return health(card).u_mm if card is not None and ROLES[role].checked else None


def due_for(view: View, role: str) -> Result | None:
    """Whether the instrument chosen for ``role`` was checked lately enough for this job's latest reading.

    None where no card is chosen, the role is not one that is checked, or the job has no
    reading. What is compared are the times logged: there is no clock here.
    """
    card = view.card(role)
    read = view.last_read()
    if card is None or not ROLES[role].checked or read is None:
        return None
    last = max((c.day for c in checks(card)), default=None)
    since = None if last is None else ms_of(read) / _DAY_MS - last
    return cards.due(f"card.{role}.due", _name(card), since, card.number(ROLES[role].interval))


# -- as a sheet ----------------------------------------------------------------------------
def _check_places(view: View) -> list[dict[str, Any]]:
    logged = sorted(view.events(CHECK_ERROR, "check"))
    return [{"check": n} for n in (*logged, max(logged, default=0) + 1)]


def _work(view: View) -> Work:
    role = _role(view)
    if not role.checked:
        learned = (cut.bar_bias(view, view.records.get(view.id, ())),) if role.key == "bar" else ()
        return Work(results=(*(b for b in learned if b.known), _constants(view, role)), done=True)
    found = health(view)
    missing = [] if found.bias_mm is not None else [(CHECK_ERROR.key, {"check": 1})]
    missing += [(f.key, {}) for f in role.own if not f.optional and view.get(f) is None]
    return Work(
        results=(found, *_master_size(view, role)),
        missing=tuple(missing),
        done=not missing and found.verdict == Verdict.GO,
    )


def _master_size(view: View, role: Role) -> tuple[Result, ...]:
    """What a master measures, and what warmth makes of it."""
    size = view.number(MASTER_SIZE) if MASTER_SIZE in role.more else None
    if size is None:
        return ()
    rise = 10.0 * size * view.number(MASTER_EXPANSION)
    line = L(
        "{size} at 20 °C; it grows by {rise} for every 10 °C above that.",
        size=Qty(size, "size"),
        rise=Qty(rise, "fine"),
    )
    return (Result(key=f"card.{role.key}.size", line=line, value=Qty(size, "size")),)


def _constants(view: View, role: Role) -> Result:
    """What a machine's card holds, counted."""
    fields = [f for f in sheet(role.key).fields.values() if f.card == role.key]
    stated = [f for f in fields if view.stated(f) is not None]
    line = L(
        "{name}: {count} of {all} constants on the card; for the rest a job uses common practice.",
        name=_name(view),
        count=len(stated),
        all=len(fields),
    )
    order = Assumption(
        L("What a job enters for itself comes before the card, and the card before common practice."), "kit card"
    )
    return Result(key=f"card.{role.key}", line=line, value=Qty(len(stated), "count"), assumptions=(order,))


@cache
def sheet(role: str) -> Sheet:
    """The fields of one role of card and its answer, as a sheet. Raises KeyError for an unknown role.

    Its first group are the fields that jobs take from such a card, wherever in the steps
    of a job they are; then what only the card has, then the checks.
    """
    kind = ROLES[role]
    taken = {f.key: f for s in all_sheets() for f in s.fields.values() if f.card == role}
    groups = []
    if taken:
        groups.append(
            Group(
                key="constants",
                title=L("What jobs take from this card"),
                fields=tuple(taken.values()),
                help=L("It holds for every job with this card; what a job enters itself comes first."),
            )
        )
    if kind.own:
        groups.append(Group(key="about", title=L("About it"), fields=kind.own))
    if kind.checked:
        groups.append(
            Group(
                key="checks",
                title=L("Checks against a master"),
                fields=(CHECK_ERROR,),
                places=_check_places,
                name=place_name,
                grows=True,
                help=L("Each check keeps the day it was logged. Never change an old one: add another."),
            )
        )
    return Sheet(key=f"card_{role}", order=0, title=kind.name, purpose=kind.purpose, groups=tuple(groups), work=_work)
