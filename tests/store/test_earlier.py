"""Figures of an earlier job: taken over, marked, in doubt until one confirmation, and never over what was entered."""

from __future__ import annotations

import pytest

from logic.say import L, say
from store import earlier
from store.documents import Decision, Stamped
from store.doubting import ways
from store.facts.evidence import doubts, stands_key
from store.facts.taken import NOMINAL, TAKEN, taken_keys
from store.fields import bores, clamp, compression, face, parts, rings, sizes
from store.flow import work_of
from store.sheets import sheet
from store.view import View
from tests.store.making import Making


def old_job() -> Making:
    making = Making(nominal=80.0, cylinders=2, title="Invented job of last year", engine="Invented  two-cylinder")
    making.put(sizes.CLEARANCE, 0.05)
    making.put(sizes.ALLOY, "hyper")
    making.put(rings.LEAST, 0.3, ring=1)
    making.put(rings.LEAST, 0.4, ring=2)
    making.put(compression.DECK, 0.4)
    making.put(clamp.STUDS, 4)
    making.put(parts.PER_HOUR, 55)
    making.put(bores.READING, 0.1, cylinder=1, depth=1, axis="thrust")
    making.put(sizes.PISTON, 80.4, cylinder=1)
    return making


def taken_into(making: Making) -> View:
    """The job with everything taken over, each entry with the next stamp."""
    view, old = making.view(), old_job().view()
    for made in earlier.drafts(view, earlier.takeable(view, old), title="Invented job of last year"):
        making.entries.append(made.model_copy(update=making._head()))
    return making.view()


def test_only_what_belongs_to_the_engine_is_offered() -> None:
    making = Making(nominal=80.0, cylinders=2)
    making.put(sizes.CLEARANCE, 0.06)  # said here already: stays
    found = earlier.takeable(making.view(), old_job().view())
    keys = [f.field.key for f in found]
    assert keys.count("rings.least") == 2 and "sizes.clearance" not in keys
    assert not {"bore.reading", "sizes.piston"} & set(keys)  # measured on that block, not on this one
    assert {"sizes.alloy", "compression.deck", "clamp.studs", "parts.per_hour"} <= set(keys)
    alloy = next(f for f in found if f.field.key == "sizes.alloy")
    assert isinstance(alloy.shown, type(L(""))) and "hypereutectic" in say(alloy.shown)


def test_taken_over_is_in_doubt_until_confirmed_once() -> None:
    making = Making(nominal=80.0, cylinders=2)
    view = taken_into(making)
    assert view.number(sizes.CLEARANCE) == 0.05 and view.number(rings.LEAST, ring=2) == 0.4
    (doubt,) = [d for d in doubts(view) if d.key == "taken"]
    assert "7 figures come from the job Invented job of last year" in say(doubt.line)
    held = work_of(view, sheet("compression")).doubts
    assert "taken" in {d.key for d in held} and not work_of(view, sheet("compression")).done
    making.decide(stands_key("taken"), "stands")
    assert not [d for d in doubts(making.view()) if d.key == "taken"] and taken_keys(making.view()) == ()


def test_the_nominal_bore_comes_along_where_there_is_none_and_is_to_be_confirmed() -> None:
    old = old_job().view()
    assert earlier.nominal(Making(nominal=80.5).view(), old) is None
    blank = Making(cylinders=2)
    held = earlier.nominal(blank.view(), old)
    assert held is not None and held.value == 80.0
    blank.header["nominal"] = Stamped(value=held, stamp=blank._head()["stamp"])
    for made in earlier.drafts(blank.view(), (), title="Invented job of last year", also=(NOMINAL,)):
        blank.entries.append(made.model_copy(update=blank._head()))
    view = blank.view()
    (doubt,) = [d for d in doubts(view) if d.key == "taken"]
    assert doubt.about == ((NOMINAL, ()),) and taken_keys(view) == (NOMINAL,)
    assert [w.part for w in ways(view, doubt)] == ["details"]  # where it is corrected
    assert earlier.nominal(Making().view(), view) is None  # not handed on while nobody confirmed it
    # set anew in the details: no longer the earlier job's
    blank.header["nominal"] = Stamped(value=held, stamp=blank._head()["stamp"])
    assert taken_keys(blank.view()) == ()


def test_the_skim_of_the_earlier_job_is_offered() -> None:
    old = old_job()
    old.put(face.SKIM, 0.15)
    assert "face.skim" in [f.field.key for f in earlier.takeable(Making(nominal=80.0, cylinders=2).view(), old.view())]


def test_a_figure_entered_anew_is_no_longer_in_doubt() -> None:
    making = Making(nominal=80.0, cylinders=2)
    view = taken_into(making)
    before = next(d for d in doubts(view) if d.key == "taken")
    old = view.get(sizes.CLEARANCE)
    assert old is not None and old.entry is not None
    new = making.put(sizes.CLEARANCE, 0.055)
    making.entries[-1] = new.model_copy(update={"replaces": old.entry.id})
    after = next(d for d in doubts(making.view()) if d.key == "taken")
    assert len(after.about) == len(before.about) - 1
    assert "sizes.clearance" not in taken_keys(making.view())


def test_nothing_unconfirmed_is_handed_on_and_nothing_is_taken_twice() -> None:
    making = Making(nominal=80.0, cylinders=2)
    view = taken_into(making)
    assert earlier.takeable(view, old_job().view()) == ()
    third = Making(nominal=80.0, cylinders=2).view()
    assert earlier.takeable(third, view) == ()
    making.decide(stands_key("taken"), "stands")
    assert len(earlier.takeable(third, making.view())) == 7
    assert earlier.drafts(view, (), title="x") == []


def test_the_decision_keeps_whose_they_are() -> None:
    view = taken_into(Making(nominal=80.0))
    decision = view.decision(TAKEN)
    assert isinstance(decision, Decision) and decision.value == "Invented job of last year"
    assert set(decision.advised.split()) == set(taken_keys(view))


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [("Twin  Invented", "twin invented", True), ("Twin", "Twins", False), ("", "", False), (" ", "", False)],
)
def test_the_same_engine_by_its_name(one: str, other: str, same: bool) -> None:
    assert earlier.same_engine(one, other) is same
