"""Whatever a person enters is used: some step says something else, or the field says why it does not.

Each field of each step, and of each kit card, is changed over its range in whole believable
jobs. What is looked at is everything a step says with the doubts that hold it back: figures,
verdicts, confidences, sentences, cautions.
"""

from __future__ import annotations

import random

import pytest

from store import cards
from store.flow import work_of
from store.sheets import all_sheets
from store.sheets.walls import SHEET as _WALLS  # noqa: F401

from .making import filled, value_for

SEEDS = (1, 2, 3, 5, 8, 13)


def said(view):
    return {s.key: repr(work_of(view, s)) for s in all_sheets()}


def changes(f, rng, nominal):
    if f.kind == "choice":
        return [c.value for c in f.choices]
    if f.kind == "text":
        return ["A", "another"]
    near = [value_for(rng, f, nominal, True) for _ in range(2)]
    return [*near, f.low, f.high]
