"""Kit cards as documents: what jobs take from them, what their checks say, and when they are due. All kit is invented."""

import json

import pytest

from logic.fields import Field, Number
from logic.result import Verdict, as_data
from logic.say import Style, say
from store import cards
from store.documents import Reading
from store.sheets import bores, cut

from .making import Making

DAY_MS = 86_400_000
START_MS = 1_700_000_000_000


class Card(Making):
    """A card whose entries are a chosen number of days apart."""

    def __init__(self, role, title="Invented kit", every=30.0):
        super().__init__(card=role, title=title)
        self.every, self.day = every, 0.0

    def check(self, error_mm, n, **more):
        entry = self.put(cards.CHECK_ERROR, error_mm, check=n)
        self.day += self.every
        return self._restamp(entry, **more)

    def _restamp(self, entry, **more):
        stamp = f"{int(START_MS + self.day * DAY_MS):013d}-00000-testtest"
        self.entries[-1] = entry.model_copy(update={"stamp": stamp, **more})
        return self.entries[-1]


def text(line):
    return say(line, Style("mm")).replace("\u202f", " ")


@pytest.mark.parametrize("role", cards.ROLES)
def test_every_card_is_a_whole_sheet(role):
    sheet = cards.sheet(role)
    assert sheet is cards.sheet(role)
    keys = [f.key for g in sheet.groups for f in g.fields]
    assert keys and len(set(keys)) == len(keys)
    for f in sheet.fields.values():
        assert isinstance(f, Field) and say(f.label) and say(f.help).endswith(".")
        if f.default is not None and f.low is not None:
            assert f.low <= f.default <= f.high, f.key
    view = Card(role).view()
    for g in sheet.groups:
        for place in g.places(view):
            assert all(set(place) == set(f.at) for f in g.fields)
            assert not place or say(g.name(place))
    work = sheet.work(view)
    for r in work.results:
        assert r.assumptions and say(r.line)
        json.dumps(as_data(r))


@pytest.mark.parametrize(
    ("role", "field"), [("bar", cut.FEED), ("bar", cut.METER), ("gauge", bores.DIVISION), ("gauge", bores.REPEAT)]
)
def test_a_job_takes_its_constants_from_the_card(role, field):
    assert field.key in cards.sheet(role).fields
    card = Card(role)
    held = field.choices[1].value if field.choices else field.default * 1.25
    card.put(field, held)
    job = Making(nominal=76.2, cylinders=1, cards={"card0001": card.view()}, **{role: "card0001"})
    got = job.view().get(field)
    assert got.value == held and got.source == "kit card" and not got.entered
    own = field.choices[0].value if field.choices else field.default * 0.75
    job.put(field, own)
    assert job.view().get(field).value == own
    assert Making(nominal=76.2, cards={"card0001": card.view()}).view().get(field).value == field.default


def test_a_gauge_is_judged_with_its_own_division_and_master():
    card = Card("gauge")
    card.put(bores.DIVISION, 0.001)
    card.put(bores.MASTER_U, 0.0008)
    for n, e in enumerate((0.0004, -0.0003, 0.0002, -0.0004), 1):
        card.check(e, n)
    view = card.view()
    work = cards.sheet("gauge").work(view)
    (r,) = work.results
    assert work.done and r.verdict == Verdict.GO
    assert "Invented kit is within 5.0 µm of its master" in text(r.line)
    assert r.u_mm == pytest.approx((0.00038622**2 + 0.0008**2 + 0.000025**2) ** 0.5, rel=1e-4)
    assert "1.6 µm" in text(r.assumptions[1].text)


def test_an_unchecked_gauge_asks_for_a_check():
    work = cards.sheet("gauge").work(Card("gauge").view())
    assert work.missing == (("card.error", {"check": 1}),) and not work.done
    assert work.results[0].verdict == Verdict.MAYBE


def test_checks_grow_and_keep_their_day_when_corrected():
    card = Card("micrometer", every=10.0)
    first = card.check(0.002, 1)
    card.check(0.0005, 2)
    wrong = card.view()
    assert [c.error_mm for c in cards.checks(wrong)] == [0.002, 0.0005]
    card.check(0.0002, 1, replaces=first.id)
    view = card.view()
    found = cards.checks(view)
    assert [c.error_mm for c in found] == [0.0002, 0.0005]
    assert found[1].day - found[0].day == pytest.approx(10.0, abs=1e-3)
    group = next(g for g in cards.sheet("micrometer").groups if g.key == "checks")
    assert group.places(view) == [{"check": 1}, {"check": 2}, {"check": 3}]


def test_a_master_needs_its_size():
    work = cards.sheet("master").work(Card("master").view())
    assert ("card.size", {}) in work.missing


def job_with(card, role="gauge", days=0.0):
    job = Making(nominal=76.2, cylinders=1, cards={"card0001": card.view()}, **{role: "card0001"})
    entry = job.put(bores.READING, 0.1, cylinder=1, depth=1, axis="thrust")
    stamp = f"{int(START_MS + days * DAY_MS):013d}-00000-testtest"
    job.entries[-1] = entry.model_copy(update={"stamp": stamp})
    assert isinstance(job.entries[-1], Reading)
    return job.view()


def test_due_by_the_times_logged():
    card = Card("gauge", every=30.0)
    card.check(0.0, 1)  # on day 30
    assert cards.due_for(job_with(card, days=45.0), "gauge").verdict == Verdict.GO
    late = cards.due_for(job_with(card, days=75.0), "gauge")
    assert late.verdict == Verdict.MAYBE and "last checked 45 days ago, every 30 wanted" in text(late.line)
    card.put(cards.INTERVAL, 90)
    assert cards.due_for(job_with(card, days=75.0), "gauge").verdict == Verdict.GO
    never = cards.due_for(job_with(Card("gauge")), "gauge")
    assert "no check against a master" in text(never.line)
    assert cards.due_for(Making(nominal=76.2).view(), "gauge") is None
    assert cards.due_for(job_with(Card("bar"), role="bar"), "bar") is None


def test_what_an_instrument_adds_to_a_job():
    card = Card("micrometer")
    for n, e in enumerate((0.001, 0.0012, 0.0009), 1):
        card.check(e, n)
    view = Making(nominal=76.2, cards={"card0001": card.view()}, micrometer="card0001").view()
    assert cards.instrument_u_mm(view, "micrometer") == pytest.approx(cards.health(card.view()).u_mm)
    assert cards.instrument_u_mm(view, "gauge") is None
    assert cards.instrument_u_mm(job_with(Card("bar"), role="bar"), "bar") is None


def test_a_bars_card_tells_what_the_bar_cut_before():
    card = Card("bar")
    view = card.view()
    (only,) = cards.sheet("bar").work(view).results
    assert only.key == "card.bar" and text(only.line).startswith("Invented kit: 0 of ")
    card.put(cut.FEED, 0.08)
    set_field = Number(key=cut.HISTORY_SET, label=cut.FEED.label, kind="size", help=cut.FEED.help)
    for n, (set_mm, got_mm) in enumerate(((76.5, 76.512), (76.7, 76.709), (76.9, 76.911)), 1):
        at = {"job": "earlier01", "cylinder": 1, "pass": n}
        card.put(set_field, set_mm, **at)
        card.put(Number(key=cut.HISTORY_MEASURED, label=cut.FEED.label, kind="size", help=cut.FEED.help), got_mm, **at)
    learned, constants = cards.sheet("bar").work(card.view()).results
    assert learned.mean_mm == pytest.approx((0.012 + 0.009 + 0.011) / 3, abs=0.002)
    assert text(constants.line).startswith("Invented kit: 1 of ")
