"""Which of the fields that the steps ask have a kind of slip in the benches, and why the others need none.

Run from the top folder: ``python -m tests.bench.slip_fields``. Prints how many fields there are, how many have kinds of
slips, how many a reason, and the rest by step.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from tests.bench import slips, slips_after, slips_last, slips_more, slips_own, slips_rest
from tests.bench.slips import FIELDS

__all__ = ["NOT_YET", "WHY_NONE", "touched", "without"]

TICK = "said of something that was looked at: only who looked knows, and no other entry tells"
TOLD = "told or printed; no step's verdict rests on it"
PLAN = "it plans time, speed, tools or price; what is cut and fitted is measured for itself"
SURE = "a doubt of a measured value: ten times off it makes a yes come later, or surer by what the readings still show"
SHOWN = "shown beside the verdict, which does not rest on it"
TWIN = "of the second bank or the new part: the same checks as the field of the first"
STOPS = "with another answer other places are asked for, and stay missing"

#: Fields without a kind of slip, or all that begin so, each with the reason why a slip there makes no wrong yes.
WHY_NONE: Mapping[str, str] = {
    "strip.coolant": TICK,
    "strip.oil": TICK,
    "strip.covered": TICK,
    "strip.studs": TICK,
    "strip.crank": TICK,
    "strip.cracks": TICK,
    "strip.floor": TICK,
    "strip.reach": "what the spindle reaches decides where the work stops, and is seen there",
    "parts.": PLAN,
    "clean.": TICK,
    "record.": "which earlier jobs count: what does not fit is a doubt of its own",
    "bore.depths": STOPS,
    "bore.axes": STOPS,
    "bore.side": TICK,
    "bore.division": SURE,
    "bore.repeat": SURE,
    "bore.master_u": SURE,
    "bore.block_temperature_u": SURE,
    "bore.centring": SURE,
    "bore.offset_u": SURE,
    "wall.repeat": SURE,
    "sweep.reading_u": SURE,
    "sweep.zero_u": SURE,
    "oversize.bored_u": SURE,
    "compression.volume_u": SURE,
    "compression.deck_u": SURE,
    "sizes.piston_temperature_u": SURE,
    "sizes.piston_u": SURE,
    "face.height_u": SURE,
    "chamfer.doubt": SURE,
    "hone.repeat": SURE,
    "hone.shared": SURE,
    "hone.finish_doubt": SURE,
    "final.block_temperature_u": SURE,
    "final.division": SURE,
    "final.repeat": SURE,
    "final.master_u": SURE,
    "fitting.scale_u": SURE,
    "sleeve.wanted": "a sleeve left out where another cylinder got one is a doubt of its own; else the bore stays uncleaned",
    "wall.set_speed": "counts only while no known piece was tried, and then no wall near its least gets a yes",
    "sweep.round": STOPS,
    "sweep.set_over": "what was meant; how far the spindle is set over is read off the sweep and said beside it",
    "sweep.set_toward": "what was meant; how far the spindle is set over is read off the sweep and said beside it",
    "oversize.series": "the step is chosen from the list and confirmed by whoever orders the pistons",
    "oversize.mixed": "the step is chosen from the list and confirmed by whoever orders the pistons",
    "cut.spin": PLAN,
    "cut.life": PLAN,
    "cut.motor": PLAN,
    "cut.efficiency": PLAN,
    "cut.material": PLAN,
    "cut.setting_time": PLAN,
    "cut.order": PLAN,
    "cut.edge": PLAN,
    "cut.lead": PLAN,
    "cut.nose": PLAN,
    "cut.setup": PLAN,
    "cut.last": PLAN,
    "cut.use": "which pairs count: a bar's bias that one pair alone would change is a doubt of its own",
    "cut.division": SURE,
    "cut.centre": PLAN,
    "cut.meter": "a setting over bar and tip lies half a bore from one over the tip alone: out of range, and a doubt",
    "cut.bar": "a setting over bar and tip lies half a bore from one over the tip alone: out of range, and a doubt",
    "face.base_length": PLAN,
    "face.base_width": PLAN,
    "face.dirt": PLAN,
    "face.foot_x": PLAN,
    "face.foot_y": PLAN,
    "face.remedy": "what is done about the deck: the verdict on the lean as found stands beside it",
    "face.squared": "whether the bar was tried on its shims: a yes pressed by mistake leaves no trace",
    "face.squared2": TWIN,
    "face.x2": TWIN,
    "face.y2": TWIN,
    "face.height2": TWIN,
    "face.first_bore2": TWIN,
    "face.remedy2": TWIN,
    "face.skim2": TWIN,
    "compression.gasket_bore_new": TWIN,
    "compression.chamber_new": TWIN,
    "compression.crown_new": TWIN,
    "hone.grit": PLAN,
    "hone.grit2": "how the stock is shared between the grits; the size is judged by the gauge, the marks by what was measured",
    "hone.grit3": "how the stock is shared between the grits; the size is judged by the gauge, the marks by what was measured",
    "hone.set": PLAN,
    "hone.spin": PLAN,
    "hone.rate": PLAN,
    "hone.stone": PLAN,
    "hone.overrun": PLAN,
    "hone.fluid": PLAN,
    "hone.plate": TICK,
    "hone.angle": PLAN,
    "hone.face": PLAN,
    "hone.below_stones": PLAN,
    "hone.clear": PLAN,
    "final.washed": TICK,
    "fitting.mark": "a grade that does not hold its piston's measured size is named beside the pairing",
    "fitting.grade": "a grade that does not hold its piston's measured size is named beside the pairing",
    "fitting.spin": SHOWN,
    "rings.oil": STOPS,
    "rings.compression": STOPS,
    "rings.oil_rings": STOPS,
    "rings.ring_temperature": SHOWN,
    "rings.wall_temperature": SHOWN,
    "sizes.wall_temperature": SHOWN,
    "sizes.skirt_temperature": SHOWN,
}


#: Fields in which no slip was tried yet, and no reason is known why one could make no wrong yes.
NOT_YET: tuple[str, ...] = ()


def touched() -> Counter[str]:
    """How many kinds of slip change each field, over all benches."""
    out = Counter(key for keys in slips.TOUCHES.values() for key in keys)
    for kinds in (slips_after.SLIPS, slips_more.SLIPS, slips_rest.SLIPS, slips_own.SLIPS, slips_last.SLIPS):
        for kind in kinds.values():
            out.update(set(kind.keys))
    return out


def _reason(key: str) -> str | None:
    return next(
        (why for start, why in WHY_NONE.items() if key == start or (start[-1] == "." and key.startswith(start))), None
    )


def without() -> list[str]:
    """The fields of the steps that have neither a kind of slip nor a reason."""
    known = touched()
    return [key for key in FIELDS if not known[key] and _reason(key) is None]


def main() -> None:
    known, rest = touched(), without()
    reasoned = sum(not known[key] and _reason(key) is not None for key in FIELDS)
    print(f"{len(FIELDS)} fields: {sum(bool(known[k]) for k in FIELDS)} with kinds of slips, {reasoned} with a reason")
    print(f"not tried yet: {len(rest)}")
    for key in rest:
        print("  ", key)


if __name__ == "__main__":
    main()
