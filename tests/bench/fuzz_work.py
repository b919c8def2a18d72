"""Valid but odd jobs by the ten thousand: every step's work, the flow and the report of each must come to an end.

    python -m tests.bench.fuzz_work --jobs 100000 --seed 1 --processes 2

Each is a believable job or a wild one (tests/bench/random_jobs.py) with some of its
entries, its header and its kit cards changed into other valid ones: figures at and
beyond their limits, other choices, other places, cleared headers, cards of another
role. Three of four are cut down to one or two cylinders first. Ten such changes come on top of each other, as an app that stays open follows them; then
the job as it was made is taken again. What the store's own forms refuse is not tried. A step or a part of the report
that breaks off is isolated in the app; here it counts as a fault (:class:`store.errors.Broken`
is an error) and ends the run with the job that did it, unless --keep-on lists them all.
It may be run in several sittings: with --log each notes what it has done, and --total adds up.
"""

from __future__ import annotations

import argparse
import gc
import json
import random
import sys
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from itertools import repeat
from pathlib import Path
from typing import Any
from unittest.mock import patch

from pydantic import TypeAdapter, ValidationError

from logic import conformance, placing, risks
from logic.fields import Field
from logic.say import Style
from store import cards
from store.documents import Chosen, Document, Entry, Reading, Stamped, Typed, header_fits, value_of
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
#: After so many changes on top of each other the job is taken as it was made again.
LIFE = 10
STYLES = (Style(), Style("mm", "C"), Style("mm", "C", "de"), Style("in", "F"))


def figure(rng: random.Random, asked: Field | None, was: float) -> float:
    """Another number for an entry: at, about or far beyond its limits, or a little off what it was."""
    limits = [x for x in ((asked.low, asked.high) if asked else ()) if x is not None]
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
    asked = declared().get(data.get("what", ""))
    act = rng.random()
    if act < 0.55 and isinstance(entry, Reading):
        data["typed"]["value"] = figure(rng, asked, entry.typed.value)
    elif act < 0.55 and isinstance(entry, Chosen):
        data["value"] = rng.choice((*WORDS, *(c.value for c in (asked.choices if asked else ()))))
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
    for _ in range(rng.choice((1, 1, 1, 1, 2, 4))):
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
    """All that is worked out of one job, and where it stands; with ``report`` also all that is told of it."""
    style = rng.choice(STYLES)
    for sheet in all_sheets():
        work_of(view, sheet)
    flow(view)
    for role, card in ((r, c) for r in cards.ROLES if (c := view.card(r)) is not None):
        cards.sheet(role).work(card)
        cards.due_for(view, role)
    if report:
        ripple(before, view)
        timeline(view)
        html_report(view, style, annex=True, offset_minutes=rng.choice((0, 60, -720, 840)))
        if rng.random() < 0.1:
            pdf_report(view, style, annex=True)


@dataclass
class Piece:
    """What came of the changes of one job: how many were worked out, how many told in a report, and what broke off."""

    jobs: int = 0
    reports: int = 0
    faults: Counter[str] = field(default_factory=Counter)
    #: The first fault whole: the numbers that make the job again, and where it broke off.
    first: str = ""

    def add(self, other: Piece) -> None:
        self.jobs, self.reports = self.jobs + other.jobs, self.reports + other.reports
        self.faults += other.faults
        self.first = self.first or other.first


def piece(seed: int, number: int, each: int, share: int) -> Piece:
    """Work out ``each`` changes of one job, all from the same parsed one, with the report of every ``share``."""
    with warnings.catch_warnings(), coarsely():
        warnings.simplefilter("error", Broken)
        return _piece(seed, number, each, share)


@contextmanager
def coarsely() -> Iterator[None]:
    """Sums over few possible bores, misses and sizes: the same code in a tenth of the time, for no figure is looked at here."""
    few, misses = conformance._chances, placing.standard_misses()[::8]

    def chances(parts: Any, limits: Any, points: int) -> Any:
        return few(parts, limits, min(points, 40))

    with (
        patch.object(conformance, "_chances", chances),
        patch.object(placing, "standard_misses", lambda: misses),
        patch.object(risks, "_STEPS", 40),
    ):
        yield


def changed_cards(rng: random.Random, kit: Mapping[str, View], ids: list[str]) -> dict[str, View]:
    """The kit cards, one of them changed: what rests on the others need not be worked out again."""
    if not kit:
        return {}
    id = rng.choice(sorted(kit))
    return {**kit, id: View(mutated(rng, kit[id].document, ids))}


def shortened(job: Document, cylinders: int) -> Document:
    """The job as it would be with so many cylinders at most: what breaks off does so with one or two as with six, and sooner."""
    count = value_of(job, "cylinders")
    if not isinstance(count, int) or count <= cylinders:
        return job
    stays = tuple(e for e in job.entries if int(getattr(e, "at", {}).get("cylinder", 1)) <= cylinders)
    header = {**job.header, "cylinders": Stamped(value=cylinders, stamp=job.header["cylinders"].stamp)}
    return job.model_copy(update={"entries": stays, "header": header})


def _piece(seed: int, number: int, each: int, share: int) -> Piece:
    data, _ = export(seed, number)
    documents = list(examine(data, now_ms=1_900_000_000_000, fields=declared()).documents())
    job = next(d for d in documents if d.type == "job")
    kit = {d.id: View(d) for d in documents if d.type == "card"}
    job = job if number % 4 == 0 else shortened(job, 1 + number % 4 // 2)
    whole = View(job, kit)
    made = Piece()
    gc.freeze()  # what all changes share is not looked through again and again
    with suppress(Exception):  # the job as it was made: what breaks off in it does so in its changes as well
        attempt(random.Random(0), whole, whole, report=False)
    view, other = whole, job
    for turn in range(each):
        rng = random.Random(f"{seed}/{number}/{turn}")
        report = turn % share == 0
        if turn % LIFE == 0:
            view, other = whole.fork(job.entries, job.header), job
        try:
            other = mutated(rng, other, [*kit, job.id])
            view.turn(
                other.entries, other.header, changed_cards(rng, kit, [*kit]) if rng.random() < 0.3 else view.cards
            )
            attempt(rng, view, whole, report=report)
        except Exception:  # noqa: BLE001  every fault is to be listed
            view, other = whole.fork(job.entries, job.header), job
            lines = traceback.format_exc().strip().split("\n")
            made.faults[f"{lines[-1][:200]}  {_where(lines)}"] += 1
            made.first = made.first or "\n".join((f"job {seed}/{number}/{turn}:", *lines))
        made.jobs += 1
        made.reports += report
    return made


def _where(lines: list[str]) -> str:
    """The line of ours that broke off, out of a traceback."""
    passed_over = ("/bench/", "errors.py", "flow.py")
    ours = (line.strip() for line in reversed(lines) if 'File "' in line and not any(p in line for p in passed_over))
    return next(ours, "")


def run(asked: argparse.Namespace) -> int:
    """Try as many as are asked for; how many broke off."""
    total, began = Piece(), time.monotonic()
    numbers = range(asked.first, asked.first + -(-asked.jobs // asked.each))
    with ProcessPoolExecutor(asked.processes) as pool:
        pieces = pool.map(piece, repeat(asked.seed), numbers, repeat(asked.each), repeat(asked.report_every))
        for number, made in zip(numbers, pieces, strict=True):
            total.add(made)
            if made.first and total.faults.total() == made.faults.total():
                print(made.first, flush=True)
            if asked.log:
                with asked.log.open("a", encoding="utf-8") as log:
                    row = {"seed": asked.seed, "number": number, "jobs": made.jobs, "reports": made.reports}
                    log.write(json.dumps({**row, "faults": dict(made.faults)}, ensure_ascii=False) + "\n")
            if total.faults and not asked.keep_on:
                pool.shutdown(wait=False, cancel_futures=True)
                break
            if number % 10 == 9:
                print(
                    f"{total.jobs} jobs in {time.monotonic() - began:.0f} s, {total.faults.total()} broke off",
                    flush=True,
                )
    for what, count in total.faults.most_common():
        print(f"{count:6d}  {what}")
    print(
        f"{total.jobs} mutated valid jobs, {total.reports} of them with their report, "
        f"{total.faults.total()} broke off, {time.monotonic() - began:.0f} s"
    )
    return total.faults.total()


def tell(log: Path) -> int:
    """Print what all the runs that wrote to ``log`` come to; how many broke off."""
    total, known = Piece(), set()
    for row in map(json.loads, log.read_text(encoding="utf-8").splitlines()):
        if (row["seed"], row["number"]) not in known:
            known.add((row["seed"], row["number"]))
            total.add(Piece(row["jobs"], row["reports"], Counter(row["faults"])))
    print(f"{total.jobs} mutated valid jobs, {total.reports} with their report, {total.faults.total()} broke off")
    for what, count in total.faults.most_common():
        print(f"{count:6d}  {what}")
    return total.faults.total()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--jobs", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first job that is changed")
    parser.add_argument("--each", type=int, default=100, help="mutations of one job")
    parser.add_argument("--report-every", type=int, default=1, help="make the report of every so many")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--log", type=Path, help="a file that gets a line for each job changed, over several runs")
    parser.add_argument("--total", action="store_true", help="only print what the runs in --log come to")
    parser.add_argument("--keep-on", action="store_true", help="list every fault rather than stop at the first")
    asked = parser.parse_args()
    return 1 if (tell(asked.log) if asked.total else run(asked)) else 0


if __name__ == "__main__":
    sys.exit(main())
