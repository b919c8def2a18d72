"""The graph of facts in DEVELOPERS.md is the one the code has. Outside sources: none; it is compared with itself."""

from store.sheets import all_sheets
from tests.bench.draw_graph import FILE, drawn, recorded


def test_the_graph_in_the_text_for_developers_is_the_one_recorded():
    assert drawn() in FILE.read_text("utf-8"), "draw it anew: python -m tests.bench.draw_graph"


def test_it_has_every_step_and_no_fact_rests_on_itself():
    graph = recorded()
    assert {f"step {s.key}" for s in all_sheets()} <= set(graph)
    above: dict[str, set[str]] = {}

    def rests_on(name: str) -> set[str]:
        if name not in above:
            above[name] = set()
            for fact in graph[name][0] - {name}:  # a fact may ask itself about another cylinder
                above[name] |= {fact} | rests_on(fact)
        return above[name]

    assert not [name for name in graph if name in rests_on(name)]


def test_what_must_not_be_overlooked_is_not():
    graph = recorded()
    assert "sizes.target" in graph["sizes.least_wall"][0], "walls are judged at the size the block is bored to"
    assert "sweep.reading" in graph["sweep.swept_readings"][1]
