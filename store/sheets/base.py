"""What a sheet is: one step of the job, its fields, and how its answers are worked out.

A sheet declares fields and a ``work`` function from a :class:`~store.view.View` to
:class:`Work`. It takes values out of the log, hands them to ``logic/`` with their
units, and passes the results back. It calculates nothing itself. The phone shows
sheets, ``boreside work`` prints them, the report sums them up.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from logic.doubt import Doubt
from logic.fields import Field
from logic.result import Caution, Result
from logic.say import L, Line, Style

from ..folded import Place
from ..view import View

__all__ = ["Group", "Risk", "Sheet", "Work"]


def _whole_job(_: View) -> list[dict[str, Any]]:
    return [{}]


@dataclass(frozen=True, kw_only=True)
class Group:
    """A table of like entries: fields sharing ``at``, with the places to offer.

    ``places(view)`` lists the places to ask for, in the order of work, e.g.
    ``[{"cylinder": 1}, {"cylinder": 2}]``; ``name(place)`` says one in words.
    ``grows`` is True where the person may add another (passes, checks, points): then
    ``places`` includes one empty place at the end.
    """

    key: str
    title: Line
    fields: tuple[Field, ...]
    places: Callable[[View], list[dict[str, Any]]] = _whole_job
    name: Callable[[Mapping[str, Any]], Line] | None = None
    grows: bool = False
    help: Line | None = None


@dataclass(frozen=True, kw_only=True)
class Risk:
    """Something that is assumed because nothing was entered, and what somebody says who goes on with it.

    ``what`` is the key of the decision that takes the risk, ``line`` says what is missing,
    ``take`` what is pressed, ``decided`` what the log keeps.
    """

    what: str
    line: Line
    take: Line
    decided: Line


@dataclass(frozen=True, kw_only=True)
class Work:
    """What a sheet has to say now.

    ``missing`` names what must still be entered (field key, place) before it can
    answer; ``blocked`` says in words what upstream stops it; ``pictures`` are picture
    data from ``logic/`` (drawn by ``mobile/pictures``). ``done`` is True when the step
    has what it needs and its answer stands. ``doubts`` are the contradictions and likely
    slips in what it rests on: while there is one, nothing here says yes (see
    :func:`store.flow.work_of`). ``risks`` are what may be taken on instead of a measurement.
    ``broken`` is True where the step could not be worked out at all, which ``blocked`` then says.
    """

    results: tuple[Result, ...] = ()
    missing: tuple[tuple[str, Mapping[str, Any]], ...] = ()
    blocked: Line | None = None
    done: bool = False
    pictures: tuple[Any, ...] = ()
    cautions: tuple[Caution, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    risks: tuple[Risk, ...] = ()
    broken: bool = False


#: What stands above the advice that comes ``later``, where a sheet says nothing else.
MEASURE_NEXT = L("Measure next")


@dataclass(frozen=True, kw_only=True, eq=False)  # there is one of each: looked up by what it is, not by all it holds
class Sheet:
    """One step of the job. ``order`` places it in the flow.

    ``base_mm(view)`` is the size that entries over a base ("+12" thou) count from on this
    sheet; where it is None they count from the worn bores' gauge zero. ``decides`` is True
    where the person decides on one of the steps that the first result weighs; the decision
    is kept under the sheet's key.
    ``sends`` gives a text of the step for a supplier, ``quotes`` one for the customer ("": none yet).
    ``gate`` is what has to be settled before the step says anything to cut or judge by: it
    gets the view and the step's work, and gives back what of it may be said. ``vital`` is
    True where the job is not in order without the step, ``closes`` where its yes is a yes to
    the whole job, and so waits for every other step.
    ``idle`` says why the step can stay off the path of a job in which nobody wanted it (None:
    it is on); ``minutes`` is about how long it takes, for the job and for each cylinder
    (common practice, no source). ``waits`` says what comes before the step in the order of the
    work, while that is not done and nothing was entered in the step: it is then not to do now,
    but anybody may open it and go ahead.
    ``later(view)`` is advice that takes longer than a key press may: it is asked for between
    two entries, and never part of the verdict; ``later_title`` stands above it.
    ``next_at(view, cylinder)`` is for a step that goes bore by bore: the field and the place logged next
    at a bore (None: nothing), and ``finished(view, cylinder)`` says that a bore needs no more.
    ``suggests(view, style, offset_minutes)`` gives what stands in a text field, by its key, while nobody wrote
    anything there; it is no entry, and nothing rests on it.
    ``apart`` is True where the report shows the answers in a part of their own, and not again
    step by step.
    """

    key: str
    order: float
    title: Line
    purpose: Line
    groups: tuple[Group, ...]
    work: Callable[[View], Work]
    cautions: tuple[Caution, ...] = field(default=())
    base_mm: Callable[[View], float | None] | None = None
    decides: bool = False
    later: Callable[[View], Result | None] | None = None
    later_title: Line = MEASURE_NEXT
    apart: bool = False
    sends: Callable[[View, Style], str] | None = None
    suggests: Callable[[View, Style, int], Mapping[str, str]] | None = None
    quotes: Callable[[View, Style], str] | None = None
    gate: Callable[[View, Work], Work] | None = None
    vital: bool = False
    closes: bool = False
    idle: Callable[[View], Line | None] | None = None
    waits: Callable[[View], Line | None] | None = None
    minutes: tuple[int, int] = (0, 0)
    next_at: Callable[[View, int], tuple[str, Place] | None] | None = None
    finished: Callable[[View, int], bool] | None = None

    @property
    def fields(self) -> dict[str, Field]:
        return {f.key: f for g in self.groups for f in g.fields}
