"""Measured by ``python -m tests.bench.checked``: not written by hand."""

from __future__ import annotations

#: The largest difference from the reference, as a part of it.
APART: dict[str, float] = {
    "gauge_block": 5e-12,
    "budget": 0.0,
    "student": 3e-15,
    "line": 4e-15,
    "expansion": 3e-13,
    "clean_up": 0.002,
    "unread": 0.0,
    "force": 7e-05,
    "preload": 0.0,
    "press_fit": 0.0,
    "push": 5e-06,
    "capacity": 2e-05,
    "crosshatch": 0.0,
    "conformance": 0.0,
    "risks": 2e-05,
}

#: What was said, how often it came true, in how many simulated jobs.
CAME_TRUE: dict[str, tuple[float, float, int]] = {
    "clean_5": (0.05, 0.0488, 4000),
    "clean_35": (0.35, 0.3382, 4000),
    "clean_65": (0.65, 0.6302, 4000),
    "clean_95": (0.95, 0.9447, 4000),
    "four_clean": (0.95, 0.945, 600),
    "deck_square": (0.9741, 0.9724, 145),
    "quick_clean": (0.95, 0.94, 600),
    "walls_kept": (0.9984, 0.9986, 2110),
    "walls_untried": (0.9967, 1.0, 441),
    "walls_largest": (0.95, 0.9473, 1500),
    "lean_in": (0.9782, 0.9767, 301),
    "clamps_hold": (0.9914, 0.9921, 1523),
    "bias_edge": (0.95, 0.953, 4000),
    "bias_record": (0.95, 0.9417, 600),
    "chamfers_in": (0.9772, 0.9723, 1010),
    "hone_bite": (0.95, 0.9537, 4000),
    "straight_in": (0.9822, 0.9894, 2171),
    "final_in": (0.9695, 0.9792, 144),
    "fits_in": (0.9772, 0.9704, 1116),
    "weights_in": (0.9944, 0.9932, 295),
    "gap_in": (0.9963, 0.996, 2254),
    "card_in": (0.9949, 0.9938, 2243),
    "slips": (0.005, 0.0032, 1560),
    "slips_after": (0.005, 0.0012, 855),
    "needless": (0.01, 0.0, 480),
    "needless_after": (0.01, 0.0, 360),
}
