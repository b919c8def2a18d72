"""How a wheel of the project is made: with each catalogue compiled (``.mo``) in the place of its source."""

from __future__ import annotations

import runpy
from pathlib import Path

from setuptools.command.build_py import build_py

__all__ = ["BuildPy"]

#: By its path: while a wheel is made, the project itself need not be importable.
_COMPILED = runpy.run_path(str(Path(__file__).resolve().parent.parent / "logic" / "words" / "po.py"))["compiled"]


class BuildPy(build_py):
    """Copies the packages as setuptools does, then compiles the catalogues. An editable install keeps the source."""

    def run(self) -> None:
        super().run()
        if self.editable_mode:
            return
        for source in Path(self.build_lib, "logic", "words").glob("*.po"):
            source.with_suffix(".mo").write_bytes(_COMPILED(source.read_text("utf-8")))
            source.unlink()
