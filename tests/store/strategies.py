"""Documents made up by Hypothesis. Few ids, stamps and values, so that they collide often."""

from __future__ import annotations

from hypothesis import strategies as st

from store.clock import join
from store.documents import CautionSeen, Chosen, Decision, Document, Note, Reading, Skipped, Stamped, Typed, Withdrawn
from store.merge import normal

DEVICES = ("devicea0", "deviceb0", "devicec0")
IDS = tuple(f"entry{n:03d}" for n in range(12))

text = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)
devices = st.sampled_from(DEVICES)
stamps = st.builds(join, st.integers(1_700_000_000_000, 1_700_000_000_004), st.integers(0, 2), devices)
numbers = st.sampled_from((0.0, -0.0, 76.2, -0.01, 1e-9)) | st.floats(-1e9, 1e9, allow_nan=False)
typed = st.builds(Typed, text=text, typed_unit=st.sampled_from(("in", "mm")), value=numbers, unit=st.just("mm"))
places = st.fixed_dictionaries(
    {},
    optional={"cylinder": st.integers(1, 4), "depth": st.integers(1, 3), "axis": st.sampled_from(("thrust", "crank"))},
)
keys = st.sampled_from(("trial.size", "trial.note", "trial.kind"))

_common = {"id": st.sampled_from(IDS), "stamp": stamps, "device": devices, "by": st.sampled_from(("", "Ada", "Bo"))}
_replaces = st.none() | st.sampled_from(IDS)

entries = st.one_of(
    st.builds(Reading, **_common, what=keys, at=places, typed=typed, replaces=_replaces),
    st.builds(Chosen, **_common, what=keys, at=places, value=text, replaces=_replaces),
    st.builds(Decision, **_common, what=keys, at=places, value=text, typed=st.none() | typed),
    st.builds(Note, **_common, text=text, at=places),
    st.builds(CautionSeen, **_common, what=keys),
    st.builds(Skipped, **_common, what=keys, reason=text),
    st.builds(Withdrawn, **_common, replaces=st.sampled_from(IDS)),
)
header_keys = st.sampled_from(("title", "customer", "extra"))
stamped = st.builds(
    Stamped,
    value=st.none() | text | st.booleans() | st.integers(0, 2) | typed,
    stamp=stamps,
    by=st.sampled_from(("", "Ada")),
    over=st.lists(stamps, max_size=2).map(tuple),
)
#: Any document, in normal form: what is stored and exported always is.
documents = st.builds(
    Document,
    id=st.just("document"),
    type=st.sampled_from(("job", "card")),
    header=st.dictionaries(header_keys, stamped, max_size=3),
    earlier=st.dictionaries(header_keys, st.lists(stamped, max_size=3).map(tuple), max_size=2),
    entries=st.lists(entries, max_size=8).map(tuple),
).map(normal)
