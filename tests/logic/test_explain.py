"""Every figure explains itself: two sentences, a formula unless it is read or typed in, and a source."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from logic.explain import Meaning, meaning, table
from logic.result import Figure, source_said
from logic.teardown import liners
from store.sheets import all_sheets
from store.view import View
from tests import sample

ROOT = Path(__file__).parents[2]
#: Sources of figures that nothing was calculated for.
GIVEN = {"measured", "entered", "kit card", "common practice", "from memory"}


def figures_of_the_demo() -> list[tuple[str, Figure]]:
    documents = sample.documents()
    cards = {d.id: View(d) for d in documents if d.type == "card"}
    found = []
    for job in documents:
        if job.type == "job":
            view = View(job, cards)
            found += [(r.key, f) for sheet in all_sheets() for r in sheet.work(view).results for f in r.figures]
    assert len(found) > 300
    return found


def written() -> set[str]:
    """The key of every figure that the calculations make, where it is written out: ``Figure("wear", …)``."""
    keys = set()
    for path in sorted((ROOT / "logic").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            named = isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Figure" and node.args
            if named and isinstance(node.args[0], ast.Constant):
                keys.add(node.args[0].value)
    return keys


def test_every_figure_of_the_demo_is_explained() -> None:
    bare = {(key, f.key) for key, f in figures_of_the_demo() if meaning(key, f.key) is None}
    assert not bare, sorted(bare)


def test_every_figure_written_in_the_calculations_is_explained_somewhere() -> None:
    known = {row.split("/")[1] for row in table()}
    bare = {key for key in written() if re.sub(r"(?<=[a-z])\d+$", "", key) not in known}
    assert not bare, sorted(bare)


def test_what_only_wet_liners_show_is_explained() -> None:
    """The sample has no wet liners."""
    judged = liners({1: 0.02, 2: 0.03}, low_mm=0.01, high_mm=0.05)
    assert len(judged.figures) == 4 and all(meaning(judged.key, f.key) for f in judged.figures)


@pytest.mark.parametrize("row", sorted(table()))
def test_an_explanation_is_two_sentences_a_formula_and_a_source(row: str) -> None:
    m: Meaning = table()[row]
    said = m.help.template
    assert said.endswith(".") and len(re.findall(r"[.?](?:\s|$)", said)) == 2, said
    assert 40 <= len(said) <= 260, said
    assert m.source
    assert m.formula or m.source in GIVEN, "a figure that is calculated has a formula"
    if m.source.islower() and " " in m.source:
        assert source_said(m.source) is not m.source or m.source in GIVEN, (
            "an everyday source is said in the person's language"
        )


def test_places_in_the_keys_do_not_matter() -> None:
    assert meaning("bore.1", "wear") is meaning("bore.12", "wear") is not None
    assert meaning("sweep", "wall.0") is meaning("sweep", "wall.3") is not None
    assert meaning("clamp.hold.centred", "grip") is meaning("clamp.hold", "grip") is not None
    assert meaning("bore.1", "no such figure") is None
