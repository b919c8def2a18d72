"""The old name of :func:`store.graph.fact`, while steps are moved over to it."""

from __future__ import annotations

from .graph import fact as remembered

__all__ = ["remembered"]
