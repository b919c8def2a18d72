"""The jobs and kit cards on this device: what the screens and the command work with.

One :class:`Jobs` is opened for each process or browser tab. Every method that
changes something returns only when the change is durable: then, and only then, a
screen may say "saved". What cannot be done raises :class:`~store.errors.Refused`,
whose ``line`` is a sentence to show and whose ``code`` is for the program.
"""

from __future__ import annotations

import builtins
import contextlib
import hashlib
import re
from collections import OrderedDict
from collections.abc import AsyncIterator, Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, TypedDict

from pydantic import ValidationError

from logic.say import L, Line

from .backend import Backend
from .clock import Clock, ms_of, new_id, system_ms
from .documents import Document, Typed, header_fits, value_of
from .draft import refusal, typed
from .errors import NotSaved, Refused
from .ledger import Ledger, ledger_of
from .merge import HeaderConflict, add_entries, conflicts, heads, latest_stamp, merge, set_value, stamps
from .migrations import NEWER
from .shelf import BROKEN, Record, Revision

if TYPE_CHECKING:
    from .pieces import Source
    from .transfer import Incoming

__all__ = ["DAY_MS", "Exported", "Jobs", "MergeReport", "Summary"]

_ID = re.compile(r"[0-9a-z]{8,40}")
_STAMP = re.compile(r"[0-9]{13}-[0-9]{5}-[0-9a-z]{8,40}", re.ASCII)
DAY_MS = 24 * 3600 * 1000
_SEEN = 24
#: Kinds of photo that are kept, and how each begins.
_PHOTO_STARTS = {"image/jpeg": b"\xff\xd8\xff", "image/png": b"\x89PNG\r\n\x1a\n", "image/webp": b"RIFF"}
_PHOTO_BYTES = 20_000_000


@dataclass(frozen=True, slots=True)
class Summary:
    """A job or a card as a list shows it. Times are milliseconds since 1970.

    ``entries`` counts everything in the log. ``last_export_ms`` is None if the job was
    never exported from this device; ``unsaved`` is True if it has changed since.
    ``trouble`` is set where it is there but cannot be opened (made by a newer version,
    or damaged). ``card`` is a card's role ("bar", "gauge" …), empty for a job.
    """

    id: str
    title: str
    customer: str
    engine: str
    changed_ms: int
    cylinders: int
    entries: int
    deleted: bool
    last_export_ms: int | None
    unsaved: bool = True
    created_ms: int = 0
    card: str = ""
    trouble: Line | None = None


@dataclass(frozen=True, slots=True)
class MergeReport:
    """What taking in a file did. ``added`` and ``unchanged`` count entries, ``new_documents``
    names (by id) the jobs and cards that were not here before."""

    added: int
    unchanged: int
    header_conflicts: tuple[HeaderConflict, ...]
    new_documents: tuple[str, ...]


CLEARED = L(
    "The storage was cleared while Boreside was open. What was used lately is back; import the rest from your last file."
)
_TROUBLES: Mapping[str, Line] = {
    "newer": NEWER,
    "broken": BROKEN,
    "io": L("This could not be read just now. Look again in a moment."),
}


@dataclass(frozen=True, slots=True)
class Exported:
    """What the last file that was made holds: how many ``documents``, and the checksum of each of
    them and digest of each photo. Two files of equal ``sums`` hold the same."""

    documents: int = 0
    sums: tuple[str, ...] = ()


class Asking(TypedDict):
    """What a file is examined with."""

    now_ms: int
    here: Mapping[str, str]
    whole_parts: bool


#: What was stored of a document before it was changed.
Was = list[Document | None]


class Jobs:
    """Documents on one device. Open with :meth:`open`."""

    def __init__(self, backend: Backend, clock: Clock, settings: dict[str, Any]) -> None:
        self._backend = backend
        self._clock = clock
        self._settings = settings
        # what this process has read or written lately: put back if storage loses it underneath
        self._seen: OrderedDict[str, Document] = OrderedDict()
        self.left_out: tuple[str, ...] = ()
        self.exported = Exported()

    @classmethod
    async def open(
        cls,
        backend: Backend,
        *,
        now_ms: Callable[[], int] = system_ms,
        answered: Callable[[], None] | None = None,
    ) -> Jobs:
        """Open the store: checks its version, gives this device an id on first use, loads the index.

        ``now_ms`` is the device's time in milliseconds since 1970. ``answered`` is called once the storage
        has answered: what is waited for after that is the index, which may have to be made anew.
        """
        await backend.open()
        try:
            settings = await backend.put("device", lambda old: old if _is_device(old) else {"id": new_id()})
        except NotSaved as failed:
            if failed.code != "unread":
                raise
            settings = {"id": new_id()}  # its own cannot be read just now: one for as long as it is open
        if answered is not None:
            answered()
        records = await backend.records()
        clocks = (str(r.get("clock", "")) for r in records.values())
        last = max(filter(_STAMP.fullmatch, clocks), default="")
        return cls(backend, Clock(settings["id"], now_ms, last), _table(await backend.get("settings")))

    async def close(self) -> None:
        """Let go of the storage."""
        await self._backend.close()

    @property
    def device(self) -> str:
        """This device's id, as it stands in every entry made here."""
        return self._clock.device

    @property
    def troubles(self) -> tuple[Line, ...]:
        """Sentences about damage that was found and mended since opening, oldest first."""
        return tuple(self._backend.troubles)

    def listen(self, heard: Callable[[str], None]) -> None:
        """Call ``heard`` with the id of a job or card that another tab of this browser has changed."""
        self._backend.heard = heard

    # -- looking ---------------------------------------------------------------------
    async def list(
        self, type: Literal["job", "card"] = "job", deleted: bool = False, search: str = ""
    ) -> builtins.list[Summary]:
        """Jobs or cards, the latest changed first. ``deleted`` lists the deleted ones instead.

        ``search`` keeps those with every one of its words in title, customer or engine.
        """
        exported = _table(await self._backend.get("exports"))
        words = search.casefold().split()
        found = []
        for record in (await self._records()).values():
            if record.get("type", "job") != type or record.get("deleted", False) != deleted:
                continue
            if words:
                text = " ".join(str(record.get(k, "")) for k in ("title", "customer", "engine")).casefold()
                if not all(w in text for w in words):
                    continue
            found.append(self._summary(record, exported.get(record["id"])))
        return sorted(found, key=lambda s: (-s.changed_ms, s.id))

    def _summary(self, record: Record, export: Mapping[str, Any] | None) -> Summary:
        return Summary(
            id=record["id"],
            title=record.get("title", ""),
            customer=record.get("customer", ""),
            engine=record.get("engine", ""),
            # a copy from a device set to the wrong year must not stay on top of the list
            changed_ms=min(ms_of(record.get("changed", "")), self._clock.now_ms),
            cylinders=record.get("cylinders", 0),
            entries=record.get("entries", 0),
            deleted=record.get("deleted", False),
            last_export_ms=export.get("ms") if export else None,
            unsaved=not export or export.get("revision") != record.get("revision"),
            created_ms=min(ms_of(record.get("first", "")), self._clock.now_ms),
            card=record.get("card", ""),
            trouble=_TROUBLES.get(record.get("trouble", "")),
        )

    async def backup_due(self, days: float = 7) -> builtins.list[Summary]:
        """Jobs and cards with changes that for ``days`` have been in no exported file."""
        limit = self._clock.now_ms - days * DAY_MS
        every = [*await self.list("job"), *await self.list("card")]
        return [s for s in every if s.unsaved and (s.last_export_ms or s.created_ms) < limit]

    async def load(self, id: str) -> Document:
        """A job or card. Raises Refused ("none", "newer", "broken")."""
        try:
            document = await self._backend.read(id)
        except Refused as refused:
            if refused.code != "broken" or id not in self._seen:
                raise
            document = None
        if document is None:
            return await self._change(id, lambda present: present)  # put back, if it was seen lately
        self._see(document)
        return document

    async def read(self, id: str) -> Document | None:
        """A job or card to look through: unlike one that is loaded it is not held. Raises Refused ("newer", "broken")."""
        return await self._backend.read(id)

    async def revisions(self, kind: Literal["job", "card"] = "job") -> dict[str, Revision]:
        """What the index says of every job or card, by id."""
        return {
            id: Revision(str(r.get("revision", "")), bool(r.get("deleted")), r.get("changed", ""), r.get("title", ""))
            for id, r in (await self._records()).items()
            if r.get("type", "job") == kind
        }

    async def conflicts(self, id: str) -> tuple[HeaderConflict, ...]:
        """The header fields that two copies set apart; setting a field again settles it."""
        return conflicts(await self.load(id))

    # -- changing --------------------------------------------------------------------
    async def create(self, type: Literal["job", "card"] = "job", *, by: str = "", **header: Any) -> Document:
        """A new job or card with the header fields given. A number is anything the number pad gives."""
        id = new_id()
        fresh = Document(id=id, type=type)
        return await self._change(id, lambda present: self._with_header(present or fresh, by, header), new=True)

    async def append(self, id: str, *drafts: Any, by: str = "") -> tuple[Any, ...]:
        """Store entries made with :mod:`store.draft`; gives them as stored, in order.

        Returns when they are durable. The same drafts may be handed over again after a
        failure: an entry already stored is not stored twice.
        """
        stored: dict[str, Any] = {}

        def do(present: Document) -> Document:
            there = ledger_of(present)
            new = self._stamped(there, [d for d in drafts if d.id not in there.by_id], by)
            stored.update({d.id: there.by_id[d.id] for d in drafts if d.id in there.by_id})
            stored.update({entry.id: entry for entry in new})
            return add_entries(present, new) if new else present

        await self._change(id, do)
        return tuple(stored[d.id] for d in drafts)

    def stamped(self, id: str, *drafts: Any, by: str = "") -> tuple[Any, ...]:
        """The drafts as :meth:`append` will store them if nothing comes in between: to be shown while they are stored."""
        seen = self._seen.get(id)
        return tuple(self._stamped(Ledger(()) if seen is None else ledger_of(seen), drafts, by))

    def _stamped(self, there: Ledger, drafts: Iterable[Any], by: str) -> builtins.list[Any]:
        """Drafts with a stamp later than all they supersede. One stamped here before keeps its stamp where that still holds."""
        made: builtins.list[Any] = []
        fresh = Ledger(())
        for draft in drafts:
            after = max(there.superseded(draft), fresh.superseded(draft))
            if draft.device == self.device and draft.stamp > after:
                entry = draft
            else:
                update = {"stamp": self._clock.tick(after), "device": self.device, "by": by or self._name}
                entry = draft.model_copy(update=update)
            made.append(entry)
            fresh.follow((), (entry,))
        return made

    async def set_header(self, id: str, *, by: str = "", **fields: Any) -> Document:
        """Set header fields; None clears one. Setting a field that is in conflict settles it."""
        return await self._change(id, lambda present: self._with_header(present, by, fields))

    async def delete(self, id: str, *, by: str = "") -> None:
        """Mark a job or card as deleted. Nothing is removed: :meth:`restore` brings it back."""
        await self.set_header(id, by=by, deleted=True)

    async def restore(self, id: str, *, by: str = "") -> None:
        """Take a deletion back."""
        await self.set_header(id, by=by, deleted=False)

    @property
    def _name(self) -> str:
        return str(self._settings.get("name") or "")

    def _with_header(self, document: Document, by: str, fields: Mapping[str, Any]) -> Document:
        for key, value in fields.items():
            if value is not None and not isinstance(value, (str, bool, int, Typed)):
                value = typed(value)  # noqa: PLW2901  # narrowed on the way
            if not header_fits(key, value):
                raise Refused(L("That makes no sense here, so it is not stored."), "header")
            standing = heads(document, key)
            if len(standing) <= 1 and _same(value_of(document, key), value):
                continue
            stamp = self._clock.tick(latest_stamp(document, key))
            try:
                document = set_value(document, key, value, stamp, by or self._name)
            except ValidationError as problem:
                raise refusal(problem) from problem
        return document

    async def _change(self, id: str, do: Callable[[Document], Document], new: bool = False) -> Document:
        def complete(present: Document | None) -> Document:
            known = self._known(id, present)
            if known is None and not new:
                raise Refused(L("There is no such job on this device."), "none")
            return do(known)  # type: ignore[arg-type]

        document = await self._backend.change(id, complete, lambda: self._clock.last)
        self._see(document)
        return document

    def _known(self, id: str, present: Document | None) -> Document | None:
        """What is stored, with whatever this process saw stored and storage has lost since."""
        seen = self._seen.get(id)
        if seen is None or seen is present:
            return present
        if present is None:
            self._cleared()
            return seen
        whole = merge(present, seen)
        return present if whole == present else whole

    def _cleared(self) -> None:
        """Note that what this process saw stored is not there any more."""
        if CLEARED not in self._backend.troubles:
            self._backend.troubles.append(CLEARED)

    async def _records(self) -> Mapping[str, Record]:
        """The index. Where storage was cleared underneath, what was seen lately is put back first."""
        records = await self._backend.records()
        lost = [id for id in self._seen if id not in records]
        if not lost:
            return records
        self._cleared()
        try:
            await self._backend.put("device", lambda old: old if _is_device(old) else {"id": self.device})
            await self._backend.put("settings", lambda old: {**self._settings, **_table(old)})
            for id in lost:
                await self._change(id, lambda present: present)
        except NotSaved:
            pass  # still held here: the next look tries again
        return await self._backend.records()

    def _see(self, document: Document) -> None:
        self._seen[document.id] = document
        self._seen.move_to_end(document.id)
        while len(self._seen) > _SEEN:
            self._seen.popitem(last=False)

    # -- files -----------------------------------------------------------------------
    async def export(
        self, ids: Iterable[str] | None = None, *, photos: bool = False, passphrase: str = "", names: bool = False
    ) -> bytes:
        """Jobs and cards as one file (None: everything that can be read); notes when that was.

        A machine's card carries what those of its jobs taught that are not in the file, with their ``names`` only if
        asked. ``photos`` puts the pictures in as well; a ``passphrase`` encrypts the file. The titles
        of what cannot be read here, and so is not in a file of everything, are then in ``left_out``.
        """
        pieces = self.export_pieces(ids, photos=photos, passphrase=passphrase, names=names)
        return b"".join([piece async for piece in pieces])

    async def export_pieces(
        self, ids: Iterable[str] | None = None, *, photos: bool = False, passphrase: str = "", names: bool = False
    ) -> AsyncIterator[bytes]:
        """The same file piece by piece, so that never more than one photo, or one piece of a locked file, is
        in memory. It counts as made once the last piece was taken; ``exported`` then tells what it holds."""
        from . import seal

        plain = self._export_pieces(ids, photos, names)
        if not passphrase:
            async for piece in plain:
                yield piece
            return
        sealer = seal.Sealer(seal.checked(passphrase))
        async for piece in plain:
            ready = await sealer.add(piece)
            if ready:
                yield ready
        yield await sealer.end()

    async def _export_pieces(self, ids: Iterable[str] | None, photos: bool, names: bool) -> AsyncIterator[bytes]:
        from . import carried, transfer

        records = await self._records()
        revisions = {id: record.get("revision") for id, record in records.items()}
        wanted = list(records if ids is None else ids)
        marks, left_out = {}, []
        self.left_out = ()
        writer = transfer.Writer(device=self.device, made_ms=self._clock.now_ms)
        with_records = await carried.carrier(self, wanted, names=names)
        for id in wanted:
            try:
                writer.add(with_records(await self.load(id)))
            except Refused as refused:
                if ids is not None or refused.code not in ("newer", "broken"):
                    raise
                left_out.append(records[id].get("title") or id)
                continue
            # a change that comes in between counts as not exported, which errs on the safe side
            marks[id] = {"ms": self._clock.now_ms, "revision": revisions.get(id)}
        self.left_out = tuple(left_out)
        for piece in writer.begin():
            yield piece
        for digest in sorted(writer.digests) if photos else ():
            kept = await self._backend.get_photo(digest)
            if kept:
                yield writer.photo(digest, *kept)
        yield writer.end()
        self.exported = Exported(len(marks), tuple(writer.sums))
        with contextlib.suppress(NotSaved):  # no room for the note: the file is good, and counts as not made
            await self._backend.put("exports", lambda old: {**_table(old), **marks})

    async def not_exported(self, ids: Iterable[str] | None = None) -> None:
        """The file just made was let be: the jobs in it (None: all) count as in no file again."""
        away = None if ids is None else set(ids)
        await self._backend.put(
            "exports", lambda old: {} if away is None else {k: v for k, v in _table(old).items() if k not in away}
        )

    async def examine(self, data: bytes | Source, *, passphrase: str = "", whole_parts: bool = False) -> Incoming:
        """Check a file completely; nothing is stored. Raises Refused, saying what is wrong with it.

        A part that must be refused does not keep the others out: ``notices`` names it, and
        :meth:`take_in` keeps it aside. ``data`` may be a source that is read in pieces.

        Code "passphrase" asks for one (or for the right one); code "truncated" means the
        file breaks off: with ``whole_parts`` what is whole in it is accepted.
        """
        from . import pieces, seal, transfer

        here = {k: r.get("type", "job") for k, r in (await self._backend.records()).items()}
        asked: Asking = {"now_ms": self._clock.now_ms, "here": here, "whole_parts": whole_parts}
        source = pieces.Held(data) if isinstance(data, bytes) else data
        if seal.sealed(source.read(0, 64)):
            opened = await seal.unsealed(source, passphrase)
            if isinstance(opened, seal.Opened):
                return await transfer.examine_slowly(opened, **asked)
            source = opened
        return transfer.examine(source, apart=True, **asked)

    async def take_in(self, incoming: Incoming, progress: Callable[[int, int], None] | None = None) -> MergeReport:
        """Merge an examined file into what is here. Taking the same file in twice changes nothing.

        Documents are stored one by one; if it is interrupted, take the file in again.
        ``progress`` is told how many of how many are done.
        """
        added = unchanged = 0
        found: list[HeaderConflict] = []
        new: list[str] = []
        for digest in incoming.photos:
            try:
                picture = await incoming.photos.fetch(digest)
            except KeyError as gone:  # the file has changed since it was looked at
                raise Refused(L("A photo in the file is damaged."), "damaged") from gone
            await self._backend.put_photo(digest, *picture)
        for _, text in incoming.aside:
            await self._backend.put_aside(text)
        for count, document in enumerate(incoming.documents(), start=1):
            was: list[Document | None] = []
            gained = await self._take(document, was)
            added += gained
            unchanged += len(document.entries) - gained
            if was[-1] is None:
                new.append(document.id)
            found += conflicts(self._seen[document.id])
            if progress:
                progress(count, incoming.count)
        return MergeReport(added, unchanged, tuple(found), tuple(new))

    async def _take(self, document: Document, was: Was | None = None) -> int:
        """Merge a document into what is here; gives how many entries were new. ``was`` gets what was here."""
        before: Was = [] if was is None else was

        def do(present: Document | None) -> Document:
            known = self._known(document.id, present)
            before[:] = [known]
            if known is None:
                return document
            whole = merge(known, document)
            return known if whole == known else whole

        for stamp in stamps(document):
            self._clock.see(stamp)
        after = await self._backend.change(document.id, do, lambda: self._clock.last)
        self._see(after)
        return len(after.entries) - (len(before[0].entries) if before[0] else 0)

    async def second_copies(self) -> tuple[str, ...]:
        """Names of second copies of jobs that lie beside them, as a shared folder makes where two were
        at work: :meth:`merge_copy` takes each into its job."""
        await self._records()
        return tuple(await self._backend.second_copies())

    async def merge_copy(self, name: str) -> int:
        """Merge a second copy into its job, and put it aside; gives how many entries were new."""
        document = (await self._backend.second_copies()).get(name)
        if document is None:
            raise Refused(L("There is no such copy any more."), "none")
        added = await self._take(document)
        await self._backend.settle_copy(name)
        return added

    # -- this device -------------------------------------------------------------------
    async def setting(self, key: str, default: Any = None) -> Any:
        """A setting of this device: units shown, theme, language, the person's name, the present place."""
        return self._settings.get(key, default)

    async def set_setting(self, key: str, value: Any) -> None:
        """Keep a setting on this device (plain JSON data). It is never exported."""
        self._settings = await self._backend.put("settings", lambda old: {**self._settings, **_table(old), key: value})

    async def noted(self, key: str) -> dict[str, Any]:
        """What was noted beside the index under ``key``; nothing where that is lost: it can be made anew."""
        return _table(await self._backend.get(key))

    async def note(self, key: str, change: Callable[[dict[str, Any]], dict[str, Any]]) -> None:
        """Change what is noted beside the index under ``key`` (plain JSON data), in one step."""
        await self._backend.put(key, lambda old: change(_table(old)))

    async def put_photo(self, data: bytes, media: str) -> str:
        """Keep a photo on this device; gives the digest to put in a photo entry."""
        if media not in _PHOTO_STARTS or not data.startswith(_PHOTO_STARTS[media]):
            raise Refused(L("Only JPEG, PNG and WebP pictures can be kept."), "media")
        if len(data) > _PHOTO_BYTES:
            raise Refused(L("That picture is too large: at most {count} MB.", count=_PHOTO_BYTES // 1_000_000), "size")
        digest = hashlib.sha256(data).hexdigest()
        await self._backend.put_photo(digest, media, data)
        return digest

    async def get_photo(self, digest: str) -> tuple[str, bytes] | None:
        """A photo's media type and bytes; None if it is not on this device."""
        return await self._backend.get_photo(digest)


def _table(noted: Any) -> dict[str, Any]:
    """What was noted under names; nothing where the note makes no sense."""
    return noted if isinstance(noted, dict) else {}


def _is_device(noted: Any) -> bool:
    return isinstance(noted, dict) and isinstance(noted.get("id"), str) and bool(_ID.fullmatch(noted["id"]))


def _same(a: Any, b: Any) -> bool:
    return type(a) is type(b) and a == b
