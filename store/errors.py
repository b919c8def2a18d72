"""What the store says when it will not, or cannot, do something."""

from __future__ import annotations

from logic.say import Line, say

__all__ = ["NotSaved", "Refused"]


class Refused(Exception):
    """The store declines. ``line`` is a sentence for the person, ``code`` a stable word for the program.

    Nothing stored has been changed when this is raised, unless the sentence says so.
    """

    def __init__(self, line: Line, code: str) -> None:
        super().__init__(say(line))
        self.line = line
        self.code = code


class NotSaved(Refused):
    """A change did not become durable. Codes: "full", "busy", "io", "gone", "closed".

    What was given may be handed over again: a draft keeps its id, so a second try
    never makes a second entry.
    """
