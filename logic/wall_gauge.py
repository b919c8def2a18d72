"""A gauge that times an echo through a cylinder wall, put right with known pieces of the same iron.

Such a gauge multiplies the time by a speed of sound it has been told. Iron varies far
too much for a book value, so its readings are put right with a known thickness of the
same iron (practice of ISO 16809, ultrasonic thickness measurement).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from .constants import constant
from .result import Assumption, Figure, Result, Verdict
from .say import LN, L, Line, Qty

__all__ = ["Calibration", "Piece", "Untried", "calibration"]

#: What most gauges are set to where nobody says, m/s.
_STEEL_M_S = constant("sound.steel").value
#: Least relative standard uncertainty of a reading while the gauge was never tried on the block.
LEAST_UNTRIED_U = 0.03
#: What the correction may be off is laid out at so many places: a speed of sound anywhere between its limits, or a normal
#: error at these standard deviations.
_SPEEDS = 32
_STEPS = tuple(0.5 * k for k in range(-9, 10))
_NORMAL = tuple(math.exp(-0.5 * z * z) / math.fsum(math.exp(-0.5 * y * y) for y in _STEPS) for z in _STEPS)


@dataclass(frozen=True, slots=True)
class Untried:
    """What is known of a gauge that was never tried on this block: true thickness over shown, from ``low`` to ``high``.

    A gauge shows the time times the speed it is set to. Iron carries sound more slowly than
    steel, by how much its graphite decides: set for steel it shows grey iron too thick, never
    too thin. Where nobody says what it is set to, steel is taken, and no wall counts as
    thicker than shown. Rectangular between the limits (JCGM 100:2008, 4.3.7).
    """

    material: str = "grey_iron"
    set_speed_m_s: float | None = None

    @property
    def low(self) -> float:
        slow = constant(f"sound.{self.material}").low
        return min(1.0, slow / _STEEL_M_S) if self.set_speed_m_s is None else slow / self.set_speed_m_s

    @property
    def high(self) -> float:
        return 1.0 if self.set_speed_m_s is None else constant(f"sound.{self.material}").high / self.set_speed_m_s

    @property
    def scale(self) -> float:
        return (self.low + self.high) / 2

    @property
    def relative_u(self) -> float:
        """Standard uncertainty as a share of what is shown."""
        return max((self.high - self.low) / math.sqrt(12), LEAST_UNTRIED_U)

    @property
    def scales(self) -> tuple[float, ...]:
        """The scale at the middles of equal shares of its range, which is as wide as :attr:`relative_u` says."""
        half = math.sqrt(3) * self.relative_u
        return tuple(self.scale + half * ((2 * k + 1) / _SPEEDS - 1) for k in range(_SPEEDS))

    @property
    def shares(self) -> tuple[float, ...]:
        """How likely each of :attr:`scales` is once a wall was read.

        A reading r stands for the thickness t = s r, so the scale s goes by p(s) p(t) s. Were walls of any thickness
        as likely, that were s; were they so by their logarithm, 1. Walls near their minimum lie between (common
        practice, no source): the root of s.
        """
        roots = [math.sqrt(scale) for scale in self.scales]
        return tuple(root / sum(roots) for root in roots)


def _positive(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{name} must be above zero, not {value}")


def _not_negative(name: str, value: float) -> None:
    if not (math.isfinite(value) and value >= 0):
        raise ValueError(f"{name} must be zero or more, not {value}")


# -- the thickness gauge -------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Piece:
    """A known thickness of the same iron and what the gauge showed on it (mm, standard uncertainties)."""

    known_mm: float
    shown_mm: float
    u_known_mm: float = 0.01
    u_shown_mm: float = 0.05

    def __post_init__(self) -> None:
        _positive("known thickness", self.known_mm)
        _positive("shown thickness", self.shown_mm)
        _not_negative("uncertainty of the known thickness", self.u_known_mm)
        _not_negative("uncertainty of the shown thickness", self.u_shown_mm)


@dataclass(frozen=True, kw_only=True)
class Calibration(Result):
    """How to put a reading right: true = ``zero_mm`` + ``scale`` x shown.

    ``value`` is the scale. With one piece the zero is taken as set, give or take
    ``u_gauge_zero_mm``. With two or more the zero comes out of the readings.
    """

    scale: float
    zero_mm: float
    pieces: tuple[Piece, ...] = ()
    u_gauge_zero_mm: float = 0.0
    untried: Untried = Untried()

    def correct(self, shown_mm: float, u_shown_mm: float = 0.05) -> Qty:
        """The true thickness behind a reading, with its standard uncertainty (kind "wall").

        The reading's own repeatability and the calibration's doubt are combined in
        quadrature. Raises ValueError for a reading that is not above zero.
        """
        _positive("shown thickness", shown_mm)
        _not_negative("uncertainty of the reading", u_shown_mm)
        true = self.zero_mm + self.scale * shown_mm
        var = (self.scale * u_shown_mm) ** 2 + self.variance_of_correction(shown_mm)
        return Qty(true, "wall", math.sqrt(var))

    def states(self, shown_mm: float) -> tuple[tuple[float, float], ...]:
        """What the correction may make of a reading: (share, thickness), without the reading's own error.

        The same place in the list stands for the same error of the correction, whatever the
        reading: all walls read with this gauge are off together.
        """
        if not self.pieces:
            scales, shares = self.untried.scales, self.untried.shares
            return tuple((w, self.zero_mm + scale * shown_mm) for w, scale in zip(shares, scales, strict=True))
        true, u = self.zero_mm + self.scale * shown_mm, math.sqrt(self.variance_of_correction(shown_mm))
        return tuple((weight, true + z * u) for weight, z in zip(_NORMAL, _STEPS, strict=True))

    def variance_of_correction(self, shown_mm: float) -> float:
        """Variance (mm²) that the calibration itself brings to a reading of ``shown_mm``."""
        if not self.pieces:
            return (self.untried.relative_u * shown_mm) ** 2
        if len(self.pieces) == 1:
            (p,) = self.pieces
            at = shown_mm / p.shown_mm
            zero = self.scale * (1 - at) * self.u_gauge_zero_mm
            return at**2 * (p.u_known_mm**2 + (self.scale * p.u_shown_mm) ** 2) + zero**2
        n = len(self.pieces)
        mean = sum(p.shown_mm for p in self.pieces) / n
        sxx = sum((p.shown_mm - mean) ** 2 for p in self.pieces)
        var = 0.0
        for p in self.pieces:
            weight = 1 / n + (shown_mm - mean) * (p.shown_mm - mean) / sxx
            var += weight**2 * (p.u_known_mm**2 + (self.scale * p.u_shown_mm) ** 2)
        return var


def _speed(set_up: _SetUp, set_speed_m_s: float | None) -> tuple[Figure, ...]:
    """The iron's own speed of sound, where the gauge's is known and was tried."""
    if set_speed_m_s is None or not set_up.pieces:
        return ()
    speed = Qty(set_speed_m_s * set_up.scale, "sound", set_speed_m_s * set_up.u_scale)
    return (Figure("speed", L("Speed of sound in this metal"), speed),)


def _unusual(scale: float) -> tuple[Line]:
    return (
        L(
            "A scale of {scale} is unusual: check the setting of the gauge and the readings.",
            scale=Qty(scale, "factor"),
        ),
    )


def calibration(
    pieces: Sequence[Piece],
    *,
    set_speed_m_s: float | None = None,
    material: str = "grey_iron",
    u_gauge_zero_mm: float = 0.05,
    smallest_wall_mm: float | None = None,
    largest_wall_mm: float | None = None,
) -> Calibration:
    """The correction of a thickness gauge from ``pieces`` of the same iron.

    No piece: readings are taken as :class:`Untried` has it for ``material`` (a key of the
    table's speeds of sound) and the speed set, with a wide uncertainty. One piece: the scale
    alone. Two or more: scale and zero by the straight line through them. Give
    ``set_speed_m_s`` (what the gauge is set to) to get the iron's speed of sound, and
    the range of walls read to be told when it runs far outside the pieces. Pieces too
    alike for a line set the scale alone; readings that contradict each other set
    nothing, and both are said.
    """
    _not_negative("uncertainty of the gauge's zero", u_gauge_zero_mm)
    if set_speed_m_s is not None:
        _positive("speed of sound", set_speed_m_s)
    untried = Untried(material, set_speed_m_s)
    set_up = _set_up(tuple(pieces), u_gauge_zero_mm, untried)
    n = len(set_up.pieces)
    scale = Qty(set_up.scale, "factor", set_up.u_scale)
    odd = n > 0 and not 0.55 <= set_up.scale <= 1.4
    figures = [Figure("scale", L("Scale"), scale), Figure("zero", L("Zero"), Qty(set_up.zero_mm, "deviation"))]
    figures += _speed(set_up, set_speed_m_s)
    line, why = _said(set_up, untried)
    why += _unusual(set_up.scale) if odd else ()
    return Calibration(
        key="wall.gauge",
        line=line,
        value=scale,
        verdict=Verdict.MAYBE if set_up.alike or set_up.contradicting or n == 0 or odd else Verdict.GO,
        why=(*why, *_range_lines(set_up.pieces, smallest_wall_mm, largest_wall_mm)),
        figures=tuple(figures),
        assumptions=tuple(_assumptions(n, u_gauge_zero_mm, untried)),
        scale=set_up.scale,
        zero_mm=set_up.zero_mm,
        pieces=set_up.pieces,
        u_gauge_zero_mm=u_gauge_zero_mm if n == 1 else 0.0,
        untried=untried,
    )


# -- words ---------------------------------------------------------------------------------
def _said(set_up: _SetUp, untried: Untried) -> tuple[Line, list[Line]]:
    """How to put a reading right, and what set it."""
    n = len(set_up.pieces)
    scale = Qty(set_up.scale, "factor", set_up.u_scale)
    why: list[Line] = []
    if set_up.alike:
        why.append(L("The known pieces are too alike to set the zero, so they set the scale alone."))
    if set_up.contradicting:
        why.append(L("The gauge showed less on the thicker piece: check which reading belongs to which."))
    if n == 0:
        line = L(
            "The thickness gauge has not been tried on a known piece of this metal: a wall may have {low} to {high} of what it shows.",
            low=Qty(untried.low, "percent"),
            high=Qty(untried.high, "percent"),
        )
    elif n == 1:
        line = L("Enter what the gauge shows: it is multiplied by {scale} here.", scale=scale)
        why.append(L("One known piece sets the scale; the gauge's own zero is trusted."))
    else:
        line = L(
            "Enter what the gauge shows: it is multiplied by {scale} here, and {zero} added.",
            scale=scale,
            zero=Qty(set_up.zero_mm, "deviation"),
        )
        why.append(LN("{n} known piece sets both scale and zero.", "{n} known pieces set both scale and zero.", n))
    return line, why


def _range_lines(
    pieces: Sequence[Piece], smallest_wall_mm: float | None, largest_wall_mm: float | None
) -> Iterator[Line]:
    """Where the walls read run far outside the known pieces."""
    if not pieces:
        return
    thin = min(p.known_mm for p in pieces)
    thick = max(p.known_mm for p in pieces)
    if smallest_wall_mm is not None and smallest_wall_mm < 0.5 * thin:
        yield L(
            "The thinnest wall is under half the thickness of the thinnest known piece; a thinner piece would serve better."
        )
    if largest_wall_mm is not None and largest_wall_mm > 2 * thick:
        yield L("The thickest wall is over twice the thickest known piece; a thicker piece would serve better.")


def _assumptions(pieces: int, u_gauge_zero_mm: float, untried: Untried) -> Iterator[Assumption]:
    if pieces:
        yield Assumption(
            L("The known piece is the same metal as the wall, at the same temperature."), "common practice"
        )
    else:
        sound = constant(f"sound.{untried.material}")
        low, high = Qty(sound.low, "sound"), Qty(sound.high, "sound")
        yield Assumption(L("Sound runs through this block at {low} to {high}.", low=low, high=high), sound.source)
        if untried.set_speed_m_s is None:
            said = L(
                "The gauge may be set for steel, {speed}, or as slow as this block: its setting was not entered.",
                speed=Qty(_STEEL_M_S, "sound"),
            )
            yield Assumption(said, "common practice")
    if pieces == 1:
        yield Assumption(
            L("The gauge's zero is right within {zero}.", zero=Qty(2 * u_gauge_zero_mm, "fine")), "common practice"
        )


# -- figures ---------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class _SetUp:
    """A gauge set up by known pieces: the line through them and the uncertainty of its slope.

    ``pieces`` are those that set it: one that stands for all where they are too
    ``alike`` for a line, none where they are ``contradicting`` each other.
    """

    pieces: tuple[Piece, ...]
    scale: float
    zero_mm: float
    u_scale: float
    alike: bool
    contradicting: bool


def _set_up(pieces: tuple[Piece, ...], u_gauge_zero_mm: float, untried: Untried) -> _SetUp:
    shown = [p.shown_mm for p in pieces]
    alike = len(pieces) > 1 and max(shown) - min(shown) < 0.2 * max(shown)
    if alike:
        pieces = (_average(pieces),)
    scale, zero = _fit(pieces)
    contradicting = scale <= 0
    if contradicting or not pieces:
        return _SetUp((), untried.scale, 0.0, untried.relative_u, alike, contradicting)
    return _SetUp(pieces, scale, zero, _u_scale(pieces, scale, u_gauge_zero_mm), alike, contradicting)


def _average(pieces: tuple[Piece, ...]) -> Piece:
    """Like pieces as one; their doubts are kept whole, since they may be shared."""
    n = len(pieces)
    return Piece(
        sum(p.known_mm for p in pieces) / n,
        sum(p.shown_mm for p in pieces) / n,
        max(p.u_known_mm for p in pieces),
        max(p.u_shown_mm for p in pieces),
    )


def _fit(pieces: tuple[Piece, ...]) -> tuple[float, float]:
    """Scale and zero (mm) of the line through the pieces."""
    n = len(pieces)
    if n == 0:
        return 1.0, 0.0
    if n == 1:
        return pieces[0].known_mm / pieces[0].shown_mm, 0.0
    ms = sum(p.shown_mm for p in pieces) / n
    mk = sum(p.known_mm for p in pieces) / n
    sxx = sum((p.shown_mm - ms) ** 2 for p in pieces)
    scale = sum((p.shown_mm - ms) * (p.known_mm - mk) for p in pieces) / sxx
    return scale, mk - scale * ms


def _u_scale(pieces: tuple[Piece, ...], scale: float, u_zero: float) -> float:
    if len(pieces) == 1:
        (p,) = pieces
        return math.sqrt(p.u_known_mm**2 + scale**2 * (p.u_shown_mm**2 + u_zero**2)) / p.shown_mm
    mean = sum(p.shown_mm for p in pieces) / len(pieces)
    sxx = sum((p.shown_mm - mean) ** 2 for p in pieces)
    return (
        math.sqrt(sum((p.shown_mm - mean) ** 2 * (p.u_known_mm**2 + (scale * p.u_shown_mm) ** 2) for p in pieces)) / sxx
    )
