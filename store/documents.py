"""The documents that are stored: a job (or a kit card) and its append-only log.

A document is a small header whose fields are each stamped, plus entries. An entry
is never edited. A correction is a new entry that names the one it ``replaces``; an
undo is a ``withdrawn`` entry that names the one it takes back. Merging two copies
is the union of their entries and, per header field, the later stamp.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, Union

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints

SCHEMA = 1

Id = Annotated[str, StringConstraints(pattern=r"^[0-9a-z]{8,40}$")]
#: Hybrid logical clock: 13 digits of milliseconds, 5 of counter, then the device.
Stamp = Annotated[str, StringConstraints(pattern=r"^[0-9]{13}-[0-9]{5}-[0-9a-z]{8,40}$")]
Name = Annotated[str, StringConstraints(max_length=200)]
Key = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_.]{0,59}$")]
Prose = Annotated[str, StringConstraints(max_length=4000)]
#: A stored number. There is one zero: minus zero is stored as zero, so that equal means identical.
Number = Annotated[float, Field(allow_inf_nan=False, ge=-1e9, le=1e9), AfterValidator(lambda x: x + 0.0)]
Place = dict[Key, int | Annotated[str, StringConstraints(max_length=40)]]


class Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class Typed(Model):
    """A number as somebody gave it and as it is calculated with."""

    text: Annotated[str, StringConstraints(max_length=60)] = Field(description="what was typed, untouched")
    typed_unit: Annotated[str, StringConstraints(max_length=20)] = Field(description="the unit it was read in")
    value: Number = Field(description="the same in `unit`")
    unit: Annotated[str, StringConstraints(max_length=20)] = Field(description="mm, degC, N*m …: the field's logic unit")


class _Entry(Model):
    id: Id
    stamp: Stamp
    device: Id
    by: Name = Field(default="", description="who made the entry")
    replaces: Id | None = Field(default=None, description="the entry this one corrects")


class Reading(_Entry):
    """A number that was measured, set or stated: bore reading, temperature, cutter setting, hone check …"""

    kind: Literal["reading"] = "reading"
    what: Key
    at: Place = Field(default_factory=dict)
    typed: Typed
    instrument: Id | None = Field(default=None, description="id of the kit card it was read with")


class Chosen(_Entry):
    """One of a field's choices, or a short text field."""

    kind: Literal["chosen"] = "chosen"
    what: Key
    at: Place = Field(default_factory=dict)
    value: Name


class Decision(_Entry):
    """Something the person decided, with what the tool advised at that moment."""

    kind: Literal["decision"] = "decision"
    what: Key
    at: Place = Field(default_factory=dict)
    value: Name
    typed: Typed | None = None
    reason: Prose = ""
    advised: Prose = ""


class Note(_Entry):
    kind: Literal["note"] = "note"
    at: Place = Field(default_factory=dict)
    text: Prose


class CautionSeen(_Entry):
    """A caution that was shown and acknowledged."""

    kind: Literal["caution"] = "caution"
    what: Key


class Skipped(_Entry):
    """A step left out, and why."""

    kind: Literal["skipped"] = "skipped"
    what: Key
    reason: Prose


class PhotoRef(_Entry):
    """A photo kept beside the job; the picture itself is stored apart under its digest."""

    kind: Literal["photo"] = "photo"
    at: Place = Field(default_factory=dict)
    digest: Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
    media: Literal["image/jpeg", "image/png", "image/webp"]
    size: Annotated[int, Field(ge=1, le=20_000_000)]
    caption: Name = ""


class Withdrawn(_Entry):
    """Takes back the entry named in ``replaces``; withdrawing a withdrawal restores it."""

    kind: Literal["withdrawn"] = "withdrawn"


Entry = Annotated[
    Union[Reading, Chosen, Decision, Note, CautionSeen, Skipped, PhotoRef, Withdrawn], Field(discriminator="kind")
]


class Stamped(Model):
    """A header field's value, when it was set and by whom. ``value`` None means cleared.

    ``over`` names the stamps of the values this one was set over, as the person saw
    them. Two values that neither of them was set over were set apart: a conflict.
    """

    value: Typed | Name | bool | Annotated[int, Field(ge=-1_000_000_000, le=1_000_000_000)] | None
    stamp: Stamp
    by: Name = ""
    over: tuple[Stamp, ...] = ()


class Document(Model):
    """A job or a kit card as it is stored, exported and merged.

    Job header fields: ``title, customer, engine, nominal`` (Typed), ``cylinders`` (int),
    ``bar, hone, gauge, micrometer`` (card ids), ``length_unit, deleted``. Card header
    fields: ``card`` (bar, hone, gauge, micrometer, master, thickness), ``title`` and the
    fields of that card. A superseded header value stays in ``earlier``.
    """

    schema_version: int = SCHEMA
    id: Id
    type: Literal["job", "card"] = "job"
    header: dict[Key, Stamped] = Field(default_factory=dict)
    earlier: dict[Key, tuple[Stamped, ...]] = Field(default_factory=dict)
    entries: tuple[Entry, ...] = ()


def value_of(document: Document, key: str, default: Any = None) -> Any:
    """A header field's plain value, or ``default`` if unset."""
    stamped = document.header.get(key)
    return default if stamped is None or stamped.value is None else stamped.value
