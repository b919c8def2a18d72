"""A sleeve once it is in its bore: what is left to bore and hone out of it."""

from __future__ import annotations

from logic import sleeve
from logic.result import Result

from ..fields.sleeve import BLOCK_MODULUS, LEAST_SLEEVE, LEAST_STOCK
from ..graph import fact
from ..view import View
from .block import block_expansion_per_k, block_metal
from .sizes import finished_mm, least_wall
from .sleeves import seat, sleeve_of

__all__ = ["block_iron", "finishing", "inside_mm"]


@fact
def block_iron(view: View) -> sleeve.Iron:
    """The block's iron as it bears on a sleeve: by its material, unless its stiffness is entered."""
    kind = block_metal(view)
    modulus = kind.modulus_mpa if view.get(BLOCK_MODULUS) is None else view.number(BLOCK_MODULUS)
    return sleeve.Iron(modulus, kind.poisson, block_expansion_per_k(view))


@fact
def finishing(view: View, cylinder: int) -> Result | None:
    """The fitted sleeve's bore and the stock left in it; None where there is no sleeve or no size to finish it to."""
    wanted, given, finished = seat(view, cylinder), sleeve_of(view, cylinder), finished_mm(view, cylinder)
    if wanted is None or given is None or finished is None:
        return None
    wall = least_wall(view, cylinder)
    return sleeve.finishing(
        cylinder,
        given,
        wall=None if wall is None else wall.least.after,
        finished_mm=finished,
        interference_mm=wanted.interference_mm,
        least_stock_mm=view.number(LEAST_STOCK),
        least_sleeve_mm=view.number(LEAST_SLEEVE),
        block=block_iron(view),
    )


@fact
def inside_mm(view: View, cylinder: int) -> float | None:
    """The bore of a fitted sleeve before anything is bored out of it; None as for :func:`finishing`."""
    found = finishing(view, cylinder)
    return None if found is None or found.value is None else found.value.value
