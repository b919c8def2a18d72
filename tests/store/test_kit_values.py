"""A value may come from the job, from the kit card chosen for it, or from common practice, in that order."""

from logic.fields import DefaultNumber
from logic.say import L
from store.documents import Document, Reading, Stamped, Typed
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
