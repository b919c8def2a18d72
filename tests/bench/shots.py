"""Draws the pictures of the app that its manifest shows where a browser asks whether to install it.

    python -m tests.bench.shots

They show the invented demo job, in a light theme, and lie in mobile/web/shots. Draw them
anew when a screen on them has changed.
"""

from __future__ import annotations

import re
import tempfile
import time
from pathlib import Path

from playwright.sync_api import sync_playwright

from demo.scenario import JOB
from mobile.build import SHOTS, TEMPLATES, build
from tests.browser.harness import Phone, Site

ROOT = Path(__file__).parents[2]
#: picture -> route and what is on the screen once it is there.
SCREENS = {
    "shots/board.png": (f"/job/{JOB}", re.compile("^Cylinder 1, ")),
    "shots/bores.png": (f"/job/{JOB}/bores", re.compile("^Cylinder 1, depth 1")),
    "shots/oversize.png": (f"/job/{JOB}/oversize", re.compile("Chance that each step cleans up")),
}
SIZES = {"narrow": (390, 844), "wide": (1024, 768)}


def main() -> None:
    assert set(SCREENS) == set(SHOTS)
    folder = build(ROOT / "build" / "test-web", cache=ROOT / "build" / "cache", compress=False).folder
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        site = Site(folder)
        phone = Phone(playwright, site, Path(place) / "phone")
        phone.open()
        phone.tap("Load the demo job")
        phone.wait(re.compile("^Demo: "))
        for path, (route, there) in SCREENS.items():
            width, height = SIZES[SHOTS[path][0]]
            phone.page.set_viewport_size({"width": width, "height": height})
            phone.page.evaluate("route => { location.hash = route }", "#" + route)
            time.sleep(2)
            if phone.has("I have read this"):
                phone.tap("I have read this")
            phone.wait(there)
            time.sleep(4)  # messages fade
            (TEMPLATES / path).parent.mkdir(exist_ok=True)
            phone.page.screenshot(path=str(TEMPLATES / path))
        phone.close()
        site.stop()


if __name__ == "__main__":
    main()
