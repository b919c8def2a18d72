"""What a person enters of the trade's day on the phone: rates, banks, the engine's number, figures of an earlier job, dates."""

from __future__ import annotations

import re

from store import rates
from store.facts.taken import NOMINAL, TAKEN
from store.fields import clean

from .stub import Phone, driven, label


async def begun(phone: Phone, **texts: str) -> None:
    """A new job with a nominal bore, and what is written of it."""
    await phone.go("/new")
    await phone.tap("Nominal bore")
    await phone.enter("3.0", word="Done")
    for name, text in texts.items():
        await phone.write(name.replace("_", " "), text)


@driven
async def test_rates_are_kept_in_the_settings_and_a_slip_is_said() -> None:
    phone = await Phone.start()
    await phone.go("/more")
    await phone.write("Per hour of work", "55,50")
    await phone.write("Margin on parts, in percent", "12")
    await phone.write("Currency, as a sign or short name", "€")
    await phone.write("Per bore, on top of the time", "1,250")  # twelve hundred and fifty, or one and a quarter?
    phone.see("A number, please: like 55 or 12.50.")
    kept = rates.read(await phone.jobs.setting(rates.SETTING))
    assert kept == rates.Rates(per_hour=55.5, margin=0.12, currency="€")
    await phone.write("Per bore, on top of the time", "20")
    await phone.write("Per hour of work", "")  # emptied: not said
    kept = rates.read(await phone.jobs.setting(rates.SETTING))
    assert kept == rates.Rates(per_bore=20.0, margin=0.12, currency="€")
    await phone.go("/")
    await phone.go("/more")
    assert phone.field("Per bore, on top of the time").value == "20"
    await begun(phone)
    await phone.tap("Start measuring")
    await phone.rest()
    (job,) = await phone.jobs.list("job")
    assert rates.of(await phone.app.view(job.id)) == kept  # what the estimate takes


@driven
async def test_a_vee_is_numbered_as_the_person_says_and_shown_bank_by_bank() -> None:
    phone = await Phone.start()
    await begun(phone, Engine="Invented vee", Engine_number="V 0042")
    await phone.tap("One cylinder more", "One cylinder more")
    await phone.tap("Two banks: 1 3 5 / 2 4 6")
    await phone.tap("One cylinder fewer", "One cylinder fewer")  # the numbering goes along
    assert phone.field("Each bank from the front").value == "1 3 / 2 4"
    await phone.write("Each bank from the front", "4 3 / 2 1")
    await phone.tap("Start measuring")
    await phone.rest()
    (job,) = await phone.jobs.list("job")
    header = (await phone.jobs.load(job.id)).header
    assert header["banks"].value == "4 3 / 2 1" and header["number"].value == "V 0042"
    await phone.go(f"/job/{job.id}")
    phone.see("Bank 1, from the front", "Bank 2, from the front", "V 0042")
    bores = [label(c) for c in phone.pressable() if label(c).startswith("Cylinder ")]
    assert [b.split(",")[0] for b in bores] == ["Cylinder 4", "Cylinder 3", "Cylinder 2", "Cylinder 1"]
    await phone.go(f"/job/{job.id}/details")
    await phone.write("Each bank from the front", "1 2 3")
    phone.see("Name each cylinder once, with a / between the banks.")
    await phone.tap("In one row")
    await phone.go(f"/job/{job.id}")
    phone.gone("Bank 1, from the front")


@driven
async def test_a_row_of_three_is_not_asked_about_banks() -> None:
    phone = await Phone.start()
    await begun(phone)
    phone.see("In one row")
    await phone.tap("One cylinder fewer")
    phone.gone("In one row")


@driven
async def test_the_nominal_bore_of_an_earlier_job_is_taken_over_and_to_be_confirmed() -> None:
    phone = await Phone.start()
    await begun(phone, Job_name="First", Engine="Invented twin")
    await phone.tap("Start measuring")
    await phone.rest()
    await phone.go("/new")
    await phone.write("Engine", "invented  twin")
    await phone.rest()
    await phone.tap(re.compile(r"^Nominal bore 3\.0000.in, as in First$"))
    await phone.tap("Start measuring")
    await phone.rest()
    job = next(s for s in await phone.jobs.list("job") if s.title != "First")
    decision = next(e for e in await phone.entries(job.id, "decision") if e.what == TAKEN)
    assert (decision.value, decision.advised) == ("First", NOMINAL)
    await phone.go(f"/job/{job.id}")
    phone.see(re.compile("1 figure comes from the job First: not confirmed"))
    await phone.tap("Checked, still right")
    await phone.rest()
    phone.gone(re.compile("comes from the job First"))


@driven
async def test_the_dates_of_the_handover_stand_there_and_can_be_written_over() -> None:
    phone = await Phone.start()
    await begun(phone)
    await phone.tap("Start measuring")
    await phone.rest()
    (job,) = await phone.jobs.list("job")
    await phone.go(f"/job/{job.id}/clean")
    if phone.has("I have read this"):
        await phone.tap("I have read this")
    await phone.tap(re.compile("^Afterwards"))
    await phone.write("Handed over on", "2026-03-01")
    await phone.rest()
    oil = phone.field("First oil change on or at")
    assert oil.value == "2026-03-22, or after 500 miles if that is sooner" and oil.helper == "assumed; write over it"
    await phone.write("First oil change on or at", str(oil.value), by="on_blur")  # looked at and left: no entry
    assert clean.OIL_ON.key not in {e.what for e in await phone.entries(job.id, "chosen")}
    await phone.write("First oil change on or at", "at 400 miles")
    await phone.rest()
    assert [e.value for e in await phone.entries(job.id, "chosen") if e.what == clean.OIL_ON.key] == ["at 400 miles"]
    assert phone.field("First oil change on or at").helper is None
    assert str(phone.field("Run in by or at").value).startswith("2026-04-12")
