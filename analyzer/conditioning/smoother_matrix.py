"""The normal equations of the white-jerk smoother, as a banded matrix: its inverse is the states' covariance.

The states themselves are computed in `vertical_motion`, more exactly: where steps are short this matrix is ill.

Each reading adds 1/r to its height's diagonal. Each step d adds the inverse covariance of the white-jerk transition,

    Q^-1 = 1/q [[720/d^5, -360/d^4, 60/d^3], [-360/d^4, 192/d^3, -36/d^2], [60/d^3, -36/d^2, 9/d]],

carried to both of its ends by the transition (height, speed, acceleration) -> (h + d v + d^2 a / 2, v + d a, a).

Reference: Y. Bar-Shalom, X.R. Li, T. Kirubarajan, *Estimation with Applications to Tracking and Navigation*, Wiley
2001, section 6.2 (Q of the continuous Wiener process acceleration model; its inverse is computed).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from analyzer.arrays import Array


_VAGUE_SPEED_M_S: Final = 50.0
_VAGUE_ACCELERATION_M_S2: Final = 50.0
"""Standard deviations beforehand at the first node, far beyond what a model does: they only keep the matrix regular."""


def smoother_matrix(time_s: Array, variance_m2: Array, jerk_density: Array) -> Array:
    """Lower banded matrix (6, 3n) of the smoother's normal equations, in the layout of LAPACK's pbtrf.

    Parameters
    ----------
    time_s : numpy.ndarray, shape (n,)
        Strictly increasing.
    variance_m2 : numpy.ndarray, shape (n,)
        Error variances of the readings.
    jerk_density : numpy.ndarray, shape (n - 1,)
        q in m²/s⁵ between readings.
    """
    step = np.diff(time_s)
    w1 = 1.0 / (jerk_density * step)
    w2 = w1 / step
    w3 = w2 / step
    w4 = w3 / step
    w5 = w4 / step
    band = np.zeros((len(time_s), 3, 6))
    before, after = band[:-1], band[1:]
    for target, sign in ((before, 1.0), (after, -1.0)):
        target[:, 0, 0] += 720 * w5
        target[:, 0, 1] += sign * 360 * w4
        target[:, 0, 2] += 60 * w3
        target[:, 1, 0] += 192 * w3
        target[:, 1, 1] += sign * 36 * w2
        target[:, 2, 0] += 9 * w1
    before[:, 0, 3:] = np.stack((-720 * w5, 360 * w4, -60 * w3), axis=1)
    before[:, 1, 2:5] = np.stack((-360 * w4, 168 * w3, -24 * w2), axis=1)
    before[:, 2, 1:4] = np.stack((-60 * w3, 24 * w2, -3 * w1), axis=1)
    band[:, 0, 0] += 1.0 / variance_m2
    band[0, 1, 0] += _VAGUE_SPEED_M_S**-2
    band[0, 2, 0] += _VAGUE_ACCELERATION_M_S2**-2
    return band.reshape(-1, 6).T
