"""The parts to order, and what to do where they cannot be had."""

from __future__ import annotations

from logic import parts
from logic.result import Result

from ..fields.parts import BEARINGS, GASKETS, TO_BE_HAD
from ..fields.rings import COMPRESSION_RINGS, OIL_RINGS
from ..graph import fact
from ..view import View
from .gates import decided
from .oversize import choice, step_of_mm
from .sizes import finished_sizes_mm
from .sleeves import sleeved
from .strip import wet

__all__ = ["parts_instead", "parts_to_order"]


@fact
def parts_to_order(view: View) -> tuple[parts.Part, ...]:
    """The parts to order; empty while no oversize is decided on."""
    steps = {c: step_of_mm(view, c) for c in view.cylinders}
    if not decided(view) or any(s is None for s in steps.values()):
        return ()
    sizes = list(finished_sizes_mm(view).values())
    return parts.parts(
        parts.Wanted(
            steps_mm={c: s or 0.0 for c, s in steps.items()},
            sleeves=tuple(sleeved(view)),
            finished_mm=max(sizes, default=None),
            compression_rings=int(view.number(COMPRESSION_RINGS)),
            oil_rings=int(view.number(OIL_RINGS)),
            gasket_set=view.choice(GASKETS) == "set",
            bearings=view.choice(BEARINGS),
            liners=wet(view),
        )
    )


@fact
def parts_instead(view: View) -> Result | None:
    """The ways out where the pistons cannot be had; None where nobody said so, or no piston is wanted."""
    advised = choice(view)
    step = max((s for c in view.cylinders if (s := step_of_mm(view, c))), default=None)
    if view.choice(TO_BE_HAD) != "no" or step is None:
        return None
    wear = None if advised is None else max(c.worst_mm - c.unworn_mm for c in advised.cleanups)
    return parts.instead(step, () if advised is None else advised.steps, wear_mm=wear)
