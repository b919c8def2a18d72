"""Contrast of the real colours, by the formula of WCAG 2.2 (relative luminance, contrast ratio)."""

import re
from pathlib import Path

import flet as ft
import pytest

from mobile import manners, parts, theme
from mobile.manners import Contrast

from .stub import Phone, driven


def luminance(colour: str) -> float:
    """Relative luminance (0..1) of ``#rrggbb``, WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    """Contrast ratio (1..21) of two ``#rrggbb`` colours, WCAG 2.2."""
    a, b = sorted((luminance(one), luminance(other)), reverse=True)
    return (a + 0.05) / (b + 0.05)


@pytest.mark.parametrize(("name", "colours"), [("light", theme.LIGHT), ("dark", theme.DARK)])
@pytest.mark.parametrize(("ink", "ground"), theme.TEXT_ON)
def test_text_reaches_seven_to_one(name, colours, ink, ground):
    assert contrast(colours[ink], colours[ground]) >= 7.0


@pytest.mark.parametrize("colours", [theme.LIGHT, theme.DARK])
def test_edges_and_signs_reach_three_to_one(colours):
    # WCAG 2.2, 1.4.11: what is needed to find a control
    for ink in ("outline", "primary", "tertiary", "secondary", "error"):
        assert contrast(colours[ink], colours["surface"]) >= 3.0


@pytest.mark.parametrize("colours", [theme.MORE_LIGHT, theme.MORE_DARK])
def test_more_contrast_is_more(colours):
    assert colours.keys() == theme.LIGHT.keys()
    for ink, ground in theme.TEXT_ON:
        assert contrast(colours[ink], colours[ground]) >= 12.0, (ink, ground)
    assert contrast(colours["outline"], colours["surface"]) == pytest.approx(21.0)


#: What two devices force: white on black with cyan for what is chosen, and black on cream with blue.
FORCED = (
    {"ground": "#000000", "ink": "#ffffff", "chosen": "#1aebff", "on_chosen": "#000000"},
    {"ground": "#fffaef", "ink": "#3d3d3d", "chosen": "#903909", "on_chosen": "#fff5e3"},
)


@pytest.mark.parametrize("forced", FORCED)
def test_forced_colours_are_all_there_is(forced):
    roles = theme.in_forced(forced)
    assert roles.keys() == theme.LIGHT.keys() and set(roles.values()) <= set(forced.values())
    least = min(contrast(forced["ink"], forced["ground"]), contrast(forced["on_chosen"], forced["chosen"]))
    marked = contrast(forced["chosen"], forced["ground"])
    for ink, ground in theme.TEXT_ON:
        if ink in ("primary", "on_primary") and ground not in ("primary", "on_primary_container"):
            assert contrast(roles[ink], roles[ground]) >= marked
        else:
            assert contrast(roles[ink], roles[ground]) >= min(least, contrast(roles["on_primary"], roles["primary"])), (
                ink,
                ground,
            )


def test_edges_are_drawn_where_more_contrast_is_asked_for():
    plain, strong = theme.themes(), theme.themes(more=True)
    try:
        assert theme.Drawn.edged and strong[0].color_scheme.outline == "#000000"
        assert parts.card().border is not None and parts.Strip().ground.border is not None
        assert parts.style(None, "onsurface").side[ft.ControlState.DEFAULT].color == "outline"
        one, other = theme.themes(forced=FORCED[0])
        assert one is other and one.color_scheme.primary == "#1aebff" and theme.Drawn.edged
    finally:
        assert theme.themes() == plain and not theme.Drawn.edged
    assert parts.card().border is None and ft.ControlState.DEFAULT not in parts.style(None, "onsurface").side


def test_contrast_of_known_pairs():
    # black on white is 21 by definition; #767676 on white is the well-known 4.54
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.005)


def test_both_themes_name_the_same_colours():
    assert theme.LIGHT.keys() == theme.DARK.keys()


def test_every_text_colour_in_the_sources_is_held_to_seven_to_one():
    # every colour given to a text, an icon or a button's face by name is the ink of at least one pair above
    named = set()
    folder = Path(theme.__file__).parent
    for source in [*folder.glob("*.py"), *folder.glob("screens/*.py")]:
        named |= set(re.findall(r'(?<![a-z_])(?:color|ink)\s*=\s*"([a-z]+)"', source.read_text("utf-8")))
    roles = {name.replace("_", ""): name for name in theme.LIGHT}
    edges = {"outline", "outline_variant"}  # lines and borders
    inks = {ink for ink, _ in theme.TEXT_ON}
    assert {roles[n] for n in named if n in roles} <= inks | edges
    assert named <= set(roles)


def shown(monkeypatch, asked):
    """A phone whose device asks this of colours; the stub's page keeps the themes it was given."""

    async def contrast(*, anew=False):
        return asked

    monkeypatch.setattr(manners, "contrast", contrast)
    return Phone.start()


@driven
async def test_the_app_takes_over_the_colours_that_the_device_forces(monkeypatch):
    try:
        phone = await shown(monkeypatch, Contrast(colours=FORCED[0]))
        assert phone.page.theme.color_scheme.surface == "#000000" and phone.page.theme is phone.page.dark_theme
        monkeypatch.setattr(manners, "contrast", lambda *, anew=False: answered(Contrast()))
        await phone.app._news("contrast")  # the device was set back while the app is open
        assert phone.page.theme == theme.light() and phone.page.dark_theme == theme.dark()
    finally:
        theme.themes()


async def answered(value):
    return value


@driven
async def test_more_contrast_is_set_on_the_device_or_here_and_stays():
    try:
        phone = await Phone.start()
        await phone.go("/more")
        assert phone.page.theme == theme.light()
        await phone.tap("More contrast")
        assert phone.page.theme.color_scheme.on_surface == "#000000" and theme.Drawn.edged
        assert await phone.jobs.setting("contrast", "") == "more"
        assert phone.find("More contrast").style.bgcolor[ft.ControlState.DEFAULT] == "primary"
        await phone.tap("Accessibility")
        phone.see("What it cannot do here", re.compile("The browser's search finds none of its words"))
    finally:
        theme.themes()
