"""The flow over a log, with three small steps whose answers can be followed by hand."""

import gc
import time
import weakref

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.fields import Number, Text
from logic.flow import State
from logic.result import Result, Verdict
from logic.say import L, Qty, say
from store.documents import Chosen, Decision, Document, Note, Reading, Skipped, Stamped, Typed, Withdrawn
from store.flow import effect_of, flow, ripple, skip_key, stands_key, timeline, without, work_of
from store.graph import fact
from store.sheets.base import Group, Sheet, Work
from store.view import View

SIZE = Number(key="alpha.size", label=L("Size"), kind="size", help=L("The size. As measured."))
LIMIT = Number(key="beta.limit", label=L("Limit"), kind="size", help=L("The limit. As wanted."))
NOTE = Text(key="gamma.word", label=L("Word"), help=L("A word. Any."))
COUNTS: dict[str, int] = {}


def _counted(name):
    COUNTS[name] = COUNTS.get(name, 0) + 1


def alpha_work(view):
    _counted("alpha")
    size = view.number(SIZE)
    if size is None:
        return Work(missing=((SIZE.key, {}),))
    return Work(
        results=(Result(key="alpha", line=L("It measures {size}.", size=Qty(size, "size")), value=Qty(size, "size")),),
        done=True,
    )


def beta_work(view):
    _counted("beta")
    size, limit = view.number(SIZE), view.number(LIMIT)
    if size is None:
        return Work(blocked=L("Measure first."))
    if limit is None:
        return Work(missing=((LIMIT.key, {}),))
    fits = size <= limit
    line = L("It fits.") if fits else L("It does not fit.")
    return Work(results=(Result(key="beta", line=line, verdict=Verdict.GO if fits else Verdict.STOP),), done=True)


def gamma_work(view):
    _counted("gamma")
    return Work(done=view.get(NOTE) is not None, missing=() if view.get(NOTE) else ((NOTE.key, {}),))


def _sheet(key, order, field, work):
    return Sheet(
        key=key,
        order=order,
        title=L("Step"),
        purpose=L("Purpose."),
        work=work,
        groups=(Group(key=key, title=L("Fields"), fields=(field,)),),
    )


SHEETS = (
    _sheet("alpha", 1, SIZE, alpha_work),
    _sheet("beta", 2, LIMIT, beta_work),
    _sheet("gamma", 3, NOTE, gamma_work),
)

DEVICE = "aaaaaaaa"


def stamp(n, ms=1_760_000_000_000):
    return f"{ms + n * 60_000:013d}-00000-{DEVICE}"


def head(n, **more):
    return dict(id=f"entry{n:05d}", stamp=stamp(n), device=DEVICE, **more)


def reading(n, what, value, **more):
    return Reading(**head(n, **more), what=what, typed=Typed(text=str(value), typed_unit="mm", value=value, unit="mm"))


def view_of(*entries, **header):
    return View(
        Document(
            id="job00000", header={k: Stamped(value=v, stamp=stamp(0)) for k, v in header.items()}, entries=entries
        )
    )


# -- states --------------------------------------------------------------------------------------
def test_an_empty_job_starts_at_the_first_step():
    got = flow(view_of(), SHEETS)
    assert [s.state for s in got.statuses] == [State.NEXT, State.BLOCKED, State.OPEN]
    assert got.next.key == "alpha"
    assert say(got.state("beta").reason) == "Measure first."
    with pytest.raises(KeyError):
        got.state("delta")


def test_the_flow_moves_on_as_entries_come():
    view = view_of(reading(1, "alpha.size", 80.0))
    assert flow(view, SHEETS).next.key == "beta"
    view.add(reading(2, "beta.limit", 81.0))
    got = flow(view, SHEETS)
    assert [s.state for s in got.statuses] == [State.DONE, State.DONE, State.NEXT]


def test_skipping_with_a_reason_and_taking_it_up_again():
    skip = Skipped(**head(2), what=skip_key("alpha"), reason="no gauge here")
    view = view_of(skip)
    got = flow(view, SHEETS)
    assert got.state("alpha").state == State.SKIPPED
    assert say(got.state("alpha").reason) == "Left out: no gauge here"
    view.add(Withdrawn(**head(3, replaces=skip.id)))
    assert flow(view, SHEETS).state("alpha").state == State.NEXT


def test_a_correction_upstream_that_changes_the_answer_asks_for_another_look():
    view = view_of(reading(1, "alpha.size", 80.0), reading(2, "beta.limit", 81.0))
    view.add(reading(3, "alpha.size", 82.0, replaces="entry00001"))
    status = flow(view, SHEETS).state("beta")
    assert status.state == State.LOOK
    assert say(status.reason) == "Step was corrected after this was done: It does not fit."
    assert flow(view, SHEETS).next.key == "beta"


def test_a_correction_without_effect_asks_for_nothing():
    view = view_of(reading(1, "alpha.size", 80.0), reading(2, "beta.limit", 81.0))
    view.add(reading(3, "alpha.size", 80.5, replaces="entry00001"))
    assert flow(view, SHEETS).state("beta").state == State.DONE


def test_saying_that_it_stands_settles_it():
    view = view_of(reading(1, "alpha.size", 80.0), reading(2, "beta.limit", 81.0))
    view.add(reading(3, "alpha.size", 82.0, replaces="entry00001"))
    view.add(Decision(**head(4), what=stands_key("beta"), value="stands"))
    assert flow(view, SHEETS).state("beta").state == State.DONE


def test_withdrawing_a_reading_upstream_counts_as_a_correction():
    view = view_of(
        reading(1, "alpha.size", 82.0),
        reading(2, "alpha.size", 80.0, replaces="entry00001"),
        reading(3, "beta.limit", 81.0),
    )
    assert flow(view, SHEETS).state("beta").state == State.DONE
    view.add(Withdrawn(**head(4, replaces="entry00002")))  # back to 82
    assert flow(view, SHEETS).state("beta").state == State.LOOK


def test_a_long_chain_of_corrections_costs_in_proportion_to_its_length():
    """A value corrected two thousand times, withdrawn and brought back, as a file from elsewhere may have it."""
    entries = [reading(0, LIMIT.key, 80.0)]
    for n in range(1, 2000):
        replaces = f"entry{n - 1:05d}" if n > 1 else None
        if n % 4 < 2 or n == 2:
            entries.append(reading(n, SIZE.key, 76.0 + n % 9, replaces=replaces))
        else:
            entries.append(Withdrawn(**head(n, replaces=replaces)))
    view = view_of(*entries)
    begun = time.process_time()
    assert flow(view, SHEETS).statuses
    assert time.process_time() - begun < 2  # with the cube of the length it was hours


def test_two_entries_for_one_thing_ask_to_be_settled():
    view = view_of(reading(1, "alpha.size", 80.0), reading(2, "alpha.size", 80.4))
    status = flow(view, SHEETS).state("alpha")
    assert status.state == State.LOOK and "settle" in say(status.reason)


def test_what_came_later_without_correcting_anything_raises_no_doubt():
    # beta's answer changes when alpha is read again later, but nobody corrected anything: a second opinion is asked about instead
    view = view_of(reading(1, "beta.limit", 81.0), reading(2, "alpha.size", 82.0))
    assert flow(view, SHEETS).state("beta").state == State.DONE
    # a correction that left the answer as it is raises none either, whatever else came in between
    view.add(reading(3, "alpha.size", 82.5, replaces="entry00002"))
    assert flow(view, SHEETS).state("beta").state == State.DONE


def test_a_changed_nominal_bore_asks_for_another_look():
    def work(view):
        nominal = view.nominal_mm
        return Work(
            results=(Result(key="n", line=L("Nominal {size}.", size=Qty(nominal, "size"))),),
            done=view.get(LIMIT) is not None,
        )

    sheets = (_sheet("beta", 1, LIMIT, work),)

    def nominal(mm, n):
        return Stamped(value=Typed(text=str(mm), typed_unit="mm", value=mm, unit="mm"), stamp=stamp(n))

    entries = (reading(2, "beta.limit", 81.0),)
    before = View(Document(id="job00000", header={"nominal": nominal(76.2, 0)}, entries=entries))
    assert flow(before, sheets).state("beta").state == State.DONE
    after = View(
        Document(
            id="job00000",
            header={"nominal": nominal(80.0, 5)},
            earlier={"nominal": (nominal(76.2, 0),)},
            entries=entries,
        )
    )
    status = flow(after, sheets).state("beta")
    assert status.state == State.LOOK and "nominal bore was changed" in say(status.reason)


def test_the_view_without_some_entries():
    first = Stamped(value=Typed(text="3", typed_unit="in", value=76.2, unit="mm"), stamp=stamp(0))
    second = Stamped(value=Typed(text="80", typed_unit="mm", value=80.0, unit="mm"), stamp=stamp(5))
    document = Document(
        id="job00000",
        header={"nominal": second},
        earlier={"nominal": (first,)},
        entries=(reading(1, "alpha.size", 80.0), reading(6, "alpha.size", 81.0, replaces="entry00001")),
    )
    view = View(document)
    assert (view.nominal_mm, view.number(SIZE)) == (80.0, 81.0)
    was = without(view, ["entry00006"], stamp(2))
    assert (was.nominal_mm, was.number(SIZE)) == (76.2, 80.0)
    assert without(view, ["entry00001", "entry00006"]).number(SIZE) is None
    assert without(view, [], "0").header("nominal") is None


# -- ripple ----------------------------------------------------------------------------------------
def test_a_ripple_puts_turned_verdicts_first():
    before = view_of(reading(1, "alpha.size", 80.0), reading(2, "beta.limit", 81.0))
    after = view_of(
        reading(1, "alpha.size", 80.0),
        reading(2, "beta.limit", 81.0),
        reading(3, "alpha.size", 82.0, replaces="entry00001"),
    )
    got = ripple(before, after, SHEETS)
    assert [(c.sheet, c.flipped) for c in got] == [("beta", True), ("alpha", False)]
    assert (say(got[0].before), say(got[0].after)) == ("It fits.", "It does not fit.")


def test_the_effect_of_an_entry_before_and_after_it_is_taken_in():
    view = view_of(reading(1, "alpha.size", 80.0), reading(2, "beta.limit", 81.0))
    fix = reading(3, "alpha.size", 82.0, replaces="entry00001")
    foreseen = effect_of(view, fix, SHEETS)
    assert view.number(SIZE) == 80.0  # untouched
    view.add(fix)
    assert effect_of(view, fix, SHEETS) == foreseen != []


def test_no_change_no_ripple():
    view = view_of(reading(1, "alpha.size", 80.0))
    assert effect_of(view, Note(**head(2), text="looks fine"), SHEETS) == []


def test_a_step_left_out_on_both_sides_is_passed_over():
    skip = Skipped(**head(4), what=skip_key("beta"), reason="later")
    before = view_of(reading(1, "alpha.size", 80.0), reading(2, "beta.limit", 81.0), skip)
    after = view_of(reading(1, "alpha.size", 82.0), reading(2, "beta.limit", 81.0), skip)
    assert [c.sheet for c in ripple(before, after, SHEETS)] == ["alpha"]


# -- remembering -------------------------------------------------------------------------------------
def test_work_is_done_once_until_an_entry_comes():
    view = view_of(reading(1, "alpha.size", 80.0))
    COUNTS.clear()
    for _ in range(5):
        flow(view, SHEETS)
        work_of(view, SHEETS[0])
    assert COUNTS == {"alpha": 1, "beta": 1, "gamma": 1}
    view.add(reading(2, "beta.limit", 81.0))
    assert work_of(view, SHEETS[1]).done
    flow(view, SHEETS)
    assert COUNTS == {"alpha": 1, "beta": 2, "gamma": 1}, "only the step that reads the limit"


def test_only_the_step_asked_for_is_worked_out():
    view = view_of(reading(1, "alpha.size", 80.0))
    COUNTS.clear()
    work_of(view, SHEETS[0])
    assert COUNTS == {"alpha": 1}


ALPHA_SIZE = Number(key="alpha.size", label=L("Size"), kind="size", help=L("A trial."), low=0.5, high=200)


def test_a_header_or_card_counts_for_what_reads_it():
    calls = []

    @fact
    def ask(view, factor):
        calls.append(factor)
        card = view.card("bar")
        return factor * 2, view.header("title"), None if card is None else card.stated(ALPHA_SIZE)

    card = View(Document(id="card0000", type="card"))
    bar = Stamped(value="card0000", stamp=stamp(1))
    view = View(Document(id="job00000", header={"bar": bar}), {"card0000": card})
    assert [ask(view, 2), ask(view, 2), ask(view, 3)] == [(4, None, None), (4, None, None), (6, None, None)]
    assert calls == [2, 3]
    card.add(reading(1, "alpha.size", 1.0))
    assert ask(view, 2) == (4, None, 1.0) and calls == [2, 3, 2]
    card.add(reading(2, "beta.limit", 1.0))
    ask(view, 2)
    assert calls == [2, 3, 2], "what no one asked the card for"
    view.take(Document(id="job00000", header={"bar": bar, "title": Stamped(value="x", stamp=stamp(1))}))
    assert ask(view, 2) == (4, "x", 1.0) and calls == [2, 3, 2, 2]
    view.take(Document(id="job00000", header={"bar": bar, "title": Stamped(value="x", stamp=stamp(2))}))
    ask(view, 2)
    assert calls == [2, 3, 2, 2], "set again to the same"
    view.cards = {}
    assert ask(view, 2) == (4, "x", None)


def test_nothing_is_kept_when_the_view_is_gone():
    view = view_of(reading(1, "alpha.size", 80.0))
    flow(view, SHEETS)
    gone = weakref.ref(view)
    del view
    gc.collect()
    assert gone() is None


# -- timeline ------------------------------------------------------------------------------------------
def test_timeline_by_day_and_step():
    # 1 760 000 000 000 ms is 2025-10-09 08:53:20 UTC
    day = 24 * 60
    view = view_of(
        reading(1, "alpha.size", 80.0),
        reading(11, "alpha.size", 80.5, replaces="entry00001"),
        Note(**head(20), text="warm day"),
        reading(day, "beta.limit", 81.0),
        Chosen(**head(day + 5), what="gamma.word", value="yes"),
        Withdrawn(**head(day + 9, replaces=f"entry{day:05d}")),
    )
    t = timeline(view, sheets=SHEETS)
    assert t.days == ("2025-10-09", "2025-10-10")
    assert [(d, say(title), n, c, a, b) for d, title, n, c, a, b in t.rows] == [
        ("2025-10-09", "Step", 2, 1, 8 * 60 + 54, 9 * 60 + 4),
        ("2025-10-09", "Job", 1, 0, 9 * 60 + 13, 9 * 60 + 13),
        ("2025-10-10", "Step", 2, 1, 8 * 60 + 53, 9 * 60 + 2),
        ("2025-10-10", "Step", 1, 0, 8 * 60 + 58, 8 * 60 + 58),
    ]
    assert say(t.text) == "6 entries on 2 days, 2025-10-09 to 2025-10-10."


def test_timeline_in_the_readers_own_time():
    late = timeline(view_of(reading(1, "alpha.size", 80.0)), offset_minutes=16 * 60, sheets=SHEETS)
    assert late.days == ("2025-10-10",) and late.rows[0][4] == 54


def test_an_empty_timeline_says_so():
    t = timeline(view_of(), sheets=SHEETS)
    assert t.rows == () and say(t.text) == "Nothing has been entered yet."


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(0, 5000), unique=True, max_size=30), st.integers(-720, 840))
def test_a_timeline_counts_every_entry_once(minutes, offset):
    view = view_of(*(reading(m, "alpha.size" if m % 2 else "beta.limit", 80.0) for m in minutes))
    t = timeline(view, offset_minutes=offset, sheets=SHEETS)
    assert sum(row[2] for row in t.rows) == len(minutes)
    assert list(t.days) == sorted(set(t.days))
    assert all(0 <= row[4] <= row[5] < 1440 for row in t.rows)
