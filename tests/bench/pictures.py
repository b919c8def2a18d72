"""The README's three pictures, made by the real app in Chromium from the invented demo: ``python -m tests.bench.pictures``.

The quick verdict, the board of cylinders, the report's first page. Beside them stands what
they say (``demo/pictures.json``); ``tests/mobile/test_pictures.py`` reads the same off the
screens without a browser and says when the pictures are older than the screens.
"""

from __future__ import annotations

import io
import json
import re
import tempfile
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import sync_playwright

import demo
from demo.scenario import JOB
from logic.say import Style
from mobile.build import build
from store.report import html_report
from store.view import View
from tests.browser.harness import Phone, Site
from tests.mobile.test_pictures import SHOP, shown, verdict_from

ROOT = Path(__file__).parents[2]
PLACE = ROOT / "demo"
KEYS = {".": "decimal point"}


def kept(data: bytes, name: str, *, width: int, top: int = 0, height: int | None = None) -> None:
    """A picture in few colours, no wider than ``width``."""
    picture = Image.open(io.BytesIO(data)).convert("RGB")
    picture = picture.crop((0, top, picture.width, min(picture.height, top + height) if height else picture.height))
    if picture.width > width:
        picture = picture.resize((width, round(picture.height * width / picture.width)), Image.Resampling.LANCZOS)
    picture.quantize(48).save(PLACE / f"{name}.png", optimize=True)


def screens(playwright: Any, folder: Path) -> None:
    """The quick verdict and the board, on a phone 390 wide."""
    site = Site(build(ROOT / "build" / "test-web", cache=ROOT / "build" / "cache", compress=False).folder)
    with tempfile.TemporaryDirectory() as profile:
        phone = Phone(playwright, site, folder / profile)
        try:
            phone.open(timeout=300)
            nominal, worst = verdict_from()
            phone.tap("Nominal bore")
            for key in nominal:
                phone.tap(KEYS.get(key, key))
            phone.tap("Next")
            for key in worst:
                phone.tap(KEYS.get(key, key))
            phone.tap("Done")
            phone.wait(re.compile("cleans up"))
            phone.page.wait_for_timeout(1500)
            kept(phone.page.screenshot(), "verdict", width=390)
            phone.page.evaluate("location.hash = '#/files'")
            phone.tap("Load the demo job")
            phone.page.wait_for_timeout(6000)
            phone.page.evaluate(f"location.hash = '#/job/{JOB}'")
            phone.wait(re.compile("^Cylinder 3"))
            phone.page.wait_for_timeout(3000)
            kept(phone.page.screenshot(), "board", width=390)
        finally:
            phone.close()
            site.stop()


def first_page(playwright: Any) -> None:
    """The first page of the report, as it prints."""
    from tests.browser.harness import FLAGS, chromium  # noqa: PLC0415  beside its only use

    documents = demo.documents()
    kit = {d.id: View(d) for d in documents if d.type == "card"}
    page = html_report(View(next(d for d in documents if d.type == "job"), kit), Style("in"), shop=SHOP)
    browser = playwright.chromium.launch(executable_path=chromium(), args=FLAGS)
    try:
        tab = browser.new_page(viewport={"width": 794, "height": 1060})
        tab.set_content(page)
        tab.emulate_media(media="print")
        tab.add_style_tag(content="body { padding: 40px !important; }")
        kept(tab.screenshot(), "report", width=620)
    finally:
        browser.close()


def main() -> None:
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as folder:
        first_page(playwright)
        screens(playwright, Path(folder))
    (PLACE / "pictures.json").write_text(json.dumps(shown(), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
