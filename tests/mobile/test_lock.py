"""Everything that is taken in is named with its digest, and a changed file is refused."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest
from packaging.requirements import Requirement

from mobile import bundle as b

ROOT = Path(__file__).parents[2]


def locked(name: str) -> dict[str, list[str]]:
    """Package -> the versions a lock names for it (more than one where they hang on Python's version)."""
    found: dict[str, list[str]] = {}
    for entry in re.split(r"\n(?=\S)", (ROOT / "mobile" / name).read_text().strip()):
        package, version = re.match(r"([a-z0-9-]+)(?:\[[a-z,-]+\])?==([^ ]+)", entry).groups()
        assert re.search(r"--hash=sha256:[0-9a-f]{64}", entry), entry
        found.setdefault(package, []).append(version)
    return found


@pytest.mark.parametrize(("name", "extras"), [("app.lock", ("build",)), ("test.lock", ("build", "test"))])
def test_the_lock_names_what_the_project_asks_for_within_its_bounds(name: str, extras: tuple[str, ...]) -> None:
    about = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    held = locked(name)
    for text in (*about["dependencies"], *(t for e in extras for t in about["optional-dependencies"][e])):
        asked = Requirement(text)
        assert {s.operator for s in asked.specifier} & {"<", "=="}, f"{text} is not bounded above"
        for version in held[asked.name.lower().replace("_", "-")]:
            assert version in asked.specifier, (text, version)


def test_every_library_of_the_browser_is_locked() -> None:
    assert set(b._locked(b.LIBRARIES)) == set(b.LIBRARIES)
    with pytest.raises(b.BuildError):
        b._locked(["no_such_library"])


def test_a_wheel_that_was_changed_is_refused(tmp_path: Path) -> None:
    files = b.wheels(("six",), tmp_path, lambda words: None)
    assert "six.py" in files
    (wheel,) = tmp_path.glob("wheels-*/*.whl")
    with zipfile.ZipFile(wheel, "a") as packed:
        packed.writestr("more.py", "print(1)")
    with pytest.raises(b.BuildError, match="not the file that the lock names"):
        b.wheels(("six",), tmp_path, lambda words: None)
    wheel.unlink()
    with pytest.raises(b.BuildError, match="one wheel for each"):
        b.wheels(("six",), tmp_path, lambda words: None)


def test_a_wheel_of_the_project_carries_compiled_catalogues(tmp_path: Path) -> None:
    pytest.importorskip("setuptools", minversion="77")
    command = [
        sys.executable,
        "-m",
        "pip",
        "wheel",
        "--quiet",
        "--no-deps",
        "--no-build-isolation",
        "--wheel-dir",
        str(tmp_path),
    ]
    source = tmp_path / "source"
    subprocess.run(["git", "clone", "--quiet", "--shared", str(ROOT), str(source)], check=True)
    subprocess.run([*command, str(source)], check=True, env={k: v for k, v in os.environ.items() if k != "PYTHONPATH"})
    (wheel,) = tmp_path.glob("*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    assert "logic/words/de.mo" in names and "logic/words/de.po" not in names
    assert "mobile/app.lock" in names
