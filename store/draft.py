"""Drafts: entries that are ready but for their stamp.

A screen makes a draft from what was typed or chosen and hands it to
:meth:`store.jobs.Jobs.append`, which stamps it. A draft already carries its id, so
handing the same draft over twice stores one entry.

``what`` is a field's key, or the :class:`logic.fields.Field` itself; ``entered`` is
anything with ``text``, ``typed_unit``, ``value`` and ``unit``, as the number pad
gives it. Text that is too long, or a number that cannot be stored, raises
:class:`~store.errors.Refused`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import ValidationError

from logic.fields import Field
from logic.say import LN, L, Line, say

from .clock import new_id
from .documents import CautionSeen, Chosen, Decision, Note, PhotoRef, Reading, Skipped, Typed, Withdrawn
from .errors import Refused

__all__ = ["caution", "chosen", "decision", "note", "photo", "reading", "refusal", "skipped", "typed", "withdrawn"]

_NOBODY = "00000000"
#: The stamp of an entry that has not been given one yet.
UNSTAMPED = f"{0:013d}-{0:05d}-{_NOBODY}"


E = TypeVar("E", Reading, Chosen, Decision, Note, CautionSeen, Skipped, PhotoRef, Withdrawn)


def _make(kind: type[E], **fields: Any) -> E:
    try:
        return kind(id=new_id(), stamp=UNSTAMPED, device=_NOBODY, **fields)
    except ValidationError as problem:
        raise refusal(problem) from problem


def refusal(problem: ValidationError) -> Refused:
    """What to say when something does not fit the form of an entry or a header field."""
    errors = {e["type"]: e for e in reversed(problem.errors(include_url=False))}
    if "string_too_long" in errors:
        count = errors["string_too_long"]["ctx"]["max_length"]
        return Refused(
            LN(
                "That is too long to keep: at most {n} character.",
                "That is too long to keep: at most {n} characters.",
                count,
            ),
            "long",
        )
    if "string_unicode" in errors:
        return Refused(L("That holds characters that cannot be stored."), "characters")
    if errors.keys() & {"finite_number", "greater_than_equal", "less_than_equal"}:
        return Refused(L("That number is too large to be stored."), "number")
    return Refused(L("That cannot be stored: {why}.", why=problem.errors()[0]["msg"]), "entry")


def _key(what: str | Field) -> str:
    return what.key if isinstance(what, Field) else what


def typed(entered: Any) -> Typed:
    """What was typed as a stored number; a Typed passes unchanged."""
    if isinstance(entered, Typed):
        return entered
    try:
        return Typed(text=entered.text, typed_unit=entered.typed_unit, value=float(entered.value), unit=entered.unit)
    except ValidationError as problem:
        raise refusal(problem) from problem


def reading(
    what: str | Field,
    at: Mapping[str, Any],
    entered: Any,
    *,
    replaces: str | None = None,
    instrument: str | None = None,
) -> Reading:
    """A number, at a place such as ``{"cylinder": 2, "depth": 1, "axis": "thrust"}``.

    ``replaces`` is the id of the entry it corrects, ``instrument`` that of the kit
    card it was read with.
    """
    return _make(Reading, what=_key(what), at=dict(at), typed=typed(entered), replaces=replaces, instrument=instrument)


def chosen(
    what: str | Field, value: str, at: Mapping[str, Any] | None = None, *, replaces: str | None = None
) -> Chosen:
    """One of a field's choices, or the words of a text field."""
    return _make(Chosen, what=_key(what), value=value, at=dict(at or {}), replaces=replaces)


def decision(
    what: str | Field,
    value: str,
    at: Mapping[str, Any] | None = None,
    *,
    entered: Any = None,
    reason: str = "",
    advised: str | Line = "",
    replaces: str | None = None,
) -> Decision:
    """Something decided, with the number decided on (if any) and what was advised then."""
    return _make(
        Decision,
        what=_key(what),
        value=value,
        at=dict(at or {}),
        typed=None if entered is None else typed(entered),
        reason=reason,
        advised=say(advised),
        replaces=replaces,
    )


def note(text: str, at: Mapping[str, Any] | None = None, *, replaces: str | None = None) -> Note:
    """Free words, for the job or for a place in it."""
    return _make(Note, text=text, at=dict(at or {}), replaces=replaces)


def caution(key: str) -> CautionSeen:
    """A caution was shown and acknowledged."""
    return _make(CautionSeen, what=key)


def skipped(key: str, reason: str) -> Skipped:
    """A step was left out, and why."""
    return _make(Skipped, what=key, reason=reason)


def photo(digest: str, media: str, size: int, at: Mapping[str, Any] | None = None, caption: str = "") -> PhotoRef:
    """A photo that :meth:`store.jobs.Jobs.put_photo` has stored under ``digest``; ``size`` in bytes."""
    return _make(PhotoRef, digest=digest, media=media, size=size, at=dict(at or {}), caption=caption)


def withdrawn(entry_id: str) -> Withdrawn:
    """Takes back an entry. Withdrawing a withdrawal brings the entry back."""
    return _make(Withdrawn, replaces=entry_id)
