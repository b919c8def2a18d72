"""Contrast of the real colours, by the formula of WCAG 2.2 (relative luminance, contrast ratio)."""

import re
from pathlib import Path

import pytest

from mobile import theme


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
