"""The walk through every screen, as a new user makes it: sizes of what is pressed, labels, widths, units, keyboard.

What is measured is the semantics tree: what a screen reader reads and where a tap lands.
48 px is the least size of a target, after the platform guides; WCAG 2.2 (2.5.8) asks for 24.
"""

from __future__ import annotations

import re
import time
import zlib

import pytest

from mobile import theme

from .test_job import KEY

SIZES = {"small": (360, 640), "phone": (390, 844), "lying": (844, 390), "tablet": (1024, 768)}
JOB = "/job/demojob00101"

#: route -> its heading
STILL = {
    "/": "Boreside", "/new": "New job", "/more": "Settings", "/files": "Files", "/kit": "My kit", "/terms": "Words of the trade",
    "/tour": "A short tour", "/access": "Accessibility", JOB: "Demo: tractor engine", JOB + "/details": "Job details", JOB + "/log": "Log", JOB + "/report": "Report",
    JOB + "/bores": "Worn bores", JOB + "/gauge": "About the bores",
}  # fmt: skip
STEPS = {
    "walls": "Walls", "face": "Deck", "sweep": "Sweep", "oversize": "Oversize", "sleeve": "Sleeves", "sizes": "Sizes",
    "fitting": "Pistons to bores", "clamp": "Clamping", "cut": "Boring", "chamfer": "Chamfers", "hone": "Honing", "final": "Final check",
    "rings": "Ring gaps", "compression": "Capacity and compression", "clean": "Cleaning and handover",
}  # fmt: skip

#: Every node that takes a press or text: its accessible name, its box, and whether the box is cut by the edge of what scrolls.
TARGETS = r"""
() => [...document.querySelectorAll('flt-semantics-host [flt-tappable], flt-semantics-host input, flt-semantics-host textarea')].map(e => {
  const box = e.getBoundingClientRect();
  const say = n => n.getAttribute?.('aria-label') || '';
  const name = (say(e) || say(e.closest('[aria-label]') || e) || e.innerText || [...e.querySelectorAll('[aria-label]')].map(say).join(' ')).trim();
  let cut = false;
  for (let up = e.parentElement; up && up.localName !== 'flt-semantics-host'; up = up.parentElement) {
    if (!/auto|scroll|hidden/.test(getComputedStyle(up).overflowY)) continue;
    const clip = up.getBoundingClientRect();
    cut = cut || box.top <= clip.top + 1 || box.bottom >= clip.bottom - 1;
  }
  return {name, cut, x: box.x, y: box.y, w: box.width, h: box.height};
})
"""


@pytest.fixture(scope="module")
def walker(kept_phone):
    """A phone with the demo job on it."""
    phone = kept_phone
    phone.tap("Load the demo job")
    phone.wait(re.compile("^Demo: tractor engine"))
    go(phone, JOB + "/bores")
    phone.tap("I have read this")
    phone.wait("Cylinder 1, depth 1, thrust axis")
    return phone


def go(phone, route):
    """Open a screen and wait until it is there and still."""
    phone.page.evaluate("route => { location.hash = route }", "#" + route)
    title = STILL.get(route) or STEPS[route.rsplit("/", 1)[1]]
    end = time.monotonic() + 60
    while not heading(phone).startswith(title):
        assert time.monotonic() < end, f"{route} opens {heading(phone)!r}"
        time.sleep(0.07)
    still(phone)


def heading(phone):
    """The one heading of the first level."""
    return " ".join(
        phone.page.evaluate("[...document.querySelectorAll('flt-semantics-host h1')].map(e => e.innerText)")
    )


def still(phone, timeout=60):
    """Wait until the screen says the same for a moment."""
    end = time.monotonic() + timeout
    last, since = None, time.monotonic()
    while time.monotonic() - since < 0.35:
        now = phone.page.evaluate(TARGETS)
        if now != last:
            last, since = now, time.monotonic()
        assert time.monotonic() < end, "the screen does not come to rest"
        time.sleep(0.07)


def sized(phone, name, large=False):
    width, height = SIZES[name]
    phone.page.set_viewport_size({"width": width, "height": height})
    phone.page.evaluate("size => { document.documentElement.style.fontSize = size }", "200%" if large else "")
    time.sleep(0.3)
    return width, height


def faults(phone, width, height, *, scroll=True):
    """What is wrong with the targets of the screen on show, from its top to its end: too small, nameless, or out at the side."""
    best: dict[str, tuple[float, float]] = {}
    wrong: set[str] = set()
    last = None
    for _ in range(12):
        seen = phone.page.evaluate(TARGETS)
        for t in seen:
            if not t["name"]:
                wrong.add(f"no name: {t}")
            if t["x"] < -0.5 or t["x"] + t["w"] > width + 0.5:
                wrong.add(f"out at the side: {t}")
            if t["cut"] and not (scroll and seen == last):
                continue  # it comes into full sight further down
            w, h = best.get(t["name"], (0.0, 0.0))
            best[t["name"]] = (max(w, t["w"]), max(h, t["h"]))
        if not scroll or seen == last:
            break
        last = seen
        phone.page.mouse.move(width * 0.25, height * 0.35)
        phone.page.mouse.wheel(0, height * 0.5 * phone.scale**2)  # as in ``Phone.scroll``
        time.sleep(0.15)
    wrong |= {f"{w:.0f} × {h:.0f}: {name!r}" for name, (w, h) in best.items() if w < 47.5 or h < 47.5}
    return sorted(wrong)


@pytest.mark.parametrize("route", [*STILL, *(f"{JOB}/{step}" for step in STEPS)])
def test_every_target_can_be_hit_and_is_named(walker, route):
    width, height = sized(walker, "small")
    go(walker, route)
    assert faults(walker, width, height) == []


@pytest.mark.parametrize(
    ("size", "large"), [("phone", False), ("lying", False), ("tablet", False), ("small", True), ("lying", True)]
)
def test_the_main_screens_at_other_sizes(walker, size, large):
    width, height = sized(walker, size, large)
    try:
        for route in ("/", "/new", "/more", JOB, JOB + "/bores", JOB + "/oversize", JOB + "/cut", JOB + "/log"):
            go(walker, route)
            assert faults(walker, width, height, scroll=large) == [], route
        # with the pad up
        go(walker, "/")
        walker.tap("Nominal bore")
        walker.wait("Next")
        still(walker)
        assert faults(walker, width, height, scroll=False) == []
        assert_pad_in_sight(walker, height)
    finally:
        sized(walker, "phone")
        go(walker, JOB)


def assert_pad_in_sight(phone, height):
    for name in ("7", "0", "decimal point", "Delete digit", "Change sign"):
        key = phone.find(re.compile(f"^{re.escape(name)}$"), tappable=True)
        assert key["y"] >= 0 and key["y"] + key["h"] <= height + 0.5, (name, key)
    assert phone.find(re.compile("^(Next|Done|Enter)$"), tappable=True)["y"] <= height - 48


def presses(phone, text):
    for character in text:
        phone.tap(KEY.get(character, character))
    return len(text)


def test_quick_check_in_four_taps_and_two_numbers(walker):
    sized(walker, "small")
    go(walker, "/more")
    go(walker, "/")
    for field in ("Nominal bore", "Worst reading"):
        assert walker.has(re.compile("^" + field))
    taps = 0
    walker.tap("Nominal bore")
    taps += 1
    presses(walker, "3.5")
    walker.tap("Next")
    taps += 1
    presses(walker, "3.5052")
    # 5.2 thou, at worst all on one side: 10.4; +0.020 less 3 thou for the hone is 17
    told = walker.wait(re.compile(r"A bore at \+0\.020\sin cleans up"))
    assert taps <= 4
    assert told["y"] >= 0 and told["y"] < walker.page.viewport_size["height"]  # in sight without scrolling
    walker.tap("Done")


def test_a_whole_grid_without_scrolling(walker):
    _width, height = sized(walker, "small")  # the others have more room
    go(walker, "/new")
    walker.tap("Nominal bore")
    walker.wait("Done")
    presses(walker, "3.0")
    walker.tap("Done")
    walker.tap("Start measuring")
    walker.tap("I have read this")
    walker.wait("Cylinder 1, depth 1, thrust axis")
    count = digits = 0
    for cylinder in range(1, 5):
        for place, value in enumerate(("4", "2", "2", "1", "0", "0")):
            depth, axis = place // 2 + 1, ("thrust axis", "crank line")[place % 2]
            walker.wait(f"Cylinder {cylinder}, depth {depth}, {axis}")
            cell = walker.find(re.compile(rf"^Cylinder {cylinder}, depth {depth}, {axis}: \?"))
            assert cell["y"] >= 0 and cell["y"] + cell["h"] <= height, cell
            count += presses(walker, value) + 1
            digits += len(value)
            walker.tap("Enter")
    walker.wait("Saved")
    assert count <= 24 * (1 + 1) and digits == 24
    onward = walker.wait("All readings are in: go on")
    assert onward["h"] >= 48


def entries(phone):
    """Every document the browser keeps, as it is stored. Settings apart: the switch is one."""
    return phone.page.evaluate(
        """async () => {
          const out = [];
          for (const {name} of await indexedDB.databases()) {
            const db = await new Promise((ok, no) => { const r = indexedDB.open(name); r.onsuccess = () => ok(r.result); r.onerror = no; });
            for (const store of db.objectStoreNames) {
              const all = await new Promise(ok => {
                const rows = [], r = db.transaction(store).objectStore(store).openCursor();
                r.onsuccess = () => { const c = r.result; if (!c) return ok(rows); rows.push([store, String(c.key), JSON.stringify(c.value)]); c.continue(); };
              });
              out.push(...all.filter(row => row[2].includes('demojob00101') && row[2].includes('entries')));
            }
            db.close();
          }
          return out.sort();
        }"""
    )


def focused(phone):
    """What the focus is on, as a screen reader names it."""
    return phone.page.evaluate(
        "(() => { const e = document.activeElement; return e ? (e.getAttribute('aria-label') || e.innerText || e.value || '').trim() : ''; })()"
    )


def tab_to(phone, start, most=40):
    """Press Tab until the focus is on what begins so."""
    seen = []
    for _ in range(most):
        phone.page.keyboard.press("Tab")
        time.sleep(0.12)
        seen.append(focused(phone))
        if seen[-1].startswith(start):
            return seen
    raise AssertionError(f"{start!r} cannot be reached by the keyboard; it went {seen}")


def typed(phone, text):
    for character in text:
        phone.page.keyboard.press(character)
        time.sleep(0.05)


def test_with_the_keyboard_alone(walker):
    phone = walker
    sized(phone, "tablet")
    go(phone, "/more")
    go(phone, "/")
    tab_to(phone, "Nominal bore")
    phone.page.keyboard.press("Enter")
    phone.wait("Next")
    typed(phone, "4.0")
    phone.page.keyboard.press("Enter")
    phone.wait("Done")
    typed(phone, "4.0052")
    phone.wait(re.compile(r"A bore at \+0\.020\sin cleans up"))
    phone.page.keyboard.press("Enter")
    phone.wait("New job")
    assert not phone.has("Delete digit")
    # one reading of a job
    go(phone, JOB + "/bores")
    before = phone.find(re.compile("^Cylinder 1, depth 1, thrust axis: "))["label"]
    tab_to(phone, "Cylinder 1, depth 1, thrust axis: ")
    phone.page.keyboard.press("Enter")
    still(phone)
    typed(phone, "9.5")
    phone.page.keyboard.press("Enter")
    phone.wait(re.compile(r"^Cylinder 1, depth 1, thrust axis: \+9\.5\sthou"))
    assert phone.has("Cylinder 1, depth 1, crank line")  # the next place is asked for
    phone.wait("This correction changed:")
    # and back as it was
    phone.page.keyboard.press("z")
    phone.wait(re.compile("^" + re.escape(before) + "$"))


def test_the_unit_switch_stores_nothing_and_what_a_correction_changed_is_in_sight(walker):
    phone = walker
    sized(phone, "phone")
    go(phone, JOB + "/bores")
    phone.tap("Show inches")
    phone.wait(re.compile(r"^Cylinder 1, depth 1, thrust axis: \+8\.0\sthou"))
    stored = entries(phone)
    phone.tap("Show millimetres")
    # 8 thou is 0.2032 mm
    phone.wait(re.compile(r"^Cylinder 1, depth 1, thrust axis: \+0\.203\smm"))
    assert stored and entries(phone) == stored
    phone.tap("Show inches")
    phone.wait(re.compile(r"^Cylinder 1, depth 1, thrust axis: \+8\.0\sthou"))
    assert entries(phone) == stored
    phone.tap(re.compile("^Cylinder 1(\\s|$)"))
    phone.tap(re.compile("^Cylinder 1, depth 1, thrust axis: "))
    presses(phone, "30")
    phone.tap("Enter")
    # 30 thou of wear: the pistons bought for +0.030 no longer do
    said = phone.wait(re.compile(r"This correction changed:\s+Oversize: .*(does not clean up|\+0\.0[46]0)"))
    assert 0 < said["y"] < 844 and "Before: " in said["label"]  # what turned comes first, with what it was
    phone.tap("Undo the last entry")
    phone.wait(re.compile(r"Bores at \+0\.030\sin clean up all three"))


def heard(phone):
    """What Chromium gives a screen reader, in reading order: (role, name, properties) of each node it does not pass over."""
    session = phone.context.new_cdp_session(phone.page)
    nodes = {n["nodeId"]: n for n in session.send("Accessibility.getFullAXTree")["nodes"]}
    session.detach()

    def walk(node):
        if not node["ignored"]:
            properties = {p["name"]: p["value"].get("value") for p in node.get("properties", [])}
            yield node["role"]["value"], node.get("name", {}).get("value", ""), properties
        for child in node.get("childIds", []):
            if child in nodes:
                yield from walk(nodes[child])

    return list(walk(next(n for n in nodes.values() if "parentId" not in n)))


#: Keeps what is put into the page's live regions, which a screen reader then says.
ANNOUNCED = """() => {
  window.announced = [];
  new MutationObserver(() => {
    for (const e of document.querySelectorAll('flt-announcement-polite, flt-announcement-assertive')) {
      const said = e.textContent.trim();
      if (said && announced[announced.length - 1] !== said) announced.push(said);
    }
  }).observe(document.querySelector('flt-announcement-host'), {subtree: true, childList: true, characterData: true});
}"""


@pytest.mark.parametrize("route", ["/", "/more", JOB, JOB + "/bores", JOB + "/oversize"])
def test_what_a_screen_reader_is_given(walker, route):
    """Roles, names and order, by Chromium's own accessibility tree."""
    sized(walker, "phone")
    go(walker, route)
    tree = heard(walker)
    assert [role for role, _, _ in tree].count("main") == 1
    headings = [p["level"] for role, _, p in tree if role == "heading"]
    assert headings.count(1) == 1 and set(headings) <= {1, 2, 3}
    for role, name, properties in tree:
        if role in ("button", "textbox", "checkbox", "link", "image", "progressbar"):
            assert name.strip(), (role, properties)
    pressed = [name for role, name, _ in tree if role == "button"]
    bar = [name for name in pressed if name in ("Show inches", "Show millimetres", "Settings, files and help")]
    assert bar == ["Show inches", "Show millimetres", "Settings, files and help"]
    assert pressed.index(bar[0]) <= 1  # the bar comes first; before it only the way back
    if route.endswith("/bores"):
        cells = [name for name in pressed if name.startswith("Cylinder 1, depth ")]
        places = [f"Cylinder 1, depth {d}, {axis}" for d in (1, 2, 3) for axis in ("thrust axis", "crank line")]
        assert [name.split(": ")[0] for name in cells] == places
        assert pressed.index("Enter") > pressed.index(cells[-1])  # the pad comes after what it fills


def test_a_new_verdict_is_announced(walker):
    phone = walker
    sized(phone, "phone")
    go(phone, "/more")
    go(phone, "/")
    phone.page.evaluate(ANNOUNCED)
    phone.tap("Nominal bore")
    phone.wait("Next")
    typed(phone, "3.5")
    phone.page.keyboard.press("Enter")
    phone.wait("Done")
    typed(phone, "3.5052")
    phone.wait(re.compile(r"A bore at \+0\.020\sin cleans up"))
    end = time.monotonic() + 20
    while not any("+0.020\u202fin cleans up" in said for said in phone.page.evaluate("announced")):
        assert time.monotonic() < end, phone.page.evaluate("announced")
        time.sleep(0.1)
    phone.page.keyboard.press("Enter")
    phone.wait("New job")


def drawn(phone):
    """Wait until what has changed is drawn, however busy the machine is: two frames further on."""
    phone.page.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")


def dot(phone, x, y):
    """The colour of one dot of the screen, as ``#rrggbb``, out of a picture (PNG) of one dot."""
    picture = phone.page.screenshot(clip={"x": x, "y": y, "width": 1, "height": 1})
    at, data = 8, b""
    while at < len(picture):  # PNG: length, name, contents, check sum; the dots may be spread over several
        length = int.from_bytes(picture[at : at + 4], "big")
        if picture[at + 4 : at + 8] == b"IDAT":
            data += picture[at + 8 : at + 8 + length]
        at += length + 12
    row = zlib.decompress(data)
    return "#" + row[1:4].hex()


def test_nothing_moves_by_itself_and_forced_colours_are_drawn(walker):
    """With less motion asked for, and without: a screen at rest is drawn the same twice, also right after a press.

    Chromium forces colours as Windows does in its dark contrast themes; the app's own dark ground is another.
    """
    phone = walker
    sized(phone, "phone")
    phone.page.emulate_media(reduced_motion="reduce")
    try:
        go(phone, "/")
        phone.tap("Nominal bore")
        phone.wait("Next")
        still(phone)
        phone.page.mouse.move(5, 300)
        phone.tap("7")
        phone.wait(re.compile(r"\b7\sin\b"))
        drawn(phone)
        time.sleep(0.15)
        first = phone.page.screenshot()
        time.sleep(0.4)
        assert phone.page.screenshot() == first
        phone.tap("Delete digit")
        phone.page.emulate_media(color_scheme="dark", forced_colors="active")
        forced = phone.page.evaluate("boreside.answers.contrast()")["colours"]
        assert forced["ground"] != theme.DARK["surface"].lower() and forced["ink"] != forced["ground"]
        end = time.monotonic() + 20
        while (seen := dot(phone, 2, 400)) != forced["ground"]:
            assert time.monotonic() < end, (seen, forced)
            time.sleep(0.1)
        still(phone)
    finally:
        phone.page.emulate_media(reduced_motion="no-preference", color_scheme="light", forced_colors="none")


def test_the_walk_asked_nobody_else(walker):
    walker.assert_private()
    assert not [line for line in walker.console if "Failed to load" in line]
