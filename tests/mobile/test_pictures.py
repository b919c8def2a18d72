"""The README's pictures are as new as the screens they show, small, and in the README."""

import asyncio
import json
from pathlib import Path

import demo
from demo.scenario import JOB
from logic.say import Style
from store.report import text_report
from store.view import View

from .stub import Phone

ROOT = Path(__file__).parents[2]
PLACE = ROOT / "demo"
NAMES = ("verdict", "board", "report")
SHOP = ("Invented Engine Works", "1 Example Lane")
AGAIN = "the screens say something else now: python -m tests.bench.pictures makes the pictures anew"


def verdict_from():
    """What the quick check is given: the nominal bore, and the worst reading of cylinder 2."""
    return "3.07", "3.08"


async def _screens():
    phone = await Phone.start()
    nominal, worst = verdict_from()
    await phone.tap("Nominal bore")
    await phone.keys(nominal)
    await phone.tap("Next")
    await phone.keys(worst)
    await phone.tap("Done")
    verdict = phone.text().split("\n")
    await demo.load(phone.jobs)
    phone.app.forget()
    await phone.go(f"/job/{JOB}")
    return verdict, phone.text().split("\n")


def shown():
    """What the three pictures say, sentence by sentence."""
    verdict, board = asyncio.run(_screens())
    documents = demo.documents()
    kit = {d.id: View(d) for d in documents if d.type == "card"}
    job = View(next(d for d in documents if d.type == "job"), kit)
    page = text_report(job, Style("in"), shop=SHOP).split("\nParts fitted\n")[0]
    # what stands below the fold is not in the picture
    return {"verdict": verdict[:22], "board": board[:12], "report": page.split("\n")}


def test_the_pictures_are_as_new_as_the_screens():
    assert json.loads((PLACE / "pictures.json").read_text("utf-8")) == shown(), AGAIN


def test_the_pictures_are_small_and_the_readme_shows_them():
    assert sum((PLACE / f"{name}.png").stat().st_size for name in NAMES) < 150_000
    readme = (ROOT / "README.md").read_text("utf-8")
    assert all(f"(demo/{name}.png)" in readme for name in NAMES)
