"""Works the same few hundred random jobs out in two checkouts and says what differs.

    python -m tests.bench.compare --before ../before --after . [--jobs 300] [--seed 1]

``--before`` and ``--after`` are folders that each hold the project; each is run in
processes of its own, by its own ``.venv`` if it has one. The jobs come from
:mod:`tests.bench.random_jobs`, made by the older checkout. What is compared is all that
``boreside work`` says of a job: every figure, verdict, sentence, state and what is still
missing. Figures count as equal within a billionth part, texts letter by letter.

What differs is printed by step and key (numbers in a key are shown as #), with counts and
examples. Differences that are meant stand in ``compare_expected.toml`` beside this file,
each with its reason. Exit code: 0 nothing else differs, 1 something does, 2 it could not
be run.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import io
import json
import math
import os
import re
import subprocess
import sys
import tempfile
import time
import tomllib
import traceback
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from importlib import import_module
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
EXPECTED = HERE / "compare_expected.toml"
RELATIVE, ABSOLUTE = 1e-9, 1e-12
_ABSENT = "(absent)"


# -- in the checkout: all jobs of a folder, worked out in one process ------------------------------
def work_all(folder: Path, out: Path) -> None:
    """Write what ``boreside work`` says of each job listed in ``folder``, one JSON line a job, to ``out``."""
    boreside = import_module("mobile.command").main  # of the checkout this process was started on
    with out.open("w") as lines:
        for about in json.loads((folder / "list.json").read_text()):
            asked = ["work", str(folder / f"{about['job']}.json"), "--units", about["units"]]
            lines.write(json.dumps({"job": about["job"], "answer": answer_to(boreside, asked)}) + "\n")


def answer_to(boreside: Callable[[list[str]], int], asked: list[str]) -> dict[str, Any]:
    """What ``boreside work`` says. Where it breaks down, how it does, and as far as it comes in plain sentences."""
    try:
        code, said, wrong = _run(boreside, asked)
        return {"exit": code, "refused": wrong, **(json.loads(said) if code in (0, 1) else {})}
    except BaseException as trouble:  # noqa: BLE001  whatever stops it is what is to be reported
        at = traceback.extract_tb(trouble.__traceback__)[-1]
        crash = {"crash": f"{type(trouble).__name__}: {trouble} ({Path(at.filename).name}:{at.name})"}
    with contextlib.suppress(BaseException):
        return {**crash, "text": _run(boreside, [*asked, "--text"])[1].splitlines()}
    return crash


def _run(boreside: Callable[[list[str]], int], asked: list[str]) -> tuple[int, str, str]:
    said, wrong = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(wrong):
        code = boreside(asked)
    return code, said.getvalue(), wrong.getvalue().strip()


# -- running the two ---------------------------------------------------------------------------------
def python_of(checkout: Path) -> str:
    own = checkout / ".venv" / "bin" / "python"
    return str(own) if own.exists() else sys.executable


def start(checkout: Path, script: Path, *arguments: str) -> subprocess.Popen[bytes]:
    """Run a script of this folder on the code of ``checkout``."""
    env = {**os.environ, "PYTHONPATH": str(checkout), "PYTHONDONTWRITEBYTECODE": "1", "PYTHONHASHSEED": "0"}
    return subprocess.Popen([python_of(checkout), "-P", str(script), *arguments], cwd=checkout, env=env)


def fingerprint(checkout: Path) -> str:
    """A hash of the checkout's own code, to know whether its answers are still good."""
    total = hashlib.sha256()
    for package in ("logic", "store", "mobile"):
        for path in sorted((checkout / package).rglob("*")):
            if path.suffix in (".py", ".po", ".mo", ".json"):
                total.update(str(path.relative_to(checkout)).encode() + b"\0" + path.read_bytes())
    return total.hexdigest()[:16]


def answers(path: Path) -> dict[str, Any]:
    return {row["job"]: row["answer"] for row in map(json.loads, path.read_text().splitlines())}


def run_both(before: Path, after: Path, jobs: int, seed: int, keep: Path) -> tuple[dict[str, Any], dict[str, Any]]:
    """The answers of both checkouts. What was worked out earlier from the same code and jobs is taken from ``keep``."""
    maker = hashlib.sha256((HERE / "random_jobs.py").read_bytes()).hexdigest()[:8]
    folder = keep / f"jobs-{fingerprint(before)}-{maker}-{seed}-{jobs}"
    make = (str(folder), "--jobs", str(jobs), "--seed", str(seed))
    if not (folder / "list.json").exists() and start(before, HERE / "random_jobs.py", *make).wait():
        sys.exit(2)
    running, files = [], []
    for checkout in (before, after):
        out = folder / f"answers-{fingerprint(checkout)}.jsonl"
        files.append(out)
        if not out.exists():
            part = out.with_suffix(f".{os.getpid()}.part")
            running.append((start(checkout, Path(__file__).resolve(), "--work", str(folder), str(part)), part, out))
    failed = [process.wait() for process, _, _ in running]
    if any(failed):
        sys.exit(2)
    for _, part, out in running:
        if part.exists():
            part.replace(out)
    return answers(files[0]), answers(files[1])


# -- comparing -----------------------------------------------------------------------------------------
def leaves(thing: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every value in plain data with its path. Things in a list go by their key, step or field if they have one."""
    if isinstance(thing, dict):
        for key, value in thing.items():
            yield from leaves(value, f"{path}.{key}" if path else key)
        if not thing:
            yield path, "{}"
    elif isinstance(thing, list):
        seen: Counter[str] = Counter()
        for value in thing:
            name = _name(value)
            seen[name] += 1
            yield from leaves(value, f"{path}[{name}{'' if seen[name] == 1 else f' {seen[name]}'}]")
        if not thing:
            yield path, "[]"
    else:
        yield path, thing


def _name(value: Any) -> str:
    if isinstance(value, dict):
        for key in ("key", "field"):
            if isinstance(value.get(key), str):
                at = value.get("at")
                return str(value[key]) + (f" {json.dumps(at, sort_keys=True)}" if at else "")
    return ""


def same(a: Any, b: Any) -> bool:
    if isinstance(a, bool) or isinstance(b, bool) or not (isinstance(a, (int, float)) and isinstance(b, (int, float))):
        return bool(a == b)
    return math.isclose(a, b, rel_tol=RELATIVE, abs_tol=ABSOLUTE)


#: What every answer has and a screen shows; a result's own further fields are for other calculations to use.
SHOWN = frozenset(
    ("key", "line", "value", "verdict", "confidence", "why", "figures", "assumptions", "influences", "cautions")
)


def shown_only(answer: Mapping[str, Any]) -> dict[str, Any]:
    """One job's answer without the further fields of its results."""
    steps = [
        {**step, "results": [{k: v for k, v in r.items() if k in SHOWN} for r in step["results"]]}
        for step in answer.get("steps", ())
    ]
    return {**answer, "steps": steps}


def split(answer: Mapping[str, Any]) -> dict[tuple[str, str], Any]:
    """One job's answer as (step, path) → value."""
    out: dict[tuple[str, str], Any] = {}
    for key, value in answer.items():
        if key == "steps":
            for step in value:
                out |= {(step["step"], path): v for path, v in leaves({k: v for k, v in step.items() if k != "step"})}
        else:
            out |= {("(job)", path): v for path, v in leaves(value, key)}
    return out


@dataclass
class Group:
    """Differences of one step and key."""

    step: str
    key: str
    count: int = 0
    jobs: set[str] = field(default_factory=set)
    largest: float = 0.0
    examples: list[tuple[str, str, Any, Any]] = field(default_factory=list)

    def add(self, job: str, path: str, a: Any, b: Any) -> None:
        if len(self.examples) < 3 and job not in self.jobs:
            self.examples.append((job, path, a, b))
        self.count += 1
        self.jobs.add(job)
        if all(isinstance(x, (int, float)) and not isinstance(x, bool) for x in (a, b)):
            self.largest = max(self.largest, abs(a - b) / max(abs(a), abs(b), 1e-300))


@dataclass(frozen=True)
class Expected:
    """A difference that is meant: where (shell patterns), how the two texts look (regular expressions), and why."""

    step: str
    key: str
    reason: str
    before: str = ""
    after: str = ""

    def fits(self, step: str, key: str, a: Any, b: Any) -> bool:
        # a bracket names a thing in a list here, so it must not open a set of letters in the pattern
        pattern = re.sub(r"\[", "[[]", self.key)
        return (
            fnmatchcase(step, self.step)
            and fnmatchcase(key, pattern)
            and re.search(self.before, str(a)) is not None
            and re.search(self.after, str(b)) is not None
        )


def expected(path: Path) -> list[Expected]:
    if not path.exists():
        return []
    return [Expected(**row) for row in tomllib.loads(path.read_text(encoding="utf-8")).get("expected", [])]


def is_figure(path: str, a: Any, b: Any) -> bool:
    """Whether this is the number of a figure that both versions show."""
    return path.endswith(".qty.value") and _ABSENT not in (a, b)


def differences(
    before: Mapping[str, Any], after: Mapping[str, Any], meant: list[Expected], *, figures: bool = False
) -> tuple[dict[tuple[str, str], Group], dict[Expected, int], int]:
    """Groups of what differs and is not meant, how often each meant difference was met, and values compared.

    With ``figures`` only the numbers that both versions show.
    """
    groups: dict[tuple[str, str], Group] = {}
    met: Counter[Expected] = Counter()
    compared = 0
    for job, answer in before.items():
        a, b = split(answer), split(after[job])
        for place in dict.fromkeys((*a, *b)):
            x, y = a.get(place, _ABSENT), b.get(place, _ABSENT)
            if figures and not is_figure(place[1], x, y):
                continue
            compared += 1
            if same(x, y):
                continue
            step, path = place
            key = re.sub(r"\d+", "#", path)
            reason = next((m for m in meant if m.fits(step, key, x, y)), None)
            if reason is not None:
                met[reason] += 1
                continue
            groups.setdefault((step, key), Group(step, key)).add(job, path, x, y)
    return groups, dict(met), compared


# -- saying ------------------------------------------------------------------------------------------------
def _short(value: Any, most: int = 200) -> str:
    text = str(value)
    return text if len(text) <= most else text[: most - 1] + "…"


def tell(groups: Mapping[tuple[str, str], Group], most: int) -> None:
    last = ""
    for n, group in enumerate(sorted(groups.values(), key=lambda g: (g.step, -len(g.jobs), g.key))):
        if n >= most:
            print(f"... and {len(groups) - most} more kinds (--most shows them)")
            break
        if group.step != last:
            print(f"\n== {group.step}")
            last = group.step
        largest = f", figures off by up to {group.largest:.3g} of themselves" if group.largest else ""
        print(f"  {group.key}: {group.count} in {len(group.jobs)} jobs{largest}")
        for job, path, a, b in group.examples:
            print(f"      {job} {path}\n        before: {_short(a)}\n        after:  {_short(b)}")


def census(found: Mapping[str, Any]) -> str:
    """How far the jobs get, so that it can be seen that they reach every step."""
    states: Counter[str] = Counter()
    done: Counter[str] = Counter()
    results = figures = 0
    for answer in found.values():
        for step in answer.get("steps", ()):
            states[step["state"]] += 1
            done[step["step"]] += bool(step["done"])
            results += len(step["results"])
            figures += sum(len(r["figures"]) + (r["value"] is not None) for r in step["results"])
    crashed = sum("crash" in answer for answer in found.values())
    listed = ", ".join(f"{count} {state}" for state, count in states.most_common())
    finished = ", ".join(f"{step} {count}" for step, count in done.items())
    return f"{len(found)} jobs, {results} results, {figures} figures, {crashed} jobs crash; steps: {listed}; done: {finished}"


def main() -> int:
    asked = argparse.ArgumentParser(
        description=__doc__.split("\n\n", maxsplit=1)[0],
        epilog="Exit codes: 0 nothing differs that is not expected; 1 something does; 2 could not run.",
    )
    asked.add_argument("--before", type=Path, help="folder of the older checkout")
    asked.add_argument("--after", type=Path, default=Path(), help="folder of the newer one (default: this folder)")
    asked.add_argument("--jobs", type=int, default=300)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument(
        "--expected", type=Path, default=EXPECTED, help="differences that are meant, with reasons (TOML)"
    )
    asked.add_argument("--shown", action="store_true", help="only what is shown: without results' further fields")
    asked.add_argument("--figures", action="store_true", help="only the numbers of figures that both versions show")
    asked.add_argument("--step", help="show this step only")
    asked.add_argument("--most", type=int, default=60, help="kinds of differences to print")
    asked.add_argument(
        "--keep",
        type=Path,
        default=Path(tempfile.gettempdir()) / "boreside-compare",
        help="where jobs and answers are kept for the next time",
    )
    asked.add_argument("--work", nargs=2, type=Path, metavar=("FOLDER", "OUT"), help=argparse.SUPPRESS)
    given = asked.parse_args()
    if given.work:
        work_all(*given.work)
        return 0
    if given.before is None:
        asked.error("--before is needed")
    began = time.monotonic()
    before, after = run_both(
        given.before.resolve(), given.after.resolve(), given.jobs, given.seed, given.keep.resolve()
    )
    if given.shown:
        before, after = ({job: shown_only(a) for job, a in found.items()} for found in (before, after))
    meant = expected(given.expected)
    groups, met, compared = differences(before, after, meant, figures=given.figures)
    if given.step:
        groups = {place: g for place, g in groups.items() if place[0] == given.step}
    print("before:", census(before))
    print("after: ", census(after))
    tell(groups, given.most)
    for reason in meant:
        print(f"meant, {met.get(reason, 0)} times: {reason.step} {reason.key}: {reason.reason}")
    jobs = len(set().union(*(g.jobs for g in groups.values()))) if groups else 0
    print(
        f"\n{compared} values compared in {time.monotonic() - began:.0f} s: "
        f"{sum(g.count for g in groups.values())} differ in {jobs} jobs, of {len(groups)} kinds; {sum(met.values())} differ as meant."
    )
    return 1 if groups else 0


if __name__ == "__main__":
    sys.exit(main())
