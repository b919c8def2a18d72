"""Naming the cylinder in an answer that was worked out for one bore."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, TypeVar

from logic.places import place_name
from logic.result import Result
from logic.say import L

from .view import View

__all__ = ["cylinder_places", "of_cylinder", "place_name"]

R = TypeVar("R", bound=Result)


def of_cylinder(result: R, cylinder: int) -> R:
    """The same answer, its sentence opened by the cylinder and its key ended by it."""
    return replace(
        result, key=f"{result.key}.{cylinder}", line=L("Cylinder {c}: {answer}", c=cylinder, answer=result.line)
    )


def cylinder_places(view: View) -> list[dict[str, Any]]:
    """One place for each cylinder."""
    return [{"cylinder": c} for c in view.cylinders]
