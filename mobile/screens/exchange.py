"""Handing files over and taking them in, as several screens do it."""

from __future__ import annotations

import re

from logic.say import LN, L, Line
from store.errors import Refused
from store.jobs import Summary
from store.pieces import Held, Source

from .. import bridge, manners
from ..shell import Shell, now_ms
from .words import when

REMIND_DAYS = 7


async def due(app: Shell) -> list[Summary]:
    """The person's own jobs that should be saved to a file: changed, and not saved for a week."""
    return [s for s in await app.jobs.backup_due(REMIND_DAYS) if not s.card and not s.id.startswith("demo")]


def overdue(count: int) -> Line:
    """The reminder that ``count`` jobs should be saved to a file."""
    return LN(
        "One job has changes that have been in no file for {days} days or more.",
        "{n} jobs have changes that have been in no file for {days} days or more.",
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


class Outgoing:
    """A file on its way out, piece by piece: in a browser to the page, so that it is never in memory whole."""

    def __init__(self, app: Shell, name: str, ending: str) -> None:
        self._app, self._name, self._media = app, file_name(name, ending), MEDIA[ending]
        self._page = bridge.PageSave() if bridge.IN_BROWSER else None
        self._held = bytearray()

    def add(self, piece: bytes) -> None:
        """The next bytes of the file."""
        if self._page is not None:
            self._page.add(piece)
        else:
            self._held += piece

    async def hand_over(self) -> bool:
        """Give the file to the system's share sheet where there is one, else to the browser (on a computer, to a
        save dialogue). False where the person let it be."""
        app, file = self._app, self._name
        words = {
            "ready": L("{file} is ready.", file=file),
            "share": L("Share it"),
            "save": L("Save it on this device"),
            "close": L("Leave it"),
        }
        data = bytes(self._held) if self._page is None else self._page.blob()
        done = await manners.hand(file, self._media, data, {key: app.t(line) for key, line in words.items()})
        if done == "save":
            if self._page is not None:
                await bridge.ask("save", file, data)
            elif not await app.picker().save_file(file_name=file, src_bytes=data):
                done = "closed"  # the dialogue of the computer was cancelled
        if done == "closed":
            app.toast(L("{file} was neither shared nor saved", file=file), bad=True)
            return False
        app.toast(L("{file} handed over", file=file))
        return True


async def hand_over(app: Shell, name: str, ending: str, data: bytes) -> bool:
    """Give a file of these bytes out. False where the person let it be."""
    out = Outgoing(app, name, ending)
    out.add(data)
    return await out.hand_over()


async def save_export(
    app: Shell,
    ids: list[str] | None,
    name: str,
    *,
    photos: bool = False,
    passphrase: str = "",
    names: bool = False,
) -> None:
    """Save jobs to a file, which is never in memory whole; ``names``: a card's record names its jobs."""
    out = Outgoing(app, name, "json")
    try:
        async for piece in app.jobs.export_pieces(ids, photos=photos, passphrase=passphrase, names=names):
            out.add(piece)
    except Refused as no:
        app.toast(no.line, bad=True)
        return
    if not await out.hand_over():
        await app.jobs.not_exported(ids)


async def choose(app: Shell) -> Source | None:
    """A file that the person chooses, to be read in pieces; None where none is chosen."""
    if bridge.IN_BROWSER:
        return await bridge.choose_file()
    files = await app.picker().pick_files(with_data=True, allow_multiple=False)
    return Held(bytes(files[0].bytes or b"")) if files else None


async def load_demo(app: Shell) -> None:
    """Merge the invented demo job and kit into this device."""
    import demo

    added = await demo.load(app.jobs)
    app.forget()
    app.toast(L("Demo loaded: invented engine, customer and machines") if added else L("The demo is already here"))
