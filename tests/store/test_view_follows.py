"""A view that was open while copies met says what one made afresh says, whatever ids they gave twice."""

from __future__ import annotations

from hypothesis import given, settings

from store.documents import Document
from store.merge import merge
from store.view import View

from .strategies import documents


@settings(max_examples=300, deadline=None)
@given(documents, documents, documents)
def test_an_open_view_and_one_made_afresh_agree(a: Document, b: Document, c: Document) -> None:
    followed = View(a)
    for more in (b, c):
        a = merge(a, more)
        followed.take(a)
    fresh = View(a)
    assert dict(followed.entries) == dict(fresh.entries)
    assert followed.folded.lists() == fresh.folded.lists()
    assert followed.folded.slots == fresh.folded.slots and followed.folded.dead == fresh.folded.dead
    assert followed.document.header == fresh.document.header
