"""Contrast of the real colours, by the formula of WCAG 2.2 (relative luminance, contrast ratio)."""

import pytest

from mobile import theme


@pytest.mark.parametrize("name,colours", [("light", theme.LIGHT), ("dark", theme.DARK)])
@pytest.mark.parametrize("ink,ground", theme.TEXT_ON)
def test_text_reaches_seven_to_one(name, colours, ink, ground):
    assert theme.contrast(colours[ink], colours[ground]) >= 7.0


@pytest.mark.parametrize("colours", [theme.LIGHT, theme.DARK])
def test_edges_and_signs_reach_three_to_one(colours):
    # WCAG 2.2, 1.4.11: what is needed to find a control
    for ink in ("outline", "primary", "tertiary", "secondary", "error"):
        assert theme.contrast(colours[ink], colours["surface"]) >= 3.0


def test_contrast_of_known_pairs():
    # black on white is 21 by definition; #767676 on white is the well-known 4.54
    assert theme.contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert theme.contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.005)


def test_both_themes_name_the_same_colours():
    assert theme.LIGHT.keys() == theme.DARK.keys()
