"""A coverage-guided search for a file that breaks the import, for as long as asked.

    pip install atheris
    python -m tests.bench.fuzz_import --seconds 60

A file must be taken or refused with a sentence: any other exception, more than 10 s or
more than the memory allowed ends the search and leaves the file that did it. What is
taken must come out of an export again. Every second try has its checksums made right
first, so that the search gets past them.
"""

from __future__ import annotations

import argparse
import copy
import json
import random
import sys
import tempfile
from pathlib import Path
from typing import Any

import atheris

with atheris.instrument_imports(include=["store", "logic"]):
    from logic.fields import Choice, Number, Select
    from logic.say import L
    from store.clock import ms_of
    from store.errors import Refused
    from store.form import canonical, checksum, data_of
    from store.merge import conflicts, merge
    from store.table import table
    from store.transfer import Limits, examine, write
    from store.view import View

NOW = 1_700_000_000_000
FIELDS = {
    "trial.reading": Number(key="trial.reading", label=L("Size"), kind="size", help=L("A trial."), low=20, high=200),
    "trial.kind": Select(key="trial.kind", label=L("Kind"), help=L("A trial."), choices=(Choice("one", L("One")),)),
}
LIMITS = Limits(file_bytes=2_000_000, part_chars=1_000_000, entries=2_000)
COUNTS = {"tried": 0, "taken": 0}


def resealed(data: bytes) -> bytes:
    """The file with its checksums made right, where it can be read that far."""
    try:
        made = json.loads(data)
        for part in made["documents"]:
            part["sha256"] = checksum(canonical(part["document"]))
        sums = [str(made["made"]), str(made["device"]), *(p["sha256"] for p in made["documents"])]
        sums += [p["digest"] for p in made.get("photos", [])]
        made["sha256"], made["count"] = checksum("".join(s + "\n" for s in sums)), len(made["documents"])
        return json.dumps(made).encode()
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError):
        return data


def attempt(data: bytes) -> None:
    """One file, all the way."""
    COUNTS["tried"] += 1
    if COUNTS["tried"] % 20_000 == 0:
        print(f"{COUNTS['taken']} of {COUNTS['tried']} files were taken", flush=True)
    if data[:1] == b"\x01":
        data = resealed(data[1:])
    try:
        coming = examine(data, now_ms=NOW, fields=FIELDS, limits=LIMITS, whole_parts=data[-1:] == b"\x02")
    except Refused as refused:
        assert str(refused) and refused.code
        return
    COUNTS["taken"] += 1
    for line in coming.notices:
        assert str(line)
    documents: dict[str, Any] = {}
    for document in coming.documents():
        held = documents.get(document.id)
        documents[document.id] = document if held is None else merge(held, document)
        assert merge(document, document) == document
        list(View(document).live())
        conflicts(document)
    table(documents.values(), FIELDS)
    again = examine(write(documents.values(), device="devicea0", made_ms=NOW), now_ms=NOW, fields=FIELDS)
    assert [canonical(data_of(d)) for d in again.documents()] == [
        canonical(data_of(documents[k])) for k in sorted(documents)
    ]
    assert all(ms_of(e.stamp) >= 0 for d in documents.values() for e in d.entries)


ODD: tuple[Any, ...] = (
    *(
        None,
        True,
        0,
        -1,
        1,
        10**9,
        10**19,
        0.5,
        -1e9,
        1e300,
        "",
        "x",
        "mm",
        "in",
        "\ud800",
        "thrust",
        [],
        {},
        [[]],
        "job",
        "card",
    ),
    *("reading", "chosen", "trial.reading", "trial.kind", "one", "entry000", "9999999999999-99999-devicea0"),
)


def nodes(data: Any) -> list[tuple[Any, Any]]:
    """Every place in some JSON data, as (what it is in, under which key)."""
    found = []
    if isinstance(data, (dict, list)):
        for key, value in list(data.items() if isinstance(data, dict) else enumerate(data)):
            found += [(data, key), *nodes(value)]
    return found


def mutate(data: bytes, most: int, seed: int) -> bytes:
    """Another file like this one: usually still JSON, with something in it moved, lost or replaced."""
    choice = random.Random(seed)
    lead = b"\x01" if data[:1] == b"\x01" else b""
    try:
        made = json.loads(data[len(lead) :])
    except (ValueError, RecursionError):
        made = None
    if not isinstance(made, dict) or choice.random() < 0.2:
        return atheris.Mutate(data, most)
    for _ in range(choice.randint(1, 4)):
        places = nodes(made)
        if not places:
            break
        inside, key = choice.choice(places)
        act = choice.random()
        if act < 0.25:
            del inside[key]
        elif act < 0.6:
            inside[key] = choice.choice(ODD)
        elif act < 0.8:
            other, there = choice.choice(places)
            if not (isinstance(other, list) and there >= len(other)) and not (
                isinstance(other, dict) and there not in other
            ):
                inside[key] = copy.deepcopy(other[there])
        elif isinstance(inside, list):
            inside.append(copy.deepcopy(inside[key]))
        else:
            inside[choice.choice(("x", "at", "over", "earlier", "replaces", "typed", "stamp"))] = copy.deepcopy(
                inside[key]
            )
    return (lead or choice.choice((b"", b"\x01"))) + json.dumps(made).encode()[: most - 1]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--memory", type=int, default=1500, help="MB")
    asked = parser.parse_args()
    samples = Path(__file__).parents[1] / "store" / "samples"
    with tempfile.TemporaryDirectory() as corpus:
        words = Path(corpus) / "words.txt"
        seeds = Path(corpus) / "seeds"
        seeds.mkdir()
        for number, sample in enumerate(sorted(samples.glob("*-export.json"))):
            (seeds / f"raw{number}").write_bytes(sample.read_bytes())
            (seeds / f"sealed{number}").write_bytes(b"\x01" + sample.read_bytes())
            short = json.loads(sample.read_bytes())
            for entry in short["documents"][0]["document"]["entries"]:
                one = json.loads(sample.read_bytes())
                one["documents"][0]["document"]["entries"] = [entry]
                one["documents"][0]["document"].pop("earlier", None)
                (seeds / f"one{number}{entry['kind']}").write_bytes(b"\x01" + json.dumps(one).encode())
        tokens = [
            '"entries":[',
            '"header":{',
            '"earlier":{',
            '"kind":"chosen"',
            '"replaces":',
            '"at":{"cylinder":',
            "1e999",
            "null",
            "true",
        ]
        words.write_text("".join('"' + t.replace("\\", "\\\\").replace('"', '\\"') + '"\n' for t in tokens))
        flags = [
            f"-max_total_time={asked.seconds}",
            f"-rss_limit_mb={asked.memory}",
            "-timeout=10",
            "-max_len=20000",
            f"-dict={words}",
        ]
        atheris.Setup([sys.argv[0], *flags, str(seeds)], attempt, custom_mutator=mutate)
        print(f"searching for {asked.seconds} s", flush=True)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
