"""What the pictures show, as plain data. ``mobile/pictures`` and the report draw it.

Coordinates are millimetres unless a name says otherwise. Every picture carries
``text``, the same content in words, and ``title``.
"""

from __future__ import annotations

from dataclasses import dataclass

from .say import Line

__all__ = ["BoreSection", "ControlChart", "HoneProgress", "JobTimeline", "SweepRing", "TiltedFace"]


@dataclass(frozen=True, kw_only=True)
class BoreSection:
    """A bore cut lengthwise. ``rows`` are (depth_mm, axis name, radial wear_mm above the unworn bore).

    ``cut_mm`` is the radial depth of the proposed cut beyond the unworn bore (None: no
    cut proposed); ``governing`` is the (depth_mm, axis) that decides. Where ``finished``,
    the bore is finished and ``unworn_mm`` is the size wanted. ``at_least_mm`` is drawn as
    if something reached that far, so that two pictures share a scale; ``left`` is the axis
    drawn on the left (empty: the one that decides, else thrust).
    """

    title: Line
    text: Line
    length_mm: float
    unworn_mm: float
    rows: tuple[tuple[float, str, float], ...]
    cut_mm: float | None = None
    governing: tuple[float, str] | None = None
    finished: bool = False
    at_least_mm: float = 0.0
    left: str = ""


@dataclass(frozen=True, kw_only=True)
class SweepRing:
    """Radial readings round a bore with the fitted circle and the proposed cut.

    ``points`` are (angle_deg, deviation_mm from the mean radius); ``fit_centre_mm`` and
    ``fit_radius_mm`` are the fitted circle (same deviation zero); ``cut_radius_mm`` about
    ``cut_centre_mm`` is the proposed cut, a deviation from the mean radius as well.
    Angles are seen from above, 0 degrees to the front of the engine, anticlockwise.
    """

    title: Line
    text: Line
    points: tuple[tuple[float, float], ...]
    mean_radius_mm: float
    fit_centre_mm: tuple[float, float]
    fit_radius_mm: float
    cut_centre_mm: tuple[float, float] | None = None
    cut_radius_mm: float | None = None
    walls: tuple[tuple[float, float], ...] = ()  # (angle_deg, remaining wall_mm)


@dataclass(frozen=True, kw_only=True)
class TiltedFace:
    """The top face seen from the side: heights above the main-bearing axis along the block.

    ``points`` are (position_mm, height deviation_mm from the mean); ``ends`` the fitted
    line's deviation at the two ends; ``bores`` are (label, position_mm, lean_mm over the
    bore's length, signed along the block).
    """

    title: Line
    text: Line
    points: tuple[tuple[float, float], ...]
    ends: tuple[tuple[float, float], tuple[float, float]]
    bores: tuple[tuple[str, float, float], ...] = ()


@dataclass(frozen=True, kw_only=True)
class HoneProgress:
    """Size against strokes. ``checks`` are (strokes so far, size_mm); ``target_mm`` with its ``band_mm``.

    ``forecast`` is (strokes_low, strokes_likely, strokes_high) still to go, or None.
    """

    title: Line
    text: Line
    checks: tuple[tuple[float, float], ...]
    target_mm: float
    band_mm: tuple[float, float]
    forecast: tuple[float, float, float] | None = None


@dataclass(frozen=True, kw_only=True)
class JobTimeline:
    """When what was done on a job: one row for each day and step that saw entries.

    ``rows`` are (day as YYYY-MM-DD, step's name, entries made, corrections among them,
    first minute, last minute), in order of day, then of the first entry; minutes count
    from midnight of that day, in the reader's own time. ``days`` lists the days once.
    """

    title: Line
    text: Line
    days: tuple[str, ...]
    rows: tuple[tuple[str, Line, int, int, int, int], ...]


@dataclass(frozen=True, kw_only=True)
class ControlChart:
    """What a machine does from job to job. ``points`` are (day as YYYY-MM-DD, value, lowest and highest ordinary value);
    ``average`` the moving average with its own limits, (value, low, high), as many as points; ``middle`` the level
    they are held against. ``beyond`` are the numbers of the points out of the ordinary, ``since`` that of the point
    from which the average has left its limits (None: it has not). Values are of ``kind`` (:data:`logic.say.KINDS`).
    """

    title: Line
    text: Line
    kind: str
    middle: float
    points: tuple[tuple[str, float, float, float], ...]
    average: tuple[tuple[float, float, float], ...]
    beyond: tuple[int, ...] = ()
    since: int | None = None
