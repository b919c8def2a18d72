"""Documents as plain data and as text: one form for storage, export, checksums and comparison.

The plain form leaves out what has its default value, so a reading takes about 200
characters. The canonical text has sorted keys and no spaces: equal documents have
equal text, on every device.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from pydantic import TypeAdapter

from .documents import SCHEMA, Document, Entry, Stamped

__all__ = ["canonical", "checksum", "data_of", "document_of", "entry_data", "entry_of", "stamped_data", "stamped_of"]

_ENTRY: TypeAdapter[Any] = TypeAdapter(Entry)


def entry_data(entry: Any) -> dict[str, Any]:
    """An entry as plain JSON data, defaults left out, keys in a fixed order."""
    data = {"id": entry.id, "kind": entry.kind, **entry.model_dump(mode="json", exclude_defaults=True)}
    if "at" in data:
        data["at"] = dict(sorted(data["at"].items()))
    return data


def entry_of(data: Mapping[str, Any]) -> Any:
    """The entry in plain data. Raises pydantic's ValidationError if it is not one."""
    return _ENTRY.validate_python(data)


def stamped_data(stamped: Stamped) -> dict[str, Any]:
    """A header value as plain JSON data, defaults left out."""
    return {"value": None, **stamped.model_dump(mode="json", exclude_defaults=True)}


def stamped_of(data: Mapping[str, Any]) -> Stamped:
    """The header value in plain data. Raises pydantic's ValidationError if it is not one."""
    data = dict(data)
    if isinstance(data.get("over"), list):
        data["over"] = tuple(data["over"])
    return Stamped.model_validate(data)


def data_of(document: Document) -> dict[str, Any]:
    """A document as plain JSON data in a stable order."""
    data: dict[str, Any] = {
        "schema_version": document.schema_version,
        "id": document.id,
        "type": document.type,
        "header": {k: stamped_data(v) for k, v in sorted(document.header.items())},
    }
    if document.earlier:
        data["earlier"] = {k: [stamped_data(v) for v in vs] for k, vs in sorted(document.earlier.items())}
    data["entries"] = [entry_data(e) for e in document.entries]
    return data


def document_of(data: Mapping[str, Any]) -> Document:
    """The document in plain data of the present schema version.

    Raises pydantic's ValidationError, or TypeError/AttributeError where the data is
    not even shaped like a document.
    """
    rest = {k: v for k, v in data.items() if k not in ("header", "earlier", "entries")}
    return Document(
        **{"schema_version": SCHEMA, **rest},
        header={k: stamped_of(v) for k, v in data.get("header", {}).items()},
        earlier={k: tuple(stamped_of(v) for v in vs) for k, vs in data.get("earlier", {}).items()},
        entries=tuple(entry_of(e) for e in data.get("entries", ())),
    )


def canonical(data: Any) -> str:
    """Plain data as text that is the same wherever the data is."""
    return json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


def checksum(text: str | bytes) -> str:
    """SHA-256 of a text (as UTF-8), in hexadecimal."""
    data = text.encode("utf-8", "surrogatepass") if isinstance(text, str) else text
    return hashlib.sha256(data).hexdigest()
