"""Bringing older documents up to the present schema version.

``MIGRATIONS[n]`` turns plain data of version n into plain data of version n + 1.
Raise ``SCHEMA`` in :mod:`store.documents` and add the step here when the form of a
document changes; keep a sample of the older version in ``tests/store/samples``,
which a test opens. A document from a newer version is refused and left as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from logic.say import L

from .documents import SCHEMA
from .errors import Refused

__all__ = ["MIGRATIONS", "NEWER", "upgrade", "version_of"]

NEWER = L("This was made by a newer Boreside. Update this copy first; it is left as it is.")

Step = Callable[[dict[str, Any]], dict[str, Any]]

MIGRATIONS: dict[int, Step] = {}


def version_of(data: Mapping[str, Any]) -> int:
    """The schema version plain data says it has. Raises Refused if it is no version at all."""
    version = data.get("schema_version")
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise Refused(L("This does not say which version of the log it is."), "version")
    return version


def upgrade(data: dict[str, Any], *, to: int = SCHEMA, steps: Mapping[int, Step] = MIGRATIONS) -> dict[str, Any]:
    """Plain data of any known version as plain data of version ``to``.

    Raises :class:`~store.errors.Refused` with code "newer" for a newer version.
    """
    version = version_of(data)
    if version > to:
        raise Refused(NEWER, "newer")
    while version < to:
        data = {**steps[version](data), "schema_version": version + 1}
        version += 1
    return data
