"""What a number typed into a job was meant as, by what else the job holds. Sizes are made up."""

import random

import pytest

from logic.meaning import UnclearError
from logic.units import Entered
from store.facts.gauging import base_mm as zero_mm
from store.fields import bores, compression, cut, declared, face, final, sizes
from store.meaning import expected, understand
from tests.store.making import TYPED, Making, as_typed
from tests.store.test_every_field_counts import NOMINAL, whole


def job(cylinders=2, nominal=76.2):
    made = Making(nominal=nominal, cylinders=cylinders)
    made.put(bores.BLOCK_C, 20.0)
    return made


def full(wear=0.3, noise=0.003, cylinders=2):
    """A job with every reading in, worn to ``wear`` mm at the top."""
    made, rng = job(cylinders), random.Random(1)
    for c in range(1, cylinders + 1):
        for d, part in ((1, 1.0), (2, 0.35), (3, 0.0)):
            for axis, side in (("thrust", 1.0), ("crank", 0.5)):
                thou = (wear * part * side + rng.gauss(0, noise)) / 0.0254
                got = Entered(f"{thou:+.1f}", "thou", round(thou, 1) * 0.0254, "mm")
                made.typed(bores.READING, got, cylinder=c, depth=d, axis=axis)
    return made


AT = {"cylinder": 2, "depth": 1, "axis": "thrust"}


def meant(made, text, field=bores.READING, at=AT, base_mm=76.2, **style):
    return understand(text, field, made.view(), at, base_mm=base_mm, **style)


def choices(*args, **more):
    with pytest.raises(UnclearError) as found:
        meant(*args, **more)
    return {c.entered.typed_unit: c.entered.value for c in found.value.choices}


def test_neighbours_tell_thou_from_millimetres():
    assert choices(full(0.3), ".32")["mm"] == pytest.approx(0.32)
    assert meant(full(0.01), ".32").typed_unit == "thou"


def test_a_whole_size_is_asked_about_once_and_then_known():
    made = full()
    got = choices(made, "3.0118")
    assert got["in"] == pytest.approx(0.0118 * 25.4)
    with pytest.raises(UnclearError) as found:
        meant(made, "3.0118")
    whole = next(c.entered for c in found.value.choices if c.entered.typed_unit == "in")
    made.typed(bores.READING, whole, **AT)
    again = meant(made, "3.0061", at={"cylinder": 2, "depth": 1, "axis": "crank"})
    assert again.value == pytest.approx(0.0061 * 25.4)


def test_a_clearance_in_inches_is_not_millionths():
    got = choices(job(), ".002", sizes.CLEARANCE, {}, None)
    assert got["in"] == pytest.approx(0.0508)
    assert meant(job(), "2.0", sizes.CLEARANCE, {}, None).value == pytest.approx(0.0508)


def test_a_metric_clearance_in_millimetres_is_not_micrometres():
    got = choices(job(), "0.05", sizes.CLEARANCE, {}, None, length_unit="mm")
    assert got["mm"] == pytest.approx(0.05)
    assert meant(job(), "50", sizes.CLEARANCE, {}, None, length_unit="mm").value == pytest.approx(0.05)


def test_sixty_eight_is_hardly_celsius():
    assert choices(job(), "68", bores.BLOCK_C, {}, None)["degF"] == pytest.approx(20.0)
    assert meant(job(), "31", bores.BLOCK_C, {}, None).value == 31.0


def test_an_oven_is_warmer_than_a_block():
    """The field's own default makes a higher temperature likely."""
    hot = [f for f in declared().values() if f.kind == "temperature" and (f.default or 0) > 90]
    assert hot
    for f in hot:
        assert meant(job(), f"{f.default:.0f}", f, {}, None).value == pytest.approx(f.default)


def test_a_finished_bore_read_on_the_old_ring_is_what_the_plan_makes_likely():
    """A finished bore 1.016 mm over the ring the gauge is zeroed on."""
    made = full()
    made.decide("oversize", "step", number=1.016)
    made.put(final.ZERO, 76.2)
    at = {"cylinder": 1, "depth": 1, "axis": "thrust"}
    likely = expected(made.view(), final.READING, at, 76.2)
    assert likely.density(1.016) > 50 * likely.density(0.3)


def test_the_bored_size_of_the_plan_is_likely_before_the_cut():
    made = full()
    made.decide("oversize", "step", number=0.762)
    likely = expected(made.view(), cut.MEASURED, {"cylinder": 1, "pass": 1}, None)
    assert likely.density(76.9) > 10 * likely.density(86.9)


def test_a_field_without_any_expectation_is_read_as_before():
    assert meant(job(), "130", bores.LENGTH, {}, None, length_unit="mm").value == 130.0


@pytest.mark.parametrize("text", ["0", "1", "2", "3", "4", "5", "3.0", "12"])
def test_a_few_thou_are_not_the_whole_size_of_a_three_inch_bore(text):
    assert meant(full(0.12), text, at={"cylinder": 2, "depth": 2, "axis": "crank"}).typed_unit == "thou"


@pytest.mark.parametrize("metric", [False, True])
def test_no_value_of_a_whole_job_is_asked_about_needlessly(metric):
    """Every field that holds a length, a temperature, a count or a share, typed as people type it, one after another."""
    made, whole_job = Making(nominal=NOMINAL, cylinders=2), whole({}, ())
    known, seen, view = declared(), {}, None
    for entry in whole_job.entries:
        field = known.get(getattr(entry, "what", ""))
        if entry.kind == "reading" and field is not None and field.kind in TYPED and seen.get(field.key, 0) < 2:
            seen[field.key] = seen.get(field.key, 0) + 1
            view = made.view() if view is None else view
            base = zero_mm(view) if field.over or field.kind == "deviation" else None
            got = understand(
                as_typed(field.kind, entry.typed.value, inch=not metric),
                field,
                view,
                entry.at,
                base_mm=base,
                length_unit="mm" if metric else "in",
            )
            assert got.value == pytest.approx(entry.typed.value, abs=0.3, rel=0.02), field.key
            made.typed(field, got, **entry.at)
            view.add(made.entries[-1])
    assert len(seen) > 120


def test_a_first_place_on_the_deck_is_near_its_front():
    """20 mm from the front edge is no question in a block of four cylinders: 20 in from it is half-way down."""
    made = Making(nominal=92.0, cylinders=4)
    got = understand("20.0", face.X, made.view(), {"point": 1}, length_unit="mm")
    assert got.value == pytest.approx(20.0)
    made.typed(face.X, got, point=1)
    assert understand("20.0", face.X, made.view(), {"point": 2}, length_unit="mm").value == pytest.approx(20.0)
    for of in face.DECKS:  # each bank's deck is read alike
        assert understand("14.96", of.x, Making(nominal=76.2, cylinders=1).view(), {"point": 5}).value == pytest.approx(
            380, abs=0.1
        )


def test_what_was_meant_in_other_fields_of_the_kind_does_not_settle_a_number_written_as_inches_are():
    """The bores read bare from a metric dial in a job in inches; the depth micrometer shows inches, to four decimals."""
    job = Making(nominal=76.2, cylinders=2)
    for c in (1, 2):
        for d, (thrust, crank) in enumerate(((0.16, 0.10), (0.09, 0.05), (0.01, 0.01)), 1):
            job.put(bores.READING, thrust, cylinder=c, depth=d, axis="thrust")
            job.put(bores.READING, crank, cylinder=c, depth=d, axis="crank")
    view = job.view()
    with pytest.raises(UnclearError) as asked:
        understand("-.0240", compression.DECK, view, {}, length_unit="in", temperature_unit="C")
    units = {c.entered.typed_unit for c in asked.value.choices}
    assert {"in", "mm"} <= units
    # in its own field the dial is still known by its habit
    at = {"cylinder": 1, "depth": 1, "axis": "thrust"}
    assert understand("0.15", bores.READING, view, at, length_unit="in", temperature_unit="C").typed_unit == "mm"
