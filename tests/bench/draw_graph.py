"""Draws the graph of facts into DEVELOPERS.md, as it was recorded on the demo job and on jobs made up at random.

One line for each fact: the facts it asks, then the fields it reads itself, header fields
("job: nominal") and what else of the log. "…": nothing but its arguments.

    python -m tests.bench.draw_graph          # writes
    python -m tests.bench.draw_graph --check  # exit code 1 where DEVELOPERS.md is behind
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from functools import cache
from pathlib import Path

from store.flow import step_work, work_of
from store.graph import Fact
from store.sheets import all_sheets
from store.view import View
from tests import sample
from tests.store.making import filled

FILE = Path(__file__).parents[2] / "DEVELOPERS.md"
BEGIN, END = "<!-- graph of facts: begin -->", "<!-- graph of facts: end -->"
#: Seeds of the jobs made up, each believable and nearly full, and how full.
JOBS = tuple((seed, density) for seed in range(600, 610) for density in (0.9, 1.0))


def views() -> Iterable[View]:
    """The jobs that the graph is recorded on, and their cards."""
    documents = sample.documents()
    kit = {d.id: View(d) for d in documents if d.type == "card"}
    yield from (View(d, kit) for d in documents if d.type == "job")
    yield from (filled(seed, density, True).view() for seed, density in JOBS)


@cache
def recorded() -> dict[str, tuple[set[str], set[str]]]:
    """For each fact, by name, the facts and the fields it has asked for."""
    steps = {s.work: f"step {s.key}" for s in all_sheets()}
    out: dict[str, tuple[set[str], set[str]]] = {}

    def name(key: tuple[object, ...]) -> str:
        asked = key[0]
        assert isinstance(asked, Fact)
        return steps[key[1]] if asked is step_work else asked.name

    for view in views():
        for s in all_sheets():
            work_of(view, s)
        for source in (view, *view.cards.values()):
            for (found, args), (_, record) in source.facts_kept().items():
                facts, fields = out.setdefault(name((found, *args)), (set(), set()))
                for line in record:
                    if line.slot is None:
                        facts.add(name(line.question))
                    else:
                        fields.add(_field(line.slot))
    return out


def _field(slot: tuple[object, ...]) -> str:
    kind = str(slot[0])
    if kind in ("at", "all") or (kind == "header" and "." in str(slot[1])):
        return str(slot[1])  # a kit card may hold a field's value in its header
    return f"job: {slot[1]}" if kind == "header" else "" if kind == "card" else f"log: {kind}"


def _short(fields: Iterable[str]) -> str:
    """Fields by their first word: "bore: axes, depth"."""
    by_word: dict[str, list[str]] = {}
    for field in sorted(f for f in fields if f):
        word, rest = field.split(": ", 1) if ": " in field else field.split(".", 1)
        by_word.setdefault(word, []).append(rest)
    return "; ".join(f"{word}: {', '.join(rest)}" for word, rest in by_word.items())


def drawn() -> str:
    """The graph as text: steps first in the order of the work, then the facts by name."""
    graph = recorded()
    order = [f"step {s.key}" for s in all_sheets()]
    lines = []
    for name in (*order, *sorted(set(graph) - set(order))):
        facts, fields = graph[name]
        parts = (", ".join(sorted(facts)), f"[{_short(fields)}]" if any(fields) else "")
        lines.append(f"{name} <- {' '.join(p for p in parts if p) or '…'}")
    return "\n".join(("```text", *lines, "```"))


def main() -> int:
    """Write the graph into the file, or with ``--check`` see whether it is there."""
    text = FILE.read_text("utf-8")
    before, rest = text.split(BEGIN)
    _, after = rest.split(END)
    new = f"{before}{BEGIN}\n{drawn()}\n{END}{after}"
    if "--check" in sys.argv:
        return int(new != text)
    FILE.write_text(new, "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
