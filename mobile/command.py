"""``boreside``: the same calculations and the same log, on the shop's computer.

Exit codes: 0 done, and every answer may be gone by; 1 the work says no or is not sure
(it does not clean up, something is to be checked again or was dropped, or nothing was
measured yet); 2 bad input, with one sentence on standard error.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import math
import os
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn, TextIO, cast

from logic.explain import explained
from logic.fields import Field
from logic.numerals import unit_text
from logic.result import Result, Verdict, as_data, source_said
from logic.say import LN, L, Style, figure, say
from logic.words import LANGUAGES

from .plain import PlainText
from .quick import NOMINAL, WORST, read_size
from .terminal import (
    BAD_INPUT,
    DONE,
    SAYS_NO,
    InputError,
    passphrase,
    print_data,
    print_out,
    put,
    put_pieces,
    read,
    tell,
    to_lock_with,
)

if TYPE_CHECKING:
    from logic.doubt import Doubt
    from logic.say import Line
    from store.documents import Chosen, Reading
    from store.flow import Flow
    from store.sheets import Sheet
    from store.view import View

__all__ = ["main"]


#: What is known of the side that wore, as the field names it.
SIDES = ("unknown", "even", "one side")


def _style(given: argparse.Namespace) -> Style:
    return Style(length=given.units or "in", temperature=given.temperature, language=given.language)


def _sentences(result: Result, style: Style) -> list[str]:
    """A result as lines of text: verdict first, then why, the figures, what was assumed, cautions."""
    lines = [say(result.line, style), *("  " + say(w, style) for w in result.why)]
    lines += [f"  {say(f.label, style)}: {figure(f.qty, style)}" for f in result.figures]
    lines += [
        f"  {say(L('Assumed'), style)}: {say(a.text, style)} ({say(source_said(a.source), style)})"
        for a in result.assumptions
    ]
    lines += [f"  {say(L('Take care'), style)}: {say(c.text, style)}" for c in result.cautions]
    return lines


# ---- serve, build -----------------------------------------------------------------
def run_build(given: argparse.Namespace) -> int:
    from . import serving

    return serving.run_build(given)


def run_serve(given: argparse.Namespace) -> int:
    from . import serving

    return serving.run_serve(given)


# ---- quick ------------------------------------------------------------------------


def run_quick(given: argparse.Namespace) -> int:
    from logic.cleanup import WearSide
    from logic.oversize import beyond_wear, quick
    from logic.units import Entered, EntryError

    given.units = given.units or ("mm" if _metric(given.nominal) else "in")
    style = _style(given)

    def taken(text: str, field: Field, option: str, base: float | None = None) -> Entered:
        try:
            return read_size(text, field, length_unit=given.units, base_mm=base)
        except EntryError as error:
            raise InputError(f"{option}: {say(error.line, style)}") from None

    nominal = taken(given.nominal, NOMINAL, "--nominal").value
    worst = taken(given.worst, WORST, "--worst", nominal).value
    unworn = None if given.unworn is None else taken(given.unworn, WORST, "--unworn", nominal).value

    def answered(side: str) -> Result:
        return quick(
            nominal,
            worst,
            unworn_mm=unworn,
            side=WearSide(known=side),
            series=_SERIES.get(given.series),
            confidence=given.confidence,
        )

    result = answered(given.wear)
    if beyond_wear(nominal, worst, unworn):
        raise InputError(say(result.line, style))
    asks = [say(line, style) for line in _side_decides(given.wear, result, answered)]
    if given.json:
        data = _as_data(result, style)
        by_key = {f["key"]: f["qty"] for f in data["figures"]}
        found = {
            "answer": data["line"],
            "asks": asks,
            "verdict": data["verdict"],
            "confidence": data["confidence"],
            "outcome": data.get("outcome"),
            "step": data["value"],
            "finished": by_key.get("finished"),
            "bored": by_key.get("bored"),
            "clean_up": {"low": by_key.get("clean_up_low"), "high": by_key.get("clean_up_high")},
            "probability": [{"step_mm": s["step_mm"], "probability": s["probability"]} for s in data.get("steps", [])],
            "why": data["why"],
            "assumptions": data["assumptions"],
            "cautions": data["cautions"],
            "influences": data["influences"],
            "figures": data["figures"],
        }
        print_data(found)
    else:
        first, *more = _sentences(result, style)
        print_out("\n".join([first, *(f"  {line}" for line in asks), *more]))
    return DONE if _clean(result) else SAYS_NO


def _side_decides(said: str, result: Result, answered: Callable[[str], Result]) -> Iterator[Line]:
    """What to ask about the worn side where nobody said it and the answer depends on it."""
    if said != "unknown":
        return
    even, one = answered("even"), answered("one side")
    if any((r.value, r.verdict) != (result.value, result.verdict) for r in (even, one)):
        yield L("Which side wore? If even: {even} If one side: {one} Say it with --wear.", even=even.line, one=one.line)


#: The option's word for a series of steps, and the name of the series.
_SERIES = {"inch": "inch", "metric": "mm"}


#: What a person of millimetres writes behind a size.
_METRIC = ("mm", "cm", "um", "hundredth")


def _metric(text: str) -> bool:
    """Whether a size is written in a metric unit."""
    from logic.units import spelt

    return spelt(unit_text(text), "size") in _METRIC


def _clean(result: Result) -> bool:
    """Whether an answer may be gone by: a yes or a plain figure, and no "measure again"."""
    return result.verdict in (Verdict.GO, Verdict.INFO)


def _as_data(result: Result, style: Style) -> Any:
    """A result as JSON data, every figure with what it means."""
    return as_data(replace(result, figures=tuple(explained(result, f) for f in result.figures)), style)


# ---- job files --------------------------------------------------------------------
async def _gathered(
    paths: Sequence[str], passphrase: str, *, whole_parts: bool = False
) -> tuple[Any, list[Any], list[str]]:
    """The files taken in, one after another, by a store in memory: the store, a report for each, and notices."""
    from store.jobs import Jobs
    from store.memory import MemoryBackend
    from store.pieces import FileSource

    jobs = await Jobs.open(MemoryBackend())
    reports, notices = [], []
    for path in paths:
        try:
            # a file is read in pieces, so that its photos never lie in memory all at once
            source: FileSource | bytes = FileSource(path) if Path(path).is_file() else read(path)  # noqa: ASYNC240  # a command line of its own, nothing waits
            incoming = await jobs.examine(source, passphrase=passphrase, whole_parts=whole_parts)
            notices += [f"{path}: {say(n)}" for n in incoming.notices]
            reports.append(await jobs.take_in(incoming))
        except OSError as error:
            raise InputError(f"{path} cannot be read: {error.strerror or error}.") from None
    return jobs, reports, notices


async def _view(jobs: Any, wanted: str | None) -> Any:
    """The job called for, with its kit cards: by id, by title, or the only one there is."""
    from store.remembered import Remembered
    from store.view import View

    there = await jobs.list("job")
    found = [s for s in there if wanted is None or wanted in (s.id, s.title)]
    if len(found) != 1:
        listing = "; ".join(f"{s.id} ({s.title or 'untitled'})" for s in there) or "none"
        asked = "Name one with --job" if wanted is None else f"No single job is called {wanted!r}"
        raise InputError(f"{asked}. Jobs in the file: {listing}.")
    cards = {s.id: View(await jobs.load(s.id)) for s in await jobs.list("card")}
    view, remembered = View(await jobs.load(found[0].id), cards), Remembered(jobs)
    await remembered.look(cards, but=view.id)
    view.remember(remembered.by_card)
    return view


def _for_job(given: argparse.Namespace, view: View) -> Style:
    """The units asked for, else those in which the job's nominal bore was typed."""
    nominal = view.document.header.get("nominal")
    given.units = given.units or ("mm" if getattr(_typed(nominal), "typed_unit", "in") in _METRIC else "in")
    return _style(given)


def _typed(stamped: Any) -> Any:
    return None if stamped is None else stamped.value


def run_work(given: argparse.Namespace) -> int:
    from store.documents import Reading
    from store.flow import flow
    from store.rates import know
    from store.sheets import all_sheets

    from .ratefile import known

    mine = known(given.rates)

    async def go() -> int:
        jobs, _, notices = await _gathered([given.file], passphrase(given))
        view = await _view(jobs, given.job)
        style = _for_job(given, view)
        asks = [say(line, style) for line in _sides_asked(view)]
        if given.wear is not None:
            view = view.fork([*view.entries.values(), *_sides(view, given.wear)])
        know(view, mine)
        states = flow(view)
        steps = [(sheet, _step_data(view, sheet, states, style)) for sheet in all_sheets()]
        dropped = [_dropped(entry, style) for entry in view.odd]
        if given.text:
            for notice in notices:
                tell(notice)
            for line in dropped:
                print_out(say(L("Not used: {what}", what=line), style))
            for asked in asks:
                print_out(asked)
            for sheet, answer in steps:
                _print_step(view, sheet, answer, style)
        else:
            print_data(
                {
                    "job": view.document.id,
                    "title": view.header("title"),
                    "notices": notices,
                    "dropped": [say(line, style) for line in dropped],
                    "asks": asks,
                    "steps": [answer for _, answer in steps],
                }
            )
        measured = any(isinstance(entry, Reading) for entry in view.live())
        sure = measured and all(_stands(view, sheet) for sheet, _ in steps)
        return DONE if sure and not dropped and not notices else SAYS_NO

    return asyncio.run(go())


def _sides_asked(view: View) -> Iterator[Line]:
    """What to ask about the worn side of the bores of a job, while the answer decides between oversizes."""
    from store.facts.side import sides_open

    asked = sides_open(view)
    if asked:
        yield LN(
            "Cylinder {c}: which side wore? Say it with --wear, or enter it in the app.",
            "Cylinders {c}: which side wore? Say it with --wear, or enter it in the app.",
            len(asked),
            c=tuple(map(str, asked)),
        )


def _sides(view: View, known: str) -> Iterator[Chosen]:
    """The answer of ``--wear`` for each bore of which nobody entered one; it is stored nowhere."""
    from store import draft
    from store.fields.bores import SIDE

    for c in view.cylinders:
        if not view.get(SIDE, cylinder=c).entered:
            yield draft.chosen(SIDE, known, {"cylinder": c})


def _stands(view: View, sheet: Sheet) -> bool:
    """Whether everything a step says may be gone by."""
    from store.flow import work_of

    work = work_of(view, sheet)
    return not work.broken and not work.doubts and all(_clean(r) for r in work.results)


def _step_data(view: View, sheet: Sheet, states: Flow, style: Style) -> dict[str, Any]:
    """What a step has to say, as JSON data."""
    from store.flow import work_of

    work = work_of(view, sheet)
    return {
        "step": sheet.key,
        "title": say(sheet.title, style),
        "done": work.done,
        "state": states.state(sheet.key).state,
        "blocked": say(work.blocked, style) if work.blocked else None,
        "doubts": [_doubt_data(d, style) for d in work.doubts],
        "missing": [{"field": field, "at": dict(at)} for field, at in work.missing],
        "results": [_as_data(r, style) for r in (*work.results, *_later(view, sheet))],
        "cautions": [as_data(c, style) for c in (*sheet.cautions, *work.cautions)],
    }


def _doubt_data(doubt: Doubt, style: Style) -> dict[str, Any]:
    """A doubt as JSON data: what contradicts what, what settles it, the values it is about, what was likely meant."""
    return {
        "key": doubt.key,
        "line": say(doubt.line, style),
        "settle": say(doubt.settle, style),
        "about": [{"field": field, "at": dict(at)} for field, at in doubt.about],
        "likely": None if doubt.likely is None else figure(doubt.likely, style),
    }


def _print_step(view: View, sheet: Sheet, answer: dict[str, Any], style: Style) -> None:
    from store.flow import work_of

    print_out(f"{answer['title']}")
    if answer["blocked"]:
        print_out(f"  {answer['blocked']}")
    for doubt in answer["doubts"]:
        print_out(f"  {say(L('Check again'), style)}: {doubt['line']} {doubt['settle']}")
    for result in (*work_of(view, sheet).results, *_later(view, sheet)):
        print_out("\n".join("  " + line for line in _sentences(result, style)))


def _dropped(entry: Reading | Chosen, style: Style) -> Line:
    """An entry that cannot be reckoned with, in words: its field, its place and what it says."""
    from store.documents import Chosen
    from store.fields import declared

    field = declared().get(entry.what)
    where = ", ".join(f"{k} {v}" for k, v in sorted(entry.at.items()))
    said = (
        entry.value if isinstance(entry, Chosen) else f"{entry.typed.text} ({entry.typed.value:g} {entry.typed.unit})"
    )
    name = entry.what if field is None else say(field.label, style)
    return L("{name} {value}: its value or place does not fit.", name=f"{name} {where}".strip() + ":", value=said)


def _later(view: View, sheet: Sheet) -> tuple[Result, ...]:
    """The advice of a step that is not part of its verdict."""
    advice = None if sheet.later is None else sheet.later(view)
    return () if advice is None else (advice,)


def run_parts(given: argparse.Namespace) -> int:
    from store.estimate import estimate
    from store.facts.parts import parts_to_order
    from store.order import at_hand, order_text
    from store.rates import know

    from .ratefile import known

    mine = known(given.rates)

    async def go() -> int:
        jobs, _, _ = await _gathered([given.file], passphrase(given))
        view = await _view(jobs, given.job)
        know(view, mine)
        style = _for_job(given, view)
        found, priced = parts_to_order(view), estimate(view)
        if given.json:
            listed = [{"key": p.key, "count": p.count, "what": say(p.line, style)} for p in (*found, *at_hand(view))]
            print_data({"job": view.id, "parts": listed, "estimate": _as_data(priced, style)})
        else:
            print_out(order_text(view, style) or say(L("Decide on the oversize first."), style))
            if given.estimate:
                print_out("\n".join(_sentences(priced, style)))
        return DONE if found else SAYS_NO

    return asyncio.run(go())


def run_merge(given: argparse.Namespace) -> int:
    words = to_lock_with(given)

    async def go() -> int:
        jobs, reports, notices = await _gathered(given.files, passphrase(given), whole_parts=given.whole_parts)
        size = await put_pieces(given.out, jobs.export_pieces(photos=True, passphrase=words))
        rivals = []
        for s in [s for kind in ("job", "card") for deleted in (False, True) for s in await jobs.list(kind, deleted)]:
            rivals += [{"document": s.id, "title": s.title, **as_data(c)} for c in await jobs.conflicts(s.id)]
        about = {
            "out": given.out,
            "bytes": size,
            "notices": notices,
            "conflicts": rivals,
            "files": [
                {"file": f, "added": r.added, "unchanged": r.unchanged, "new_documents": list(r.new_documents)}
                for f, r in zip(given.files, reports, strict=True)
            ],
        }
        to = sys.stderr if given.out == "-" else sys.stdout
        if given.json:
            print(json.dumps(about, indent=2, ensure_ascii=False, default=str), file=to)
        else:
            for row in about["files"]:
                counted = LN(
                    "{file}: {n} entry was new, {m} there already.",
                    "{file}: {n} entries were new, {m} there already.",
                    row["added"],
                    file=row["file"],
                    m=row["unchanged"],
                )
                print(say(counted), file=to)
            for line in notices:
                print(line, file=to)
            if rivals:
                counted = LN(
                    "One detail was set differently in two places. Both are kept; settle it in the app.",
                    "{n} details were set differently in two places. Both are kept; settle them in the app.",
                    len(rivals),
                )
                print(say(counted), file=to)
        return DONE

    return asyncio.run(go())


def run_watch(given: argparse.Namespace) -> int:
    from . import watching

    return watching.run_watch(given)


def run_report(given: argparse.Namespace) -> int:
    from store.report import html_report, pdf_report, text_report

    offset = time.localtime().tm_gmtoff // 60

    async def go() -> int:
        jobs, _, notices = await _gathered([given.file], passphrase(given))
        view = await _view(jobs, given.job)
        style = _for_job(given, view)
        pictures = {}
        for p in view.photos:
            kept = await jobs.get_photo(p.digest)
            if kept:
                pictures[p.digest] = kept[1]
        out = (
            given.out
            if given.out is not None
            else f"{Path(given.file).stem if given.file != '-' else 'job'}.{'pdf' if given.pdf else 'html'}"
        )
        said: dict[str, Any] = {
            "offset_minutes": offset,
            "photos": pictures,
            "annex": given.annex,
            "shop": (given.shop or "").split("\\n"),
        }
        if given.pdf or out.lower().endswith(".pdf"):
            data = pdf_report(view, style, paper=given.paper, **said)
        elif out.lower().endswith(".txt"):
            data = text_report(view, style, **said).encode("utf-8")
        else:
            data = html_report(view, style, **said).encode("utf-8")
        put(out, data)
        for line in notices:
            tell(line)
        if out != "-":
            print_data({"out": out, "bytes": len(data)}) if given.json else print_out(
                f"{out}: the report, {len(data) / 1000:.0f} kB."
            )
        return DONE

    return asyncio.run(go())


def run_demo(given: argparse.Namespace) -> int:
    import demo

    async def go() -> int:
        if given.out is not None:
            put(given.out, demo.export())
            about: dict[str, Any] = {"out": given.out, "documents": [d.id for d in demo.documents()]}
            words = f"{given.out}: the invented job and its kit cards. Take it in with the app, 'boreside work' or 'boreside merge'."
        else:
            from store.files import FilesBackend, home
            from store.jobs import Jobs

            folder = home(given.data)
            try:
                jobs = await Jobs.open(FilesBackend(folder))
            except OSError as error:
                raise InputError(f"{folder} cannot be used: {error.strerror or error}.") from None
            try:
                added = await demo.load(jobs)
            finally:
                await jobs.close()
            about = {"data": str(folder), "added": added}
            counted = LN(
                "{folder}: one entry of the invented job was added.",
                "{folder}: {n} entries of the invented job were added.",
                added,
                folder=str(folder),
            )
            words = say(counted) if added else f"{folder}: the invented job was there already."
        if given.out != "-":
            print_data(about) if given.json else print_out(words)
        return DONE

    return asyncio.run(go())


# ---- the command line ---------------------------------------------------------------
class OneSentence(argparse.ArgumentParser):
    """A reader of arguments that refuses in one sentence, as everything else here does."""

    def error(self, message: str) -> NoReturn:
        said = message.removeprefix("argument ").rstrip(".")
        self.exit(BAD_INPUT, f"{self.prog}: {said} (see {self.prog} --help).\n")


def _number(text: str) -> float:
    """A decimal number with a point or a comma. Raises ArgumentTypeError for what is none, or has no end."""
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise argparse.ArgumentTypeError(f"{text!r} is no number")
    return value


def _chance(text: str) -> float:
    """A probability, as a part of one or in per cent."""
    share = text.strip().removesuffix("%")
    value = _number(share) / (1.0 if share == text.strip() else 100.0)
    if not 0.5 <= value < 1:
        raise argparse.ArgumentTypeError(f"{text!r} is no probability from 0.5 up to, but not including, 1")
    return value


def _port(text: str) -> int:
    if not (text.isascii() and text.isdigit() and int(text[:9]) <= 65535):
        raise argparse.ArgumentTypeError(f"{text!r} is no port from 0 to 65535")
    return int(text)


def _seconds(text: str) -> float:
    """How long to wait between two looks: above nothing, at most a day."""
    value = _number(text)
    if not 0 < value <= 86_400:
        raise argparse.ArgumentTypeError(f"{text!r} is no number of seconds above 0, at most a day")
    return value


def parser() -> argparse.ArgumentParser:
    """The whole command line. Units and language are asked for wherever results are printed."""
    top = OneSentence(
        prog="boreside",
        description="Rebore and hone, worked out where the engine stands.",
        epilog="Exit codes: 0 done, and the answer may be gone by; 1 the work says no or is not sure; 2 bad input.",
    )
    verbs = top.add_subparsers(dest="verb", required=True, metavar="VERB")

    shown = OneSentence(add_help=False)
    shown.add_argument(
        "--units",
        choices=("in", "mm"),
        help="lengths in inches or millimetres, and what a bare number means (default: as the nominal bore is given)",
    )
    shown.add_argument("--temperature", choices=("C", "F"), default="C", help="temperatures in °C or °F (default: C)")
    shown.add_argument(
        "--language", choices=tuple(LANGUAGES), default="en", help="language of the sentences (default: en)"
    )
    as_json = OneSentence(add_help=False)
    as_json.add_argument("--json", action="store_true", help="print JSON")

    def verb(name: str, run: Any, words: str, *parents: OneSentence) -> argparse.ArgumentParser:
        made = verbs.add_parser(name, help=words, description=words, parents=list(parents))
        made.set_defaults(run=run)
        return made

    p = verb("serve", run_serve, "Build the app if needed, serve it, and print its address and a QR code.")
    p.add_argument(
        "--host",
        default="127.0.0.1",
        help="address to listen on (default: this computer only; 0.0.0.0 for the local network)",
    )
    p.add_argument("--port", type=_port, default=8420, help="port (default: 8420; 0 takes a free one)")
    p.add_argument(
        "--tls",
        action="store_true",
        help="https, with a certificate made here unless --cert names one; a phone needs https to keep the app",
    )
    p.add_argument("--cert", metavar="FILE", help="certificate (PEM) for https")
    p.add_argument("--key", metavar="FILE", help="its key (PEM)")
    p.add_argument("--folder", help="the built folder (default: build/web)")
    p.add_argument("--no-build", action="store_true", help="serve the folder as it is")
    p.add_argument("--log", action="store_true", help="print each request")

    p = verb(
        "build", run_build, "Build the offline web folder, which any https host for static files can serve.", as_json
    )
    p.add_argument("--folder", help="where to (default: build/web)")

    p = verb(
        "quick",
        run_quick,
        "The quick check: the step that cleans up one bore, from its nominal size and its worst reading.",
        shown,
        as_json,
    )
    p.add_argument("--nominal", required=True, metavar="SIZE", help="nominal bore, such as '3.000 in' or '76.2 mm'")
    p.add_argument(
        "--worst", required=True, metavar="SIZE", help="largest diameter found, or over nominal, such as '+14.5'"
    )
    p.add_argument(
        "--unworn", metavar="SIZE", help="what the bore measures where it is not worn (default: the nominal size)"
    )
    p.add_argument(
        "--wear",
        choices=SIDES,
        default="unknown",
        help="what is known of the side that wore (default: unknown)",
    )
    p.add_argument("--series", choices=("inch", "metric"), help="steps to choose from (default: by the nominal size)")
    p.add_argument(
        "--confidence", type=_chance, default=0.95, metavar="P", help="probability asked for (default: 0.95, or 95%%)"
    )

    _verbs_of_files(verb, shown, as_json)
    return top


def _verbs_of_files(verb: Any, shown: argparse.ArgumentParser, as_json: argparse.ArgumentParser) -> None:
    """The verbs that read or write job files."""
    locked = argparse.ArgumentParser(add_help=False)
    locked.add_argument("--passphrase-file", metavar="FILE", help="file that holds the passphrase of a locked export")

    priced = argparse.ArgumentParser(add_help=False)
    priced.add_argument(
        "--rates",
        metavar="FILE",
        help="your rates for the estimate, a line NAME = VALUE each: per_hour, per_bore, per_edge, per_set, travel, "
        "margin (percent), currency (default: rates.toml in $BORESIDE_DATA or ~/.boreside, if it is there)",
    )

    p = verb("work", run_work, "All results of a job file, as JSON or as sentences.", shown, as_json, locked, priced)
    p.add_argument("file", help="an export file ('-' reads standard input)")
    p.add_argument("--job", metavar="ID", help="id or title, where the file holds more than one job")
    p.add_argument("--text", action="store_true", help="print sentences instead of JSON")
    p.add_argument(
        "--wear", choices=SIDES, help="on which side the bores wore of which nobody entered it (stored nowhere)"
    )

    p = verb(
        "parts", run_parts, "The parts to order for a job, as text for a supplier.", shown, as_json, locked, priced
    )
    p.add_argument("file", help="an export file ('-' reads standard input)")
    p.add_argument("--job", metavar="ID", help="id or title, where the file holds more than one job")
    p.add_argument("--estimate", action="store_true", help="also time and price")

    p = verb("merge", run_merge, "Two or more export files into one that has everything.", as_json, locked)
    p.add_argument("files", nargs="+", metavar="FILE", help="export files")
    p.add_argument("--out", "-o", required=True, metavar="FILE", help="the merged file ('-' writes standard output)")
    p.add_argument("--whole-parts", action="store_true", help="from a file that breaks off, take what is whole")
    p.add_argument("--seal", action="store_true", help="lock the merged file with the same passphrase")

    p = verb(
        "watch", run_watch, "Merge what arrives in a shared folder, and answer with one merged file.", as_json, locked
    )
    p.add_argument("folder", help="the folder that phones save their export files into")
    p.add_argument("--data", metavar="FOLDER", help="where the jobs are kept (default: $BORESIDE_DATA or ~/.boreside)")
    p.add_argument(
        "--answer", metavar="NAME", default="boreside-merged.json", help="the merged file (default: %(default)s)"
    )
    p.add_argument("--every", type=_seconds, default=5.0, metavar="S", help="seconds between two looks (default: 5)")
    p.add_argument("--once", action="store_true", help="take in what is there, answer, and end")
    p.add_argument("--seal", action="store_true", help="lock the merged file with the passphrase")
    p.add_argument("--language", choices=tuple(LANGUAGES), default="en", help="language of the sentences (default: en)")

    p = verb("report", run_report, "The customer's report of a job, as HTML, PDF or text.", shown, as_json, locked)
    p.add_argument("file", help="an export file ('-' reads standard input)")
    p.add_argument("--job", metavar="ID", help="id or title, where the file holds more than one job")
    p.add_argument(
        "--out",
        "-o",
        metavar="FILE",
        help="file to write; its ending says HTML, PDF or text ('-' writes standard output)",
    )
    p.add_argument("--pdf", action="store_true", help="PDF (default: HTML, unless --out ends in .pdf)")
    p.add_argument(
        "--paper", choices=("A4", "Letter"), help="paper of the PDF (default: Letter for inches, A4 for millimetres)"
    )
    p.add_argument("--annex", action="store_true", help="with the annex: what each step says, and every reading")
    p.add_argument("--short", dest="annex", action="store_false", help="the customer's pages alone (the usual)")
    p.add_argument("--shop", metavar="TEXT", help="name and address over it, lines parted by \\n")

    p = verb(
        "demo", run_demo, "Load the invented job into the jobs kept on this computer, or write it to a file.", as_json
    )
    p.add_argument("--out", "-o", metavar="FILE", help="write an export file instead")
    p.add_argument("--data", metavar="FOLDER", help="where the jobs are kept (default: $BORESIDE_DATA or ~/.boreside)")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code. Never shows a traceback for bad input, nor lets a
    control character out of a file reach the terminal."""
    out, err = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = cast(TextIO, PlainText(out)), cast(TextIO, PlainText(err))
    try:
        return _main(arguments)
    finally:
        sys.stdout, sys.stderr = out, err


def _main(arguments: Sequence[str] | None) -> int:
    given = parser().parse_args(arguments)
    if [] in vars(given).values():  # what argparse makes of "--option=--"
        sys.stderr.write(f"boreside {given.verb}: -- is no value.\n")
        return BAD_INPUT
    from store.errors import Refused

    code = BAD_INPUT
    try:
        code = given.run(given)
    except InputError as bad:
        sys.stderr.write(f"boreside {given.verb}: {bad}\n")
    except Refused as refused:
        line = say(refused.line, Style(language=getattr(given, "language", "en")))
        sys.stderr.write(f"boreside {given.verb}: {line}\n")
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    return code


if __name__ == "__main__":
    sys.exit(main())
