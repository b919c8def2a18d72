"""The trade's own steps on the phone and at the command: strip-down, the order, and figures of an earlier job."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from mobile.command import main
from store import draft
from store.fields import rings, sizes
from tests import sample

from .stub import DEMO, Phone, driven


async def job(phone: Phone, **header: Any) -> str:
    nominal = draft.typed(draft.Typed(text="80", typed_unit="mm", value=80.0, unit="mm"))
    made = await phone.jobs.create("job", nominal=nominal, cylinders=2, **header)
    return made.id


@driven
async def test_a_new_job_begins_with_the_strip_down_and_its_cautions() -> None:
    phone = await Phone.start()
    id = await job(phone, title="Invented new job")
    await phone.go(f"/job/{id}")
    phone.see(re.compile("Strip down and cover"))
    await phone.go(f"/job/{id}/strip")
    phone.see(re.compile("asbestos"), re.compile("hot coolant"), re.compile("Never trust a jack alone"))
    await phone.tap("I have read this")
    phone.gone(re.compile("asbestos"))
    phone.see("Coolant is drained")
    # read here, they do not come again at the bores; what is new there does
    await phone.go(f"/job/{id}/bores")
    phone.see(re.compile("Lift the boring machine"))
    phone.gone(re.compile("asbestos"))


@pytest.mark.parametrize(
    ("step", "words"),
    [
        ("clamp", ("asbestos", "Lift the boring machine")),
        ("face", ("asbestos", "Lift the boring machine")),
        (
            "cut",
            ("asbestos", "Lift the boring machine", "Pull the plug", "hearing", "Swarf cuts", "leaves the tip hot"),
        ),
        ("hone", ("never run it outside", "dust mask", "hearing")),
    ],
)
@driven
async def test_whoever_begins_in_the_middle_is_warned_there(step: str, words: tuple[str, ...]) -> None:
    phone = await Phone.start()
    id = await job(phone, title="Invented job begun in the middle")
    await phone.jobs.append(id, draft.skipped("sheet.strip", "Later"), draft.skipped("sheet.bores", "Later"))
    await phone.go(f"/job/{id}/{step}")
    for said in words:
        phone.see(re.compile(said))


@driven
async def test_the_list_goes_out_as_a_text() -> None:
    phone = await Phone.start(with_demo=True)
    await phone.go(f"{DEMO}/parts")
    phone.see(re.compile("4 × piston"), "Time and price")
    await phone.tap("Send this list")
    (text,) = [data.decode() for data in phone.picker.saved.values()]
    assert "4 × piston" in text and "Please say what can be had" in text


@driven
async def test_figures_of_an_earlier_job_are_taken_over_and_confirmed_with_one_tap() -> None:
    phone = await Phone.start()
    old = await job(phone, title="Invented job of last year", engine="Invented twin")
    typed = draft.Typed(text="0.05", typed_unit="mm", value=0.05, unit="mm")
    await phone.jobs.append(old, draft.reading(sizes.CLEARANCE, {}, typed), draft.chosen(rings.OIL_RING, "cast"))
    id = await job(phone, title="Invented job of today", engine="invented  TWIN")
    await phone.go(f"/job/{id}")
    await phone.tap("Figures from an earlier job")
    phone.see("Invented job of last year", re.compile("Clearance the piston maker gives: "))
    await phone.tap("Take over 2 figures")
    phone.see(re.compile("2 figures come from the job Invented job of last year"))
    assert [e.what for e in await phone.entries(id)] == ["sizes.clearance", "rings.oil", "taken.over"]
    await phone.tap("Checked, still right")
    phone.gone(re.compile("figures come from the job"))
    await phone.go(f"/job/{id}/earlier")
    phone.see("No earlier job of this engine has figures that are missing here.")


def test_the_command_prints_the_order_and_the_estimate(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "job.json"
    path.write_bytes(sample.export())
    assert main(["parts", str(path), "--estimate"]) == 0
    said = capsys.readouterr().out
    assert "4 × piston" in said and "of work." in said
    assert main(["parts", str(path), "--json", "--language", "de"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["parts"][0]["count"] == 4 and "Kolben" in data["parts"][0]["what"]
    assert data["estimate"]["value"]["value"] > 1
