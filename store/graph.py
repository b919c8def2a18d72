"""Facts: named functions of a job whose answers are kept while what they read is unchanged.

What :func:`fact` wraps is known by its name and listed in :data:`FACTS`. While it runs,
every question it puts to its source (a :class:`~store.view.View`) and every other fact it
asks for is recorded, in order. The answer is kept with that record. Asked again, it is
handed out again if nothing has changed anywhere; otherwise the record is gone through:

- a question whose slot was not touched since is as it was; one whose slot was touched is
  put again, and its answer compared;
- a fact is itself brought up to date first, and then has changed or not.

Only where something read has changed does the function run again; where it comes out
equal, it has not changed, and what rests on it need not run (early cut-off). This is
demand-driven incremental computation, as in the "red-green" algorithm of the Rust crate
salsa and in Adapton (Hammer and others, PLDI 2014).

Answers are handed out again and again: whoever asks must not change them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import fields, is_dataclass
from functools import cache, update_wrapper
from inspect import signature
from typing import Any, Concatenate, Generic, NamedTuple, ParamSpec, TypeVar

__all__ = ["FACTS", "Asked", "Fact", "Question", "Source", "alike", "fact", "running", "watched"]

P = ParamSpec("P")
T = TypeVar("T")
S = TypeVar("S", bound="Source")

#: What is asked of a source: the name of the question, then what it is about.
Question = tuple[Hashable, ...]
#: The part of a source that a question looks at; it is touched when that part changes.
Slot = tuple[Hashable, ...]


class Asked(NamedTuple):
    """One line of a record. ``owner`` None is the source the fact itself was asked of.

    For a question, ``slot`` is where it looked and ``answer`` what it was told. For a fact
    ``slot`` is None and ``question`` is the fact and its arguments.
    """

    owner: Source | None
    slot: Slot | None
    question: Question
    answer: object = None


class _Kept:
    """An answer: what it rests on, when it was last found to stand, and when it last became another."""

    __slots__ = ("answer", "changed", "record", "stood")

    def __init__(self, answer: object, record: tuple[Asked, ...], stood: int, changed: int) -> None:
        self.answer, self.record, self.stood, self.changed = answer, record, stood, changed


class _Run:
    """A fact that is running now, and what it has asked for."""

    __slots__ = ("record", "source")

    def __init__(self, source: Source) -> None:
        self.source = source
        self.record: dict[tuple[Source | None, Question], Asked] = {}

    def add(self, source: Source, slot: Slot | None, question: Question, answer: object = None) -> None:
        owner = None if source is self.source else source
        key = (owner, question)
        if key not in self.record:
            self.record[key] = Asked(owner, slot, question, answer)

    def take_over(self, other: _Run) -> None:
        """Add what a fact asked for that broke off: whoever catches its error rests on it."""
        for asked in other.record.values():
            self.add(asked.owner or other.source, asked.slot, asked.question, asked.answer)


_RUNNING: ContextVar[_Run | None] = ContextVar("running", default=None)
_WATCHERS: list[list[tuple[Source, Fact[Any, Any, Any], tuple[object, ...]]]] = []


class _Clock:
    """Counts the changes of all sources together, so that what spans two of them can be compared."""

    now = 1


def running() -> bool:
    """Whether a fact is being worked out."""
    return _RUNNING.get() is not None


class Source:
    """What facts are asked of. Keeps their answers; tells them of its changes by slots.

    A subclass puts every question about itself through :meth:`ask`, as a function of the
    source, and calls :meth:`touch` where something has changed.
    """

    def __init__(self) -> None:
        self.kept: dict[Question, _Kept] = {}
        self.touches: dict[Slot, int] = {}
        self.last_touched = _Clock.now
        self._under_way: set[Question] = set()

    def ask(self, slot: Slot, question: Callable[Concatenate[S, P], T], *args: P.args, **_: P.kwargs) -> T:
        """The answer to ``question(self, *args)``, which looks at ``slot`` alone; recorded if a fact is running."""
        answer: T = _put(self, (question, *args))
        run = _RUNNING.get()
        if run is not None:
            run.add(self, slot, (question, *args), answer)
        return answer

    def touched(self, slot: Slot) -> int:
        """When ``slot`` was last touched: a question for what is too much to compare."""
        return self.touches.get(slot, 0)

    def touch(self, *slots: Slot) -> None:
        """What lies in ``slots`` has changed."""
        if slots:
            _Clock.now += 1
            self.last_touched = _Clock.now
            for slot in slots:
                self.touches[slot] = _Clock.now

    def share(self, other: Source) -> None:
        """Begin with the answers of ``other``, which is in the same state; from here on the two are apart."""
        self.kept = {key: _Kept(k.answer, k.record, k.stood, k.changed) for key, k in other.kept.items()}
        self.touches = dict(other.touches)

    # -- bringing an answer up to date ---------------------------------------------------
    def up_to_date(self, key: Question) -> _Kept:
        kept = self.kept.get(key)
        if kept is not None:
            now = _Clock.now
            if kept.stood == now:
                return kept
            if self._stands(kept):
                kept.stood = now
                return kept
        return self._run(key, kept)

    def _stands(self, kept: _Kept) -> bool:
        since = kept.stood
        for owner, slot, question, answer in kept.record:
            source = self if owner is None else owner
            if slot is None:
                try:
                    inner = source.up_to_date(question)
                except Exception:  # noqa: BLE001  whatever it raises, the fact that asks for it has to meet it
                    return False
                if inner.changed > since:
                    return False
            elif source.touched(slot) > since and not alike(_put(source, question), answer):
                return False
        return True

    def _run(self, key: Question, kept: _Kept | None) -> _Kept:
        function, *args = key
        assert isinstance(function, Fact)
        if key in self._under_way:
            raise RuntimeError(f"the fact {function.name} asks for itself")
        now, run = _Clock.now, _Run(self)
        for watcher in _WATCHERS:
            watcher.append((self, function, tuple(args)))
        self._under_way.add(key)
        token = _RUNNING.set(run)
        try:
            answer = function.function(self, *args)
        except BaseException:
            outer = token.old_value
            if isinstance(outer, _Run):
                outer.take_over(run)
            raise
        finally:
            _RUNNING.reset(token)
            self._under_way.discard(key)
        record = tuple(run.record.values())
        if kept is None:
            kept = self.kept[key] = _Kept(answer, record, now, now)
            return kept
        if not alike(kept.answer, answer):
            kept.answer, kept.changed = answer, now
        kept.record, kept.stood = record, now
        return kept

    # -- looking at the record -------------------------------------------------------------
    def record_of(self, asked: Fact[Any, Any, Any], *args: Hashable) -> tuple[Asked, ...]:
        """What a fact asked for when it was last worked out here; () if it never was."""
        kept = self.kept.get((asked, *args))
        return () if kept is None else kept.record

    def rests_on(self, asked: Fact[Any, Any, Any], *args: Hashable) -> dict[tuple[Source, Question], Asked]:
        """Every question that a fact rests on, near or far, each with its source."""
        found: dict[tuple[Source, Question], Asked] = {}
        seen: set[tuple[Source, Question]] = set()
        waiting: list[tuple[Source, Question]] = [(self, (asked, *args))]
        while waiting:
            source, key = waiting.pop()
            if (source, key) in seen:
                continue
            seen.add((source, key))
            kept = source.kept.get(key)
            for line in kept.record if kept is not None else ():
                owner = source if line.owner is None else line.owner
                if line.slot is None:
                    waiting.append((owner, line.question))
                else:
                    found[owner, line.question] = line
        return found

    def facts_kept(self) -> dict[tuple[Fact[Any, Any, Any], tuple[object, ...]], tuple[object, tuple[Asked, ...]]]:
        """Every fact worked out here: its answer and what it asked for."""
        out = {}
        for (function, *args), kept in self.kept.items():
            if isinstance(function, Fact):
                out[function, tuple(args)] = kept.answer, kept.record
        return out


def _put(source: Source, question: Question) -> Any:
    function: Any = question[0]
    return function(source, *question[1:])


class Fact(Generic[S, P, T]):
    """A named function of a source. Called like the function it wraps; arguments must be hashable.

    ``name`` is the module's last word and the function's name: ``walls.least_wall``.
    """

    name: str

    def __init__(self, function: Callable[Concatenate[S, P], T]) -> None:
        update_wrapper(self, function)
        self.function: Callable[..., T] = function
        self.name = f"{function.__module__.rsplit('.', 1)[-1]}.{function.__name__.lstrip('_')}"
        self._signature = signature(function)
        self._most = len(self._signature.parameters) - 1

    def __call__(self, source: S, /, *args: P.args, **kwargs: P.kwargs) -> T:
        given: tuple[Any, ...] = args
        if kwargs or len(args) < self._most:  # one answer, however its question is put
            bound = self._signature.bind(source, *args, **kwargs)
            bound.apply_defaults()
            given = bound.args[1:]
        key: Question = (self, *given)
        kept = source.up_to_date(key)
        if (run := _RUNNING.get()) is not None:
            run.add(source, None, key)
        answer: T = kept.answer  # type: ignore[assignment]  # kept under this fact's own key
        return answer

    def __repr__(self) -> str:
        return f"<fact {self.name}>"


#: Every fact, by its name.
FACTS: dict[str, Fact[Any, Any, Any]] = {}


def fact(function: Callable[Concatenate[S, P], T]) -> Fact[S, P, T]:
    """Make a fact of ``function(view, *args)``. Raises ValueError where the name is taken by another module."""
    made = Fact(function)
    other = FACTS.get(made.name)
    if other is not None and other.function.__module__ != function.__module__:
        raise ValueError(f"two facts are called {made.name}")
    FACTS[made.name] = made
    return made


@contextmanager
def watched() -> Iterator[list[tuple[Source, Fact[Any, Any, Any], tuple[object, ...]]]]:
    """The facts worked out while this lasts, in the order they were begun."""
    ran: list[tuple[Source, Fact[Any, Any, Any], tuple[object, ...]]] = []
    _WATCHERS.append(ran)
    try:
        yield ran
    finally:
        _WATCHERS.remove(ran)


# -- equal, so that nobody could tell the two apart -----------------------------------------------
def alike(a: Any, b: Any) -> bool:
    """Whether two answers are equal in every way that whoever asks could see.

    Stricter than ``==``: types are compared, the order of a mapping counts, and zero is
    not minus zero. Not a number is like itself.
    """
    if a is b:
        return True
    kind = type(a)
    if kind is not type(b):
        return False
    if kind is float:
        return (a == b and (a != 0.0 or math.copysign(1.0, a) == math.copysign(1.0, b))) or (
            math.isnan(a) and math.isnan(b)
        )
    if kind is str or kind is int:
        return bool(a == b)
    return _alike_inside(kind, a, b)


def _alike_inside(kind: type, a: Any, b: Any) -> bool:
    names = _names(kind)
    if names is not None:
        return all(alike(getattr(a, name), getattr(b, name)) for name in names)
    if issubclass(kind, (tuple, list)):
        return len(a) == len(b) and all(map(alike, a, b))
    if issubclass(kind, Mapping):
        return len(a) == len(b) and all(map(alike, a.keys(), b.keys())) and all(map(alike, a.values(), b.values()))
    return bool(a == b)


@cache
def _names(kind: type) -> tuple[str, ...] | None:
    """The names of a dataclass's fields; None where it is none."""
    return tuple(f.name for f in fields(kind)) if is_dataclass(kind) else None
