"""Lines of text in any script: what is read as one letter, which way it runs, and where a long word is cut."""

from __future__ import annotations

import unicodedata

from .typeface import Typeface

__all__ = ["clusters", "cut", "laid"]

#: Letters that run to the left (Unicode Standard Annex 9, table 4).
_LEFTWARD = ("R", "AL")
#: Joins the signs of one emoji, and letters of some scripts (zero width joiner).
_JOINER = chr(0x200D)


def clusters(word: str) -> list[str]:
    """What is read as one letter each: marks, joined signs and skin tones stay with the letter before them."""
    out: list[list[str]] = []
    for letter in word:
        joined = (
            unicodedata.category(letter) in ("Mn", "Me", "Mc") or letter == _JOINER or 0x1F3FB <= ord(letter) <= 0x1F3FF
        )
        if out and (joined or out[-1][-1] == _JOINER):
            out[-1].append(letter)
        else:
            out.append([letter])
    return ["".join(cluster) for cluster in out]


def laid(line: str) -> str:
    """A line as it is laid from left to right: what runs to the left turned round, numbers in it as they are.

    The Unicode Bidirectional Algorithm (Unicode Standard Annex 9) for a line that runs to
    the right as a whole and has nothing nested in it but numbers (rules N1, I1 and L2).
    """
    kinds = [unicodedata.bidirectional(letter) for letter in line]
    if not any(kind in _LEFTWARD for kind in kinds):
        return line
    out, at = [], 0
    while at < len(line):
        if kinds[at] not in _LEFTWARD:
            out.append(line[at])
            at += 1
            continue
        stop = at
        while stop < len(line) and kinds[stop] != "L":
            stop += 1
        while kinds[stop - 1] not in (*_LEFTWARD, "NSM"):
            stop -= 1
        out += _turned(line[at:stop])
        at = stop
    return "".join(out)


def _turned(run: str) -> list[str]:
    """Letters that run to the left, the last first; the digits of a number stay in their order."""
    parts: list[str] = []
    for cluster in clusters(run):
        number = unicodedata.bidirectional(cluster[0]) in ("EN", "AN")
        if number and parts and unicodedata.bidirectional(parts[-1][0]) in ("EN", "AN"):
            parts[-1] += cluster
        else:
            parts.append(cluster)
    return parts[::-1]


def cut(word: str, face: Typeface, most: float) -> list[str]:
    """A word in pieces no wider than ``most`` (thousandths of the letter size), in one pass."""
    pieces: list[list[str]] = [[]]
    run = 0.0
    for cluster in clusters(word):
        for part in [cluster] if face.width(cluster) <= most else cluster:
            wide = face.width(part)
            if pieces[-1] and run + wide > most:
                pieces.append([])
                run = 0.0
            pieces[-1].append(part)
            run += wide
    return ["".join(piece) for piece in pieces]
