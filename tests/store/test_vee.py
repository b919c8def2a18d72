"""A vee: its banks as the person numbers them, a bank at a time under the bar, and a deck to each."""

from __future__ import annotations

import pytest

from logic.places import banks_of, vees
from logic.say import Style, say
from store.at_bore import at_bore
from store.customer import facts
from store.facts.banks import bank_of, banks, beside
from store.facts.face import bore_places_mm, decks, fitted, lean, skim_mm
from store.facts.strip import order_of_boring, orders_of_boring
from store.fields import cut, face, strip
from store.flow import work_of
from store.sheets import sheet
from store.telling import Teller
from tests.store.making import Making

MM = Style(length="mm")


@pytest.mark.parametrize(
    ("written", "found"),
    [
        ("1 2 3 / 4 5 6", ((1, 2, 3), (4, 5, 6))),
        ("1,3,5|2,4,6", ((1, 3, 5), (2, 4, 6))),
        ("6 5 4 / 3 2 1", ((6, 5, 4), (3, 2, 1))),  # numbered from the other end
        ("1 2 3 4 5 6", None),  # one row
        ("1 2 3 / 4 5", None),
        ("1 2 3 / 4 5 5", None),
        ("1 2 3 / 4 5 7", None),
        ("left / right", None),
        ("", None),
    ],
)
def test_banks_are_read_as_written_or_not_at_all(written: str, found: object) -> None:
    assert banks_of(written, range(1, 7)) == found


def test_the_usual_numberings() -> None:
    assert vees(6) == (((1, 2, 3), (4, 5, 6)), ((1, 3, 5), (2, 4, 6)))
    assert vees(2) == (((1,), (2,)),)  # both ways are one
    assert vees(3) == vees(1) == ()


def test_without_a_word_of_banks_there_is_one() -> None:
    view = Making(nominal=80.0, cylinders=4, banks="no such").view()
    assert banks(view) == ((1, 2, 3, 4),) and decks(view) == (1,)
    assert beside(view, 2) == (1, 3) and beside(view, 1) == (2,)


def test_neighbours_are_those_of_the_bank() -> None:
    view = Making(nominal=80.0, cylinders=6, banks="1 3 5 / 2 4 6").view()
    assert [bank_of(view, c) for c in range(1, 7)] == [1, 2, 1, 2, 1, 2]
    assert beside(view, 3) == (1, 5) and beside(view, 2) == (4,)


def test_one_bank_is_bored_before_the_other() -> None:
    making = Making(nominal=80.0, cylinders=8, banks="1 3 5 7 / 2 4 6 8")
    assert order_of_boring(making.view()) == (1, 3, 5, 7, 2, 4, 6, 8)
    making.put(cut.ORDER, "spread")
    # every second of a bank first: none follows its neighbour
    assert orders_of_boring(making.view()) == ((3, 7, 1, 5), (4, 8, 2, 6))


def cut_once(making: Making, cylinder: int) -> None:
    making.put(cut.SETTING, 80.3, **{"cylinder": cylinder, "pass": 1})
    making.put(cut.MEASURED, 80.3, **{"cylinder": cylinder, "pass": 1})


def test_the_bore_beside_the_last_one_is_warm() -> None:
    making = Making(nominal=80.0, cylinders=4, banks="1 3 / 2 4")
    for c in range(1, 5):
        making.put(cut.PRESENT, 80.0, cylinder=c)
    making.decide("oversize", "+0.50", 0.5)
    making.decide("sizes.risk.pistons", "taken")
    making.decide("sizes.risk.clearance", "taken")
    cut_once(making, 1)
    view = making.view()

    def warm(c: int) -> str | None:
        now = at_bore(view, "cut", c)
        assert now is not None
        return None if now.warm is None else say(now.warm)

    assert warm(3) == "Cylinder 1 beside it was cut last: let the block go cold before you measure."
    assert warm(2) is None and warm(1) is None  # on the other bank; at work


def vee() -> Making:
    """A vee of four with both decks measured: the second leans twice the limit across."""
    making = Making(nominal=80.0, cylinders=4, banks="1 3 / 2 4")
    making.put(face.HEIGHT_U, 0.001)
    for deck, slope in zip(face.DECKS, (0.0, 0.1 / 120), strict=True):
        for point, (x, y) in enumerate(((0, -60), (0, 60), (200, -60), (200, 60)), 1):
            making.put(deck.x, x, point=point)
            making.put(deck.y, y, point=point)
            making.put(deck.height, 200.0 + slope * y, point=point)
    return making


def test_each_bank_has_a_deck_of_its_own() -> None:
    making = vee()
    view = making.view()
    assert set(bore_places_mm(view, 1)) == {1, 3} and set(bore_places_mm(view, 2)) == {2, 4}
    one, other = lean(view, 1), lean(view, 2)
    assert one is not None and other is not None
    # 0.1 mm over 120 mm across, over the bore's length
    assert one.total_mm == pytest.approx(0.0, abs=1e-9)
    assert other.total_mm == pytest.approx(0.1 / 120 * other.length_mm, rel=1e-6)
    work = work_of(view, sheet("face"))
    said = {r.key: say(r.line, MM) for r in work.results}
    assert said["face.ready"].startswith("Bank 1: Go") and "Bank 2: Do not clamp" in said["face.ready.bank2"]
    assert not work.done and len(work.pictures) == 2
    making.put(face.DECKS[1].remedy, "skim")
    planned = skim_mm(making.view(), 2)
    assert planned > 0.04 and not work_of(making.view(), sheet("face")).done  # chosen, not done
    making.put(face.DECKS[1].skim, planned)
    assert work_of(making.view(), sheet("face")).done
    assert skim_mm(making.view(), 1) == 0.0 and skim_mm(making.view(), 2) > 0.04
    assert skim_mm(making.view()) == skim_mm(making.view(), 2)  # one cylinder stands for all: where most comes off


def test_a_deck_not_measured_is_asked_for() -> None:
    making = Making(nominal=80.0, cylinders=4, banks="1 3 / 2 4")
    for point, x in ((1, 0.0), (2, 200.0)):
        making.put(face.X, x, point=point)
        making.put(face.HEIGHT, 200.0, point=point)
    work = work_of(making.view(), sheet("face"))
    assert (face.DECKS[1].height.key, {"point": 1}) in work.missing and not work.done
    assert fitted(making.view(), 2) is None and lean(making.view(), 2) is None
    row = Making(nominal=80.0, cylinders=4)
    assert not any(key.endswith("2") for key, _ in work_of(row.view(), sheet("face")).missing)


def test_liners_side_by_side_are_those_of_a_bank_and_rise_with_its_skim() -> None:
    making = Making(nominal=80.0, cylinders=4, banks="1 3 / 2 4")
    making.put(strip.BLOCK, "wet")
    making.put(strip.LOWEST, 0.02)
    making.put(strip.HIGHEST, 0.14)
    for c, height in ((1, 0.03), (2, 0.12), (3, 0.03), (4, 0.12)):
        making.put(strip.HEIGHT, height, cylinder=c)

    def said() -> str:
        return next(say(r.line, MM) for r in work_of(making.view(), sheet("strip")).results if r.key == "strip.liners")

    assert said() == "Every liner stands within limits."  # 1 and 2 differ by 0.09, and stand in different decks
    making.put(face.DECKS[1].skim, 0.05)
    assert said().startswith("Liner 2 stands")


def test_a_flange_and_its_recess_say_what_shim_or_cut_is_wanted() -> None:
    making = Making(nominal=80.0, cylinders=3)
    making.put(strip.BLOCK, "wet")
    # 8.00 in 8.00, 8.20 in 8.00, 8.10 in 8.00: 0, +0.20 and +0.10 mm
    for c, flange in ((1, 8.0), (2, 8.2), (3, 8.1)):
        making.put(strip.RECESS, 8.0, cylinder=c)
        making.put(strip.FLANGE, flange, cylinder=c)

    def told() -> tuple[str, ...]:
        (found,) = [r for r in work_of(making.view(), sheet("strip")).results if r.key == "strip.flange"]
        return tuple(say(line, MM).replace("\u202f", " ") for line in (found.line, *found.why))

    assert told()[0].startswith("Flange less recess is known")
    making.put(strip.LOWEST, 0.05)
    making.put(strip.HIGHEST, 0.15)
    shim, deeper = told()
    assert shim == "Liner 1: lay at least 50.0 µm of shim under its flange."
    assert deeper == "Liner 2: cut its recess at least 50.0 µm deeper."
    making.put(face.SKIM, 0.06)  # a skim brings every flange up by as much
    assert told() == (
        "Liner 2: cut its recess at least 110.0 µm deeper.",
        "Liner 3: cut its recess at least 10.0 µm deeper.",
    )


def test_the_report_says_how_they_stand() -> None:
    view = Making(nominal=80.0, cylinders=4, banks="1 3 / 2 4", engine="Invented vee", number="V 0042").view()
    told = dict(facts(view, Teller(MM, 0)))
    assert told["Cylinders"] == "4, in banks 1 3 / 2 4"
    assert told["Engine"] == "Invented vee" and told["Engine number"] == "V 0042"


def test_a_third_bank_is_bored_for_itself_and_its_deck_counts_as_not_measured() -> None:
    making = Making(nominal=80.0, cylinders=6, banks="1 2 / 3 4 / 5 6")
    view = making.view()
    assert [bank_of(view, c) for c in range(1, 7)] == [1, 1, 2, 2, 3, 3] and order_of_boring(view) == (1, 2, 3, 4, 5, 6)
    assert decks(view) == (1, 2) and lean(view, 5) is None and skim_mm(view, 5) == 0.0
    told = [say(a.text) for r in work_of(view, sheet("face")).results for a in r.assumptions]
    assert "A third bank's deck is not asked for: it counts as not measured." in told
    two = Making(nominal=80.0, cylinders=6, banks="1 2 3 / 4 5 6").view()
    assert not any("third" in say(a.text) for r in work_of(two, sheet("face")).results for a in r.assumptions)
