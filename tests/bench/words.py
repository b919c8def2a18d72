"""Keep the catalogues in step with the source: ``python -m tests.bench.words [--check] [code …]``.

Enters each new sentence with nothing said for it, drops those that are no longer in the
source, sorts, and lists what is still to be translated. With ``--check`` it changes
nothing. Exits with 1 if anything is missing or out of step.
"""

import sys
from pathlib import Path

import polib

from logic import words
from logic.say import KINDS
from tests.lines import templates

PLACE = Path(words.__file__).parent
OTHERS = [code for code in words.LANGUAGES if code != "en"]


def wanted():
    """(context, sentence) -> the sentence for several, or None: what a catalogue is to hold."""
    labels = {shown.label for kind in KINDS.values() for shown in (kind.inch, kind.metric)} | {"h", "min", "s"}
    units = {(words.UNIT, label): None for label in labels if label}
    return units | {(None, text): found.plural for text, found in templates().items() if text}


def read(code):
    """The ``.po`` of a language, in polib's form; every string stays on one line."""
    return polib.pofile(str(PLACE / f"{code}.po"), wrapwidth=0)


def key(entry):
    return entry.msgctxt, entry.msgid


def forms(po):
    """How many forms a sentence that counts has in this language."""
    return int(po.metadata["Plural-Forms"].split(";")[0].split("=")[1])


def untranslated(entry):
    return not (all(entry.msgstr_plural.values()) if entry.msgid_plural else entry.msgstr)


def blank(context, text, plural, count):
    entry = polib.POEntry(msgctxt=context, msgid=text, msgid_plural=plural or "")
    if plural:
        entry.msgstr_plural = dict.fromkeys(range(count), "")
    return entry


def in_step(po, held):
    """The same catalogue with exactly the entries that are wanted, sorted by context and sentence."""
    known = {key(entry): entry for entry in po}
    po[:] = [
        known[at] if at in known and (known[at].msgid_plural or None) == plural else blank(*at, plural, forms(po))
        for at, plural in held.items()
    ]
    po.sort(key=lambda entry: (entry.msgctxt or "", entry.msgid))
    return po


def main(arguments):
    check = "--check" in arguments
    held, wrong = wanted(), 0
    for code in [a for a in arguments if a != "--check"] or OTHERS:
        path = PLACE / f"{code}.po"
        po = in_step(read(code), held)
        if str(po) != path.read_text(encoding="utf-8"):
            if check:
                wrong += 1
                print(f"{code}\tout of step: run python -m tests.bench.words")
            else:
                po.save(str(path))
        for entry in filter(untranslated, po):
            wrong += 1
            print(f"{code}\t{entry.msgid}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
