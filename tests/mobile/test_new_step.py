"""A step is one module: an invented one, put among the others, is seen everywhere without another line of code."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from logic.fields import Number
from logic.result import Figure, Result, Verdict
from logic.say import L, Qty, say
from mobile.command import main
from store import fields
from store.flow import flow, work_of
from store.report import gather
from store.sheets import NAMES, Group, Sheet, Work, all_sheets, register, sheet
from store.view import View
from tests.store.making import Making

from .stub import DEMO, Phone, driven

SOAK = Number(
    key="soak.hours",
    label=L("Hours the block lay in the wash"),
    kind="count",
    help=L("Invented for this test. A block is not washed by the hour."),
    low=0,
    high=48,
)
FIRST = Number(
    key="soak.drip",
    label=L("Drips from a cylinder"),
    kind="count",
    help=L("Invented for this test. Nobody counts them."),
    low=0,
    high=9,
    at=("cylinder",),
    optional=True,
)


def work(view: View) -> Work:
    hours = view.number(SOAK)
    if hours is None:
        return Work(missing=((SOAK.key, {}),))
    got = Qty(hours, "count")
    result = Result(
        key="soak",
        line=L("The block has soaked for {hours} hours.", hours=got),
        value=got,
        verdict=Verdict.GO,
        figures=(Figure("hours", L("Soaked"), got, formula=L("as entered"), source="entered"),),
    )
    return Work(results=(result,), done=True)


SHEET = Sheet(
    key="soak",
    order=12,
    title=L("Soaking the block"),
    purpose=L("Show that a step may be invented."),
    groups=(
        Group(key="soak", title=L("The wash"), fields=(SOAK,)),
        Group(
            key="drips",
            title=L("Drips"),
            fields=(FIRST,),
            places=lambda view: [{"cylinder": c} for c in view.cylinders],
        ),
    ),
    work=work,
)


@pytest.fixture
def soaking() -> Iterator[None]:
    take_away = register(SHEET)
    yield
    take_away()


def made(hours: float) -> Any:
    making = Making(nominal=76.2, cylinders=2)
    making.put(SOAK, hours)
    return making.view()


@pytest.mark.usefixtures("soaking")
def test_it_takes_its_place_in_the_flow() -> None:
    assert [s.key for s in all_sheets()] == list(NAMES)
    assert NAMES.index("hone") + 1 == NAMES.index("soak") == NAMES.index("final") - 1
    assert flow(Making(nominal=76.2).view()).state("soak").state == "open"
    now = flow(made(3))
    assert now.state("soak").state == "done"
    assert say(now.state("soak").title) == "Soaking the block"


@pytest.mark.usefixtures("soaking")
def test_its_entries_are_checked_like_any_other() -> None:
    odd = made(49)
    assert [e.what for e in odd.odd] == ["soak.hours"]
    assert work_of(odd, sheet("soak")).missing == (("soak.hours", {}),)


@pytest.mark.usefixtures("soaking")
def test_it_stands_in_the_report() -> None:
    said = repr([p.blocks for p in gather(made(3), annex=True).parts if p.title == "Soaking the block"])
    assert "The block has soaked for 3 hours." in said and "Soaked 3" in said
    assert "Hours the block lay in the wash" in said


@pytest.mark.usefixtures("soaking")
def test_the_command_prints_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "demo.json"
    assert main(["demo", "--out", str(path)]) == 0
    capsys.readouterr()
    main(["work", str(path)])
    steps = {s["step"]: s for s in json.loads(capsys.readouterr().out)["steps"]}
    assert steps["soak"]["title"] == "Soaking the block"
    assert steps["soak"]["missing"] == [{"field": "soak.hours", "at": {}}]
    assert len(steps) == len(NAMES) == 19


@driven
async def test_it_has_a_screen() -> None:
    take_away = register(SHEET)
    try:
        phone = await Phone.start(with_demo=True)
        await phone.go(DEMO)
        phone.see("Soaking the block")
        await phone.go(f"{DEMO}/soak")
        assert phone.heading == "Soaking the block"
        phone.see("Hours the block lay in the wash", "Drips")
    finally:
        take_away()


def test_without_it_all_is_as_before() -> None:
    assert "soak" not in NAMES and len(NAMES) == 18
    assert SOAK.key not in fields.declared()
    with pytest.raises(KeyError):
        sheet("soak")


def test_a_name_or_a_key_that_is_taken_is_refused() -> None:
    with pytest.raises(ValueError, match="there is a step"):
        register(sheet("cut"))
    again = Number(key="cut.spin", label=L("Twice"), kind="count", help=L("Invented for this test."))
    other = Sheet(
        key="twice",
        order=1,
        title=L("Twice"),
        purpose=L("Invented for this test."),
        groups=(Group(key="twice", title=L("Twice"), fields=(again,)),),
        work=work,
    )
    with pytest.raises(ValueError, match=r"cut\.spin"):
        register(other)
    assert "twice" not in NAMES
