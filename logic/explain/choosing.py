"""What the figures of choosing mean: oversize, sizes, sleeves, rings, pairing and compression."""

from __future__ import annotations

from ..say import L
from . import Meaning

__all__ = ["MEANINGS"]

# -- sleeves: thick cylinders, the sleeve's bore d_i, the joint d, the outside of the iron d_o --
_PRESS = "Shigley's Mechanical Engineering Design"
_PRESSURE = (
    "p = δ / (d ((C_o + ν_o)/E_o + (C_i − ν_i)/E_i)), C_o = (d_o² + d²)/(d_o² − d²), C_i = (d² + d_i²)/(d² − d_i²)"
)

# -- oversize: one cylinder, the whole job and the quick check share most rows ---------------
_LOW = Meaning(
    L(
        "The clean-up diameter in the best case that is possible. "
        "A smaller bore keeps worn metal; on a swept bore least and most are the same size."
    ),
    L("2 × farthest wall from the bar's axis, at the best share of the wear"),
    "geometry",
)
_HIGH = Meaning(
    L(
        "The clean-up diameter in the worst case that is possible, for instance with all wear on one side. "
        "A bore of this size comes out clean whichever side wore; a sweep brings least and most together."
    ),
    L("2 × farthest wall from the bar's axis, at the worst share of the wear"),
    "geometry",
)
_NEEDED = Meaning(
    L(
        "The smallest bored size that leaves no worn metal with the confidence wanted, counting what is not known "
        "about the wear and how sure the readings are. A smaller bore may keep worn metal."
    ),
    L("P(clean-up diameter ≤ bored size) = confidence wanted"),
    "JCGM 106:2012",
)
_WORST = Meaning(
    L(
        "The largest diameter read anywhere, as it would be at 20 °C. "
        "Boring to it alone may not clean up, because the wear can lie more to one side than to the other."
    ),
    source="measured",
)
_UNWORN = Meaning(
    L(
        "What the bore measures where no ring has worn it, as stated or read, or else the smallest reading or the "
        "nominal bore in its place. Wear is counted from it, so read it below ring travel where you can."
    ),
    source="measured",
)
_FINISHED = Meaning(
    L(
        "The size a bore has when the hone is done: the nominal bore and the step. "
        "Pistons of this oversize are made for it, and measured pistons settle it bore by bore."
    ),
    L("nominal + step"),
)
_BORED = Meaning(
    L(
        "The size the bar cuts to, which leaves the rest to the hone. "
        "It has to be at least the clean-up diameter, or worn metal stays in the bore."
    ),
    L("finished − hone stock"),
)
_SPARE = Meaning(
    L(
        "How far the bored size, that of the largest step where none is advised, lies above the size needed; below zero "
        "it falls short. Little to spare is a reason to measure again before pistons are bought."
    ),
    L("bored size − size needed"),
)
_CHANCE = Meaning(
    L(
        "How likely it is that the bored size of this step is at least the clean-up diameter, so that no worn metal is "
        "left. A step is advised from the confidence wanted on; a sweep makes the answer surer either way."
    ),
    L("P(clean-up diameter ≤ bored size)"),
    "JCGM 106:2012",
)
_ONE_BORE = {"low": _LOW, "high": _HIGH, "needed": _NEEDED, "worst": _WORST, "unworn": _UNWORN}
_ALL_BORES = {
    "finished": _FINISHED,
    "bored": _BORED,
    "needed": _NEEDED,
    "clean_up_low": _LOW,
    "clean_up_high": _HIGH,
    "worst": _WORST,
    "spare": _SPARE,
    "chance": _CHANCE,
}
_QUICK_WORST = Meaning(
    L(
        "The largest diameter found in the bore, as entered and taken as at 20 °C. "
        "Boring to it alone may not clean up, because the wear can lie more to one side than to the other."
    ),
    source="entered",
)

# -- rings -----------------------------------------------------------------------------------
_GAP_LIMIT = L("maker's figure, else share × bore, fixed for oil rails")
_LEAST_GAP = Meaning(
    L(
        "The smallest gap the ring may have cold: the ring maker's where it was entered, else the usual one for its kind. "
        "With less, the hot ring's ends can meet, which breaks the ring or scores the bore."
    ),
    _GAP_LIMIT,
    "common practice",
)

MEANINGS: dict[str, Meaning] = {
    **{f"cleanup/{key}": row for key, row in _ONE_BORE.items()},
    **{f"oversize/{key}": row for key, row in (_ONE_BORE | _ALL_BORES).items()},
    **{f"quick/{key}": row for key, row in (_ALL_BORES | {"worst": _QUICK_WORST}).items()},
    # -- sizes ---------------------------------------------------------------------------------
    "sizes/piston": Meaning(
        L(
            "The piston's diameter at its gauge point, brought to 20 °C from the temperature it was measured at. "
            "The finished bore is made for it, so a slip here goes straight into the bore."
        ),
        "D20 = D / (1 + α (T − 20))",
        "ISO 1",
    ),
    "sizes/clearance": Meaning(
        L(
            "The bore less the piston at its gauge point, both at 20 °C: the piston maker's where it was entered, else by "
            "alloy, duty and cooling. Too little and the hot piston seizes, too much and it slaps."
        ),
        source="entered",
    ),
    "sizes/finished": Meaning(
        L(
            "The size the hone is to leave at 20 °C, made for the piston that goes into this bore. "
            "Go by it and not by the step's round figure."
        ),
        L("piston + clearance"),
    ),
    "sizes/bored": _BORED,
    "sizes/stock": Meaning(
        L(
            "What the bar leaves for the hone: the usual amount unless another was entered. "
            "It must be more than the depth of the torn layer that the cutter leaves, so a rough or dull cut needs more."
        ),
        source="common practice",
    ),
    "sizes.running/cold": Meaning(
        L(
            "The finished bore less its piston, both at 20 °C, for the tightest bore of the set. "
            "It is the clearance that can be measured before anything grows."
        ),
        L("finished bore − piston"),
    ),
    "sizes.running/running": Meaning(
        L(
            "What is left of the clearance when wall and skirt have grown at full work, the skirt taken as a plain ring. "
            "If it comes near nothing, ask the piston's maker before you go by it."
        ),
        L("bore (1 + α_block (T_wall − 20)) − piston (1 + α_piston (T_skirt − 20))"),
        "from memory",
    ),
    "sizes.running/margin": Meaning(
        L(
            "How far the running clearance lies above the least that is wanted. Read it with its ±, because the temperatures are estimates."
        ),
        L("running clearance − least wanted"),
    ),
    "sizes.running/wall": Meaning(
        L(
            "The temperature of the wall beside the gauge point at full work, as entered or else by duty and cooling. "
            "The hotter the wall, the more clearance is left."
        ),
        source="from memory",
    ),
    "sizes.running/skirt": Meaning(
        L(
            "The temperature of the skirt at the gauge point at full work, as entered or else by duty and cooling. "
            "The hotter the skirt, the less clearance is left."
        ),
        source="from memory",
    ),
    # -- sleeves -------------------------------------------------------------------------------
    "sleeve.bore/aim": Meaning(
        L(
            "The size to bore the cylinder to, so that the sleeve gets the middle of its range of interference. "
            "Measure the sleeve at top, middle and bottom before you bore, and the bore before the sleeve goes in."
        ),
        L("sleeve outside − middle of the interference"),
    ),
    "sleeve.bore/least": Meaning(
        L(
            "The smallest bore this sleeve may go into, which gives the most interference. "
            "In a smaller one it can distort or crack the block and its neighbours."
        ),
        L("sleeve outside − most interference"),
    ),
    "sleeve.bore/most": Meaning(
        L(
            "The largest bore this sleeve may go into, which gives the least interference. "
            "In a larger one it may work loose."
        ),
        L("sleeve outside − least interference"),
    ),
    "sleeve.bore/interference": Meaning(
        L(
            "How much larger the sleeve is outside than the bore as it was measured. "
            "It must lie inside its range by more than both measurements may be off, or both are measured again."
        ),
        L("sleeve outside − bore as measured"),
    ),
    "sleeve.grip/pressure_low": Meaning(
        L(
            "The pressure between sleeve and block at the least interference, or at the one measured. "
            "It is what holds the sleeve where it is."
        ),
        _PRESSURE,
        _PRESS,
    ),
    "sleeve.grip/pressure_high": Meaning(
        L(
            "The pressure between sleeve and block at the most interference, or at the one measured. "
            "It loads them both and sets the force of the press."
        ),
        _PRESSURE,
        _PRESS,
    ),
    "sleeve.grip/block_low": Meaning(
        L(
            "The hoop tension in the block, where the sleeve touches it, at the least interference, or at the one measured. "
            "The thinnest wall counts as a free ring, so the real block bears less than this."
        ),
        "σ = p (d_o² + d²) / (d_o² − d²)",
        _PRESS,
    ),
    "sleeve.grip/block_high": Meaning(
        L(
            "The hoop tension in the block, where the sleeve touches it, at the most interference, or at the one measured. "
            "It must stay below what the block is allowed to bear; if it does not, use less interference."
        ),
        "σ = p (d_o² + d²) / (d_o² − d²)",
        _PRESS,
    ),
    "sleeve.grip/sleeve_low": Meaning(
        L(
            "The hoop compression in the sleeve at its own bore, before it is bored out, at the least interference, or at the one "
            "measured. It is what closes the sleeve's bore in."
        ),
        "σ = 2 p d² / (d² − d_i²)",
        _PRESS,
    ),
    "sleeve.grip/sleeve_high": Meaning(
        L(
            "The hoop compression in the sleeve at its own bore, before it is bored out, at the most interference, or at the one "
            "measured. Grey iron bears far more compression than tension, so the block sets the limit."
        ),
        "σ = 2 p d² / (d² − d_i²)",
        _PRESS,
    ),
    "sleeve.grip/push_low": Meaning(
        L(
            "The force that pushes the sleeve over the last of its travel at the least interference, or at the one measured. "
            "If it goes in with much less, the fit is loose: stop and measure."
        ),
        "F = μ p π d L",
        _PRESS,
    ),
    "sleeve.hot/hot": Meaning(
        L(
            "The interference that is left when block and sleeve are at work, less what pressing flattened. "
            "An aluminium block grows away from an iron sleeve: with nothing left it turns or drops."
        ),
        L("interference − flattened − (α block − α sleeve) × diameter × (T − 20 °C)"),
        "mechanics; DIN 7190 (from memory)",
    ),
    "sleeve.hot/grows": Meaning(
        L(
            "How much more the block's bore grows than the sleeve from 20 °C to the temperature at work. "
            "In a block of the sleeve's own material it is next to nothing."
        ),
        L("(α block − α sleeve) × diameter × (T − 20 °C)"),
        "mechanics",
    ),
    "sleeve.grip/push_high": Meaning(
        L(
            "The most that it can take to push the sleeve over the last of its travel: in a block that does not give, with the "
            "upper friction. Choose the press for it, and stop if the force runs past it."
        ),
        "F = μ p π d L",
        _PRESS,
    ),
    "sleeve.grip/stays": Meaning(
        L(
            "The pressure that holds the sleeve at the least interference, or at the one measured, once it is bored thin to "
            "its finished size. It has to keep the sleeve in place as long as the engine runs."
        ),
        L("contact pressure with d_i = finished size"),
        _PRESS,
    ),
    "sleeve.fitting/block": Meaning(
        L(
            "How hot the block must be for the sleeve to drop in with the clearance wanted, the sleeve as cold as it is made. "
            "Heat the block evenly, measure it, and have the sleeve home within seconds."
        ),
        L("room + (interference + clearance − shrinkage) / (α × bore)"),
        "mechanics",
    ),
    "sleeve.fitting/block_alone": Meaning(
        L(
            "How hot the block would have to be if the sleeve is left at the temperature of the room. "
            "Where the block may not get so hot, cool the sleeve as well."
        ),
        L("room + (interference + clearance) / (α × bore)"),
        "mechanics",
    ),
    "sleeve.fitting/sleeve_alone": Meaning(
        L(
            "How cold the sleeve would have to be if the block is left at the temperature of the room. "
            "Compare it with what a freezer, dry ice or liquid nitrogen reaches."
        ),
        L("room − (interference + clearance) / (α_cold × sleeve outside)"),
        "mechanics",
    ),
    "sleeve.fitting/shrink": Meaning(
        L(
            "How much smaller the sleeve gets outside when it is cooled from the room to as cold as it is made. "
            "The block has that much less to grow."
        ),
        L("α_cold × sleeve outside × (room − cold)"),
        "mechanics",
    ),
    "sleeve.finish/closes": Meaning(
        L(
            "How much the grip closes the sleeve's bore, midway between the least and the most interference. "
            "Real walls give unevenly, so measure the fitted sleeve before you set the bar."
        ),
        "2 p d² d_i / (E (d² − d_i²))",
        _PRESS,
    ),
    "sleeve.finish/inside": Meaning(
        L(
            "The sleeve's bore once it is fitted, from its size before and how much it closes in. "
            "Boring starts from here, so measure it when the sleeve is in."
        ),
        L("sleeve inside − how much it closes"),
    ),
    "sleeve.finish/stock": Meaning(
        L(
            "What is left to take out from the fitted sleeve to the finished size. "
            "With too little it may not clean up, because a sleeve never goes in quite straight or round."
        ),
        L("finished size − sleeve bore when fitted"),
    ),
    "sleeve.finish/left": Meaning(
        L(
            "How thick the sleeve is once it is bored and honed. "
            "Too thin a sleeve cracks or lets heat through unevenly: choose one that is thicker to begin with."
        ),
        L("(sleeve outside − interference − finished size) / 2"),
        "geometry",
    ),
    # -- rings ---------------------------------------------------------------------------------
    "ring/gap": Meaning(
        L(
            "The gap as read with the feelers, carried over to the narrowest place of the finished bore. "
            "It must not be less than the least gap there; where it is, file one end."
        ),
        L("gap read + π (bore − bore where read)"),
        "geometry",
    ),
    "ring/least": _LEAST_GAP,
    "ring.wanted/least": _LEAST_GAP,
    "ring/widest": Meaning(
        L(
            "The largest gap a new ring should have: the ring maker's where it was entered, else the usual one for its kind. "
            "A wider one most likely means that the ring is not the one for this bore."
        ),
        _GAP_LIMIT,
        "common practice",
    ),
    "ring/running": Meaning(
        L(
            "What is left of the gap at the narrowest place when ring and wall are as hot as they get. "
            "The ring grows more than the wall it runs on, and if nothing is left the ends meet."
        ),
        L("gap − π D (α_ring ΔT_ring − α_wall ΔT_wall)"),
        "from memory",
    ),
    "ring.opened/change": Meaning(
        L(
            "How much every ring's gap opens, or below zero closes, because it follows the way round the bore. "
            "In a larger bore the old rings' gaps are too wide by this, so use rings made for the new size."
        ),
        L("π × change of bore"),
        "geometry",
    ),
    # -- pistons to bores ------------------------------------------------------------------------
    "fitting.pairs/clearance": Meaning(
        L(
            "The finished bore as measured less the piston paired with it, both at 20 °C. "
            "Where it is too small hone that bore further, and where it is too large find a larger piston."
        ),
        L("bore − piston"),
    ),
    "fitting.own/finished": Meaning(
        L(
            "The size to hone this bore to for the piston paired with it, so that it gets the clearance wanted. Mark that piston for its cylinder, because the size is made for no other."
        ),
        L("piston + clearance"),
    ),
    "fitting.weights/spread": Meaning(
        L(
            "How much more the heaviest piston weighs than the lightest. "
            "If it is more than is allowed, match the heavy ones to the lightest, only where their maker allows it."
        ),
        L("heaviest − lightest"),
    ),
    "fitting.weights/allowed": Meaning(
        L(
            "The difference in weight at which nothing is done, the usual one unless another was entered. "
            "A fast engine wants less."
        ),
        source="common practice",
    ),
    "fitting.weights/force": Meaning(
        L(
            "How hard the difference in weight shakes the engine once a turn at the speed entered, without what the rod's "
            "swing adds. It shows whether matching the weights is worth the work."
        ),
        L("difference × stroke / 2 × ω²"),
        "mechanics",
    ),
    # -- compression -----------------------------------------------------------------------------
    "compression.ratio/before": Meaning(
        L(
            "The compression ratio as the engine was: the nominal bore and the sizes entered for before the work. "
            "It is what the ratio after the work is held against."
        ),
        L("(swept + left) / left"),
    ),
    "compression.ratio/after": Meaning(
        L(
            "The compression ratio with the largest finished bore, the skim and whatever was entered as changed. "
            "A higher one may call for better fuel or later ignition, so ask the engine's maker."
        ),
        L("(swept + left) / left"),
    ),
    "compression.ratio/swept": Meaning(
        L(
            "The space the piston passes through in one stroke, with the largest finished bore. "
            "The more it is beside what is left above the piston, the higher the ratio."
        ),
        "π/4 D² S",
        "geometry",
    ),
    "compression.ratio/left": Meaning(
        L(
            "The space above the piston at top dead centre after the work: chamber, gasket bore, deck clearance and dish, less a dome. The smaller it is, the higher the ratio."
        ),
        L("chamber + π/4 D_gasket² × thickness + π/4 D² × deck clearance + crown"),
        "geometry",
    ),
    "compression.ratio/restore": Meaning(
        L(
            "The volume to add to each chamber or crown to bring the old ratio back; below zero, the volume to take away. "
            "Use it to choose a dish, or to say how far a chamber is to be cut."
        ),
        L("swept / (old ratio − 1) − left"),
    ),
    "compression.gap/gap": Meaning(
        L(
            "How far the flat of the crown stays from the head at top dead centre, the clamped gasket included. "
            "The rod stretches at speed, so too little lets the piston strike."
        ),
        L("gasket + deck clearance"),
        "geometry",
    ),
    "compression.gap/least": Meaning(
        L(
            "The smallest distance from piston to head that is wanted: the usual one for a steel rod unless another was "
            "entered. The engine's maker comes first, and a light-alloy rod wants more."
        ),
        source="common practice",
    ),
    "compression.capacity/before": Meaning(
        L(
            "What all the pistons sweep in one stroke each, with every bore at its nominal size. "
            "A maker's stated capacity may be rounded, so a small difference from it means nothing."
        ),
        "π/4 D² S n",
        "geometry",
    ),
    "compression.capacity/after": Meaning(
        L(
            "What all the pistons sweep in one stroke each, every bore at its own finished size. "
            "Papers, insurance or a racing class may go by it."
        ),
        "π/4 S Σ D²",
        "geometry",
    ),
    "compression.capacity/change": Meaning(
        L("How much the work adds to the engine's capacity. It shows whether a limit by capacity is still kept."),
        L("capacity after − capacity before"),
    ),
}
