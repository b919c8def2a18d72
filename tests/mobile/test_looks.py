"""Layout by arithmetic: nothing is cut off, broken or too small at the sizes and text scales that people hold.

Widths are held against the font itself, read by fontTools; 48 px is the least size of a
target after the platform guides, 200 % the text size that WCAG 2.2 (1.4.4) asks for.
"""

import itertools
import re
from pathlib import Path

import flet as ft
import flet_web
import pytest
from fontTools.ttLib import TTFont

from logic.say import L, Style, say
from mobile import measure, parts
from mobile import theme as th
from mobile.glimpse import STEPS, picture
from mobile.screens.job import STATE
from store.fields.straight import SIZE
from store.sheets import NAMES, all_sheets, sheet
from tests import sample

from .stub import DEMO, Phone, driven, walk

ROOT = Path(__file__).parents[2]
LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789äöüÄÖÜß .,:;-–+()„“/%°±·…"
HELD = [
    (360, 640, 1.0),
    (360, 640, 2.0),
    (390, 844, 1.0),
    (390, 844, 2.0),
    (844, 390, 1.0),
    (844, 390, 2.0),
    (1024, 768, 1.0),
]
LANGUAGES = ("en", "de")


@pytest.fixture(autouse=True)
def plain():
    """Each test leaves the device as it was."""
    yield
    th.held.scale, th.held.foot, th.held.room = 1.0, 390.0, 366.0


@pytest.fixture(scope="module")
def font():
    return TTFont(Path(flet_web.__file__).parent / "web/assets/fonts/roboto.woff2")


# -- widths ------------------------------------------------------------------------------------------
def test_letters_are_as_wide_as_in_the_font(font):
    cmap, wide, em = font.getBestCmap(), font["hmtx"], font["head"].unitsPerEm
    for letter in LETTERS:
        assert measure.width(letter, 1000) == pytest.approx(1000 * wide[cmap[ord(letter)]][0] / em, abs=25), letter


def test_lines_are_broken_between_words_and_counted():
    # "Nennmaß der Bohrung" at 20: 84, 31 and 78 pixels, and 5 for a space
    assert measure.lines("Nennmaß der Bohrung", 20, 220) == 1
    assert measure.lines("Nennmaß der Bohrung", 20, 130) == 2
    assert measure.lines("Nennmaß der Bohrung", 20, 90) == 3
    assert measure.whole("Nennmaß der Bohrung", 20, 90) and not measure.whole("Nennmaß der Bohrung", 20, 80)
    assert measure.lines("50-mm-Endmaß", 20, 80) == 2  # parted after a hyphen


def test_a_text_is_fitted_by_size():
    said = "Zylinder 1, Schnitt 2: Mikrometer war eingestellt auf"
    size = measure.fitted(said, 280, most=32, least=13, rows=2)
    assert 13 < size < 32 and measure.stands(said, size, 280, rows=2)
    assert not measure.stands(said, size + 1, 280, rows=2)
    assert measure.fitted("Bohren", 280, most=32, least=13) == 32


def test_large_type_grows_less_than_running_text():
    th.held.scale = 2.0
    drawn = {size: th.eased(size) * 2 for size in (th.SMALL, th.BODY, th.LARGE, th.TITLE, th.VERDICT)}
    assert drawn == {14: 28, 16: 32, 18: 34, 20: 36, 24: 40}  # running text doubles, the rest keeps its lead
    th.held.scale = 1.0
    assert th.eased(th.VERDICT) == th.VERDICT


# -- buttons side by side ----------------------------------------------------------------------------
def press(label, **more):
    return parts.button(label, lambda: None, **more)


def labels_stand(row, room, gap=th.GAP):
    """Whether each label of a row stands whole in its share of it."""
    buttons = row.controls
    free = room - gap * (len(buttons) - 1)
    total = sum(b.expand for b in buttons)
    for b in buttons:
        inside = free * b.expand / total - 20 - (th.icon(18) + 8 if b.icon is not None else 0)
        if not measure.stands(b.content.value, b.content.size * th.held.scale, inside, rows=2):
            return False
    return True


@pytest.mark.parametrize("scale", [1.0, 1.3, 2.0])
@pytest.mark.parametrize("room", [206, 336, 366])
@pytest.mark.parametrize(
    "labels",
    [
        ("Überspringen", "Weiter"),
        ("Gerät", "Sonne", "Dunkel"),
        ("Kein Messgerät dafür", "Bei diesem Motor nicht nötig"),
    ],
)
def test_no_word_is_broken_in_a_row_of_buttons(labels, room, scale):
    th.held.scale = scale
    made = parts.beside(*(press(label) for label in labels), room=room)
    if isinstance(made, ft.Row):
        assert labels_stand(made, room)
    else:
        assert scale > 1.0 or room == 206  # on a phone held upright, in plain letters, they stand side by side
        assert all(b.expand is None for b in made.controls)


def test_a_foot_keeps_its_words_and_its_height():
    """In letters twice as large the key that goes on takes at most two lines of 360 pixels."""
    th.held.scale, th.held.foot = 2.0, 360.0
    said = "Als Nächstes: Verschlissene Bohrungen"
    (button,) = parts.foot(press(said, size=th.LARGE, icon=ft.Icons.ARROW_FORWARD, height=56)).content.controls
    assert measure.lines(said, button.content.size * 2, 336 - 20 - th.icon(18) - 8) <= 2
    assert button.content.size * 2 >= th.LARGE * 1.2  # and is still larger than in plain letters


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_a_name_that_finds_no_place_beside_its_figure_stands_above_it(scale):
    th.held.scale = scale
    value = parts.two("78,680 ± 0,008 mm", "3,0977 in", size=th.LARGE)
    needs = parts.wide("78,680 ± 0,008 mm", th.LARGE)
    made = parts.told("Kolben am Messpunkt, bei 20 °C", value, needs, 312, after=parts.sign(ft.Icons.EXPAND_MORE))
    assert isinstance(made.controls[0], ft.Column) == (scale == 2.0)


# -- words -------------------------------------------------------------------------------------------
@pytest.mark.parametrize("size", [th.SMALL, th.BODY, th.LARGE, th.TITLE, th.VERDICT])
def test_no_word_of_a_label_is_broken_in_large_letters(size):
    """Every name of a step, a group, a field and a figure, in German, on the narrowest phone at 200 %."""
    th.held.scale, th.held.room = 2.0, 336.0
    german = Style(language="de")
    lines = [s.title for s in all_sheets()] + [g.title for s in all_sheets() for g in s.groups]
    lines += [f.label for s in all_sheets() for f in s.fields.values()]
    lines += [L("Stress area"), L("Cutting speed"), L("Thickness gauge"), L("Compression ratio")]
    shrunk = 0
    for line in lines:
        said = say(line, german)
        made = parts.text(said, size, bold=True)
        assert measure.whole(made.value, made.size * 2, 336 - 48), (said, made.size)
        shrunk += made.size < th.eased(size)
        assert parts.text("Bohren", size).size == th.eased(size)  # short words keep their size
    assert shrunk < len(lines) / 3


# -- titles, for every step --------------------------------------------------------------------------
def shown_title(frame):
    """(where the title stands, its text) of the screen on show."""
    for place in ("bar", "middle"):
        for one in walk(getattr(frame, place)):
            if isinstance(one, ft.Semantics) and one.header and one.heading_level == 1 and one.label is None:
                return place, one.content
    return "", None


@pytest.mark.parametrize("held", HELD, ids=lambda h: f"{h[0]}x{h[1]}-{h[2]:.0%}")
def test_no_title_is_cut_off(held):
    width, height, scale = held

    @driven
    async def all_titles():
        phone = await Phone.start(width=width, height=height)
        frame = phone.app.frame
        frame.scale = scale
        titles = [sheet(name).title for name in NAMES]
        titles += [L("What this has been checked against"), L("{name}: record", name="Small boring bar")]
        for language, title in itertools.product(LANGUAGES, titles):
            phone.app.style = Style(language=language)
            phone.app.screen.title = title
            frame.fill(phone.app.screen)
            place, shown = shown_title(frame)
            assert shown.value == say(title, phone.app.style) and shown.max_lines is None
            if place == "bar":
                room = frame._bar_room(phone.app.screen)
                assert measure.stands(shown.value, shown.size * scale, room, rows=2), (shown.value, room)

    all_titles()


# -- the pad -----------------------------------------------------------------------------------------
def head_height(pad, scale):
    """Height of what stands above the keys, in pixels: lines of 1.43 times their letters, as the drawing engine sets them."""
    line = 1.43 * scale
    shut = th.TOUCH + 8 if pad.close else 0
    name = measure.lines(pad.ask.value, pad.ask.size * scale, pad.width - shut) * pad.ask.size * line
    free = pad.width - 8 - measure.width(pad.typed.value, pad.typed.size * scale)
    words = measure.lines(pad.echo.value, pad.echo.size * scale, free) * pad.echo.size * line if pad.echo.value else 0
    below = 0.0
    if pad.below.visible:
        edge = th.icon(20) + 6
        below = (
            4
            + measure.lines(pad.echo_below.value, pad.echo_below.size * scale, pad.width - edge)
            * pad.echo_below.size
            * line
        )
    return max(name, shut and th.TOUCH) + 4 + max(pad.typed.size * line, words) + below


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("held", HELD, ids=lambda h: f"{h[0]}x{h[1]}-{h[2]:.0%}")
def test_the_pad_says_all_of_what_it_asks_and_leaves_its_keys_on_the_screen(held, language):
    width, height, scale = held

    @driven
    async def asked():
        phone = await Phone.start(width=width, height=height, with_demo=True, language=language)
        app = phone.app
        app.frame.scale = scale
        await phone.go(f"{DEMO}/bores")
        app.screen.redraw()
        if app.screen._to_read():
            await app.screen._seen()
        pad = app.screen.pad
        keys = 4 * pad.keys[0].height + 3 * 6
        assert all(key.height >= th.TOUCH for key in pad.keys)
        undo = th.TOUCH + 8 if pad.large_undo.visible else 0
        whole = 12 + 6 + undo + keys
        free = height - (0 if app.frame.beside else th.TOUCH + 4)
        for typed in ("", "8.5", "9999"):
            pad.put(typed)
            if typed == "9999":
                await pad.press("next")
            assert pad.ask.max_lines is None and measure.lines(pad.ask.value, pad.ask.size * scale, pad.width) <= 2
            assert whole + head_height(pad, scale) <= free, (typed, head_height(pad, scale), free - whole)
            for face, _ in pad.faces:  # no key's face is cut off
                assert measure.width(face.value, face.size * scale) <= 2 * (app.frame.foot_width - 40) / 5

    asked()


@pytest.mark.parametrize("held", HELD, ids=lambda h: f"{h[0]}x{h[1]}-{h[2]:.0%}")
def test_no_word_is_broken_in_the_cells_of_a_field_asked_at_many_places(held):
    width, height, scale = held

    @driven
    async def whole():
        phone = await Phone.start(width=width, height=height, with_demo=True, language="de")
        app = phone.app
        app.frame.scale = th.held.scale = scale
        await phone.go(f"/kit/{sample.KIT.bar}/straight")
        asks = app.screen.asks
        (group,) = [g for g in asks.desk.sheet.groups if g.fields[0] is SIZE]
        places = [{"depth": d, "axis": a} for d in (1, 2, 3) for a in ("thrust", "crank")]
        rows = asks._cells(group, places).controls
        room = (app.frame.room - 6 * (len(rows[0].controls) - 1)) / len(rows[0].controls) - 16
        names = [cell.content.controls[0] for row in rows for cell in row.controls if isinstance(cell, ft.Button)]
        assert len(names) == len(places)
        assert all(measure.whole(n.value, n.size * scale, room) for n in names), (room, [n.value for n in names])

    whole()


@pytest.mark.parametrize("held", HELD, ids=lambda h: f"{h[0]}x{h[1]}-{h[2]:.0%}")
def test_the_cell_asked_for_and_the_way_on_are_in_sight_beside_or_above_the_pad(held):
    width, height, scale = held

    @driven
    async def seen():
        phone = await Phone.start(width=width, height=height, with_demo=True, language="de")
        app = phone.app
        app.frame.scale = scale
        await phone.go(f"{DEMO}/bores")
        app.screen.redraw()
        if app.screen._to_read():
            await app.screen._seen()
        grid, pad = app.screen, app.screen.pad
        undo = th.TOUCH + 8 if pad.large_undo.visible else 0
        under = 0 if app.frame.beside else 18 + undo + 4 * pad.keys[0].height + 18 + head_height(pad, scale)
        room = height - (th.TOUCH + 4) - under
        head, *rows = grid.table.controls
        names = [one.content for one in head.controls[1:]]
        across = (app.frame.room - head.controls[0].width - 8) / 2
        assert all(measure.whole(n.value, n.size * scale, across) for n in names)  # no axis is broken
        edges = [row.controls[0] for row in rows]
        assert all(measure.width(e.content.value, e.content.size * scale) <= e.width for e in edges)
        titles = max(measure.lines(n.value, n.size * scale, across) * n.size * scale * 1.43 for n in names)
        first = 2 + th.TOUCH + 8 + titles + 4 + rows[0].controls[1].height
        assert not (grid._tall() and app.frame.large)  # a verdict in large type would take the table's place
        first += 110 if grid._tall() else 0  # two lines of verdict in plain letters
        assert first <= room + 1, (first, room)  # tabs, names and the first row
        if app.frame.large or app.frame.low:
            assert grid._short and any(one is grid.onward for one in walk(app.frame.middle.controls[0]))

    seen()


# -- the path ----------------------------------------------------------------------------------------
@pytest.mark.parametrize("held", [(360, 640, 1.0), (360, 640, 2.0)], ids=["plain", "large"])
def test_a_step_keeps_its_name_beside_its_state(held):
    width, height, scale = held

    @driven
    async def rows():
        phone = await Phone.start(width=width, height=height, with_demo=True, language="de")
        phone.app.frame.scale = scale
        await phone.go(DEMO)
        job = phone.app.screen
        for name, state in itertools.product(NAMES, STATE):
            _, column, *word = job._row(name, state, None).content.controls
            title = column.controls[0]
            free = phone.app.frame.room - 24 - th.icon(26) - 20 - sum(parts.wide(w.value, th.SMALL) for w in word)
            assert measure.whole(title.value, title.size * scale, free), (title.value, state, free)

    rows()


# -- before the app is there -------------------------------------------------------------------------
def test_the_page_says_how_far_the_start_is_in_the_persons_language():
    page = (ROOT / "mobile/web/boot.js").read_text("utf-8")
    named = re.search(r"const steps = \{(.*?)\n  \};", page, re.DOTALL)[1]
    said = dict(re.findall(r'(\w+): \["([^"]+)"', named))
    assert said == {name: say(line) for name, line in STEPS.items()}
    kept = picture(None, {}, Style(language="de"), "system", 0)
    assert set(kept["steps"]) == set(said) and not set(kept["steps"].values()) & set(said.values())
    assert "said[name] || words" in page and "said = kept.steps" in page
