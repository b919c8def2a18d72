"""The number pad's logic, key by key, without a browser."""

import asyncio
from types import SimpleNamespace

import pytest

from logic import units
from logic.doubt import Doubt
from logic.fields import Number
from logic.say import L, Style, say
from logic.units import Entered
from mobile.manners import Hands
from mobile.pad import Pad
from store.fields import bores
from store.meaning import Meant
from tests.store.making import Making


class Frame:
    """What a pad needs of the app."""

    def __init__(self, length="in"):
        self.style = Style(length=length)
        self.updates = 0
        self.height = 844
        self.by_keys = False
        self.frame = SimpleNamespace(low=False, large=False)
        self.hands = Hands()

    def t(self, line):
        return say(line, self.style)

    def update(self, *controls):
        self.updates += 1


NOMINAL = Number(key="t.nominal", label=L("Nominal"), kind="size", low=20, high=500, help=L("A size."))
READING = Number(key="t.reading", label=L("Reading"), kind="deviation", low=-3, high=5, help=L("A reading."))


def press(pad, keys):
    async def go():
        for k in keys:
            await pad.press(k)

    asyncio.run(go())


def make(length="in"):
    got = []

    async def entered(e):
        got.append(e)

    return Pad(Frame(length), entered=entered), got


def test_digits_make_a_size_in_the_persons_unit():
    pad, got = make()
    pad.aim(NOMINAL, NOMINAL.label)
    press(pad, [*"3.0312", "next"])
    assert got[0].value == pytest.approx(3.0312 * 25.4, abs=1e-12)
    assert got[0].typed_unit == "in"


def test_a_fraction_is_typed_with_the_fraction_key_twice():
    pad, got = make()
    pad.aim(NOMINAL, NOMINAL.label)
    press(pad, ["3", "/", "1", "/", "3", "2", "next"])
    assert got[0].value == pytest.approx((3 + 1 / 32) * 25.4, abs=1e-12)


def test_the_unit_key_goes_round_and_is_remembered():
    pad, got = make()
    pad.aim(READING, READING.label, base_mm=76.2)
    first = pad.unit
    assert first == "thou"
    press(pad, ["unit"])
    second = pad.unit
    assert second == "tenth"
    pad.aim(READING, READING.label, base_mm=76.2)
    assert pad.unit == second
    press(pad, [*"125", "next"])
    assert got[0].value == pytest.approx(12.5 * 0.0254, abs=1e-12)


def test_divisions_of_the_gauge():
    pad, got = make("mm")
    pad.aim(READING, READING.label, base_mm=76.2, division_mm=0.01)
    while pad.unit != "div":
        press(pad, ["unit"])
    press(pad, [*"37", "next"])
    assert got[0].value == pytest.approx(0.37, abs=1e-12)


def test_one_division_up_and_down():
    pad, got = make()
    pad.aim(READING, READING.label, base_mm=76.2, division_mm=0.0005 * 25.4)
    press(pad, [*"12", "more", "more", "less", "next"])
    assert got[0].value == pytest.approx(12.5 * 0.0254, abs=1e-9)


@pytest.mark.parametrize(("length", "typed", "deviation"), [("in", "3.0125", 12.5 * 0.0254), ("mm", "76.52", 0.32)])
def test_a_dial_field_takes_the_whole_size_too(length, typed, deviation):
    pad, got = make(length)
    pad.aim(READING, READING.label, base_mm=76.2)
    while pad.unit != length:
        press(pad, ["unit"])
    press(pad, [*typed, "next"])
    assert got[0].value == pytest.approx(deviation, abs=1e-9)


def test_sign_and_rub_out():
    pad, got = make()
    pad.aim(READING, READING.label, base_mm=76.2)
    press(pad, ["2", "5", "back", "sign", "next"])
    assert got[0].value == pytest.approx(-2 * 0.0254, abs=1e-12)


def test_a_unit_slip_is_asked_about_and_the_text_stays():
    pad, got = make()
    pad.aim(NOMINAL, NOMINAL.label)
    press(pad, [*"76.2", "next"])
    assert not got
    assert pad.text == "76.2"
    said = pad.app.t(pad.error)
    assert "76.2" in said and "3.0000" in said


def test_empty_is_refused_with_a_sentence():
    pad, got = make()
    pad.aim(NOMINAL, NOMINAL.label)
    press(pad, ["next"])
    assert not got and pad.error is not None


def test_keys_of_a_keyboard():
    pad, got = make()
    pad.aim(NOMINAL, NOMINAL.label)

    async def go():
        for k in ("3", "Numpad 0", "Backspace", ".", "0", "1", "Q", "Enter"):
            await pad.key(k)

    asyncio.run(go())
    assert got[0].value == pytest.approx(3.01 * 25.4, abs=1e-12)


# -- what stands under the typed text -------------------------------------------------------------------
def typing(pad, text):
    pad.put("")
    press(pad, [*text])
    return pad.echo.value


def job():
    """A job whose readings were typed as whole sizes so far."""
    made = Making(nominal=76.2, cylinders=1)
    made.put(bores.BLOCK_C, 20.0)
    for depth, text in ((1, "3.0118"), (2, "3.0052")):
        value = round(float(text) * 25.4 - 76.2, 6)
        made.typed(bores.READING, Entered(text, "in", value, "mm"), cylinder=1, depth=depth, axis="thrust")
    return made.view()


def test_the_pad_shows_what_enter_will_store_by_the_persons_habit():
    pad, got = make()
    pad.aim(bores.READING, "", base_mm=76.2, meant=Meant(job(), {"cylinder": 1, "depth": 3, "axis": "thrust"}))
    assert "3.0007" in typing(pad, "3.0007")
    press(pad, ["next"])
    assert got[0].value == pytest.approx(3.0007 * 25.4 - 76.2, abs=1e-9)  # 1 in = 25.4 mm (NIST SP 811)


def test_the_pad_shows_both_meanings_of_what_enter_would_ask_about():
    pad, got = make()
    fresh = Making(nominal=76.2, cylinders=1).view()
    pad.aim(bores.READING, "", base_mm=76.2, meant=Meant(fresh, {"cylinder": 1, "depth": 1, "axis": "thrust"}))
    said = typing(pad, "3.0118")
    press(pad, ["next"])
    assert not got and pad.asked is not None and len(pad.asked.choices) > 1
    assert all(say(c.line, pad.app.style) in said for c in pad.asked.choices[:2])


def test_a_gauge_that_cannot_be_right_is_said_on_the_pad_until_a_key_is_pressed():
    doubt = Doubt(
        key="reference",
        line=L("The unworn bore reads smaller than it was made."),
        settle=L("Check the ring."),
        about=(("bore.zero", ()),),
    )
    pad, _ = make()
    pad.aim(READING, READING.label, base_mm=76.2)
    pad.warn((doubt,), ("bore.zero",))
    assert pad.echo.value == "The unworn bore reads smaller than it was made. Check the ring."
    press(pad, ["1"])
    assert "ring" not in pad.echo.value
    pad.put("")
    pad.warn((doubt,), ("cut.measured",))
    assert "ring" not in pad.echo.value


def test_the_unit_that_a_number_is_taken_in_is_said_where_it_is_not_the_one_beside_it():
    app = Frame("mm")
    pad = Pad(app, entered=None)

    def taken(text, field, **_more):
        return units.parse(text + " thou", field, length_unit="mm")

    pad.aim(READING, "Reading", base_mm=76.2, meant=taken)
    press(pad, "8.5")
    assert pad.unit == "mm" and pad.got.value == pytest.approx(8.5 * 0.0254)
    assert pad.typed.value == "8.5\u202fthou" and pad._echoed(None).startswith("=  76.416\u202fmm")
    pad.aim(READING, "Reading", base_mm=76.2)
    press(pad, "0.2")
    assert pad.typed.value == "0.2\u202fmm" and pad._echoed(None).startswith("=  76.400\u202fmm")


def test_a_pad_without_a_unit_has_no_key_for_one():
    pad = Pad(Frame(), entered=None)
    pad.aim(Number(key="t.count", label=L("Strokes"), kind="count", low=0, high=500, help=L("A number.")), "Strokes")
    assert not pad.unit_key.visible
    pad.aim(READING, "Reading", base_mm=76.2)
    assert pad.unit_key.visible and pad.unit_face.value == "thou"
