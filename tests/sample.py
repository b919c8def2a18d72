"""A finished job that the tests lean on, and its kit: four cylinders, every step done, made up.

The demo may change with what is to be shown; this stays as it is. Nothing here was
measured. Cylinder 3 has the largest diameter and governs. Cylinder 2 is not large, but all
its wear is on one side, so the rule of the largest diameter would leave it unclean. Sizes
are typed as an inch person would, deviations in thou.
"""

from __future__ import annotations

from demo.kit import BY, Ids, kit
from demo.notebook import DEVICE, Notebook
from logic.say import say
from store.documents import Document
from store.jobs import Jobs
from store.sheets import oversize
from store.transfer import write
from store.view import View

__all__ = ["JOB", "documents", "export", "load"]

JOB = "demojob00001"
KIT = Ids("democardbar1", "democardhon1", "democardgau1", "democardmic1", ("demooldjob01", "demooldjob02"))
#: When the export file says it was made: 2025-09-18 18:00 UTC.
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
    job.put("bore.ring_top", "0.50")
    job.put("bore.ring_bottom", "4.00")
    for cylinder, rows in WORN.items():
        for depth, row in enumerate(rows, 1):
            for axis, said in zip(("thrust", "crank"), row, strict=True):
                job.put("bore.reading", said, cylinder=cylinder, depth=depth, axis=axis)
    job.later(minutes=4)
    job.put("bore.side", "even", cylinder=1)
    job.put("bore.side", "one side", cylinder=2)
    job.put("bore.side", "swept", cylinder=3)
    job.put("bore.offset", "3.0", cylinder=3)


#: Top face: along the block, across it, and the height over a bar in the main bearings, all in inches.
FACE = (
    ("0.50", "2.20", "8.6014"),
    ("0.50", "-2.20", "8.6012"),
    ("6.75", "2.20", "8.6011"),
    ("6.75", "-2.20", "8.6010"),
    ("13.00", "2.20", "8.6009"),
    ("13.00", "-2.20", "8.6008"),
)


def _face(job: Notebook) -> None:
    job.put("face.first_bore", "1.65")
    job.put("face.height_u", "0.2")
    for point, (x, y, height) in enumerate(FACE, 1):
        job.put("face.x", x, point=point)
        job.put("face.y", y, point=point)
        job.put("face.height", height, point=point)


#: Cylinder 4 swept with the spindle centred on the unworn lower end: thou every 45 degrees from the front, by depth.
SWEPT = {
    1: ("+2.7", "+3.5", "+4.6", "+3.6", "+2.8", "+3.3", "+3.9", "+3.2"),
    3: ("0", "+0.1", "0", "0", "0", "0", "0", "0"),
}


def _sweep(job: Notebook) -> None:
    for depth, row in SWEPT.items():
        for step, said in enumerate(row):
            job.put("sweep.reading", said, cylinder=4, depth=depth, angle=45 * step)


#: Thickness gauge at four places round each bore, front, left, rear, right, in inches as the gauge showed it.
WALLS = {
    1: ("0.284", "0.271", "0.262", "0.276"),
    2: ("0.260", "0.268", "0.263", "0.279"),
    3: ("0.262", "0.270", "0.261", "0.273"),
    4: ("0.263", "0.275", "0.288", "0.280"),
}
ANGLES = (0, 90, 180, 270)


def _walls(job: Notebook) -> None:
    job.put("wall.known", "0.312", piece=1)
    job.put("wall.shown", "0.398", piece=1)
    job.put("wall.minimum", "0.120")
    job.put("wall.thrust", "left")
    for cylinder, row in WALLS.items():
        for angle, said in zip(ANGLES, row, strict=True):
            job.put("wall.reading", said, cylinder=cylinder, angle=angle)


#: New pistons as measured at 24 °C, in inches.
PISTONS = {1: "3.0281", 2: "3.0283", 3: "3.0282", 4: "3.0282"}
PISTON_GRAMS = {1: "412.4", 2: "411.9", 3: "413.1", 4: "412.2"}


def _sizes(job: Notebook) -> None:
    job.put("sizes.alloy", "hyper")
    job.put("sizes.clearance", "2.0")
    job.put("sizes.piston_temperature", "24")
    for cylinder, said in PISTONS.items():
        job.put("sizes.piston", said, cylinder=cylinder)
    for cylinder, said in PISTON_GRAMS.items():
        job.put("fitting.weight", said + " g", cylinder=cylinder)


def _clamp(job: Notebook) -> None:
    job.put("clamp.thread", "M12")
    job.put("clamp.grade", "8.8")
    job.put("clamp.torque", "40 N·m")
    job.put("clamp.studs", "2")


#: Settings and the sizes they left, pass by pass, in inches. The bar cuts about 0.4 thou over its setting.
PASSES = {
    1: (("3.0165", "3.0169"), ("3.0266", "3.0270")),
    2: (("3.0165", "3.0170"), ("3.0267", "3.0272")),
    3: (("3.0165", "3.0169"), ("3.0267", "3.0271")),
    4: (("3.0165", "3.0169"), ("3.0267", "3.0271")),
}


def _cut(job: Notebook) -> None:
    job.put("cut.block", "24")
    for cylinder, passes in PASSES.items():
        for number, (setting, measured) in enumerate(passes, 1):
            if cylinder == 1 and number == 1:
                job.put("cut.edge", "fresh", cylinder=cylinder, **{"pass": number})
            job.put("cut.setting", setting, cylinder=cylinder, **{"pass": number})
            job.later(minutes=22)
            job.put("cut.measured", measured, cylinder=cylinder, **{"pass": number})
            job.later(minutes=6)


def _chamfer(job: Notebook) -> None:
    for cylinder, (touch, stopped) in {
        1: ("0.100", "0.130"),
        2: ("0.100", "0.130"),
        3: ("0.100", "0.131"),
        4: ("0.100", "0.130"),
    }.items():
        job.put("chamfer.touch", touch, cylinder=cylinder)
        job.put("chamfer.stopped", stopped, cylinder=cylinder)
    job.put("chamfer.measured", "0.030", cylinder=1)


#: Honing checks: strokes since the check before, grit, wall temperature, sizes at top, middle and bottom in inches.
HONED = {
    1: (
        (0, None, "24", ("3.0270", "3.0270", "3.0270")),
        (22, "150", "29", ("3.0286", "3.0287", "3.0286")),
        (26, "220", "30", ("3.0298", "3.0299", "3.0298")),
        (14, "280", "24", ("3.0301", "3.0301", "3.0301")),
    ),
    2: (
        (0, None, "24", ("3.0272", "3.0272", "3.0271")),
        (22, "150", "29", ("3.0287", "3.0288", "3.0287")),
        (26, "220", "30", ("3.0300", "3.0301", "3.0300")),
        (14, "280", "24", ("3.0303", "3.0303", "3.0303")),
    ),
    3: (
        (0, None, "24", ("3.0271", "3.0271", "3.0271")),
        (22, "150", "29", ("3.0287", "3.0287", "3.0287")),
        (26, "220", "30", ("3.0299", "3.0300", "3.0299")),
        (14, "280", "24", ("3.0302", "3.0302", "3.0302")),
    ),
    4: (
        (0, None, "24", ("3.0271", "3.0271", "3.0271")),
        (22, "150", "29", ("3.0287", "3.0287", "3.0286")),
        (26, "220", "30", ("3.0299", "3.0300", "3.0299")),
        (14, "280", "24", ("3.0302", "3.0302", "3.0302")),
    ),
}


def _hone(job: Notebook) -> None:
    job.put("hone.face", "moly")
    job.put("hone.block", "24")
    job.put("hone.clear", "2.6")
    for cylinder, checks in HONED.items():
        for number, (strokes, grit, wall, sizes) in enumerate(checks, 1):
            at = {"cylinder": cylinder, "check": number}
            if grit is not None:
                job.put("hone.strokes", str(strokes), **at)
                job.put("hone.grit", grit, **at)
            job.put("hone.temperature", wall, **at)
            for depth, said in enumerate(sizes, 1):
                job.put("hone.size", said, depth=depth, **at)
            job.later(minutes=5)
    for cylinder, ra in {1: "18", 2: "17", 3: "19", 4: "18"}.items():
        job.put("hone.ra", ra, cylinder=cylinder)


#: Final readings in thou from the gauge's zero at 3.0300 in: depths from the top, (thrust axis, crank line).
FINAL = {
    1: (("0", "+0.1"), ("+0.1", "+0.1"), ("0", "0")),
    2: (("+0.2", "+0.2"), ("+0.3", "+0.2"), ("+0.2", "+0.2")),
    3: (("+0.1", "+0.1"), ("+0.2", "+0.1"), ("+0.1", "+0.1")),
    4: (("+0.1", "+0.1"), ("+0.1", "+0.2"), ("+0.1", "+0.1")),
}


def _final(job: Notebook) -> None:
    job.put("final.washed", "yes")
    job.put("final.zero", "3.0300")
    job.put("final.zero_temperature", "22")
    job.put("final.block_temperature", "22")
    for cylinder, rows in FINAL.items():
        for depth, row in enumerate(rows, 1):
            for axis, said in zip(("thrust", "crank"), row, strict=True):
                job.put("final.reading", said, cylinder=cylinder, depth=depth, axis=axis)


#: Ring gaps in thou, from the crown down: two compression rings, two oil rails.
GAPS = {
    1: ("14", "15", "22", "23"),
    2: ("14", "15", "21", "22"),
    3: ("14", "16", "22", "24"),
    4: ("14", "15", "23", "22"),
}


def _rings(job: Notebook) -> None:
    for cylinder, row in GAPS.items():
        for ring, said in enumerate(row, 1):
            job.put("rings.gap", said, cylinder=cylinder, ring=ring)


def _compression(job: Notebook) -> None:
    for key, said in {
        "stroke": "3.500",
        "chamber": "46 cm3",
        "gasket_bore": "3.120",
        "gasket": "47",
        "deck": "+15",
        "deck_again": "+17",
        "stands": "below",
        "crown": "4 cm3",
    }.items():
        job.put(f"compression.{key}", said)


def _clean(job: Notebook) -> None:
    for what in ("coolant", "oil", "covered", "studs"):
        job.put(f"strip.{what}", "yes")
    job.put("parts.ordered", "here")
    for what in (
        "chips",
        "bores",
        "oilways",
        "holes",
        "jackets",
        "core_plugs",
        "deck",
        "rust",
        "covers",
        "oil",
        "running_in",
        "report",
        "place",
    ):
        job.put(f"clean.{what}", "none" if what == "core_plugs" else "yes")


def _job(kit: list[Document]) -> Document:
    job = Notebook(JOB, "2025-09-15 08:00", by=BY)
    job.header(
        title="Demo: tractor engine, four cylinders (invented)",
        customer="Invented customer",
        engine="Invented 1.6 litre engine",
        nominal="3.000 in",
        cylinders=4,
        bar=KIT.bar,
        hone=KIT.hone,
        gauge=KIT.gauge,
        micrometer=KIT.micrometer,
    )
    job.later(minutes=20)
    _worn(job)
    job.later(minutes=25)
    _walls(job)
    job.later(minutes=15)
    _face(job)
    job.later(minutes=20)
    _sweep(job)
    job.later(minutes=5)
    advised = oversize.work(View(job.document(), {d.id: View(d) for d in kit})).results[0]
    job.decide("oversize", "+0.030 in", number_mm=0.762, advised=say(advised.line))
    job.note("Ordered four pistons with rings, 0.030 in over (invented).")
    job.later(days=1)
    _sizes(job)
    job.later(minutes=40)
    _clamp(job)
    job.later(minutes=30)
    _cut(job)
    _chamfer(job)
    job.later(hours=14)
    _hone(job)
    job.later(hours=2)
    _final(job)
    _rings(job)
    _compression(job)
    job.later(hours=1)
    _clean(job)
    return job.document()


def documents() -> list[Document]:
    """The job and its kit cards. The same every time."""
    made = kit(KIT, strokes_per_minute="60")
    return [_job(made), *made]


def export() -> bytes:
    """The sample as an export file."""
    return write(documents(), device=DEVICE, made_ms=MADE_MS)


async def load(jobs: Jobs) -> int:
    """Merge the sample into what is on a device; how many entries were new."""
    return (await jobs.take_in(await jobs.examine(export()))).added
