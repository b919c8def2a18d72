"""A gettext catalogue as people edit it (``.po``) made into the one that machines read (``.mo``).

The offline build and a packaged install hold the ``.mo``. Run from the source there is
none, so that none is ever stale, and the ``.po`` is compiled in memory when its language
is first asked for. Formats: the GNU gettext manual, "The Format of PO Files" and "The
Format of GNU MO Files".
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterator

__all__ = ["PoError", "compiled", "messages"]

_LINE = re.compile(r'(?:(msgctxt|msgid|msgid_plural|msgstr|msgstr\[\d\]) )?"((?:[^"\\]|\\.)*)"$')
_GAP = re.compile(r"\n\s*\n")
_FUZZY = re.compile(r"^#,.*\bfuzzy\b", re.MULTILINE)
_ESCAPE = re.compile(r"\\(.)")
_MEANT = {"n": "\n", "t": "\t", "r": "\r", '"': '"', "\\": "\\"}
_MAGIC = 0x950412DE


class PoError(ValueError):
    """Text that is not a catalogue's; the message says which."""


def _fields(block: str) -> dict[str, str]:
    """One entry's strings by keyword."""
    fields: dict[str, str] = {}
    name = ""
    for line in block.strip().split("\n"):
        if line.startswith("#"):
            continue
        found = _LINE.match(line)
        if found is None or found[1] in fields or not (found[1] or name):
            raise PoError(f"not a line of a catalogue: {line[:80]}")
        name = found[1] or name
        fields[name] = fields.get(name, "") + _ESCAPE.sub(lambda mark: _MEANT.get(mark[1], mark[0]), found[2])
    return fields


def _entries(text: str) -> Iterator[dict[str, str]]:
    """Each entry's fields. Fuzzy and obsolete entries are left out, as ``msgfmt`` does."""
    for block in _GAP.split(text):
        if fields := {} if _FUZZY.search(block) else _fields(block):
            yield fields


def messages(text: str) -> dict[str, str]:
    """What a ``.mo`` holds: context, sentence and plural sentence joined -> every form, joined.

    A sentence not translated yet is left out, so that its English is shown. Raises
    :class:`PoError` for text that is not a catalogue's and for a sentence entered twice.
    """
    held: dict[str, str] = {}
    for block in _entries(text):
        key = block["msgid"]
        if "msgctxt" in block:
            key = block["msgctxt"] + "\x04" + key
        if "msgid_plural" in block:
            key += "\x00" + block["msgid_plural"]
            forms = [block[name] for name in sorted(block) if name.startswith("msgstr[")]
        else:
            forms = [block["msgstr"]]
        if key in held:
            raise PoError(f"entered twice: {key[:80]}")
        if all(forms):
            held[key] = "\x00".join(forms)
    return held


def compiled(text: str) -> bytes:
    """The ``.mo`` of a ``.po``'s text; the same bytes for the same entries. Raises as :func:`messages` does."""
    rows = sorted((key.encode(), said.encode()) for key, said in messages(text).items())
    count, head = len(rows), 7 * 4
    at = head + 16 * count
    tables, bodies = [], []
    for column in (0, 1):
        for row in rows:
            tables += [len(row[column]), at]
            bodies.append(row[column] + b"\x00")
            at += len(row[column]) + 1
    start = struct.pack("<7I", _MAGIC, 0, count, head, head + 8 * count, 0, head + 16 * count)
    return start + struct.pack(f"<{len(tables)}I", *tables) + b"".join(bodies)
