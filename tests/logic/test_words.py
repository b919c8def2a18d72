"""Every sentence exists in every language, with the same gaps and every plural form."""

import gettext
import io
import re
import shutil
import subprocess
import sys

import pytest

from logic import cards, drawing, sleeve, words
from logic.result import source_said
from logic.say import KINDS, LN, L, Line, Qty, Style, figure, say
from logic.words.po import PoError, compiled, messages
from tests.bench.words import OTHERS, PLACE, forms, in_step, key, read, untranslated, wanted
from tests.lines import gaps, templates

GERMAN = Style("mm", "C", "de")


@pytest.fixture(scope="module")
def written():
    return templates()


@pytest.fixture(scope="module", params=OTHERS)
def code(request):
    return request.param


@pytest.fixture(scope="module")
def po(code):
    return read(code)


def said(entry):
    return list(entry.msgstr_plural.values()) if entry.msgid_plural else [entry.msgstr]


def test_every_sentence_is_translated(po):
    held = {key(entry) for entry in po if not untranslated(entry)}
    missing = [at for at in wanted() if at not in held]
    assert not missing, f"{len(missing)} missing, see python -m tests.bench.words: {missing[:5]}"


def test_no_translation_outlives_its_sentence(po):
    held = wanted()
    assert not [key(entry) for entry in po if key(entry) not in held]


def test_the_catalogue_is_as_the_command_writes_it(code):
    """Sorted, one line for each string: two people's additions do not meet."""
    assert str(in_step(read(code), wanted())) == (PLACE / f"{code}.po").read_text(encoding="utf-8")


def test_a_translation_has_the_same_gaps(po):
    """Only the form for one may leave a gap out: "one entry"."""
    wrong = []
    for entry in po:
        asked = gaps(entry.msgid) | gaps(entry.msgid_plural)
        wrong += [(entry.msgid, form) for form in said(entry)[1:] or said(entry) if gaps(form) != asked]
        wrong += [(entry.msgid, form) for form in said(entry)[:1] if not gaps(form) <= asked]
    assert not wrong, wrong


def test_nothing_is_fuzzy_or_obsolete(po):
    assert not po.fuzzy_entries() and not po.obsolete_entries()


def test_what_counts_has_every_form(po, written):
    count = forms(po)
    for entry in po:
        assert (entry.msgid_plural or None) == (written[entry.msgid].plural if not entry.msgctxt else None)
        if entry.msgid_plural:
            assert sorted(entry.msgstr_plural) == list(range(count)), entry.msgid


@pytest.mark.skipif(not shutil.which("msgfmt"), reason="GNU gettext is not installed here")
def test_msgfmt_takes_the_catalogue(code, tmp_path):
    """The GNU tool's own check of the head, of the forms and of sentences entered twice."""
    command = ["msgfmt", "--check-header", "--check-domain", "-o", str(tmp_path / "x.mo"), str(PLACE / f"{code}.po")]
    done = subprocess.run(command, check=False, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_our_mo_says_what_polibs_says(code, po):
    """Two makers of a .mo, read by the standard library, hold the same."""
    ours = gettext.GNUTranslations(io.BytesIO(compiled((PLACE / f"{code}.po").read_text(encoding="utf-8"))))
    theirs = gettext.GNUTranslations(io.BytesIO(po.to_binary()))
    assert ours.info() == theirs.info()
    for entry in po:
        for n in (0, 1, 2, 5, 21):
            assert ours.ngettext(entry.msgid, entry.msgid_plural, n) == theirs.ngettext(
                entry.msgid, entry.msgid_plural, n
            )
        assert ours.gettext(entry.msgid) == theirs.gettext(entry.msgid)


def test_what_is_read_when_asked_for_is_what_gettext_reads_at_once(code):
    """Every sentence, form and unit, and some that no catalogue has; and the head with the plural's rule."""
    whole = gettext.GNUTranslations(io.BytesIO(compiled((PLACE / f"{code}.po").read_text(encoding="utf-8"))))
    ours = words.catalogue(code)
    assert ours.info() == whole.info() and ours.charset() == whole.charset()
    assert dict(ours._catalog) == whole._catalog and len(ours._catalog) == len(whole._catalog)
    for at in (*whole._catalog, "", "a", "zzz", "\uffff", ("", 0), ("{n} entry", 7)):
        assert ours._catalog.get(at) == whole._catalog.get(at), at
    for n in (0, 1, 2, 5):
        assert ours.ngettext("{n} such", "{n} suches", n) == whole.ngettext("{n} such", "{n} suches", n)


def test_a_catalogue_is_not_read_through_to_say_one_sentence(monkeypatch):
    """Opening German and saying one sentence looks at few of its entries."""
    looked = []
    string = words._Rows._string
    monkeypatch.setattr(words._Rows, "_string", lambda rows, *at: looked.append(at) or string(rows, *at))
    table = words._Catalogue(words._Held(words._mo("de")))
    assert table.gettext("Cylinder") == "Zylinder"
    assert len(looked) < 60 < table._catalog._count


HEAD = 'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=UTF-8\\n"\n"Plural-Forms: {}\\n"\n\n'


@pytest.mark.parametrize(
    ("rule", "chosen"),
    [
        # the forms' order and rules as the GNU gettext manual, "Plural forms", gives them
        ("nplurals=1; plural=0;", {0: 0, 1: 0, 2: 0, 5: 0, 21: 0}),
        ("nplurals=2; plural=(n > 1);", {0: 0, 1: 0, 2: 1, 5: 1, 21: 1}),
        (
            "nplurals=3; plural=(n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2);",
            {0: 2, 1: 0, 2: 1, 5: 2, 21: 2, 22: 1, 112: 2},
        ),
    ],
)
def test_the_languages_own_rule_chooses(monkeypatch, rule, chosen):
    count = int(rule[9])
    text = HEAD.format(rule) + 'msgid "{n} bore"\nmsgid_plural "{n} bores"\n'
    text += "".join(f'msgstr[{i}] "form {i}: {{n}}"\n' for i in range(count))
    table = gettext.GNUTranslations(io.BytesIO(compiled(text)))
    monkeypatch.setattr(words, "catalogue", lambda language: table)
    for n, form in chosen.items():
        assert say(LN("{n} bore", "{n} bores", n), Style(language="xx")) == f"form {form}: {n}"


def test_a_catalogue_that_is_damaged_is_refused():
    good = 'msgid "a"\nmsgstr "b"\n'
    assert messages(good) == {"a": "b"}
    assert messages("#, fuzzy\n" + good) == messages('#~ msgid "a"\n#~ msgstr "b"\n') == {}
    assert messages('msgid ""\n"two "\n"parts"\nmsgstr "say \\"\\\\\\n\\""\n') == {"two parts": 'say "\\\n"'}
    assert messages('msgctxt "unit"\nmsgid "a"\nmsgstr "b"\n') == {"unit\x04a": "b"}
    for bad in ("msgid a", '"a"', good + "\n" + good, good + 'msgid "a"\n', 'msgid "a\nmsgstr "b"', "msgstr"):
        with pytest.raises(PoError):
            messages(bad)


def test_one_sentence_has_one_plural(tmp_path, monkeypatch):
    (tmp_path / "logic").mkdir()
    (tmp_path / "logic" / "a.py").write_text('LN("{n} a", "{n} as", 1)\nL("{n} a")\nL("b" if x else "c")\n')
    monkeypatch.setattr("tests.lines.ROOT", tmp_path)
    assert {text: found.plural for text, found in templates().items()} == {"{n} a": "{n} as", "b": None, "c": None}
    (tmp_path / "logic" / "b.py").write_text('LN("{n} a", "{n} others", 1)\n')
    with pytest.raises(ValueError, match="two plurals"):
        templates()


def test_a_translation_is_not_the_english_left_as_it_was(po):
    """A long sentence that is the same in both languages was forgotten."""
    same = [
        entry.msgid
        for entry in po
        if entry.msgid in said(entry) and len(entry.msgid.split()) > 3 and not entry.msgid.startswith("{")
    ]
    assert not same, same


def test_a_translation_says_something_and_ends_as_the_english_does(po):
    for entry in po:
        for form in said(entry):
            assert form.strip() == form and form, entry.msgid
            assert entry.msgid.endswith((".", "?", "!")) == form.endswith((".", "?", "!")), (entry.msgid, form)


def test_every_sentence_is_found_where_it_is_written(written):
    """The search itself: sentences of several files, joined literals as one."""
    assert written["Set the micrometer to {reading} to bore {wanted}."].where.startswith("logic/setting.py:")
    assert any(found.where.startswith("store/sheets/") for found in written.values())
    assert any(found.where.startswith("mobile/") for found in written.values())
    assert len(written) > 1500


def test_no_count_stands_before_a_plural_word(written):
    """ "1 entries": a gap that counts, with a plural right behind it, asks for LN. A cylinder's number counts nothing."""
    counts = re.compile(r"(?<!ylinder )(?<!iston )\{(n|count|days|since|done|waves|likely|more)\} [a-z]+s\b")
    wrong = {text: found.where for text, found in written.items() if not found.plural and counts.search(text)}
    assert not wrong, wrong


@pytest.mark.parametrize(
    ("line", "english", "german"),
    [
        (
            lambda: sleeve.none_wanted((2,)).line,
            "No oversize cleans up cylinder 2: mark it for a sleeve.",
            "Kein Übermaß macht Zylinder 2 sauber: für eine Buchse vormerken.",
        ),
        (
            lambda: sleeve.none_wanted((2, 5)).line,
            "No oversize cleans up cylinders 2, 5: mark them for sleeves.",
            "Kein Übermaß macht die Zylinder 2, 5 sauber: für Buchsen vormerken.",
        ),
        (
            lambda: cards.due("k", "Gauge", 400, 1).assumptions[0].text,
            "A check every day.",
            "Jeden Tag eine Prüfung.",
        ),
        (lambda: cards.due("k", "Gauge", 1, 30).line, "Gauge was checked 1 day ago; due in 29.", None),
        (lambda: drawing._wear(1.0), "Wear drawn to scale", "Verschleiß maßstäblich gezeichnet"),
        (lambda: drawing._wear(250.0), "Wear enlarged 250 times", "Verschleiß 250-fach vergrößert"),
    ],
)
def test_counts_read_right_in_both_languages(line, english, german):
    assert say(line()) == english
    assert german is None or say(line(), GERMAN) == german


def test_a_sentence_is_said_in_german_with_a_decimal_comma():
    line = L(
        "Set the micrometer to {reading} to bore {wanted}.", reading=Qty(76.9115, "size"), wanted=Qty(76.9238, "size")
    )
    said = say(line, GERMAN).replace("\u202f", " ")
    assert said == "Messschraube auf 76,912 mm stellen, um 76,924 mm zu bohren."


def test_a_line_inside_a_line_is_translated_too():
    line = L(
        "The largest cut is {top} on diameter, set by {limit}.", top=Qty(0.762, "diff"), limit=L("the motor's power")
    )
    assert "begrenzt durch die Motorleistung" in say(line, GERMAN)


def test_a_language_that_is_not_here_falls_back_to_english():
    assert say(L("Bored size"), Style(language="xx")) == "Bored size"
    assert [say(LN("{n} bore", "{n} bores", n), Style(language="xx")) for n in (0, 1, 2)] == [
        "0 bores",
        "1 bore",
        "2 bores",
    ]


def test_a_sentence_not_translated_yet_is_said_in_english():
    assert say(L("Not in any catalogue."), GERMAN) == "Not in any catalogue."
    assert say(LN("{n} thing not there", "{n} things not there", 3), GERMAN) == "3 things not there"
    assert say(L(""), GERMAN) == ""


def test_lines_are_the_same_by_value():
    assert LN("{n} bore", "{n} bores", 2) == LN("{n} bore", "{n} bores", 2) != LN("{n} bore", "{n} bores", 1)
    assert hash(LN("{n} bore", "{n} bores", 2)) == hash(LN("{n} bore", "{n} bores", 2))
    assert L("{n} bore", n=1) == Line("{n} bore", {"n": 1}) != LN("{n} bore", "{n} bores", 1)


def test_the_count_may_be_another_than_the_gap():
    line = LN("Cylinder {n} is out.", "Cylinders {n} are out.", 2, n=(3, 5))
    assert say(line) == "Cylinders 3, 5 are out."


def test_english_loads_no_catalogue():
    program = (
        "import sys; from logic.say import *; say(LN('{n} bore', '{n} bores', 2)); figure(Qty(300, 'spin'));"
        "assert 'logic.words' not in sys.modules and 'gettext' not in sys.modules"
    )
    subprocess.run([sys.executable, "-S", "-c", program], check=True, cwd=PLACE.parents[1])


def test_a_unit_reads_as_it_does_there():
    assert figure(Qty(300, "spin"), GERMAN) == "300\u202fU/min"
    assert figure(Qty(300, "spin"), Style("mm")) == "300\u202frev/min"
    assert figure(Qty(185, "duration"), GERMAN) == "3 min 05 s" and figure(Qty(45, "duration"), GERMAN) == "45 s"
    assert {shown.unit for kind in KINDS.values() for shown in (kind.inch, kind.metric)} >= {"rev/min", "mm/rev"}


def test_everyday_sources_are_said_and_standards_keep_their_names():
    assert say(source_said("common practice"), GERMAN) == "üblich"
    assert say(source_said("ISO 1"), GERMAN) == "ISO 1"
