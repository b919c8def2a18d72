"""Busy hands: what the page does (driven in Node on a page that is made up), and what the app asks of it.

How fast a gauge types is from memory (a keyboard report every 8 to 16 ms); a quick hand needs 80 ms and more for a key.
"""

from __future__ import annotations

import json
import time
from typing import Any

import pytest

from demo.scenario import JOB
from logic.result import Verdict
from mobile import bridge, manners
from mobile.manners import Able, Keeping
from mobile.screens.keeping import day_over, safety
from store.jobs import Summary

from . import in_node
from .stub import DEMO, Phone, driven
from .test_screen_grid import cell, new_job

NB = "\u202f"
#: The demo job.
ID = DEMO.split("/")[2]


@pytest.fixture(scope="module")
def page() -> dict[str, Any]:
    return in_node.run("manners.mjs", "manners.js")


# -- the page ---------------------------------------------------------------------------
def test_a_gauge_that_types_is_told_from_a_hand(page: dict[str, Any]) -> None:
    # only the first key goes the usual way; the rest, Enter with it, is told as one reading
    assert page["fast"] == {"through": "1000000", "entered": "0", "told": [["gauge", {"text": "+3.0145"}]]}
    assert page["unit"]["told"] == [["gauge", {"text": "-0.0125 in"}]]
    assert page["microns"]["told"] == [["gauge", {"text": "14.5um"}]]
    assert page["twice"] == {"through": "100000", "entered": "00", "told": [["gauge", {"text": "12.5mm"}]]}
    assert page["afterHand"]["told"] == [["gauge", {"text": "3.0145"}]]
    # a hand's keys all go the usual way; a unit behind the number is told, for its letters are no keys of the pad
    assert page["hand"] == {"through": "111111", "entered": "1", "told": []}
    assert page["handUnit"] == {"through": "1111100", "entered": "0", "told": [["gauge", {"unit": "mm"}]]}
    assert page["padKeys"] == {"passed": "111", "told": []}


def test_keys_kept_back_in_vain_are_handed_on_and_text_fields_are_let_alone(page: dict[str, Any]) -> None:
    assert page["rolled"] == {"through": "10", "entered": "1", "told": [["keys", ["0"]]]}
    assert page["noEnd"] == {"through": "1000", "told": [["keys", [".", "0", "1"]]]}
    assert page["inField"] == {"passed": "111111", "told": []}
    assert page["heldDown"] == {"passed": "1111", "entered": 1, "told": []}
    assert page["releases"] == "101"  # the release of a key kept back is kept back, once


def test_the_screen_is_kept_on_let_go_and_taken_again(page: dict[str, Any]) -> None:
    # on: held; out of sight: let go; back: held again, once however often it is told; off: let go for good
    assert page["awake"] == [True, 1, 0, 1, 1, False, 0, 0]
    assert page["awakeRefused"] == [False, False]


def test_only_a_voice_of_the_device_itself_speaks(page: dict[str, Any]) -> None:
    assert page["told"]["buzzed"] == [[35], [70, 60, 70]]
    assert page["told"]["spoken"] == ["cancel", ["three oh one four five", "Near"], "cancel", ["nein", "Nah"]]
    assert page["told"]["voices"] == ["Near", "Nah", ""]
    assert page["farVoice"] == [4, ""]
    assert page["bare"] == [True, "", {"awake": False, "buzz": False, "beep": False, "camera": True}]


def test_a_file_goes_to_the_share_sheet_else_it_is_saved(page: dict[str, Any]) -> None:
    assert page["shared"] == {
        "done": "shared",
        "shared": [["a.json", "application/json"]],
        "asked": None,
        "gone": False,
    }
    assert page["asText"]["shared"] == [["a.json.txt", "text/plain"]]  # where the browser shares no such kind
    for place in ("noSheet", "desk"):
        assert page[place]["done"] == "save" and not page[place]["shared"]
    assert page["none"] == "save"
    # dismissed, or too long after the press: asked again with keys of the page's own
    assert page["dismissed"]["asked"] == ["a.json is ready.", "Share it", "Save", "Leave it"]
    assert (page["dismissed"]["done"], page["left"]["done"], page["late"]["done"]) == ("save", "closed", "shared")
    assert len(page["late"]["shared"]) == 2 and page["late"]["gone"]


def test_the_camera_the_storage_and_the_last_picture(page: dict[str, Any]) -> None:
    assert page["shot"] == {"bytes": [255, 216], "clicked": True, "capture": "environment", "accept": "image/*", "gone": True, "none": None}  # fmt: skip
    lasting, apple, silent = page["keeping"]
    assert lasting == {"lasting": True, "installed": False, "hand": "", "used": 1e6, "quota": 2e9, "webkit": False}
    assert (apple["webkit"], apple["lasting"], silent["lasting"]) == (True, None, None)
    assert page["glimpse"] == [True, '{"a":1}', True, 0] and page["noRoom"] is False


# -- the app ----------------------------------------------------------------------------
class Asked:
    """The page as the app asks it: keeps what it was asked, gives the answers it was told to give."""

    def __init__(self, **answers: Any) -> None:
        self.calls: list[tuple[str, Any]] = []
        self.answers = answers

    async def __call__(self, name: str, *given: Any) -> Any:
        self.calls.append((name, given[0] if len(given) == 1 else given))
        return self.answers.get(name)

    def of(self, name: str) -> list[Any]:
        return [given for called, given in self.calls if called == name]


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> Asked:
    """The app believes that it runs in a browser, for the manners only."""
    found = Asked(
        able={"awake": True, "buzz": True, "beep": True, "camera": True}, voice="Near", keeping={}, hand="save"
    )
    monkeypatch.setattr(
        manners,
        "bridge",
        type("Bridge", (), {"IN_BROWSER": True, "ask": found, "told": staticmethod(found.answers.get)}),
    )
    return found


def test_nothing_is_asked_where_there_is_no_browser() -> None:
    @driven
    async def go() -> None:
        assert not bridge.IN_BROWSER
        assert await manners.able() == Able() and await manners.awake(on=True) is False
        assert await manners.voice("en") == "" and await manners.shoot() is None
        assert await manners.hand("a.json", "application/json", b"", {}) == "save"
        assert await manners.keeping() == Keeping(lasting=True, browser=False)
        await manners.signal("taken", beeps=True, buzzes=True, words="x", language="en")
        await manners.glimpse({})

    go()


def test_a_reading_from_a_gauge_goes_into_the_cell_with_a_beep_of_its_own(asked: Asked) -> None:
    @driven
    async def go() -> None:
        phone = await Phone.start()
        id = await new_job(phone)

        async def gauge(**told: str) -> None:
            phone.app._heard("gauge", told)
            await phone.rest()

        asked.calls.clear()
        await phone.key("0")  # the first key comes the usual way
        await gauge(text="0.0125 in")
        assert cell(phone, 1, 1, "thrust axis") == f"+12.5{NB}thou"
        (entry,) = await phone.entries(id, "reading")
        assert (entry.typed.text, entry.typed.typed_unit) == ("0.0125 in", "in")
        assert entry.typed.value == pytest.approx(0.0125 * 25.4)
        (told,) = asked.of("signal")
        assert (told["kind"], told["beeps"], told["buzzes"], told["words"]) == ("taken", True, True, "")
        # the next cell; without a unit it is the pad's
        await gauge(text="+9.5")
        assert cell(phone, 1, 1, "crank line") == f"+9.5{NB}thou"
        # refused: said, the cell is asked for still, and the next reading starts afresh
        await gauge(text="99.0125 in")
        phone.see("Cylinder 1, depth 2, thrust axis")
        assert asked.of("signal")[-1]["kind"] == "refused" and len(await phone.entries(id, "reading")) == 2
        await gauge(text="0.0051in")
        assert cell(phone, 1, 2, "thrust axis") == f"+5.1{NB}thou"
        # by hand, with the unit behind it: 0.05 mm is 1.97 thou
        await phone.key("0", ".", "0", "5")
        await gauge(unit="mm")
        assert cell(phone, 1, 2, "crank line") == f"+2.0{NB}thou"
        assert asked.of("signal")[-1]["beeps"] is False
        # a refused reading with its unit gives way to a hand's first key
        await gauge(text="99.0125 in")
        await phone.enter("3")
        assert cell(phone, 1, 3, "thrust axis") == f"+3.0{NB}thou"
        assert len(await phone.entries(id, "reading")) == 5

    go()


def test_a_minus_that_came_apart_from_its_number_is_not_lost(asked: Asked) -> None:
    """A slow first key is a hand's; a gauge that pauses behind it must not turn a minus into a plus."""

    @driven
    async def go() -> None:
        phone = await Phone.start()
        id = await new_job(phone)
        await phone.key("-", "0")  # as the first key of the run goes, it went the usual way too
        await phone.app._gauge({"text": "0.0125in"})
        phone.see("The sign and the number came apart. Send the reading again.")
        assert await phone.entries(id, "reading") == [] and asked.of("signal")[-1]["kind"] == "refused"
        await phone.app._gauge({"text": "-0.002in"})
        await phone.rest()
        assert [e.typed.value for e in await phone.entries(id, "reading")] == pytest.approx([-0.0508])

    go()


def test_a_reading_that_nobody_asked_for_is_refused(asked: Asked) -> None:
    @driven
    async def go() -> None:
        phone = await Phone.start(with_demo=True)
        before = len((await phone.jobs.load(ID)).entries)
        await phone.go(DEMO)
        phone.app._heard("gauge", {"text": "3.0145"})
        await phone.rest()
        phone.see("The gauge sent 3.0145, but no value is asked for. Tap the one it belongs to.")
        assert asked.of("signal")[-1]["kind"] == "refused"
        assert len((await phone.jobs.load(ID)).entries) == before

    go()


def test_a_quick_hands_keys_come_after_all(asked: Asked) -> None:
    @driven
    async def go() -> None:
        phone = await Phone.start()
        id = await new_job(phone)
        await phone.key("1")
        phone.app._heard("keys", ["2", ".", "5"])
        await phone.rest()
        await phone.key("Enter")
        assert [e.typed.text for e in await phone.entries(id, "reading")] == ["12.5"]

    go()


@pytest.mark.parametrize(
    ("language", "number", "then", "sorry"),
    [
        ("en", "plus fourteen and a half thou", "Cylinder 1, depth 1, crank line", "Expected"),
        ("de", "plus vierzehneinhalb Tausendstel", "Zylinder 1, Tiefe 1, längs zur Kurbelwelle", "Erwartet"),
    ],
)
def test_numbers_are_read_back_with_the_next_place(
    asked: Asked, language: str, number: str, then: str, sorry: str
) -> None:
    @driven
    async def go() -> None:
        phone = await Phone.start(speak=True, with_demo=True, language=language)
        assert phone.app.hands.wants["speak"]
        await phone.go(DEMO + "/bores")
        if not phone.app.screen.typing:
            await phone.tap("I have read this" if language == "en" else "Das habe ich gelesen")
        await phone.app.screen.pad.gauge("14.5")
        said = asked.of("signal")[-1]
        assert said["words"].startswith(number + ". ") and said["language"] == language
        assert then in said["words"]
        await phone.app.screen.pad.gauge("9999")
        assert asked.of("signal")[-1]["kind"] == "refused" and sorry in asked.of("signal")[-1]["words"]

    go()


def test_the_screen_stays_on_while_a_job_is_open_and_as_the_person_wants(asked: Asked) -> None:
    @driven
    async def go() -> None:
        phone = await Phone.start(with_demo=True)
        assert asked.of("awake") == []
        await phone.go(DEMO)
        await phone.go(DEMO + "/bores")
        assert asked.of("awake") == [True]
        await phone.go("/")
        assert asked.of("awake") == [True, False]
        await phone.go("/more")
        phone.see("With your hands full", "Read each number back aloud")
        await phone.tick("Keep the screen on while a job is open", on=False)
        await phone.tick("Read each number back aloud", on=True)
        await phone.go(DEMO)
        assert asked.of("awake") == [True, False, False]
        assert await phone.jobs.setting("awake") is False and await phone.jobs.setting("speak") is True
        # another voice is asked for with another language; without one nothing is offered
        asked.answers["voice"] = ""
        await phone.go("/more")
        phone.gone("Read each number back aloud")
        phone.see("This device has no voice of its own for this language: nothing is read aloud.")

    go()


def test_a_photo_goes_straight_into_the_log(asked: Asked) -> None:
    @driven
    async def go() -> None:
        picture = b"\x89PNG\r\n\x1a\n" + b"\0\0\0\rIHDR" + (40).to_bytes(4, "big") + (30).to_bytes(4, "big")
        phone = await Phone.start(with_demo=True)
        asked.answers["shoot"] = picture
        await phone.go(DEMO)
        await phone.tap("Take a photo into the log")
        (kept,) = await phone.entries(ID, "photo")
        assert (kept.media, await phone.jobs.get_photo(kept.digest)) == ("image/png", ("image/png", picture))
        phone.see("The photo is in the log")
        asked.answers["shoot"] = None
        await phone.tap("Take a photo into the log")
        assert len(await phone.entries(ID, "photo")) == 1
        await phone.go(DEMO + "/log")
        asked.answers["shoot"] = b"no picture"
        await phone.tap("Take a photo into the log")
        phone.see("That file is no picture this device can read.")
        assert len(await phone.entries(ID, "photo")) == 1

    go()


def test_the_parts_list_and_the_report_go_to_the_share_sheet(asked: Asked) -> None:
    @driven
    async def go() -> None:
        phone = await Phone.start(with_demo=True)
        asked.answers["hand"] = "shared"
        await phone.go(DEMO + "/parts")
        await phone.tap("Send this list")
        name, media, data, _ = asked.of("hand")[-1]
        assert name.endswith(".txt") and media == "text/plain" and "+0.030" in data.decode()
        phone.see(f"{name} handed over")
        await phone.go(DEMO + "/report")
        for key, ending, begins in (("PDF, A4", "pdf", b"%PDF-"), ("Web page, one file", "html", b"<!DOCTYPE html>")):
            await phone.tap(key)
            name, media, data, _ = asked.of("hand")[-1]
            assert name.endswith(ending) and media.endswith(ending) and data[: len(begins)].upper() == begins.upper()
        assert not phone.picker.saved  # the share sheet had them

    go()


def test_a_file_that_was_let_be_counts_as_not_saved(asked: Asked) -> None:
    @driven
    async def go() -> None:
        phone = await Phone.start(with_demo=True)
        await phone.go(DEMO)
        asked.answers["hand"] = "closed"
        await phone.tap("Save this job to a file")
        name, media, data, words = asked.of("hand")[-1]
        assert name.endswith(".json") and media == "application/json" and json.loads(data)
        assert words["share"] == "Share it"
        phone.see(f"{name} was neither shared nor saved")
        assert next(s for s in await phone.jobs.list() if s.id == ID).unsaved and not phone.picker.saved
        asked.answers["hand"] = "shared"
        await phone.tap("Save this job to a file")
        assert not next(s for s in await phone.jobs.list() if s.id == ID).unsaved and not phone.picker.saved
        asked.answers["hand"] = "save"
        await phone.tap("Save this job to a file")
        assert list(phone.picker.saved) == [name]

    go()


# -- how safe the storage is -------------------------------------------------------------
TAB = {"lasting": True, "installed": False, "webkit": True, "hand": "ios", "used": 30e6, "quota": 1e9}


@pytest.mark.parametrize(
    ("keeping", "verdict", "words"),
    [
        (Keeping(browser=False, lasting=True), Verdict.GO, "Stored as files"),
        (Keeping(lasting=True), Verdict.GO, "Stored to last"),
        (Keeping(lasting=False), Verdict.MAYBE, "Stored, but not to last"),
        (Keeping(lasting=None), Verdict.MAYBE, "Stored, for how long is not known"),
        # a promise not to clear it when room runs short does not lift the seven days
        (Keeping(lasting=True, webkit=True), Verdict.STOP, "Stored in a browser tab"),
        (Keeping(lasting=False, webkit=True, installed=True), Verdict.MAYBE, "Stored on the home screen"),
        (Keeping(lasting=True, webkit=True, installed=True), Verdict.GO, "Stored to last"),
    ],
)
def test_the_storage_is_called_as_safe_as_it_is(keeping: Keeping, verdict: str, words: str) -> None:
    found, said, _ = safety(keeping)
    assert (found, str(said)) == (verdict, words)


HOUR = 3600_000


@pytest.mark.parametrize(
    ("changed", "now", "unsaved", "over"),
    [
        ((2024, 6, 3, 11), (2024, 6, 3, 12), True, False),
        ((2024, 6, 3, 11), (2024, 6, 3, 16), True, True),
        ((2024, 6, 3, 11), (2024, 6, 3, 16), False, False),
        ((2024, 6, 2, 23), (2024, 6, 3, 7), True, True),
        ((2023, 6, 3, 11), (2024, 6, 3, 12), True, True),
    ],
)
def test_a_days_work_is_over(changed: tuple[int, ...], now: tuple[int, ...], unsaved: bool, over: bool) -> None:
    def ms(when: tuple[int, ...]) -> int:
        return int(time.mktime((*when, 0, 0, 0, 0, -1)) * 1000)

    summary = Summary("a", "", "", "", ms(changed), 4, 3, False, None, unsaved)
    assert day_over(summary, ms(now)) is over


def test_in_a_tab_that_forgets_the_home_screen_comes_first_and_every_job_says_so(
    asked: Asked, monkeypatch: pytest.MonkeyPatch
) -> None:
    @driven
    async def go() -> None:
        asked.answers["keeping"] = TAB
        phone = await Phone.start()
        phone.see("Put it on the home screen first", "after seven days without a visit", "Add to Home Screen")
        await phone.tap("Load the demo job")
        await phone.rest()
        phone.see("Put it on the home screen first")  # the first job of one's own is still to come
        await phone.jobs.create(title="One of my own")
        await phone.go("/more")
        await phone.go("/")
        phone.gone("Put it on the home screen first")
        monkeypatch.setattr("mobile.screens.job.now_ms", lambda: 4_000_000_000_000)  # long after its last entry
        await phone.go(f"/job/{JOB}")
        phone.see(
            "after seven days without a visit the browser may clear it", "The last day's work on it is in no file yet."
        )
        await phone.tap("Save this job to a file")
        await phone.rest()
        phone.see("after seven days without a visit the browser may clear it")
        phone.gone("The last day's work on it is in no file yet.")
        await phone.go("/more")
        phone.see("Stored in a browser tab", "30 of 1000 MB are taken.")

    go()


def test_on_the_home_screen_the_file_from_the_tab_is_asked_for(asked: Asked) -> None:
    @driven
    async def go() -> None:
        asked.answers["keeping"] = {**TAB, "installed": True, "quota": 60e6}
        phone = await Phone.start()
        phone.see("Jobs from a browser tab are not here")
        await phone.go("/more")
        phone.see("Little room is left: 30 of 60 MB are taken. Save jobs to files.")
        await phone.go("/")
        await phone.tap("Import a file")
        assert phone.heading == "Files"

    go()


def test_other_browsers_hear_nothing_of_the_seven_days(asked: Asked) -> None:
    @driven
    async def go() -> None:
        asked.answers["keeping"] = {"lasting": True, "webkit": False}
        phone = await Phone.start()
        phone.gone("Put it on the home screen first", "Jobs from a browser tab are not here")
        await phone.tap("Load the demo job")
        await phone.go(f"/job/{JOB}")
        phone.gone("seven days without a visit")

    go()


# -- the picture of the last screen ----------------------------------------------------------
def test_the_last_screen_is_kept_as_sentences_for_the_next_start(asked: Asked) -> None:
    @driven
    async def go() -> None:
        phone = await Phone.start(with_demo=True)
        await phone.app.keep_glimpse()
        (empty,) = asked.of("glimpse")
        assert empty["rows"] == [] and (empty["version"], empty["language"], empty["theme"]) == (1, "en", "system")
        await phone.go(DEMO)
        await phone.app.keep_glimpse()
        rows = asked.of("glimpse")[-1]["rows"]
        strip = next(said for kind, said in rows if kind == "verdict")
        assert rows[0] == ["head", phone.heading]
        phone.see(strip.split(": ", 1)[1])  # the verdict as it stands on the screen
        bores = [said for kind, said in rows if said.startswith("Cylinder ")]
        assert len(bores) == 4 and all(": now " in said for said in bores)
        # nothing changed: nothing is kept anew; an entry does
        count = len(asked.of("glimpse"))
        await phone.app.keep_glimpse()
        assert len(asked.of("glimpse")) == count
        await phone.tap("Show millimetres")
        await phone.app.keep_glimpse()
        assert "mm" in asked.of("glimpse")[-1]["rows"][-1][1]
        # the next start begins with the same job, and the shortcut opens it
        assert await phone.jobs.setting("last") == ID
        await phone.go("/")
        await phone.go("/last")
        assert phone.heading == rows[0][1]
        await phone.tap("Put this job in the bin")
        await phone.rest()
        await phone.app.keep_glimpse()
        assert asked.of("glimpse")[-1]["rows"] == []

    go()


def test_the_quick_check_opens_by_its_shortcut_and_is_kept_too(asked: Asked) -> None:
    @driven
    async def go() -> None:
        phone = await Phone.start(language="de")
        await phone.go("/last")
        assert phone.heading == "Boreside"
        await phone.go("/quick")
        await phone.key(*"3.5", "Enter", *"3.5052")
        await phone.app.keep_glimpse()
        (picture,) = asked.of("glimpse")
        assert "{age}" in picture["age"] and picture["language"] == "de"
        kinds = [kind for kind, _ in picture["rows"]]
        assert kinds == ["head", "line", "verdict"]
        assert picture["rows"][1][1] == f"Nennmaß 3,5000{NB}in, größtes Maß 3,5052{NB}in."
        # 5.2 thou, at worst all on one side: 10.4; +0.020 less 3 thou for the hone is 17
        assert f"+0,020{NB}in" in picture["rows"][2][1]

    go()


def test_a_job_just_begun_is_kept_with_what_is_next(asked: Asked) -> None:
    @driven
    async def go() -> None:
        phone = await Phone.start()
        await new_job(phone)
        await phone.app.keep_glimpse()
        rows = asked.of("glimpse")[-1]["rows"]
        assert any(kind == "line" and said.startswith("Next: ") for kind, said in rows)
        assert ["line", "Cylinder 1: now –. Measure the wear."] in rows

    go()


def test_a_file_that_the_system_opens_is_taken_in_once(asked: Asked) -> None:
    @driven
    async def go() -> None:
        phone = await Phone.start(with_demo=True)
        asked.answers["opened"] = await phone.jobs.export([ID])
        phone.app._heard("file", True)
        await phone.rest()
        assert phone.heading == "Files"
        phone.see(f"0 entries were new, {len((await phone.jobs.load(ID)).entries)} here already.")

    go()
