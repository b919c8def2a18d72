"""What the figures of finishing mean: the hone's plan, honing, the finish, the final check."""

from __future__ import annotations

from ..say import L
from . import Meaning

MEANINGS: dict[str, Meaning] = {
    # -- the hone's plan
    "hone.split/grit": Meaning(
        L(
            "The size at which this grit stops and the next finer one takes over; the last one stops at the finished "
            "size. Change stones here: going on uses up the stock that the finer stones need to take out these marks."
        ),
        L("finished size − what the finer grits take, each 4 Rz of the grit before it"),
        "common practice",
    ),
    "hone.crosshatch/angle": Meaning(
        L(
            "The angle at which the two sets of hone marks cross in the middle of the bore, from the stroke rate and the "
            "spindle speed. Too flat keeps the oil up on the wall and too steep lets it drain; the ring maker's angle comes first."
        ),
        L("2 atan(2 · stroke · rate / (π D n))"),
        "geometry",
    ),
    "hone.crosshatch/rate": Meaning(
        L(
            "The double strokes a minute that would give the wanted angle at this stroke and spindle speed. Count your "
            "strokes for half a minute, double it, and come as near to this as you can."
        ),
        L("tan(angle / 2) · π D n / (2 · stroke)"),
        "geometry",
    ),
    "hone.crosshatch/spin": Meaning(
        L(
            "The spindle speed that would give the wanted angle at this stroke and stroke rate. Use it where the speed of "
            "the hone can be set; where it cannot, change the stroke rate."
        ),
        L("2 · stroke · rate / (π D · tan(angle / 2))"),
        "geometry",
    ),
    "hone.stroke/stroke": Meaning(
        L(
            "How far the stones travel from one turn to the other, so that they run out of the bore by the overrun at each "
            "end. Set the stops to it, by hand and with the spindle off."
        ),
        L("bore length + both overruns − stone length"),
        "geometry",
    ),
    "hone.stroke/top": Meaning(
        L(
            "How far the stones stand out above the deck at the top of the stroke. More opens the top like a bell-mouth, and less leaves it tight."
        ),
        L("share of the stone · stone length"),
        "common practice",
    ),
    "hone.stroke/bottom": Meaning(
        L(
            "How far the stones run out below the bore, cut short where the web leaves no room for more. Where it is less "
            "than at the top the bottom comes out tight: dwell there, and measure it at every check."
        ),
        L("share of the stone · stone length, at most room to the web − hone below its stones − gap"),
        "common practice",
    ),
    "hone.stroke/lowest": Meaning(
        L(
            "How deep the lower end of the stones goes below the deck; the body of the hone may reach lower still. Run "
            "it down there by hand first and see that it touches nothing."
        ),
        L("bore length + overrun at the bottom"),
        "geometry",
    ),
    # -- honing
    "hone.progress/size": Meaning(
        L(
            "The mean of the sizes read down the bore at the last check, brought to 20 °C from the temperature entered. It "
            "is held against the finished size, with the ± of the gauge and of its zero counted."
        ),
        "Σ D20 / n, D20 = D / (1 + α (T − 20))",
        "ISO 1",
    ),
    "hone.progress/left": Meaning(
        L(
            "What the grit in use still has to take off the mean diameter, without the stock kept for the finer grits. At "
            "zero this grit stops; measure more often the nearer you come."
        ),
        L("finished size − kept for finer grits − mean size"),
    ),
    "hone.progress/per_ten": Meaning(
        L(
            "What ten double strokes take off the diameter, from every check of the grit in use or, once its stones have "
            "slowed down, from the last stretch alone. The strokes still to go follow from it."
        ),
        L("10 · slope of the least-squares line of size against strokes"),
        "JCGM 100:2008",
    ),
    "hone.shape/taper": Meaning(
        L(
            "How much wider the top is than the bottom, by the straight line that best fits the sizes of the last check. "
            "Plus is tight at the bottom and minus tight at the top, and the tight end is where to dwell."
        ),
        L("least-squares line of size against depth, top less bottom"),
        "geometry",
    ),
    "hone.shape/bulge": Meaning(
        L(
            "How much wider the middle is than a straight line from the top size to the bottom size; zero where only two "
            "depths were read. Plus is a barrel, so dwell at both ends; minus is a waist, so dwell in the middle."
        ),
        L("mean of the sizes between the ends − line through the two end sizes"),
        "geometry",
    ),
    "hone.heat/shrink": Meaning(
        L(
            "How much smaller the bore gets in cooling from its temperature now to 20 °C. A warm bore is larger by this "
            "much, and the sizes shown at 20 °C have it taken off already."
        ),
        "α (T − 20) D",
        "ISO 1",
    ),
    "hone.heat/early": Meaning(
        L(
            "What to leave until the bore has cooled: twice the ± of its shrinking, since honing does not warm the "
            "wall evenly. Stop there, let it cool, measure again and take the rest."
        ),
        "2 · u(α (T − 20) D)",
        "common practice",
    ),
    "hone.heat/shown_stop": Meaning(
        L(
            "What the gauge reads in the warm bore when it will be the stop size of this grit at 20 °C. While the "
            "bore is warm hone no further than this, less what is left until it has cooled."
        ),
        "D (1 + α (T − 20)) / (1 + α_master (T_master − 20))",
        "ISO 1",
    ),
    # -- the finish
    "finish.target/ra_low": Meaning(
        L(
            "The smoothest mean roughness that suits rings with this face, to start from where their maker gives none. A "
            "smoother wall holds too little oil and new rings are slow to bed in on it."
        ),
        source="from memory",
    ),
    "finish.target/ra_high": Meaning(
        L(
            "The coarsest mean roughness that suits rings with this face, to start from where their maker gives none. A "
            "rougher wall wears the rings; go on with a finer grit if there is stock for it."
        ),
        source="from memory",
    ),
    "finish.target/rpk_high": Meaning(
        L(
            "The greatest height of the peaks that suits rings with this face, to start from where their maker gives none. "
            "A few strokes with a finer stone or a plateau brush take higher ones off."
        ),
        source="from memory",
    ),
    "finish.target/rk_low": Meaning(
        L(
            "The least height of the core, the part that carries the rings, to start from where their maker gives none. "
            "Below it the wall is too smooth, and the stones may be glazed."
        ),
        source="from memory",
    ),
    "finish.target/rk_high": Meaning(
        L(
            "The greatest height of the core, the part that carries the rings, to start from where their maker gives none. "
            "Above it the wall is too rough; go on with a finer grit if there is stock for it."
        ),
        source="from memory",
    ),
    "finish.target/rvk_low": Meaning(
        L(
            "The least depth of the valleys that hold the oil, to start from where the maker of the rings gives none. If "
            "they come out shallower, the grit before must cut deeper."
        ),
        source="from memory",
    ),
    "finish.target/rvk_high": Meaning(
        L(
            "The greatest depth of the valleys that hold the oil, to start from where the maker of the rings gives none. "
            "If they come out deeper, go on with a finer grit if there is stock for it."
        ),
        source="from memory",
    ),
    "finish.accept/ra": Meaning(
        L(
            "The average height of the surface above and below its mean line, as the instrument read it in this bore. It "
            "tells too rough from too smooth, and nothing of the shape of the marks."
        ),
        "Ra = (1 / l) · ∫ |z| dx",
        "ISO 21920-2",
    ),
    "finish.accept/rpk": Meaning(
        L(
            "The height of the peaks that stand above the core, as the instrument read it in this bore. They wear off "
            "first and wear the rings meanwhile, so that low ones do no harm."
        ),
        L("reduced height of the peaks above the core of the material ratio curve"),
        "ISO 21920-2",
    ),
    "finish.accept/rk": Meaning(
        L(
            "The height of the core that carries the rings once the peaks are gone, as the instrument read it in this bore. "
            "It tells whether the last grit left the wall too rough or too smooth."
        ),
        L("height of the core of the material ratio curve"),
        "ISO 21920-2",
    ),
    "finish.accept/rvk": Meaning(
        L(
            "The depth of the valleys below the core, as the instrument read it in this bore. They hold the oil: where they "
            "are too shallow the grit before must cut deeper."
        ),
        L("reduced depth of the valleys below the core of the material ratio curve"),
        "ISO 21920-2",
    ),
    # -- the final check
    "final/mean": Meaning(
        L(
            "The mean of the places read in this bore at 20 °C, each place with all its readings counted as one. It gives "
            "the clearance to the piston, but a bore passes or fails by its single places."
        ),
        "Σ D20 / n",
        "ISO 1",
    ),
    "final/target": Meaning(
        L(
            "The size this bore is to have at 20 °C, as it was settled with the sizes. The smallest and the largest size "
            "allowed are counted from it."
        ),
        L("piston + clearance; with the old pistons, the size they are honed out for"),
    ),
    "final/lower": Meaning(
        L(
            "The smallest diameter allowed at any place of this bore, at 20 °C. A place below it has too little clearance "
            "and could seize, and there is still stock to hone there."
        ),
        L("wanted size − what is allowed below it"),
    ),
    "final/upper": Meaning(
        L(
            "The largest diameter allowed at any place of this bore, at 20 °C. A place above it has too much clearance, and "
            "only a larger piston or the next step mends that."
        ),
        L("wanted size + what is allowed above it"),
    ),
    "final/nearest": Meaning(
        L(
            "The size at the place that lies nearest to a limit, or furthest outside. The verdict on size hangs on it most, "
            "so it is the first to read again when that is too close to call."
        ),
        L("D with the least of D − smallest and largest − D"),
    ),
    "final.capability/expanded": Meaning(
        L(
            "How far one reading may be from the true diameter, 19 times in 20, from the dial, the zero, the master and "
            "the temperatures. Where it comes near to what is allowed, the gauge cannot tell good from bad."
        ),
        L("2 × √(division²/12 + repeatability² + what all readings share²)"),
        "JCGM 100:2008",
    ),
    "final.capability/allowed": Meaning(
        L(
            "The largest size allowed less the smallest. The engine or piston maker's figures come first; the rest is "
            "common practice."
        ),
        L("largest size allowed − smallest size allowed"),
    ),
    "final.capability/consumer": Meaning(
        L(
            "The share of all bores made like this that one reading would pass although they are out of "
            "limits. The customer bears it."
        ),
        L("chance over all bores that D is out and reads in"),
        "JCGM 106:2012",
    ),
    "final.capability/producer": Meaning(
        L(
            "The share of all bores made like this that one reading would not pass although they are good. It costs "
            "another look with more readings or a finer gauge."
        ),
        L("chance over all bores that D is in and does not read so"),
        "JCGM 106:2012",
    ),
    "final/size_chance": Meaning(
        L(
            "How likely it is that every place read truly lies within the limits, with the ± of gauge, master and "
            "temperatures counted. The bore passes or fails only when this is high or low enough; in between, measure again."
        ),
        L("chance that smallest ≤ D ≤ largest at every place"),
        "JCGM 106:2012",
    ),
    "final/round": Meaning(
        L(
            "The largest diameter less the smallest at one depth, shown for the depth that is least sure to be within limits. An "
            "out-of-round bore lets gas and oil past the rings; a two-point gauge misses some shapes, such as three lobes."
        ),
        L("D_max − D_min at one depth"),
    ),
    "final/round_limit": Meaning(
        L(
            "The most by which the diameters at one depth may differ; common practice where no other figure is entered. "
            "The engine maker's figure comes first."
        ),
        source="common practice",
    ),
    "final/round_chance": Meaning(
        L(
            "How likely it is that the bore is truly within the out-of-round allowed at every depth; an error that all "
            "readings share drops out of it. Where it is neither sure nor ruled out, read the places named again."
        ),
        L("chance that D_max − D_min ≤ limit at every depth"),
        "JCGM 106:2012",
    ),
    "final/taper": Meaning(
        L(
            "The largest diameter less the smallest down one axis, shown for the axis that is least sure to be within limits; a barrel "
            "or a waist counts too. Short strokes of the hone at the tight place take it out while there is stock."
        ),
        L("D_max − D_min down one axis"),
    ),
    "final/taper_limit": Meaning(
        L(
            "The most by which the diameters down one axis may differ; common practice where no other figure is entered. "
            "The engine maker's figure comes first."
        ),
        source="common practice",
    ),
    "final/taper_chance": Meaning(
        L(
            "How likely it is that the bore is truly within the taper allowed down every axis; an error that all readings "
            "share drops out of it. Where it is neither sure nor ruled out, read the places named again."
        ),
        L("chance that D_max − D_min ≤ limit down every axis"),
        "JCGM 106:2012",
    ),
    "final/clearance": Meaning(
        L(
            "How much larger this bore is on average than its piston at the gauge point, both at 20 °C; a piston not measured counts as the step makes it. Hold it against what the piston maker asks for before assembly."
        ),
        L("mean of the bore − piston"),
    ),
}
