"""The dates of the handover: from its day and what the engine does, until somebody writes others."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from logic.afterwards import after
from logic.say import Style
from logic.sizing import DUTIES
from store.customer import running_in
from store.fields import clean, final, sizes
from store.handover import dates, handed_on, suggested
from store.telling import Teller
from tests.store.making import Making
from tests.store.test_final import job

MM, IN = Style(length="mm"), Style(length="in")


def handed(duty: str = "road", **answers: str) -> Making:
    making = Making(nominal=80.0, cylinders=1)
    making.put(sizes.DUTY, duty)
    making.put(clean.HANDED_ON, "2026-03-01")
    for name, value in answers.items():
        making.put(getattr(clean, name), value)
    return making


@pytest.mark.parametrize("duty", DUTIES)
def test_every_duty_has_its_dates_and_oil_comes_before_the_end_of_running_in(duty: str) -> None:
    oil, end = after(duty)
    assert 0 < oil.days < end.days and (oil.hours, oil.km) < (end.hours, end.km)
    assert bool(oil.km) == bool(oil.miles) and bool(oil.km) != bool(oil.hours)
    # a mile is 1.609344 km (NIST SP 811): the two round figures are within 5 % of each other
    assert not oil.km or oil.miles * 1.609344 == pytest.approx(oil.km, rel=0.05)


def test_the_dates_count_from_the_day_of_the_handover() -> None:
    found = suggested(handed().view(), MM)
    assert found[clean.OIL_ON.key] == "2026-03-22, or after 800 km if that is sooner"
    assert found[clean.RUN_IN_UNTIL.key].startswith("2026-04-12")
    assert suggested(handed().view(), IN)[clean.OIL_ON.key].endswith("after 500 miles if that is sooner")
    assert suggested(handed("race").view(), MM)[clean.OIL_ON.key].startswith("2026-03-08, or after 2 hours of running")
    assert clean.RETORQUE_ON.key not in found  # nobody said whether the gasket asks for it
    assert suggested(handed(RETORQUE="cold").view(), MM)[clean.RETORQUE_ON.key] == "2026-03-02"
    assert suggested(handed(RETORQUE="later").view(), MM)[clean.RETORQUE_ON.key] == found[clean.RUN_IN_UNTIL.key]


def test_what_somebody_wrote_stands() -> None:
    made = handed(OIL_ON="at the harvest's end")
    assert dates(made.view(), MM)[clean.OIL_ON.key] == "at the harvest's end"
    assert dates(made.view(), MM)[clean.RUN_IN_UNTIL.key].startswith("2026-04-12")


def test_the_day_is_the_last_checks_unless_written() -> None:
    making = Making(nominal=80.0, cylinders=1)
    assert handed_on(making.view()) is None
    assert suggested(making.view(), MM)[clean.OIL_ON.key] == "After 800 km"
    making.put(clean.CHECKS[0], "yes")
    utc = date(2025, 10, 9)  # 1 760 000 000 s after 1970-01-01, 08:53 UTC
    assert handed_on(making.view()) == utc
    assert handed_on(making.view(), 16 * 60) == utc + timedelta(days=1)  # past midnight for the reader
    making.put(clean.HANDED_ON, "1.3.2026")
    assert handed_on(making.view()) == date(2026, 3, 1)
    making = handed()
    making.entries[-1] = making.entries[-1].model_copy(update={"value": "when they fetch it"})
    assert handed_on(making.view()) is None  # no day: nothing is reckoned from it


def test_they_stand_in_the_report() -> None:
    making = job([0.0])
    making.put(final.WASHED, "yes")
    making.put(clean.HANDED_ON, "2026-03-01")
    making.put(clean.RETORQUE, "never")
    (part,) = running_in(making.view(), Teller(MM, 0))
    told = [entry for block in part.blocks for entry in getattr(block, "entries", ())]
    assert "First change of oil and filter: 2026-03-22, or after 800 km if that is sooner" in told
    assert "The head is not retightened with this gasket." in told
    assert any(entry.startswith("Run in by: 2026-04-12") for entry in told)
    assert not any(entry.startswith("Head to be retightened") for entry in told)
