"""The records of a job's machines: what earlier jobs taught, from this device and from what the kit cards carry.

A job counts once: one that is here speaks for itself, others are taken from the card. The job
in hand is never part of its own machines' record, and with the field "Earlier jobs of these
machines" switched off there is none.
"""

from __future__ import annotations

from collections.abc import Mapping

from logic import machine_record
from logic.bore_prior import FINISHING, Process
from logic.fields import Select
from logic.job_record import JobRecord, read_record
from logic.machine_record import USUAL_CUT_MM, BarModel, Basis, Range, Series, basis
from logic.pooling import predict, sums

from ..clock import ms_of
from ..documents import Chosen, Reading
from ..fields.bores import MATERIAL
from ..fields.oversize import BORED_U
from ..fields.record import BAR_FIT, HONE_FIT, USE
from ..graph import fact
from ..view import View

__all__ = [
    "BAR_DOUBT",
    "HISTORY_MEASURED",
    "HISTORY_SET",
    "HONE_DOUBT",
    "NAME",
    "ROW",
    "STEPS",
    "bar_fit",
    "bar_record",
    "bored_taper",
    "bored_u_basis",
    "bored_u_mm",
    "earlier",
    "every_job",
    "finished_before",
    "hone_fit",
    "job_minutes",
    "made_like",
    "minutes_per_bore",
    "other_machines",
    "rows_of_text",
    "told",
]

#: Under this key, at (job, part), a card carries the records of jobs of other devices: see :func:`rows_of_text`.
ROW = "record.row"
#: Under this key, at (job), a card carries the name of such a job where somebody asked for the names.
NAME = "record.name"
#: Under these keys, at (job, cylinder, pass), a bar's card may keep what the bar cut in earlier jobs, as diameters.
HISTORY_SET, HISTORY_MEASURED = "bias.set", "bias.measured"
#: The doubts that a job raises which does not fit the record of bar or hone.
BAR_DOUBT, HONE_DOUBT = "record.bar", "record.hone"
#: The steps of which the jobs tell how long one bore takes.
STEPS = ("bores", "cut", "hone", "final")
_DAY_MS = 86_400_000
_WIDTH = 180


# -- what a card carries ---------------------------------------------------------------------
def rows_of_text(mark: str, text: str) -> tuple[str, ...]:
    """A record's line cut to fit entries: each piece with a mark of its version, its number and how many there are."""
    pieces = [text[i : i + _WIDTH] for i in range(0, len(text), _WIDTH)]
    return tuple(f"{mark} {n}/{len(pieces)} {piece}" for n, piece in enumerate(pieces, start=1))


def _piece(text: str) -> tuple[str, int, int, str] | None:
    mark, _, rest = text.partition(" ")
    counted, _, piece = rest.partition(" ")
    number, _, of = counted.partition("/")
    return (mark, int(number), int(of), piece) if number.isdecimal() and of.isdecimal() and mark else None


def _whole(pieces: Mapping[int, tuple[str, str]]) -> str | None:
    """The line that the pieces of the latest version add up to (by number: stamp and text); None where one is missing."""
    parts = [(stamp, found) for stamp, text in pieces.values() if (found := _piece(text)) is not None]
    if not parts:
        return None
    _, (mark, _, of, _) = max(parts, key=lambda p: p[0])
    line = {number: piece for _, (m, number, _, piece) in parts if m == mark}
    return "".join(line[n] for n in range(1, of + 1)) if all(n in line for n in range(1, of + 1)) else None


@fact
def told(card: View) -> tuple[JobRecord, ...]:
    """The records a card itself carries, one for each job: of other devices, and of jobs logged on it pair by pair.
    ``card`` is the card's own view."""
    pieces: dict[str, dict[int, tuple[str, str]]] = {}
    for where, value in card.all(ROW).items():
        at, entry = dict(where), value.entry
        if isinstance(entry, Chosen) and isinstance(at.get("part"), int):
            pieces.setdefault(str(at.get("job", "")), {})[int(at["part"])] = (entry.stamp, entry.value)
    found = {job: r for job, rows in pieces.items() if (line := _whole(rows)) and (r := read_record(job, line))}
    for job, record in _logged(card).items():
        found.setdefault(job, record)
    return tuple(sorted(found.values(), key=lambda r: (r.day, r.job)))


def _logged(card: View) -> dict[str, JobRecord]:
    """The jobs of which a bar's card holds every pair."""
    measured = card.all(HISTORY_MEASURED)
    rows: dict[str, list[tuple[float, float, int]]] = {}
    for where, value in card.all(HISTORY_SET).items():
        entry = value.entry
        if where in measured and isinstance(entry, Reading):
            cylinder = dict(where).get("cylinder", 1)
            row = (measured[where].value - value.value, ms_of(entry.stamp) / _DAY_MS, int(cylinder))
            rows.setdefault(str(dict(where).get("job", "")), []).append(row)
    return {
        job: JobRecord(
            job=job,
            day=max(day for _, day, _ in found),
            bar=card.id,
            cylinders=len({c for _, _, c in found}),
            bias=sums([b for b, _, _ in found]),
        )
        for job, found in rows.items()
    }


# -- the records -------------------------------------------------------------------------------
@fact
def earlier(view: View, role: str) -> tuple[JobRecord, ...]:
    """The records of the earlier jobs of the machine chosen for ``role`` ("bar", "hone"), oldest first; () without."""
    card = view.card(role)
    if card is None or view.choice(USE) == "off":
        return ()
    here = {r.job: r for r in view.record(role)}
    carried = {r.job: r for r in told(card)}
    found = {**carried, **here}
    found.pop(view.id, None)
    return tuple(sorted(found.values(), key=lambda r: (r.day, r.job)))


def _said(view: View, field: Select, doubt: str) -> str:
    """What somebody said of this job where it does not fit a record: a choice, or that it was checked and is right."""
    stated = view.choice(field)
    if stated is not None:
        return stated
    said = any(key == f"doubt.{doubt}" or key.startswith(f"doubt.{doubt}.") for key, _ in view.decisions)
    return "counts" if said else ""


@fact
def bar_fit(view: View) -> str:
    """What somebody said of this job against the bar's record; "" for nothing."""
    return _said(view, BAR_FIT, BAR_DOUBT)


@fact
def hone_fit(view: View) -> str:
    """What somebody said of this job against the hone's record; "" for nothing."""
    return _said(view, HONE_FIT, HONE_DOUBT)


@fact
def other_machines(view: View, role: str) -> tuple[tuple[JobRecord, ...], ...]:
    """The jobs of the person's other machines of a role, one tuple for each machine."""
    return machine_record.by_machine(view.record(), role, view.word(role))


@fact
def bar_record(view: View) -> BarModel | None:
    """The bias of the chosen bar by its earlier jobs; None where there are none."""
    rows = earlier(view, "bar")
    if not any(r.bias is not None for r in rows):
        return None
    return machine_record.bar_model(rows, other_machines(view, "bar"))


@fact
def bored_u_mm(view: View) -> float:
    """How well a bore comes out at the size it is set to, as a standard uncertainty: entered, else by the bar's record,
    else common practice."""
    stated, model = view.get(BORED_U), bar_record(view)
    if stated.entered or model is None or not model.series.used:
        return stated.value
    at = model.x(size_mm=view.nominal_mm or 0.0, cut_mm=USUAL_CUT_MM, age=0.0, iron=view.choice(MATERIAL))
    return model.next_mm(at).u_next


@fact
def bored_u_basis(view: View) -> Basis | None:
    """What :func:`bored_u_mm` rests on; None where it is no bar's record."""
    model = bar_record(view)
    return None if view.get(BORED_U).entered or model is None else model.series.basis


@fact
def bored_taper(view: View) -> Series | None:
    """The taper the chosen bar leaves; None where no earlier job tells."""
    rows = earlier(view, "bar")
    if not any(r.of("bored.taper") for r in rows):
        return None
    return machine_record.shape_model(rows, "bored.taper", other_machines(view, "bar"))


@fact
def finished_before(view: View) -> tuple[JobRecord, ...]:
    """The jobs whose finished bores were read: those of the hone, else those of the bar."""
    for role in ("hone", "bar"):
        rows = tuple(r for r in earlier(view, role) if r.of("made.level") is not None and r.hone_fit != "aside")
        if rows:
            return rows
    return ()


@fact
def made_like(view: View) -> Process:
    """What bores finished with these machines are like: by their record, else by common practice."""
    rows = finished_before(view)
    return machine_record.process_of(rows) if rows else FINISHING


# -- time ----------------------------------------------------------------------------------------
@fact
def every_job(view: View) -> tuple[JobRecord, ...]:
    """The person's own earlier jobs, whatever the machine."""
    return () if view.choice(USE) == "off" else tuple(r for r in view.record() if r.job != view.id)


@fact
def minutes_per_bore(view: View, step: str) -> tuple[Range, Basis] | None:
    """Minutes that one bore takes in a step ("bores", "cut", "hone", "final"), 19 times in 20, by the person's own jobs,
    and what that rests on; None where no earlier job tells."""
    rows = [r for r in every_job(view) if r.of(f"minutes.{step}") is not None]
    if not rows:
        return None
    series = machine_record.minutes_model(rows, step)
    resting = series.basis
    return None if resting is None else (machine_record.range_of(predict(series.learned)), resting)


@fact
def job_minutes(view: View, step: str) -> tuple[float, float, Basis] | None:
    """Minutes that all of this job's bores take in a step, by the person's own jobs: mean, standard deviation and what
    that rests on; None where no earlier job tells.

    A bore's time is log-normal; what differs from job to job is shared by its bores.
    """
    rows = [r for r in every_job(view) if r.of(f"minutes.{step}") is not None]
    return (*machine_record.minutes_of_job(rows, step, len(view.cylinders)), basis(rows)) if rows else None
