"""The main job, as a person does it: worn-bore readings to a verdict, with the network off.

The readings are invented. What the verdict must be follows from plain arithmetic,
written out beside the check.
"""

from __future__ import annotations

import json
import re
import time

KEY = {".": "decimal point", "-": "Change sign"}

#: Thou over nominal: cylinder -> depth 1 thrust, crank; depth 2 thrust, crank; depth 3 thrust, crank.
#: Cylinder 3 is worn most: 12 thou on the thrust axis at the top.
WORN = {
    1: ("4", "2", "2", "1", "0", "0"),
    2: ("5", "2", "2", "1", "0", "0"),
    3: ("12", "6", "5", "3", "0", "0"),
    4: ("4", "3", "2", "1", "0", "0"),
}


def keys(phone, text):
    for character in text:
        phone.tap(KEY.get(character, character))


def new_job(phone, nominal="3.2"):
    """Begin a job. Of a bore of 3.0 in a reading "3" would be asked about: it may be the whole size."""
    phone.tap("New job")
    phone.wait("At hand today")
    phone.tap("Nominal bore")
    phone.wait("Delete digit")  # the count of cylinders is a number too
    keys(phone, nominal)
    phone.tap("Done")
    phone.tap("Start measuring")
    phone.tap("I have read this")
    phone.wait("Cylinder 1, depth 1, thrust axis")


def enter(phone, readings):
    for value in readings:
        keys(phone, value)
        phone.tap("Enter")


def type_keys(phone, text):
    """Type a number on the device's own keyboard while the pad is up, which is much quicker than tapping its keys, and enter it."""
    for character in text:
        phone.page.keyboard.press(character)
    phone.wait(re.compile(rf"^{re.escape(text)}(\u202f|$)", re.MULTILINE))  # the pad shows it
    phone.page.keyboard.press("Enter")


def enter_by_keyboard(phone, cylinder, readings):
    """The readings of a cylinder: each once the one before stands in the table."""
    places = [(d, a) for d in (1, 2, 3) for a in ("thrust axis", "crank line")]
    for (depth, axis), value in zip(places, readings, strict=True):
        phone.wait(f"Cylinder {cylinder}, depth {depth}, {axis}")
        type_keys(phone, value)
        if (depth, axis) != places[-1]:  # after the last one the next cylinder is on show
            phone.wait(re.compile(rf"^Cylinder {cylinder}, depth {depth}, {axis}: \+?{value}\.0"))


def cell(phone, cylinder, depth, axis):
    return phone.find(re.compile(rf"^Cylinder {cylinder}, depth {depth}, {axis}: ")).get("label")


def documents(data):
    """The job documents of an export, by id."""
    found = (d["document"] for d in data["documents"])
    return {d["id"]: d for d in found if d["type"] == "job"}


def test_whole_grid_with_the_network_off(phone, tmp_path):
    phone.open()
    phone.offline_kept()
    phone.airplane()
    phone.reload()
    new_job(phone)
    started = time.monotonic()
    presses = 0
    for cylinder, typed in WORN.items():
        if cylinder == 1:
            enter(phone, typed)
        else:
            enter_by_keyboard(phone, cylinder, typed)
        presses += sum(len(v) + 1 for v in typed)
    assert presses <= 24 * 3
    phone.wait(re.compile(rf"^Cylinder 4, depth 3, crank line: \+?{WORN[4][-1]}\.0"))
    phone.wait("Saved")
    print(f"24 readings in {time.monotonic() - started:.0f} s, six by the pad and the rest by a keyboard")
    # cylinder 3: 12 thou all on one side would need 24; +0.030 leaves 27 before honing, +0.020 only 17
    phone.wait(re.compile(r"Bores at \+0\.030\sin clean up all four\. Cylinder 3 governs"))

    phone.reload()  # still offline, and back at the same screen
    phone.wait(re.compile(r"Bores at \+0\.030\sin clean up all four"))
    phone.tap("Back")
    phone.wait(re.compile(r"Bores at \+0\.030\sin clean up all four\. Cylinder 3 governs"))
    phone.tap(re.compile("^Done or left out: 1"))
    phone.tap(re.compile("^Worn bores"))
    for cylinder, values in WORN.items():
        phone.tap(re.compile(rf"^Cylinder {cylinder}(\s|$)"))
        places = [(d, a) for d in (1, 2, 3) for a in ("thrust axis", "crank line")]
        for (depth, axis), value in zip(places, values, strict=False):
            shown = f"+{value}.0" if value != "0" else "0.0"
            assert (
                cell(phone, cylinder, depth, axis) == f"Cylinder {cylinder}, depth {depth}, {axis}: {shown}\u202fthou"
            )

    # export, clear the storage, import, and have the same job
    phone.tap("Back")
    with phone.download() as files:
        phone.tap("Save this job to a file")
    exported = json.loads(files[0].read_text("utf-8"))
    (id,) = documents(exported)
    assert sum(e["kind"] == "reading" for e in documents(exported)[id]["entries"]) == 24
    phone.clear()
    phone.page.goto(phone.url)
    phone.started()
    phone.wait("0 on this device")
    phone.tap("Settings, files and help")
    phone.tap("Files: save, import, bin")
    with phone.choosing(files[0]):
        phone.tap("Choose a file")
    phone.wait(re.compile(r"^\d+ entr(y was|ies were) new"))
    with phone.download() as again:
        phone.tap("Save all jobs to a file")
    assert documents(json.loads(again[0].read_text("utf-8"))) == documents(exported)
    phone.assert_private()


def test_killed_in_the_middle_of_entry(phone):
    phone.open()
    new_job(phone)
    enter(phone, ("4", "2", "3"))
    phone.wait(re.compile(r"^Cylinder 1, depth 2, thrust axis: \+3\.0"))  # "Saved" alone may speak of an earlier one
    phone.wait("Saved")
    saved = [cell(phone, 1, d, a) for d, a in ((1, "thrust axis"), (1, "crank line"), (2, "thrust axis"))]
    keys(phone, "7")  # typed, not entered: never shown as saved
    phone.kill()
    phone.launch()
    phone.open()
    phone.tap(re.compile("^Job of"))
    phone.tap_to(re.compile("^Worn bores"), re.compile("^Cylinder 1, depth 1, thrust axis: "))
    assert [cell(phone, 1, d, a) for d, a in ((1, "thrust axis"), (1, "crank line"), (2, "thrust axis"))] == saved
    assert saved[0].endswith("+4.0\u202fthou")
    # and the next cell is the one asked for
    phone.wait("Cylinder 1, depth 2, crank line")
