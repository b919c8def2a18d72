"""What the figures of choosing mean."""

from __future__ import annotations

from ..say import L
from . import Meaning

MEANINGS: dict[str, Meaning] = {}
