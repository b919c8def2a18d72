"""Handing files over and taking them in, as several screens do it."""

from __future__ import annotations

import re

from logic.say import LN, L, Line
from store.errors import Refused
from store.jobs import Summary

from ..shell import Shell, now_ms
from .words import when

REMIND_DAYS = 7


async def due(app: Shell) -> list[Summary]:
    """The person's own jobs that should be saved to a file: changed, and not saved for a week."""
    return [s for s in await app.jobs.backup_due(REMIND_DAYS) if not s.card and not s.id.startswith("demo")]


def overdue(count: int) -> Line:
    """The reminder that ``count`` jobs should be saved to a file."""
    return LN(
        "One job has changed and was not saved to a file for {days} days or more.",
        "{n} jobs have changed and were not saved to a file for {days} days or more.",
        count,
        days=REMIND_DAYS,
    )


def file_name(name: str, ending: str) -> str:
    stem = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40] or "jobs"
    return f"boreside-{stem}-{when(now_ms())[:10]}.{ending}"


async def hand_over(app: Shell, name: str, ending: str, data: bytes) -> None:
    """Give a file to the browser (on a computer, to a save dialogue)."""
    file = file_name(name, ending)
    await app.picker().save_file(file_name=file, src_bytes=data)
    app.toast(L("{file} handed over", file=file))


async def save_export(
    app: Shell, ids: list[str] | None, name: str, *, photos: bool = False, passphrase: str = ""
) -> None:
    try:
        data = await app.jobs.export(ids, photos=photos, passphrase=passphrase)
    except Refused as no:
        app.toast(no.line, bad=True)
        return
    await hand_over(app, name, "json", data)


async def load_demo(app: Shell) -> None:
    """Merge the invented demo job and kit into this device."""
    import demo

    added = await demo.load(app.jobs)
    app.forget()
    app.toast(L("Demo loaded: invented engine, customer and machines") if added else L("The demo is already here"))
