"""Pictures of every screen, to be looked at: ``python -m tests.bench.looks FOLDER``.

    --size 390x844,844x390   sizes in logical pixels      --theme light,dark
    --language en,de         inches in English, millimetres in German
    --text 100,200           text size of the device, %
    --only bench,grid        scenes whose name has this in it
    --shrink 0.5             sheets at half size, for a quick look

One browser start walks the invented demo job, one that is half done, one just begun, and three in which
something is to be settled (the worn side, a slip, a detail set in two copies), once for each language and
text size. A scene that is reached is photographed in every size and theme asked for: the device is turned
under it. Each picture is a PNG; they are joined into sheets, and every target that is below 48 px or out at
the side is printed. ``--starts`` adds the screens before the app is there.
"""

from __future__ import annotations

import argparse
import re
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from pathlib import Path
from typing import Any

from PIL import Image, ImageDraw
from playwright.sync_api import sync_playwright

import demo
from demo.scenario import JOB, KIT
from logic.say import KINDS, L, Line, Style, say
from mobile.build import build
from store import cards, straight, visit
from store.documents import Document, Entry
from store.report import html_report
from store.sheets import sheet
from store.transfer import write
from store.view import View
from tests.browser.harness import FLAGS, Phone, Site, chromium
from tests.browser.test_walk import TARGETS, heading

ROOT = Path(__file__).parents[2]
BAR, GAUGE = KIT.bar, KIT.gauge
HALF, FRESH, WORN, SLIP, RIVAL = "looksjobhalf", "looksjobnew0", "looksjobworn", "looksjobslip", "looksjobriv0"
SHOP = "Invented engine works\n1 Nowhere Lane"

#: What is done on a screen before its picture: ("tap", sentence), ("keys", text), ("press", pattern), …
Act = tuple[str, str]


@dataclass(frozen=True)
class Scene:
    name: str
    route: str
    acts: tuple[Act, ...] = ()

    @property
    def still(self) -> tuple[Act, ...]:
        """What is done there but for scrolling."""
        return tuple(a for a in self.acts if a[0] != "down")

    @property
    def down(self) -> int:
        """How many times it is scrolled down at the end."""
        return sum(int(times) for what, times in self.acts if what == "down")


PAD = (("pad", ""),)
SCENES = (
    Scene("home", "/"),
    Scene("home-pad", "/", (("start", "Nominal bore"),)),
    Scene("home-pad-typed", "/", (("start", "Nominal bore"), ("size", "3.5"), ("tap", "Next"), ("size", "3.5052"))),
    Scene("home-pad-wrong", "/", (("start", "Nominal bore"), ("keys", "9999"), ("enter", ""))),
    Scene("home-pad-asked", "/", (("start", "Nominal bore"), ("other", "3.5"), ("enter", ""))),
    Scene("home-answer", "/", (("start", "Nominal bore"), ("size", "3.5"), ("tap", "Next"), ("size", "3.5052"), ("tap", "Done"))),
    Scene("new", "/new"),
    Scene("new-pad", "/new", (("start", "Nominal bore"),)),
    Scene("new-wrong", "/new", (("start", "Nominal bore"), ("keys", "9999"), ("enter", ""))),
    Scene("new-down", "/new", (("down", "2"),)),
    Scene("more", "/more"),
    Scene("more-down", "/more", (("down", "2"),)),
    Scene("files", "/files"),
    Scene("files-down", "/files", (("down", "2"),)),
    Scene("kit", "/kit"),
    Scene("kit-new", "/kit", (("tap", "New card"),)),
    Scene("kit-named", "/kit", (("tap", "New card"), ("start", "Boring bar"))),
    Scene("card-bar", f"/kit/{BAR}"),
    Scene("card-bar-pad", f"/kit/{BAR}", PAD),
    Scene("card-gauge", f"/kit/{GAUGE}"),
    Scene("record-bar", f"/kit/{BAR}/record"),
    Scene("record-bar-down", f"/kit/{BAR}/record", (("down", "1"),)),
    Scene("record-gauge", f"/kit/{GAUGE}/record"),
    Scene("straight", f"/kit/{BAR}/straight"),
    Scene("straight-pad", f"/kit/{BAR}/straight", PAD),
    Scene("terms", "/terms"),
    Scene("tour", "/tour"),
    Scene("checked", "/checked"),
    Scene("checked-down", "/checked", (("down", "3"),)),
    Scene("access", "/access"),
    Scene("access-down", "/access", (("down", "1"),)),
    Scene("files-taken", "/files", (("choose", "jobs.json"), ("down", "2"))),
    Scene("files-refused", "/files", (("choose", "torn.json"), ("down", "2"))),
    Scene("no-such-job", "/job/nosuchjob000"),
    Scene("no-such-step", f"/job/{JOB}/nosuchstep"),
    Scene("worn-side", f"/job/{WORN}/bores", (("seen", ""), ("down", "1"))),
    Scene("worn-side-on", f"/job/{WORN}/bores", (("seen", ""), ("onward", ""))),
    Scene("worn-side-job", f"/job/{WORN}"),
    Scene("slip-job", f"/job/{SLIP}"),
    Scene("slip-grid", f"/job/{SLIP}/bores", (("seen", ""), ("down", "1"))),
    Scene("slip-oversize", f"/job/{SLIP}/oversize", (("seen", ""),)),
    Scene("rivals", f"/job/{RIVAL}"),
    Scene("job", f"/job/{JOB}"),
    Scene("job-down", f"/job/{JOB}", (("down", "1"),)),
    Scene("job-half", f"/job/{HALF}"),
    Scene("job-half-down", f"/job/{HALF}", (("down", "1"),)),
    Scene("job-new", f"/job/{FRESH}"),
    Scene("details", f"/job/{JOB}/details"),
    Scene("earlier", f"/job/{FRESH}/earlier"),
    Scene("log", f"/job/{JOB}/log"),
    Scene("log-down", f"/job/{JOB}/log", (("down", "2"),)),
    Scene("report", f"/job/{JOB}/report"),
    Scene("gauge", f"/job/{JOB}/gauge"),
    Scene("gauge-pad", f"/job/{JOB}/gauge", PAD),
    Scene("visit", f"/job/{JOB}/visit/cut"),
    Scene("visit-pad", f"/job/{JOB}/visit/cut", PAD),
    Scene("renew", f"/job/{JOB}/renew/cut"),
    Scene("cautions", f"/job/{FRESH}/bores"),
    Scene("grid", f"/job/{JOB}/bores", (("seen", ""),)),
    Scene("grid-typed", f"/job/{JOB}/bores", (("seen", ""), ("keys", "8.5"))),
    Scene("grid-down", f"/job/{JOB}/bores", (("seen", ""), ("keys", "8.5"), ("down", "2"))),
    Scene("grid-wrong", f"/job/{JOB}/bores", (("seen", ""), ("keys", "9999"), ("enter", ""))),
    Scene("grid-new", f"/job/{FRESH}/bores", (("seen", ""),)),
    Scene("half-clamp", f"/job/{HALF}/clamp"),
    Scene("half-cut", f"/job/{HALF}/cut", (("seen", ""),)),
    Scene("half-cut-pad", f"/job/{HALF}/cut", (("seen", ""), ("pad", ""))),
    Scene("half-cut-wrong", f"/job/{HALF}/cut", (("seen", ""), ("pad", ""), ("keys", "9999"), ("enter", ""))),
    Scene("half-cut-more", f"/job/{HALF}/cut", (("seen", ""), ("tap", "Everything else"), ("down", "2"))),
    Scene("half-hone", f"/job/{HALF}/hone", (("seen", ""),)),
    Scene("half-hone-pad", f"/job/{HALF}/hone", (("seen", ""), ("pad", ""))),
    Scene("half-final", f"/job/{HALF}/final", (("seen", ""),)),
    Scene("half-rings", f"/job/{HALF}/rings", (("seen", ""),)),
    Scene("skip", f"/job/{HALF}/clamp", (("seen", ""), ("tap", "Leave this step out…"))),
    Scene("figure", f"/job/{JOB}/sizes", (("figure", ""),)),
    *(
        scene
        for step in (
            "strip", "walls", "sweep", "oversize", "sleeve", "compression", "parts", "sizes", "face", "clamp", "cut", "chamfer", "hone",
            "final", "rings", "fitting", "clean",
        )
        for scene in (
            Scene(step, f"/job/{JOB}/{step}", (("seen", ""),)),
            Scene(f"{step}-down", f"/job/{JOB}/{step}", (("seen", ""), ("down", "1"))),
            Scene(f"{step}-pad", f"/job/{JOB}/{step}", (("seen", ""), ("pad", ""))),
        )
    ),
)  # fmt: skip

KEYS = {".": "decimal point", "-": "Change sign"}


@dataclass(frozen=True)
class Look:
    """One combination: how the device is held and set."""

    width: int
    height: int
    theme: str
    language: str
    text: int

    @property
    def name(self) -> str:
        return f"{self.width}x{self.height}-{self.theme}-{self.language}-{self.text}"

    @property
    def style(self) -> Style:
        return Style("mm" if self.language == "de" else "in", language=self.language)


def jobs() -> bytes:
    """The demo, the same half done (the first bore is being cut), one with nothing in it but its header, two that are only
    measured (the worn side not entered, and with a slip), and one with a detail set in two copies, as a file."""
    found = demo.documents()
    whole = next(d for d in found if d.id == JOB)
    cut = next(
        i for i, e in enumerate(whole.entries) if getattr(e, "what", "").startswith("cut.") and dict(e.at).get("pass")
    )

    def part(id: str, title: str, entries: Iterable[Entry]) -> Document:
        header = {k: v.model_copy(update={"value": title}) if k == "title" else v for k, v in whole.header.items()}
        names = [{"id": e.id, "replaces": e.replaces} for e in entries]
        kept = tuple(
            e.model_copy(update={k: v and v.replace(JOB, id) for k, v in n.items()})
            for e, n in zip(entries, names, strict=True)
        )
        return whole.model_copy(update={"id": id, "header": header, "entries": kept})

    worn = [e for e in whole.entries if getattr(e, "what", "").startswith("bore.") and e.kind == "reading"]
    worn = [e for e in worn if not e.what.startswith("bore.offset")]
    corrected = {e.replaces for e in worn}  # a slip in one of these would not show
    odd = next(
        i
        for i, e in enumerate(worn)
        if e.what == "bore.reading" and e.at.get("cylinder") == 3 and e.id not in corrected
    )
    typed = worn[odd].typed
    off = typed.model_copy(update={"value": typed.value - 0.25})  # under the unworn bore, where its neighbours are worn
    slipped = [e.model_copy(update={"typed": off}) if i == odd else e for i, e in enumerate(worn)]
    rival = part(RIVAL, "Set in two copies (invented)", whole.entries[: cut // 2])
    customer = rival.header["customer"]
    apart = customer.model_copy(update={"value": "Invented customer, North Quay", "by": "Second phone"})
    later = customer.model_copy(update={"stamp": f"{int(customer.stamp[:13]) + 60_000:013d}{customer.stamp[13:]}"})
    rival = rival.model_copy(
        update={"header": {**rival.header, "customer": later}, "earlier": {**rival.earlier, "customer": (apart,)}}
    )
    return write(
        [
            *found,
            part(HALF, "Half done: boring (invented)", whole.entries[: cut + 3]),
            part(FRESH, "Just begun (invented)", ()),
            part(WORN, "Measured: which side? (invented)", worn),
            part(SLIP, "Measured: a slip (invented)", slipped),
            rival,
        ],
        device="looksdevice1",
        made_ms=1_760_000_000_000,
    )


def numbers(route: str) -> Iterator[tuple[Line, Line]]:
    """(title of its group, name) of each number that a step's or a card's screen asks for."""
    _, place, id, *step = route.split("/")
    if step == ["straight"]:
        found = straight.SHEET
    elif place == "kit":
        found = cards.sheet("bar" if id == BAR else "gauge")
    elif step[0] in ("visit", "renew"):
        found = visit.sheet(1)
    else:
        found = sheet({"gauge": "bores"}.get(step[0], step[0]))
    for group in found.groups:
        yield from ((group.title, f.label) for f in group.fields if f.kind in KINDS)


class Walker:
    """Goes to a scene and takes its picture, whatever the language."""

    def __init__(self, phone: Phone, folder: Path) -> None:
        self.phone, self.folder = phone, folder
        self.look = Look(390, 844, "light", "en", 100)
        self.last: tuple[str, tuple[Act, ...]] = ("", ())  # where it is, and what was done there

    def t(self, words: str, **gaps: Any) -> str:
        return say(L(words, **gaps), self.look.style)

    def begins(self, words: str) -> re.Pattern[str]:
        return re.compile("^" + re.escape(self.t(words).split("{", maxsplit=1)[0]))

    # -- a combination --------------------------------------------------------------
    def take_on(self, look: Look) -> None:
        """Set the app to the language, and the device to the text size and the rest of ``look``."""
        self.last = "", ()
        page = self.phone.page
        page.set_viewport_size({"width": 1024, "height": 900})
        page.evaluate("document.documentElement.style.fontSize = ''")
        self.go("/more")
        self.phone.tap({"en": "English", "de": "Deutsch"}[look.language])
        self.look = look
        self.still()
        self.phone.tap(self.t("Show millimetres" if look.style.length == "mm" else "Show inches"))
        page.evaluate("size => { document.documentElement.style.fontSize = size }", f"{look.text}%")
        self.turn(look)
        time.sleep(0.5)

    def turn(self, look: Look) -> bool:
        """Hold the device another way, or set it to another theme, with the screen as it is; whether it is held another way."""
        was, self.look = self.look, look
        page, held = self.phone.page, {"width": look.width, "height": look.height}
        page.emulate_media(color_scheme=look.theme)
        turned = page.viewport_size != held
        if turned:
            before, end = page.evaluate(TARGETS), time.monotonic() + 1.2
            page.set_viewport_size(held)
            while page.evaluate(TARGETS) == before and time.monotonic() < end:
                time.sleep(0.08)  # the drawing engine is not there yet
            self.still(0.4)
        elif was.theme != look.theme:
            time.sleep(0.15)
        return turned

    def go(self, route: str) -> None:
        page = self.phone.page
        if (page.evaluate("location.hash") or "#/") == "#" + route:
            page.evaluate("location.hash = '#/tour'")
            self.still()
        before, end = heading(self.phone), time.monotonic() + 1.5
        page.evaluate("route => { location.hash = route }", "#" + route)
        while heading(self.phone) == before and time.monotonic() < end:
            time.sleep(0.05)
        self.still()
        end = time.monotonic() + 6
        while self.phone.has(self.t("Working out where the job stands")) and time.monotonic() < end:
            time.sleep(0.1)

    def still(self, rest: float = 0.3) -> None:
        last, since, end = None, time.monotonic(), time.monotonic() + 20
        while time.monotonic() - since < rest and time.monotonic() < end:
            now = self.phone.page.evaluate(TARGETS)
            if now != last:
                last, since = now, time.monotonic()
            time.sleep(0.08)

    # -- what is done before a picture ------------------------------------------------
    def act(self, what: str, said: str) -> None:
        getattr(self, f"act_{what}")(said)
        self.still(0.3)

    def act_tap(self, said: str) -> None:
        self.phone.tap(self.t(said), timeout=8)

    def act_start(self, said: str) -> None:
        self.phone.tap(self.begins(said), timeout=8)

    def act_keys(self, said: str) -> None:
        for key in said:
            self.phone.page.keyboard.press(key)
            time.sleep(0.04)

    def act_size(self, inches: str) -> None:
        self.act_keys(inches if self.look.style.length == "in" else f"{float(inches) * 25.4:.2f}")

    def act_other(self, inches: str) -> None:
        """A size in the other system's figures, which is asked about."""
        self.act_keys(f"{float(inches) * 25.4:.1f}" if self.look.style.length == "in" else inches)

    def act_enter(self, _: str) -> None:
        self.phone.page.keyboard.press("Enter")

    def act_seen(self, _: str) -> None:
        if self.phone.has(self.t("I have read this")):
            self.phone.tap(self.t("I have read this"))

    def act_choose(self, name: str) -> None:
        """Take in one of the files beside the pictures."""
        with self.phone.choosing(self.folder / name):
            self.phone.tap(self.t("Choose a file"))
        time.sleep(2.0)

    def act_onward(self, _: str) -> None:
        """Go on from the grid, where the key says so in words or by its arrow alone."""
        self.act_up()
        self.phone.tap(self.t("All readings are in: go on"), timeout=8)

    def act_up(self) -> None:
        """Back to the top of what scrolls."""
        self.phone.page.mouse.move(self.look.width * 0.25, self.look.height * 0.35)
        self.phone.page.mouse.wheel(0, -20_000)
        time.sleep(0.1)

    def act_down(self, times: str) -> None:
        for _ in range(int(times)):
            self.phone.page.mouse.move(self.look.width * 0.25, self.look.height * 0.35)
            self.phone.page.mouse.wheel(0, self.look.height * 0.7)
            self.still(0.2)

    def act_figure(self, _: str) -> None:
        figure = re.compile(r"\d.*\b(in|mm)\b")
        self.phone.wait(figure, timeout=8)
        wide = [n["label"] for n in self.phone.read() if n["role"] == "button" and n["w"] > 200]
        self.phone.tap(next(filter(figure.search, wide), "a figure to unfold"), timeout=0)

    def act_pad(self, _: str) -> None:
        """Whatever of this screen opens the pad: a key that says so, else the first number it asks for."""
        asks = [self.begins(w) for w in ("Enter: {what}", "Enter more", "One more pass", "One more check")]
        asks.append(re.compile(f"^{re.escape(self.t('Other'))}$"))
        if self.pressed(*asks) and self.padded():
            return
        for title, label in numbers(self.last[0]):
            row = re.compile("^" + re.escape(say(label, self.look.style)) + r"(\n|$)")
            if not any(row.search(n["label"]) for n in self.phone.read()):
                self.pressed(re.compile("^" + re.escape(say(title, self.look.style)) + r"\n"))
            if self.pressed(row) and self.padded():
                return
        raise LookupError("nothing here opens the pad")

    def padded(self) -> bool:
        return self.phone.has(self.t("Delete digit"))

    def pressed(self, *labels: re.Pattern[str]) -> bool:
        """Press the first that is there."""
        for node in self.phone.read():
            if node["role"] == "button" and any(p.search(node["label"]) for p in labels):
                self.phone.tap(node["label"])
                self.still(0.3)
                return True
        return False

    def get_to(self, scene: Scene) -> None:
        """Go to where a scene is and do what is done there, but for scrolling."""
        route, acts = scene.route, scene.still
        was, done = self.last
        if route != was or acts[: len(done)] != done:
            self.go(route)
            done = ()
        self.last = route, acts
        for act in acts[len(done) :]:
            self.act(*act)

    # -- a picture --------------------------------------------------------------------
    def take(self, scenes: Sequence[Scene], looks: Sequence[Look], folder: Path) -> Iterator[str]:
        """Go once to where ``scenes`` are, which differ only in how far down they are, and take their pictures in each of
        ``looks``, which share a language and a text size."""
        self.turn(looks[0])
        for again in (True, False):  # a busy machine may be late: once more, from the start of the way there
            try:
                self.get_to(scenes[0])
                break
            except (AssertionError, LookupError) as problem:
                self.last = "", ()
                if not again:
                    yield f"{looks[0].name} {scenes[0].name}: no picture: {str(problem).splitlines()[0][:120]}"
                    return
        for held in _by_size(looks):
            self.turn(held[0])
            if scenes[-1].down:
                self.act_up()
            down = 0
            for scene in scenes:
                self.act_down(str(scene.down - down))
                down = scene.down
                yield from (f"{held[0].name} {scene.name}: {line}" for line in self.small())
                for look in held:
                    self.turn(look)
                    self.shoot(scene, folder / look.name)

    def shoot(self, scene: Scene, folder: Path) -> None:
        self.phone.page.mouse.move(1, 1)
        folder.mkdir(parents=True, exist_ok=True)
        self.phone.page.screenshot(path=str(folder / f"{scene.name}.png"))

    def small(self) -> Iterator[str]:
        """Targets on show that are below 48 px or out at the side; those cut by the edge of what scrolls are whole further on."""
        for t in self.phone.page.evaluate(TARGETS):
            if t["x"] < -0.5 or t["x"] + t["w"] > self.look.width + 0.5:
                yield f"out at the side: {t['name'][:50]!r} {t['x']:.0f}+{t['w']:.0f}"
            if not t["cut"] and (t["w"] < 47.5 or t["h"] < 47.5):
                yield f"{t['w']:.0f} × {t['h']:.0f}: {t['name'][:50]!r}"


def _by_size(looks: Sequence[Look]) -> list[list[Look]]:
    sizes = dict.fromkeys((k.width, k.height) for k in looks)
    return [[k for k in looks if (k.width, k.height) == size] for size in sizes]


def grouped(scenes: Iterable[Scene]) -> list[list[Scene]]:
    """Scenes that differ only in how far down they are, together, from the top down."""
    groups: dict[tuple[str, tuple[Act, ...]], list[Scene]] = {}
    for scene in scenes:
        groups.setdefault((scene.route, scene.still), []).append(scene)
    return [sorted(group, key=lambda s: s.down) for group in groups.values()]


def sheets(folder: Path, look: Look, *, across: int, down: int, shrink: float = 1.0) -> list[Path]:
    """The pictures of a folder joined into sheets, each with its name above."""
    wide, high = int(look.width * shrink), int(look.height * shrink)
    files = [folder / f"{s.name}.png" for s in SCENES if (folder / f"{s.name}.png").exists()]
    out = []
    for first in range(0, len(files), across * down):
        some = files[first : first + across * down]
        rows = -(-len(some) // across)
        sheet = Image.new("RGB", (across * (wide + 6), rows * (high + 20)), "#777777")
        pen = ImageDraw.Draw(sheet)
        for i, file in enumerate(some):
            x, y = i % across * (wide + 6), i // across * (high + 20)
            picture = Image.open(file).convert("RGB")
            if shrink != 1.0:
                picture = picture.resize((wide, high), Image.Resampling.LANCZOS)
            sheet.paste(picture, (x, y + 18))
            pen.text((x + 4, y + 3), file.stem, fill="white")
        path = folder / f"sheet-{first // (across * down) + 1:02}.png"
        sheet.save(path)
        out.append(path)
    return out


def shape(look: Look, shrink: float) -> tuple[int, int]:
    """How many pictures stand side by side and one under the other on a sheet that can be read at one look."""
    return max(1, int(1700 / (look.width * shrink + 6))), max(1, int(1700 / (look.height * shrink + 20)))


def papers(playwright: Any, folder: Path) -> None:
    """The report as a page on a phone, and as it prints."""
    documents = demo.documents()
    kit = {d.id: View(d) for d in documents if d.type == "card"}
    job = View(next(d for d in documents if d.id == JOB), kit)
    browser = playwright.chromium.launch(executable_path=chromium(), args=FLAGS)
    try:
        for language, length in (("en", "in"), ("de", "mm")):
            text = html_report(job, Style(length, language=language), shop=tuple(SHOP.splitlines()))
            for name, width, media in (("phone", 390, "screen"), ("print", 794, "print")):
                tab = browser.new_page(viewport={"width": width, "height": 844})
                tab.set_content(text)
                tab.emulate_media(media=media)
                tab.screenshot(path=str(folder / f"report-{name}-{language}.png"), full_page=True)
                tab.close()
    finally:
        browser.close()


def first_starts(playwright: Any, site: Site, folder: Path) -> None:
    """The screens before there is a job or an app: the first start, and the last answer while the engines start."""
    quiet = "window.Worker = class { postMessage() {} terminate() {} };"
    held = ((390, 844, "light", 100), (390, 844, "dark", 200), (844, 390, "light", 100))
    with tempfile.TemporaryDirectory() as profile:
        phone = Phone(playwright, site, Path(profile) / "phone")
        page = phone.page
        try:
            page.goto(site.url, wait_until="commit")
            time.sleep(1.0)
            page.screenshot(path=str(folder / "start-loading.png"))
            phone.started(timeout=150)
            time.sleep(2)
            page.screenshot(path=str(folder / "start-first.png"))
            phone.tap("Load the demo job")
            phone.wait(re.compile("^Demo: "))
            page.evaluate(f"location.hash = '#/job/{JOB}'")
            time.sleep(9)  # the picture of the screen is made at a quiet moment
            phone.context.add_init_script(quiet)
            for width, height, theme, text in held:
                page.set_viewport_size({"width": width, "height": height})
                page.emulate_media(color_scheme=theme)
                page.goto(site.url, wait_until="domcontentloaded")
                page.evaluate("size => { document.documentElement.style.fontSize = size }", f"{text}%")
                time.sleep(0.8)
                page.screenshot(path=str(folder / f"start-again-{width}-{theme}-{text}.png"))
        finally:
            phone.close()


#: Put before a script so that what it runs finds no storage.
NO_STORAGE = (
    "Object.defineProperty(self, 'indexedDB', { get() { throw new DOMException('forbidden', 'SecurityError'); } });"
)
#: What the page sees of a browser on an iPhone.
APPLE = """
Object.defineProperty(navigator, 'vendor', { get: () => 'Apple Computer, Inc.' });
Object.defineProperty(navigator, 'userAgent', { get: () => navigator.appVersion.replace(/.*/, 'Mozilla/5.0 (iPhone)') });
"""


def odd_starts(playwright: Any, site: Site, folder: Path) -> None:
    """A first start where nothing can be stored, and one in a browser that looks like an iPhone's."""

    def bare(route: Any) -> None:
        got = route.fetch()
        route.fulfill(response=got, body=NO_STORAGE + got.text())

    for name in ("nostore", "iphone"):
        with tempfile.TemporaryDirectory() as profile:
            phone = Phone(playwright, site, Path(profile) / "phone")
            try:
                if name == "nostore":
                    phone.context.route("**/*worker*.js", bare)
                else:
                    phone.context.add_init_script(APPLE)
                phone.page.goto(site.url, wait_until="commit")
                phone.started(timeout=150)
                time.sleep(4)
                phone.page.screenshot(path=str(folder / f"start-{name}.png"))
                phone.page.emulate_media(color_scheme="dark")
                phone.page.set_viewport_size({"width": 844, "height": 390})
                time.sleep(2)
                phone.page.screenshot(path=str(folder / f"start-{name}-side.png"))
            finally:
                phone.close()


def wanted(text: str) -> Callable[[Scene], bool]:
    words = [w for w in text.split(",") if w]
    return lambda scene: not words or any(w in scene.name for w in words)


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("folder", type=Path)
    for name, usual in (("size", "390x844"), ("theme", "light"), ("language", "en"), ("text", "100"), ("only", "")):
        ask.add_argument(f"--{name}", default=usual)
    ask.add_argument("--shrink", type=float, default=1.0, help="size of the pictures on the sheets")
    ask.add_argument("--starts", action="store_true")
    ask.add_argument("--papers", action="store_true")
    given = ask.parse_args()
    given.folder.mkdir(parents=True, exist_ok=True)
    file = given.folder / "jobs.json"
    file.write_bytes(jobs())
    (given.folder / "torn.json").write_bytes(jobs()[:40_000])
    asked = {k: getattr(given, k).split(",") for k in ("size", "theme", "language", "text")}
    held = [(*size.split("x"), theme) for size, theme in product(asked["size"], asked["theme"])]
    walks = [
        [Look(int(width), int(height), theme, language, int(text)) for width, height, theme in held]
        for text, language in product(asked["text"], asked["language"])
    ]
    site = Site(build(ROOT / "build" / "test-web", cache=ROOT / "build" / "cache", compress=False).folder)
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as place:
        if given.papers:
            papers(playwright, given.folder)
        if given.starts:
            first_starts(playwright, site, given.folder)
            odd_starts(playwright, site, given.folder)
        if given.papers or given.starts:
            return
        phone = Phone(playwright, site, Path(place) / "phone")
        try:
            phone.open(timeout=300)
            walker = Walker(phone, given.folder)
            walker.go("/files")
            with phone.choosing(file):
                phone.tap("Choose a file")
            phone.wait(re.compile("entries were new"))
            for looks in walks:
                walker.take_on(looks[0])
                for group in grouped(filter(wanted(given.only), SCENES)):
                    for line in walker.take(group, looks, given.folder):
                        print(line, flush=True)
                for look in looks:
                    across, down = shape(look, given.shrink)
                    made = sheets(given.folder / look.name, look, across=across, down=down, shrink=given.shrink)
                    print(f"{look.name}: {len(made)} sheets", flush=True)
        finally:
            phone.close()
            site.stop()


if __name__ == "__main__":
    main()
