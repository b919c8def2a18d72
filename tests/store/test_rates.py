"""The person's own rates: read from the settings as they are stored, under what a job itself says, in the estimate."""

from __future__ import annotations

import pytest

from logic.say import say
from store import rates
from store.estimate import estimate
from store.fields import parts
from tests.store.making import Making


def test_the_settings_rates_make_the_price_and_a_jobs_own_comes_first() -> None:
    making = Making(nominal=80.0, cylinders=4)
    view = making.view()
    bare = estimate(view)
    assert not {"price", "material"} & {f.key for f in bare.figures}  # what is used up is known, its price is not
    rates.know(view, rates.read({"per_hour": 60.0, "per_bore": 20.0, "travel": 35.0, "margin": 0.1, "currency": "€"}))
    hours = bare.figure("time").value / 3600
    assert estimate(view).figure("price").value == pytest.approx(60 * hours + 4 * 20 + 35)
    making.put(parts.PARTS_PRICE, 500)
    making.put(parts.PER_HOUR, 70)
    making.put(parts.TRAVEL, 0)
    view = making.view()
    rates.know(view, rates.read({"per_hour": 60.0, "per_bore": 20.0, "travel": 35.0, "margin": 0.1, "currency": "€"}))
    got = estimate(view)
    assert got.figure("price").value == pytest.approx(70 * hours + 4 * 20 + 500 * 1.1)
    assert say(got.line).endswith("€ in all.")  # the currency of the settings


@pytest.mark.parametrize(
    "stored",
    [
        None,
        "x",
        [],
        {"per_hour": "60"},
        {"per_hour": -1},
        {"per_hour": float("nan")},
        {"per_hour": True, "currency": 3},
    ],
)
def test_what_does_not_fit_counts_as_not_said(stored: object) -> None:
    assert rates.read(stored) == rates.Rates()
