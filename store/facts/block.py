"""The block itself: its iron and its measures."""

from __future__ import annotations

from typing import NamedTuple

from logic.constants import constant

from ..fields.bores import EXPANSION, LENGTH, MATERIAL, SPACING
from ..graph import fact
from ..view import View

__all__ = [
    "Metal",
    "block_expansion_per_k",
    "block_expansion_u_per_k",
    "block_metal",
    "bore_length_mm",
    "metal",
    "spacing_mm",
]

#: Standard uncertainty of an expansion somebody states, per kelvin (common practice).
_STATED_U = 0.3e-6


@fact
def block_expansion_per_k(view: View) -> float:
    """Expansion of the block, per kelvin."""
    return view.number(EXPANSION) or constant(f"expansion.{view.choice(MATERIAL)}").value


@fact
def block_expansion_u_per_k(view: View) -> float:
    """Standard uncertainty of :func:`block_expansion_per_k`: the material's range, or that of a stated figure."""
    return constant(f"expansion.{view.choice(MATERIAL)}").u if view.number(EXPANSION) is None else _STATED_U


class Metal(NamedTuple):
    """What a block of some material is like: stiffness (MPa), Poisson's ratio, shear strength (MPa), and Kienzle's
    constants of the force it takes to cut (N/mm², exponent)."""

    modulus_mpa: float
    poisson: float
    shear_mpa: float
    cutting_n_mm2: float
    cutting_exponent: float


def metal(material: str) -> Metal:
    """The figures of the table for a material."""
    name = "aluminium" if material == "aluminium_block" else material
    keys = ("modulus", "poisson", "shear", "cutting.force", "cutting.exponent")
    return Metal(*(constant(f"{key}.{name}").value for key in keys))


@fact
def block_metal(view: View) -> Metal:
    """What the block is made of, by its material."""
    return metal(view.choice(MATERIAL))


@fact
def bore_length_mm(view: View) -> float:
    """Length of a bore."""
    return view.number(LENGTH)


@fact
def spacing_mm(view: View) -> float | None:
    """Distance between bore centres; None where neither it nor the nominal bore is known."""
    stated = view.number(SPACING)
    return stated if stated is not None else view.nominal_mm and 1.15 * view.nominal_mm
