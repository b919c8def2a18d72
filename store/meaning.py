"""What a typed number was meant as, in a job: :mod:`logic.meaning` weighed by what the job makes likely.

The expectation of a value comes from the readings around it (by the model of
:mod:`logic.slips`), the nominal bore, the other cylinders, the sizes the job is to come to,
and what the same person typed before; a field's limits only say what can be stored. Nothing is worked out
unless a text can be read in more than one way.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from statistics import median
from typing import Any, Unpack

from logic import rings, sizing, slips
from logic.fields import Field
from logic.likely import Anywhere, Between, Expectation, Near, Part, Ratio, Wear, spread_of
from logic.meaning import Hand, Manner, UnclearError, Way, style_of
from logic.meaning import understand as weigh
from logic.numerals import typed_number
from logic.say import KINDS, Style
from logic.steps import INCH_STEPS_MM, METRIC_STEPS_MM
from logic.units import Entered, accepted, convert
from logic.unread import first_depth_mm

from .documents import Reading
from .facts.block import bore_length_mm
from .facts.gauging import base_mm as zero_mm
from .facts.pistons import duty, piston_mm
from .facts.rings import ring_duty, rings_of
from .facts.sizes import finished_mm, target
from .facts.worn import worn_bores
from .fields import bores, chamfer, declared, face, final, sizes, sweep, walls
from .fields import rings as ring_fields
from .view import Spot, View, place

__all__ = ["Meant", "UnclearError", "expected", "understand"]

_Weighted = Iterator[tuple[float, Part]]

#: Logarithm of the eased wear where nothing else is known, mm, and its standard deviation (common
#: practice, no source: from next to nothing to half a millimetre).
_WEAR, _WEAR_SPREAD = -2.4, 1.2
#: Divisions of dials and half of them, mm (common practice, no source): 0.01, 0.005, 0.002, 0.001 mm; 1, 0.5, 0.1, 0.05 thou.
_DIVISIONS_MM = (0.01, 0.005, 0.002, 0.001, 0.0254, 0.0127, 0.00254, 0.00127)
#: The block and the master, °C: shade to sun (common practice, no source).
_AIR_C, _AIR_SPREAD = 18.0, 9.0
#: A cylinder's wall, mm, and its spread as a natural logarithm (common practice, no source).
_WALL_MM, _WALL_SPREAD = 5.0, 0.45
#: How far the wall stands from the indicator's zero in a sweep, mm: about, and now and then (common practice, no source).
_SWEPT_MM, _SWEPT_FAR_MM = 0.12, 0.5
#: A deck may be so long whatever its bores say, and its first place is within so much of the front edge, mm (common practice, no source).
_DECK_MM, _FRONT_MM = 650.0, 120.0
#: Places of one row lie within this of a line, mm, one standard deviation (common practice, no source).
_ROW_MM = 4.0
#: The fields of a second bank's deck, each with that of the first; those along the deck.
_FIRST_BANKS = {
    face.DECKS[1].x.key: face.X.key,
    face.DECKS[1].y.key: face.Y.key,
    face.DECKS[1].first.key: face.FIRST.key,
}
_ALONG = (face.X.key, face.DECKS[1].x.key)
#: The least a field of sizes holds where a bore may be meant: what can be smaller is a chamfer, a height, a gap.
_LEAST_BORE_MM = 15.0


def understand(text: str, field: Field, view: View, at: Mapping[str, Spot], **how: Unpack[Hand]) -> Entered:
    """Read one entry of a job as what it most likely means at this place.

    Arguments as for :func:`logic.meaning.understand`; ``base_mm`` is also what a field of deviations
    counts from. Raises :class:`logic.meaning.UnclearError` with the choices where it has to be
    asked, else :class:`logic.units.EntryError` for what cannot be read or stored.
    """
    return Meant(view, at)(text, field, **how)


class Meant:
    """:func:`understand` at one place, asked again and again while a text is typed: the job is looked at once.

    What it says while typing is what Enter will store, as long as the job stays as it is: it is made anew
    each time the pad is aimed.
    """

    def __init__(self, view: View, at: Mapping[str, Spot]) -> None:
        self._view, self._at = view, at
        self._known: tuple[object, Expectation] | None = None
        self._habits: dict[tuple[str, Style], _Habit] = {}

    def __call__(self, text: str, field: Field, **how: Unpack[Hand]) -> Entered:
        style, base_mm = style_of(how), how.get("base_mm")

        def density(value: float) -> float:
            asked = (field.key, base_mm)
            if self._known is None or self._known[0] != asked:
                self._known = asked, expected(self._view, field, self._at, base_mm)
            return self._known[1].density(value)

        habit = self._habits.setdefault((field.key, style), _Habit(self._view, field, style))
        return weigh(text, field, density=density, habit=habit, **how)


# -- what this person means -----------------------------------------------------------------------
#: What was meant in other fields of the kind counts as no more than so many entries: a gauge in millimetres says little of
#: what a depth micrometer in inches showed.
OTHERS_COUNT = 6.0


class _Habit(Mapping[Manner, float]):
    """How often each meaning was taken for a bare number in this job: in the field itself, and in others of its kind up to
    :data:`OTHERS_COUNT`. Counted when first asked for."""

    def __init__(self, view: View, field: Field, style: Style) -> None:
        self._view, self._key, self._kind, self._style = view, field.key, field.kind, style
        self._found: dict[Manner, float] | None = None

    @property
    def _counts(self) -> dict[Manner, float]:
        if self._found is None:
            meant = list(self._meant())
            own = Counter(manner for key, manner in meant if key == self._key)
            others = Counter(manner for key, manner in meant if key != self._key)
            part = min(1.0, OTHERS_COUNT / max(1, others.total()))
            self._found = {manner: own[manner] + part * others[manner] for manner in own | others}
        return self._found

    def _meant(self) -> Iterator[tuple[str, Manner]]:
        fields = declared()
        for entry in self._view.live():
            if isinstance(entry, Reading) and (field := fields.get(entry.what)) is not None:
                manner = self._manner(entry, field)
                if manner is not None:
                    yield entry.what, manner

    def _manner(self, entry: Reading, field: Field) -> Manner | None:
        """The meaning in which a bare number was taken; None for another kind or a number with its unit."""
        typed = entry.typed
        if field.kind != self._kind or any(c.isalpha() or c in "°\"'%" for c in typed.text):
            return None
        if KINDS[field.kind].unit != "mm":
            return Way.PLAIN, typed.typed_unit
        got = typed_number(typed.text)
        if got is None or typed.typed_unit not in accepted("size"):
            return None
        plain = convert(got.value, typed.typed_unit, "mm")
        if abs(plain - typed.value) < 1e-6:
            return Way.PLAIN, typed.typed_unit
        return (Way.SIZE if field.kind == "deviation" else Way.OVER), typed.typed_unit

    def __getitem__(self, manner: Manner) -> float:
        return self._counts[manner]

    def get(self, manner: Manner, default: Any = None) -> Any:
        return self._counts.get(manner, default)

    def __iter__(self) -> Iterator[Manner]:
        return iter(self._counts)

    def __len__(self) -> int:
        return len(self._counts)


# -- what is to be expected -------------------------------------------------------------------------
def expected(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None = None) -> Expectation:
    """What value this field is likely to get at this place, in its logic unit."""
    special = _SPECIAL.get(field.key)
    found = list(special(view, field, at, base_mm)) if special is not None else []
    if not found:
        found = list(_BY_KIND.get(field.kind, _plainly)(view, field, at, base_mm))
    return Expectation((*found, (0.03, _anywhere(field))))


def _anywhere(field: Field) -> Part:
    low, high = field.low, field.high
    most = max(abs(low or 0.0), abs(high or 0.0)) or 1e6
    least = low if low is not None and low > 0 else most * 1e-3
    return Anywhere(min(least, most * 0.5), most)


def _elsewhere(view: View, field: Field, at: Mapping[str, Spot]) -> dict[Any, float]:
    """The field's values at the other places."""
    here = place(at)
    found = view.all(field.key).items()
    return {w: float(v.value) for w, v in found if w != here and isinstance(v.value, (int, float))}


def _reading(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    """A worn bore's reading: as the others make it likely, or as wear over any of the sizes it may have had."""
    base = base_mm if base_mm is not None else zero_mm(view)
    if base is None:
        return
    worn = worn_bores(view)
    here = slips.Cell(int(at["cylinder"]), int(at["depth"]), str(at["axis"]), 0.0)
    made = _unworn_mm(view, [w.unworn.mm for w in worn.values()], base)
    cells = [slips.Cell(w.cylinder, c.depth, c.axis, c.d_mm - made) for w in worn.values() for c in w.cells]
    if sum(c[:3] != here[:3] for c in cells) >= 2:
        unworn = made - base
        level, spread = slips.expected(cells, here)
        yield 0.7, Wear(unworn, level, max(spread, 0.4))
        yield 0.2, Wear(unworn, _WEAR, _WEAR_SPREAD)
    known = (view.number(bores.UNWORN, cylinder=here.cylinder), view.number(bores.LAST_SIZE), view.nominal_mm, base)
    for size in dict.fromkeys(s for s in known if s is not None):
        yield 0.1, Wear(size - base, _WEAR, _WEAR_SPREAD)


def _unworn_mm(view: View, read_mm: list[float], base_mm: float) -> float:
    """What the bores measured before they wore: the middle one as read, never far below nominal size and gauge zero.

    One slipped reading, smaller than any bore, must not make all others look worn.
    """
    least = min(size for size in (view.nominal_mm, base_mm) if size is not None) - 0.03
    return max(median(read_mm), least) if read_mm else base_mm


def _final_reading(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    """A finished bore's reading: the size it was to be finished to, and what the others read."""
    base = base_mm if base_mm is not None else view.number(final.ZERO)
    wanted = finished_mm(view, int(at.get("cylinder", 1)))
    if base is not None and wanted is not None:
        yield 0.6, Near(wanted - base, 0.015)
        yield 0.2, Near(wanted - base, 0.06)
    others = list(_elsewhere(view, field, at).values())
    if others:
        yield 0.3, Near(sum(others) / len(others), spread_of(others, 0.012))
    if wanted is None and not others:
        yield 0.3, Near(0.0, 0.03)


def _size(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    """A diameter: its own default, the same of the other cylinders, and the sizes a bore of this job has or comes to."""
    yield from _own(view, field, at)
    low, high = field.low or 0.0, field.high or 1e9
    if low < _LEAST_BORE_MM:
        return
    for weight, size, spread in _bore_sizes(view, at):
        if low <= size <= high:
            yield weight, Near(size, spread)


def _bore_sizes(view: View, at: Mapping[str, Spot]) -> Iterator[tuple[float, float, float]]:
    cylinder = int(at.get("cylinder", 1))
    nominal = view.nominal_mm
    if nominal is not None:
        yield 0.2, nominal, 0.02
        yield 0.3, nominal + 0.4, 0.4
    for size in (zero_mm(view), view.number(bores.LAST_SIZE), view.number(final.ZERO)):
        if size is not None and size != nominal:
            yield 0.1, size, 0.05
    if nominal is None:
        return
    wanted = target(view, cylinder)
    for size in (wanted.finished_mm, wanted.bored_mm, wanted.bar_mm, piston_mm(view, cylinder)):
        if size is not None:
            yield 0.2, size, 0.03
    worn = worn_bores(view).get(cylinder)
    if worn is not None:
        yield 0.1, worn.worst.d_mm, 0.05


def _temperature(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    """A temperature: the air's, or its own default, and others of the job."""
    usual = _usual_temperature(field)
    yield 0.7, usual
    if isinstance(usual, Near) and usual.mean == _AIR_C:
        for other in (bores.BLOCK_C, bores.ZERO_C):
            got = view.get(other)
            if got.entered and other.key != field.key:
                yield 0.3, Near(float(got.value), 6.0)
    for value in _elsewhere(view, field, at).values():
        yield 0.2, Near(value, 8.0)


def _usual_temperature(field: Field) -> Part:
    low, high, usual = field.low or 0.0, field.high or 500.0, field.default
    if isinstance(usual, (int, float)):
        off = abs(usual - 20.0)
        return Near(_AIR_C, _AIR_SPREAD) if off < 5.0 else Near(float(usual), 0.3 * off)
    if low > -40 and high <= 120:  # a block at work
        return Near(_AIR_C + 5.0, 1.5 * _AIR_SPREAD)
    return Between(low, high)


def _clearance(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    nominal = view.nominal_mm
    if nominal is not None:
        usual = sizing.default_clearance(nominal, view.choice(sizes.ALLOY), duty(view), view.choice(sizes.COOLING)).mm
        yield 1.0, Ratio(usual, 0.5)


def _depth(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    yield 0.5, Near(first_depth_mm(view.number(bores.RING_TOP)), 6.0)
    yield 0.5, Between(2.0, bore_length_mm(view))


def _ring_bottom(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    yield 1.0, Between(0.4 * bore_length_mm(view), bore_length_mm(view))


def _ring_top(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    yield 1.0, Ratio(11.0, 0.4)


def _spacing(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    if view.nominal_mm is not None:
        yield 1.0, Ratio(1.15 * view.nominal_mm, 0.12)


def _own(view: View, field: Field, at: Mapping[str, Spot]) -> _Weighted:
    """A field's own default, and its values at other places."""
    default, others = field.default, list(_elsewhere(view, field, at).values())
    signed = KINDS[field.kind].signed or (field.low or 0.0) < 0
    if isinstance(default, (int, float)) and default > 0 and not signed:
        yield 0.5, Ratio(float(default), 0.4 if field.kind == "size" else 1.1)
    if others and (signed or field.kind in ("size", "place")):
        usual = 0.08 if field.kind == "size" else max(0.02, 0.3 * max(map(abs, others)))
        yield 0.6, Near(sum(others) / len(others), spread_of(others, usual))
    elif others:
        yield from ((0.2, Ratio(abs(value) or 1e-6, 0.5)) for value in others[-4:])


def _division(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    """One division of a gauge, or half of one: those that are made, and any other."""
    for made in _DIVISIONS_MM:
        yield 1.0 / len(_DIVISIONS_MM), Ratio(made, 0.05)
    yield 0.2, Ratio(0.006, 1.2)


def _ring_gap(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    """A ring's gap, or the maker's limits of it: about what is usual for this ring in the bore it goes into."""
    yield from _own(view, field, at)
    bore = finished_mm(view, int(at.get("cylinder", 1))) or view.nominal_mm
    role = next((role for n, _, role in rings_of(view) if n == at.get("ring")), None)
    if bore is None or role is None:
        return
    usual = rings.limits(bore, role, ring_duty(view))
    if field.key == ring_fields.WIDEST.key:
        yield 1.0, Ratio(usual.widest_mm, 0.5)
    else:
        yield 1.0, Ratio(1.15 * usual.least_mm, 0.5)


def _swept(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    """An indicator's reading on the spindle: tenths of a millimetre from its zero, and about what the others read."""
    others = list(_elsewhere(view, field, at).values())
    if others:
        yield 0.6, Near(sum(others) / len(others), spread_of(others, _SWEPT_MM))
    yield 0.6, Near(0.0, _SWEPT_MM)
    yield 0.2, Near(0.0, _SWEPT_FAR_MM)


def _swept_gap(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    """From the spindle to the wall of a bore that it stands in."""
    yield from _own(view, field, at)
    spindle = view.number(sweep.SPINDLE)
    if view.nominal_mm is not None and spindle is not None:
        yield 1.0, Near((view.nominal_mm - spindle) / 2, 0.6)


def _wall(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    """A wall, or a piece the gauge is tried on: what it was found or is known to be elsewhere, and what walls are."""
    yield from _own(view, field, at)
    known = view.number(walls.KNOWN, **at) if field.key == walls.SHOWN.key else None
    if known is not None:
        yield 1.0, Ratio(known, 0.15)
    yield 0.4, Ratio(_WALL_MM, _WALL_SPREAD if field.key == walls.READING.key else 2 * _WALL_SPREAD)


def _chamfer_width(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    yield from _own(view, field, at)
    yield 1.0, Ratio(view.number(chamfer.WIDTH), 0.4)


def _chamfer_stopped(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    """The dial where the tool was stopped: as deep under its first touch as the width wanted makes it."""
    yield from _own(view, field, at)
    touch = view.number(chamfer.TOUCH, **at)
    if touch is not None:
        depth = view.number(chamfer.WIDTH) / math.tan(math.radians(view.number(chamfer.ANGLE)))
        yield 1.0, Near(touch + depth, 0.5 * depth)


def _on_block(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    """A place on the block or under the machine's base: anywhere from end to end, and from side to side."""
    wide = view.nominal_mm or 100.0
    along = max(1.3 * wide * max(1, len(view.cylinders)) + 150.0, _DECK_MM)
    across = wide + 60.0
    low, high = {
        face.X.key: (0.0, along),
        face.FIRST.key: (0.0, 2.0 * wide),
        face.Y.key: (-across, across),
        face.FOOT_X.key: (-400.0, 400.0),
        face.FOOT_Y.key: (-200.0, 200.0),
    }[_FIRST_BANKS.get(field.key, field.key)]
    yield 1.0, Between(low, high)
    others = list(_elsewhere(view, field, at).values())
    if field.key in _ALONG and not others:  # the first place is near the front edge
        yield 3.0, Between(0.0, _FRONT_MM)
    for other in others[-4:]:  # places are measured in rows, across and along
        yield 0.5, Near(other, _ROW_MM)


def _crown(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    """The oversize stamped on old pistons: what the last rebore makes it, and any that pistons come in."""
    last, nominal = view.number(bores.LAST_SIZE), view.nominal_mm
    if last is not None and nominal is not None:
        yield 1.0, Near(last - nominal, 0.02)
    for step in (0.0, *INCH_STEPS_MM, *METRIC_STEPS_MM):
        yield 0.1, Near(step, 0.01)


def _plainly(view: View, field: Field, at: Mapping[str, Spot], base_mm: float | None) -> _Weighted:
    yield from _own(view, field, at)


_Weigher = Callable[[View, Field, Mapping[str, Spot], float | None], _Weighted]
_SPECIAL: Mapping[str, _Weigher] = {
    bores.DIVISION.key: _division,
    final.DIVISION.key: _division,
    bores.READING.key: _reading,
    final.READING.key: _final_reading,
    final.AGAIN.key: _final_reading,
    sizes.CLEARANCE.key: _clearance,
    bores.DEPTH.key: _depth,
    bores.RING_TOP.key: _ring_top,
    bores.RING_BOTTOM.key: _ring_bottom,
    bores.SPACING.key: _spacing,
    bores.CROWN.key: _crown,
    **dict.fromkeys(
        (face.X.key, face.Y.key, face.FIRST.key, face.FOOT_X.key, face.FOOT_Y.key, *_FIRST_BANKS), _on_block
    ),
    ring_fields.GAP.key: _ring_gap,
    ring_fields.LEAST.key: _ring_gap,
    ring_fields.WIDEST.key: _ring_gap,
    sweep.READING.key: _swept,
    sweep.GAP.key: _swept_gap,
    walls.READING.key: _wall,
    walls.KNOWN.key: _wall,
    walls.SHOWN.key: _wall,
    chamfer.MEASURED.key: _chamfer_width,
    chamfer.STOPPED.key: _chamfer_stopped,
}
_BY_KIND: Mapping[str, _Weigher] = {"size": _size, "temperature": _temperature}
