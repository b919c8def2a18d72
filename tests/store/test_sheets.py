"""What every step of the job has to keep to, whatever it is about."""

import json
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logic.fields import Field
from logic.result import Verdict, as_data
from logic.say import KINDS, Line, Style, say
from store.flow import needs
from store.sheets import NAMES, all_sheets, sheet
from store.sheets.base import Work
from store.view import View
from tests import sample

from .making import Making, filled

STYLES = (Style("in"), Style("mm"), Style("in", "F"))
VERDICTS = {Verdict.GO, Verdict.MAYBE, Verdict.STOP, Verdict.INFO}


def sentences(text):
    """How many sentences: a full stop inside a number or an abbreviation does not end one."""
    return len(re.findall(r"[.?!](?=\s+[A-Z“(]|\s*$)", text))


def fields():
    return [(name, f) for name in NAMES for f in sheet(name).fields.values()]


@pytest.fixture(params=NAMES)
def step(request):
    return sheet(request.param)


# -- what is declared ---------------------------------------------------------------------------
def test_steps_come_in_the_order_of_the_work():
    orders = [s.order for s in all_sheets()]
    assert orders == sorted(set(orders))
    assert [s.key for s in all_sheets()] == list(NAMES)


def test_what_a_step_depends_on_is_read_off_its_work():
    documents = sample.documents()
    kit = {d.id: View(d) for d in documents if d.type == "card"}
    found = needs(View(next(d for d in documents if d.type == "job"), kit))
    assert found["oversize"] >= {"bores", "walls", "sizes"} and found["walls"] >= {"bores", "sweep", "sizes"}
    assert all(key not in upstream and upstream <= set(NAMES) for key, upstream in found.items())


def test_a_key_means_one_thing_everywhere():
    first: dict[str, Field] = {}
    for name, f in fields():
        assert first.setdefault(f.key, f) is f, f"{f.key} is declared twice, the second time in {name}"


def test_groups_have_keys_of_their_own_and_no_field_is_asked_twice_in_a_step(step):
    keys = [g.key for g in step.groups]
    assert len(set(keys)) == len(keys)
    asked = [f.key for g in step.groups for f in g.fields]
    assert len(set(asked)) == len(asked)
    assert say(step.title) and sentences(say(step.purpose)) in (1, 2)
    assert all(say(g.title) for g in step.groups)


@pytest.mark.parametrize(("name", "f"), fields(), ids=lambda x: x if isinstance(x, str) else x.key)
def test_a_field_explains_itself(name, f):
    assert re.fullmatch(r"[a-z][a-z0-9_]*(\.[a-z0-9_]+)+", f.key)
    label, help = say(f.label), say(f.help)
    assert label and not label.endswith(".")
    assert 1 <= sentences(help) <= 2 and help.endswith((".", "?")), help
    assert "{" not in label + help


@pytest.mark.parametrize(("name", "f"), fields(), ids=lambda x: x if isinstance(x, str) else x.key)
def test_a_field_knows_what_is_plausible_and_where_its_default_comes_from(name, f):
    if f.default is not None:
        assert f.source.strip(), f.key
    if f.kind == "choice":
        values = [c.value for c in f.choices]
        assert len(values) > 1 and len(set(values)) == len(values)
        assert all(say(c.label) for c in f.choices)
        assert f.default is None or f.default in values
    elif f.kind == "text":
        assert not f.choices
    else:
        assert f.kind in KINDS and not f.choices
        assert f.low is not None and f.high is not None and f.low < f.high
        if f.default is not None:
            assert f.low <= f.default <= f.high


# -- what comes out -------------------------------------------------------------------------------
def every_line(thing):
    if isinstance(thing, Line):
        yield thing
    elif isinstance(thing, (tuple, list)):
        for part in thing:
            yield from every_line(part)


def check_work(step, view, work):  # noqa: C901  one claim after another about one answer
    """What must hold of any answer, however little or odd was entered."""
    assert isinstance(work, Work)
    asked = step.fields
    for key, place in work.missing:
        assert key in asked, f"{step.key} misses {key}, which it never asks for"
        assert set(place) == set(asked[key].at), key
        found = view.get(asked[key], **place)  # a default that is asked for all the same is no entry
        assert found is None or not found.entered, f"{key} is there, but called missing"
        # what is optional is only missed where the other half of it was entered
        assert not asked[key].optional or any(view.all(f) for f in asked.values() if f.optional), key
    if work.done:
        assert not work.missing and work.blocked is None
    keys = [r.key for r in work.results]
    assert len(set(keys)) == len(keys), keys
    texts = {}
    for r in work.results:
        assert r.verdict in VERDICTS
        assert r.assumptions, f"{r.key} assumes nothing, or does not say what"
        assert all(a.source for a in r.assumptions)
        assert r.confidence is None or 0 <= r.confidence <= 1
        assert sum(i.share for i in r.influences) == pytest.approx(1, abs=1e-6) or not r.influences
        assert len({f.key for f in r.figures}) == len(r.figures), r.key
        for c in r.cautions:
            assert texts.setdefault(c.key, say(c.text)) == say(c.text), c.key
        for style in STYLES:
            json.dumps(as_data(r, style))
            assert say(r.line, style).strip()
    for c in (*work.cautions, *step.cautions):
        assert texts.setdefault(c.key, say(c.text)) == say(c.text), c.key
    for picture in work.pictures:
        json.dumps(as_data(picture))
        assert say(picture.title) and say(picture.text)
    for g in step.groups:
        for place in g.places(view):
            for f in g.fields:
                assert set(place) == set(f.at), f"{f.key} belongs to {f.at}, its group offers {place}"
            if place:
                assert g.name is not None and say(g.name(place)), g.key
    return texts


@pytest.mark.parametrize(
    "job",
    [Making(), Making(nominal=76.2), Making(nominal=76.2, cylinders=4), Making(cylinders=1)],
    ids=["empty", "nominal", "four", "one"],
)
def test_a_new_job_is_told_what_to_enter(step, job):
    view = job.view()
    work = step.work(view)
    check_work(step, view, work)
    assert work.missing or work.blocked or not work.done
    if work.blocked is not None:
        assert sentences(say(work.blocked)) >= 1


@settings(max_examples=35, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from([0.15, 0.5, 0.85, 1.0]), st.booleans())
def test_no_plausible_set_of_entries_breaks_a_step(seed, density, calm):
    view = filled(seed, density, calm).view()
    texts = {}
    for step in all_sheets():
        for key, text in check_work(step, view, step.work(view)).items():
            assert texts.setdefault(key, text) == text, f"caution {key} says two things"


@settings(max_examples=4, deadline=None)
@given(st.integers(0, 10**6))
def test_working_a_step_changes_nothing(seed):
    view = filled(seed, 0.9, True).view()
    before = view.document.model_dump()
    first = [as_data(step.work(view)) for step in all_sheets()]
    assert [as_data(step.work(view)) for step in all_sheets()] == first
    assert view.document.model_dump() == before
