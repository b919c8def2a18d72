"""Files, log, photos, report, kit cards, intake, settings and words: what stands beside the steps."""

from __future__ import annotations

import asyncio
import csv
import io
import json
import re
from types import SimpleNamespace

import flet as ft
import pytest

from logic.glossary import TERMS
from logic.say import L, Style, say
from mobile import bridge
from mobile.screens import log
from store import draft
from store.documents import Document
from store.errors import Refused
from store.merge import set_value
from store.sheets import bores
from store.transfer import write

from .stub import DEMO, Phone, drive, driven, label

NB = "\u202f"
JOB = "demojob00001"
#: The start of a JPEG (ITU-T T.81: SOI marker, then a frame header of 16 by 16 points) is all that is looked at here.
JPEG = b"\xff\xd8\xff\xc0\x00\x11\x08\x00\x10\x00\x10 invented"


def saved(phone: Phone, ending: str) -> bytes:
    (name,) = [n for n in phone.picker.saved if n.endswith(ending)]
    assert re.fullmatch(r"boreside-[a-z0-9-]+-\d{4}-\d\d-\d\d\.\w+", name)
    return phone.picker.saved[name]


# -- files ------------------------------------------------------------------------------
@driven
async def test_all_jobs_go_to_a_file_and_into_another_phone():
    phone = await Phone.start(with_demo=True)
    await phone.go("/files")
    phone.see("Never saved to a file yet.")
    await phone.tap("Save all jobs to a file")
    phone.see(
        re.compile(r"^boreside-all-.*\.json handed over", re.MULTILINE),
        re.compile(r"Last handed over as a file: \d{4}"),
    )
    data = saved(phone, ".json")
    assert JOB in {d["document"]["id"] for d in json.loads(data)["documents"]}

    other = await Phone.start()
    await other.go("/files")
    await other.tap("Choose a file")  # and none is chosen
    other.picker.chosen = data
    await other.tap("Choose a file")
    count = len(await phone.entries(JOB))
    other.see(re.compile(r"^\d+ entries were new, 0 (were )?here already", re.MULTILINE))
    assert len(await other.entries(JOB)) == count
    await other.tap("Choose a file")
    other.see(re.compile(r"^0 entries were new, \d+ (were )?here already", re.MULTILINE))


@pytest.mark.parametrize("where", ["share sheet", "dialogue"])
def test_a_file_that_was_let_be_does_not_count_as_handed_over(where, monkeypatch):
    async def work() -> None:
        phone = await Phone.start(with_demo=True)
        await phone.go("/files")
        if where == "dialogue":
            phone.picker.cancelled = True
        else:

            async def closed(*_: object) -> str:
                return "closed"

            monkeypatch.setattr("mobile.manners.hand", closed)
        await phone.tap("Save all jobs to a file")
        phone.see(re.compile("was neither shared nor saved"), "Never saved to a file yet.")
        phone.gone("Last handed over")
        assert not phone.picker.saved and all(s.unsaved for s in await phone.app.jobs.list())

    drive(work)


@driven
async def test_a_locked_file_asks_for_its_passphrase():
    phone = await Phone.start(with_demo=True)
    await phone.go("/files")
    await phone.write("Passphrase (may be empty)", "swarf and oil", by="on_change")
    field = phone.field("Passphrase (may be empty)")
    await phone.tap("Show or hide the passphrase")
    assert field.password is False
    await phone.tap("Save all jobs to a file")
    locked = saved(phone, ".json")
    assert b"demojob" not in locked

    other = await Phone.start()
    await other.go("/files")
    other.picker.chosen = locked
    await other.tap("Choose a file")
    await other.write("Passphrase of the file", "wrong")
    other.see(re.compile("passphrase"))
    assert await other.jobs.list("job") == []
    await other.write("Passphrase of the file", "swarf and oil", by="on_change")
    await other.tap("Open the file")
    other.see(re.compile(r"entries were new"))
    other.gone("Passphrase of the file")


@driven
async def test_a_file_that_is_none_is_refused_with_a_sentence():
    phone = await Phone.start()
    await phone.go("/files")
    phone.picker.chosen = b"no export"
    await phone.tap("Choose a file")
    assert phone.app.screen.problem is not None
    phone.see(say(phone.app.screen.problem, Style()))


def made_file(title: str) -> bytes:
    """A good file with one job, made elsewhere."""
    document = Document(id="j0b0frommelsewhere")
    for n, (key, value) in enumerate({"title": title, "customer": title, "cylinders": 4}.items()):
        document = set_value(document, key, value, f"1700000000000-{n:05d}-d3v1ceelsewhere", title[:50])
    return write([document], device="d3v1ceelsewhere", made_ms=1_700_000_000_000)


GOOD = made_file("Honest")
HOSTILE = {
    "truncated": (GOOD[: len(GOOD) // 2], "breaks off or is damaged at line"),
    "changed": (GOOD.replace(b"Honest", b"Harmed"), "is not as it was written"),
    "newer": (GOOD.replace(b'"format": 1', b'"format": 2'), "newer Boreside"),
    "deep": (
        GOOD.replace(b'"documents": [', b'"documents": [' + b"[" * 5000 + b"]" * 5000 + b",", 1),
        "nested too deeply",
    ),
    "picture": (b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40, "not a file that Boreside wrote"),
    "numbers": (
        GOOD.replace(b'"cylinders": {"value": 4', b'"cylinders": {"value": ' + b"9" * 4000, 1),
        "refused. A number is far too large",
    ),
    "empty": (b"", "not a file that Boreside wrote"),
}


@driven
async def test_hostile_files_are_refused_in_words_and_change_nothing():
    phone = await Phone.start(with_demo=True)
    await phone.go("/files")
    before, logs = dict(phone.backend.texts), await phone.entries(JOB)
    for name, (data, words) in HOSTILE.items():
        assert data != GOOD, name
        phone.picker.chosen = data
        await phone.tap("Choose a file")
        phone.see(re.compile(re.escape(words)))
        assert phone.backend.texts == before and await phone.entries(JOB) == logs, name
    phone.picker.chosen = GOOD
    await phone.tap("Choose a file")
    phone.see(re.compile("^0 entries were new", re.MULTILINE))
    assert "j0b0frommelsewhere" in phone.backend.texts


@driven
async def test_what_is_whole_of_a_file_that_breaks_off_can_be_taken():
    """Two jobs, the second torn off in its middle: the refusal says what to do, and one press takes the first."""
    documents = [
        set_value(Document(id=f"tornjob0000{n}"), "title", f"Job {n}", f"1700000000000-0000{n}-d3v1ceelsewhere", "")
        for n in (1, 2)
    ]
    whole = write(documents, device="d3v1ceelsewhere", made_ms=1_700_000_000_000)
    phone = await Phone.start()
    await phone.go("/files")
    phone.picker.chosen = whole[: whole.index(b"Job 2")]
    await phone.tap("Choose a file")
    phone.see(re.compile("^Nothing was imported. Save the file again on the device it comes from", re.MULTILINE))
    assert await phone.jobs.list("job") == []
    await phone.tap("Import what is undamaged")
    assert [s.title for s in await phone.jobs.list("job")] == ["Job 1"]
    phone.gone("Import what is undamaged")
    phone.picker.chosen = b"no export"
    await phone.tap("Choose a file")
    phone.see(re.compile("^Nothing was imported. Choose a file that was saved on this screen", re.MULTILINE))
    phone.gone("Import what is undamaged")


@driven
async def test_details_set_in_two_copies_are_counted():
    phone = await Phone.start()
    made = await phone.jobs.create("job", title="One", customer="Mill Lane")
    copy = await phone.jobs.export([made.id])
    other = await Phone.start()
    await other.jobs.take_in(await other.jobs.examine(copy))
    await other.jobs.set_header(made.id, customer="North Quay")
    await phone.jobs.set_header(made.id, customer="Weir Farm")
    await phone.go("/files")
    phone.picker.chosen = await other.jobs.export([made.id])
    await phone.tap("Choose a file")
    phone.see(re.compile("^(One|1) job details? (was|were) set differently in the two copies", re.MULTILINE))
    told = next(
        c for c in phone.controls() if isinstance(c, ft.Semantics) and c.live_region and "differently" in label(c)
    )
    assert told.content.bgcolor == "secondarycontainer"  # green is what leaves nothing to settle


@driven
async def test_the_passphrase_gets_a_word_on_its_strength_as_it_is_typed():
    phone = await Phone.start()
    await phone.go("/files")
    for typed, said in (
        ("short", "That is too short or too plain for a passphrase."),
        ("swarf and", "This passphrase is weak"),
        ("swarf oil lathe", "This passphrase is fair."),
        ("swarf oil lathe moon", "This passphrase is strong."),
    ):
        await phone.write("Passphrase (may be empty)", typed, by="on_change")
        phone.see(said)
    await phone.write("Passphrase (may be empty)", "", by="on_change")
    phone.gone("This passphrase is")
    await phone.write("Passphrase (may be empty)", "short", by="on_change")
    await phone.tap("Save all jobs to a file")
    assert not phone.picker.saved


@driven
async def test_a_second_copy_beside_a_job_is_merged_by_a_press(monkeypatch):
    """As a shared folder makes one; the files themselves are in tests/store/test_shared_folder.py."""
    phone = await Phone.start()
    made = await phone.jobs.create(title="Shared")
    await phone.jobs.append(made.id, draft.note("here"))
    other = await phone.jobs.load(made.id)
    note = draft.note("there").model_copy(update={"stamp": "1700000000000-00000-elsewhere0", "device": "elsewhere0"})
    lying = {"documents/ab/job (second).json": other.model_copy(update={"entries": (note,)})}

    async def second_copies():
        return lying

    async def settle_copy(name):
        del lying[name]

    monkeypatch.setattr(phone.backend, "second_copies", second_copies)
    monkeypatch.setattr(phone.backend, "settle_copy", settle_copy)
    await phone.go("/files")
    phone.see("Second copies")
    await phone.tap("Merge documents/ab/job (second).json into its job")
    phone.see("One entry was new.")
    phone.gone("Second copies")
    assert {e.text for e in await phone.entries(made.id, "note")} == {"here", "there"}


@driven
async def test_what_an_export_leaves_out_is_named(monkeypatch):
    phone = await Phone.start(with_demo=True)
    await phone.go("/files")
    await phone.tick("Put the photos in as well", on=True)
    assert phone.app.screen.photos is True
    export = phone.jobs.export_pieces

    async def some(ids=None, **how):
        assert how["photos"] is True
        async for piece in export(ids, **how):
            yield piece
        phone.jobs.left_out = ("A job of a newer version",)

    monkeypatch.setattr(phone.jobs, "export_pieces", some)
    await phone.tap("Save all jobs to a file")
    phone.see("Not in the file, because this copy of Boreside cannot read it: A job of a newer version")

    async def refuses(ids=None, **how):
        raise Refused(L("The job cannot be read."), "broken")
        yield b""

    monkeypatch.setattr(phone.jobs, "export_pieces", refuses)
    await phone.go(DEMO)
    await phone.tap("Save this job to a file")
    phone.see("The job cannot be read.")


@driven
async def test_the_demo_is_taken_in_from_the_files_too():
    phone = await Phone.start()
    await phone.go("/files")
    await phone.tap("Load the demo job")
    phone.see("Demo loaded: invented engine, customer and machines")
    await phone.tap("Load the demo job")
    phone.see("The demo is already here")


# -- log, photos -----------------------------------------------------------------------
@driven
async def test_the_log_shows_every_entry_and_keeps_a_note():
    phone = await Phone.start(with_demo=True, by="Ada")
    await phone.go(DEMO + "/log")
    count = len(await phone.entries(JOB))
    phone.see(f"{count} entries. Nothing in the log is ever changed; a correction is a new entry.")
    while phone.has("Show more"):
        await phone.tap("Show more")
    kinds = {e.kind for e in await phone.entries(JOB)}
    for kind in kinds:
        phone.see(re.compile("^" + re.escape(say(log.KIND[kind])), re.MULTILINE))
    phone.see(f"{say(bores.READING.label)} (Cylinder 1, depth 1, thrust axis): +9.0 thou")  # as it was typed
    await phone.tap("Keep this note")
    phone.see("The note is empty.")
    await phone.write("Note, or words under a photo", "  cracked liner seat, No 2  ", by="on_submit")
    await phone.tap("Keep this note")
    phone.see("cracked liner seat, No 2", "Ada")
    assert (await phone.entries(JOB))[-1].text == "cracked liner seat, No 2"
    assert phone.field("Note, or words under a photo").value == ""


@driven
async def test_a_reading_taken_back_is_struck_out_and_named():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/bores")
    await phone.tap("I have read this", re.compile("^Cylinder 1, depth 1, thrust axis: "))
    await phone.enter("11")
    await phone.tap("Undo the last entry")
    await phone.rest()
    await phone.go(DEMO + "/log")
    assert [e.kind for e in (await phone.entries(JOB))[-2:]] == ["reading", "withdrawn"]
    said = f"{say(bores.READING.label)} (Cylinder 1, depth 1, thrust axis): 11 thou"
    phone.see("Undone", "Reading, replaced or undone")
    struck = [c.value for c in phone.controls() if isinstance(c, ft.Text) and c.style and c.style.decoration]
    assert struck[0] == said and [c.value for c in phone.controls() if isinstance(c, ft.Text)].count(said) == 2


@driven
async def test_a_photo_is_kept_with_its_words_and_goes_into_the_report():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/log")
    await phone.tap("Add a photo")  # and none is chosen
    phone.picker.chosen = b"no picture"
    await phone.tap("Add a photo")
    phone.see("That file is no picture this device can read.")
    phone.picker.chosen = JPEG
    await phone.write("Note, or words under a photo", "score in No 3", by="on_submit")
    await phone.tap("Add a photo")
    phone.see("Photo: score in No 3")
    (photo,) = await phone.entries(JOB, "photo")
    assert photo.caption == "score in No 3" and photo.media == "image/jpeg" and photo.size == len(JPEG)
    assert phone.backend.photos[photo.digest] == ("image/jpeg", JPEG)
    del phone.backend.photos[photo.digest]
    await phone.go(DEMO + "/log")
    phone.see("This photo is on another device. Save the job there with its photos, and import the file here.")
    phone.backend.photos[photo.digest] = ("image/jpeg", JPEG)
    await phone.app.screen.renewed()  # it came in meanwhile
    phone.see("Photo: score in No 3")


# -- report ------------------------------------------------------------------------------
@driven
async def test_the_report_as_page_paper_and_table():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/report")
    await phone.tick("With the annex: every step and every reading", on=True)
    await phone.tap("Web page, one file")
    page = saved(phone, ".html").decode()
    assert "Demo: tractor engine" in page
    await phone.tap("Table of readings (CSV)")
    rows = list(csv.DictReader(io.StringIO(saved(phone, ".csv").decode("utf-8-sig"))))
    readings = [r for r in rows if r["What"] == say(bores.READING.label)]
    assert (
        len(readings) == 24 and readings[0]["Cylinder"] == "1" and readings[0]["Job"].startswith("Demo: tractor engine")
    )
    phone.picker.saved.clear()
    await phone.tick("With the annex: every step and every reading", on=False)
    await phone.tick("With the photos", on=False)
    await phone.tap("Web page, one file")
    assert len(saved(phone, ".html")) < len(page.encode())
    phone.gone("Writing the report")


@driven
async def test_the_report_on_both_papers():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/report")
    sizes = {}
    for paper in ("A4", "Letter"):
        phone.picker.saved.clear()
        await phone.tap(f"PDF, {paper}")
        sizes[paper] = re.search(rb"/MediaBox ?\[([^\]]*)\]", saved(phone, ".pdf")).group(1).split()[2:]
    # ISO 216: A4 is 210 by 297 mm; Letter is 8.5 by 11 in; a point is 1/72 in
    for paper, width, height in (("A4", 210 / 25.4 * 72, 297 / 25.4 * 72), ("Letter", 612, 792)):
        assert [float(x) for x in sizes[paper]] == pytest.approx([width, height], abs=0.5)


# -- kit ------------------------------------------------------------------------------
@driven
async def test_a_card_is_made_filled_in_and_chosen_for_a_job():
    phone = await Phone.start()
    await phone.go("/kit")
    await phone.tap("Bore gauge", "Make the card")
    phone.see("Give it a name you will know it by.")
    await phone.write("What you call it", "Dial gauge 50 to 150", by="on_submit")
    await phone.rest()
    assert phone.heading == "Dial gauge 50 to 150"
    (card,) = await phone.jobs.list("card")
    groups = [c for c in phone.pressable() if isinstance(c.data, tuple) and c.data[1:] == (False,)]
    for group in groups:
        await phone.send(group.on_click, group)
    row = next(c for c in phone.pressable() if hasattr(c.data, "field") and c.data.field.kind not in ("choice", "text"))
    await phone.send(row.on_click, row)
    low, high = row.data.field.low, row.data.field.high
    phone.app.screen.pad.put(f"{(low + high) / 2:g} {row.data.field.unit}" if row.data.field.unit else f"{low:g}")
    await phone.tap("Enter")
    await phone.rest()
    (entry,) = await phone.entries(card.id)
    assert entry.what == row.data.field.key
    await phone.tap("Back")
    phone.see("Dial gauge 50 to 150", "Bore gauge")
    await phone.go("/new")
    await phone.tap("Dial gauge 50 to 150")
    assert phone.app.screen.values["gauge"] == card.id
    await phone.tap("Dial gauge 50 to 150")
    assert phone.app.screen.values["gauge"] is None
    await phone.go("/kit")
    await phone.tap("Dial gauge 50 to 150")
    await phone.rest()
    await phone.tap("Put this card in the bin")
    assert phone.heading == "My kit"
    phone.gone("Dial gauge 50 to 150")


@driven
async def test_every_card_of_the_demo_shows_what_it_holds():
    phone = await Phone.start(with_demo=True)
    for card in await phone.jobs.list("card"):
        await phone.go(f"/kit/{card.id}")
        assert phone.heading == card.title
        await phone.go("/kit")
        phone.see(card.title)


# -- intake ---------------------------------------------------------------------------
@driven
async def test_an_unfinished_intake_is_there_again_and_then_makes_the_job():
    phone = await Phone.start()
    await phone.go("/new")
    await phone.tap("Nominal bore")
    await phone.key("4", "Escape")
    phone.see("Enter: Nominal bore")
    await phone.tap("Nominal bore")
    await phone.key(*"88.9mm"[:0], "8")
    await phone.tap("Delete digit")
    await phone.enter("3.5", word="Done")
    for _ in range(3):
        await phone.tap("One cylinder more")
    await phone.tap("One cylinder fewer")
    phone.see(f"3.5000{NB}in", "6")
    await phone.write("Engine", "six in line", by="on_change")
    await phone.write("Engine", "six in line", by="on_change")  # the earlier wait is given up
    await phone.write("Customer", "Mill Lane", by="on_blur")
    await phone.write("Who is measuring", " Ada ", by="on_blur")
    await phone.rest()
    assert phone.app.by == "Ada" and await phone.jobs.setting("by") == "Ada"
    await phone.go("/")
    await phone.go("/new")
    phone.see("six in line", "Mill Lane", f"3.5000{NB}in")
    await phone.tap("Start measuring")
    await phone.rest()
    (job,) = await phone.jobs.list("job")
    header = (await phone.jobs.load(job.id)).header
    assert header["cylinders"].value == 6 and header["nominal"].value.value == pytest.approx(88.9)
    assert job.title == "six in line" and header["customer"].by == "Ada"
    assert await phone.jobs.setting("intake") is None


@driven
async def test_the_details_of_a_job_are_changed():
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/details")
    assert phone.heading == "Job details"
    phone.gone("Start measuring")
    await phone.write("Job name", "Another name", by="on_blur")
    await phone.tap("Nominal bore")
    await phone.enter("3.001", word="Done")
    await phone.tap("One cylinder more")
    header = (await phone.jobs.load(JOB)).header
    assert header["title"].value == "Another name" and header["cylinders"].value == 5
    assert header["nominal"].value.value == pytest.approx(3.001 * 25.4)
    await phone.go(DEMO)
    assert phone.heading == "Another name"


# -- settings, words ---------------------------------------------------------------------
@driven
async def test_settings_change_at_once_and_stay():
    phone = await Phone.start()
    await phone.go("/more")
    phone.see("Ready to work offline", "No data leaves this device unless you save a file.")
    await phone.tap("Dark", "°F")
    assert phone.page.theme_mode == ft.ThemeMode.DARK
    await phone.write("Name written into the log", "Ada", by="on_blur")
    await phone.tap("Deutsch")
    assert phone.heading == "Einstellungen"
    again = await Phone.start(theme="light", language="de", temperature="F", by="Ada")
    assert again.page.theme_mode == ft.ThemeMode.LIGHT and again.app.by == "Ada"
    for key, value in (("theme", "dark"), ("temperature", "F"), ("language", "de"), ("by", "Ada")):
        assert await phone.jobs.setting(key) == value


@pytest.mark.parametrize(
    ("why", "said"),
    [
        ("not yet", "Some parts are still being fetched. Leave the app open with a signal for a minute."),
        ("missing", "A stored part is gone. Open the app once with a signal to fetch it again."),
        ("insecure", "This address is not secure, so the browser keeps nothing. Open the app over https."),
        ("browser", "This browser cannot keep the app for work without a signal."),
    ],
)
@driven
async def test_why_the_app_would_not_start_offline(monkeypatch, why, said):
    phone = await Phone.start()

    async def offline() -> bridge.Offline:
        return bridge.Offline(False, why, version="7", built="2026-01-02T03:04")

    monkeypatch.setattr(bridge, "offline_ready", offline)
    await phone.go("/more")
    phone.see("Not ready to work offline", said, "Version 7, built 2026-01-02.")


@pytest.mark.parametrize(
    ("install", "said"),
    [
        (bridge.Install(True, False), "Put Boreside on the home screen"),
        (bridge.Install(False, False, "ios"), "Press the share sign of the browser"),
        (bridge.Install(False, False), "in the browser's menu."),
    ],
)
@driven
async def test_how_the_app_comes_on_the_home_screen(monkeypatch, install, said):
    async def how() -> bridge.Install:
        return install

    async def waiting() -> bridge.Update:
        return bridge.Update(True, "8", "2026-02-03")

    monkeypatch.setattr(bridge, "install_prompt_available", how)
    monkeypatch.setattr(bridge, "update_waiting", waiting)
    phone = await Phone.start()
    await phone.go("/more")
    phone.see(said, "A new version is here: change over now")
    await phone.tap("A new version is here: change over now")
    if install.prompt:
        await phone.tap("Put Boreside on the home screen")


@driven
async def test_a_word_of_the_trade_is_looked_up():
    phone = await Phone.start()
    await phone.go("/terms")
    assert sum(1 for c in phone.controls() if isinstance(c, ft.Semantics) and c.heading_level == 2) == len(TERMS)
    term = TERMS[0]
    await phone.write("Find a word", say(term.name).upper(), by="on_change")
    phone.see(say(term.meaning))
    await phone.write("Find a word", "no such word", by="on_change")
    phone.see("No word like this is explained here.")


@driven
async def test_the_tour_can_be_left_at_any_card():
    phone = await Phone.start()
    await phone.go("/tour")
    await phone.tap("Skip")
    assert phone.heading == "Boreside" and await phone.jobs.setting("toured") is True


@driven
async def test_the_keyboard_of_the_device_and_held_keys():
    phone = await Phone.start()
    await phone.tap("Nominal bore")
    held = SimpleNamespace(key="7", ctrl=True, alt=False, meta=False)
    await phone.page.on_keyboard_event(held)
    assert phone.app.screen.pad.text == ""
    await phone.key("Tab", "Enter")  # the focused button takes it
    await phone.key("7", "Arrow Up", "Arrow Down", "U", "U", "Z")
    assert phone.app.screen.pad.text == "7"
    await asyncio.sleep(0)


@driven
async def test_a_thumb_gets_keys_that_hold_no_focus_and_the_first_tab_buttons_that_do():
    """The browser moves the focus to what is tapped, and what held it and what holds it are drawn once more."""
    phone = await Phone.start()
    await phone.tap("Nominal bore")
    await phone.keys("3.")
    pad = phone.app.screen.pad
    assert len(pad.keys) == 19 and not any(isinstance(key, ft.Button) for key in pad.keys)
    named = [c.content for c in phone.controls() if isinstance(c, ft.Semantics) and c.button]
    assert {id(c) for c in named} >= {
        id(key) for key in pad.keys if key.data != "undo"
    }  # a screen reader calls each a button
    await phone.key("Tab")
    assert len(pad.keys) == 19 and all(isinstance(key, ft.Button) for key in pad.keys)
    await phone.keys("5")
    await phone.tap("Next")
    assert pad.text == "" and phone.says("Nominal bore").splitlines()[1] == "3.5000\u202fin"
    await phone.key("Tab", "Escape")
    await phone.tap("Worst reading")  # from then on wherever there is a pad
    assert all(isinstance(key, ft.Button) for key in phone.app.screen.pad.keys)


@driven
async def test_what_it_has_been_checked_against():
    phone = await Phone.start()
    await phone.go("/checked")
    phone.see("Source: JCGM 100:2008, example H.1", "A step said to clean up with 95 %", "Not checked yet")
