"""The export file: readable, stable, described by a schema, and checked to the last byte on the way in."""

from __future__ import annotations

import base64
import hashlib
import json
import tracemalloc
from collections.abc import Callable
from time import process_time
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logic.fields import Choice, Number, Select
from logic.say import L
from store import draft, transfer
from store.documents import Chosen, Document, value_of
from store.errors import Refused
from store.form import canonical, checksum
from store.jobs import Jobs
from store.memory import MemoryBackend
from store.merge import normal
from store.transfer import Limits, examine, json_schema, write

from .strategies import documents
from .support import NOW, Time, inches, reading, run

SIZE = Number(
    key="trial.reading", label=L("Bore size"), kind="size", help=L("A trial."), low=20, high=200, at=("cylinder",)
)
KIND = Select(key="trial.kind", label=L("Kind"), help=L("A trial."), choices=(Choice("one", L("One")),))
FIELDS = {f.key: f for f in (SIZE, KIND)}
DEVICE = "devicea0"


def look(data: bytes, **more: Any) -> transfer.Incoming:
    return examine(data, **{"now_ms": NOW + 10**6, "fields": FIELDS, **more})


def refusal(data: bytes, **more: Any) -> Refused:
    with pytest.raises(Refused) as refused:
        look(data, **more)
    assert str(refused.value)
    return refused.value


async def _sample() -> bytes:
    jobs = await Jobs.open(MemoryBackend(), now_ms=Time())
    for number in range(3):
        made = await jobs.create(title=f"Jöb {number}", nominal=inches("3.0"), cylinders=4)
        await jobs.append(made.id, *(reading(f"3.01{k}", depth=k + 1) for k in range(4)))
        await jobs.append(made.id, draft.note('Brackets ] } and "quotes" \\ in\nprose'))
        await jobs.set_header(made.id, title=f"Jöb {number}, renamed")
    return await jobs.export()


SAMPLE = run(_sample())


def changed(change: Callable[[dict[str, Any]], Any], *, seal: bool = True) -> bytes:
    """The sample with a change, its checksums made right again: as an attacker would."""
    data = json.loads(SAMPLE)
    change(data)
    if seal:
        for part in data["documents"]:
            part["sha256"] = checksum(canonical(part["document"]))
        sums = [data["made"], data["device"], *(p["sha256"] for p in data["documents"])]
        sums += [p["digest"] for p in data.get("photos", [])]
        data["sha256"] = checksum("".join(s + "\n" for s in sums))
    return json.dumps(data).encode()


def first(change: Callable[[dict[str, Any]], Any]) -> bytes:
    """The sample with a change to its first document."""
    return changed(lambda data: change(data["documents"][0]["document"]))


# -- the form -------------------------------------------------------------------------------


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(documents, max_size=3))
def test_whatever_is_exported_is_read_back_the_same(made: list[Document]) -> None:
    many = [d.model_copy(update={"id": f"document{n}"}) for n, d in enumerate(made)]
    data = write(many, device=DEVICE, made_ms=NOW)
    # header fields with a meaning have rules of their own: tried further down
    plain = [d for d in many if all(v is None or isinstance(v, str) for v in _words(d))]
    if len(plain) == len(many):
        coming = examine(data, now_ms=NOW, fields={})
        assert list(coming.documents()) == many
        assert [c.entries for c in coming.coming] == [len(d.entries) for d in many]
    assert write(list(reversed(many)), device=DEVICE, made_ms=NOW) == data
    jsonschema.Draft202012Validator(SCHEMA).validate(json.loads(data))


def _words(document: Document) -> list[Any]:
    keys = ("title", "customer")
    values = [s for k in keys for s in (*document.earlier.get(k, ()), *filter(None, (document.header.get(k),)))]
    return [s.value for s in values]


SCHEMA = json.loads(json_schema())


def test_the_schema_that_is_checked_in_is_the_one_the_models_give() -> None:
    assert transfer.SCHEMA_FILE.read_text(encoding="utf-8") == json_schema(), "run: python -m store.transfer"


def test_the_schema_describes_every_field() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    for name, definition in {"ExportFile": SCHEMA, **SCHEMA["$defs"]}.items():
        assert definition.get("description"), name
        for key, value in definition.get("properties", {}).items():
            assert value.get("description"), f"{name}.{key}"


def test_the_schema_accepts_the_sample_and_not_what_is_misshapen() -> None:
    validator = jsonschema.Draft202012Validator(SCHEMA)
    validator.validate(json.loads(SAMPLE))
    for change in (
        lambda d: d["documents"][0]["document"]["entries"][0].pop("kind"),
        lambda d: d["documents"][0]["document"]["entries"][0].update(extra=1),
        lambda d: d["documents"][0]["document"].update(id="NO"),
        lambda d: d.pop("sha256"),
    ):
        assert not validator.is_valid(json.loads(changed(change, seal=False)))


def test_it_reads_well_in_a_text_editor() -> None:
    lines = SAMPLE.decode().splitlines()
    assert lines[:3] == ["{", '"boreside": "export",', '"format": 1,']
    assert sum('"kind": "reading"' in line for line in lines) == 12
    assert all(line.count('"kind"') <= 1 for line in lines), "one entry to a line"
    assert any('"title": {"value": "Jöb 0, renamed"' in line for line in lines), "letters are not escaped"
    assert max(map(len, lines)) < 400


def test_another_layout_of_the_same_json_is_read_too() -> None:
    for text in (json.dumps(json.loads(SAMPLE)), json.dumps(json.loads(SAMPLE), indent=4, ensure_ascii=False)):
        assert list(look(text.encode()).documents()) == list(look(SAMPLE).documents())
    assert look(b"\xef\xbb\xbf" + SAMPLE).count == 3, "some editors put a byte order mark in front"


# -- where it broke ----------------------------------------------------------------------------


def test_a_file_cut_off_anywhere_says_where() -> None:
    text = SAMPLE.decode()
    for cut in range(1, len(SAMPLE.rstrip()) - 1, 23):
        refused = refusal(SAMPLE[:cut])
        if refused.code == "format":
            assert cut < 40
            continue
        assert refused.code == "truncated"
        before = SAMPLE[:cut].decode(errors="ignore")
        assert abs(refused.line.values["row"] - (before.count("\n") + 1)) <= 1
        assert refused.line.values["whole"] == before.count("\n}},\n") + before.count("\n}}\n]")
        if "title" in refused.line.values:
            assert refused.line.values["title"] in text


def test_what_is_whole_in_a_cut_off_file_can_be_taken() -> None:
    cut = SAMPLE.rindex(b'"kind": "reading"')
    coming = look(SAMPLE[:cut], whole_parts=True)
    assert list(coming.documents()) == list(look(SAMPLE).documents())[:2]
    assert "breaks off" in str(coming.notices[0])
    assert refusal(SAMPLE[:60], whole_parts=True).code == "truncated"


def test_any_single_changed_character_is_noticed() -> None:
    """A changed digit keeps it valid JSON; only a checksum can tell."""
    for position in range(90, len(SAMPLE), 61):
        old = SAMPLE[position : position + 1]
        new = b"7" if old != b"7" else b"8"
        if not old.isalnum():
            continue
        bad = SAMPLE[:position] + new + SAMPLE[position + 1 :]
        refused = refusal(bad)
        assert refused.code in ("changed", "truncated", "damaged", "format", "entry", "number"), position
    digit = SAMPLE.index(b"3.012") + 4
    refused = refusal(SAMPLE[:digit] + b"9" + SAMPLE[digit + 1 :])
    assert refused.code == "changed"
    assert "Jöb" in str(refused) and refused.line.values["number"] == 1


def test_parts_left_out_or_slipped_in_are_noticed() -> None:
    assert refusal(changed(lambda d: d["documents"].pop(), seal=False)).code == "changed"
    assert refusal(changed(lambda d: d["documents"].append(d["documents"][0]), seal=False)).code == "changed"
    assert refusal(changed(lambda d: d.update(count=7))).code == "changed"


# -- hostile ------------------------------------------------------------------------------------

ENTRY = {
    "id": "hostile0",
    "kind": "reading",
    "stamp": f"{NOW}-00000-devicea0",
    "device": DEVICE,
    "what": "trial.reading",
    "at": {"cylinder": 1},
    "typed": {"text": "3", "typed_unit": "in", "value": 76.2, "unit": "mm"},
}


def entry(**values: Any) -> bytes:
    return first(lambda d: d["entries"].append({**ENTRY, **values}))


def header(**values: Any) -> bytes:
    return first(
        lambda d: d["header"].update(
            {k: {"value": v, "stamp": f"{NOW + 500_000}-00001-devicea0"} for k, v in values.items()}
        )
    )


def typed(**values: Any) -> bytes:
    return entry(typed={**ENTRY["typed"], **values})  # type: ignore[dict-item]


HOSTILE: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "format"),
    "not text": (b"\xff\xfe\x00\x01" * 50, "format"),
    "a picture": (b"\x89PNG\r\n\x1a\n" + bytes(100), "format"),
    "an archive": (b"PK\x03\x04" + bytes(100), "format"),
    "other json": (b'{"documents": [], "count": 0}', "format"),
    "a list": (b"[1, 2]", "format"),
    "a web page": (b"<script>alert(1)</script>", "format"),
    "one brace": (b"{", "format"),
    "newer file": (changed(lambda d: d.update(format=2)), "newer"),
    "newer document": (first(lambda d: d.update(schema_version=2)), "newer"),
    "no version": (first(lambda d: d.pop("schema_version")), "version"),
    "version is text": (first(lambda d: d.update(schema_version="1")), "version"),
    "version is true": (first(lambda d: d.update(schema_version=True)), "version"),
    "deep lists": (b'{"boreside": "export", "documents": ' + b"[" * 200_000, "nesting"),
    "deep objects": (b'{"a":' * 200_000, "nesting"),
    "deep in an entry": (entry(at={"cylinder": [[[[[[[[[[1]]]]]]]]]]}), "nesting"),
    "duplicate key": (SAMPLE.replace(b'"type": "job"', b'"type": "job", "type": "job"', 1), "duplicate"),
    "duplicate documents": (SAMPLE.replace(b'"count": 3', b'"documents": [], "count": 3', 1), "duplicate"),
    "not a number": (SAMPLE.replace(b'"value": 76.2,', b'"value": NaN,', 1), "number"),
    "infinity": (SAMPLE.replace(b'"value": 76.2,', b'"value": Infinity,', 1), "number"),
    "too large a float": (SAMPLE.replace(b'"value": 76.2,', b'"value": 1e999,', 1), "number"),
    "too many digits": (SAMPLE.replace(b'"value": 76.2,', b'"value": ' + b"9" * 10_000 + b",", 1), "number"),
    "a million digits": (SAMPLE.replace(b'"value": 76.2,', b'"value": 0.' + b"1" * 1_000_000 + b",", 1), "changed"),
    "a value beyond storing": (typed(value=1e10), "entry"),
    "a number as text": (typed(value="76.2"), "entry"),
    "wrong unit": (typed(unit="in"), "unit"),
    "unknown kind": (entry(kind="exec"), "entry"),
    "no kind": (first(lambda d: d["entries"][0].pop("kind")), "entry"),
    "text for a number": (
        first(
            lambda d: d["entries"].append(
                {**{k: v for k, v in ENTRY.items() if k != "typed"}, "kind": "chosen", "value": "x"}
            )
        ),
        "kind",
    ),
    "number for a choice": (entry(what="trial.kind"), "kind"),
    "cylinder is text": (entry(at={"cylinder": "../../etc"}), "place"),
    "cylinder is huge": (entry(at={"cylinder": 10**9}), "place"),
    "cylinder is zero": (entry(at={"cylinder": 0}), "place"),
    "many places": (entry(at={f"a{n}": 1 for n in range(500)}), "place"),
    "path as id": (entry(id="../../../../etc/passwd"), "entry"),
    "path as document id": (first(lambda d: d.update(id="../../x")), "entry"),
    "capital in id": (first(lambda d: d.update(id="ABCDEFGH")), "entry"),
    "id with newline": (first(lambda d: d.update(id="abcdefgh\n")), "entry"),
    "stamp beyond all clocks": (entry(stamp="9999999999999-99999-devicea0"), "stamp"),
    "stamp misshapen": (entry(stamp="yesterday"), "entry"),
    "long text": (entry(by="x" * 1000), "entry"),
    "extra field": (entry(__class__="x"), "entry"),
    "lone surrogate": (entry(by="\ud800"), "entry"),
    "entries not a list": (first(lambda d: d.update(entries={"0": ENTRY})), "format"),
    "entry not an object": (first(lambda d: d["entries"].append([1])), "entry"),
    "header not an object": (first(lambda d: d.update(header=[])), "format"),
    "header value a list": (first(lambda d: d["header"].update(title=["x"])), "format"),
    "earlier not lists": (first(lambda d: d.update(earlier={"title": 5})), "format"),
    "a billion cylinders": (header(cylinders=10**9), "header"),
    "cylinders is true": (header(cylinders=True), "header"),
    "cylinders is text": (header(cylinders="4"), "header"),
    "title is a number": (header(title=5), "header"),
    "deleted is text": (header(deleted="no"), "header"),
    "nominal in inches": (header(nominal={"text": "3", "typed_unit": "in", "value": 3.0, "unit": "in"}), "header"),
    "many header fields": (header(**{f"k{n}": 1 for n in range(300)}), "size"),
    "document not an object": (
        changed(lambda d: d["documents"].append({"sha256": "0" * 64, "document": []}), seal=False),
        "format",
    ),
    "part with more in it": (changed(lambda d: d["documents"][0].update(more=1)), "format"),
    "extra in the head": (changed(lambda d: d.update(script="<script>")), "format"),
    "photo that is not its digest": (
        changed(lambda d: d.update(photos=[{"digest": "0" * 64, "media": "image/png", "data": "AAAA"}])),
        "damaged",
    ),
    "photo not base64": (
        changed(lambda d: d.update(photos=[{"digest": "0" * 64, "media": "image/png", "data": "<svg>"}])),
        "damaged",
    ),
    "photo of another kind": (
        changed(lambda d: d.update(photos=[{"digest": "0" * 64, "media": "image/svg+xml", "data": "AAAA"}])),
        "format",
    ),
}


def test_the_changes_themselves_do_not_refuse() -> None:
    """The helpers above make good files when nothing bad is in them."""
    assert look(changed(lambda d: None)).count == 3
    assert look(entry()).coming and look(header(title="x")).coming


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_refused_with_a_sentence(name: str) -> None:
    data, code = HOSTILE[name]
    assert refusal(data).code == code


def test_a_hostile_file_leaves_the_store_untouched(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(transfer, "declared", lambda: FIELDS)

    async def work() -> None:
        memory = MemoryBackend()
        jobs = await Jobs.open(memory)
        made = await jobs.create(title="Mine")
        await jobs.append(made.id, reading("3.0"))
        before = (dict(memory.texts), dict(memory.index), dict(memory.settings), dict(memory.photos))
        for data, _ in HOSTILE.values():
            try:
                coming = await jobs.examine(data)
            except Refused:
                continue
            # one bad part: the two good ones are offered, the bad one is named
            assert coming.count == 2 or not coming.photos
            assert any(str(n).startswith(("Left out", "Photos in the file")) for n in coming.notices)
        await jobs.examine(SAMPLE)
        assert (memory.texts, memory.index, memory.settings, memory.photos) == before

    run(work())


def test_too_large_a_file_is_refused_before_it_is_read() -> None:
    assert refusal(SAMPLE, limits=Limits(file_bytes=len(SAMPLE) - 1)).code == "size"
    assert refusal(SAMPLE, limits=Limits(part_chars=200)).code == "size"
    assert refusal(SAMPLE, limits=Limits(entries=4)).code == "size"


BOMBS = {
    "empty lists": b"[" + b"[]," * 2_000_000 + b"[]]",
    "empty objects": b"[" + b"{}," * 2_000_000 + b"{}]",
    "many names": b"{" + b",".join(b'"k%d":null' % n for n in range(500_000)) + b"}",
    "many numbers": b"[" + b"1," * 3_000_000 + b"1]",
    "one long text": b'"' + b"x" * 6_000_000 + b'"',
    "quotes without end": b'"' + b'\\"' * 3_000_000,
    "quotes": b'"",' * 2_000_000,
    "backslashes": b'"' + b"\\" * 6_000_001,
}


@pytest.mark.parametrize("where", ["entries", "head"])
@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_costs_little_time_and_memory(name: str, where: str) -> None:
    """6 MB of whatever costs most: refused with at most 20 bytes of memory for each byte, in seconds."""
    if where == "head":
        data = b'{"boreside": "export", "x": ' + BOMBS[name] + b', "documents": []}'
    else:
        data = SAMPLE.replace(b'"entries": [', b'"entries": ' + BOMBS[name] + b', "x": [', 1)
    limits = Limits(file_bytes=48_000_000, part_chars=8_000_000, entries=30_000)
    tracemalloc.start()
    begun = process_time()
    refused = refusal(data, limits=limits)
    taken = process_time() - begun
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert refused.code in ("size", "format", "changed", "truncated", "damaged")
    assert peak < 20 * len(data), f"{peak / len(data):.0f} bytes for each"
    assert taken < 20


# -- odd, but kept ----------------------------------------------------------------------------


def test_an_implausible_value_is_flagged_and_kept() -> None:
    coming = look(typed(text="900", typed_unit="mm", value=900.0))
    title = json.loads(SAMPLE)["documents"][0]["document"]["header"]["title"]["value"]
    assert [str(n) for n in coming.notices] == [f"In “{title}” a value is not plausible: Bore size, 900 mm."]
    assert 900.0 in {e.typed.value for e in next(coming.documents()).entries if e.kind == "reading"}


def test_unknown_choices_and_fields_are_kept() -> None:
    chosen = {k: v for k, v in ENTRY.items() if k != "typed"} | {
        "kind": "chosen",
        "what": "trial.kind",
        "value": "other",
    }
    coming = look(first(lambda d: d["entries"].append(chosen)))
    assert [n.values["value"] for n in coming.notices] == ["other"]
    assert [e.value for e in next(coming.documents()).entries if isinstance(e, Chosen)] == ["other"]
    coming = look(entry(what="not.known_here", typed={"text": "9", "typed_unit": "x", "value": 9.0, "unit": "x"}))
    assert coming.notices == () and "not.known_here" in {
        getattr(e, "what", "") for e in next(coming.documents()).entries
    }


def test_many_odd_values_do_not_make_a_wall_of_sentences() -> None:
    def add(document: dict[str, Any]) -> None:
        for n in range(500):
            document["entries"].append({**ENTRY, "id": f"hostile{n:04d}", "typed": {**ENTRY["typed"], "value": 999.0}})  # type: ignore[dict-item]

    notices = look(first(add)).notices
    assert len(notices) == 21 and notices[-1].values["count"] == 480


def test_entries_with_one_id_are_both_kept_and_said() -> None:
    coming = look(first(lambda d: d["entries"].extend([{**ENTRY}, {**ENTRY, "by": "Mallory"}])))
    document = next(coming.documents())
    assert len(document.entries) == 7
    assert {"", "Mallory"} <= {e.by for e in document.entries}
    assert [n.values["count"] for n in coming.notices] == [1]
    assert normal(document) == document


@pytest.mark.parametrize(
    "words",
    [
        "<script>alert(1)</script>",
        "\u202egnp.exe",
        "a\u0000b",
        "{title} {0.__class__}",
        "'; DROP TABLE jobs; --",
        "👩🏽‍🔧",
        "e\u0301" * 90,
    ],
)
def test_words_from_people_are_only_words(words: str) -> None:
    coming = look(header(title=words))
    assert value_of(next(coming.documents()), "title") == words and coming.coming[0].title == words
    # a sentence that quotes them fills no gaps in them
    flagged = look(
        first(
            lambda d: (
                d["header"].update(title={"value": words, "stamp": f"{NOW + 500_000}-00001-devicea0"}),
                d["entries"].append({**ENTRY, "typed": {**ENTRY["typed"], "value": 999.0}}),  # type: ignore[dict-item]
            )
        )
    )
    assert words in str(flagged.notices[0])


def test_a_card_cannot_take_the_place_of_a_job() -> None:
    id = json.loads(SAMPLE)["documents"][0]["document"]["id"]
    assert refusal(SAMPLE, here={id: "card"}).code == "type"
    assert [c.new for c in look(SAMPLE, here={id: "job"}).coming] == [False, True, True]


def test_photos_come_with_their_digest() -> None:
    picture = b"\x89PNG\r\n\x1a\n" + bytes(50)
    digest = hashlib.sha256(picture).hexdigest()
    data = changed(
        lambda d: d.update(
            photos=[{"digest": digest, "media": "image/png", "data": base64.b64encode(picture).decode()}]
        )
    )
    assert look(data).photos == {digest: ("image/png", picture)}


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=200) | st.text(max_size=200).map(str.encode))
def test_any_bytes_at_all_are_read_or_refused(data: bytes) -> None:
    for attempt in (data, b'{"boreside": "export"' + data):
        try:
            look(attempt)
        except Refused as refused:
            assert refused.code and str(refused)


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_any_damage_to_a_good_file_is_read_or_refused(data: st.DataObject) -> None:
    start = data.draw(st.integers(0, len(SAMPLE)))
    end = data.draw(st.integers(start, min(len(SAMPLE), start + 40)))
    middle = data.draw(
        st.sampled_from([b"", b'"', b"{", b"[", b"]", b"}", b",", b"null", b"1e5", b"\\", b"\xc3"])
        | st.binary(max_size=8)
    )
    try:
        coming = look(SAMPLE[:start] + middle + SAMPLE[end:])
    except Refused:
        return
    assert list(coming.documents()) == list(look(SAMPLE).documents()), "what got through is what was written"
