"""Handing files over and taking them in, as several screens do it."""

from __future__ import annotations

import re

from logic.say import LN, L, Line
from store.errors import Refused
from store.jobs import Summary

from .. import manners
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


MEDIA = {
    "json": "application/json",
    "pdf": "application/pdf",
    "html": "text/html",
    "csv": "text/csv",
    "txt": "text/plain",
}


async def hand_over(app: Shell, name: str, ending: str, data: bytes) -> bool:
    """Give a file to the system's share sheet where there is one, else to the browser (on a computer, to a save
    dialogue). False where the person let it be."""
    file = file_name(name, ending)
    words = {
        "ready": L("{file} is ready.", file=file),
        "share": L("Share it"),
        "save": L("Save it on this device"),
        "close": L("Leave it"),
    }
    done = await manners.hand(file, MEDIA[ending], data, {key: app.t(line) for key, line in words.items()})
    if done == "closed":
        app.toast(L("{file} was neither shared nor saved", file=file), bad=True)
        return False
    if done == "save":
        await app.picker().save_file(file_name=file, src_bytes=data)
    app.toast(L("{file} handed over", file=file))
    return True


async def save_export(
    app: Shell, ids: list[str] | None, name: str, *, photos: bool = False, passphrase: str = ""
) -> None:
    try:
        data = await app.jobs.export(ids, photos=photos, passphrase=passphrase)
    except Refused as no:
        app.toast(no.line, bad=True)
        return
    if not await hand_over(app, name, "json", data):
        await app.jobs.not_exported(ids)


async def load_demo(app: Shell) -> None:
    """Merge the invented demo job and kit into this device."""
    import demo

    added = await demo.load(app.jobs)
    app.forget()
    app.toast(L("Demo loaded: invented engine, customer and machines") if added else L("The demo is already here"))
