"""The font reader against fontTools, which is not part of the project's own needs."""

import io

import pytest

from store.typeface import Typeface, typeface

font_tools = pytest.importorskip("fontTools.ttLib", reason="fontTools is not installed")

TEXT = "Bohrung 3,0300 in ± 0.5 thou · Größe Ωμ Ж ≤ ⌀ → − µ ✓ ﬁ"


@pytest.mark.parametrize("name", ["text", "bold"])
def test_measures_and_glyphs_agree_with_fonttools(name):
    face = typeface(name)
    other = font_tools.TTFont(io.BytesIO(face.data))
    cmap, order = other.getBestCmap(), other.getGlyphOrder()
    per_unit = 1000 / other["head"].unitsPerEm
    assert {c: order[g] for c, g in face._map.items()} == cmap
    for glyph in face._map.values():
        assert face.advance(glyph) == pytest.approx(other["hmtx"][order[glyph]][0] * per_unit)
    assert face.ascent == round(other["hhea"].ascent * per_unit)
    assert face.descent == round(other["hhea"].descent * per_unit)


def test_a_cut_down_font_keeps_the_letters_in_use_and_their_parts():
    face = typeface("text")
    used = {face.glyph(c) for c in TEXT}
    small = face.cut_down(used)
    assert len(small) < len(face.data) / 2
    a, b = font_tools.TTFont(io.BytesIO(face.data)), font_tools.TTFont(io.BytesIO(small))
    order = a.getGlyphOrder()
    names = b.getGlyphOrder()
    for glyph in used:
        old, new = a["glyf"][order[glyph]], b["glyf"][names[glyph]]
        assert old.getCoordinates(a["glyf"])[0] == new.getCoordinates(b["glyf"])[0]
    spare = face.glyph("Q")
    assert spare not in used and b["glyf"][names[spare]].numberOfContours == 0


def test_a_cut_down_font_reads_like_the_whole_one():
    face = typeface("bold")
    small = Typeface(face.cut_down({face.glyph(c) for c in TEXT}))
    assert small.width(TEXT) == pytest.approx(face.width(TEXT))
    assert small.glyph("3") == face.glyph("3")


def test_a_letter_the_font_lacks_shows_as_missing():
    face = typeface("text")
    assert face.glyph("漢") == face.glyph("\ufffd") != 0
    assert not face.has("漢") and face.has("é") and face.has("\u202f")


def test_signs_of_the_trade_are_there():
    for sign in "±−×÷°µ⌀²³√≈≤≥→✓✗⚠…–·Øøπαδ\u202f":
        assert typeface("text").has(sign) and typeface("bold").has(sign), sign


def test_what_is_no_font_is_refused():
    with pytest.raises(ValueError, match="no TrueType"):
        Typeface(b"%PDF-1.7" + bytes(20))
