"""What the figures of measuring mean: bores, temperature, walls, top face, sweep, checks of the kit."""

from __future__ import annotations

from ..say import L
from . import Meaning

_LARGEST_BORE = Meaning(
    L(
        "The largest finished bore at which the measured walls all keep their minimum, 95 times in 100 and however their "
        "errors hang together. No oversize may go beyond it; a surer wall reading raises it."
    ),
    L("the D at which 1 − Σ (1 − p) = 0.95, with p the chance of each wall"),
    "JCGM 106:2012",
)
_MINIMUM = Meaning(
    L(
        "The iron that must be left at that place, as entered or as is common practice. The engine maker's figure wins, and "
        "a hard-worked engine needs more."
    ),
    source="common practice",
)

MEANINGS: dict[str, Meaning] = {
    # -- a worn bore
    "bore/worst": Meaning(
        L(
            "The largest diameter read anywhere in this bore, brought to 20 °C from the temperatures of gauge and block. "
            "The bored size must clear it, and by more where the wear is on one side."
        ),
        L("D20 = (zero size, as warm as it was + reading) / (1 + α (T − 20))"),
        "ISO 1",
    ),
    "bore/unworn": Meaning(
        L(
            "What the bore measured before it wore, from the best that is known of it. All wear is counted from here, so "
            "state it or read once below ring travel."
        ),
        L("as stated, or mean below ring travel, or nominal until the lowest depth is read, or smallest reading"),
        "common practice",
    ),
    "bore/wear": Meaning(
        L(
            "How much larger the bore is at its worst place than it was when unworn, on the diameter. If it all went off "
            "one side, a centred cut must take twice as much to clean up."
        ),
        L("largest reading − unworn bore"),
        "by definition",
    ),
    "bore/out_of_round": Meaning(
        L(
            "The largest less the smallest diameter at one depth, at the depth where that is most. Rings cannot follow much "
            "of it, and with fewer axes measured some of it stays unseen."
        ),
        L("largest − smallest diameter at one depth"),
        "by definition",
    ),
    "bore/taper": Meaning(
        L(
            "The uppermost less the lowest diameter down one axis, ridge left out, on the axis where it is most; plus is wide "
            "at the top. The ring gap opens and closes by about three times as much at every stroke."
        ),
        L("uppermost − lowest diameter on one axis"),
        "by definition",
    ),
    "bore/ridge": Meaning(
        L(
            "The step from the lip above ring travel to the worn bore just below it, on the axis where it is most. The bar "
            "takes it out; where the bore is only honed, a ridge left standing can break a new top ring."
        ),
        L("uppermost reading in ring travel − reading above it, or − unworn bore"),
        "by definition",
    ),
    # -- a warm bore
    "temperature.warm_bore/now": Meaning(
        L(
            "The true size of the bore while it is as warm or cold as it is. Do not hold it against a limit before it is "
            "brought to 20 °C."
        ),
        source="measured",
    ),
    "temperature.warm_bore/cold": Meaning(
        L("The size the bore will have at 20 °C, where sizes and limits are stated. Judge the bore by this one."),
        "D20 = D / (1 + α (T − 20))",
        "ISO 1",
    ),
    "temperature.warm_bore/change": Meaning(
        L(
            "How much smaller the bore will be at 20 °C; minus means that it is cold and will be larger. Leave that much "
            "while the bore is warm, or wait and measure again."
        ),
        "D − D20",
        "ISO 1",
    ),
    # -- walls
    "wall.gauge/scale": Meaning(
        L(
            "What every reading of the thickness gauge is multiplied by, from known places of the same iron. One known place "
            "gives it; with none it is the middle of what iron can do, and the readings are not sure."
        ),
        L("known / shown, or the slope of the line through the known places"),
        "ISO 16809",
    ),
    "wall.gauge/zero": Meaning(
        L(
            "What is added to every reading after the scale. It takes two known places of clearly different thickness to find "
            "it; otherwise the gauge's own zero is trusted."
        ),
        L("mean of known − scale × mean of shown"),
        "ISO 16809",
    ),
    "wall.gauge/speed": Meaning(
        L(
            "How fast sound runs in this iron, from the speed set on the gauge and the scale found. Set the gauge to it and "
            "try the known places again."
        ),
        L("set speed × scale"),
        "ISO 16809",
    ),
    "wall/least": Meaning(
        L(
            "The iron left after boring at the place that has the least to spare for how surely it is known. Measure that "
            "place again before the cut if it comes near its minimum."
        ),
        L("wall − (new bore − old bore) / 2 − shift"),
        "geometry",
    ),
    "wall/spare": Meaning(
        L(
            "The wall left at that place less the minimum it must keep; minus is too thin. It should be well above the plus "
            "or minus shown with it."
        ),
        L("wall left − minimum"),
        "by definition",
    ),
    "wall/minimum": _MINIMUM,
    "wall/largest": _LARGEST_BORE,
    "wall/now": Meaning(
        L(
            "The wall as it stands at the place nearest to its minimum, the gauge's reading put right by scale and zero. "
            "Boring thins it by half of what the bore grows."
        ),
        L("zero + scale × shown"),
        "ISO 16809",
    ),
    # -- the top face
    "lean/total": Meaning(
        L(
            "How far the lower end of this bore comes out from where it should, cut square to the deck as fitted. Keep it under the limit: skim the deck or shim the base."
        ),
        L("slope × bore length"),
        "geometry",
    ),
    "lean/along": Meaning(
        L(
            "How far the lower end comes out toward the rear; minus is toward the front. A deck that rises toward the rear makes it so."
        ),
        L("slope along the block × bore length"),
        "geometry",
    ),
    "lean/across": Meaning(
        L(
            "How far the lower end comes out toward the left as seen from the rear; minus is toward the right. Measure points "
            "on both sides of the bores to be sure of it."
        ),
        L("slope across the block × bore length"),
        "geometry",
    ),
    "lean/limit": Meaning(
        L(
            "The most a bore may lean over its length, as entered or as is common practice. The engine maker's figure for "
            "squareness wins."
        ),
        source="common practice",
    ),
    "lean/chance": Meaning(
        L(
            "How likely it is that the bore leans no more than the limit, as good as the heights are. If it is "
            "neither high nor low, measure more heights before you clamp."
        ),
        L("chance that √(along² + across²) ≤ limit"),
        "JCGM 106:2012",
    ),
    "face.ready/rise_along": Meaning(
        L(
            "How much the fitted deck rises from the front-most to the rear-most height measured; minus is a fall. Over a bore's length it becomes lean in the same proportion."
        ),
        L("slope along the block × length measured"),
        "geometry",
    ),
    "face.ready/rise_across": Meaning(
        L(
            "How much the fitted deck rises from the right-most to the left-most height measured; minus is a fall. Where all heights are on one line it is not known."
        ),
        L("slope across the block × width measured"),
        "geometry",
    ),
    "face.ready/flatness": Meaning(
        L(
            "How far apart the highest and the lowest point lie, seen from the plane that fits all heights best. Much of it means a bent deck, a burr or a misread height."
        ),
        L("highest − lowest residual"),
        "ISO 12781-1",
    ),
    "face.ready/bow": Meaning(
        L(
            "How far the fitted middle of the deck stands above the line through its ends; minus is hollow. On a bowed deck each bore leans its own way, so enter where the front bore lies."
        ),
        L("fitted middle − straight line between the fitted ends"),
        "geometry",
    ),
    "face.skim/corner": Meaning(
        L(
            "How much the skim takes off at this corner of the deck when it runs parallel to the main-bearing axis. Set the block up for these amounts, since a cut that follows the deck keeps its lean."
        ),
        L("fitted height of the corner − lowest height"),
        "geometry",
    ),
    "face.skim/removed": Meaning(
        L(
            "How much lower the deck will be at this bore after the planned skim. Count it in the compression and in the clearance from piston to head."
        ),
        L("fitted height at the bore − lowest height"),
        "geometry",
    ),
    "face.skim/volume": Meaning(
        L(
            "The space lost above this piston by lowering the deck, at the nominal bore. It raises the compression ratio, and unevenly where the cylinders differ."
        ),
        L("π/4 · bore² · skim"),
        "geometry",
    ),
    "face.shims/foot": Meaning(
        L(
            "What to lay under this foot so that the bar stands square to the main-bearing axis at this bore. Take the "
            "nearest shim you have and check the bar before you cut."
        ),
        L("fitted height under the highest foot − under this foot"),
        "geometry",
    ),
    "face.dirt/lean": Meaning(
        L(
            "How far dirt or a burr of that thickness under one side of the base would make a bore lean over its length. A "
            "short base makes it worse, so wipe and feel before you set down."
        ),
        L("thickness / base length × bore length"),
        "geometry",
    ),
    "face.dirt/most": Meaning(
        L(
            "The thickness of dirt under one side of the base that alone uses up the whole lean allowed. Try a feeler of "
            "this thickness round the base: it must not go in anywhere."
        ),
        L("limit × base length / bore length"),
        "geometry",
    ),
    # -- the sweep
    "sweep/clean": Meaning(
        L(
            "The smallest cut that cleans the whole bore with the spindle moved to the best centre, with what may hide "
            "between readings, lean and centring counted in. The bored size must be at least this."
        ),
        L("from the readings alone + half of what may stand out + lean + centring"),
        "ISO 12181-1; JCGM 100:2008",
    ),
    "sweep/read": Meaning(
        L(
            "The diameter of the smallest circle round all points swept, seen down the bore. Do not bore to it: it allows for "
            "nothing between the readings and for no error of centring."
        ),
        L("D = 2 max |p − c|, smallest over c"),
        "ISO 12181-1",
    ),
    "sweep/allowance": Meaning(
        L(
            "How far a smooth curve through the readings stands out beyond the cut; with four or fewer to a ring, at least a "
            "fixed amount for an oval unseen. More readings round the bore make it smaller."
        ),
        L("2 × (curve through the readings − cut), where it stands out most"),
        "common practice",
    ),
    "sweep/here": Meaning(
        L(
            "The cut that would clean the bore if the spindle stayed where it stood during the sweep. The difference to the "
            "best centre is the metal that moving the spindle saves."
        ),
        L("D = 2 max |p| + half of what may stand out + lean"),
        "geometry",
    ),
    "sweep/unworn": Meaning(
        L(
            "The cut that would clean the bore with the spindle on the middle of the lowest ring swept, which counts as "
            "unworn. It keeps the bore where it was; compare it with the best centre before you choose."
        ),
        L("D = 2 max |p − c| about the unworn centre + half of what may stand out + lean + centring"),
        "geometry",
    ),
    "sweep/front": Meaning(
        L(
            "How far the best centre lies toward the front from where the spindle stands; minus is toward the rear. Move the "
            "spindle by it, then sweep again to see that it got there."
        ),
        L("the c for which max |p − c| is smallest"),
        "ISO 12181-1",
    ),
    "sweep/left": Meaning(
        L(
            "How far the best centre lies toward the left, seen from the rear, from where the spindle stands; minus is toward "
            "the right. Move the spindle by it, then sweep again."
        ),
        L("the c for which max |p − c| is smallest"),
        "ISO 12181-1",
    ),
    "sweep/round": Meaning(
        L(
            "How far apart two circles on one middle must be to hold every reading of this depth between them. It is counted "
            "on the radius, so it is about half of what a bore gauge shows of an oval."
        ),
        L("radial width of the minimum zone"),
        "ISO 12181-1",
    ),
    "sweep/wall": Meaning(
        L(
            "The iron left at this place if the bore is cut about the best centre to its clean-up diameter. Below the minimum, "
            "look for another centre before you cut."
        ),
        L("wall + bore surface − cut"),
        "geometry",
    ),
    "sweep/most": Meaning(
        L(
            "The largest cut about the best centre that still leaves this wall its minimum. Its ± is not taken off, so "
            "measure that wall again before you go near it."
        ),
        L("clean-up diameter + 2 (wall left − minimum)"),
        "geometry",
    ),
    "sweep/offset": Meaning(
        L(
            "How far the centre could still move straight toward this wall and leave it its minimum; minus means that it must "
            "come away by so much. Its ± is not taken off."
        ),
        L("wall left − minimum"),
        "geometry",
    ),
    "sweep/safe": Meaning(
        L(
            "The smallest cut that cleans the bore about a centre which leaves every measured wall its minimum. It is larger "
            "than about the best centre; use it where a wall would come out too thin."
        ),
        L(
            "D = 2 max |p − c|, smallest over every c that spares the walls, + half of what may stand out + lean + centring"
        ),
        "geometry",
    ),
    # -- checks of the kit
    "card/bias": Meaning(
        L(
            "What the instrument shows less what is true, on average over all checks; plus means that it shows too large. "
            "Take it off a reading to correct it, but where it drifts go by the last check."
        ),
        L("mean of (shown − true)"),
        "by definition",
    ),
    "card/last": Meaning(
        L(
            "What the instrument showed less what the master is, the last time it was checked. If it differs much from the "
            "mean, clean both, let them come to one temperature and check again."
        ),
        L("shown − true"),
        "entered",
    ),
    "card/spread": Meaning(
        L(
            "How much the error comes and goes from check to check, about its mean or its drift; never less than rounding to "
            "a division makes. A worn or loose instrument shows it first here."
        ),
        L("standard deviation of the errors, at least division / √12"),
        "JCGM 100:2008",
    ),
    "card/adds": Meaning(
        L(
            "What this instrument, used as it is, adds to the ± of each reading, two times in three. Set it or correct it by its "
            "mean error, and that part of it goes."
        ),
        L("√(spread² + master² + present error²)"),
        "JCGM 100:2008",
    ),
    "card/checks": Meaning(
        L("How many checks against a master are logged on this card. From three on a drift can be told from chance."),
        source="entered",
    ),
    "card/drift": Meaning(
        L(
            "How much the error moves in a year, from a straight line through the checks; shown only where chance alone would "
            "hardly make it. Check more often, and set the instrument before it reaches its limit."
        ),
        L("slope of the errors over time × one year"),
        "JCGM 100:2008",
    ),
}
