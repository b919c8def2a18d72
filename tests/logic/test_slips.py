"""Slips of the hand against the other readings of the job."""

import itertools
import math
import random

import numpy as np
import pytest

from logic import slips
from logic.slips import Cell, meanings, suspects


def grid(wear=0.3, crank=0.5, fade=45.0, cylinders=4, seed=1, noise=0.003, depths=(12.0, 55.0, 115.0)):
    rng = random.Random(seed)
    out = []
    for c in range(1, cylinders + 1):
        own = wear * rng.uniform(0.6, 1.0)
        for d, z in enumerate(depths, 1):
            for axis, part in (("thrust", 1.0), ("crank", crank)):
                w = 0.0 if z > 110 else own * part * math.exp(-(z - 12.0) / fade)
                w += rng.gauss(0, noise)
                out.append(Cell(c, d, axis, w, f"{w / 0.0254:+.1f}", 0.0254))
    return out


def typed(cells, where, text):
    """The grid with one cell typed as ``text`` in thou."""
    return [
        Cell(c.cylinder, c.depth, c.axis, float(text) * 0.0254, text, 0.0254)
        if (c.cylinder, c.depth, c.axis) == where
        else c
        for c in cells
    ]


@pytest.mark.parametrize(
    ("text", "unit", "meant", "kind"),
    [
        ("15.5", 0.0254, 51.5, "digits swapped"),
        ("55.1", 0.0254, 5.1, "digit repeated"),
        ("+12.0", 0.0254, -12.0, "sign"),
        ("1.55", 0.0254, 15.5, "decimal point"),
        ("155", 0.0254, 15.5, "decimal point"),
    ],
)
def test_what_may_have_been_meant(text, unit, meant, kind):
    shift = meant * unit - float(text) * unit
    assert any(m.kind == kind and m.shift_mm == pytest.approx(shift, abs=1e-9) for m in meanings(text, unit))


def test_other_unit_and_turns_of_the_dial():
    """0.39 typed where thou are read, meant as millimetres: 0.39 mm, 25.4 mm to the inch (NIST SP 811)."""
    found = {(m.kind, round(m.shift_mm, 6)) for m in meanings("0.39", 0.0254)}
    assert ("other unit", round(0.39 - 0.39 * 0.0254, 6)) in found
    assert {("turn of the dial", t) for t in (0.5, 1.0, 1.27, 2.54)} <= found
    assert meanings("3 1/32 in", 25.4) == () or all(math.isfinite(m.shift_mm) for m in meanings("3 1/32 in", 25.4))
    assert meanings("", 0.0254) == () == meanings("abc", 0.0254)


def test_leave_one_out_is_that_of_a_fit_without_the_reading():
    """The leverage formula against NumPy: a ridge regression with the reading really left out."""
    cells = grid(cylinders=3, seed=4)
    fit = slips._fit(cells)
    groups = list(dict.fromkeys(g for c in cells for g in (("c", c.cylinder), ("d", c.depth), ("a", c.axis))))
    prior = {"c": slips._SPREAD_CYLINDER, "d": slips._SPREAD_DEPTH, "a": slips._SPREAD_AXIS}
    x = np.array([[1.0, *(g in (("c", c.cylinder), ("d", c.depth), ("a", c.axis)) for g in groups)] for c in cells])
    y = np.array([math.log(max(c.wear_mm, 0) + slips.EASE_MM) for c in cells])
    penalty = np.diag([1e-6, *((slips._SPREAD / prior[kind]) ** 2 for kind, _ in groups)])
    for k in range(len(cells)):
        keep = np.arange(len(cells)) != k
        b = np.linalg.solve(x[keep].T @ x[keep] + penalty, x[keep].T @ y[keep])
        assert fit.expected[k] == pytest.approx(x[k] @ b, abs=1e-6)


def test_clean_jobs_are_not_asked_about():
    asked = sum(
        bool(suspects(grid(wear=w, crank=k, fade=f, cylinders=n, seed=s), 0.004))
        for s, (w, k, f, n) in enumerate(
            itertools.product((0.05, 0.15, 0.3, 0.5), (0.3, 0.6, 0.9), (30, 60), (1, 2, 4, 6))
        )
    )
    assert asked <= 1  # of 96


@pytest.mark.parametrize(
    ("text", "kind"), [("1.2", "decimal point"), ("-11.0", "sign"), ("110", "decimal point"), ("0.28", "other unit")]
)
def test_a_slip_at_the_worst_place_is_asked_about_with_what_was_likely_meant(text, kind):
    cells = grid(wear=0.3, seed=3)
    found = suspects(typed(cells, (2, 1, "thrust"), text), 0.004)
    assert found
    first = found[0]
    assert (first.cell.cylinder, first.cell.depth, first.cell.axis) == (2, 1, "thrust")
    assert first.likely_mm is not None
    meant = first.cell.wear_mm + first.likely_mm
    true = next(c.wear_mm for c in cells if (c.cylinder, c.depth, c.axis) == (2, 1, "thrust"))
    assert meant == pytest.approx(true, rel=0.35)


def test_strong_wear_on_one_axis_is_no_slip():
    """Wear on the thrust axis three times that of the crank line, in every bore."""
    assert suspects(grid(wear=0.45, crank=0.3, seed=9), 0.004) == ()


def test_too_few_readings_say_nothing_of_each_other():
    assert suspects(grid()[:4], 0.004) == ()
