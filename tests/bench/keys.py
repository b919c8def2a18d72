"""How long a key press takes to change the verdict, in the built app, offline, in a real Chromium.

    python -m tests.bench.keys [--presses 40] [--phases empty,quick,grid,verdict,memory] [--web FOLDER] [--json]

Each phase prints its figures as soon as it has them. On a busy machine ``--before FOLDER`` runs the same presses in
another built folder as well, turn by turn, so that both meet the same load. The same is measured of an empty Flet app that changes one word: what the toolkit
itself takes on this machine.

Measured inside the page: a pointer goes down and up on a key of the pad, and the
semantics tree (what a screen reader reads) is looked at in every frame until it says
something else. The split shows where the time goes: until the drawing engine hands
the press to Python, until Python first answers (the next cell), until the last answer that it gave by then (the
verdict), until that is drawn and told.

Also weighs the page's memory after a whole job against the same page just started.
"""

from __future__ import annotations

import argparse
import json
import re
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from playwright.sync_api import sync_playwright  # noqa: E402

from mobile.build import build, sources  # noqa: E402
from store.sheets import NAMES  # noqa: E402
from tests.bench.start import BRIDGE  # noqa: E402
from tests.browser.harness import Phone, Site  # noqa: E402

#: Notes every message between page and worker, by when it passed.
WATCH = """
(() => {
  const passed = window.passed = [];
  const Plain = window.Worker;
  window.Worker = class extends Plain {
    constructor(...given) {
      super(...given);
      this.addEventListener('message', e => { if (e.data instanceof Uint8Array || Array.isArray(e.data)) passed.push(['back', performance.now()]); });
    }
    postMessage(data, ...more) {
      if (data instanceof Uint8Array) passed.push(['out', performance.now()]);
      return super.postMessage(data, ...more);
    }
  };
})();
"""

#: What was pressed, and what came of it.
Row = tuple[str, dict[str, Any]]

#: Press the key with this label; resolve when a text that matches ``pattern`` is there that was not before.
PRESS = r"""
async ([label, pattern, limit]) => {
  const say = e => e.getAttribute('aria-label') || [...e.childNodes].filter(n => n.nodeType === 3 || n.tagName === 'SPAN').map(n => n.textContent).join('');
  const all = () => [...document.querySelectorAll('flt-semantics')];
  const wanted = new RegExp(pattern);
  const told = () => all().map(say).filter(t => wanted.test(t)).join('\n');
  const keys = all().filter(e => say(e).trim() === label && (e.hasAttribute('flt-tappable') || e.getAttribute('role') === 'button'));
  if (!keys.length) throw new Error('no key ' + label);
  const key = keys[keys.length - 1];
  const box = key.getBoundingClientRect();
  const at = {clientX: box.x + box.width / 2, clientY: box.y + box.height / 2, bubbles: true, cancelable: true, composed: true,
              pointerId: 1, pointerType: 'touch', isPrimary: true, button: 0};
  const before = told();
  passed.length = 0;
  const from = performance.now();
  key.dispatchEvent(new PointerEvent('pointerdown', {...at, buttons: 1, pressure: 0.5}));
  key.dispatchEvent(new PointerEvent('pointerup', {...at, buttons: 0}));
  key.dispatchEvent(new PointerEvent('click', {...at, buttons: 0}));
  return await new Promise(done => {
    const look = () => {
      const now = performance.now();
      const text = told();
      if (text !== before || now - from > limit) {
        const out = passed.find(p => p[0] === 'out'), answers = passed.filter(p => p[0] === 'back' && out && p[1] > out[1]);
        const since = (p) => p && p[1] - from;
        done({ms: now - from, changed: text !== before, text, out: since(out), back: since(answers[0]), last: since(answers[answers.length - 1]), messages: passed.length});
      } else requestAnimationFrame(look);
    };
    requestAnimationFrame(look);
  });
}
"""


def press(phone: Phone, label: str, pattern: str, limit: int = 3000) -> dict[str, Any]:
    got = phone.page.evaluate(PRESS, [label, pattern, limit])
    time.sleep(0.12)  # a thumb is not faster than eight presses a second
    return got


def summed(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """Median and 95th percentile of the presses that changed something, and where the median went."""
    times = sorted(r["ms"] for r in rows if r["changed"])
    out = {
        "presses": len(times),
        "median_ms": round(statistics.median(times), 1),
        "p95_ms": round(times[min(len(times) - 1, int(0.95 * len(times)))], 1),
        "best_ms": round(times[0], 1),
    }
    split = [r for r in rows if r["changed"] and r["out"] is not None and r["back"] is not None]
    if split:
        out["to_python_ms"] = round(statistics.median(r["out"] for r in split), 1)
        out["first_answer_ms"] = round(statistics.median(r["back"] - r["out"] for r in split), 1)
        out["last_answer_ms"] = round(statistics.median(r["last"] - r["out"] for r in split), 1)
        out["drawn_ms"] = round(statistics.median(r["ms"] - r["last"] for r in split), 1)
    if len(times) < len(rows):
        out["unchanged"] = len(rows) - len(times)
    return out


def enter_number(phone: Phone, text: str) -> None:
    for key in text:
        phone.tap("decimal point" if key == "." else key)


def quick(phone: Phone, presses: int) -> Iterator[Row]:
    """The quick check: the worst reading's last digit is rubbed out and typed anew; the verdict follows each press."""
    phone.tap("Nominal bore")
    phone.wait("Next")
    enter_number(phone, "3.0")
    phone.tap("Next")
    phone.wait("Done")
    enter_number(phone, "3.014")
    phone.wait(re.compile("cleans up"))
    digits = "5926413"
    for i in range(presses):
        label = digits[i // 2 % len(digits)] if i % 2 == 0 else "Delete digit"
        yield "quick check, press to verdict", press(phone, label, r"cleans? up|to spare|\d %")
    phone.tap("Done")


def grid(phone: Phone, _presses: int) -> Iterator[Row]:
    """24 readings of a new job: each digit until the pad shows it, each Enter until the next place is asked for."""
    phone.tap("New job")
    phone.wait("At hand today")
    phone.tap("Nominal bore")
    phone.wait("Done")
    enter_number(phone, "3.0")
    phone.tap("Done")
    phone.tap("Start measuring")
    phone.tap("I have read this")
    phone.wait("Cylinder 1, depth 1, thrust axis")
    for i in range(24):
        place = i % 6
        for d in str(9 - place + i // 6 if place < 4 else 0):
            yield "grid, digit on the pad", press(phone, d, r"\d\sthou")
        next_place = r"^Cylinder \d, depth \d, [a-z ]+\n" if i < 23 else "All readings are in"
        yield "grid, Enter to the next place", press(phone, "Enter", next_place)


def verdict(phone: Phone, presses: int) -> Iterator[Row]:
    """The same reading corrected, a step up and a step down, after ``grid``: the job's verdict changes each time."""
    for i in range(presses // 2):
        phone.tap(re.compile("^Cylinder 4, depth 1, thrust axis: "))
        # until what the correction before it changed further down is worked out
        phone.wait(re.compile("Undo|Delete digit"))
        phone.page.wait_for_timeout(1500)
        enter_number(phone, "25" if i % 2 == 0 else "12")
        yield "grid, Enter to the job's verdict", press(phone, "Enter", r"clean up|cleans up|to spare")


def empty(phone: Phone, presses: int) -> Iterator[Row]:
    for _ in range(presses):
        yield "an empty Flet app, one word", press(phone, "7", r"presses")


#: The least a Flet app can do with a press: change one word.
EMPTY = b"""
import flet as ft
from mobile import bridge

async def main(page):
    ft.context.disable_auto_update()
    said = ft.Text("0 presses")
    async def on(e):
        said.value = f"{int(said.value.split()[0]) + 1} presses"
        page.update(said)
    page.add(said, ft.Button(content=ft.Text("7"), on_click=on))
    await bridge.shown()

ft.run(main)
"""


def built(name: str, app: dict[str, bytes] | None) -> Path:
    return build(ROOT / "build" / name, cache=ROOT / "build" / "cache", app=app, compress=False).folder


def memory_mb(phone: Phone) -> float:
    """Proportional set size of the browser's processes that hold the page, its worker and Python, garbage taken out first."""
    phone.context.new_cdp_session(phone.page).send("HeapProfiler.collectGarbage")
    phone.page.wait_for_timeout(2000)
    total = 0
    for place in Path("/proc").iterdir():
        try:
            if (
                place.name.isdigit()
                and f"--user-data-dir={phone.profile}".encode() in (line := (place / "cmdline").read_bytes())
                and b"--type=renderer" in line
            ):
                total += next(
                    int(row.split()[1])
                    for row in (place / "smaps_rollup").read_text().splitlines()
                    if row.startswith("Pss:")
                )
        except (OSError, StopIteration):
            continue
    return round(total / 1024, 1)


def opened(playwright: Any, folder: Path, profile: Path) -> Phone:
    """The app of a built folder, started from what the browser keeps, with no server."""
    phone = Phone(playwright, Site(folder), profile)
    phone.page.add_init_script(WATCH)
    phone.open()
    phone.offline_kept()
    if (folder / "app.zip").stat().st_size > 6e6:  # the empty app keeps no started memory
        phone.remembered()
    phone.airplane()
    return phone.reload()


def visited(phone: Phone) -> float:
    """The page's memory in MB after every screen of a job was on show."""
    for step in ("", *NAMES, "log"):
        route = "#/job/" + job_of(phone) + (f"/{step}" if step else "")
        phone.page.evaluate("route => { location.hash = route }", route)
        phone.page.wait_for_timeout(700)
    return memory_mb(phone)


PHASES = {"quick": quick, "grid": grid, "verdict": verdict}


def empty_app(playwright: Any, place: Path, presses: int) -> Iterator[tuple[str, dict[str, Any]]]:
    """The figures of the empty app; its memory under "memory"."""
    bridge = {k: v for k, v in sources().items() if k in BRIDGE}
    phone = opened(playwright, built("bench-empty", {**bridge, "main.py": EMPTY}), place)
    phone.wait("0 presses")
    for name, rows in gathered([(phone, "")], empty, presses).items():
        yield name, summed(rows)
    yield "memory", {"empty_mb": memory_mb(phone)}
    phone.close()


def figures(playwright: Any, place: Path, given: argparse.Namespace) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every figure that is asked for, as soon as it is there."""
    wanted = given.phases.split(",")
    empty_mb = 0.0
    if "empty" in wanted or "memory" in wanted:
        for name, row in empty_app(playwright, place / "empty", given.presses):
            empty_mb = row.get("empty_mb", empty_mb)
            yield name, row
    folders = [(given.web or built("bench-web", None), "")]
    if given.before:
        folders.append((given.before, " (before)"))
    phones = [(opened(playwright, folder, place / f"phone{n}"), word) for n, (folder, word) in enumerate(folders)]
    for phase, work in PHASES.items():
        if phase in wanted or (phase == "grid" and "verdict" in wanted):
            for name, rows in gathered(phones, work, given.presses).items():
                yield name, summed(rows)
    for phone, word in phones:
        if "memory" in wanted:
            job_mb = visited(phone)
            yield "memory" + word, {"after_a_job_mb": job_mb, "ratio": round(job_mb / empty_mb, 2)}
        phone.close()


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--presses", type=int, default=40)
    ask.add_argument("--phases", default="empty,quick,grid,verdict,memory")
    ask.add_argument("--web", type=Path, help="a built folder; built now if not given")
    ask.add_argument("--before", type=Path, help="another built folder, to be pressed in turn with the first")
    ask.add_argument("--json", action="store_true")
    given = ask.parse_args()
    out: dict[str, Any] = {}
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as place:
        for name, row in figures(playwright, Path(place), given):
            out[name] = row
            if not given.json:
                print(f"{name:42}", "  ".join(f"{k} {v}" for k, v in row.items()), flush=True)
    if given.json:
        print(json.dumps(out, indent=2))


def gathered(
    phones: list[tuple[Phone, str]], work: Callable[[Phone, int], Iterator[Row]], presses: int
) -> dict[str, list[dict[str, Any]]]:
    """The presses of a phase by what they are, one in each phone in turn."""
    found: dict[str, list[dict[str, Any]]] = {}
    for rows in zip(*(work(phone, presses) for phone, _ in phones), strict=True):
        for (name, row), (_, word) in zip(rows, phones, strict=True):
            found.setdefault(name + word, []).append(row)
    return found


def job_of(phone: Phone) -> str:
    return phone.page.evaluate("location.hash").split("/")[2]


if __name__ == "__main__":
    main()
