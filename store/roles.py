"""What a kit card can stand for: the one list of its roles and their names."""

from __future__ import annotations

from collections.abc import Mapping

from logic.say import L, Line

__all__ = ["CHOSEN", "ROLES"]

#: Every role of a kit card, by its key, with its name.
ROLES: Mapping[str, Line] = {
    "bar": L("Boring bar"),
    "hone": L("Hone"),
    "gauge": L("Bore gauge"),
    "micrometer": L("Micrometer"),
    "master": L("Setting ring or master"),
    "thickness": L("Thickness gauge"),
}

#: The roles a job chooses a card for: each is a header field of the job.
CHOSEN = ("bar", "hone", "gauge", "micrometer")
