"""Height and vertical speed by a constant-acceleration Kalman smoother, solved as one banded system.

The model: the vertical acceleration is a random walk (white jerk of spectral density q), the altitude readings carry
independent errors of variance r. The forward-backward (Rauch-Tung-Striebel) smoother's mean is the minimiser of a
quadratic form whose matrix is block tridiagonal in the states (height, vertical speed, acceleration); a banded Cholesky
factorisation finds it in time proportional to the number of samples, on the real time stamps.

References
----------
H.E. Rauch, F. Tung, C.T. Striebel, "Maximum likelihood estimates of linear dynamic systems", AIAA Journal 3 (1965),
1445-1450. Y. Bar-Shalom, X.R. Li, T. Kirubarajan, *Estimation with Applications to Tracking and Navigation*, Wiley
2001, section 6.2 (continuous Wiener process acceleration model).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analyzer.conditioning.smoother_matrix import smoother_matrix
from analyzer.conditioning.standard_errors import standard_errors

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class VerticalMotion:
    """Smoothed states at nodes: arrays of one length.

    Attributes
    ----------
    time_s, height_m, climb_m_s, acceleration_m_s2 : numpy.ndarray
        Node times and posterior means.
    height_se_m, climb_se_m_s : numpy.ndarray
        Posterior standard errors.
    jerk_density : numpy.ndarray, shape (n - 1,)
        Spectral density of the jerk in m²/s⁵ that was assumed from each node to the next.
    silences : dict of int to numpy.ndarray, shape (6, 6)
        By the index of the last node before a silence: covariance of the states (height, speed, acceleration) before
        and after it.
    """

    time_s: Array
    height_m: Array
    climb_m_s: Array
    acceleration_m_s2: Array
    height_se_m: Array
    climb_se_m_s: Array
    jerk_density: Array
    silences: dict[int, Array]


def smooth(time_s: Array, reading_m: Array, variance_m2: Array, jerk_density: Array, edge_nodes: int) -> VerticalMotion:
    """Posterior means and standard errors of height and vertical speed at the readings' times.

    Parameters
    ----------
    time_s, reading_m, variance_m2 : numpy.ndarray, shape (n,)
        Readings; times strictly increasing.
    jerk_density : numpy.ndarray, shape (n - 1,)
        q in m²/s⁵ between readings.
    edge_nodes : int
        Half width of the window in which standard errors near ends and gaps are computed.
    """
    from scipy.linalg import solveh_banded

    matrix = smoother_matrix(time_s, variance_m2, jerk_density)
    right = np.zeros((len(time_s), 3))
    right[:, 0] = reading_m / variance_m2
    flat = solveh_banded(matrix, right.ravel(), overwrite_ab=True, overwrite_b=True, lower=True, check_finite=False)
    state = np.asarray(flat, dtype=float).reshape(-1, 3)
    errors, silences = standard_errors(time_s, float(np.median(variance_m2)), jerk_density, edge_nodes)
    height, climb, acceleration = state.T
    return VerticalMotion(time_s, height, climb, acceleration, errors[:, 0], errors[:, 1], jerk_density, silences)
