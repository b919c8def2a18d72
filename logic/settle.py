"""What settles an answer that is too close to call: each further check by what it is worth for a minute.

A quantity is ``spare`` inside its limit (below nought: outside), normal with standard
uncertainty u: it is in with the chance p = Φ(spare / u). An answer left open costs one. A wrong
call costs S = 1 / (1 − confidence), so that calling costs less than leaving open just where the
verdict calls: R = min(1, S p, S (1 − p)); wrong calls are the risks of JCGM 106:2012, 9.
A check that leaves the uncertainty at u' moves the mean by a normal amount of standard
deviation √(u² − u'²), which is all that is known of its answer beforehand. What R is then, in
the mean over the answers, is less by what the check is worth (H. Raiffa and R. Schlaifer,
Applied Statistical Decision Theory, 1961: expected value of sample information). Minutes are
common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from .measure_next import MOST
from .result import Result
from .say import L, Line, Qty
from .uncertainty import normal_cdf, normal_quantile

__all__ = ["Check", "Worth", "ranked", "told", "worth"]

#: A check that is worth less than this part of an open answer is not worth a minute.
LEAST_WORTH = 0.03
#: A check that settles the answer less often than this is not offered.
LEAST_SETTLES = 0.05
_SHARES = tuple(normal_quantile((i + 0.5) / 40) for i in range(40))


class Check(NamedTuple):
    """Something that can be measured: what to do, its minutes, and the uncertainty it leaves, mm."""

    what: Line
    minutes: float
    u_after_mm: float


class Worth(NamedTuple):
    """A check with what it saves, in open answers, and how often it settles the answer."""

    check: Check
    saved: float
    settles: float


def _loss(spare_mm: float, u_mm: float, confidence: float) -> float:
    p = normal_cdf(spare_mm / u_mm)
    return min(1.0, min(p, 1 - p) / (1 - confidence))


def worth(spare_mm: float, u_mm: float, check: Check, confidence: float = 0.95) -> Worth:
    """What one check is worth; ``u_mm`` above zero. A check that leaves all as it is settles nothing."""
    after = max(min(check.u_after_mm, u_mm), 1e-6)
    moves = math.sqrt(max(0.0, u_mm**2 - after**2))
    means = [spare_mm + z * moves for z in _SHARES]
    left = [_loss(m, after, confidence) for m in means]
    settled = sum(lost < 1.0 for lost in left) / len(left)
    saved = _loss(spare_mm, u_mm, confidence) - math.fsum(left) / len(left)
    return Worth(check, max(0.0, saved), settled if moves else 0.0)


def ranked(spare_mm: float, u_mm: float, checks: Iterable[Check], confidence: float = 0.95) -> tuple[Worth, ...]:
    """The checks worth making, best for a minute first, at most three; none where nothing is uncertain."""
    if not u_mm > 0:
        return ()
    found = [worth(spare_mm, u_mm, c, confidence) for c in checks]
    kept = [w for w in found if w.saved >= LEAST_WORTH and w.settles >= LEAST_SETTLES]
    return tuple(sorted(kept, key=lambda w: -w.saved / w.check.minutes)[:MOST])


def told(found: Sequence[Worth]) -> Result | None:
    """The checks in words, best first; None where there is none."""
    if not found:
        return None
    lines = tuple(map(_line, found))
    return Result(key="next", line=lines[0], why=lines[1:])


def _line(w: Worth) -> Line:
    tenths = Qty(min(9, round(10 * w.settles)), "count")
    minutes = Qty(60 * w.check.minutes, "duration")
    return L("{what}: settles it in {k} of 10 cases, {minutes}.", what=w.check.what, k=tenths, minutes=minutes)
