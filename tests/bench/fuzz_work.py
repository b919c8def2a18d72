"""Valid but odd jobs by the ten thousand: every step's work, the flow and the report of each must come to an end.

    python -m tests.bench.fuzz_work --jobs 100000 --seed 1

Each is a believable job or a wild one (tests/bench/random_jobs.py) with some of its
entries, its header and its kit cards changed into other valid ones: figures at and
beyond their limits, other choices, other places, cleared headers, cards of another
role. What the store's own forms refuse is not tried. A step or a part of the report
that breaks off is isolated in the app; here it counts as a fault (:class:`store.errors.Broken`
is an error) and ends the run with the job that did it, unless --keep-on lists them all.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
import traceback
import warnings
from collections import Counter
from typing import Any

from pydantic import TypeAdapter, ValidationError

from logic.fields import Field
from logic.say import Style
from store import cards
from store.documents import Chosen, Document, Entry, Reading, Stamped, Typed, header_fits
from store.errors import Broken
from store.fields import declared
from store.flow import flow, ripple, timeline, work_of
from store.report import html_report, pdf_report
from store.sheets import all_sheets
from store.transfer import examine
from store.view import View

from .random_jobs import export

ENTRY: TypeAdapter[Any] = TypeAdapter(Entry)
FIGURES = (
    0.0,
    -0.0,
    1.0,
    -1.0,
    0.5,
    2.0,
    3.0,
    1e-9,
    -1e-9,
    1e-3,
    10.0,
    45.0,
    90.0,
    180.0,
    270.0,
    360.0,
    361.0,
    -90.0,
    1e3,
    1e6,
    -1e6,
    1e9,
    -1e9,
)
WORDS = (
    "",
    " ",
    "x",
    "0",
    "1",
    "-1",
    "nan",
    "thrust",
    "along",
    "none",
    "other",
    "\u0645\u0631\u062d\u0628\u0627",
    "\U0001f527",
    "w" * 200,
    "\x1b[31m",
    "a\nb",
    "<b>",
    "{n}",
    "{",
    "}",
)
SPOTS: tuple[Any, ...] = (0, 1, 2, 3, 5, 32, 33, 9_999, 10_000, -1, "thrust", "along", "x", "")
STYLES = (Style(), Style("mm", "C"), Style("mm", "C", "de"), Style("in", "F"))


def figure(rng: random.Random, field: Field | None, was: float) -> float:
    """Another number for an entry: at, about or far beyond its limits, or a little off what it was."""
    limits = [x for x in ((field.low, field.high) if field else ()) if x is not None]
    return float(
        rng.choice(
            (
                *FIGURES,
                *limits,
                *limits,
                *(x * 1.0000001 for x in limits),
                was * 1.001,
                -was,
                was * 2,
                was / 1000,
                was * 25.4,
            )
        )
    )


def put_off(rng: random.Random, entry: Any) -> Any:
    """The entry with something in it changed."""
    data = entry.model_dump()
    field = declared().get(data.get("what", ""))
    act = rng.random()
    if act < 0.55 and isinstance(entry, Reading):
        data["typed"]["value"] = figure(rng, field, entry.typed.value)
    elif act < 0.55 and isinstance(entry, Chosen):
        data["value"] = rng.choice((*WORDS, *(c.value for c in (field.choices if field else ()))))
    elif act < 0.75 and data.get("at"):
        key = rng.choice(sorted(data["at"]))
        data["at"][key] = rng.choice(SPOTS)
        if rng.random() < 0.1:
            del data["at"][key]
    elif act < 0.85 and "typed" in data and data["typed"]:
        data["typed"][rng.choice(("unit", "typed_unit", "text"))] = rng.choice(
            ("mm", "in", "degC", "N*m", "1", "", *WORDS[:6])
        )
    else:
        key = rng.choice(
            [k for k in ("by", "value", "reason", "advised", "text", "caption", "what") if k in data] or ["by"]
        )
        data[key] = rng.choice((*WORDS, *declared()) if key == "what" else WORDS)
    return ENTRY.validate_python(data)


def put_off_header(rng: random.Random, header: dict[str, Stamped], names: list[str]) -> dict[str, Stamped]:
    """The header with one field another, or cleared."""
    key = rng.choice(
        (
            *header,
            "nominal",
            "cylinders",
            "bar",
            "gauge",
            "hone",
            "micrometer",
            "card",
            *rng.sample(sorted(declared()), 2),
        )
    )
    number = rng.choice((*FIGURES, 20.0, 19.99, 500.0, 500.01, 75.0))
    kinds: tuple[Any, ...] = (
        None,
        Typed(text=str(number), typed_unit="mm", value=number, unit=rng.choice(("mm", "mm", "in", "degC", "1"))),
        rng.choice((0, 1, 2, 5, 32, 33, -1, 10**9)),
        rng.choice((*WORDS, *names, "bar", "hone", "gauge", "micrometer", "master", "thickness")),
        True,
    )
    value = rng.choice(kinds)
    stamp = header[key].stamp if key in header else next(iter(header.values())).stamp
    if not header_fits(key, value):
        raise ValueError(key)  # the import refuses it
    return {**header, key: Stamped(value=value, stamp=stamp)}


def mutated(rng: random.Random, document: Document, names: list[str]) -> Document:
    """Another valid document like this one."""
    entries, header = list(document.entries), dict(document.header)
    for _ in range(rng.choice((1, 1, 1, 2, 3, 8))):
        try:
            if header and (not entries or rng.random() < 0.15):
                header = put_off_header(rng, header, names)
                continue
            at = rng.randrange(len(entries))
            act = rng.random()
            if act < 0.12:
                del entries[at]
            elif act < 0.2:
                data = {**entries[at].model_dump(), "id": f"again{rng.randrange(10**9):09d}"}
                entries.append(put_off(rng, ENTRY.validate_python(data)))
            else:
                entries[at] = put_off(rng, entries[at])
        except (ValidationError, ValueError):
            continue
        if not entries:
            break
    return document.model_copy(update={"entries": tuple(entries), "header": header})


def attempt(rng: random.Random, view: View, before: View, *, report: bool) -> None:
    """All that is worked out and told of one job."""
    style = rng.choice(STYLES)
    for sheet in all_sheets():
        work_of(view, sheet)
    flow(view)
    ripple(before, view)
    timeline(view)
    for role, card in ((r, c) for r in cards.ROLES if (c := view.card(r)) is not None):
        cards.sheet(role).work(card)
        cards.due_for(view, role)
    if report:
        html_report(view, style, offset_minutes=rng.choice((0, 60, -720, 840)))
        if rng.random() < 0.1:
            pdf_report(view, style)


def run(jobs: int, seed: int, each: int, share: int, *, keep_on: bool) -> int:
    """Try ``jobs`` of them, ``each`` from one job, with the report of every ``share``; how many broke off."""
    faults: Counter[str] = Counter()
    done, number, began = 0, 0, time.monotonic()
    while done < jobs:
        data, _ = export(seed, number)
        documents = list(examine(data, now_ms=1_900_000_000_000, fields=declared()).documents())
        job = next(d for d in documents if d.type == "job")
        kit = {d.id: d for d in documents if d.type == "card"}
        whole = View(job, {k: View(d) for k, d in kit.items()})
        for turn in range(min(each, jobs - done)):
            rng = random.Random(f"{seed}/{number}/{turn}")
            try:
                other = mutated(rng, job, [*kit, job.id])
                views = {k: View(mutated(rng, d, [*kit]) if rng.random() < 0.3 else d) for k, d in kit.items()}
                view = whole.fork(other.entries, other.header)
                view.cards = views
                attempt(rng, view, whole, report=turn % share == 0)
            except Exception:  # noqa: BLE001  every fault is to be listed
                lines = traceback.format_exc().strip().split("\n")
                where = next(
                    (
                        line.strip()
                        for line in reversed(lines)
                        if 'File "' in line
                        and "/bench/" not in line
                        and "errors.py" not in line
                        and "flow.py" not in line
                    ),
                    "",
                )
                faults[f"{lines[-1][:200]}  {where}"] += 1
                if faults.total() == 1 or not keep_on:
                    print(f"job {seed}/{number}/{turn}:", *lines, sep="\n", flush=True)
                if not keep_on:
                    return 1
            done += 1
            if done % 1000 == 0:
                print(f"{done} jobs in {time.monotonic() - began:.0f} s, {faults.total()} broke off", flush=True)
        number += 1
    for what, count in faults.most_common():
        print(f"{count:6d}  {what}")
    print(f"{done} mutated valid jobs, {faults.total()} broke off, {time.monotonic() - began:.0f} s")
    return faults.total()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--jobs", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--each", type=int, default=50, help="mutations of one job")
    parser.add_argument("--report-every", type=int, default=1, help="make the report of every so many")
    parser.add_argument("--keep-on", action="store_true", help="list every fault rather than stop at the first")
    asked = parser.parse_args()
    with warnings.catch_warnings():
        warnings.simplefilter("error", Broken)
        return 1 if run(asked.jobs, asked.seed, asked.each, asked.report_every, keep_on=asked.keep_on) else 0


if __name__ == "__main__":
    sys.exit(main())
