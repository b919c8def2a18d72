"""A value may come from the job, from the kit card chosen for it, or from common practice, in that order."""

import pytest

from logic.fields import DefaultNumber, Number
from logic.say import L
from store import cards
from store.documents import Document, Reading, Stamped, Typed
from store.fields import declared
from store.sheets import bores
from store.view import View

SPEED = DefaultNumber(
    key="cut.spin", label=L("Speed"), kind="spin", help=L("Speed. Of the spindle."), default=300.0, card="bar"
)
STAMP = "1760000000000-00000-aaaaaaaa"


def entered(what, value, unit, n=1):
    typed = Typed(text=str(value), typed_unit=unit, value=value, unit=unit)
    return Reading(id=f"entry{n:05d}", stamp=STAMP, device="aaaaaaaa", what=what, typed=typed)


def card(*entries, **header):
    stamped = {k.replace("__", "."): Stamped(value=v, stamp=STAMP) for k, v in header.items()}
    return View(Document(id="barbarbar", type="card", header=stamped, entries=entries))


def job(*entries, bar=None):
    header = {"bar": Stamped(value="barbarbar", stamp=STAMP)}
    return View(Document(id="jobjobjob", header=header, entries=entries), {"barbarbar": bar} if bar else {})


def test_common_practice_where_nothing_else_is_known():
    got = job().get(SPEED)
    assert (got.value, got.source, got.entered) == (300.0, "common practice", False)


def test_the_card_wins_over_common_practice():
    by_entry = job(bar=card(entered("cut.spin", 420.0, "rev/min"))).get(SPEED)
    typed = Typed(text="390", typed_unit="rev/min", value=390.0, unit="rev/min")
    by_header = job(bar=card(cut__spin=typed)).get(SPEED)
    assert (by_entry.value, by_entry.source, by_entry.entered) == (420.0, "kit card", False)
    assert by_header.value == 390.0


def test_the_job_wins_over_the_card():
    got = job(entered("cut.spin", 350.0, "rev/min"), bar=card(entered("cut.spin", 420.0, "rev/min"))).get(SPEED)
    assert got.value == 350.0 and got.entered


def test_a_card_that_says_nothing_changes_nothing():
    assert job(bar=card(title="A bar")).number(SPEED) == 300.0


# -- unit and range, wherever a value stands ------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "value", "unit", "used"),
    [
        (cards.DIVISION, 0.001, "in", False),
        (cards.DIVISION, 0.001, "mm", True),
        (cards.DIVISION, 0.001, "", True),
        (cards.DIVISION, 5.0, "mm", False),
        (cards.DIVISION, -0.001, "mm", False),
        (cards.LIMIT, 0.02, "in", False),
        (cards.LIMIT, 2.5, "mm", False),
        (cards.MASTER_U, 0.0005, "thou", False),
        (cards.INTERVAL, 0.0, "1", False),
        (bores.DIVISION, 0.001, "in", False),
        (bores.DIVISION, 0.001, "mm", True),
        (bores.DIVISION, 50.0, "mm", False),
    ],
)
def test_a_cards_value_in_another_unit_or_out_of_range_is_not_used(field, value, unit, used):
    made = card(entered(field.key, value, unit))
    assert (made.number(field) == value) == used
    if not used:
        assert made.number(field) == field.default


@pytest.mark.parametrize(
    ("value", "unit", "used"), [(0.001, "in", False), (0.001, "mm", True), (50.0, "mm", False), (-0.01, "mm", False)]
)
def test_a_cards_header_is_read_by_the_same_rules(value, unit, used):
    typed = Typed(text=str(value), typed_unit=unit, value=value, unit=unit)
    gauge = card(**{bores.DIVISION.key.replace(".", "__"): typed})
    header = {"gauge": Stamped(value="barbarbar", stamp=STAMP)}
    got = View(Document(id="jobjobjob", header=header), {"barbarbar": gauge}).number(bores.DIVISION)
    assert got == (value if used else bores.DIVISION.default)


def test_a_bare_number_in_a_header_has_no_unit_and_is_not_taken_for_one():
    assert card(**{bores.DIVISION.key.replace(".", "__"): 1}).stated(bores.DIVISION) is None


@pytest.mark.parametrize(("unit", "value", "used"), [("mm", 76.2, 76.2), ("in", 30.0, None), ("mm", 3.0, None)])
def test_the_nominal_bore_is_in_millimetres_or_is_none(unit, value, used):
    stamped = Stamped(value=Typed(text="x", typed_unit=unit, value=value, unit=unit), stamp=STAMP)
    assert View(Document(id="jobjobjob", header={"nominal": stamped})).nominal_mm == used


# -- every field there is --------------------------------------------------------------------------


def numeric():
    """Every number asked for anywhere: in a step, and on a kit card of any role."""
    own = {f.key: f for role in cards.ROLES.values() for f in role.own}
    return [f for f in {**declared(), **own}.values() if isinstance(f, Number)]


def wrong_values(field):
    """A good figure in a unit that is not the field's, and figures beyond its limits in the right one."""
    inside = next(x for x in (field.default, field.low, field.high, 1.0) if x is not None)
    for unit in {"in", "thou", "mm", "um", "degC", "N", "%"} - {field.unit, ""}:
        yield inside, unit
    if field.low is not None:
        yield field.low - max(1e-6, abs(field.low) * 1e-6), field.unit
    if field.high is not None:
        yield field.high + max(1e-6, abs(field.high) * 1e-6), field.unit


def right_value(field):
    return next(x for x in (field.low, field.high, 1.0) if x is not None)


@pytest.mark.parametrize("field", [f for f in numeric() if f.card], ids=lambda f: f.key)
def test_no_constant_of_any_card_is_used_in_a_wrong_unit_or_out_of_range(field):
    def found(**said):
        header = {field.card: Stamped(value="barbarbar", stamp=STAMP)}
        return View(Document(id="jobjobjob", header=header), {"barbarbar": card(**said)}).get(field)

    def by_entry(value, unit):
        header = {field.card: Stamped(value="barbarbar", stamp=STAMP)}
        kit = {"barbarbar": card(entered(field.key, value, unit))}
        return View(Document(id="jobjobjob", header=header), kit).get(field)

    def typed(value, unit):
        return Typed(text=str(value), typed_unit=unit, value=value, unit=unit)

    def used(got):
        return got is not None and got.source == "kit card"

    good = right_value(field)
    assert used(by_entry(good, field.unit)) and used(found(**{field.key: typed(good, field.unit)}))
    for value, unit in wrong_values(field):
        assert not used(by_entry(value, unit)), (value, unit)
        assert not used(found(**{field.key: typed(value, unit)})), (value, unit)
    for value in (True, "word", 10**9):
        assert not used(found(**{field.key: value})), value


@pytest.mark.parametrize("field", numeric(), ids=lambda f: f.key)
def test_no_number_is_used_in_a_wrong_unit_or_out_of_range(field):
    at = {k: "thrust" if k == "axis" else 1 for k in field.at}

    def found(value, unit):
        typed = Typed(text=str(value), typed_unit=unit, value=value, unit=unit)
        reading = Reading(id="entry00001", stamp=STAMP, device="aaaaaaaa", what=field.key, at=at, typed=typed)
        return View(Document(id="jobjobjob", entries=(reading,))).number(field, **at)

    assert found(right_value(field), field.unit) == right_value(field)
    for value, unit in wrong_values(field):
        assert found(value, unit) == field.default, (value, unit)
