"""The table of constants: what is taken from standards, handbooks and the trade.

Each row has a key, what it is, its value with unit, the range it may reasonably have,
its source and the source's year. A source is a standard, "common practice" (a fact of
the trade, no source) or "from memory" (not looked up again when it was written down).
A maker's figure, or one the person measured, always wins over a row here.

To add a row, add a line to the list of its group: ``_row(key, name, value, unit,
low, high, source, year)``. Keys are dotted, group first. Tables whose rows differ only
in a size (stress areas, tolerance grades) have a function of that size beside them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from .factors import CM3_PER_IN3, GRAM_PER_OUNCE, MM_PER_FOOT, MM_PER_INCH, NEWTON_PER_KGF, NEWTON_PER_LBF
from .say import L, Line

__all__ = ["CONSTANTS", "Constant", "constant", "stress_area_mm2", "tolerance_grade_mm"]

MEMORY = "from memory"
PRACTICE = "common practice"


@dataclass(frozen=True, slots=True)
class Constant:
    """One row: ``value`` in ``unit``, plausible from ``low`` to ``high`` (equal where it is exact).

    ``year`` is that of the source, None where the source has none.
    """

    key: str
    name: Line
    value: float
    unit: str
    low: float
    high: float
    source: str
    year: int | None

    @property
    def exact(self) -> bool:
        return self.low == self.high

    @property
    def u(self) -> float:
        """Standard uncertainty if the range is all that is known: rectangular, JCGM 100:2008, 4.3.7."""
        return (self.high - self.low) / math.sqrt(12.0)

    @property
    def relative_u(self) -> float:
        """:attr:`u` as a share of the value."""
        return self.u / self.value


def _row(
    key: str,
    name: Line,
    value: float,
    unit: str,
    low: float | None = None,
    high: float | None = None,
    source: str = MEMORY,
    year: int | None = None,
) -> Constant:
    return Constant(
        key, name, value, unit, value if low is None else low, value if high is None else high, source, year
    )


_NIST = ("NIST SP 811, appendix B.8", 2008)
_ISO_898 = ("ISO 898-1", 2013)

_UNITS = (
    _row(
        "unit.inch",
        L("One inch"),
        MM_PER_INCH,
        "mm",
        source="NIST SP 811, appendix B.8 (international inch, 1959)",
        year=2008,
    ),
    _row("unit.foot", L("One foot"), MM_PER_FOOT, "mm", None, None, *_NIST),
    _row("unit.pound_force", L("One pound-force"), NEWTON_PER_LBF, "N", None, None, *_NIST),
    _row("unit.pound_force_foot", L("One pound-force foot"), 1.3558179483314, "N*m", None, None, *_NIST),
    _row("unit.psi", L("One pound-force per square inch"), 0.006894757293168361, "MPa", None, None, *_NIST),
    _row("unit.cubic_inch", L("One cubic inch"), CM3_PER_IN3, "cm3", None, None, *_NIST),
    _row("unit.ounce", L("One ounce"), GRAM_PER_OUNCE, "g", None, None, *_NIST),
    _row(
        "gravity.standard",
        L("Standard acceleration of free fall"),
        NEWTON_PER_KGF,
        "m/s2",
        None,
        None,
        "NIST SP 330",
        2019,
    ),
)

_THERMAL = (
    _row("temperature.reference", L("Temperature at which sizes are stated"), 20.0, "degC", None, None, "ISO 1", 2022),
    _row("expansion.grey_iron", L("Expansion of grey iron"), 11.0e-6, "1/K", 10.0e-6, 12.0e-6),
    _row(
        "expansion.grey_iron_cold",
        L("Expansion of grey iron from −100 to 20 °C"),
        10.0e-6,
        "1/K",
        9.0e-6,
        11.0e-6,
        "EN 1561 (from memory)",
    ),
    _row("expansion.steel", L("Expansion of steel (gauges, masters, micrometers)"), 11.5e-6, "1/K", 10.5e-6, 12.5e-6),
    _row("expansion.piston_alloy", L("Expansion of aluminium-silicon piston alloy"), 20.0e-6, "1/K", 18.0e-6, 23.0e-6),
    _row("expansion.aluminium_block", L("Expansion of an aluminium-silicon casting"), 21.5e-6, "1/K", 20.0e-6, 23.0e-6),
    _row(
        "expansion.carbide", L("Expansion of cemented carbide (setting masters, anvils)"), 5.0e-6, "1/K", 4.5e-6, 6.5e-6
    ),
    _row("temperature.dry_ice", L("Dry ice turns to gas"), -78.5, "degC"),
    _row("temperature.nitrogen", L("Liquid nitrogen boils"), -195.8, "degC"),
    _row("conductivity.grey_iron", L("Thermal conductivity of grey iron"), 50.0, "W/(m*K)", 42.0, 58.0),
    _row("heat.grey_iron", L("Specific heat of grey iron"), 480.0, "J/(kg*K)", 440.0, 540.0),
)

_ELASTIC = (
    _row("modulus.grey_iron", L("Elastic modulus of grey iron"), 105_000.0, "MPa", 70_000.0, 145_000.0),
    _row("modulus.ductile_iron", L("Elastic modulus of ductile iron"), 169_000.0, "MPa", 160_000.0, 175_000.0),
    _row("modulus.steel", L("Elastic modulus of steel"), 207_000.0, "MPa", 200_000.0, 212_000.0),
    _row("modulus.aluminium", L("Elastic modulus of aluminium alloy"), 71_000.0, "MPa", 69_000.0, 76_000.0),
    _row("poisson.grey_iron", L("Poisson's ratio of grey iron"), 0.25, "1", 0.21, 0.27),
    _row("poisson.ductile_iron", L("Poisson's ratio of ductile iron"), 0.275, "1", 0.26, 0.29),
    _row("poisson.steel", L("Poisson's ratio of steel"), 0.29, "1", 0.27, 0.30),
    _row("poisson.aluminium", L("Poisson's ratio of aluminium alloy"), 0.33, "1", 0.32, 0.34),
    _row("density.grey_iron", L("Density of grey iron"), 7.2, "g/cm3", 6.9, 7.4),
    _row("density.aluminium", L("Density of aluminium-silicon alloy"), 2.7, "g/cm3", 2.6, 2.8),
    _row(
        "sound.grey_iron",
        L("Speed of sound along grey iron"),
        4600.0,
        "m/s",
        3500.0,
        5600.0,
        "published tables of sound velocities, soft to hard cast iron",
    ),
    _row("sound.aluminium_block", L("Speed of sound along aluminium"), 6320.0, "m/s", 6200.0, 6420.0),
    _row(
        "sound.steel",
        L("Speed of sound along steel"),
        5920.0,
        "m/s",
        5850.0,
        5980.0,
        "Krautkrämer, Ultrasonic Testing of Materials, chapter 32",
        1990,
    ),
    _row("shear.grey_iron", L("Shear strength of a grey iron block"), 180.0, "MPa", 120.0, 260.0),
    _row("shear.aluminium", L("Shear strength of an aluminium casting"), 120.0, "MPa", 90.0, 160.0),
    _row("shear.steel", L("Shear strength of a steel block"), 280.0, "MPa", 220.0, 350.0),
    _row(
        "sleeve.fit_window",
        L("Least range of interference that a small sleeve and its bore can be made and measured to"),
        0.020,
        "mm",
        0.012,
        0.030,
        PRACTICE,
    ),
    _row(
        "sleeve.flattened_rz",
        L("Grooves of sleeve and bore together that a press fit flattens, Rz"),
        10.0,
        "um",
        5.0,
        20.0,
        PRACTICE,
    ),
    _row(
        "sleeve.flattened_share",
        L("Share of the grooves that is lost in pressing"),
        0.8,
        "1",
        0.6,
        1.0,
        "DIN 7190 (from memory)",
    ),
    _row("temperature.block_running", L("Block round a sleeve at work"), 110.0, "degC", 90.0, 140.0, PRACTICE),
    _row("strength.grey_iron", L("Tensile strength of grey iron in an engine block"), 220.0, "MPa", 150.0, 300.0),
)

_FASTENERS = (
    _row("proof.4.8", L("Proof stress, class 4.8"), 310.0, "MPa", None, None, *_ISO_898),
    _row("proof.5.8", L("Proof stress, class 5.8"), 380.0, "MPa", None, None, *_ISO_898),
    _row("proof.8.8", L("Proof stress, class 8.8, up to 16 mm"), 580.0, "MPa", None, None, *_ISO_898),
    _row("proof.8.8.large", L("Proof stress, class 8.8, above 16 mm"), 600.0, "MPa", None, None, *_ISO_898),
    _row("proof.9.8", L("Proof stress, class 9.8"), 650.0, "MPa", None, None, *_ISO_898),
    _row("proof.10.9", L("Proof stress, class 10.9"), 830.0, "MPa", None, None, *_ISO_898),
    _row("proof.12.9", L("Proof stress, class 12.9"), 970.0, "MPa", None, None, *_ISO_898),
    _row("proof.grade2", L("Proof stress, SAE grade 2, up to 3/4 in"), 379.2, "MPa"),
    _row("proof.grade5", L("Proof stress, SAE grade 5, up to 1 in"), 586.1, "MPa"),
    _row("proof.grade8", L("Proof stress, SAE grade 8"), 827.4, "MPa"),
    _row(
        "nut_factor.dry",
        L("Nut factor, dry"),
        0.20,
        "1",
        0.16,
        0.30,
        "Shigley's Mechanical Engineering Design, table 8-15 (from memory)",
    ),
    _row(
        "nut_factor.oiled",
        L("Nut factor, oiled"),
        0.18,
        "1",
        0.13,
        0.21,
        "Shigley's Mechanical Engineering Design, table 8-15 (from memory)",
    ),
    _row("friction.iron_on_iron", L("Friction, clean dry iron on iron"), 0.15, "1", 0.10, 0.25),
    _row("friction.press_fit", L("Friction, sleeve pressed in dry or lightly oiled"), 0.12, "1", 0.07, 0.20),
)

_CUTTING = (
    _row(
        "cutting.force.grey_iron",
        L("Specific cutting force of grey iron at 1 mm by 1 mm"),
        1160.0,
        "N/mm2",
        900.0,
        1500.0,
    ),
    _row(
        "cutting.force.aluminium",
        L("Specific cutting force of an aluminium-silicon casting at 1 mm by 1 mm"),
        780.0,
        "N/mm2",
        500.0,
        900.0,
    ),
    _row("cutting.force.steel", L("Specific cutting force of steel at 1 mm by 1 mm"), 1800.0, "N/mm2", 1500.0, 2200.0),
    _row("cutting.exponent.aluminium", L("Exponent of chip thickness, aluminium casting"), 0.23, "1", 0.18, 0.28),
    _row("cutting.exponent.steel", L("Exponent of chip thickness, steel"), 0.25, "1", 0.17, 0.30),
    _row("cutting.exponent.grey_iron", L("Exponent of chip thickness, grey iron"), 0.26, "1", 0.20, 0.32),
    _row(
        "cutting.largest_pass",
        L("Largest cut on diameter in one pass, small sharp bar"),
        0.762,
        "mm",
        0.4,
        0.8,
        PRACTICE,
    ),
    _row("cutting.small_bar_power", L("Motor that drives a small bar"), 500.0, "W", 350.0, 750.0, PRACTICE),
    _row("cutting.wear", L("Force of a worn edge against a sharp one"), 1.4, "1", 1.2, 2.0, PRACTICE),
    _row("cutting.efficiency", L("Share of the power that reaches the spindle"), 0.7, "1", 0.5, 0.9, PRACTICE),
    _row("cutting.last_pass", L("Last pass, on diameter"), 0.25, "mm", 0.1, 0.4, PRACTICE),
    _row("cutting.least_cut", L("Least cut on diameter that does not rub"), 0.08, "mm", 0.03, 0.15, PRACTICE),
    _row("cutting.edge_life", L("Passes an edge lasts"), 6.0, "1", 2.0, 20.0, PRACTICE),
    _row("cutting.speed_low.hss", L("Cutting speed in grey iron, high-speed steel, least"), 18.0, "m/min", 12.0, 25.0),
    _row("cutting.speed_high.hss", L("Cutting speed in grey iron, high-speed steel, most"), 30.0, "m/min", 25.0, 40.0),
    _row("cutting.speed_low.carbide", L("Cutting speed in grey iron, carbide, least"), 50.0, "m/min", 40.0, 70.0),
    _row("cutting.speed_high.carbide", L("Cutting speed in grey iron, carbide, most"), 120.0, "m/min", 100.0, 180.0),
    _row("cutting.speed_low.cbn", L("Cutting speed in grey iron, boron nitride, least"), 300.0, "m/min", 200.0, 400.0),
    _row("cutting.speed_high.cbn", L("Cutting speed in grey iron, boron nitride, most"), 900.0, "m/min", 600.0, 1500.0),
    _row(
        "setting.spread",
        L("Spread of one bar from cut to cut ±, two times in three"),
        0.006,
        "mm",
        0.003,
        0.012,
        PRACTICE,
    ),
    _row(
        "setting.between",
        L("Spread of one bar from job to job ±, two times in three"),
        0.010,
        "mm",
        0.004,
        0.025,
        PRACTICE,
    ),
    _row(
        "setting.drift",
        L("Drift of a bar's cuts from one to the next ±, as a share of their spread, two times in three"),
        0.4,
        "1",
        0.2,
        0.8,
        PRACTICE,
    ),
    _row("hone.bored_grooves", L("Depth of the grooves the bar leaves, Rz"), 6.0, "um", 3.0, 15.0, PRACTICE),
    _row("hone.rz_over_ra", L("Depth of the grooves against Ra in a honed bore"), 7.0, "1", 5.0, 9.0, PRACTICE),
    _row("hone.overrun", L("Share of the stone that runs out at each end"), 1.0 / 3.0, "1", 0.25, 0.5, PRACTICE),
    _row("hone.crosshatch", L("Included angle of the crosshatch"), 30.0, "deg", 22.0, 45.0, PRACTICE),
    _row(
        "hone.warm",
        L("Warmth of the wall over the block at rest from which honing to size is put off"),
        5.0,
        "K",
        3.0,
        10.0,
        PRACTICE,
    ),
    _row(
        "sleeve.fit_least",
        L("Least interference of an iron sleeve, per unit of diameter"),
        0.0004,
        "1",
        0.0002,
        0.0006,
        PRACTICE,
    ),
    _row(
        "sleeve.fit_most",
        L("Most interference of an iron sleeve, per unit of diameter"),
        0.0007,
        "1",
        0.0005,
        0.001,
        PRACTICE,
    ),
    _row("hone.stock", L("Stock the bar leaves for the hone, on diameter"), 0.0762, "mm", 0.05, 0.08, PRACTICE),
    _row("finish.level", L("Spread of finished sizes about the size wanted"), 0.010, "mm", 0.005, 0.015, PRACTICE),
    _row("finish.wild", L("The same, where honing stopped early or late"), 0.05, "mm", 0.02, 0.1, PRACTICE),
    _row("finish.wild_share", L("Bores in which honing stopped early or late"), 0.1, "1", 0.03, 0.2, PRACTICE),
    _row("finish.taper", L("Spread of taper in finished bores"), 0.005, "mm", 0.0025, 0.01, PRACTICE),
    _row("finish.barrel", L("Spread of barrel and waist in finished bores"), 0.003, "mm", 0.0015, 0.006, PRACTICE),
    _row("finish.oval", L("Spread of out-of-round in finished bores"), 0.0035, "mm", 0.002, 0.007, PRACTICE),
    _row("finish.local", L("Spread from place to place in finished bores"), 0.0012, "mm", 0.0005, 0.0025, PRACTICE),
    _row("hone.straightness", L("Variation a straight bar leaves along a bore"), 0.0076, "mm", 0.0, 0.0127, PRACTICE),
    _row("face.lean_limit", L("Most a bore may lean over its length"), 0.05, "mm", 0.025, 0.1, PRACTICE),
    _row(
        "face.slope",
        L("Slope of a deck against the main bearings ±, two times in three"),
        2e-4,
        "1",
        5e-5,
        6e-4,
        "common practice; service data of production blocks: deck height within 0.25 mm over the length of the block",
    ),
    _row(
        "face.height_u",
        L("Height above the main bearings ±, two times in three"),
        0.01,
        "mm",
        0.003,
        0.03,
        PRACTICE,
    ),
    _row(
        "face.journals_u",
        L("Oil clearance and wear under a height taken from the main journals ±, two times in three"),
        0.02,
        "mm",
        0.01,
        0.05,
        PRACTICE,
    ),
    _row(
        "face.rail_u",
        L("How far a sump rail lies from parallel to the main bearings ±, two times in three"),
        0.05,
        "mm",
        0.02,
        0.15,
        PRACTICE,
    ),
    _row("face.dirt", L("Thickness of dirt or a burr that is easily missed"), 0.05, "mm", 0.02, 0.15, PRACTICE),
    _row("face.base_length", L("Length of a boring machine's base"), 250.0, "mm", 120.0, 500.0, PRACTICE),
    _row("face.base_width", L("Width of a boring machine's base"), 150.0, "mm", 80.0, 300.0, PRACTICE),
    _row(
        "sweep.reading_u",
        L("Sweep reading ±, two times in three"),
        0.005,
        "mm",
        0.002,
        0.02,
        PRACTICE,
    ),
    _row(
        "sweep.unseen_oval",
        L("Ovality that a sweep of four readings or fewer may miss, on the radius"),
        0.03,
        "mm",
        0.01,
        0.1,
        PRACTICE,
    ),
    _row(
        "sweep.zero_u",
        L("Diameter at the indicator's zero ±, two times in three"),
        0.01,
        "mm",
        0.003,
        0.03,
        PRACTICE,
    ),
)

_PISTONS = (
    _row(
        "clearance.controlled",
        L("Piston clearance per bore, slotted or strutted cast skirt"),
        0.0005,
        "1",
        0.0004,
        0.0008,
        PRACTICE,
    ),
    _row("clearance.cast", L("Piston clearance per bore, plain cast skirt"), 0.0010, "1", 0.0006, 0.0012, PRACTICE),
    _row(
        "clearance.hyper", L("Piston clearance per bore, high-silicon casting"), 0.0006, "1", 0.0004, 0.0008, PRACTICE
    ),
    _row(
        "clearance.forged_silicon",
        L("Piston clearance per bore, forged with silicon"),
        0.0008,
        "1",
        0.0006,
        0.0010,
        PRACTICE,
    ),
    _row(
        "clearance.forged",
        L("Piston clearance per bore, forged with little silicon"),
        0.0011,
        "1",
        0.0009,
        0.0015,
        PRACTICE,
    ),
    _row("clearance.iron", L("Piston clearance per bore, cast iron"), 0.0008, "1", 0.0006, 0.0012, PRACTICE),
    _row(
        "expansion.piston.controlled",
        L("Expansion across a slotted or strutted skirt"),
        16.0e-6,
        "1/K",
        14.0e-6,
        18.0e-6,
    ),
    _row("expansion.piston.cast", L("Expansion of a plain cast skirt"), 20.0e-6, "1/K", 19.0e-6, 22.0e-6),
    _row("expansion.piston.hyper", L("Expansion of a high-silicon casting"), 18.0e-6, "1/K", 17.0e-6, 19.5e-6),
    _row("expansion.piston.forged_silicon", L("Expansion of a forging with silicon"), 19.5e-6, "1/K", 18.5e-6, 21.0e-6),
    _row("expansion.piston.forged", L("Expansion of a forging with little silicon"), 22.5e-6, "1/K", 21.5e-6, 23.5e-6),
    _row("expansion.piston.iron", L("Expansion of a cast-iron piston"), 11.0e-6, "1/K", 10.0e-6, 12.0e-6),
)

#: What machines repeat from job to job, before any record of them: standard deviations, and logarithms of factors.
_RECORDS = (
    _row(
        "record.level", L("Error of a bar that was never used ±, two times in three"), 0.05, "mm", 0.02, 0.1, PRACTICE
    ),
    _row("record.drift", L("Change of a bar's error from job to job"), 0.0015, "mm", 0.0, 0.004, PRACTICE),
    _row("record.by_size", L("Change of a bar's error with 10 mm of bore"), 0.003, "mm", 0.0, 0.01, PRACTICE),
    _row("record.by_cut", L("Change of a bar's error with 1 mm of cut on diameter"), 0.02, "1", 0.0, 0.05, PRACTICE),
    _row("record.by_age", L("Change of a bar's error with one pass of the edge"), 0.001, "mm", 0.0, 0.003, PRACTICE),
    _row("record.by_iron", L("Change of a bar's error with another iron"), 0.005, "mm", 0.0, 0.015, PRACTICE),
    _row("record.taper_level", L("Taper or barrel that a bar leaves"), 0.006, "mm", 0.0, 0.02, PRACTICE),
    _row("record.taper_spread", L("Spread of taper from bore to bore"), 0.003, "mm", 0.001, 0.008, PRACTICE),
    _row("record.taper_between", L("Spread of taper from job to job"), 0.003, "mm", 0.0, 0.008, PRACTICE),
    _row("record.rate", L("Removal of a hone in one double stroke"), 0.0012, "mm", 0.0002, 0.006, PRACTICE),
    _row("record.rate_level", L("How differently hones cut, as a logarithm"), 0.8, "1", 0.3, 1.5, PRACTICE),
    _row("record.rate_spread", L("Spread of a hone's removal from bore to bore"), 0.17, "1", 0.05, 0.4, PRACTICE),
    _row("record.rate_between", L("Spread of a hone's removal from job to job"), 0.22, "1", 0.05, 0.5, PRACTICE),
    _row("record.by_wear", L("Change of the removal over 1,000 strokes of the stones"), 0.25, "1", 0.0, 0.6, PRACTICE),
    _row("record.rate_by_iron", L("Change of the removal with another iron"), 0.4, "1", 0.0, 0.8, PRACTICE),
    _row(
        "record.time_level", L("How differently people take their time, as a logarithm"), 0.6, "1", 0.3, 1.0, PRACTICE
    ),
    _row("record.time_spread", L("Spread of the time for one bore, as a logarithm"), 0.3, "1", 0.1, 0.6, PRACTICE),
    _row("record.time_between", L("Spread of the time from job to job, as a logarithm"), 0.25, "1", 0.1, 0.6, PRACTICE),
    _row("record.edge_level", L("How differently long edges last, as a logarithm"), 0.5, "1", 0.3, 1.0, PRACTICE),
    _row("record.edge_spread", L("Spread from edge to edge, as a logarithm"), 0.35, "1", 0.15, 0.7, PRACTICE),
    _row("record.passes_bore", L("Passes of the bar in a bore, while none are planned"), 3.0, "1", 1.0, 6.0, PRACTICE),
    _row("record.passes_over", L("Passes cut against passes planned, trial cuts too"), 1.15, "1", 1.0, 1.5, PRACTICE),
    _row("record.passes_level", L("How differently people cut, as a logarithm"), 0.2, "1", 0.1, 0.4, PRACTICE),
    _row("record.passes_spread", L("Spread of passes against the plan, as a logarithm"), 0.25, "1", 0.1, 0.4, PRACTICE),
    _row("record.stones_life", L("Iron that a set of stones takes off"), 40.0, "cm³", 10.0, 150.0, PRACTICE),
    _row("record.stones_level", L("How differently long stones last, as a logarithm"), 0.8, "1", 0.4, 1.2, PRACTICE),
    _row("record.stones_spread", L("Spread from set to set, as a logarithm"), 0.35, "1", 0.15, 0.7, PRACTICE),
    _row("record.stones_share", L("Spread of what a grit takes against its plan"), 0.25, "1", 0.1, 0.5, PRACTICE),
)

#: Every row by key.
CONSTANTS: Mapping[str, Constant] = {
    c.key: c for c in (*_UNITS, *_THERMAL, *_ELASTIC, *_FASTENERS, *_CUTTING, *_PISTONS, *_RECORDS)
}


def constant(key: str) -> Constant:
    """The row called ``key``. Raises KeyError if there is none."""
    return CONSTANTS[key]


# -- ISO 898-1 stress areas -------------------------------------------------------------
#: Nominal stress area in mm² by thread: ISO 898-1:2013, tables 4 to 7 (coarse, fine).
STRESS_AREAS: Mapping[str, float] = {
    "M6": 20.1,
    "M7": 28.9,
    "M8": 36.6,
    "M8x1": 39.2,
    "M10": 58.0,
    "M10x1.25": 61.2,
    "M12": 84.3,
    "M12x1.25": 92.1,
    "M12x1.5": 88.1,
    "M14": 115.0,
    "M14x1.5": 125.0,
    "M16": 157.0,
    "M16x1.5": 167.0,
    "M18": 192.0,
    "M20": 245.0,
}


def stress_area_mm2(diameter_mm: float, pitch_mm: float, *, unified: bool = False) -> float:
    """Stress area of a thread: ISO metric π/4 (d − 0.9382 P)² (ISO 898-1:2013, 9.1.6.1),
    ``unified`` inch threads π/4 (d − 0.9743 P)² (ASME B1.1). Both sizes in millimetres.

    Raises ValueError for a size that is no thread.
    """
    if not (math.isfinite(diameter_mm) and math.isfinite(pitch_mm) and 0 < pitch_mm < diameter_mm / 2):
        raise ValueError("a thread needs a diameter and a pitch well below it")
    return math.pi / 4.0 * (diameter_mm - (0.9743 if unified else 0.9382) * pitch_mm) ** 2


# -- ISO 286-1 tolerance grades ----------------------------------------------------------
#: Upper ends of the ranges of nominal size, mm; each range is "above the one before, up to and including".
_RANGES_MM = (3.0, 6.0, 10.0, 18.0, 30.0, 50.0, 80.0, 120.0, 180.0, 250.0, 315.0)
#: ISO 286-1:2010, table 1: grade -> tolerance in µm for each range.
_GRADES_UM: Mapping[int, tuple[int, ...]] = {
    4: (3, 4, 4, 5, 6, 7, 8, 10, 12, 14, 16),
    5: (4, 5, 6, 8, 9, 11, 13, 15, 18, 20, 23),
    6: (6, 8, 9, 11, 13, 16, 19, 22, 25, 29, 32),
    7: (10, 12, 15, 18, 21, 25, 30, 35, 40, 46, 52),
    8: (14, 18, 22, 27, 33, 39, 46, 54, 63, 72, 81),
    9: (25, 30, 36, 43, 52, 62, 74, 87, 100, 115, 130),
    10: (40, 48, 58, 70, 84, 100, 120, 140, 160, 185, 210),
}


def tolerance_grade_mm(grade: int, size_mm: float) -> float:
    """Width of tolerance grade IT4 to IT10 at a nominal size up to 315 mm (ISO 286-1:2010, table 1).

    Raises ValueError for a grade or a size outside the table.
    """
    if grade not in _GRADES_UM:
        raise ValueError(f"no tolerance grade IT{grade} here")
    for end, micrometres in zip(_RANGES_MM, _GRADES_UM[grade], strict=False):
        if 0 < size_mm <= end:
            return micrometres / 1000.0
    raise ValueError("the nominal size lies outside 0 to 315 mm")
