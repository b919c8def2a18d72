"""What finished bores are like, in NumPy: the model of logic/bore_prior.py written down a second time, for tests."""

import numpy as np

from logic.bore_prior import FINISHING


def priors(z, axes, made=FINISHING):
    """(chance, covariance in mm²) of each quality and level, for places at depths ``z`` (-1 to 1) on ``axes``."""
    z, axes = np.asarray(z, float), np.asarray(axes)
    for quality, chance in ((0.5, 0.25), (1.0, 0.4), (2.0, 0.25), (4.0, 0.1)):
        for level, likely in ((made.level_mm, 1 - made.wild_share), (made.wild_mm, made.wild_share)):
            parts = np.column_stack(
                [
                    np.full(len(z), level),
                    quality * made.taper_mm / 2 * z,
                    quality * made.barrel_mm * (0.5 - z * z),
                    *(quality * made.oval_mm / np.sqrt(2) * (axes == a) for a in sorted(set(axes))),
                ]
            )
            yield chance * likely, parts @ parts.T + np.eye(len(z)) * (quality * made.local_mm) ** 2
