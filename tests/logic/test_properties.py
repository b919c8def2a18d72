"""What must hold of the whole chain from what is typed to what is answered, whatever the job.

The unit typed changes nothing; a change too small to measure changes nothing that could
be seen; and knowing more surely never makes a true clean-up look less sure. The jobs are
made up at random (fixed seeds) and go through every step.
"""

import math
from zlib import crc32

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from logic.result import Result
from logic.say import KINDS, Qty, Style
from logic.units import convert, label, parse, unit_shown
from store.documents import Reading
from store.sheets import all_sheets, bores, oversize, sizes
from tests.store.making import Making, filled, square_face

IN = 25.4
SEEDS = (3, 11, 20, 34, 47, 58)


def fields():
    return {f.key: f for s in all_sheets() for f in s.fields.values()}


def remade(job, change):
    """The same job, each number put through ``change(field, value)``, which gives a value or an Entered."""
    known = fields()
    out = Making()
    out.header = job.header
    for e in job.entries:
        if not isinstance(e, Reading):
            out.entries.append(e)
            continue
        got = change(known[e.what], e.typed.value)
        value = got if isinstance(got, (int, float)) else got.value
        out.entries.append(e.model_copy(update={"typed": e.typed.model_copy(update={"value": value})}))
    return out


def answers(view):
    """Every result of every step, by step and key."""
    return {(s.key, r.key): r for s in all_sheets() for r in s.work(view).results}


def numbers(result: Result):
    """The figures of a result by name, each with the scale on which a difference in it would be seen."""
    if result.value is not None:
        yield "value", result.value
    for f in result.figures:
        yield f.key, f.qty
    if result.confidence is not None:
        yield "confidence", Qty(result.confidence, "percent")


def alike(first, second, rel, chance):
    """Two sets of answers say the same, give or take ``rel`` of a figure and ``chance`` of a probability."""
    assert first.keys() == second.keys()
    for key, a in first.items():
        b = second[key]
        assert a.verdict == b.verdict, (key, str(a.line), str(b.line))
        assert a.line.template == b.line.template, key
        mine, theirs = list(numbers(a)), list(numbers(b))
        assert len(mine) == len(theirs), key
        for (name, qty), (_, other) in zip(mine, theirs, strict=False):
            slack = chance if qty.kind == "percent" else rel * abs(qty.value) + 1e-5
            assert other.value == pytest.approx(qty.value, abs=slack), (key, name, str(a.line))
            if qty.u is not None:
                assert other.u == pytest.approx(qty.u, rel=1e-3, abs=1e-6), (key, name)


# -- the unit typed -------------------------------------------------------------------------
def typed_as(length, temperature, named):
    """What a person of one system types for a value, read back by the number pad's own parser."""

    def change(f, value):
        unit = unit_shown(f.kind, Style(length, temperature))
        shown = convert(value, KINDS[f.kind].unit, unit)
        text = f"{shown:.13g}" + (f" {label(unit)}" if named else "")
        return parse(text, f, length_unit=length, temperature_unit=temperature)

    return change


@pytest.mark.parametrize("seed", SEEDS)
def test_results_do_not_change_with_the_unit_typed(seed):
    job = filled(seed, 0.9, True, decided=0.762)
    as_is = answers(job.view())
    assert len({step for step, _ in as_is}) >= 10  # the job reaches most steps
    inch = answers(remade(job, typed_as("in", "F", True)).view())
    metric = answers(remade(job, typed_as("mm", "C", True)).view())
    alike(inch, metric, 1e-6, 1e-6)
    alike(as_is, metric, 1e-6, 1e-6)


@pytest.mark.parametrize(
    "texts",
    [
        (
            ("12.5", "in"),
            ("0.3175", "mm"),
            ("12.5 thou", "mm"),
            ("125 tenths", "in"),
            ("317.5 um", "in"),
            ("0,3175 mm", "in"),
        ),
        (("3.03", "in"), ("76.962", "mm"), ("76.962 mm", "in"), ("3.03 in", "mm"), ("3 3/100", "in")),
    ],
)
def test_one_size_said_in_different_ways_gives_one_verdict(texts):
    def verdict(text, unit):
        made = Making(nominal=3.0 * IN, cylinders=1)
        made.put(bores.READING, 0.3175, cylinder=1, depth=1, axis="thrust")
        reading = len(texts) == 6
        f = bores.READING if reading else sizes.PISTON
        made.typed(
            f, parse(text, f, length_unit=unit), cylinder=1, **({"depth": 2, "axis": "thrust"} if reading else {})
        )
        return answers(made.view())

    first = verdict(*texts[0])
    for other in texts[1:]:
        alike(first, verdict(*other), 1e-9, 1e-9)


# -- small changes ---------------------------------------------------------------------------
@pytest.mark.parametrize("seed", SEEDS)
def test_a_millionth_of_a_change_is_not_seen_in_any_answer(seed):
    """Every number moved by a millionth of itself, up or down: far below any gauge, so below every figure shown."""
    job = filled(seed, 0.9, True, decided=0.762)
    before = answers(job.view())

    def nudge(f, value):
        if f.kind == "count":
            return value
        share = 1e-9 if f.kind == "size" else 1e-6
        moved = value * (1 + share * (1 if crc32(f"{f.key}{seed}".encode()) % 2 else -1))
        return min(max(moved, f.low), f.high)

    alike(before, answers(remade(job, nudge).view()), 2e-4, 2e-3)


# -- surer is never worse -----------------------------------------------------------------------
thou = st.floats(0.0, 14.0).map(lambda t: t * 0.0254)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(thou, thou, thou, thou), min_size=1, max_size=3),
    st.sampled_from([bores.DIVISION, bores.REPEAT, bores.MASTER_U, bores.BLOCK_U, bores.CENTRING, oversize.BORED_U]),
    st.floats(0.05, 0.95),
)
def test_a_surer_measurement_never_lowers_confidence_in_a_true_clean_up(grid, field, factor):
    # a face that nobody measured may put the bar anywhere: then no size is beyond all that could be needed
    made = square_face(Making(nominal=3.0 * IN, cylinders=len(grid)))
    # nor may wear above the first reading hide: a surer gauge may well show that it fades faster, hence is more up there
    made.put(bores.RING_TOP, 12.0)
    made.put(bores.DEPTH, 12.0, depth=1)
    for c, (a, b, d, e) in enumerate(grid, 1):
        for depth, axis, value in ((1, "thrust", a), (1, "crank", b), (2, "thrust", d / 2), (2, "crank", e / 2)):
            made.put(bores.READING, value, cylinder=c, depth=depth, axis=axis)
    loose = oversize.choice(made.view())
    made.put(field, max(field.low, field.default * factor))
    firm = oversize.choice(made.view())
    for before, after in zip(loose.steps, firm.steps, strict=False):
        # truly clean: the bored size is beyond all that the readings as they stand could need
        if before.bored_mm >= max(c.high_mm for c in loose.cleanups):
            # what a bar off centre adds is kept in a few parts, and so the chances to some ten-thousandths
            assert after.probability >= before.probability - 5e-4
            for (_, p), (_, q) in zip(before.chances, after.chances, strict=False):
                assert q >= p - 1e-4
        assert 0 <= after.probability <= 1


@settings(max_examples=25, deadline=None)
@given(st.floats(8.0, 60.0), st.floats(2.0, 20.0), st.floats(0.1, 0.9))
def test_surer_temperatures_make_the_size_surer(block_c, u_c, factor):
    def u(uncertainty):
        made = Making(nominal=3.0 * IN, cylinders=1)
        made.put(bores.READING, 0.2, cylinder=1, depth=1, axis="thrust")
        made.put(bores.BLOCK_C, block_c)
        made.put(bores.BLOCK_U, uncertainty)
        return bores.budget(made.view()).u

    assume(u_c * factor >= bores.BLOCK_U.low)
    assert u(u_c * factor) < u(u_c)
    # and it is the handbook's product: D alpha u(T), combined with the rest
    alpha = bores.block_expansion_per_k(Making(nominal=76.2).view())
    gain = u(u_c) ** 2 - u(u_c * factor) ** 2
    assert math.sqrt(gain) == pytest.approx(3.0 * IN * alpha * u_c * math.sqrt(1 - factor**2), rel=0.6)
