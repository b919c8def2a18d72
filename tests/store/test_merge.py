"""The laws of merging: the order does not matter, twice is once, and nothing is lost."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from store.clock import Clock
from store.documents import Document, Note, Stamped
from store.form import canonical, data_of, document_of, entry_data, stamped_data
from store.merge import add_entries, conflicts, heads, merge, normal, set_value

from .strategies import documents, entries

MODEST = settings(max_examples=150, deadline=None)


def text(document: Document) -> str:
    return canonical(data_of(document))


def contents(document: Document) -> set[str]:
    """Every entry without its id, and every header value: what must never be lost."""
    kept = set()
    for entry in document.entries:
        data = entry_data(entry)
        del data["id"]
        kept.add(canonical(data))
    for key in {*document.header, *document.earlier}:
        for value in (*document.earlier.get(key, ()), *filter(None, (document.header.get(key),))):
            kept.add(key + canonical(stamped_data(value)))
    return kept


@MODEST
@given(documents, documents)
def test_merging_is_commutative(a: Document, b: Document) -> None:
    assert text(merge(a, b)) == text(merge(b, a))


@MODEST
@given(documents, documents, documents)
def test_merging_is_associative(a: Document, b: Document, c: Document) -> None:
    assert text(merge(merge(a, b), c)) == text(merge(a, merge(b, c)))


@MODEST
@given(documents, documents)
def test_merging_is_idempotent(a: Document, b: Document) -> None:
    both = merge(a, b)
    assert text(merge(a, a)) == text(a)
    assert text(merge(both, a)) == text(merge(both, b)) == text(both)


@MODEST
@given(documents, documents)
def test_merging_loses_nothing_and_invents_nothing(a: Document, b: Document) -> None:
    assert contents(merge(a, b)) == contents(a) | contents(b)


@MODEST
@given(documents)
def test_the_plain_form_gives_the_document_back(a: Document) -> None:
    assert text(document_of(data_of(a))) == text(a)
    assert document_of(data_of(a)) == a


@MODEST
@given(documents, st.lists(entries, max_size=4))
def test_adding_entries_is_the_same_as_merging_them_in(a: Document, more: list) -> None:
    other = normal(a.model_copy(update={"header": {}, "earlier": {}, "entries": tuple(more)}))
    assert text(add_entries(a, more)) == text(merge(a, other))


def note(words: str, id: str = "entry000", ms: int = 1_700_000_000_000) -> Note:
    return Note(id=id, stamp=f"{ms}-00000-devicea0", device="devicea0", text=words)


def with_entries(*entries: Note) -> Document:
    return Document(id="document", entries=entries)


def test_one_id_with_different_contents_keeps_both() -> None:
    early, late = note("early"), note("late", ms=1_700_000_000_001)
    both = merge(with_entries(late), with_entries(early))
    assert [(e.id == "entry000", e.text) for e in both.entries] == [(True, "early"), (False, "late")]
    # the copy's id comes from its contents: another device arrives at the same one
    again = merge(with_entries(early), with_entries(late))
    assert [e.id for e in again.entries] == [e.id for e in both.entries]
    assert len(merge(both, with_entries(late)).entries) == 2


def test_the_later_header_value_wins_and_the_earlier_stays() -> None:
    a = set_value(Document(id="document"), "title", "First", "1700000000000-00000-devicea0", "Ada")
    b = set_value(a, "title", "Second", "1700000000005-00000-deviceb0", "Bo")
    both = merge(a, b)
    assert both.header["title"].value == "Second"
    assert [v.value for v in both.earlier["title"]] == ["First"]
    assert conflicts(both) == (), "Bo saw Ada's title and changed it: no conflict"


def test_values_set_apart_are_a_conflict_until_one_is_set_over_both() -> None:
    base = set_value(Document(id="document"), "title", "Base", "1700000000000-00000-devicea0", "Ada")
    a = set_value(base, "title", "Ada's", "1700000000001-00000-devicea0", "Ada")
    b = set_value(base, "title", "Bo's", "1700000000002-00000-deviceb0", "Bo")
    both = merge(a, b)
    (conflict,) = conflicts(both)
    assert conflict.key == "title" and conflict.document == "document"
    assert [(v.value, v.by) for v in conflict.values] == [("Bo's", "Bo"), ("Ada's", "Ada")]
    # it survives being merged again, and more copies
    assert conflicts(merge(both, base)) == (conflict,)
    settled = set_value(both, "title", "Ada's", "1700000000003-00000-deviceb0", "Bo")
    assert conflicts(settled) == ()
    assert conflicts(merge(settled, both)) == (), "a copy that has not heard of it changes nothing"
    assert merge(settled, a).header["title"].value == "Ada's"


def test_the_same_value_set_apart_is_no_conflict() -> None:
    a = set_value(Document(id="document"), "title", "Same", "1700000000001-00000-devicea0", "Ada")
    b = set_value(Document(id="document"), "title", "Same", "1700000000002-00000-deviceb0", "Bo")
    assert len(heads(merge(a, b), "title")) == 2
    assert conflicts(merge(a, b)) == ()


def test_true_and_one_are_different_values() -> None:
    stamp = "1700000000001-00000-devicea0"
    a = Document(id="document", header={"extra": Stamped(value=True, stamp=stamp)})
    b = Document(id="document", header={"extra": Stamped(value=1, stamp=stamp)})
    assert len(heads(merge(a, b), "extra")) == 2
    assert text(merge(a, b)) == text(merge(b, a))


def test_different_documents_are_not_merged() -> None:
    try:
        merge(Document(id="document"), Document(id="another0"))
    except ValueError:
        return
    raise AssertionError("merged two different documents")


@MODEST
@given(st.lists(st.integers(0, 2), min_size=1, max_size=12))
def test_three_copies_that_meet_by_files_end_equal(order: list[int]) -> None:
    """Each device sets the title and adds a note in turn; then they meet in two different orders."""
    start = Document(id="document")
    copies = [start, start, start]
    clocks = [Clock(f"device{x}0", lambda: 1_700_000_000_000) for x in "abc"]
    for step, who in enumerate(order):
        stamp = clocks[who].tick(max((v.stamp for v in heads(copies[who], "title")), default=""))
        copies[who] = set_value(copies[who], "title", f"title {step}", stamp, str(who))
        stamp = clocks[who].tick()
        copies[who] = add_entries(
            copies[who], [Note(id=f"note{step:04d}", stamp=stamp, device=clocks[who].device, text=str(step))]
        )
    one = merge(merge(copies[0], copies[1]), copies[2])
    two = merge(copies[2], merge(copies[1], copies[0]))
    assert text(one) == text(two)
    assert len(one.entries) == len(order)
    assert (len({*order}) > 1) == bool(conflicts(one)), "a title set on two devices apart is a conflict"
