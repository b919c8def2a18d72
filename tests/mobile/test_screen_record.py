"""A machine's record and its straightness check on the phone."""

from __future__ import annotations

import random
import re

from store.fields.parts import PER_EDGE, PER_HOUR, PER_SET
from store.fields.straight import BASE, DEPTH, SIZE
from store.sheets import cut

from ..store.making import Making
from .stub import Phone, driven


async def a_bar(phone, biases=(), title="Invented bar"):
    """A bar's card, and a job for each bias with three pairs."""
    card = await phone.jobs.create("card", card="bar", title=title)
    rng = random.Random(4)
    for n, bias in enumerate(biases):
        made = Making(nominal=76.2, cylinders=1, bar=card.id, title=f"Customer {n}")
        for p in (1, 2, 3):
            made.put(cut.SETTING, 76.4 + 0.1 * p, cylinder=1, **{"pass": p})
            made.put(cut.MEASURED, 76.4 + 0.1 * p + bias + rng.gauss(0, 0.002), cylinder=1, **{"pass": p})
        document = made.document(id=f"job{n:05d}")
        await phone.backend.change(document.id, lambda _, d=document: d, lambda: "")
    return card.id


@driven
async def test_the_record_of_a_bar_grows_with_its_jobs():
    phone = await Phone.start(length="mm")
    card = await a_bar(phone, [0.010, 0.012, 0.009, 0.011, 0.010, 0.012, 0.010, 0.011])
    await phone.go(f"/kit/{card}")
    await phone.tap("Its record")
    await phone.rest()
    phone.see("As usual", re.compile(r"The bar's error: usual is \+0.01"), "From 8 bores of this machine since")
    phone.gone("Customer 3")
    await phone.tap("Show whose jobs it rests on")
    phone.see("Customer 3")
    await phone.tap("Web page to print")
    await phone.rest()
    await phone.tap("Save this card to a file")
    await phone.rest()
    kinds = sorted(name.rsplit(".", 1)[1] for name in phone.picker.saved)
    assert kinds == ["html", "json"]
    saved = {name.rsplit(".", 1)[1]: data.decode() for name, data in phone.picker.saved.items()}
    assert "<svg" in saved["html"] and "Customer 3" in saved["html"]  # the names were asked for on the screen
    assert "record.row" in saved["json"] and "Customer" not in saved["json"]


@driven
async def test_the_file_names_the_jobs_only_where_that_was_ticked():
    phone = await Phone.start(length="mm")
    card = await a_bar(phone, [0.010, 0.012])
    await phone.go(f"/kit/{card}/record")
    await phone.tick("Name the jobs it rests on in the file", on=True)
    await phone.tap("Save this card to a file")
    await phone.rest()
    (saved,) = phone.picker.saved.values()
    assert b"Customer 1" in saved and b"record.name" in saved
    other = await Phone.start(length="mm")
    await other.jobs.take_in(await other.jobs.examine(saved))
    other.app.forget()
    await other.go(f"/kit/{card}/record")
    other.gone("Customer 1")
    await other.tap("Show whose jobs it rests on")
    other.see("Customer 0", "Customer 1")
    await phone.tick("Name the jobs it rests on in the file", on=False)
    phone.picker.saved.clear()
    await phone.tap("Save this card to a file")
    await phone.rest()
    (saved,) = phone.picker.saved.values()
    assert b"Customer" not in saved


@driven
async def test_a_new_job_goes_by_the_record():
    phone = await Phone.start(length="mm")
    card = await a_bar(phone, [0.010, 0.012, 0.009, 0.011])
    made = await phone.jobs.create(cylinders=1, bar=card)
    view = await phone.app.view(made.id)
    await phone.rest()  # the fourth job is gone through in the background
    assert cut.bias(view).past_jobs == 4


@driven
async def test_an_empty_record_says_so_and_speaks_german():
    phone = await Phone.start(language="de")
    card = await a_bar(phone)
    await phone.go(f"/kit/{card}/record")
    phone.see("Noch nichts")
    await phone.tap("Geradheitsprüfung")
    await phone.rest()
    phone.see("Zuerst unter die Grundplatte sehen")


@driven
async def test_the_base_is_asked_for_before_anything_else():
    phone = await Phone.start(length="mm")
    card = await a_bar(phone)
    await phone.go(f"/kit/{card}/straight")
    phone.see("First look under the base")
    view = await phone.app.view(card)
    made = Making(card="bar")
    made.put(BASE, "clean")
    for d, depth in ((1, 10.0), (2, 60.0), (3, 110.0)):
        made.put(DEPTH, depth, depth=d)
        for axis in ("thrust", "crank"):
            made.put(SIZE, 80.0 - 0.0003 * (depth - 60.0), depth=d, axis=axis)
    await phone.app.add(view, *made.entries)
    await phone.go(f"/kit/{card}/straight")
    phone.see("wider at the top", "Index the edge and bore again")


@driven
async def test_the_estimate_is_handed_over_for_the_customer():
    phone = await Phone.start(length="mm")
    made = Making(nominal=76.2, cylinders=2, title="Customer 7")
    made.decide("oversize", "+0.50", number=0.508)
    for c in (1, 2):
        made.put(cut.PRESENT, 76.25, cylinder=c)
    for field, price in ((PER_HOUR, 60.0), (PER_EDGE, 5.0), (PER_SET, 50.0)):
        made.put(field, price)
    document = made.document(id="job00001")
    await phone.backend.change(document.id, lambda _: document, lambda: "")
    await phone.go("/job/job00001/parts")
    await phone.tap("Send the estimate")
    await phone.rest()
    ((name, data),) = phone.picker.saved.items()
    text = data.decode()
    assert name.endswith(".txt") and "estimate" in name
    assert "Work: 2 cylinders rebored and honed" in text and "Edges and stones: " in text and "In all: " in text
    phone.picker.saved.clear()
    await phone.tap("Send this list")
    await phone.rest()
    (data,) = phone.picker.saved.values()
    assert "For bar and hone:" in data.decode()
