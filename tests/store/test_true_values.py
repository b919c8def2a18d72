"""A value that the job's own plan makes likely is taken or asked about in every form a person types it, never refused.

The job is made up: nominal bore 3.600 in, gauge zeroed on a 3.600 in ring, finished to 3.640 in; and 92 mm to 93 mm.
1 in = 25.4 mm (NIST SP 811). What counts as a form is common practice, no source.
"""

import pytest

from logic.meaning import UnclearError
from logic.units import EntryError
from store.fields import bores, chamfer, cut, face, final, hone, rings, sizes, sweep, walls
from store.meaning import understand
from tests.store.making import Making

IN = 25.4
THOU = 0.0254
CELL = {"cylinder": 1, "depth": 1, "axis": "thrust"}


def job(metric):
    """A job on the way from its worn bores to the rings, the gauge zeroed at the nominal size."""
    nominal, step = (92.0, 1.0) if metric else (3.6 * IN, 1.016)
    made = Making(nominal=nominal, cylinders=2)
    for c in (1, 2):
        for depth, wear in ((1, 0.3), (2, 0.12), (3, 0.01)):
            made.put(bores.READING, wear + 0.01 * c, cylinder=c, depth=depth, axis="thrust")
    made.decide("oversize", "step", number=step)
    made.put(final.ZERO, nominal)
    made.put(chamfer.TOUCH, 1.27, cylinder=1)
    made.put(face.HEIGHT, 229.2, point=1)
    made.put(walls.KNOWN, 8.0, piece=1)
    made.put(sweep.SPINDLE, 50.0)
    return made


#: Field, place, what is true in the inch job and in the metric one, and whether it counts from the gauge's zero.
VALUES = [
    (bores.READING, {**CELL, "axis": "crank"}, 9.5 * THOU, 0.24, "dial"),
    (final.READING, CELL, 40.6 * THOU, 1.012, "dial"),
    (final.AGAIN, {**CELL, "check": 1}, 40.2 * THOU, 1.006, "dial"),
    (hone.SIZE, {"cylinder": 1, "check": 1, "depth": 1}, 3.6388 * IN, 92.974, "over"),
    (hone.ACROSS, {"cylinder": 1, "check": 1, "depth": 1}, 3.6385 * IN, 92.968, "over"),
    (sizes.PISTON, {"cylinder": 1}, 3.6375 * IN, 92.94, "size"),
    (cut.MEASURED, {"cylinder": 1, "pass": 1}, 3.6370 * IN, 92.924, "size"),
    (rings.READ_IN, {"cylinder": 1}, 3.6402 * IN, 93.004, "size"),
    (sweep.ZERO, {"cylinder": 1}, 3.6012 * IN, 92.031, "size"),
    (rings.GAP, {"cylinder": 1, "ring": 1}, 17.0 * THOU, 0.43, "small"),
    (rings.GAP, {"cylinder": 2, "ring": 3}, 24.0 * THOU, 0.61, "small"),
    (rings.LEAST, {"ring": 1}, 14.0 * THOU, 0.35, "small"),
    (rings.WIDEST, {"ring": 1}, 40.0 * THOU, 1.02, "small"),
    (sweep.READING, {"cylinder": 1, "depth": 1, "angle": 90}, 6.0 * THOU, 0.15, "dial off zero"),
    (sweep.READING, {"cylinder": 1, "depth": 1, "angle": 180}, -4.0 * THOU, -0.10, "dial off zero"),
    (sweep.GAP, {"cylinder": 1}, 0.818 * IN, 21.02, "length"),
    (chamfer.MEASURED, {"cylinder": 1}, 0.030 * IN, 0.76, "length"),
    (chamfer.STOPPED, {"cylinder": 1}, 0.080 * IN, 2.03, "length"),
    (walls.READING, {"cylinder": 1, "angle": 90}, 0.190 * IN, 4.83, "length"),
    (walls.KNOWN, {"piece": 2}, 0.315 * IN, 8.0, "length"),
    (walls.SHOWN, {"piece": 1}, 0.320 * IN, 8.13, "length"),
    (face.HEIGHT, {"point": 2}, 9.0240 * IN, 229.21, "length"),
]


def as_deviation(value):
    """A small length as a dial, a feeler or a rule gives it: in thou, tenths, inches, millimetres, hundredths; text and the last digit's worth."""
    for digits, unit, name in ((1, THOU, "thou"), (0, THOU / 10, "tenths"), (4, IN, "in"), (3, 1.0, "mm")):
        yield f"{value / unit:.{digits}f}", unit / 10**digits, name
    yield f"{value:.2f}", 0.01, "mm"
    yield f"{value / THOU:.0f}", THOU, "thou"
    yield f"{value * 100:.0f}", 0.01, "hundredths"


def as_size(value):
    yield f"{value / IN:.4f}", IN / 1e4, "in"
    yield f"{value / IN:.3f}", IN / 1e3, "in"
    yield f"{value:.3f}", 1e-3, "mm"
    yield f"{value:.2f}", 1e-2, "mm"


def forms(value, base, way):
    """Every way to type a value, bare and with its unit, with a point and with a comma: text, and how far off it may be.

    Tenths and hundredths without their unit are whole thou or millimetres just as well: None, whatever they are taken as.
    """
    small, whole = list(as_deviation(value)), list(as_size(value))
    if way == "dial":
        told = [*small, *((f"+{t}", step, unit) for t, step, unit in small), *as_size(base + value)]
    elif way == "over":
        told = [*whole, *((f"+{t}", step, unit) for t, step, unit in as_deviation(value - base))]
    elif way == "length":
        told = [*whole, (f"{value / THOU:.0f}", THOU, "thou")] if value < 10 else whole
    else:
        told = whole if way == "size" else small
    for text, step, unit in told:
        yield text, None if unit in ("tenths", "hundredths") else 0.51 * step + 1e-9
        for written in dict.fromkeys((f"{text} {unit}", f"{text.replace('.', ',')} {unit}")):
            yield written, 0.51 * step + 1e-9


def answered(text, field, at, made, base, unit):
    """What a text is taken as: (values accepted or offered, whether it was asked), or the refusal's sentence."""
    try:
        got = understand(text, field, made.view(), at, base_mm=base, length_unit=unit)
    except UnclearError as asked:
        return [c.entered.value for c in asked.choices], True
    except EntryError as refused:
        return str(refused), None
    return [got.value], False


@pytest.mark.parametrize("metric", [False, True], ids=["inch job", "metric job"])
@pytest.mark.parametrize(("field", "at", "inch", "mm", "way"), VALUES)
def test_a_true_value_is_taken_or_asked_about_in_every_form(field, at, inch, mm, way, metric):
    made, true = job(metric), mm if metric else inch
    base = (92.0 if metric else 3.6 * IN) if way in ("dial", "over") else None
    wrong = []
    for unit in ("in", "mm"):
        for text, off in forms(true, base, way):
            values, asked = answered(text, field, at, made, base, unit)
            meant = off is None or (asked is not None and any(abs(v - true) <= off for v in values))
            if asked is None or not meant:
                wrong.append((unit, text, values))
    assert not wrong


@pytest.mark.parametrize(("text", "asked"), [("+40.6", False), ("3.6406 in", False), ("3.6406", True)])
def test_a_finished_bore_on_the_ring_it_was_worn_from(text, asked):
    """3.6406 in less the ring's 3.6000 in is 40.6 thou."""
    values, was_asked = answered(text, final.READING, CELL, job(False), 3.6 * IN, "in")
    assert was_asked == asked
    assert min(abs(v - 40.6 * THOU) for v in values) < 1e-9


@pytest.mark.parametrize(("text", "mm"), [("3.9402 in", 0.3402 * IN), ("+340.2", 340.2 * THOU)])
def test_a_head_that_shows_whole_sizes_may_be_set_on_a_ring_far_off(text, mm):
    """Set on a 3.600 in ring, the finished size is 3.940 in: the difference alone refuses nothing."""
    made = Making(nominal=3.9 * IN, cylinders=1)
    made.decide("oversize", "step", number=1.016)
    made.put(final.ZERO, 3.6 * IN)
    values, asked = answered(text, final.READING, CELL, made, 3.6 * IN, "in")
    assert asked is not None and min(abs(v - mm) for v in values) < 1e-6
