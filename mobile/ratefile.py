"""The person's own rates from a file, for the command: a phone has them in its settings."""

from __future__ import annotations

import tomllib
from dataclasses import fields
from pathlib import Path

from logic.say import L
from store import rates
from store.errors import Refused
from store.files import home

from .terminal import InputError

__all__ = ["NAME", "known", "written"]

#: The file that is looked for where the jobs are kept.
NAME = "rates.toml"


def known(file: str | None) -> rates.Rates:
    """The rates of ``file``, else of the one where the jobs are kept; none where that is not there.

    Raises InputError where the file cannot be read, Refused where it holds no rates.
    """
    usual = home() / NAME
    if file is None and not usual.is_file():
        return rates.Rates()
    path = usual if file is None else Path(file)
    try:
        return written(path.read_text("utf-8"))
    except (OSError, UnicodeDecodeError) as problem:
        raise InputError(f"{path} cannot be read: {getattr(problem, 'strerror', None) or problem}.") from None


def written(text: str) -> rates.Rates:
    """The rates as somebody wrote them into a file: a line ``name = value`` each (TOML), the margin in percent.

    Raises Refused for text that is not such a file, and, so that no slip goes unseen, for
    a name that no rate has and for a value that none can have.
    """
    try:
        told = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise Refused(L("The rates cannot be read: {why}.", why=str(problem)), "rates") from None
    if isinstance(told.get("margin"), (int, float)):
        told["margin"] = told["margin"] / 100
    names, got = tuple(f.name for f in fields(rates.Rates)), rates.read(told)
    for name, value in told.items():
        if name not in names:
            raise Refused(L("“{name}” is no rate. There are: {names}.", name=name, names=names), "rates")
        if getattr(got, name) in (None, "") and value != "":
            raise Refused(L("{name} cannot be {value}.", name=name, value=str(value)), "rates")
    return got
