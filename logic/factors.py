"""Conversion factors, each written once: what one unit of a system is in the unit used inside ``logic/``.

Exact by definition unless said otherwise: NIST SP 811 (2008), appendix B.8. Everything
else that converts is worked out from these: the shown figures (:mod:`logic.say`), the
typed ones (:mod:`logic.units`) and the table of constants (:mod:`logic.constants`).
"""

from __future__ import annotations

__all__ = [
    "CM3_PER_IN3",
    "DEGF_PER_K",
    "GRAM_PER_OUNCE",
    "GRAM_PER_POUND",
    "MM_PER_FOOT",
    "MM_PER_INCH",
    "MM_PER_THOU",
    "NEWTON_PER_KGF",
    "NEWTON_PER_LBF",
]

#: The international inch of 1959.
MM_PER_INCH = 25.4
MM_PER_FOOT = 304.8
MM_PER_THOU = 0.0254
CM3_PER_IN3 = 16.387064
GRAM_PER_POUND = 453.59237
GRAM_PER_OUNCE = 28.349523125
NEWTON_PER_LBF = 4.4482216152605
#: Standard acceleration of free fall, m/s²: one kilogram-force in newtons.
NEWTON_PER_KGF = 9.80665
#: Degrees Fahrenheit to one kelvin.
DEGF_PER_K = 1.8
