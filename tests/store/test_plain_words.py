"""How the app speaks: short hints, the trade's words, British spelling, one name for one thing."""

import re

import pytest

from logic.say import Bound, Style, say, shown
from store.fields import declared
from tests.lines import templates

MOST_LETTERS = 90
FIELDS = tuple(declared().values())
#: Belongs behind a figure's explanation, not under a field.
SOURCES = re.compile(r"\b(JCGM|GUM|ISO|ASME|NIST|DIN|SAE|VDI)\b|\bbias\b|standard uncertainty|standard deviation")
#: Another name is the right one: deck, ±, swarf, "Empty: …".
OTHER_NAMES = re.compile(
    r"[Tt]op face|[Ff]ace clearance|[Dd]oubt\b|[Hh]ow well|\bLeft out, |"
    r"\bchips (in|out|under|and|from|into)\b"
)
AMERICAN = re.compile(
    r"\b(gr[a]y|colors?|colored|center(s|ed|ing)?|aluminum|gage|gages|liters?|fibers?|vapors?|mold|"
    r"(organ|recogn|minim|optim)ize[ds]?|labor|neighbor(s|ing)?)\b",
    re.IGNORECASE,
)
#: What nobody says at a bench.
BOOKISH = re.compile(
    r"\b(thus|hence|whereby|wherein|thereof|therein|whilst|aforementioned|henceforth)\b", re.IGNORECASE
)


@pytest.mark.parametrize("field", FIELDS, ids=lambda f: f.key)
def test_a_hint_is_short_and_plain(field):
    label, hint = say(field.label), say(field.help)
    assert len(hint) <= MOST_LETTERS, (len(hint), hint)
    assert not SOURCES.search(label + " " + hint), hint
    assert not OTHER_NAMES.search(label + " " + hint), (label, hint)


def test_every_sentence_is_british_and_spoken():
    found = []
    for sentence in templates():
        found += [sentence for what in (AMERICAN, BOOKISH) if what.search(sentence)]
    assert not found


def test_no_sentence_speaks_of_bias_or_standard_uncertainty():
    """How sure a figure is stands as ± with its level; how far a bar cuts off its setting is the bar's error."""
    assert not [s for s in templates() if re.search(r"\bbias\b(?!})|[Ss]tandard uncertaint|\bdoubt\b(?!})", s)]


#: The faces there are besides the deck: of a ring, the base, the head, the tip, and a shield.
OTHER_FACES = re.compile(
    r"[Rr]ing'?s?'? face|[Ff]ace of the (top )?ring|face of this kind|with this face|(base's|head's|outer) face|"
    r"its face dressed|face of the tip|face shield|\{face\}"
)


def test_one_name_for_one_thing():
    """The block's face is the deck, the hole in a gasket is its bore, and what is undone, deleted and imported says so."""
    left = [(s, OTHER_FACES.sub("", s)) for s in templates()]
    other = r"\b[Ff]aces?\b|[Gg]asket('s)? hole|[Gg]asket's bore|[Ww]all(-thickness)? gauge|[Rr]ub out|[Tt]ake(n|s)? back\b|[Uu]ntitled"
    assert not [s for s, rest in left if re.search(other, rest)]
    assert not [s for s in templates() if re.search(r"\banew\b|counts for nothing|\bto be had\b", s)]


@pytest.mark.parametrize("length", ["in", "mm"])
def test_the_ends_told_of_a_field_may_be_typed_in_it(length):
    """Of every number asked for anywhere: the figures in "Expected a number from … to …" lie within its limits."""
    for f in declared().values():
        if getattr(f, "low", None) is None and getattr(f, "high", None) is None:
            continue
        s = shown(f.kind, Style(length=length))
        for end, low in ((f.low, True), (f.high, False)):
            if end is None:
                continue
            told = Bound(end, f.kind, low=low).said(Style(length=length)).replace("\u202f", " ").replace("−", "-")
            number = float(told.split(" ")[0].rstrip("°"))
            value = (number - s.offset) / s.scale
            assert value >= end - 1e-9 if low else value <= end + 1e-9, (f.key, told)
            assert value == pytest.approx(end, rel=0.011, abs=1e-9), (f.key, told)
