"""Jobs for tests: views made from plain values, without a store, and whole jobs made up at random."""

import random
from itertools import count

from store.documents import Chosen, Decision, Document, Reading, Stamped, Typed
from store.sheets import all_sheets
from store.view import View

DEVICE = "testtest"


class Making:
    """Collects entries and gives a :class:`View` of them; each gets the next stamp."""

    def __init__(self, *, nominal=None, cylinders=None, cards=None, **header):
        self._next = count(1)
        self.cards = dict(cards or {})
        self.entries = []
        self.header = {}
        if nominal is not None:
            header["nominal"] = Typed(text=str(nominal), typed_unit="mm", value=float(nominal), unit="mm")
        if cylinders is not None:
            header["cylinders"] = cylinders
        for key, value in header.items():
            self.header[key] = Stamped(value=value, stamp=self._stamp(0))

    @staticmethod
    def _stamp(n):
        return f"{1_760_000_000_000 + n:013d}-00000-{DEVICE}"

    def _head(self):
        n = next(self._next)
        return {"id": f"entry{n:06d}", "stamp": self._stamp(n), "device": DEVICE}

    def put(self, field, value, /, **at):
        """A value of ``field`` (in its logic unit, or a choice's value) at a place; gives the entry."""
        if field.kind in ("choice", "text"):
            entry = Chosen(**self._head(), what=field.key, at=at, value=value)
        else:
            typed = Typed(text=repr(value), typed_unit=field.unit or "1", value=float(value), unit=field.unit or "1")
            entry = Reading(**self._head(), what=field.key, at=at, typed=typed)
        self.entries.append(entry)
        return entry

    def typed(self, field, entered, /, **at):
        """An entry as :func:`logic.units.parse` gave it."""
        typed = Typed(text=entered.text, typed_unit=entered.typed_unit, value=entered.value, unit=entered.unit or "1")
        entry = Reading(**self._head(), what=field.key, at=at, typed=typed)
        self.entries.append(entry)
        return entry

    def decide(self, what, value, /, number=None, unit="mm", **at):
        """A decision, with the number decided on if there is one."""
        typed = None if number is None else Typed(text=repr(number), typed_unit=unit, value=float(number), unit=unit)
        entry = Decision(**self._head(), what=what, at=at, value=value, typed=typed)
        self.entries.append(entry)
        return entry

    def document(self, id="job00001", type="job"):
        return Document(id=id, type=type, header=self.header, entries=tuple(self.entries))

    def view(self):
        return View(self.document(), self.cards)


#: How people type a value of a kind, of inches and of millimetres: what it is multiplied by, and its form.
TYPED = {
    "deviation": ((1 / 0.0254, "{:+.1f}"), (1.0, "{:+.3f}")),
    "size": ((1 / 25.4, "{:.4f}"), (1.0, "{:.3f}")),
    "step": ((1 / 25.4, "{:.3f}"), (1.0, "{:.2f}")),
    "place": ((1 / 25.4, "{:.2f}"), (1.0, "{:.1f}")),
    "wall": ((1 / 25.4, "{:.3f}"), (1.0, "{:.2f}")),
    "fine": ((1 / 0.0254, "{:.2f}"), (1000.0, "{:.1f}")),
    "diff": ((1 / 0.0254, "{:.1f}"), (1.0, "{:.3f}")),
    "rough": ((39.37, "{:.0f}"), (1.0, "{:.2f}")),
    "temperature": ((1.0, "{:.0f}"), (1.0, "{:.0f}")),
    "torque": ((1 / 1.3558, "{:.0f}"), (1.0, "{:.0f}")),
    "force": ((1 / 4.44822, "{:.0f}"), (1.0, "{:.0f}")),
    "heavy_force": ((1 / 4.44822, "{:.0f}"), (1e-3, "{:.1f}")),
    "pressure": ((145.038, "{:.0f}"), (1.0, "{:.0f}")),
    "modulus": ((1.45038e-4, "{:.1f}"), (1e-3, "{:.0f}")),
    "expansion": ((1e6 / 1.8, "{:.1f}"), (1e6, "{:.1f}")),
    "percent": ((100.0, "{:.3g}"), (100.0, "{:.3g}")),
    "per_size": ((1000.0, "{:.2f}"), (1000.0, "{:.2f}")),
    "count": ((1.0, "{:.0f}"), (1.0, "{:.0f}")),
    "volume": ((1.0, "{:.1f} cm3"), (1.0, "{:.1f}")),  # measured in cm³ and grams everywhere
    "mass": ((1.0, "{:.1f} g"), (1.0, "{:.1f}")),
}


def as_typed(kind, value, *, inch):
    """The text a person types for a value in the logic unit of its kind."""
    factor, form = TYPED.get(kind, ((1.0, "{:g}"),) * 2)[0 if inch else 1]
    return form.format(value * factor)


def square_face(made):
    """The top face measured with care and found square, so that nothing is left open about the lean."""
    known = {f.key: f for s in all_sheets() for f in s.fields.values()}
    made.put(known["face.height_u"], 0.001)
    for point, (x, y) in enumerate(((0, -60), (0, 60), (200, -60), (200, 60), (400, -60), (400, 60)), 1):
        for key, value in (("face.x", x), ("face.y", y), ("face.height", 200.0)):
            made.put(known[key], value, point=point)
    return made


# -- jobs made up at random -------------------------------------------------------------------
#: Where a believable job has these, in mm over the nominal bore or as they are: the rest lie near their defaults.
BELIEVABLE = {
    "bore.reading": (0.0, 0.35),
    "sizes.piston": (0.69, 0.72),
    "cut.present": (0.0, 0.1),
    "cut.measured": (0.55, 0.70),
    "cut.setting": (0.55, 0.70),
    "hone.size": (0.70, 0.77),
    "final.zero": (0.75, 0.77),
    "final.reading": (-0.01, 0.01),
    "final.again": (-0.01, 0.01),
    "rings.gap": (0.25, 0.7),
    "rings.bore": (0.70, 0.77),
    "wall.reading": (4.0, 6.0),
    "face.x": (0.0, 400.0),
    "face.y": (-70.0, 70.0),
    "face.height": (199.97, 200.03),
    "face.skim": (0.0, 0.1),
    "face.foot_x": (0.0, 300.0),
    "face.foot_y": (-60.0, 60.0),
    "sweep.reading": (-0.02, 0.12),
    "sweep.zero": (0.0, 0.02),
    "sweep.gap": (13.1, 13.11),
    "sweep.spindle_diameter": (-26.2, -26.18),
    "sweep.set_over": (0.0, 0.05),
    "compression.stroke": (6.0, 20.0),
    "compression.gasket_bore": (1.0, 3.0),
    "compression.chamber": (25.0, 60.0),
    "compression.deck": (-0.1, 0.8),
    "compression.deck_again": (-0.1, 0.8),
    "fitting.weight": (400.0, 408.0),
}


def anything(rng, f, nominal):
    """A value that the number pad would take: at a limit, near the default or the nominal bore, or anywhere between."""
    low, high = f.low, f.high
    way = rng.random()
    if way < 0.1:
        return rng.choice([low, high])
    if way < 0.5 and f.kind == "size":
        return nominal + rng.uniform(-0.2, 1.2)
    if way < 0.7 and f.default is not None:
        return f.default * rng.uniform(0.7, 1.3)
    return rng.uniform(low, high)


def believable(rng, f, nominal):
    """A value that belongs to one whole job."""
    if f.key in BELIEVABLE:
        return rng.uniform(*BELIEVABLE[f.key]) + (nominal if f.kind == "size" else 0.0)
    if f.default is not None:
        return f.default * rng.uniform(0.9, 1.1)
    return anything(rng, f, nominal)


def value_for(rng, f, nominal, calm):
    if f.kind == "choice":
        return f.default if calm and f.default is not None and rng.random() < 0.8 else rng.choice(f.choices).value
    if f.kind == "text":
        return rng.choice(["A", "two words", "é"])
    value = (believable if calm else anything)(rng, f, nominal)
    if f.kind == "count":
        value = round(value)
    return min(max(value, f.low), f.high)


def filled(seed, density, calm, nominal=76.2, decided=None):
    """A job in which each place of each field was filled in with probability ``density``.

    ``calm`` makes it a believable job; otherwise values are anything the number pad would
    take. ``decided`` is the oversize decided on, else there may be one or not.
    """
    rng = random.Random(seed)
    job = Making(nominal=nominal, cylinders=rng.choice([1, 2, 3, 4]))
    if decided is None and rng.random() < 0.5:
        decided = rng.choice([0.0, 0.508, 0.762, 0.762])
    if decided is not None:
        job.decide("oversize", "step", number=decided)
    view, seen = job.view(), len(job.entries)
    for step in all_sheets():
        for _ in range(2):  # tables that grow offer another place once the first is filled
            for entry in job.entries[
                seen:
            ]:  # added where it was, so that what does not rest on it is not worked out anew
                view.add(entry)
            seen = len(job.entries)
            for g in step.groups:
                for place in g.places(view):
                    for f in g.fields:
                        often = (
                            density
                            if not calm or (f.default is None and not f.optional) or f.key in BELIEVABLE
                            else density / 3
                        )
                        if rng.random() < often and not view.all(f.key, **place):
                            job.put(f, value_for(rng, f, nominal, calm), **place)
    return job
