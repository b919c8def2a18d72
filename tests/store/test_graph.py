"""Facts: what is recorded, what is worked out again and what is not, and that it is always what it would be afresh.

No outside source: what is checked is that an answer kept is the answer worked out anew.
"""

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.fields import Number
from logic.say import L
from store.documents import CautionSeen, Decision, Note, Reading, Skipped, Stamped, Typed, Withdrawn
from store.fields import declared
from store.flow import effect_of, flow, needs, skip_key, step_work, without, work_of
from store.graph import FACTS, alike, fact, watched
from store.sheets import all_sheets, sheet
from store.view import View, concerns

from .making import Making, filled, value_for

LEFT = Number(key="test.left", label=L("Left"), kind="size", help=L("A size. As measured."), at=("cylinder",))
RIGHT = Number(key="test.right", label=L("Right"), kind="size", help=L("A size. As measured."))


@fact
def doubled(view, cylinder):
    size = view.number(LEFT, cylinder=cylinder)
    return None if size is None else 2 * size


@fact
def over(view, cylinder):
    """Only whether it is large: equal for most sizes."""
    size = doubled(view, cylinder)
    return size is not None and size > 100.0


@fact
def said(view):
    return tuple(over(view, c) for c in view.cylinders)


@fact
def small(view):
    size = doubled(view, 1)
    if size is None:
        raise ValueError("not measured")
    return size < 10.0


@fact
def safely(view):
    try:
        return small(view)
    except ValueError:
        return None


@fact
def round_about(view):
    return round_about(view)


def names(ran):
    return [f.name.rsplit(".", 1)[-1] for _, f, _ in ran]


def corrected(made, view, entry, value):
    """The entry that sets an earlier one to another value."""
    new = made.put(LEFT if entry.what == LEFT.key else RIGHT, value, **entry.at)
    new = new.model_copy(update={"replaces": entry.id})
    view.add(new)
    return new


@pytest.fixture
def made():
    return Making(nominal=76.2, cylinders=2)


# -- recording ---------------------------------------------------------------------------------
def test_a_correction_works_out_what_read_it_and_stops_where_it_comes_out_equal(made):
    first = made.put(LEFT, 60.0, cylinder=1)
    made.put(LEFT, 40.0, cylinder=2)
    view = made.view()
    with watched() as ran:
        assert said(view) == (True, False)
    assert names(ran) == ["said", "over", "doubled", "over", "doubled"]
    with watched() as ran:
        said(view)
    assert not ran
    second = corrected(made, view, first, 61.0)
    with watched() as ran:
        assert said(view) == (True, False) and doubled(view, 1) == 122.0
    assert names(ran) == ["doubled", "over"], "it is still large, so nothing else is worked out"
    third = corrected(made, view, second, 30.0)
    with watched() as ran:
        assert said(view) == (False, False)
    assert names(ran) == ["doubled", "over", "said"]
    corrected(made, view, third, 30.0)
    with watched() as ran:
        assert said(view) == (False, False)
    assert not ran, "corrected to the same: what was read is as it was"


def test_a_note_and_a_field_that_nobody_asked_for_cost_nothing(made):
    made.put(LEFT, 60.0, cylinder=1)
    view = made.view()
    said(view)
    view.add(Note(id="anote000", stamp=Making._stamp(500), device="testtest", text="free words"))
    made._next = iter(range(600, 700))
    view.add(made.put(RIGHT, 50.0))
    with watched() as ran:
        said(view)
    assert not ran


def test_what_comes_to_be_asked_later_is_followed_as_well(made):
    view = made.view()
    assert said(view) == (False, False)
    view.add(made.put(LEFT, 70.0, cylinder=2))
    assert said(view) == (False, True)
    view.take(view.document.model_copy(update={"header": {}}))
    assert said(view) == (False,), "without a header there is one cylinder"


def test_an_error_is_not_kept_and_who_catches_it_rests_on_what_it_read(made):
    view = made.view()
    with pytest.raises(ValueError, match="not measured"):
        small(view)
    assert safely(view) is None
    view.add(made.put(LEFT, 3.0, cylinder=1))
    assert small(view) is True and safely(view) is True


def test_a_fact_that_asks_for_itself_is_refused(made):
    with pytest.raises(RuntimeError, match="asks for itself"):
        round_about(made.view())


def test_where_the_job_stands_is_no_fact(made):
    @fact
    def asks(view):
        return flow(view)

    with pytest.raises(RuntimeError, match="rests on every fact"):
        asks(made.view())


def test_one_question_however_it_is_put(made):
    made.put(LEFT, 60.0, cylinder=1)
    view = made.view()
    with watched() as ran:
        assert doubled(view, 1) == doubled(view, cylinder=1) == 120.0
    assert names(ran) == ["doubled"]


def test_two_answers_are_alike_only_if_nobody_could_tell_them_apart():
    assert alike(math.nan, math.nan) and alike((1.0, [math.nan]), (1.0, [math.nan]))
    assert not alike(0.0, -0.0) and not alike(1, 1.0) and not alike(1, True)
    assert not alike({"a": 1, "b": 2}, {"b": 2, "a": 1}), "the order can be seen"
    assert alike(L("Size {x}", x=1.0), L("Size {x}", x=1.0)) and not alike(L("Size {x}", x=0.0), L("Size {x}", x=-0.0))


def test_another_state_of_the_job_shares_what_does_not_differ(made):
    first = made.put(LEFT, 60.0, cylinder=1)
    made.put(LEFT, 70.0, cylinder=2)
    view = made.view()
    said(view)
    with watched() as ran:
        assert said(without(view, [first.id])) == (False, True)
    assert names(ran) == ["doubled", "over", "said"], "cylinder 2 is the same in both"
    with watched() as ran:
        assert said(view) == (True, True)
    assert not ran, "the job itself is as it was"


def test_every_fact_has_a_name_of_its_own():
    assert FACTS["test_graph.doubled"] is doubled
    assert all(name == found.name for name, found in FACTS.items())


# -- the flow is read off the record -----------------------------------------------------------------
def test_a_corrected_sweep_reading_sends_the_walls_back():
    """The walls' answer uses the sweep, the sizes and the face: whatever it uses may send it back."""
    for seed in range(400, 440):
        job = filled(seed, 1.0, True)
        view = job.view()
        if not step_work(view, sheet("walls").work, None).done or "sweep" not in needs(view)["walls"]:
            continue
        asked = [a for (s, _), a in view.rests_on(step_work, sheet("walls").work, None).items() if s is view]
        read = [e for e in view.live() if e.what.startswith("sweep.") and isinstance(e, Reading)]
        read = [e for e in read if any(concerns(a, e) for a in asked)]
        for old in read:
            typed = old.typed.model_copy(update={"value": declared()[old.what].high * 0.9})
            new = old.model_copy(
                update={"id": "corrected0", "stamp": Making._stamp(10**7), "replaces": old.id, "typed": typed}
            )
            touched = {c.sheet for c in effect_of(view, new)}
            if "walls" not in touched or not step_work(view.fork((*view.live(), new)), sheet("walls").work).done:
                continue  # it changes no answer, or leaves the step with less than it needs
            view.add(new)
            assert flow(view).state("walls").state == "needs another look"
            return
    pytest.fail("no job in which the walls rest on the sweep")


# -- on whole jobs made up at random ------------------------------------------------------------------
class Work:
    """A job that is worked on at random: entries, corrections, withdrawals, header and card changes."""

    def __init__(self, seed):
        self.rng = rng = random.Random(seed)
        self.calm = rng.random() < 0.7
        self.cards = {}
        job = filled(seed, rng.choice([0.5, 0.9, 1.0]), self.calm)
        self.count = len(job.entries) + 1
        for role in ("bar", "hone", "gauge", "micrometer"):
            self.header_card(job, role)
        self.view = View(job.document(), dict(self.cards))
        self.places = [
            (f, place) for s in all_sheets() for g in s.groups for place in g.places(self.view) for f in g.fields
        ]

    def header_card(self, job, role):
        card = Making(card=role, title=role)
        for f in declared().values():
            if f.card == role and self.rng.random() < 0.5:
                card.put(f, value_for(self.rng, f, 76.2, self.calm))
        self.cards[f"{role:a<10}"] = View(card.document(f"{role:a<10}", "card"))
        if self.rng.random() < 0.7:
            job.header[role] = Stamped(value=f"{role:a<10}", stamp=Making._stamp(0))

    def head(self, **more):
        self.count += 1
        return dict(id=f"extra{self.count:06d}", stamp=Making._stamp(self.count), device="testtest", **more)

    def entry(self, f, place, **more):
        made = Making()
        new = made.put(f, value_for(self.rng, f, 76.2, self.calm), **place)
        return new.model_copy(update=self.head(**more))

    # what can happen
    def enter(self):
        f, place = self.rng.choice(self.places)
        self.view.add(self.entry(f, place))

    def correct(self):
        old = self.rng.choice([e for e in self.view.live() if getattr(e, "what", None) in declared()])
        self.view.add(self.entry(declared()[old.what], old.at, replaces=old.id))

    def withdraw(self):
        old = self.rng.choice(list(self.view.entries.values()))
        self.view.add(Withdrawn(**self.head(replaces=old.id)))

    def note(self):
        self.view.add(Note(**self.head(), text="free words"))

    def decide(self):
        step = self.rng.choice([0.0, 0.254, 0.508, 0.762])
        typed = Typed(text="x", typed_unit="mm", value=step, unit="mm")
        self.view.add(Decision(**self.head(), what="oversize", value="step", typed=typed))

    def skip(self):
        self.view.add(Skipped(**self.head(), what=skip_key(self.rng.choice(all_sheets()).key), reason="no"))

    def acknowledge(self):
        cautions = [c for s in all_sheets() for c in s.cautions]
        self.view.add(CautionSeen(**self.head(), what=self.rng.choice(cautions).key))

    def header(self):
        key = self.rng.choice(["nominal", "cylinders", "title", "bar", "gauge", "hone"])
        value = {
            "nominal": Typed(text="x", typed_unit="mm", value=self.rng.choice([76.2, 76.25, 80.0]), unit="mm"),
            "cylinders": self.rng.choice([1, 2, 3, 4, 6]),
            "title": "Another",
        }.get(key, self.rng.choice([f"{key:a<10}", None]))
        document = self.view.document
        self.count += 1
        header = {**document.header, key: Stamped(value=value, stamp=Making._stamp(self.count))}
        earlier = dict(document.earlier)
        if key in document.header:
            earlier[key] = (*earlier.get(key, ()), document.header[key])
        entries = tuple(self.view.entries.values())
        self.view.take(document.model_copy(update={"header": header, "earlier": earlier, "entries": entries}))

    def elsewhere(self):
        """Another tab has put entries into the stored document, one of them older than the latest here."""
        f, place = self.rng.choice(self.places)
        one = self.entry(f, place)
        two = self.entry(*self.rng.choice(self.places)).model_copy(update={"stamp": Making._stamp(5)})
        entries = (*self.view.entries.values(), one, two)
        self.view.take(self.view.document.model_copy(update={"entries": entries}))

    def card_entry(self):
        role = self.rng.choice(["bar", "hone", "gauge", "micrometer"])
        of_card = [f for f in declared().values() if f.card == role]
        if of_card:
            self.cards[f"{role:a<10}"].add(self.entry(self.rng.choice(of_card), {}))

    def card_reloaded(self):
        self.cards = {k: View(self.stored(v)) for k, v in self.cards.items()}
        self.view.cards = self.cards

    def card_unknown(self):
        self.view.cards = {k: v for k, v in self.cards.items() if self.rng.random() < 0.5}

    def happen(self):
        ways = [self.enter, self.correct, self.withdraw, self.header, self.elsewhere, self.card_entry]
        more = [self.note, self.decide, self.skip, self.acknowledge, self.card_reloaded, self.card_unknown]
        return self.rng.choice([*ways, *ways, *more])

    @staticmethod
    def stored(view):
        return view.document.model_copy(update={"entries": tuple(view.entries.values())})

    def afresh(self):
        return View(self.stored(self.view), {k: View(self.stored(c)) for k, c in self.view.cards.items()})


def answer(ask, *args):
    """An answer, or the error in its place."""
    try:
        return ask(*args)
    except (ValueError, KeyError, IndexError, ZeroDivisionError, OverflowError) as error:
        return type(error), str(error)


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10**6))
def test_an_answer_kept_is_the_answer_worked_out_afresh(seed):
    work = Work(seed)
    steps = all_sheets()
    for s in steps:
        work_of(work.view, s)
    for _ in range(5):
        for _ in range(work.rng.choice([1, 1, 3])):
            work.happen()()
        fresh = work.afresh()
        for s in steps:
            assert alike(step_work(work.view, s.work), s.work(fresh)), s.key
            assert alike(work_of(work.view, s), work_of(fresh, s)), s.key
        for (kept, args), _ in list(work.view.facts_kept().items()):
            if kept is step_work:
                continue
            assert alike(answer(kept, work.view, *args), answer(kept, fresh, *args)), (kept.name, args)
        assert flow(work.view) == flow(fresh)


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10**6))
def test_the_job_as_it_would_be_is_the_job_worked_out_afresh(seed):
    work = Work(seed)
    for s in all_sheets():
        work_of(work.view, s)
    gone = {e.id for e in work.view.entries.values() if work.rng.random() < 0.05}
    was = without(work.view, gone)
    document = work.view.document
    left = tuple(e for e in work.view.entries.values() if e.id not in gone)
    fresh = View(document.model_copy(update={"entries": left}), work.view.cards)
    for s in all_sheets():
        assert alike(work_of(was, s), work_of(fresh, s)), s.key


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10**6))
def test_a_note_costs_nothing_on_any_job(seed):
    work = Work(seed)
    flow(work.view)
    work.note()
    with watched() as ran:
        flow(work.view)
        for s in all_sheets():
            work_of(work.view, s)
    assert not ran


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10**6))
def test_a_corrected_reading_works_out_only_what_rests_on_it(seed):
    work = Work(seed)
    view = work.view
    for s in all_sheets():
        work_of(view, s)
    before = {key: view.rests_on(key[0], *key[1]) for key in view.facts_kept()}
    old = work.rng.choice([e for e in view.live() if isinstance(e, Reading) and e.what in declared()])
    new = work.entry(declared()[old.what], old.at, replaces=old.id)
    view.add(new)
    with watched() as ran:
        for s in all_sheets():
            work_of(view, s)
    assert len(ran) == len({(id(source), f, args) for source, f, args in ran}), "each at most once"
    for source, found, args in ran:
        assert source is view, "no card has changed"
        asked = before.get((found, args))
        assert asked is None or any(concerns(line, new) for (s, _), line in asked.items() if s is view), found.name
