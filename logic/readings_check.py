"""What the readings of worn bores say against each other, and against the sizes they count from.

Every check here compares two things that were entered, by :mod:`logic.doubt` where both are
uncertain sizes, by geometry where one cannot be smaller than the other, and by
:mod:`logic.slips` where a reading is judged by those around it.

Common practice, no source: how far an unworn bore may lie from its nominal size, how warm
a block is where engines are bored, and that a hand types no more decimals than the gauge
shows.
"""

from __future__ import annotations

import itertools
import math
import statistics
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from .bore import Unworn, WornBore, axis_name
from .doubt import Doubt, Place
from .numerals import typed_number
from .say import AsTyped, L, Line, Qty
from .slips import Cell, Suspect, suspects
from .steps import INCH_STEPS_MM, METRIC_STEPS_MM

__all__ = [
    "Typing",
    "check_alike",
    "check_copies",
    "check_division",
    "check_nominal",
    "check_page",
    "check_readings",
    "check_reference",
    "check_temperatures",
    "check_unworn",
    "spot",
]

#: An unworn bore lies within this of its nominal size, or of the size it was last bored to: made and lightly honed; mm.
MADE_WITHIN_MM = 0.04
#: So much wear may be left in the smallest reading, where none was made below ring travel; mm.
LEFT_IN_SMALLEST_MM = 0.03
#: Wear beyond this, on diameter, is rarer than a slip; mm.
RARE_WEAR_MM = 1.0
#: The same where nothing but one reading is known, so that an earlier rebore is the likelier reason.
QUICK_WEAR_MM = 0.6
#: Block temperature where engines are bored: mean and standard deviation, °C.
USUAL_C, USUAL_SPREAD_C = 17.0, 10.0
#: Block and master are asked about when they lie further apart than this, °C.
MOST_APART_C = 18.0
#: Odds from which the other temperature scale is asked about.
_SCALE_ODDS = 20.0


@dataclass(frozen=True, slots=True)
class Typing:
    """How a reading was typed: its text, and the unit it was read in, in mm."""

    text: str
    unit_mm: float


def spot(key: str, /, **at: int | str) -> Place:
    """A field and a place, as :class:`logic.doubt.Doubt` names them."""
    return key, tuple(sorted(at.items()))


def _cell_place(key: str, cylinder: int, depth: int, axis: str) -> Place:
    return spot(key, cylinder=cylinder, depth=depth, axis=axis)


# -- the size everything counts from ----------------------------------------------------------------
def check_reference(
    worn: Mapping[int, WornBore],
    *,
    nominal_mm: float,
    last_mm: float | None,
    u_common_mm: float,
    about: Sequence[Place],
) -> Iterator[Doubt]:
    """The unworn bores, as read, against the nominal size or the size the engine was last bored to.

    A gauge zeroed on another ring, or one turn out, moves every reading alike; so does the
    nominal size of another engine.
    """
    read = _unworn_read(worn)
    if not read:
        return
    if last_mm is not None and not _is_oversize(last_mm - nominal_mm):
        yield _no_oversize(last_mm, nominal_mm, about)
        return
    made = nominal_mm if last_mm is None else last_mm
    middle = statistics.median(u.mm for u in read)
    room = LEFT_IN_SMALLEST_MM if "smallest reading" in {u.source for u in read} else 0.0
    off, slack = middle - made, MADE_WITHIN_MM + 3 * u_common_mm
    if not -slack <= off <= slack + room:
        yield _off_reference(middle, made, about, bored_before=last_mm is not None)


def _unworn_read(worn: Mapping[int, WornBore]) -> list[Unworn]:
    """The unworn size of each bore in which it was read, or stated."""
    return [b.unworn for b in worn.values() if b.measured and b.unworn.source != "nominal"]


def _off_reference(unworn_mm: float, made_mm: float, about: Sequence[Place], *, bored_before: bool) -> Doubt:
    gap = Qty(abs(unworn_mm - made_mm), "diff")
    said = {"unworn": Qty(unworn_mm, "size"), "made": Qty(made_mm, "size"), "gap": gap}
    if bored_before:
        line = L("The unworn bore reads {unworn}, but it was last bored to {made}: {gap} apart.", **said)
        settle = L("Check the ring the gauge was zeroed on, and measure the last rebore's size below ring travel.")
    else:
        line = L("The unworn bore reads {unworn}, the nominal bore is {made}: {gap} apart.", **said)
        settle = L(
            "Check the ring the gauge was zeroed on and the nominal bore. If the engine was bored before, enter that size."
        )
    return Doubt(key="reference", line=line, settle=settle, about=tuple(about))


def _no_oversize(last_mm: float, nominal_mm: float, about: Sequence[Place]) -> Doubt:
    return Doubt(
        key="reference",
        line=L(
            "Last bored to {last}, nominal {nominal}: {gap} is no oversize pistons come in.",
            last=Qty(last_mm, "size"),
            nominal=Qty(nominal_mm, "size"),
            gap=Qty(last_mm - nominal_mm, "step"),
        ),
        settle=L("Check the nominal bore against the papers or the piston crowns."),
        about=tuple(about),
    )


#: Steps between two sizes of pistons, mm: what a nominal bore may be taken wrong by, and still look like one.
_STEPS_MM = tuple(sorted({0.0, *INCH_STEPS_MM, *METRIC_STEPS_MM}))


def check_nominal(
    nominal_mm: float, last_mm: float | None, crown_mm: float | None, *, about: Sequence[Place]
) -> Iterator[Doubt]:
    """The nominal bore of an engine that was bored before, where its bores cannot tell it: the old pistons' stamp can.

    ``last_mm`` is the size it was last bored to, ``crown_mm`` the oversize stamped on the old pistons.
    Without the stamp it is asked for only where another nominal bore is as likely: the size it was last
    bored to taken for the nominal one, or an odd size beside a round one that pistons fit as well.
    """
    if last_mm is None:
        return
    said = {"last": Qty(last_mm, "size"), "nominal": Qty(nominal_mm, "size")}
    if crown_mm is not None:
        if abs(last_mm - nominal_mm - crown_mm) > MADE_WITHIN_MM:
            yield Doubt(
                key="nominal",
                line=L(
                    "Last bored to {last}, nominal {nominal}, but the old pistons are stamped {crown}.",
                    crown=Qty(crown_mm, "step"),
                    **said,
                ),
                settle=L("Check the nominal bore against the papers, and read the stamp again."),
                about=tuple(about),
            )
        return
    read_stamp = L("Read the oversize stamped on an old piston's crown, and enter it.")
    if abs(last_mm - nominal_mm) <= MADE_WITHIN_MM:
        line = L("Last bored to {last}, and that is the nominal bore as well: which of them is it?", **said)
        yield Doubt(key="nominal", line=line, settle=read_stamp, about=tuple(about))
        return
    other = _rounder(nominal_mm, last_mm)
    if other is not None:
        yield Doubt(
            key="nominal",
            line=L(
                "Last bored to {last}: a nominal bore of {other} fits that as well as {nominal}.",
                other=Qty(other, "size"),
                **said,
            ),
            settle=read_stamp,
            about=tuple(about),
            likely=Qty(other, "size"),
        )


def _rounder(nominal_mm: float, last_mm: float) -> float | None:
    """A nominal bore much rounder than the one stated from which the last rebore is an oversize too."""
    others = (last_mm - s for s in _STEPS_MM)
    rounder = [o for o in others if abs(o - nominal_mm) > MADE_WITHIN_MM and _round(o) >= _round(nominal_mm) + 2]
    return max(rounder, key=_round, default=None)


def _round(size_mm: float) -> int:
    """How round a size is, in millimetres or in inches: 3 for whole millimetres and eighths, 0 for none of those makers use."""
    inch = size_mm / 25.4
    rungs = ((3, 1.0, 0.125), (2, 0.5, 0.0625), (2, 0.5, 0.05), (1, 0.1, 0.01), (1, 0.1, 0.03125))
    return max((n for n, mm, part in rungs if _multiple(size_mm, mm) or _multiple(inch, part)), default=0)


def _multiple(value: float, of: float) -> bool:
    return abs(value / of - round(value / of)) * of < 0.0002


def _is_oversize(step_mm: float) -> bool:
    """Whether pistons come in this oversize: a tenth of the tables' steps or so apart, and not below the standard size."""
    steps = (0.0, *INCH_STEPS_MM, *METRIC_STEPS_MM, 1.25, 1.27, 2.0, 2.032)
    return any(abs(step_mm - s) <= MADE_WITHIN_MM for s in steps)


def check_unworn(b: WornBore, *, key: str, reading: str) -> Iterator[Doubt]:
    """A stated unworn size against the readings: no bore can be smaller than it was before it wore."""
    if b.stated_unworn_mm is None or not b.measured:
        return
    about = (spot(key, cylinder=b.cylinder), _cell_place(reading, b.cylinder, b.smallest.depth, b.smallest.axis))
    u = math.hypot(b.u_mm, b.stated_u_mm, b.u_common_mm)
    said = {"n": b.cylinder, "stated": Qty(b.stated_unworn_mm, "size"), "read": Qty(b.smallest.d_mm, "size")}
    low = b.stated_unworn_mm - b.smallest.d_mm
    if low > 3.5 * u:
        yield Doubt(
            key=f"unworn.{b.cylinder}",
            line=L("Cylinder {n}: {read} was read, smaller than the unworn size {stated}.", **said),
            settle=L("Measure below ring travel again, and check where the unworn size comes from."),
            about=about,
        )
    elif -low > LEFT_IN_SMALLEST_MM + 3.5 * u and _reads_unworn(b):
        yield Doubt(
            key=f"unworn.{b.cylinder}",
            line=L("Cylinder {n}: the unworn size is {stated}, but no reading is below {read}.", **said),
            settle=L("Measure below ring travel again, and check where the unworn size comes from."),
            about=about,
        )


def _reads_unworn(b: WornBore) -> bool:
    return b.ring_bottom_mm is not None and any(c.depth_mm > b.ring_bottom_mm for c in b.cells)


# -- one reading against the others -----------------------------------------------------------------
def _cells(worn: Mapping[int, WornBore], typed: Mapping[tuple[int, int, str], Typing]) -> tuple[Cell, ...]:
    out = []
    for c, b in worn.items():
        for cell in b.cells:
            t = typed.get((c, cell.depth, cell.axis))
            out.append(
                Cell(
                    c,
                    cell.depth,
                    cell.axis,
                    cell.d_mm - _unworn(b),
                    "" if t is None else t.text,
                    0.0 if t is None else t.unit_mm,
                )
            )
    return tuple(out)


def _unworn(b: WornBore) -> float:
    """The unworn size that a reading is judged by: one reading far below all others does not set it."""
    if b.unworn.source != "smallest reading":
        return b.unworn.mm
    sizes = sorted(c.d_mm for c in b.cells)
    if len(sizes) > 2 and b.nominal_mm is not None and sizes[1] - sizes[0] > 0.1 and sizes[0] < b.nominal_mm - 0.05:
        return sizes[1]
    return sizes[0]


def check_readings(
    worn: Mapping[int, WornBore], typed: Mapping[tuple[int, int, str], Typing], *, key: str
) -> Iterator[Doubt]:
    """Readings that are likelier slips than what the gauge showed, and wear beyond what engines have."""
    if not worn:
        return
    u = max(b.u_mm for b in worn.values())
    for s in suspects(_cells(worn, typed), u):
        yield _suspect(worn[s.cell.cylinder], s, key)
    for n, b in worn.items():
        if b.wear_mm > RARE_WEAR_MM:
            yield Doubt(
                key=f"wear.{n}",
                line=L("Cylinder {n}: {wear} of wear is more than engines have.", n=n, wear=Qty(b.wear_mm, "diff")),
                settle=L("Check the readings' unit and the gauge's zero."),
                about=(_cell_place(key, n, b.worst.depth, b.worst.axis),),
            )


def check_quick(nominal_mm: float, worst_mm: float, unworn_mm: float | None) -> Iterator[Doubt]:
    """The quick check's two or three sizes against each other: wear beyond what engines have, no oversize."""
    if unworn_mm is not None and not _is_oversize(unworn_mm - nominal_mm):
        yield _off_reference(unworn_mm, nominal_mm, (), bored_before=False)
    wear = worst_mm - (nominal_mm if unworn_mm is None else unworn_mm)
    if wear > QUICK_WEAR_MM:
        yield Doubt(
            key="quick.wear",
            line=L("{wear} of wear is more than engines have.", wear=Qty(wear, "diff")),
            settle=L("Check both sizes and their units. If it was bored before, enter the unworn size."),
            about=(),
        )


def check_copies(
    worn: Mapping[int, WornBore], typed: Mapping[tuple[int, int, str], Typing], *, key: str
) -> Iterator[Doubt]:
    """Two bores with the same reading at every place: the same bore read twice, or a page copied."""
    texts = {n: _texts(b, typed) for n, b in worn.items()}
    for first, second in itertools.combinations(sorted(texts), 2):
        if texts[first] == texts[second] and _tells_bores_apart(worn[second], texts[second]):
            yield Doubt(
                key=f"copy.{first}.{second}",
                line=L("Cylinders {a} and {b} have the same reading at every place.", a=first, b=second),
                settle=L("Measure one place of cylinder {b} again.", b=second),
                about=tuple(_cell_place(key, second, c.depth, c.axis) for c in worn[second].cells),
            )


def _texts(b: WornBore, typed: Mapping[tuple[int, int, str], Typing]) -> tuple[str, ...]:
    """What was typed in a bore, place by place; empty where the text of one is not known."""
    places = [(b.cylinder, c.depth, c.axis) for c in b.cells]
    return tuple(typed[p].text.strip() for p in places) if all(p in typed for p in places) else ()


def _tells_bores_apart(b: WornBore, texts: Sequence[str]) -> bool:
    """Whether two bores would hardly ever read alike by chance: several places, and wear well above the readings' error."""
    worn = sum(c.d_mm - b.smallest.d_mm > 4 * b.u_mm for c in b.cells)
    return len(texts) >= 4 and worn >= 3 and len(set(texts)) >= 4


def _suspect(b: WornBore, s: Suspect, key: str) -> Doubt:
    c = s.cell
    cell = next(x for x in b.cells if (x.depth, x.axis) == (c.depth, c.axis))
    where = {"n": c.cylinder, "depth": Qty(cell.depth_mm, "place"), "axis": axis_name(c.axis)}
    read = Qty(cell.d_mm, "size")
    about = (_cell_place(key, c.cylinder, c.depth, c.axis),)
    doubt_key = f"reading.{c.cylinder}.{c.depth}.{c.axis}"
    if s.likely_mm is None:
        line = L("Cylinder {n}, {depth} down, {axis}: {read} does not fit the readings around it.", **where, read=read)
        return Doubt(key=doubt_key, line=line, settle=L("Measure there again."), about=about)
    meant = Qty(cell.d_mm + s.likely_mm, "size")
    line = L("Cylinder {n}, {depth} down, {axis}: {read}, or {meant}?", **where, read=read, meant=meant)
    return Doubt(key=doubt_key, line=line, settle=_KINDS[s.kind], about=about, likely=meant)


_KINDS: Mapping[str, Line] = {
    "sign": L("The sign may be the other one. Measure there again."),
    "digits swapped": L("Two digits may be swapped. Measure there again."),
    "digit repeated": L("A digit may have been struck twice. Measure there again."),
    "decimal point": L("The decimal point may be one place off. Measure there again."),
    "other unit": L("It may have been read in the other unit. Measure there again."),
    "turn of the dial": L("The dial may have gone one turn further. Measure there again."),
}


def check_division(
    typed: Mapping[tuple[int, int, str], Typing],
    *,
    division_mm: float,
    key: str,
    about: Place,
    name: str = "division",
) -> Iterator[Doubt]:
    """Readings typed to more decimals than the gauge shows: tenths typed as thou, or another gauge. ``name`` is the doubt's key."""
    for (cylinder, depth, axis), t in typed.items():
        got = typed_number(t.text)
        shown = "" if got is None else got.digits.partition(".")[2].rstrip("0")
        if not shown or not t.unit_mm:
            continue
        least = 10.0 ** -len(shown) * t.unit_mm
        if least < division_mm / 9.0 and least < 0.004:
            yield Doubt(
                key=name,
                line=L(
                    "“{text}” is finer than the gauge's division of {division}.",
                    text=AsTyped(t.text.strip()),
                    division=Qty(division_mm, "fine"),
                ),
                settle=L("Check the unit of the readings, or enter the gauge's division."),
                about=(_cell_place(key, cylinder, depth, axis), about),
            )
            return


def check_page(typed: Mapping[tuple[int, int, str], Typing], *, key: str) -> Iterator[Doubt]:
    """Two finished bores with the same text at every place: one of them was not read.

    Only where the texts differ enough down the bore that two bores would hardly ever read alike.
    """
    pages: dict[int, dict[tuple[int, str], str]] = {}
    for (cylinder, depth, axis), t in typed.items():
        pages.setdefault(cylinder, {})[depth, axis] = t.text.strip()
    for first, second in itertools.combinations(sorted(pages), 2):
        a, b = pages[first], pages[second]
        if a == b and len(a) >= 4 and len(set(a.values())) >= 4:
            yield Doubt(
                key=f"final.copy.{first}.{second}",
                line=L("Cylinders {a} and {b} have the same reading at every place.", a=first, b=second),
                settle=L("Measure one place of cylinder {b} again.", b=second),
                about=tuple(_cell_place(key, second, depth, axis) for depth, axis in b),
            )


#: So many readings of one bore never fall on one division of a gauge as fine as this, mm (common practice, no source).
_ALIKE_PLACES, _ALIKE_MM = 6, 0.0012


def _spread_by_bore(typed: Mapping[tuple[int, int, str], Typing]) -> dict[int, float]:
    """From the smallest to the largest reading of each bore, mm, where it has enough of them typed finely enough to tell."""
    bores: dict[int, list[float]] = {}
    for (cylinder, _, _), t in typed.items():
        got = typed_number(t.text)
        if got is not None and 10.0**-got.decimals * t.unit_mm <= _ALIKE_MM:
            bores.setdefault(cylinder, []).append(got.value * t.unit_mm)
    return {n: max(read) - min(read) for n, read in sorted(bores.items()) if len(read) >= _ALIKE_PLACES}


def check_alike(
    typed: Mapping[tuple[int, int, str], Typing], *, division_mm: float, key: str, about: Place
) -> Iterator[Doubt]:
    """Finished bores that read alike on a very fine gauge: hundredths typed as thousandths, or not read.

    A good gauge in a round bore moves by a division or two: one bore of several within a division is chance, two are
    not, nor is one in which nothing moved at all.
    """
    spreads = _spread_by_bore(typed)
    if division_mm > _ALIKE_MM:
        return
    close = [n for n, spread in spreads.items() if spread <= division_mm + 1e-9]
    for n in close:
        if len(close) >= min(2, len(spreads)) or spreads[n] < 0.5 * division_mm:
            yield Doubt(
                key=f"final.alike.{n}",
                line=L(
                    "Cylinder {n}: {k} readings within one division of {division} are closer than a gauge repeats.",
                    n=n,
                    k=Qty(sum(c == n for c, _, _ in typed), "count"),
                    division=Qty(division_mm, "fine"),
                ),
                settle=L("Check what one division of the dial is, and read one place again."),
                about=(spot(key, cylinder=n), about),
            )


# -- temperatures -------------------------------------------------------------------------------------
def _usual(c: float) -> float:
    z = (c - USUAL_C) / USUAL_SPREAD_C
    return math.exp(-0.5 * z * z) + 1e-12


def check_temperatures(
    block_c: float, master_c: float, *, block: Place, master: Place, name: str = ""
) -> Iterator[Doubt]:
    """A temperature in the other scale: 68 for 68 °F, or 20 for 20 °C where °F is typed; ``name`` tells steps apart."""
    of = f"temperature.{name}." if name else "temperature."
    for c, place, key in ((block_c, block, "block"), (master_c, master, "master")):
        for other in ((c - 32) / 1.8, c * 1.8 + 32):
            if _usual(other) / _usual(c) > _SCALE_ODDS:
                yield Doubt(
                    key=f"{of}{key}",
                    line=L("{read}, or {other}?", read=Qty(c, "temperature"), other=Qty(other, "temperature")),
                    settle=L("Check the thermometer's scale."),
                    about=(place,),
                    likely=Qty(other, "temperature"),
                )
                break
    if abs(block_c - master_c) > MOST_APART_C:
        yield Doubt(
            key=f"{of}apart",
            line=L(
                "Block at {block}, gauge zeroed at {master}: far apart.",
                block=Qty(block_c, "temperature"),
                master=Qty(master_c, "temperature"),
            ),
            settle=L("Check both. Let gauge and master lie by the block, then zero again."),
            about=(block, master),
        )
