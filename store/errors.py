"""What the store says when it will not, or cannot, do something."""

from __future__ import annotations

import warnings

from logic.say import Line, say

__all__ = ["Broken", "NotSaved", "Refused", "broke"]


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


class Broken(RuntimeWarning):
    """A step or a part of the report broke off; what else there is stands. An error in the tests."""


def broke(what: str, error: Exception) -> str:
    """Warn whoever develops that ``what`` broke off (:class:`Broken`); the error in short, to be shown with it."""
    said = f"{type(error).__name__}: {error}"[:200]
    warnings.warn(f"{what} broke off. {said}", Broken, stacklevel=3)
    return said
