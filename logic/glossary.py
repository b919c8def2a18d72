"""The words of the trade that the sheets use, each explained in two sentences at most.

The wording is the project's own. ``source`` names a standard where a term is defined
in one; the rest is how the trade speaks: "common practice, no source".
"""

from __future__ import annotations

from dataclasses import dataclass

from .say import L, Line

__all__ = ["TERMS", "TRADE", "Term", "term"]

#: The source of most: how the trade speaks.
TRADE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Term:
    """One word: ``key`` is stable, ``name`` is the word, ``meaning`` says it in at most two sentences."""

    key: str
    name: Line
    meaning: Line
    source: str = TRADE


#: Every term, in alphabetical order of its English name.
TERMS: tuple[Term, ...] = (
    Term(
        "back_off",
        L("Back the tool off"),
        L(
            "Draw the cutter in, or stop the spindle with the tip clear, before the bar is lifted out. A tip "
            "dragged up a finished bore leaves a line the hone may not take out."
        ),
    ),
    Term(
        "barrel",
        L("Barrel"),
        L(
            "A bore, or a piston skirt, that is widest in the middle of its length. In a bore, honing less in"
            " the middle takes it out."
        ),
    ),
    Term(
        "bell_mouth",
        L("Bell-mouth"),
        L("A bore that opens out at one end. A hone run too far beyond the end makes one."),
    ),
    Term(
        "bore_gauge",
        L("Bore gauge"),
        L(
            "A two-point dial gauge rocked in the bore and read at its smallest reading. It shows a "
            "difference from the size it was zeroed at, so it is only as right as its zero."
        ),
    ),
    Term(
        "boring_bar",
        L("Boring bar"),
        L(
            "The spindle that carries a single cutter down the cylinder and cuts it round, straight and to "
            "size. A portable one stands on the block's own deck and cuts square to it."
        ),
    ),
    Term(
        "bore_stock",
        L("Boring stock"),
        L(
            "The metal the bar must remove, on the diameter: the size to be bored less the size now. It is "
            "shared among the passes."
        ),
    ),
    Term(
        "centring",
        L("Centring"),
        L(
            "Setting the bar's axis where the new bore is to be, usually by fingers that reach the unworn "
            "part of the cylinder. A bar centred on the worn part follows the wear to one side."
        ),
    ),
    Term(
        "chamfer",
        L("Chamfer"),
        L(
            "The small cone at the top of the bore that lets the rings enter without catching. It is cut "
            "after boring, the same on every cylinder."
        ),
    ),
    Term(
        "clean_up",
        L("Clean-up diameter"),
        L(
            "The smallest size at which a centred cut leaves no worn or unmachined patch anywhere in the "
            "bore. The bored size must be at least this."
        ),
    ),
    Term(
        "compression_height",
        L("Compression height"),
        L(
            "The distance from the middle of the piston pin to the flat of the crown. A new piston with a "
            "different one changes the compression ratio and how near it comes to the head."
        ),
    ),
    Term(
        "compression_ratio",
        L("Compression ratio"),
        L(
            "The space above the piston at the bottom of its stroke divided by the space left at the top. It "
            "counts the swept volume, chamber, gasket, deck clearance and crown."
        ),
    ),
    Term(
        "conformance",
        L("Conformance probability"),
        L("How likely it is that the true size lies within its limits, given the reading and its ±."),
        "JCGM 106:2012",
    ),
    Term(
        "crevice",
        L("Crevice volume"),
        L(
            "The thin space round the piston above the top ring. It is left out of the compression ratio here"
            " because it is small and rarely known."
        ),
    ),
    Term(
        "crosshatch",
        L("Crosshatch"),
        L(
            "The crossing scratches a hone leaves, which hold oil for the rings. Its included angle comes "
            "from how fast the stones move up and down against how fast they turn."
        ),
    ),
    Term(
        "crown",
        L("Crown"),
        L(
            "The top of the piston. A dish in it adds to the space left at the top of the stroke and a dome "
            "takes from it."
        ),
    ),
    Term(
        "deck_clearance",
        L("Deck clearance"),
        L(
            "How far the flat of the piston crown lies below the deck at top dead centre. It is "
            "counted negative where the piston stands proud."
        ),
    ),
    Term(
        "double_stroke",
        L("Double stroke"),
        L("One travel of the hone down and back up. Rates of honing are counted in double strokes a minute."),
    ),
    Term(
        "dwell",
        L("Dwell"),
        L(
            "Short strokes held at one part of the bore to take out a tight place. Dwelling also warms that "
            "part, so it is measured again when cool."
        ),
    ),
    Term(
        "feed",
        L("Feed"),
        L(
            "How far the cutter travels down the bore in one turn. With the tip's nose radius it sets the "
            "roughness the bar leaves."
        ),
    ),
    Term(
        "freeze_out",
        L("Free drop"),
        L(
            "Fitting a sleeve by warming the block, cooling the sleeve, or both, until it drops in by hand. "
            "It must go home at once, because it grips as soon as the temperatures meet."
        ),
    ),
    Term(
        "gauge_point",
        L("Gauge point"),
        L(
            "The place on the skirt where the piston maker says to measure the diameter, square to the pin. "
            "Measured elsewhere the piston reads small, because the skirt is oval and tapered."
        ),
    ),
    Term(
        "glaze",
        L("Glaze"),
        L("The polished surface a worn bore takes on. New rings do not bed in on it."),
    ),
    Term(
        "governing_cylinder",
        L("Governing cylinder"),
        L("The cylinder that needs the largest oversize, and so sets it for the whole engine."),
    ),
    Term(
        "grit",
        L("Grit"),
        L(
            "How coarse an abrasive stone is; a larger number is finer. Each grit must leave enough stock for"
            " the next to take out its scratches."
        ),
    ),
    Term(
        "guard_band",
        L("Guard band"),
        L(
            "A strip kept clear inside a limit, as wide as the measurement's uncertainty calls for. A reading"
            " inside it is neither accepted nor refused but taken again."
        ),
        "ISO 14253-1",
    ),
    Term(
        "hone_stock",
        L("Hone stock"),
        L(
            "The metal the bar leaves for the hone, on the diameter. It must be more than the depth of the "
            "torn layer that the cutter leaves."
        ),
    ),
    Term(
        "interference",
        L("Interference"),
        L(
            "How much larger a sleeve is outside than the hole it goes into. It makes the grip, and also a "
            "stress in both."
        ),
    ),
    Term(
        "lean",
        L("Lean"),
        L(
            "How far a bore's axis is out of square to the main-bearing axis over its length. A portable bar copies the lean of the deck it stands on."
        ),
    ),
    Term(
        "least_squares",
        L("Least-squares circle"),
        L(
            "The circle for which the squares of the readings' distances from it add up to the least. It "
            "gives the mean size and centre, but not the size that clears every low spot."
        ),
        "ISO 12181-1",
    ),
    Term(
        "main_line",
        L("Main-bearing axis"),
        L("The line through the middle of the crankshaft's main bearings. Bores are meant to stand square to it."),
    ),
    Term(
        "master",
        L("Master"),
        L(
            "A ring, or a micrometer set over a standard, whose size is known and on which a gauge is zeroed."
            " Let it reach the block's temperature, or enter its own."
        ),
    ),
    Term(
        "circumscribed",
        L("Minimum circumscribed circle"),
        L(
            "The smallest circle that has every reading inside it or on it. For a swept bore it is the "
            "smallest round cut that leaves nothing untouched."
        ),
        "ISO 12181-1",
    ),
    Term(
        "nominal",
        L("Nominal bore"),
        L(
            "The bore's size as the engine was made, from its book or its data plate. Oversizes are counted "
            "from it, not from the size now."
        ),
    ),
    Term(
        "out_of_round",
        L("Out-of-round"),
        L(
            "The largest diameter less the smallest at one depth. Two-point gauges miss some shapes, such as "
            "three lobes."
        ),
    ),
    Term(
        "overrun",
        L("Overrun"),
        L(
            "How far a stone goes beyond the end of the bore at each stroke. About a third of its length is "
            "usual, and it must stay clear of the crankcase web."
        ),
    ),
    Term(
        "oversize",
        L("Oversize"),
        L(
            "How much larger than nominal the bore is to be, to suit the pistons made for it. It is counted "
            "on the diameter."
        ),
    ),
    Term(
        "clearance",
        L("Piston clearance"),
        L(
            "The bore's diameter less the piston's, the piston measured at its gauge point and both at the "
            "same temperature. The piston maker's figure comes before any rule."
        ),
    ),
    Term(
        "grade",
        L("Piston grade"),
        L(
            "A maker's size group within one oversize, marked by a letter or a colour on the crown. Each bore"
            " takes the grade that gives the clearance nearest to what is wanted."
        ),
    ),
    Term(
        "plateau",
        L("Plateau finish"),
        L(
            "A surface whose peaks have been taken off so that the rings meet flats between oil-holding "
            "grooves. It is stated by Rpk, Rk and Rvk."
        ),
        "ISO 13565-2, carried into ISO 21920-2",
    ),
    Term(
        "preload",
        L("Preload"),
        L(
            "The pull in a tightened stud or bolt. Torque is a rough way to set it, because most of the "
            "torque goes into friction."
        ),
    ),
    Term(
        "proof_load",
        L("Proof load"),
        L("The pull a bolt or stud of a given class must bear without lasting stretch. Clamping stays well below it."),
        "ISO 898-1",
    ),
    Term(
        "roughness",
        L("Ra"),
        L(
            "The average height of a surface above and below its mean line. Two quite different surfaces can "
            "have the same Ra."
        ),
        "ISO 21920-2",
    ),
    Term(
        "ridge",
        L("Ridge"),
        L(
            "The unworn lip left at the top of the bore above where the top ring stops. It shows the size the"
            " bore had before it wore."
        ),
    ),
    Term(
        "end_gap",
        L("Ring gap"),
        L(
            "The space between a ring's ends when it sits square in the bore. Too little and the hot ring's "
            "ends meet, which can break the ring or score the bore."
        ),
    ),
    Term(
        "ring_travel",
        L("Ring travel"),
        L("The length of bore the rings sweep. Nearly all the wear is in it, most of it near the top."),
    ),
    Term(
        "selective_fitting",
        L("Selective fitting"),
        L(
            "Pairing measured pistons with measured bores so that every clearance is as near as can be to the"
            " one wanted. Once paired, each piston is marked for its cylinder."
        ),
    ),
    Term(
        "micrometer_setting",
        L("Setting micrometer"),
        L(
            "The micrometer that sets how far the cutter's tip stands out. Some read the diameter to be bored"
            " and some read the bar plus the tip, so the kind is asked."
        ),
    ),
    Term(
        "skim",
        L("Skim"),
        L(
            "A light cut over the deck to make it flat and true. It brings the pistons nearer to "
            "the head and raises the compression ratio."
        ),
    ),
    Term(
        "sleeve",
        L("Sleeve"),
        L(
            "A thin iron tube pressed into a cylinder bored out to take it, to bring a bore back that cannot "
            "be bored further. A dry sleeve does not touch the coolant."
        ),
    ),
    Term(
        "spark_out",
        L("Spark out"),
        L(
            "The last strokes of a hone with no more pressure put on, until the drag falls off. They even the"
            " bore out before it is measured."
        ),
    ),
    Term(
        "runout",
        L("Spindle runout"),
        L("How far the spindle's own axis wanders as it turns. It widens the hole the cutter makes."),
    ),
    Term(
        "squish",
        L("Squish clearance"),
        L(
            "The smallest distance between the piston's flat and the head at top dead centre, gasket "
            "included. The rod stretches at speed, so too little lets the piston strike."
        ),
    ),
    Term(
        "stress_area",
        L("Stress area"),
        L(
            "The area a threaded bolt or stud is counted to have when its pull is turned into a stress. It is"
            " less than that of the plain shank."
        ),
        "ISO 898-1",
    ),
    Term(
        "swept_volume",
        L("Swept volume"),
        L(
            "The space a piston passes through in one stroke. Times the number of cylinders it is the "
            "engine's capacity."
        ),
    ),
    Term(
        "taper",
        L("Taper"),
        L(
            "How much a bore's diameter changes from end to end along one direction. The ring gap opens and "
            "closes by about three times the taper at every stroke."
        ),
    ),
    Term(
        "tenth",
        L("Tenth"),
        L("In inch shops, one ten-thousandth of an inch: 0.0001 in, or 2.54 µm."),
    ),
    Term(
        "thou",
        L("Thou"),
        L("One thousandth of an inch: 0.001 in, or 0.0254 mm exactly."),
        "international inch, 1959; NIST SP 811",
    ),
    Term(
        "thrust_axis",
        L("Thrust axis"),
        L(
            "The direction across the engine, square to the crankshaft, in which the rod pushes the piston "
            "against the wall. Most wear is found along it."
        ),
    ),
    Term(
        "dead_centre",
        L("Top dead centre"),
        L("The highest point of the piston's stroke. The bottom dead centre is the lowest."),
    ),
    Term(
        "torque_plate",
        L("Torque plate"),
        L(
            "A thick plate bolted on in place of the head while honing, so that the bore has the shape it "
            "will have when assembled. Where the engine's maker asks for one, use it."
        ),
    ),
    Term(
        "trial_cut",
        L("Trial cut"),
        L(
            "A short cut at the top of the bore, measured before going on. It shows what size the bar really "
            "cuts at its setting."
        ),
    ),
    Term(
        "uncertainty",
        L("Uncertainty"),
        L(
            "How far the true value may reasonably lie from the reading, from all its causes together. Shown "
            "as ±; it holds about 95 times in 100."
        ),
        "JCGM 100:2008",
    ),
    Term(
        "waist",
        L("Waist"),
        L("A bore that is narrowest in the middle of its length. Short strokes held there take it out."),
    ),
    Term(
        "wall",
        L("Wall thickness"),
        L(
            "The iron left between the bore and the coolant. A core that moved in casting can leave one side "
            "much thinner than the other."
        ),
    ),
)

_BY_KEY = {t.key: t for t in TERMS}


def term(key: str) -> Term:
    """The term called ``key``. Raises KeyError if there is none."""
    return _BY_KEY[key]
