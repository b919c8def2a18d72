"""What one job teaches about the machines that did it: sums, not readings. Numbers only.

A :class:`JobRecord` is all that is kept of a job for later ones: how many values of each kind
there were, their mean and their spread. It is small enough for thousands of jobs to be
looked at in one go, it holds nothing that tells whose engine it was, and as it is known by
its job's id it is counted once, however often it comes in.

Series: lengths in mm; removal and times as natural logarithms, since what
repeats in them is a factor.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from .bore_prior import Place
from .pooling import Sums

__all__ = [
    "FITS",
    "Edges",
    "Form",
    "JobRecord",
    "Stones",
    "edges_of",
    "form_of",
    "minutes_of",
    "read_record",
    "written",
]

#: What somebody may say of a job that does not fit the machine's record.
FITS = ("counts", "restart", "aside")
_DIGITS = 6
#: What stands before the grit in a record's line.
_STONES = "stones."


@dataclass(frozen=True, slots=True)
class Edges:
    """Passes cut with each edge, in order. ``fresh`` says that the first of them began in this job; the last may go
    on in the next."""

    passes: tuple[int, ...] = ()
    fresh: bool = False


@dataclass(frozen=True, slots=True)
class Stones:
    """What a job asked of the stones of one grit: for each set in order the iron it took off (cm³) and the double strokes
    it made. ``fresh`` says that the first set began in this job; the last may go on in the next."""

    taken_cm3: tuple[float, ...] = ()
    strokes: tuple[float, ...] = ()
    fresh: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class JobRecord:
    """One job's part in the record of its machines.

    ``day`` is when it was done, in days since 1970; ``iron`` the block's material, ``size_mm`` the nominal bore.
    ``bar`` and ``hone`` are the ids of the cards chosen ("" for none), ``tip`` the edge's material. ``bias`` are
    the bar's biases in mm with the cut on diameter (mm) and the passes the edge had made as covariates. ``stones`` go by grit. ``series`` are the other kinds by name; ``bar_fit`` and
    ``hone_fit`` what somebody said where the job did not fit ("" where nobody had to).
    """

    job: str
    day: float
    iron: str = ""
    size_mm: float = 0.0
    cylinders: int = 0
    bar: str = ""
    hone: str = ""
    tip: str = ""
    bar_fit: str = ""
    hone_fit: str = ""
    bias: Sums | None = None
    edges: Edges = Edges()
    stones: Mapping[str, Stones] = field(default_factory=dict)
    series: Mapping[str, Sums] = field(default_factory=dict)

    def of(self, name: str) -> Sums | None:
        """One series; None where the job has nothing of it."""
        return self.series.get(name)

    @property
    def empty(self) -> bool:
        """Whether the job teaches nothing yet."""
        return self.bias is None and not self.series and not self.edges.passes and not self.stones


def edges_of(fresh: Sequence[bool]) -> Edges:
    """The passes of a job by edge, from whether each, in order, was begun with a fresh one."""
    if not fresh:
        return Edges()
    counts = [0]
    for first, new in zip((True, *(False for _ in fresh[1:])), fresh, strict=True):
        if new and not first:
            counts.append(0)
        counts[-1] += 1
    return Edges(tuple(counts), fresh[0])


# -- the shape of a bore -----------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A bore's shape, mm: mean less the size wanted, taper (top less bottom), barrel (middle less ends, roughly) and
    out-of-round (first axis less second), each None where it was not read; and the variance (mm²) that the gauge
    alone puts into each."""

    level_mm: float
    taper_mm: float | None = None
    barrel_mm: float | None = None
    oval_mm: float | None = None
    level_var_mm2: float = 0.0
    taper_var_mm2: float = 0.0
    barrel_var_mm2: float = 0.0
    oval_var_mm2: float = 0.0


def form_of(places: Sequence[Place], u_shared_mm: float = 0.0) -> Form:
    """The shape that readings show, in the terms of :mod:`logic.bore_prior`. Raises ValueError for no place."""
    if not places:
        raise ValueError("no place was read")
    n = len(places)
    u2 = math.fsum(p.u_mm**2 for p in places) / n
    level = math.fsum(p.off_mm for p in places) / n
    by_depth: dict[float, list[float]] = {}
    for p in places:
        by_depth.setdefault(p.depth_mm, []).append(p.off_mm)
    taper, barrel, taper_var, barrel_var = _along(by_depth, u2)
    oval, oval_var = _across(places, u2)
    return Form(
        level_mm=level,
        taper_mm=taper,
        barrel_mm=barrel,
        oval_mm=oval,
        level_var_mm2=u2 / n + u_shared_mm**2,
        taper_var_mm2=taper_var,
        barrel_var_mm2=barrel_var,
        oval_var_mm2=oval_var,
    )


def _along(by_depth: Mapping[float, Sequence[float]], u2: float) -> tuple[float | None, float | None, float, float]:
    depths = sorted(by_depth)
    if len(depths) < 2:
        return None, None, 0.0, 0.0
    axes = min(len(v) for v in by_depth.values())
    z = [2.0 * (d - depths[0]) / (depths[-1] - depths[0]) - 1.0 for d in depths]
    means = [math.fsum(by_depth[d]) / len(by_depth[d]) for d in depths]
    middle_z, middle = math.fsum(z) / len(z), math.fsum(means) / len(means)
    szz = math.fsum((a - middle_z) ** 2 for a in z)
    slope = math.fsum((a - middle_z) * (m - middle) for a, m in zip(z, means, strict=True)) / szz
    taper, taper_var = -2.0 * slope, 4.0 * u2 / (axes * szz)
    if len(depths) < 3:
        return taper, None, taper_var, 0.0
    rest = [m - middle - slope * (a - middle_z) for a, m in zip(z, means, strict=True)]
    barrel, sbb = _bulged(z, rest)
    return taper, barrel, taper_var, u2 / (axes * sbb)


def _bulged(z: Sequence[float], rest: Sequence[float]) -> tuple[float, float]:
    """How much of a parabola is in what the straight line leaves, and the sum of squares that it rests on."""
    off = _residual([0.5 - a * a for a in z], z)
    sbb = math.fsum(b * b for b in off)
    return math.fsum(b * r for b, r in zip(off, rest, strict=True)) / sbb, sbb


def _residual(y: Sequence[float], z: Sequence[float]) -> list[float]:
    """What a straight line in z leaves of y."""
    n = len(z)
    my, mz = math.fsum(y) / n, math.fsum(z) / n
    slope = math.fsum((a - mz) * (b - my) for a, b in zip(z, y, strict=True)) / math.fsum((a - mz) ** 2 for a in z)
    return [b - my - slope * (a - mz) for a, b in zip(z, y, strict=True)]


def _across(places: Sequence[Place], u2: float) -> tuple[float | None, float]:
    """Out-of-round: thrust less crank where both were read, else the first two axes by name."""
    axes: dict[str, list[float]] = {}
    for p in places:
        axes.setdefault(p.axis, []).append(p.off_mm)
    if len(axes) < 2:
        return None, 0.0
    first, second = ("thrust", "crank") if {"thrust", "crank"} <= axes.keys() else sorted(axes)[:2]
    a, b = axes[first], axes[second]
    return math.fsum(a) / len(a) - math.fsum(b) / len(b), u2 * (1.0 / len(a) + 1.0 / len(b))


# -- time ----------------------------------------------------------------------------------
def minutes_of(times_ms: Iterable[int], *, longest_min: float, least_min: float) -> float | None:
    """Minutes spent on one bore, from the times at which its values were entered; None where they tell nothing.

    Gaps longer than ``longest_min`` are breaks and count for nothing. Values entered all at once,
    in less than ``least_min`` together, were written down elsewhere first (common practice, no source).
    """
    times = sorted(times_ms)
    gaps = [(b - a) / 60_000.0 for a, b in pairwise(times)]
    worked = math.fsum(g for g in gaps if g <= longest_min)
    return worked if worked >= least_min else None


# -- as text ---------------------------------------------------------------------------------
def _short(x: float) -> str:
    return f"{x:.{_DIGITS}g}"


def _numbers(g: Sums) -> str:
    own = [_short(g.n), _short(g.mean), _short(g.squares), *map(_short, g.x)]
    own += [_short(v) for row in g.xx for v in row]
    return ",".join([*own, *map(_short, g.xy)])


def _finite_numbers(text: str, least: int) -> list[float]:
    numbers = [float(part) for part in text.split(",")]
    if not all(map(math.isfinite, numbers)) or len(numbers) < least:
        raise ValueError("no sums")
    return numbers


def _sums(text: str) -> Sums:
    """Raises ValueError where the text is none, or no job can have such sums."""
    n, mean, squares, *rest = _finite_numbers(text, 3)
    k = {0: 0, 3: 1, 8: 2}.get(len(rest))
    if k is None or not (n >= 1 and n == int(n)) or squares < 0.0:
        raise ValueError("no sums")
    xx = tuple(tuple(rest[k + k * i : k + k * (i + 1)]) for i in range(k))
    if any(xx[i][i] < 0.0 for i in range(k)):
        raise ValueError("no sums")
    return Sums(int(n), mean, squares, tuple(rest[:k]), xx, tuple(rest[k + k * k :]))


_WORDS = ("iron", "bar", "hone", "tip", "bar_fit", "hone_fit")


def written(record: JobRecord) -> str:
    """A record as one line of text: names and numbers, semicolons between."""
    parts = [f"day={_day(record.day)}", f"size={_short(record.size_mm)}", f"cylinders={record.cylinders}"]
    parts += [f"{word}={value}" for word in _WORDS if (value := getattr(record, word))]
    if record.edges.passes:
        parts.append(f"edges={','.join(map(str, (int(record.edges.fresh), *record.edges.passes)))}")
    parts += [f"{_STONES}{grit}={_stones_said(used)}" for grit, used in sorted(record.stones.items())]
    if record.bias is not None:
        parts.append(f"bias={_numbers(record.bias)}")
    parts += [f"{name}={_numbers(g)}" for name, g in sorted(record.series.items())]
    return ";".join(parts)


def _stones_said(used: Stones) -> str:
    pairs = (f"{_short(t)}:{_short(n)}" for t, n in zip(used.taken_cm3, used.strokes, strict=True))
    return ",".join([f"{int(used.fresh)}", *pairs])


def _day(day: float) -> str:
    return f"{day:.3f}"


def read_record(job: str, text: str) -> JobRecord | None:
    """The record in a line of text; None where it is none. A series that makes no sense is left out."""
    parts = dict(part.split("=", 1) for part in text.split(";") if "=" in part)
    try:
        record = JobRecord(
            job=job,
            day=float(parts.pop("day")),
            size_mm=float(parts.pop("size")),
            cylinders=int(parts.pop("cylinders")),
            edges=_edges(parts.pop("edges", "")),
            iron=parts.pop("iron", ""),
            bar=parts.pop("bar", ""),
            hone=parts.pop("hone", ""),
            tip=parts.pop("tip", ""),
            bar_fit=parts.pop("bar_fit", ""),
            hone_fit=parts.pop("hone_fit", ""),
        )
    except (KeyError, ValueError):
        return None
    if not (math.isfinite(record.day) and math.isfinite(record.size_mm)):
        return None
    series: dict[str, Sums] = {}
    stones: dict[str, Stones] = {}
    for name, numbers in parts.items():
        try:
            if name.startswith(_STONES):
                stones[name.removeprefix(_STONES)] = _stones(numbers)
            else:
                series[name] = _sums(numbers)
        except ValueError:
            continue
    return replace(record, bias=series.pop("bias", None), series=series, stones=stones)


def _stones(text: str) -> Stones:
    fresh, *pairs = text.split(",")
    both = [(float(taken), float(strokes)) for taken, _, strokes in (pair.partition(":") for pair in pairs)]
    if fresh not in ("0", "1") or not all(math.isfinite(v) and v >= 0.0 for pair in both for v in pair):
        raise ValueError("no stones")
    return Stones(tuple(t for t, _ in both), tuple(n for _, n in both), fresh == "1")


def _edges(text: str) -> Edges:
    if not text:
        return Edges()
    fresh, *passes = (int(part) for part in text.split(","))
    if any(p < 0 for p in passes):
        raise ValueError("no passes")
    return Edges(tuple(passes), bool(fresh))
