"""How sure a reading is: components combined as JCGM 100:2008 (the GUM) says.

A :class:`Component` is one thing that could make a result wrong, with its standard
uncertainty; :func:`combine` adds independent components in quadrature and finds the
effective degrees of freedom (Welch–Satterthwaite, JCGM 100:2008, G.4).
:func:`reading_budget` is the budget of one reading with a bore gauge.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist

from . import student
from .result import Influence
from .say import L, Line

__all__ = [
    "Budget",
    "Component",
    "chance_between",
    "combine",
    "from_limits",
    "from_resolution",
    "normal_cdf",
    "normal_quantile",
    "reading_budget",
]

_NORMAL = NormalDist()


def normal_cdf(z: float) -> float:
    """Probability that a standard normal variable is below ``z``; keeps its digits far below zero."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def normal_quantile(p: float) -> float:
    """The ``z`` below which a standard normal variable lies with probability ``p`` (0 < p < 1)."""
    if not 0.0 < p < 1.0:
        raise ValueError("a probability lies between 0 and 1")
    return _NORMAL.inv_cdf(p)


def chance_between(
    value: float, u: float, lower: float = -math.inf, upper: float = math.inf, dof: float = math.inf
) -> float:
    """Probability that what was measured as ``value`` truly lies from ``lower`` to ``upper``.

    Normal, or Student's t where ``dof`` is finite (JCGM 106:2012, 7.2 and 7.5). With
    ``u`` zero it is 1 or 0. Raises ValueError for a negative ``u`` or crossed limits.
    """
    if not (u >= 0 and lower <= upper and math.isfinite(value)):
        raise ValueError("a finite value, an uncertainty of zero or more and ordered limits are needed")
    if u == 0:
        return 1.0 if lower <= value <= upper else 0.0

    def below(z: float) -> float:
        if math.isinf(z):
            return 0.0 if z < 0 else 1.0
        return normal_cdf(z) if math.isinf(dof) else student.cdf(z, dof)

    low, high = (lower - value) / u, (upper - value) / u
    if low > 0:  # take the difference in the tail that keeps its digits
        low, high = -high, -low
    return max(0.0, below(high) - below(low))


@dataclass(frozen=True, slots=True)
class Component:
    """One source of doubt: standard uncertainty ``u`` of an input, and how the result follows it.

    ``sensitivity`` is the result's change per unit of the input (so it also converts
    units). ``shared`` is True where one and the same error is in every reading of a
    session (the master, the temperatures) and so does not average out; ``fixed`` where
    it differs from place to place but comes back when the same place is read again (the
    division of a dial: the pointer rests at the same spot between two marks).
    """

    name: Line
    u: float
    dof: float = math.inf
    sensitivity: float = 1.0
    shared: bool = False
    fixed: bool = False

    def __post_init__(self) -> None:
        if not (math.isfinite(self.u) and self.u >= 0 and math.isfinite(self.sensitivity)):
            raise ValueError("a standard uncertainty is finite and not below zero")
        if not self.dof > 0:
            raise ValueError("degrees of freedom must be above zero")

    @property
    def contribution(self) -> float:
        """What it adds to the result, in the result's unit."""
        return abs(self.sensitivity) * self.u


@dataclass(frozen=True, slots=True)
class Budget:
    """Components combined: standard uncertainty ``u`` and effective degrees of freedom ``dof``."""

    components: tuple[Component, ...]
    u: float
    dof: float

    def coverage(self, p: float = 0.95) -> float:
        """The factor k for which ±k u covers with probability ``p`` (Student's t at ``dof``)."""
        return student.two_sided(p, self.dof)

    @property
    def shares(self) -> tuple[Influence, ...]:
        """Each component's share of the variance, largest first; they add to 1 (empty where u is 0)."""
        if self.u == 0:
            return ()
        ordered = sorted(self.components, key=lambda c: -c.contribution)
        return tuple(Influence(c.name, (c.contribution / self.u) ** 2) for c in ordered)

    @property
    def u_own(self) -> float:
        """The part that differs from reading to reading."""
        return math.sqrt(math.fsum(c.contribution**2 for c in self.components if not c.shared))

    @property
    def u_fixed(self) -> float:
        """The part of :attr:`u_own` that reading the same place again does not shrink."""
        return math.sqrt(math.fsum(c.contribution**2 for c in self.components if c.fixed and not c.shared))

    @property
    def u_repeat(self) -> float:
        """The part of :attr:`u_own` that does shrink, as 1/√n."""
        return math.sqrt(math.fsum(c.contribution**2 for c in self.components if not (c.fixed or c.shared)))

    @property
    def u_shared(self) -> float:
        """The part that all readings of a session have in common."""
        return math.sqrt(math.fsum(c.contribution**2 for c in self.components if c.shared))


def combine(components: Iterable[Component]) -> Budget:
    """Independent components in quadrature, with Welch–Satterthwaite degrees of freedom.

    ``dof`` is left as the formula gives it (JCGM 100:2008, G.4.1, takes the whole number
    below it for its tables).
    """
    parts = tuple(components)
    u = math.sqrt(math.fsum(c.contribution**2 for c in parts))
    # as ratios, so that very small uncertainties do not vanish when raised to the fourth
    loss = math.fsum((c.contribution / u) ** 4 / c.dof for c in parts) if u > 0 else 0.0
    return Budget(parts, u, 1.0 / loss if loss > 0 else math.inf)


def from_resolution(division: float) -> float:
    """Standard uncertainty of reading to the nearest ``division``: division/√12 (JCGM 100:2008, F.2.2.1)."""
    if not (math.isfinite(division) and division >= 0):
        raise ValueError("a division is finite and not below zero")
    return division / math.sqrt(12.0)


#: Half-width of the limits divided by this is the standard uncertainty: JCGM 100:2008, 4.3.7, 4.3.9 and H.1.3.4.
_SHAPES = {"rectangular": math.sqrt(3.0), "triangular": math.sqrt(6.0), "arcsine": math.sqrt(2.0)}


def from_limits(half_width: float, shape: str = "rectangular") -> float:
    """Standard uncertainty of something known only to lie within ± ``half_width``.

    ``shape``: "rectangular" (anywhere alike), "triangular" (middle likelier) or
    "arcsine" (a cycle, such as room temperature under a thermostat).
    """
    if shape not in _SHAPES:
        raise ValueError(f"no such distribution: {shape!r}")
    if not (math.isfinite(half_width) and half_width >= 0):
        raise ValueError("limits are finite and not below zero")
    return half_width / _SHAPES[shape]


def reading_budget(
    *,
    size_mm: float,
    division_mm: float,
    repeatability_mm: float,
    master_u_mm: float,
    block_c: float,
    block_u_c: float,
    gauge_c: float,
    alpha_block_per_k: float,
    alpha_u_per_k: float,
    alpha_gauge_per_k: float,
    gauge_u_c: float | None = None,
    alpha_gauge_u_per_k: float = 0.6e-6,
    repeatability_dof: float = math.inf,
) -> Budget:
    """The budget, in millimetres, of one bore diameter at 20 °C read with a gauge zeroed on a master.

    The model is :func:`logic.temperature.bore_at_20`: the gauge carries the size of its
    master at ``gauge_c``, the bore is at ``block_c``. ``division_mm`` is the smallest
    step read (it enters twice: at the zero, shared, and at the reading);
    ``repeatability_mm`` the standard deviation of repeated readings, of
    ``repeatability_dof`` degrees of freedom; ``master_u_mm`` the standard uncertainty
    of the master. ``gauge_u_c`` is that of the gauge's temperature (as the block's
    where None); the gauge's and the master's expansion is known to
    ``alpha_gauge_u_per_k`` (±1e-6 rectangular where nothing better is known: from
    memory). Raises ValueError for numbers that make no sense.
    """
    if not (math.isfinite(size_mm) and size_mm > 0):
        raise ValueError("a bore has a size above zero")
    gauge_u = block_u_c if gauge_u_c is None else gauge_u_c
    # D20 = (M (1 + ag (Tg - 20)) + r) / (1 + ab (Tb - 20)); at the reading, M (1 + ...) + r = D20 (1 + ab (Tb - 20))
    stretch = 1.0 + alpha_block_per_k * (block_c - 20.0)
    master = size_mm * stretch / (1.0 + alpha_gauge_per_k * (gauge_c - 20.0))
    return combine(
        (
            Component(L("gauge division"), from_resolution(division_mm), sensitivity=1.0 / stretch, fixed=True),
            Component(L("repeatability"), repeatability_mm, repeatability_dof, 1.0 / stretch),
            Component(L("zero setting"), from_resolution(division_mm), sensitivity=1.0 / stretch, shared=True),
            Component(
                L("master"),
                master_u_mm,
                sensitivity=(1.0 + alpha_gauge_per_k * (gauge_c - 20.0)) / stretch,
                shared=True,
            ),
            Component(
                L("block temperature"), block_u_c, sensitivity=-size_mm * alpha_block_per_k / stretch, shared=True
            ),
            Component(
                L("block expansion"), alpha_u_per_k, sensitivity=-size_mm * (block_c - 20.0) / stretch, shared=True
            ),
            Component(L("gauge temperature"), gauge_u, sensitivity=master * alpha_gauge_per_k / stretch, shared=True),
            Component(
                L("gauge expansion"), alpha_gauge_u_per_k, sensitivity=master * (gauge_c - 20.0) / stretch, shared=True
            ),
        )
    )
