"""What axe-core, and on request lighthouse, say of the built app's pages.

    python tests/bench/axe.py [--web FOLDER] [--lighthouse] [--json]

Both are development tools and no part of the app: npm fetches them once into
build/tools. They run on the semantics tree, in the Chromium that is installed, on this
machine's own server. The page is drawn on a canvas, so axe sees roles, names, states,
order and sizes; colours are checked from the theme in tests/mobile/test_theme.py.
"""

from __future__ import annotations

import argparse
import json
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from playwright.sync_api import sync_playwright  # noqa: E402

from mobile.build import build  # noqa: E402
from store.sheets import NAMES  # noqa: E402
from tests.browser.harness import FLAGS, Phone, Site, chromium  # noqa: E402

TOOLS = ROOT / "build" / "tools"
AXE, LIGHTHOUSE = "axe-core@4.14.1", "lighthouse@12.8.2"
JOB = "/job/demojob00001"
ROUTES = (
    "/", "/new", "/more", "/files", "/kit", "/terms", "/tour", JOB, JOB + "/details", JOB + "/log", JOB + "/report", JOB + "/bores", JOB + "/gauge",
    *(f"{JOB}/{name}" for name in NAMES if name != "bores"),
)  # fmt: skip


def fetched(package: str) -> Path:
    """The folder of an npm package, fetched if it is not there."""
    name, version = package.split("@")
    folder = TOOLS / "node_modules" / name
    have = json.loads((folder / "package.json").read_text())["version"] if folder.exists() else ""
    if have != version:
        npm = shutil.which("npm")
        if npm is None:
            raise SystemExit("npm is needed to fetch " + package)
        TOOLS.mkdir(parents=True, exist_ok=True)
        subprocess.run(
            [npm, "install", "--no-audit", "--no-fund", "--silent", "--prefix", str(TOOLS), package], check=True
        )
    return folder


def axe(phone: Phone) -> dict[str, Any]:
    """axe-core over every screen: rule -> impact, help, and the screens and nodes it is broken on."""
    source = (fetched(AXE) / "axe.min.js").read_text("utf-8")
    found: dict[str, Any] = {}
    passed: set[str] = set()
    phone.page.evaluate(source)
    for route in ROUTES:
        phone.page.evaluate("route => { location.hash = route }", "#" + route)
        time.sleep(1.2)
        if route.endswith("/bores") and phone.has("I have read this"):
            phone.tap("I have read this")
            time.sleep(0.8)
        got = phone.page.evaluate("axe.run(document, {resultTypes: ['violations', 'passes']})")
        passed |= {p["id"] for p in got["passes"] if p["nodes"]}
        for broken in got["violations"]:
            row = found.setdefault(
                broken["id"], {"impact": broken["impact"], "help": broken["help"], "screens": {}, "example": ""}
            )
            row["screens"][route] = len(broken["nodes"])
            row["example"] = row["example"] or broken["nodes"][0]["html"][:300]
    return {"screens": len(ROUTES), "rules that found something and hold": len(passed - set(found)), "broken": found}


def lighthouse(url: str) -> dict[str, Any]:
    """Lighthouse's scores (0 to 100) and the audits that fail, of the first screen."""
    node = shutil.which("node")
    out = Path(tempfile.mkdtemp()) / "report.json"
    subprocess.run(
        [
            str(node), str(fetched(LIGHTHOUSE) / "cli" / "index.js"), url, "--quiet", "--output=json", f"--output-path={out}", "--throttling-method=provided",
            "--only-categories=accessibility,best-practices,performance", "--chrome-flags=--headless=new " + " ".join(FLAGS), "--max-wait-for-load=90000",
        ],
        check=True, env={"CHROME_PATH": chromium() or "", "PATH": "/usr/bin:/bin"}, timeout=300,
    )  # fmt: skip
    report = json.loads(out.read_text("utf-8"))
    shutil.rmtree(out.parent)
    failing = [
        f"{a['id']}: {a['title']}"
        for c in report["categories"].values() for ref in c["auditRefs"]
        if ref["weight"] and (a := report["audits"][ref["id"]])["score"] is not None and a["score"] < 0.9
    ]  # fmt: skip
    return {
        "scores": {
            k: round(100 * c["score"]) if c["score"] is not None else None for k, c in report["categories"].items()
        },
        "below 90": failing,
    }


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--web", type=Path, help="a built folder; built now if not given")
    ask.add_argument("--lighthouse", action="store_true", help="run lighthouse on the first screen as well")
    ask.add_argument("--json", action="store_true")
    given = ask.parse_args()
    folder = given.web
    if folder is None:
        folder = build(ROOT / "build" / "bench-web", cache=ROOT / "build" / "cache", compress=False).folder
    site = Site(folder)
    out: dict[str, Any] = {}
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as place:
        phone = Phone(playwright, site, Path(place) / "phone")
        phone.open()
        phone.tap("Load the demo job")
        phone.wait(re.compile("^Demo: tractor engine"))
        out["axe"] = axe(phone)
        phone.close()
        if given.lighthouse:
            out["lighthouse"] = lighthouse(site.url)
    site.stop()
    if given.json:
        print(json.dumps(out, indent=2))
        return
    a = out["axe"]
    print(
        f"axe-core: {a['screens']} screens; {a['rules that found something and hold']} rules hold, {len(a['broken'])} are broken"
    )
    for rule, row in a["broken"].items():
        print(
            f"  {rule} ({row['impact']}): {row['help']}; on {len(row['screens'])} screens, {sum(row['screens'].values())} nodes"
        )
        print(f"    {row['example']}")
    if "lighthouse" in out:
        print("lighthouse:", "  ".join(f"{k} {v}" for k, v in out["lighthouse"]["scores"].items()))
        for line in out["lighthouse"]["below 90"]:
            print("  " + line)


if __name__ == "__main__":
    main()
