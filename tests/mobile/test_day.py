"""A day at the engine: the board of cylinders, the path, leaving out, and the pad at the bore."""

from __future__ import annotations

import re

from store.facts.gates import PISTON_RISK

from .stub import DEMO, Phone, driven, label
from .test_screen_step import measured


@driven
async def test_the_job_shows_a_board_and_a_tap_goes_to_what_a_bore_needs() -> None:
    phone = await Phone.start()
    id = await measured(phone)
    await phone.go(f"/job/{id}")
    phone.see("The bores", re.compile(r"Cylinder 3, undecided. Now .*in. Decide on the oversize."))
    phone.gone("things are still to be entered")
    await phone.tap(re.compile("^Cylinder 3, undecided"))
    await phone.rest()
    assert phone.heading == "Oversize" and phone.app.screen.desk.cylinder == 3
    await phone.tap(re.compile(r"^\+0\.030\sin$"))
    await phone.rest()
    await phone.go(f"/job/{id}")
    await phone.tap(re.compile("^Cylinder 2, undecided.*Measure its piston"))
    await phone.rest()
    assert phone.heading == "Sizes"
    await phone.tap("I take the risk: bore without")
    await phone.rest()
    assert PISTON_RISK in {e.what for e in await phone.entries(id, "decision")}
    await phone.go(f"/job/{id}")
    phone.see(re.compile("Cylinder 1, to bore.*Bore to "))


@driven
async def test_a_step_off_the_path_is_put_on_with_one_tap() -> None:
    phone = await Phone.start()
    id = await measured(phone)
    await phone.go(f"/job/{id}")
    assert not any(row.startswith("Walls\n") for row in _rows(phone))
    await phone.tap(re.compile("^Put on the path: Walls. Needs a wall-thickness gauge."))
    await phone.rest()
    assert any(row.startswith("Walls\n") for row in _rows(phone))


def _rows(phone: Phone) -> list[str]:
    return [label(c) for c in phone.pressable()]


@driven
async def test_a_step_is_left_out_in_two_taps() -> None:
    phone = await Phone.start(with_demo=True)
    await phone.go(DEMO + "/chamfer")
    await phone.tap("Leave this step out …", "Not needed on this engine")
    await phone.rest()
    phone.see("Left out: Not needed on this engine")


@driven
async def test_while_honing_the_pad_stays_with_the_bore() -> None:
    """After the first check of a bore the strokes of its next one are asked, not the next bore."""
    phone = await Phone.start()
    id = await measured(phone)
    await phone.go(f"/job/{id}/oversize")
    await phone.tap(re.compile(r"^\+0\.030\sin$"))
    await phone.go(f"/job/{id}/sizes")
    await phone.tap("I take the risk: bore without")
    await phone.rest()
    await phone.go(f"/job/{id}/hone/2")
    desk = phone.app.screen.desk
    await phone.tap(re.compile("^Enter: "))
    await phone.enter("3.0270", "3.0270", "3.0270")
    await phone.rest()
    assert desk.aimed is None and desk.cylinder == 2  # the answer is seen
    ask = desk.next_ask()
    assert (ask.field.key, ask.at) == ("hone.strokes", {"cylinder": 2, "check": 2})
    await phone.tap(re.compile("^Enter: "))
    await phone.enter("20", "3.0285", "3.0285", "3.0285")
    await phone.rest()
    assert desk.next_ask().at == {"cylinder": 2, "check": 3}
    assert {e.what for e in await phone.entries(id, "reading") if e.at.get("cylinder") == 2} >= {"hone.strokes"}
