"""How long Boreside takes to start offline, against an empty app built the same way; and what a first visit fetches.

    python -m tests.bench.start --rounds 7

Both apps come from the same build in the same run, are kept by their service workers,
and are started in turn (Boreside from the memory that its first visit kept, the empty
app from its files; --plain starts both from files), each time in a new browser process with the server stopped. A
start ends when the first screen is shown ("drawn" is when its first frame is painted); the last answer is readable once the text kept of the last screen is painted. Prints the medians, their ratio and the
milestones in between; --json prints the same as data. Nothing else should run meanwhile.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from mobile.build import LIBRARIES, build, sources
from tests.browser.harness import Phone, Site

ROOT = Path(__file__).parents[2]
EMPTY = b"""
import flet as ft
from mobile import bridge

async def main(page: ft.Page):
    page.add(ft.Text("Empty"))
    await bridge.shown()

ft.run(main)
"""
#: The bridge, and what it imports.
BRIDGE = (
    "mobile/__init__.py",
    "mobile/bridge.py",
    "logic/__init__.py",
    "logic/say.py",
    "store/__init__.py",
    "store/errors.py",
)
#: What Flet itself needs.
EMPTY_LIBRARIES = ("flet", "repath", "six", "msgpack")
TARGETS = {"ratio": 0.90, "memory_ratio": 1.15, "last_answer_ratio": 0.15, "first_visit_mb": 11.65}
#: How long the starts that are not measured stay open, seconds: a browser keeps what it has compiled of an engine once nothing
#: more was compiled for two seconds, which a start of a person's always comes to.
REST_S = 6
#: What a job of four cylinders leaves for the next start (see mobile/glimpse.py), so that there is a last answer to be read.
LAST = {
    "version": 1, "made": 0, "language": "en", "theme": "system", "age": "As it stood {age}.",
    "rows": [["head", "A job"], ["verdict", "Yes: Bores at +0.030 in clean up all four."], ["line", "Next: Boring"],
             *[["line", f"Cylinder {n}: now 3.0140 in. Bore to 3.0270 in."] for n in range(1, 5)]],
}  # fmt: skip


def empty_app() -> dict[str, bytes]:
    """An app of one text, with the bridge so that it too can say when it is shown."""
    ours = sources()
    return {"main.py": EMPTY, **{path: ours[path] for path in BRIDGE}}


def cost(profile: Path) -> tuple[float, float]:
    """Of the browser's processes on ``profile`` (Linux): memory as proportional share in MB, processor time in s."""
    parents, mine = {}, set()
    for process in Path("/proc").iterdir():
        try:
            if process.name.isdigit():
                parents[process.name] = (process / "stat").read_text().rsplit(")", 1)[1].split()[1]
                if f"--user-data-dir={profile}".encode() in (process / "cmdline").read_bytes():
                    mine.add(process.name)
        except OSError:
            continue
    while more := {p for p, parent in parents.items() if parent in mine} - mine:
        mine |= more
    memory, ticks = 0, 0
    for name in mine:
        try:
            rollup = Path("/proc", name, "smaps_rollup").read_text()
            memory += int(next(line for line in rollup.splitlines() if line.startswith("Pss:")).split()[1])
            ticks += sum(map(int, Path("/proc", name, "stat").read_text().rsplit(")", 1)[1].split()[11:13]))
        except (OSError, StopIteration):
            continue
    return memory / 1024, ticks / os.sysconf("SC_CLK_TCK")


def first_visit(phone: Phone, site: Site) -> float:
    """Visit for the first time; MB sent until everything is kept."""
    phone.open()
    phone.offline_kept()
    end = time.monotonic() + 60  # what is prepared after the first start is part of the first visit
    while (
        phone.page.evaluate("boreside.prepared") is False
        and time.monotonic() < end
        and not any("No memory" in line for line in phone.console)
    ):
        time.sleep(0.5)
    time.sleep(REST_S)
    return sum(site.server.sent.values()) / 1e6


def start(phone: Phone, path: str = "", *, rest_s: float = 1) -> tuple[dict[str, int], float, float]:
    """One start in a new browser process: the milestones in ms, memory in MB and processor time in s once it is settled."""
    phone.restart()
    phone.open(path)
    time.sleep(rest_s)
    marks = phone.page.evaluate("boreside.marks")
    return dict(marks), *cost(phone.profile)


#: The check that a start from the kept memory makes of it (mobile/web/worker.js), seven times, with nothing else under way.
_CHECKED = """async () => {
  const name = (await caches.keys()).find((n) => n.startsWith("boreside-start"));
  const cache = name && await caches.open(name);
  const request = cache && (await cache.keys()).find((r) => r.url.endsWith("memory"));
  if (!request) return null;
  const kept = await cache.match(request);
  const bytes = new Uint8Array(await kept.arrayBuffer());
  const taken = [];
  for (let n = 0; n < 7; n++) {
    const begun = performance.now();
    const found = Array.from(new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)), (b) => b.toString(16).padStart(2, "0")).join("");
    taken.push(performance.now() - begun);
    if (found !== kept.headers.get("X-Content-SHA256")) throw new Error("it is not what was kept");
  }
  return { mb: bytes.length / 1e6, ms: taken.sort((a, b) => a - b) };
}"""


def check_alone(phone: Phone) -> dict[str, Any] | None:
    """How long the SHA-256 of the kept memory takes by itself: MB, and the times in ms, shortest first; None where none is kept."""
    return phone.page.evaluate(_CHECKED)


def left(phone: Phone) -> None:
    """Close the browser, with a last answer kept for the next start: an app with no job in it keeps none of its own."""
    phone.page.evaluate("last => boreside.answers.glimpse?.(last)", LAST)
    phone.page.wait_for_timeout(300)
    phone.close()


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    given.add_argument("--rounds", type=int, default=7)
    given.add_argument("--plain", action="store_true")
    given.add_argument("--json", action="store_true")
    asked = given.parse_args()
    cache = ROOT / "build" / "cache"
    folders = {
        "boreside": build(ROOT / "build" / "bench-boreside", cache=cache).folder,
        "empty": build(ROOT / "build" / "bench-empty", cache=cache, app=empty_app(), libraries=EMPTY_LIBRARIES).folder,
    }
    assert set(EMPTY_LIBRARIES) < set(LIBRARIES)
    found: dict[str, Any] = {}
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        phones = {}
        for name, folder in folders.items():
            site = Site(folder)
            phones[name] = Phone(playwright, site, Path(place) / name)
            found[name] = {
                "first_visit_mb": round(first_visit(phones[name], site), 2),
                "starts": [],
                "memory": [],
                "cpu": [],
            }
            phones[name].close()
            site.stop()
        for phone in phones.values():
            for _ in range(2):  # two that do not count: the browser settles its own caches
                start(phone, rest_s=REST_S)
                left(phone)
        phone = phones["boreside"]
        phone.restart()
        phone.open()
        time.sleep(1)
        checked = check_alone(phone)
        phone.close()
        for _ in range(asked.rounds):
            for name, phone in phones.items():
                marks, memory, cpu = start(phone, "?plain" if asked.plain else "")
                found[name]["cpu"].append(cpu)
                found[name]["starts"].append(marks)
                found[name]["memory"].append(memory)
                left(phone)
    for about in found.values():
        names = [n for n in about["starts"][0] if all(n in s for s in about["starts"])]
        about["milestones_ms"] = {n: round(statistics.median(s[n] for s in about["starts"])) for n in names}
        about["start_ms"] = about["milestones_ms"]["shown"]
        about["all_ms"] = sorted(s["shown"] for s in about.pop("starts"))
        about["cpu_s"] = round(statistics.median(about.pop("cpu")), 2)
        about["memory_mb"] = round(statistics.median(about.pop("memory")))
    ratios = [a / b for a, b in zip(found["boreside"]["all_ms"], found["empty"]["all_ms"], strict=False)]
    found["ratio"] = round(found["boreside"]["start_ms"] / found["empty"]["start_ms"], 3)
    found["memory_ratio"] = round(found["boreside"]["memory_mb"] / found["empty"]["memory_mb"], 3)
    found["cpu_ratio"] = round(found["boreside"]["cpu_s"] / found["empty"]["cpu_s"], 3)
    found["ratio_spread"] = [round(min(ratios), 3), round(max(ratios), 3)]
    readable = found["boreside"]["milestones_ms"].get("last answer")
    found["last_answer_ratio"] = round(readable / found["empty"]["start_ms"], 3) if readable else None
    found["check_alone"] = checked
    found["targets"] = TARGETS
    if asked.json:
        print(json.dumps(found, indent=2))
        return
    for name in folders:
        about = found[name]
        print(
            f"{name:9} start {about['start_ms']} ms (all: {about['all_ms']}), first visit {about['first_visit_mb']} MB, memory {about['memory_mb']} MB, processor {about['cpu_s']} s"
        )
        print(
            "          "
            + ", ".join(f"{n} {t}" for n, t in sorted(about["milestones_ms"].items(), key=lambda kv: kv[1]))
        )
    print(
        f"start ratio {found['ratio']} (target at most {TARGETS['ratio']}), memory ratio {found['memory_ratio']} (target at most {TARGETS['memory_ratio']}), processor ratio {found['cpu_ratio']}"
    )
    print(
        f"last answer readable after {readable} ms, ratio {found['last_answer_ratio']} (target at most {TARGETS['last_answer_ratio']})"
    )
    if checked:
        print(
            f"SHA-256 of the kept memory alone: {statistics.median(checked['ms']):.0f} ms for {checked['mb']:.0f} MB"
            f" (all: {[round(t) for t in checked['ms']]}); a start works it out beside the loading of the engine"
        )
    print(f"first visit {found['boreside']['first_visit_mb']} MB (target at most {TARGETS['first_visit_mb']})")


if __name__ == "__main__":
    main()
