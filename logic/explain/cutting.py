"""What the figures of cutting mean."""

from __future__ import annotations

from ..say import L
from . import Meaning

MEANINGS: dict[str, Meaning] = {
    # -- holding the machine down
    "clamp.stud/preload": Meaning(
        L(
            "The pull the torque likely puts in one stud, by the nut factor for its thread. Torque is a rough way to set it, so look at the low and the high side as well."
        ),
        "F = T / (K d)",
        "Shigley's Mechanical Engineering Design",
    ),
    "clamp.stud/low": Meaning(
        L(
            "The least a stud so tightened is likely to pull; one in twenty pulls less. It counts where the question is whether the machine is held."
        ),
        "F · e^(−1.645 u)",
        "from memory",
    ),
    "clamp.stud/high": Meaning(
        L(
            "The most a stud so tightened is likely to pull; one in twenty pulls more. It counts where the question is whether the stud or its thread gives way."
        ),
        "F · e^(1.645 u)",
        "from memory",
    ),
    "clamp.stud/area": Meaning(
        L(
            "The area with which the thread is counted when it is pulled, less than that of the plain shank. Times the stress that the stud's class must bear it gives the proof load."
        ),
        "π/4 (d − 0.9382 P)²",
        "ISO 898-1",
    ),
    "clamp.stud/proof": Meaning(
        L(
            "The pull that a stud of this thread and class must bear without lasting stretch. A stud without a mark counts as a weak one, so look for the mark if more is needed."
        ),
        L("stress area · proof stress"),
        "ISO 898-1",
    ),
    "clamp.stud/used": Meaning(
        L(
            "How much of the proof load the likely preload takes up. A stud that is used again should stay under three quarters, the ± of the preload included."
        ),
        L("preload / proof load"),
    ),
    "clamp.stud/most_torque": Meaning(
        L(
            "The torque at which even the high side of the preload stays within three quarters of the proof load. Set the wrench no higher, nor above what the maker of engine or machine says."
        ),
        L("T · 0.75 · proof load / high side of the preload"),
        "Shigley's Mechanical Engineering Design",
    ),
    "clamp.thread/diameters": Meaning(
        L(
            "How deep the stud is screwed into the block, counted in its own diameters. Iron wants about one and a half; with less, lower the torque or repair the thread."
        ),
        L("depth / d"),
    ),
    "clamp.thread/pull_out": Meaning(
        L(
            "The pull at which the block's thread would shear out if it is sound and clean. It should be half as much again as the preload, and a rusty or worn thread bears less."
        ),
        "0.875 π d L τ",
        "FED-STD-H28, from memory",
    ),
    "clamp.hold/down": Meaning(
        L(
            "The force with which all the studs together press the base on the deck. The whole hold comes from it, so be sure that every stud counted is tightened."
        ),
        "N = n T / (K d)",
        "Shigley's Mechanical Engineering Design",
    ),
    "clamp.hold/grip": Meaning(
        L(
            "The sideways push that friction under the base could bear if nothing twisted it as well. Oil or an old gasket takes much of it away, so wipe the deck clean and dry."
        ),
        "μ N",
        "mechanics",
    ),
    "clamp.hold/twist": Meaning(
        L(
            "How hard the cutting force tries to turn the machine about the middle of its clamps. Clamping nearer the cut, or taking a lighter one, makes it smaller."
        ),
        "M = F (D/2 + e)",
        "mechanics",
    ),
    "clamp.hold/overturn": Meaning(
        L(
            "How hard the cutting force, low in the bore, and the feed force try to tip the base over its nearer edge. It grows with the depth of the bore and with the way from the clamps to the cut."
        ),
        "F z + F_a (D/2 + e)",
        "mechanics",
    ),
    "clamp.hold/sliding": Meaning(
        L(
            "How many times over friction holds the base against push and twist at once. Where it is less than wanted, clean the deck, take a lighter cut, or tighten more if the studs allow."
        ),
        "1 / (F/(μ N) + M/(μ N r))",
        "mechanics",
    ),
    "clamp.hold/tipping": Meaning(
        L(
            "How many times over the clamping force holds the base down against the tipping moment. Where it is less than wanted, clamp nearer the cut or take a lighter one."
        ),
        "N b / (F z + F_a (D/2 + e))",
        "mechanics",
    ),
    "clamp.hold/need": Meaning(
        L(
            "The torque on each stud that would hold with the wanted safety, the ± of preload, force and friction included. Use it only where the studs and their threads bear it."
        ),
        L("T · wanted / held · e^(1.645 u)"),
        "mechanics",
    ),
    # -- the load of the cut
    "cut.load/speed": Meaning(
        L(
            "How far the edge runs along the wall in a minute, at the size bored. Too slow may tear the iron and too fast wears the edge, so choose the spindle speed to suit the edge."
        ),
        "v = π D n",
        "geometry",
    ),
    "cut.load/kc": Meaning(
        L(
            "How hard grey iron resists a chip of this thickness, from table values. It rises as the chip gets thinner, so a finer feed takes more power for the same metal."
        ),
        "k_c = k_c1.1 · h^(−m)",
        "from memory",
    ),
    "cut.load/force": Meaning(
        L(
            "How hard the iron pushes on a sharp edge in the heaviest cut, on the side where that is deepest. Harder iron pushes more, so take it as a guide and feel how the machine runs."
        ),
        L("F = k_c · f · depth"),
        "from memory",
    ),
    "cut.load/worn": Meaning(
        L(
            "The same cut with a worn edge, which pushes harder. The clamps and the motor are judged by it, so that they still hold when the edge is due to be indexed."
        ),
        L("F · factor of a worn edge"),
        "common practice",
    ),
    "cut.load/tool_w": Meaning(
        L(
            "The power a sharp edge takes for the cut alone. It grows with the cut, the feed and the spindle speed, so any of them can be lowered if the motor labours."
        ),
        "P = F · v",
        "mechanics",
    ),
    "cut.load/motor_w": Meaning(
        L(
            "What the motor must give for a sharp edge, with the losses between it and the spindle. It should stay well below the motor's power, because a worn edge draws more."
        ),
        "P / η",
        "mechanics",
    ),
    # -- passes, time, finish, tip
    "cut.passes/pass": Meaning(
        L(
            "The size at 20 °C that this pass should leave, with the metal shared among roughing passes within the largest cut and a light last one. Measure after each pass, and what is left is shared again."
        ),
        L("size before + cut of this pass"),
        "common practice",
    ),
    "cut.time/pass": Meaning(
        L(
            "How long the bar feeds through one bore, run-in and run-out included. More feed or spindle speed shortens it, as far as the finish and the edge allow."
        ),
        L("t = travel / (f n)"),
        "mechanics",
    ),
    "cut.time/bore": Meaning(
        L(
            "The time for the bore with the most passes left, setting and measuring included. It tells whether a bore begun now can be finished before you stop."
        ),
        L("passes left · (cutting time + setting time)"),
    ),
    "cut.time/job": Meaning(
        L(
            "The time for all the passes left in every bore, setting and measuring included. Allow extra for clamping, centring and moving the machine, which are not in it."
        ),
        L("all passes left · (cutting time + setting time)"),
    ),
    "cut.finish/rt": Meaning(
        L(
            "How deep the grooves are that a perfectly round nose leaves at this feed. The hone takes off at least twice as much on diameter to clear them, and more for a worn edge or torn iron."
        ),
        "Rt = f² / 8 r",
        "geometry",
    ),
    "cut.finish/ra": Meaning(
        L(
            "The average height of the feed grooves about their mean line, for a perfectly round nose. A bore several times rougher than this points to a worn edge, chatter or torn iron."
        ),
        "Ra = f² / (18 √3 r)",
        "geometry",
    ),
    "cut.centre_height/larger": Meaning(
        L(
            "How much more a tip off the bar's centre line cuts on diameter than the micrometer shows. It goes into the bar's error, as long as the tip's height is left alone."
        ),
        "2 (√(R² + h²) − R)",
        "geometry",
    ),
    "cut.centre_height/turn": Meaning(
        L(
            "How far the face of the tip that the chip runs over is turned against the cut when the tip is off the bar's centre line. Beyond two degrees, set it level with the centre again."
        ),
        "asin(h / R)",
        "geometry",
    ),
    # -- setting the cutter
    "cut.bias/mean": Meaning(
        L(
            "How much larger or smaller the bar cuts than it is set, from this job's measured cuts and, the fewer they are, the more from earlier jobs. The next setting takes it off."
        ),
        L("w · mean of (measured − set) + (1 − w) · earlier jobs"),
    ),
    "cut.bias/spread": Meaning(
        L(
            "How much the bar's error changes from one cut to the next in a job, two times in three; a usual value stands in until two cuts are logged. A large one points to a loose tip or hasty measuring."
        ),
        "s = √(Σ(b − b̄)² / Σ(n − 1))",
        "JCGM 100:2008",
    ),
    "cut.bias/half": Meaning(
        L(
            "How far from the bar's error the next cut may fall, either way, in 19 cuts out of 20. Stay at least this far from a size that the bore must not pass."
        ),
        "t · √(s² + u²(b̄))",
        "JCGM 100:2008",
    ),
    "cut.setting/reading": Meaning(
        L(
            "Where the setting micrometer must stand for this pass, with the bar's error taken off where it is known. Clamp the tip, read once more, and log the reading before you cut."
        ),
        L("M = D − error"),
    ),
    "cut.setting/wanted": Meaning(
        L(
            "The size this pass should leave, as the bore measures at the block's present temperature, with how far one cut may miss it. Compare the bore with it before the next pass."
        ),
        "D = D20 · (1 + α (T − 20 °C))",
        "ISO 1",
    ),
    "cut.trial/reading": Meaning(
        L(
            "The setting for the trial cut, under the size of the pass and far enough above the size now for the tip to cut. No error is taken off yet, because this cut is to show it."
        ),
        L("M = max(D − margin, size now + least cut)"),
        "common practice",
    ),
    "cut.trial/depth": Meaning(
        L(
            "How far down the trial cut goes, just enough to measure across. Go a little deeper where your gauge needs more room to rock in."
        ),
        source="common practice",
    ),
    # -- chamfers
    "chamfer/depth": Meaning(
        L(
            "How far to feed down from the first touch of the rim for a chamfer of the wanted width. It is the same for every bore, while the dial reading at the touch may differ."
        ),
        L("width / tan(angle)"),
        "geometry",
    ),
    "chamfer/stop": Meaning(
        L(
            "The dial reading at which this bore's chamfer has the wanted width, from its touch or, without one, from the bores' sizes. Stop feeding there, and note what the dial then says."
        ),
        L("touch + depth"),
        "geometry",
    ),
    "chamfer/width": Meaning(
        L(
            "The chamfer's width as measured across it, or else as it follows from where the dial was stopped. Compare the bores: each ring should meet the same chamfer."
        ),
        L("(stopped − touch) · tan(angle)"),
        "geometry",
    ),
    # -- cleaning and handover
    "clean/settled": Meaning(
        L(
            "Checks answered with yes, or as not applying here. The engine is fit to hand over when every check is among them."
        ),
        source="entered",
    ),
    "clean/failed": Meaning(
        L(
            "Checks answered with no. One of them is enough to hold back the handover, until it is put right and answered again."
        ),
        source="entered",
    ),
    "clean/waiting": Meaning(
        L("Checks that nobody has answered yet. Go and look for each one, and answer by what you see."),
        source="entered",
    ),
}
