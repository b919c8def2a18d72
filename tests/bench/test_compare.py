"""The comparison finds what differs, takes what is meant, and its random jobs can be read back in."""

from __future__ import annotations

import copy
import json

from store.transfer import examine

from . import compare, random_jobs

ANSWER = {
    "exit": 0,
    "steps": [
        {
            "step": "bores",
            "done": True,
            "state": "done",
            "missing": [{"field": "bore.reading", "at": {"cylinder": 2}}],
            "results": [
                {"key": "bore.1", "line": "0.072 mm of wear", "value": {"value": 0.072}, "figures": [], "worst": 3.0}
            ],
        }
    ],
}


def found(change, meant=()):
    after = copy.deepcopy(ANSWER)
    change(after)
    groups, met, _ = compare.differences({"j": ANSWER}, {"j": after}, list(meant))
    return groups, met


def test_equal_answers_do_not_differ():
    assert found(lambda a: None) == ({}, {})


def test_a_figure_off_by_a_millionth_is_found_and_by_a_rounding_is_not():
    def off(by):
        def change(a):
            a["steps"][0]["results"][0]["value"]["value"] *= 1 + by

        return change

    assert list(found(off(1e-6))[0]) == [("bores", "results[bore.#].value.value")]
    assert found(off(1e-13))[0] == {}


def test_a_sentence_a_verdict_or_a_lost_result_is_found():
    groups, _ = found(lambda a: a["steps"][0].update(state="open"))
    assert list(groups) == [("bores", "state")]
    groups, _ = found(lambda a: a["steps"][0]["results"].clear())
    assert ("bores", "results[bore.#].line") in groups


def test_what_is_meant_is_taken_only_where_it_was_said():
    meant = compare.Expected("bores", "results[bore.#].line", "the unit is named", after="wear")
    assert found(lambda a: a["steps"][0]["results"][0].update(line="72 µm of wear"), [meant]) == ({}, {meant: 1})
    assert found(lambda a: a["steps"][0]["results"][0].update(line="72 µm"), [meant])[0]


def test_only_what_is_shown():
    assert "worst" not in json.dumps(compare.shown_only(ANSWER)) and "0.072" in json.dumps(compare.shown_only(ANSWER))


def test_the_same_seed_gives_the_same_job_and_the_store_reads_it():
    for number in (0, 5):  # a believable one and a wild one
        data, about = random_jobs.export(7, number)
        assert data == random_jobs.export(7, number)[0]
        incoming = examine(data, now_ms=random_jobs.BEGIN_MS + 10**10)
        job = next(d for d in incoming.documents() if d.id == about["job"])
        assert len(job.entries) == about["entries"] > 5
