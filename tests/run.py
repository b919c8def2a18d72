"""Sets up everything and passes the tests: ``python3 tests/run.py``.

Makes the project's environment, installs Chromium, Firefox, WebKit and what drives them where
they are missing and we may, checks the code's layout and types, and runs pytest. What follows
on the command line goes to pytest; where it names tests, only they are run. Where no
Chromium can be driven the browser tests are skipped, each with the reason; the other two
engines likewise.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "mobile"))
sys.path.insert(0, str(ROOT / "tests" / "browser"))

import driver  # noqa: E402
import engine_check  # noqa: E402
import start  # noqa: E402  (the set-up is shared with the main command)

#: What must be clean, besides the tests: the linter's rules, the layout of the code and the types.
CHECKS = (
    ("ruff", "check", "--quiet", "."),
    ("ruff", "format", "--check", "--quiet", "."),
    ("mypy",),
)


#: What pytest ends with where tests failed, and where it has no test to run.
FAILED, NO_TESTS = 1, 5


def asked(python: Path, *arguments: str) -> str:
    """What the driver's check says in the project's environment; empty if all is well."""
    done = subprocess.run(
        [str(python), "-m", "tests.browser.driver", *arguments],
        cwd=ROOT,
        env=environment(),
        capture_output=True,
        text=True,
        check=False,
    )
    return "" if done.returncode == 0 else (done.stdout.strip() or done.stderr.strip())


def engines() -> None:
    """Install Firefox, and WebKit with its driver, if they are missing and we may."""
    for name, packages in engine_check.PACKAGES.items():
        if engine_check.lacking(name):
            start.say(f"Installing {', '.join(packages)} (Debian's packages)")
            start.apt(*packages)
        if why := engine_check.lacking(name):
            start.say(f"Its tests will be skipped: {why}.")


def browser(python: Path) -> None:
    """Install a Chromium, and the library its driver's Node wants, where they are missing and we may."""
    if driver.chromium() is None:
        start.say("Installing Chromium (Debian's package)")
        start.apt("chromium", driver.SHELL, driver.PACKAGE) or start.apt("chromium", driver.PACKAGE)
    elif asked(python, "--own"):
        start.say(f"Installing {driver.PACKAGE} (the Node that drives the browser needs it)")
        start.apt(driver.PACKAGE)
    reason = asked(python)
    if reason:
        start.say(f"The browser tests will be skipped: {reason}.")


def checks(python: Path) -> bool:
    """Whether the code is clean by the linter, in its layout and in its types."""
    clean = True
    for tool, *arguments in CHECKS:
        if subprocess.run([str(python), "-m", tool, *arguments], cwd=ROOT, check=False).returncode:
            start.say(f"{tool} {' '.join(arguments)}: not clean, see above.")
            clean = False
    return clean


def environment(**more: str) -> dict[str, str]:
    """What the tests run in. Every worker, and every command that a test starts, reads what the first has compiled."""
    return {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"} | {"PYTHONPATH": str(ROOT)} | more


@contextmanager
def compiled(python: Path) -> Iterator[None]:
    """Has the tests compiled meanwhile: the checks keep one processor busy, and each worker would compile them anew."""
    gathering = subprocess.Popen(
        [str(python), "-m", "pytest", "--collect-only", "-q"],
        cwd=ROOT,
        env=environment(),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield
    finally:
        gathering.wait()


def named(given: list[str]) -> bool:
    """Whether the command line names tests."""
    return any(Path(word.split("::")[0]).exists() for word in given)


#: Browser tests that build on one another: their file is tried again whole.
ORDERED = ("tests/browser/test_engines.py",)


def failed() -> list[str]:
    """The browser tests that failed just now."""
    kept = ROOT / ".pytest_cache" / "v" / "cache" / "lastfailed"
    names = json.loads(kept.read_text("utf-8")) if kept.exists() else {}
    browser = [name for name in names if name.startswith("tests/browser/")]
    return sorted({file if (file := name.split("::")[0]) in ORDERED else name for name in browser})


def workers(given: list[str], *, halves: int = 2) -> list[str]:
    """How many workers share the tests: one a processor (two halves of it), four at most. Where tests are named, none but pytest itself."""
    count = min((os.cpu_count() or 1) * halves // 2, 4)
    if (os.cpu_count() or 1) == 1 or named(given) or any(word.startswith("-n") for word in given):
        return []
    return ["-n", str(count), "--dist", "loadfile", "--no-loadscope-reorder"]


def main() -> int:
    given = sys.argv[1:]
    python = start.environment("build", "test")
    browser(python)
    engines()
    shared = workers(given)
    with compiled(python) if shared else nullcontext():
        clean = named(given) or checks(python)  # the tests are run all the same: both have something to say
    # on a disk, two browsers keep each other's storage waiting; else tests wait for answers now and then, and three
    # workers keep two processors busy; with four, answers come too late for some tests
    more = workers(given, halves=3) if driver.roomy() else []
    parts = (["--ignore=tests/browser", *(more or shared)], ["tests/browser", *more]) if shared else ([],)

    # the stores under test are told of a disk's faults by the tests; a real disk would only make them wait
    with tempfile.TemporaryDirectory(prefix="boreside-", dir=driver.MEMORY if driver.roomy() else None) as room:
        return passed(python, parts, given, clean=clean, room=room)


def passed(python: Path, parts: tuple[list[str], ...], given: list[str], *, clean: bool, room: str) -> int:
    """Runs each part of the tests, a browser's once more where it failed; what they make goes into ``room``. The exit code."""

    def tested(*part: str) -> int:
        return subprocess.run(
            [str(python), "-m", "pytest", *part, *given],
            cwd=ROOT,
            env=environment(TMPDIR=room),
            check=False,
        ).returncode

    codes = [tested(*part) for part in parts]
    if len(parts) > 1 and codes[-1] == FAILED and (names := failed()):
        # browsers on a busy machine lose a tap or an answer now and then: what fails twice has failed
        start.say("Trying again, by themselves: " + ", ".join(names))
        codes[-1] = tested(*names)
    some = [code for code in codes if code != NO_TESTS] or codes[:1]  # one part may hold none of what is asked for
    return max(some, key=abs) or int(not clean)


if __name__ == "__main__":
    sys.exit(main())
