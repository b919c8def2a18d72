"""The invented job: a three-cylinder tractor engine, rebored and honed where it stands.

Nothing here was measured, and no engine that we know of was ever made with this bore,
stroke and number of cylinders. What it shows: cylinder 3 has the largest diameter, but
cylinder 2 decides, because all its wear is on one side; a reading with its digits turned
round is caught, because the sweep contradicts it; one step is left out, with the reason.
Sizes are typed as an inch person would, deviations in thou.
"""

from __future__ import annotations

from logic.say import say
from store.documents import Document
from store.sheets import oversize
from store.view import View

from .kit import BY, Ids, kit
from .notebook import Notebook

__all__ = ["BY", "JOB", "MADE_MS", "NOMINAL", "documents"]

JOB = "demojob00101"
KIT = Ids("democardbar2", "democardhon2", "democardgau2", "democardmic2", ("demooldjob03", "demooldjob04"))
NOMINAL = "3.070 in"
#: When the demo's export file says it was made: 2025-09-18 18:00 UTC.
MADE_MS = 1_758_218_400_000

#: Gauge readings in thou from the zero at 3.0700 in: cylinder -> depths from the top, (thrust axis, crank line).
WORN = {
    1: (("+8.0", "+4.5"), ("+5.0", "+2.5"), ("+0.5", "0")),
    2: (("+10.0", "+4.5"), ("+5.5", "+2.5"), ("+0.5", "+0.5")),
    3: (("+12.5", "+6.5"), ("+7.0", "+3.5"), ("+0.5", "+0.5")),
}
#: Where the digits of a reading were turned round at first, and what was typed.
SLIP, SLIPPED = {"cylinder": 3, "depth": 1, "axis": "thrust"}, "+21.5"
DEPTHS = ("0.70", "3.00", "6.20")


def _worn(job: Notebook) -> None:
    """Temperatures, the gauge's zero, the readings and what was seen of the wear."""
    job.put("bore.block_temperature", "18")
    job.put("bore.zero_temperature", "18")
    job.put("bore.length", "6.75")
    job.put("bore.spacing", "3.60")
    for depth, said in enumerate(DEPTHS, 1):
        job.put("bore.depth", said, depth=depth)
    job.put("bore.ring_top", "0.60")
    job.put("bore.ring_bottom", "5.90")
    for cylinder, rows in WORN.items():
        for depth, row in enumerate(rows, 1):
            for axis, said in zip(("thrust", "crank"), row, strict=True):
                at = {"cylinder": cylinder, "depth": depth, "axis": axis}
                job.put("bore.reading", SLIPPED if at == SLIP else said, **at)
    job.later(minutes=4)
    job.put("bore.side", "even", cylinder=1)
    job.put("bore.side", "one side", cylinder=2)


#: Top face: along the block, across it, and the height over a bar in the main bearings, all in inches.
FACE = (
    ("0.50", "2.30", "11.2214"),
    ("0.50", "-2.30", "11.2212"),
    ("5.25", "2.30", "11.2211"),
    ("5.25", "-2.30", "11.2210"),
    ("10.00", "2.30", "11.2209"),
    ("10.00", "-2.30", "11.2208"),
)


def _face(job: Notebook) -> None:
    job.put("face.first_bore", "1.65")
    job.put("face.height_u", "0.2")
    for point, (x, y, height) in enumerate(FACE, 1):
        job.put("face.x", x, point=point)
        job.put("face.y", y, point=point)
        job.put("face.height", height, point=point)


#: Cylinder 3 swept with the spindle centred on the unworn lower end: thou every 45 degrees from the front, by depth.
SWEPT = {
    1: ("+3.0", "+4.6", "+6.7", "+4.7", "+3.0", "+4.1", "+5.3", "+4.0"),
    2: ("+1.6", "+2.6", "+3.7", "+2.7", "+1.6", "+2.2", "+2.8", "+2.1"),
    3: ("0", "+0.1", "0", "0", "0", "0", "0", "0"),
}


def _sweep(job: Notebook, *depths: int) -> None:
    for depth in depths:
        for step, said in enumerate(SWEPT[depth]):
            job.put("sweep.reading", said, cylinder=3, depth=depth, angle=45 * step)


def _measured_again(job: Notebook) -> None:
    """The reading that the sweep contradicts, measured again."""
    job.correct("bore.reading", WORN[3][0][0], **SLIP)


#: Thickness gauge at four places round each bore, front, left, rear, right, in inches as the gauge showed it.
WALLS = {
    1: ("0.284", "0.271", "0.262", "0.276"),
    2: ("0.260", "0.268", "0.263", "0.279"),
    3: ("0.262", "0.270", "0.271", "0.273"),
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


#: New pistons as measured at 19 °C, in inches.
PISTONS = {1: "3.0976", 2: "3.0978", 3: "3.0977"}
PISTON_GRAMS = {1: "462.4", 2: "461.9", 3: "463.1"}


def _sizes(job: Notebook) -> None:
    job.put("sizes.alloy", "hyper")
    job.put("sizes.clearance", "2.5")
    job.put("sizes.piston_temperature", "19")
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
    1: (("3.0865", "3.0869"), ("3.0966", "3.0970")),
    2: (("3.0865", "3.0870"), ("3.0967", "3.0972")),
    3: (("3.0865", "3.0869"), ("3.0967", "3.0971")),
}


def _cut(job: Notebook) -> None:
    job.put("cut.block", "19")
    for cylinder, passes in PASSES.items():
        for number, (setting, measured) in enumerate(passes, 1):
            if cylinder == 1 and number == 1:
                job.put("cut.edge", "fresh", cylinder=cylinder, **{"pass": number})
            job.put("cut.setting", setting, cylinder=cylinder, **{"pass": number})
            job.later(minutes=26)
            job.put("cut.measured", measured, cylinder=cylinder, **{"pass": number})
            job.later(minutes=6)


def _chamfer(job: Notebook) -> None:
    for cylinder, (touch, stopped) in {1: ("0.100", "0.130"), 2: ("0.100", "0.131"), 3: ("0.100", "0.130")}.items():
        job.put("chamfer.touch", touch, cylinder=cylinder)
        job.put("chamfer.stopped", stopped, cylinder=cylinder)
    job.put("chamfer.measured", "0.030", cylinder=1)


#: Honing checks: strokes since the check before, grit, wall temperature, sizes at top, middle and bottom in inches.
HONED = {
    1: (
        (0, None, "19", ("3.0970", "3.0970", "3.0970")),
        (24, "150", "24", ("3.0986", "3.0987", "3.0986")),
        (28, "220", "25", ("3.0998", "3.0999", "3.0998")),
        (14, "280", "19", ("3.1001", "3.1001", "3.1001")),
    ),
    2: (
        (0, None, "19", ("3.0972", "3.0972", "3.0971")),
        (24, "150", "24", ("3.0987", "3.0988", "3.0987")),
        (28, "220", "25", ("3.1000", "3.1001", "3.1000")),
        (14, "280", "19", ("3.1003", "3.1003", "3.1003")),
    ),
    3: (
        (0, None, "19", ("3.0971", "3.0971", "3.0971")),
        (24, "150", "24", ("3.0987", "3.0987", "3.0987")),
        (28, "220", "25", ("3.0999", "3.1000", "3.0999")),
        (14, "280", "19", ("3.1002", "3.1002", "3.1002")),
    ),
}


def _hone(job: Notebook) -> None:
    job.put("hone.face", "moly")
    job.put("hone.block", "19")
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
    for cylinder, ra in {1: "18", 2: "17", 3: "19"}.items():
        job.put("hone.ra", ra, cylinder=cylinder)


#: Final readings in thou from the gauge's zero at 3.1000 in: depths from the top, (thrust axis, crank line).
FINAL = {
    1: (("0", "+0.1"), ("+0.1", "+0.1"), ("0", "0")),
    2: (("+0.2", "+0.2"), ("+0.3", "+0.2"), ("+0.2", "+0.2")),
    3: (("+0.1", "+0.1"), ("+0.2", "+0.1"), ("+0.1", "+0.1")),
}


def _final(job: Notebook) -> None:
    job.put("final.washed", "yes")
    job.put("final.zero", "3.1000")
    job.put("final.zero_temperature", "17")
    job.put("final.block_temperature", "17")
    for cylinder, rows in FINAL.items():
        for depth, row in enumerate(rows, 1):
            for axis, said in zip(("thrust", "crank"), row, strict=True):
                job.put("final.reading", said, cylinder=cylinder, depth=depth, axis=axis)


#: Ring gaps in thou, from the crown down: two compression rings, two oil rails.
GAPS = {1: ("14", "15", "22", "23"), 2: ("14", "15", "21", "22"), 3: ("14", "16", "22", "24")}


def _rings(job: Notebook) -> None:
    for cylinder, row in GAPS.items():
        for ring, said in enumerate(row, 1):
            job.put("rings.gap", said, cylinder=cylinder, ring=ring)


def _compression(job: Notebook) -> None:
    for key, said in {
        "stroke": "4.930",
        "chamber": "68 cm3",
        "gasket_bore": "3.190",
        "gasket": "47",
        "deck": "+15",
        "deck_again": "+17",
        "stands": "below",
        "crown": "4 cm3",
    }.items():
        job.put(f"compression.{key}", said)


def _strip(job: Notebook) -> None:
    for what in ("coolant", "oil", "covered", "studs"):
        job.put(f"strip.{what}", "yes")
    job.put("strip.crank", "in")
    job.put("strip.cracks", "tested")
    job.put("strip.block", "parent")


def _parts(job: Notebook) -> None:
    job.put("parts.to_be_had", "yes")
    job.put("parts.ordered", "here")


def _clean(job: Notebook) -> None:
    done = "chips bores oilways holes jackets core_plugs deck rust covers oil running_in report place"
    for what in done.split():
        job.put(f"clean.{what}", "none" if what == "core_plugs" else "yes")


def _job(kit: list[Document]) -> Document:
    job = Notebook(JOB, "2025-09-15 08:00", by=BY)
    job.header(
        title="Demo: tractor engine, three cylinders (invented)",
        customer="Invented customer",
        engine="Invented 1.8 litre engine",
        number="000-DEMO",
        nominal=NOMINAL,
        cylinders=3,
        bar=KIT.bar,
        hone=KIT.hone,
        gauge=KIT.gauge,
        micrometer=KIT.micrometer,
    )
    job.later(minutes=10)
    _strip(job)
    job.later(minutes=10)
    _worn(job)
    job.later(minutes=15)
    _sweep(job, 3, 1)
    job.later(minutes=3)
    _measured_again(job)
    _sweep(job, 2)
    job.later(minutes=20)
    _walls(job)
    job.later(minutes=15)
    _face(job)
    job.later(minutes=5)
    advised = oversize.work(View(job.document(), {d.id: View(d) for d in kit})).results[0]
    job.decide("oversize", "+0.030 in", number_mm=0.762, advised=say(advised.line))
    _parts(job)
    job.note("Ordered three pistons with rings, 0.030 in over (invented).")
    job.later(days=1)
    _sizes(job)
    job.skip("compression", "Customer declined")
    job.later(minutes=10)
    _clamp(job)
    job.later(minutes=30)
    _cut(job)
    _chamfer(job)
    job.later(hours=14)
    _hone(job)
    job.later(hours=2)
    _final(job)
    _rings(job)
    job.later(hours=1)
    _clean(job)
    return job.document()


def documents() -> list[Document]:
    """The job and its kit cards. The same every time."""
    made = kit(KIT, strokes_per_minute="48")
    return [_job(made), *made]
