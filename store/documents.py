"""The documents that are stored: a job (or a kit card) and its append-only log.

A document is a small header whose fields are each stamped, plus entries. An entry
is never edited. A correction is a new entry that names the one it ``replaces``; an
undo is a ``withdrawn`` entry that names the one it takes back. Merging two copies
is the union of their entries and, per header field, the later stamp.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints

from logic.places import MOST_CYLINDERS

from .roles import CHOSEN

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


PLACE = "where it belongs: cylinder, depth, pass, check, point (counted from 1), axis …"


class Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class Typed(Model):
    """A number as somebody gave it and as it is calculated with."""

    text: Annotated[str, StringConstraints(max_length=60)] = Field(description="what was typed, untouched")
    typed_unit: Annotated[str, StringConstraints(max_length=20)] = Field(description="the unit it was read in")
    value: Number = Field(description="the same in `unit`")
    unit: Annotated[str, StringConstraints(max_length=20)] = Field(
        description="mm, degC, N*m …: the field's logic unit"
    )


class _Entry(Model):
    id: Id = Field(description="the entry's own id, the same in every copy")
    stamp: Stamp = Field(
        description="when it was made: milliseconds since 1970, counter, device (hybrid logical clock)"
    )
    device: Id = Field(description="id of the device it was made on")
    by: Name = Field(default="", description="who made the entry")
    replaces: Id | None = Field(default=None, description="the entry this one corrects")


class Reading(_Entry):
    """A number that was measured, set or stated: bore reading, temperature, cutter setting, hone check …"""

    kind: Literal["reading"] = Field(default="reading", description="a number")
    what: Key = Field(description="key of the field it answers, sheet first: bores.reading")
    at: Place = Field(default_factory=dict, description=PLACE)
    typed: Typed = Field(description="the number")
    instrument: Id | None = Field(default=None, description="id of the kit card it was read with")


class Chosen(_Entry):
    """One of a field's choices, or a short text field."""

    kind: Literal["chosen"] = Field(default="chosen", description="a choice or a short text")
    what: Key = Field(description="key of the field it answers")
    at: Place = Field(default_factory=dict, description=PLACE)
    value: Name = Field(description="the choice's value, or the text")


class Decision(_Entry):
    """Something the person decided, with what the tool advised at that moment."""

    kind: Literal["decision"] = Field(default="decision", description="a decision")
    what: Key = Field(description="key of what was decided")
    at: Place = Field(default_factory=dict, description=PLACE)
    value: Name = Field(description="what was decided")
    typed: Typed | None = Field(default=None, description="the number decided on, if there is one")
    reason: Prose = Field(default="", description="why, in the person's words")
    advised: Prose = Field(default="", description="what was advised at that moment")


class Note(_Entry):
    """Free words, for the job or for a place in it."""

    kind: Literal["note"] = Field(default="note", description="free words")
    at: Place = Field(default_factory=dict, description=PLACE)
    text: Prose = Field(description="the words")


class CautionSeen(_Entry):
    """A caution that was shown and acknowledged."""

    kind: Literal["caution"] = Field(default="caution", description="an acknowledged caution")
    what: Key = Field(description="key of the caution")


class Skipped(_Entry):
    """A step left out, and why."""

    kind: Literal["skipped"] = Field(default="skipped", description="a step left out")
    what: Key = Field(description="key of the step")
    reason: Prose = Field(description="why, in the person's words")


class PhotoRef(_Entry):
    """A photo kept beside the job; the picture itself is stored apart under its digest."""

    kind: Literal["photo"] = Field(default="photo", description="a photo")
    at: Place = Field(default_factory=dict, description=PLACE)
    digest: Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")] = Field(
        description="SHA-256 of the picture's bytes, in hexadecimal"
    )
    media: Literal["image/jpeg", "image/png", "image/webp"] = Field(description="the picture's media type")
    size: Annotated[int, Field(ge=1, le=20_000_000)] = Field(description="the picture's size in bytes")
    caption: Name = Field(default="", description="what it shows")


class Withdrawn(_Entry):
    """Takes back the entry named in ``replaces``; withdrawing a withdrawal restores it."""

    kind: Literal["withdrawn"] = Field(default="withdrawn", description="an entry taken back")


Entry = Annotated[
    Reading | Chosen | Decision | Note | CautionSeen | Skipped | PhotoRef | Withdrawn, Field(discriminator="kind")
]


class Stamped(Model):
    """A header field's value, when it was set and by whom. ``value`` None means cleared.

    ``over`` names the stamps of the values this one was set over, as the person saw
    them. Two values that neither of them was set over were set apart: a conflict.
    """

    value: Typed | Name | bool | Annotated[int, Field(ge=-1_000_000_000, le=1_000_000_000)] | None = Field(
        description="the value; none where the field was cleared"
    )
    stamp: Stamp = Field(description="when it was set")
    by: Name = Field(default="", description="who set it")
    over: tuple[Stamp, ...] = Field(default=(), description="stamps of the values it was set over")


class Document(Model):
    """A job or a kit card as it is stored, exported and merged.

    Job header fields: ``title, customer, engine, number`` (the engine's), ``nominal`` (Typed),
    ``cylinders`` (int), ``banks`` (the cylinders of each bank from the front: "1,2,3/4,5,6"),
    ``bar, hone, gauge, micrometer`` (card ids), ``kit`` (what is at hand, by commas),
    ``hours`` (of work there is time for, 0: no hurry), ``length_unit, deleted``. Card header
    fields: ``card`` (bar, hone, gauge, micrometer, master, thickness), ``title`` and the
    fields of that card. A superseded header value stays in ``earlier``.
    """

    schema_version: int = Field(default=SCHEMA, description="version of the form of this document")
    id: Id = Field(description="the document's own id, the same in every copy")
    type: Literal["job", "card"] = Field(default="job", description="a job, or a kit card")
    header: dict[Key, Stamped] = Field(default_factory=dict, description="present value of each header field")
    earlier: dict[Key, tuple[Stamped, ...]] = Field(
        default_factory=dict, description="superseded values of each header field, oldest first"
    )
    entries: tuple[Entry, ...] = Field(default=(), description="the log, oldest first")


def value_of(document: Document, key: str, default: Any = None) -> Any:
    """A header field's plain value, or ``default`` if unset."""
    stamped = document.header.get(key)
    return default if stamped is None or stamped.value is None else stamped.value


_WORDS = frozenset(("title", "customer", "engine", "number", "banks", "length_unit", "card", "kit", *CHOSEN))
#: Header fields that are whole numbers, with the least and the most they may be.
_WHOLE = {"cylinders": (1, MOST_CYLINDERS), "hours": (0, 1000)}


def header_fits(key: str, value: Any) -> bool:
    """Whether a header field may have this value. Fields that have no rule here may have any."""
    if value is None:
        return True
    if key in _WORDS:
        return isinstance(value, str)
    if key == "deleted":
        return isinstance(value, bool)
    if key in _WHOLE:
        least, most = _WHOLE[key]
        return isinstance(value, int) and not isinstance(value, bool) and least <= value <= most
    if key == "nominal":
        return isinstance(value, Typed) and value.unit == "mm" and value.value > 0
    return True
