"""Stated chances and 95 % intervals against a hidden truth: what a whole engine adds up to, and the steps after boring.

Worlds for several bores together, the quick check, honing alone, walls and the largest bore they
allow, a chamfer, the hone's checks, pairs of piston and bore, weights, a sleeve, straightness,
the record of a machine, and what a check is said to settle. Run with those of
:mod:`tests.bench.calibration`. Standard uncertainties that a person enters are known to about a
quarter here, as the calculations take them to be; the division of a gauge is really read to.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Sequence

from logic import (
    chamfer,
    compression,
    face_plane,
    hone_progress,
    oversize,
    piston_fit,
    press_fit,
    setting,
    sleeve,
    straightness,
    walls,
)
from logic import machine_record as record
from logic.bar_bias import ASSUMED_DRIFT
from logic.bore import WornBore
from logic.bore_prior import FINISHING
from logic.clamping_force import Stud, grade, holding, thread
from logic.cleanup import WearSide, clean_up, from_sweep, needed_together
from logic.cleanup_chance import UNMEASURED_SLOPE, BoreLean
from logic.job_record import Edges, JobRecord
from logic.measure_next import U_SWEPT_MM, Measured, advise, if_square, least_loss
from logic.pooling import predict, sums
from logic.result import Verdict
from logic.steps import HONE_RENEW_MM, hone_chance
from logic.wall_gauge import Piece, calibration
from tests.bench import measure_next as bench
from tests.bench.calibrated import Held, Trial

__all__ = ["INTERVALS", "INTERVALS_OTHERWISE", "OTHERWISE", "WORLDS"]

D = 76.2


def about(rng: random.Random, u: float) -> float:
    """What is truly so of a standard deviation that somebody states as ``u`` from eight degrees of freedom."""
    return u * math.sqrt(8.0 / rng.gammavariate(4.0, 2.0))


# -- several bores, one reading, honing alone -------------------------------------------------------
def worn_job(rng: random.Random, bores: int, lean_u: float) -> tuple[list[WornBore], list[float]]:
    """Bores of one engine, read with one gauge on a deck that leans as decks do; and what each truly takes to clean up."""
    shared, length = rng.gauss(0, 0.003), 130.0
    lean = (rng.gauss(0, lean_u * length), rng.gauss(0, lean_u * length))
    worn, truth = [], []
    for n in range(1, bores + 1):
        wear, crank, share = rng.uniform(0.08, 0.3), rng.uniform(0.3, 0.8), rng.uniform(0.5, 1.0)
        new = D + rng.gauss(0, 0.003)
        rows = [
            tuple(new + wear * part * fade + shared + rng.gauss(0, 0.004) for part in (1.0, crank))
            for fade in (1.0, 0.35, 0.0)
        ]
        worn.append(
            WornBore(
                cylinder=n,
                depths_mm=(14.0, 60.0, 120.0),
                axes=("thrust", "crank"),
                d_mm=tuple(rows),
                u_mm=0.004,
                u_common_mm=0.003,
                nominal_mm=D,
                ring_top_mm=12.0,
                ring_bottom_mm=110.0,
            )
        )
        miss = (rng.gauss(0, 0.005), rng.gauss(0, 0.005))
        lever = (14.0 - length) / length
        x, y = miss[0] + lean[0] * lever, miss[1] + lean[1] * lever
        # the four walls where wear is greatest, and the unworn end at the top
        needs = [share * wear - x, (1 - share) * wear + x, share * wear * crank - y, (1 - share) * wear * crank + y]
        ends = [math.hypot(miss[0] - lean[0], miss[1] - lean[1]), math.hypot(*miss)]
        truth.append(new + 2 * max(*needs, *ends))
    return worn, truth


def several(trials: int, seed: int, bores: int, levels: Sequence[float] = (0.05, 0.35, 0.65, 0.95)) -> Iterator[Trial]:
    """Whether every bore of an engine cleans up at one size, the deck not measured."""
    for i in range(trials):
        rng = random.Random(f"{seed}/several/{i}")
        worn, truth = worn_job(rng, bores, UNMEASURED_SLOPE)
        lean = BoreLean.unmeasured(130.0, 130.0)
        found = [clean_up(w, WearSide(), lean) for w in worn]
        for p in levels:
            yield Trial(p, max(truth) <= needed_together(found, p))


def square(trials: int, seed: int, *, told: bool) -> Iterator[Trial]:
    """A deck that is as square as a measured one may be called, and that nobody measured: said as things are, or
    ``told`` as "if the deck turns out square"."""
    bored = [D + s - 0.0762 for s in (0.254, 0.508, 0.762, 1.016)]
    for i in range(trials):
        rng = random.Random(f"{seed}/square/{i}")
        worn, truth = worn_job(rng, 1, 5e-5)
        lean = BoreLean.unmeasured(130.0, 130.0)
        measured = [Measured(clean_up(w, WearSide(), lean), w, WearSide(), lean) for w in worn]
        found = if_square(measured, bored, u_bored_mm=0.005, wanted=0.95)
        if found is not None:
            clean = max(truth) <= bored[found.place] + rng.gauss(0, 0.005)
            yield Trial(found.square if told else found.now, clean)


def quick(trials: int, seed: int) -> Iterator[Trial]:
    """The quick check: one reading, the bore taken as new to its nominal size."""
    for i in range(trials):
        rng = random.Random(f"{seed}/quick/{i}")
        wear, share, new = rng.uniform(0.08, 0.35), rng.uniform(0.5, 1.0), D + rng.gauss(0, 0.008)
        lean, length = UNMEASURED_SLOPE * 1.5 * D, 1.5 * D
        x, y = rng.gauss(0, math.hypot(0.005, lean)), rng.gauss(0, math.hypot(0.005, lean))
        found = oversize.quick(D, new + wear + rng.gauss(0, 0.005))
        assert isinstance(found, oversize.Oversize) and length > 0
        need = new + 2 * max(share * wear - x, (1 - share) * wear + x, math.hypot(x, y))
        for p in (0.05, 0.35, 0.65, 0.95):
            yield Trial(p, need <= found.cleanups[0].needed_mm(p))


def honed_only(trials: int, seed: int) -> Iterator[Trial]:
    """Whether the wear of every bore can be honed out for its present piston."""
    for i in range(trials):
        rng = random.Random(f"{seed}/honed/{i}")
        allow, all_in, found = 0.05, True, []
        for n in range(1, 4):
            wear = rng.uniform(0.0, 0.06)
            rows = tuple((D + wear * fade + rng.gauss(0, 0.003),) for fade in (1.0, 0.4, 0.0))
            worn = WornBore(
                cylinder=n,
                depths_mm=(14.0, 60.0, 120.0),
                axes=("thrust",),
                d_mm=rows,
                u_mm=0.003,
                ring_top_mm=12.0,
                ring_bottom_mm=110.0,
            )
            found.append(clean_up(worn))
            all_in &= wear <= allow - HONE_RENEW_MM
        yield Trial(hone_chance(found, allow), all_in)


# -- walls -------------------------------------------------------------------------------------------
def wall_places(
    rng: random.Random, pieces: int, speed: str = "said"
) -> tuple[list[walls.WallPlace], list[float], list[float]]:
    """Four walls of one bore as read and put right, their true thickness, and the miss of the bar toward each."""
    shown_by, set_speed = 5920.0 / rng.uniform(3500.0, 5600.0), None
    if speed == "said":
        set_speed, shown_by = 4600.0, 4600.0 / rng.uniform(3500.0, 5600.0)
    elif speed == "anything":  # set for steel, or as slow as the block, or between
        shown_by = 1.0 / rng.uniform(3500.0 / 5920.0, 1.0)
    zero = rng.gauss(0, 0.05) if pieces else 0.0
    known = [k * rng.uniform(0.9, 1.1) for k in (5.0, 8.0)[:pieces]]
    tried = [Piece(k + rng.gauss(0, 0.01), k * shown_by + zero + rng.gauss(0, 0.05)) for k in known]
    gauge = calibration(tried, set_speed_m_s=set_speed)
    true = [rng.uniform(3.4, 5.5) for _ in range(4)]
    put = []
    for n, t in enumerate(true):
        shown = t * shown_by + zero + rng.gauss(0, 0.05)
        read = gauge.correct(shown, 0.05)
        put.append(
            walls.WallPlace(
                name=str(n),
                angle_deg=90.0 * n,
                wall_mm=read.value,
                u_mm=read.u or 0.0,
                bore_mm=D,
                states=gauge.states(shown),
            )
        )
    x, y = rng.gauss(0, 0.025), rng.gauss(0, 0.025)
    return put, true, [x, y, -x, -y]


def largest(trials: int, seed: int, pieces: int, speed: str = "said") -> Iterator[Held]:
    """The largest bore that the walls are said to allow with 95 %: whether every wall then keeps its minimum."""
    for i in range(trials):
        rng = random.Random(f"{seed}/largest/{i}")
        put, true, miss = wall_places(rng, pieces, speed)
        most = walls.largest_bore_mm(put, walls.Boring(new_mm=D, u_new_mm=0.005, u_shift_mm=0.025))
        bored = most + rng.gauss(0, 0.005)
        kept = all(t - (bored - D) / 2 - m >= 3.0 for t, m in zip(true, miss, strict=True))
        yield Held(kept, max(0.0, most - D))


# -- chamfers, honing --------------------------------------------------------------------------------
def chamfered(trials: int, seed: int, touched: int) -> Iterator[Trial]:
    """Whether every chamfer is within its tolerance by the dial, of four bores of which so many were touched."""
    for i in range(trials):
        rng = random.Random(f"{seed}/chamfer/{i}")
        contact = {c: (0.0 if c == 1 else rng.gauss(0, 0.02)) for c in range(1, 5)}  # how the faces stand
        felt = {c: contact[c] + rng.gauss(0, 0.02) for c in range(1, touched + 1)}
        stops = {c: felt.get(c, felt[1]) + 0.8 + rng.gauss(0, 0.05) for c in contact}
        found = chamfer.chamfer_rows(
            0.8,
            45.0,
            dict.fromkeys(contact, D),
            touch_mm=felt,
            stopped_mm=stops,
            width_measured_mm={},
            height_mm={},
            tolerance_mm=0.1,
            u_touch_mm=0.02,
        )
        yield Trial(found.inside, all(abs(stops[c] - contact[c] - 0.8) <= 0.1 for c in contact))


def at_size(trials: int, seed: int) -> Iterator[Trial]:
    """Whether the mean of a honed bore is within its band, the gauge's repeatability known to about a quarter."""
    for i in range(trials):
        rng = random.Random(f"{seed}/size/{i}")
        u, true = about(rng, 0.0015), 77.0 + rng.uniform(-0.012, 0.012)
        shared = rng.gauss(0, 0.001)
        sizes = tuple((z, true + shared + rng.gauss(0, u)) for z in (12.0, 60.0, 110.0))
        found = hone_progress.standing(
            [hone_progress.Check(1, 0, sizes)],
            77.0,
            band_mm=0.006,
            keep_mm=0.0,
            u_mm=0.0015,
            u_shared_mm=0.001,
            first_strokes=10,
        )
        yield Trial(found.inside, abs(true - 77.0) <= 0.006)


def over(trials: int, seed: int) -> Iterator[Held]:
    """Bores called too large for certain: whether some place truly is."""
    for i in range(trials):
        rng = random.Random(f"{seed}/over/{i}")
        u, level = about(rng, 0.0015), 77.0 + rng.gauss(0, 0.006)
        true = [level + rng.gauss(0, 0.002) for _ in range(3)]
        shared = rng.gauss(0, 0.001)
        sizes = tuple((z, t + shared + rng.gauss(0, u)) for z, t in zip((12.0, 60.0, 110.0), true, strict=True))
        found = hone_progress.standing(
            [hone_progress.Check(1, 0, sizes)],
            77.0,
            band_mm=0.006,
            keep_mm=0.0,
            u_mm=0.0015,
            u_shared_mm=0.001,
            first_strokes=10,
        )
        if found.state == "over":
            yield Held(max(true) > 77.006, found.largest_mm - 77.006)


def rate(trials: int, seed: int, checks: int) -> Iterator[Held]:
    """The removal of ten strokes, from so many checks: the ± that is told."""
    for i in range(trials):
        rng = random.Random(f"{seed}/rate/{i}")
        u, made, takes = about(rng, 0.0015), [], rng.uniform(0.0007, 0.002)
        for k in range(checks + 1):
            size = 76.9 + takes * 10 * k
            sizes = tuple((z, size + rng.gauss(0, u)) for z in (12.0, 60.0, 110.0))
            made.append(hone_progress.Check(k + 1, 10 if k else 0, sizes, "280" if k else ""))
        found = hone_progress.progress(made, 77.0, band_mm=0.006, u_mm=0.0015).figure("per_ten")
        yield Held(abs(found.value - 10 * takes) <= 2 * (found.u or 0.0), 2 * (found.u or 0.0))


def straight(trials: int, seed: int) -> Iterator[Trial]:
    """Whether taper and bulge of a bore under the hone are within their tolerance."""
    for i in range(trials):
        rng = random.Random(f"{seed}/straight/{i}")
        u, taper, bulge = about(rng, 0.0015), rng.gauss(0, 0.005), rng.gauss(0, 0.004)
        shape = (taper / 2, bulge, -taper / 2)
        sizes = tuple((z, 77.0 + s + rng.gauss(0, u)) for z, s in zip((12.0, 61.0, 110.0), shape, strict=True))
        found = hone_progress.shape(hone_progress.Check(1, 0, sizes), tolerance_mm=0.008, u_mm=0.0015)
        assert found is not None
        if found.confidence is not None:
            yield Trial(found.confidence, max(abs(taper), abs(bulge)) <= 0.008)


# -- pistons, sleeves, straightness ------------------------------------------------------------------
def fits(trials: int, seed: int) -> Iterator[Trial]:
    """Whether a pair of piston and bore has its clearance within limits."""
    for i in range(trials):
        rng = random.Random(f"{seed}/fits/{i}")
        piston = 76.93 + rng.gauss(0, 0.004)
        bored = (
            piston
            + 0.07
            + rng.gauss(0, FINISHING.wild_mm if rng.random() < FINISHING.wild_share else FINISHING.level_mm)
        )
        found = piston_fit.paired(
            [piston_fit.Piston(number=1, size_mm=piston + rng.gauss(0, 0.003), u_mm=0.003)],
            {1: bored + rng.gauss(0, 0.003)},
            clearance_mm=0.07,
            low_mm=0.06,
            high_mm=0.08,
            u_bore_mm=0.003,
            wanted=0.95,
            fitted=None,
        )
        yield Trial(found.doubtful.within, 0.06 <= bored - piston <= 0.08)


def weighed(trials: int, seed: int) -> Iterator[Trial]:
    """Whether a set of pistons is within the spread of weight allowed."""
    for i in range(trials):
        rng = random.Random(f"{seed}/weight/{i}")
        spread = rng.uniform(0.3, 2.5)
        true = {n: 350 + rng.gauss(0, spread) for n in range(1, 5)}
        read = {n: w + rng.gauss(0, 0.5) for n, w in true.items()}
        found = piston_fit.weight_spread(read, allowed_g=4.0, u_g=0.5)
        yield Trial(1 - found.over, max(true.values()) - min(true.values()) <= 4.0)


def head_gap(trials: int, seed: int) -> Iterator[Trial]:
    """Whether the piston keeps its least distance from the head."""
    doubt = compression.Doubt()
    for i in range(trials):
        rng = random.Random(f"{seed}/gap/{i}")
        space = compression.Space(
            bore_mm=77.0,
            stroke_mm=88.9,
            chamber_cm3=38.0,
            gasket_bore_mm=79.0,
            gasket_mm=1.2,
            deck_mm=rng.uniform(-0.4, 0.0),
            crown_cm3=4.0,
        )
        found = compression.piston_gap(space, least_mm=1.0, doubt=doubt)
        true = space.gasket_mm + rng.gauss(0, doubt.gasket_mm) + space.deck_mm + rng.gauss(0, doubt.deck_mm)
        sure = found.confidence or 0.0
        yield Trial(1 - sure if found.verdict == Verdict.STOP else sure, true >= 1.0)


def gripped(trials: int, seed: int) -> Iterator[Held]:
    """Fits of a sleeve called right: whether the interference is within its range."""
    for i in range(trials):
        rng = random.Random(f"{seed}/grip/{i}")
        outside = 80.0
        has = rng.uniform(0.02, 0.12)
        found = press_fit.bore_fit(
            press_fit.Sleeve(
                outside_mm=outside + rng.gauss(0, 0.003), inside_mm=76.0, length_mm=130.0, fit_mm=(0.05, 0.09)
            ),
            outside - has + rng.gauss(0, 0.003),
            0.003,
        )
        if found.state == "right":
            yield Held(0.05 <= has <= 0.09, 0.02)


def still_grips(trials: int, seed: int) -> Iterator[Held]:
    """Sleeves said to grip still when hot, in an aluminium block: whether they do."""
    light = press_fit.Iron(71_000.0, 0.33, 21e-6)
    for i in range(trials):
        rng = random.Random(f"{seed}/hot/{i}")
        has = rng.uniform(0.05, 0.16)
        one = press_fit.Sleeve(outside_mm=80.0, inside_mm=76.0, length_mm=130.0)
        found = sleeve.hot(1, one, interference_mm=has + rng.gauss(0, 0.003), running_c=120.0, block=light)
        apart = (light.expansion_per_k - one.iron.expansion_per_k + rng.gauss(0, 1e-6)) * 80.0 * 100.0
        if found.verdict == Verdict.GO:
            yield Held(has - press_fit.FLATTENED_MM - apart > 0, has)


def trial_bore(trials: int, seed: int, *, sure: str) -> Iterator[Held]:
    """A machine's taper called within its limit (or over it): whether it is."""
    for i in range(trials):
        rng = random.Random(f"{seed}/trial/{sure}/{i}")
        u, taper = about(rng, 0.002), rng.gauss(0, 0.012)
        sizes = [
            (z, axis, 76.5 + taper * part + rng.gauss(0, u))
            for z, part in ((10.0, 0.5), (60.0, 0.0), (110.0, -0.5))
            for axis in ("thrust", "crank")
        ]
        form = straightness.trial_form(sizes, 0.002)
        assert form is not None
        found = next(r for r in straightness.trial(form, 0.0127) if r.key == "straight.taper")
        if found.verdict == sure:
            yield Held((abs(taper) <= 0.0127) == (sure == Verdict.GO), 0.0127)


def torque(trials: int, seed: int) -> Iterator[Held]:
    """The torque that is said to hold with 95 %: whether it does."""
    for i in range(trials):
        rng = random.Random(f"{seed}/torque/{i}")
        force = rng.uniform(300, 900)
        made = {
            "force_n": force,
            "bore_mm": 76.2,
            "depth_mm": 130.0,
            "studs": 2,
            "offset_mm": 0.0,
            "half_base_mm": 60.0,
            "grip_radius_mm": 50.0,
            "friction": 0.15,
            "friction_u": 0.2,
            "force_u": 0.2,
            "axial_share": 0.5,
            "safety": 2.0,
        }
        s = Stud(thread=thread("M12"), grade=grade("8.8"), torque_nm=25.0)
        need = holding(s, **made).need_nm
        found = holding(Stud(thread=thread("M12"), grade=grade("8.8"), torque_nm=need), **made)
        down, rub, push = (rng.lognormvariate(0, v) for v in (s.relative_u, 0.2, 0.2))
        yield Held(min(found.sliding * down * rub / push, found.tipping * down / push) >= 2.0, need)


def shims(trials: int, seed: int) -> Iterator[Held]:
    """The thickest shim under a base, from six heights: the ± that is told."""
    spots = [(x, y) for x in (0.0, 150.0, 300.0) for y in (-60.0, 60.0)]
    for i in range(trials):
        rng = random.Random(f"{seed}/shim/{i}")
        along, across = rng.gauss(0, 3e-4), rng.gauss(0, 3e-4)
        heights = [face_plane.Spot(x, y, 200.0 + along * x + across * y + rng.gauss(0, 0.01)) for x, y in spots]
        feet = face_plane.corners_mm(250.0, 150.0)
        found = face_plane.shimming(face_plane.survey(heights, u_mm=0.01), feet, x_mm=150.0, y_mm=0.0)
        n, x, y, thick = found.most
        _, hx, hy, _ = found.high
        true = along * (hx - x) + across * (hy - y)
        yield Held(abs(thick - true) <= 2 * found.u_mm[n - 1], 2 * found.u_mm[n - 1])


# -- what the machine's record says ------------------------------------------------------------------
def record_of(
    rng: random.Random, jobs: int, wears_mm: float, unlike_mm: float
) -> tuple[list[JobRecord], Callable[[], list[float]]]:
    """A bar's earlier jobs, and how to make one more: four cuts each, the edge wearing so much from pass to pass, one
    edge unlike the next by ``unlike_mm``."""
    level, spread = rng.gauss(0, 0.03), 0.006 * rng.lognormvariate(0, 0.35)
    between = 0.009 * rng.lognormvariate(0, 0.4)

    def job(cuts: int = 4) -> list[float]:
        own, wears = rng.gauss(0, between), wears_mm + (rng.gauss(0, unlike_mm) if unlike_mm else 0.0)
        return [level + own - wears * k + rng.gauss(0, spread) for k in range(cuts)]

    made = []
    for n in range(jobs):
        rows = job()
        x = [(record.USUAL_CUT_MM, float(k)) for k in range(len(rows))]
        made.append(
            JobRecord(job=f"job{n:05d}", day=float(n), iron="grey_iron", size_mm=76.2, cylinders=4, bias=sums(rows, x))
        )
    return made, job


def by_record(
    trials: int, seed: int, jobs: int, own: int, wears_mm: float, always_mm: float, unlike_mm: float = 0.0
) -> Iterator[Held]:
    """The next cut's bias by the bar's record and ``own`` cuts: the edge of this job wears ``wears_mm`` a cut, those of
    earlier jobs ``always_mm``, each unlike the others by ``unlike_mm`` (one standard deviation)."""
    for i in range(trials):
        rng = random.Random(f"{seed}/record/{i}")
        made, job = record_of(rng, jobs, always_mm, unlike_mm)
        model = record.bar_model(made)
        rows = [b - (wears_mm - always_mm) * k for k, b in enumerate(job())] + [0.0]
        rows = rows[: own + 1] if own < 4 else rows
        x = [
            model.x(size_mm=76.2, cut_mm=record.USUAL_CUT_MM, age=float(k), iron="grey_iron") for k in range(len(rows))
        ]
        found = model.next_mm(x[own], [(rows[k], x[k]) for k in range(own)], least_spread_mm=1e-4)
        yield Held(abs(rows[own] - found.mean) <= found.half, found.half)


def false_slips(trials: int, seed: int, cuts: int) -> Iterator[Held]:
    """Ordinary cuts that are not called out of the ordinary (said with 99 %)."""
    for i in range(trials):
        rng = random.Random(f"{seed}/slip/{i}")
        spread = 0.006 * rng.lognormvariate(0, 0.4)
        made = [setting.Pair(76.5, 76.51 + rng.gauss(0, spread)) for _ in range(cuts)]
        yield Held(setting.slipped(made) is None, 0.0)


def comes_out_over(trials: int, seed: int) -> Iterator[Trial]:
    """Whether the next pass stays within the largest size that may come out, the edge wearing as edges do."""
    for i in range(trials):
        rng = random.Random(f"{seed}/over_set/{i}")
        spread = 0.006 * rng.lognormvariate(0, 0.4)
        wears = rng.gauss(0, ASSUMED_DRIFT) * spread
        made = [rng.gauss(0.01 - wears * k, spread) for k in range(4)]
        learned = setting.bias([setting.Pair(76.5, 76.5 + b) for b in made[:-1]], resolution_mm=0.0025)
        limit = 76.9 + rng.uniform(-0.02, 0.03)
        found = setting.next_setting(76.9, learned, limit_mm=limit)
        yield Trial(1.0 - (found.chance_over or 0.0), found.set_mm + made[-1] <= limit)


def shown_bias(trials: int, seed: int, cuts: int) -> Iterator[Held]:
    """The ± that stands beside the bar's error, for the next cut."""
    for i in range(trials):
        rng = random.Random(f"{seed}/shown/{i}")
        spread = 0.006 * rng.lognormvariate(0, 0.4)
        made = [rng.gauss(0.01, spread) for _ in range(cuts + 1)]
        found = setting.bias([setting.Pair(76.5, 76.5 + b) for b in made[:-1]], resolution_mm=0.0025).value
        assert found is not None and found.u is not None
        yield Held(abs(made[-1] - found.value) <= 2 * found.u, 2 * found.u)


def edge_lasts(trials: int, seed: int) -> Iterator[Held]:
    """How many passes the next edge lasts, after six that were used up."""
    for i in range(trials):
        rng = random.Random(f"{seed}/edge/{i}")
        typical, spread = 8 * rng.lognormvariate(0, 0.5), 0.35 * rng.lognormvariate(0, 0.3)
        lives = [max(1, round(typical * rng.lognormvariate(0, spread))) for _ in range(7)]
        made = [
            JobRecord(job=f"j{n}", day=float(n), edges=Edges(passes=(passes,), fresh=True))
            for n, passes in enumerate([3, *lives[:-1], 1])
        ]
        model = record.edge_model(made)
        found = record.range_of(predict(model.learned))
        yield Held(found.low <= lives[-1] <= found.high, (found.high - found.low) / 2)


def minutes(trials: int, seed: int, jobs: int) -> Iterator[Held]:
    """The minutes of one bore in a step, after so many jobs."""
    for i in range(trials):
        rng = random.Random(f"{seed}/minutes/{i}")
        level = math.log(15.0) + rng.gauss(0, 0.4)
        spread, between = 0.3 * rng.lognormvariate(0, 0.3), 0.2 * rng.lognormvariate(0, 0.3)
        made = []
        for n in range(jobs):
            own = rng.gauss(0, between)
            made.append(
                JobRecord(
                    job=f"j{n}",
                    day=float(n),
                    series={"minutes.hone": sums([level + own + rng.gauss(0, spread) for _ in range(4)])},
                )
            )
        found = record.range_of(predict(record.minutes_model(made, "hone").learned))
        true = math.exp(level + rng.gauss(0, between) + rng.gauss(0, spread))
        yield Held(found.low <= true <= found.high, (found.high - found.low) / 2)


# -- what a check is said to settle -------------------------------------------------------------------
def settles(trials: int, seed: int) -> Iterator[Trial]:
    """Whether the sweep advised settles the choice of the oversize, as often as it is said to."""
    for i in range(trials):
        rng = random.Random(f"{seed}/settles/{i}")
        wear = rng.uniform(0.1, 0.38)
        job = bench.bore(1, wear)
        found = [a for a in advise([job], bench.STEPS, u_bored_mm=0.005, wanted=0.95) if a.kind == "sweep"]
        if found:
            truth = D + 2 * rng.uniform(0.5, 1.0) * wear
            read = truth + rng.gauss(0, U_SWEPT_MM)
            after = from_sweep(1, read, U_SWEPT_MM, worst_mm=D + wear, unworn_mm=D)
            chances = [after.probability(b, 0.005) for b in bench.STEPS]
            _, best = least_loss(chances, 0.95)
            # settled: the best step is sure, and the one before it as good as ruled out
            sure = best < len(chances) and chances[best] >= 0.95
            yield Trial(found[0].settles, sure and (best == 0 or chances[best - 1] <= 0.05))


WORLDS: dict[str, Callable[[int], Iterator[Trial]]] = {
    "four bores together, deck not measured": lambda n: several(n // 2, 30, 4),
    "one bore, deck not measured": lambda n: several(n, 31, 1),
    "deck not measured: if it turns out square": lambda n: square(n, 32, told=True),
    "quick check": lambda n: quick(n, 33),
    "honing alone does it": lambda n: honed_only(n, 34),
    "chamfers within tolerance, all touched": lambda n: chamfered(n, 35, 4),
    "chamfers within tolerance, one touched": lambda n: chamfered(n, 36, 1),
    "honed bore at size": lambda n: at_size(n, 37),
    "honed bore straight": lambda n: straight(n, 38),
    "piston and bore within clearance": lambda n: fits(n, 39),
    "pistons within the spread of weight": lambda n: weighed(n, 40),
    "piston clears the head": lambda n: head_gap(n, 41),
    "next pass stays within its limit": lambda n: comes_out_over(n, 42),
    "sweep settles the oversize, as told": lambda n: settles(n // 2, 43),
}
INTERVALS: dict[str, Callable[[int], Iterator[Held]]] = {
    "largest bore the walls allow, gauge tried on one piece": lambda n: largest(n, 50, 1),
    "largest bore the walls allow, gauge not tried, speed said": lambda n: largest(n, 51, 0),
    "largest bore the walls allow, gauge not tried": lambda n: largest(n, 52, 0, "anything"),
    "honed bore called too large": lambda n: over(n, 53),
    "removal of ten strokes, one stretch": lambda n: rate(n, 54, 1),
    "removal of ten strokes, three stretches": lambda n: rate(n, 55, 3),
    "sleeve's fit called right": lambda n: gripped(n, 56),
    "sleeve said to grip hot": lambda n: still_grips(n, 57),
    "machine's taper called within its limit": lambda n: trial_bore(n, 58, sure=Verdict.GO),
    "machine's taper called over its limit": lambda n: trial_bore(n, 59, sure=Verdict.STOP),
    "torque that holds": lambda n: torque(n, 60),
    "thickest shim": lambda n: shims(n, 61),
    "bias by the record of 5 jobs, no cut yet": lambda n: by_record(n // 4, 62, 5, 0, 0.0, 0.0),
    "bias by the record of 5 jobs, two cuts": lambda n: by_record(n // 4, 63, 5, 2, 0.0, 0.0),
    "bias by the record of 5 jobs, three cuts, edges unlike by 3 µm a cut": lambda n: by_record(
        n // 4, 73, 5, 3, 0.0, 0.0, 0.003
    ),
    "bias by the record of 20 jobs, three cuts, edges unlike by 3 µm a cut": lambda n: by_record(
        n // 8, 74, 20, 3, 0.0, 0.0, 0.003
    ),
    "bias by the record of 5 jobs, three cuts, every edge wearing 3 µm a cut": lambda n: by_record(
        n // 4, 66, 5, 3, 0.003, 0.003
    ),
    "bias by the record of 20 jobs, three cuts, every edge wearing 3 µm a cut": lambda n: by_record(
        n // 8, 67, 20, 3, 0.003, 0.003
    ),
    "± beside the bar's error, two pairs": lambda n: shown_bias(n, 68, 2),
    "± beside the bar's error, five pairs": lambda n: shown_bias(n, 69, 5),
    "ordinary cut not called out (99 %)": lambda n: false_slips(n, 70, 5),
    "passes the next edge lasts": lambda n: edge_lasts(n // 4, 71),
    "minutes of one bore, 5 jobs": lambda n: minutes(n // 4, 72, 5),
}
#: Intervals in worlds other than the one they are stated for: an edge that wears as no earlier one did.
INTERVALS_OTHERWISE: dict[str, Callable[[int], Iterator[Held]]] = {
    "bias by the record of 5 jobs, three cuts, this edge wearing 3 µm a cut": lambda n: by_record(
        n // 4, 64, 5, 3, 0.003, 0.0
    ),
    "bias by the record of 20 jobs, three cuts, this edge wearing 3 µm a cut": lambda n: by_record(
        n // 8, 65, 20, 3, 0.003, 0.0
    ),
}
#: Worlds other than the one a chance is stated for: what it is worth to find out.
OTHERWISE: dict[str, Callable[[int], Iterator[Trial]]] = {
    "deck square after all, not measured": lambda n: square(n, 32, told=False),
}
