"""What the figures of cutting mean."""

from __future__ import annotations

from ..say import L
from . import Meaning

MEANINGS: dict[str, Meaning] = {}
