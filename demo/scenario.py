"""The invented job: a four-cylinder tractor engine, rebored and honed where it stands.

Nothing here was measured. Cylinder 3 has the largest diameter and governs. Cylinder 2
is not large, but all its wear is on one side, so the rule of the largest diameter would
leave it unclean. Sizes are typed as an inch person would, deviations in thou.
"""

from __future__ import annotations

from store.documents import Document

from .notebook import Notebook

__all__ = ["BY", "JOB", "MADE_MS", "documents"]

JOB = "demojob00001"
BAR, HONE, GAUGE, MICROMETER = "democardbar1", "democardhon1", "democardgau1", "democardmic1"
BY = "Demo (invented)"
#: When the demo's export file says it was made: 2025-09-18 18:00 UTC.
MADE_MS = 1_758_218_400_000

#: Gauge readings in thou from the zero at 3.0000 in: cylinder -> depths from the top, (thrust axis, crank line).
WORN = {
    1: (("+9.0", "+5.0"), ("+5.0", "+2.5"), ("+0.5", "0")),
    2: (("+10.0", "+4.5"), ("+5.5", "+2.5"), ("+0.5", "+0.5")),
    3: (("+15.5", "+7.0"), ("+8.0", "+3.5"), ("+0.5", "+0.5")),
    4: (("+8.5", "+5.5"), ("+4.5", "+2.5"), ("0", "0")),
}
DEPTHS = ("0.60", "2.20", "4.30")


def _worn(job: Notebook) -> None:
    """Temperatures, the gauge's zero, the readings and what was seen of the wear."""
    job.put("bore.block_temperature", "24")
    job.put("bore.zero_temperature", "24")
    job.put("bore.length", "4.75")
    job.put("bore.spacing", "3.40")
    for depth, said in enumerate(DEPTHS, 1):
        job.put("bore.depth", said, depth=depth)
    job.put("bore.ring_bottom", "4.00")
    for cylinder, rows in WORN.items():
        for depth, row in enumerate(rows, 1):
            for axis, said in zip(("thrust", "crank"), row):
                job.put("bore.reading", said, cylinder=cylinder, depth=depth, axis=axis)
    job.later(minutes=4)
    job.put("bore.side", "even", cylinder=1)
    job.put("bore.side", "one side", cylinder=2)
    job.put("bore.side", "swept", cylinder=3)
    job.put("bore.offset", "3.0", cylinder=3)
    job.put("bore.side", "even", cylinder=4)


def _job() -> Document:
    job = Notebook(JOB, "2025-09-15 08:00", by=BY)
    job.header(
        title="Demo: tractor engine, four cylinders (invented)",
        customer="Invented customer",
        engine="Invented 1.6 litre engine",
        nominal="3.000 in",
        cylinders=4,
    )
    _worn(job)
    return job.document()


def documents() -> list[Document]:
    """The job and its kit cards. The same every time."""
    return [_job()]
