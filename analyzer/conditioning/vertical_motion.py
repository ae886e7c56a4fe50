"""Height and vertical speed by a constant-acceleration Kalman smoother, solved as one banded system.

The model: the vertical acceleration is a random walk (white jerk of spectral density q), the altitude readings carry
independent errors of variance r; nothing is known of the start. The forward-backward (Rauch-Tung-Striebel) smoother's
mean is the posterior mean of a Gaussian process, and a quintic spline. Of the readings y only the third differences
z = D y tell errors and jerk apart (see `third_differences`). With C their covariance and g = C^-1 z, on the real time
stamps and in time proportional to their number,

    height = y - r D' g,        jerk(t) = q(t) sum(g_i K_i(t)),

and vertical speed and acceleration follow from the heights of neighbours and the jerk between them. Compared with the
same mean from the states' information matrix this is exact to nine digits where steps are short and uneven.

References
----------
H.E. Rauch, F. Tung, C.T. Striebel, "Maximum likelihood estimates of linear dynamic systems", AIAA Journal 3 (1965),
1445-1450. W.E. Wecker, C.F. Ansley, "The signal extraction approach to nonlinear regression and spline smoothing",
Journal of the American Statistical Association 78 (1983), 81-89. Y. Bar-Shalom, X.R. Li, T. Kirubarajan, *Estimation
with Applications to Tracking and Navigation*, Wiley 2001, section 6.2 (continuous Wiener process acceleration model).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analyzer.conditioning.standard_errors import standard_errors
from analyzer.conditioning.third_differences import (
    covariance_by_jerk,
    covariance_by_readings,
    difference_weights,
    differences,
    kernel_parts,
    spread_back,
)

if TYPE_CHECKING:
    from analyzer.arrays import Array


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
    height, pushes = _height_and_pushes(time_s, reading_m, variance_m2, jerk_density)
    climb, acceleration = _slopes(time_s, height, pushes)
    errors, silences = standard_errors(time_s, float(np.median(variance_m2)), jerk_density, edge_nodes)
    return VerticalMotion(time_s, height, climb, acceleration, errors[:, 0], errors[:, 1], jerk_density, silences)


def _height_and_pushes(time_s: Array, reading_m: Array, variance_m2: Array, jerk_density: Array) -> tuple[Array, Array]:
    """Smoothed heights, and what the jerk on each step adds to acceleration, speed and height at its end: (3, n - 1).

    Fewer than four readings lie on a parabola: nothing tells errors and jerk.
    """
    from scipy.linalg import solveh_banded

    pushes = np.zeros((3, len(time_s) - 1))
    if len(time_s) < 4:
        return reading_m, pushes
    weights = difference_weights(time_s)
    band = covariance_by_readings(weights, variance_m2)
    band += covariance_by_jerk(time_s, weights, jerk_density)
    third = differences(weights, reading_m)
    pull = solveh_banded(band.T, third, overwrite_ab=True, overwrite_b=True, lower=True, check_finite=False)
    step = np.diff(time_s)
    for point, weight, first, middle, last in kernel_parts(time_s, weights):
        jerk = np.zeros(len(step))
        for start, kernel in enumerate((first, middle, last)):
            jerk[start : start + len(pull)] += kernel * pull
        jerk *= weight * jerk_density * step
        left = (1.0 - point) * step
        pushes += jerk, jerk * left, jerk * left**2 / 2
    return reading_m - variance_m2 * spread_back(weights, pull), pushes


def _slopes(time_s: Array, height_m: Array, pushes: Array) -> tuple[Array, Array]:
    """Vertical speed and acceleration at nodes: a parabola through three neighbours, what the jerk does taken off."""
    step = np.diff(time_s)
    if len(time_s) < 3:
        return np.full(len(time_s), (np.diff(height_m) / step).sum()), np.zeros(len(time_s))
    rise, (to_acceleration, to_speed, to_height) = np.diff(height_m), pushes
    after = ((rise - to_height) / step)[1:]
    before = ((rise - to_height) / step - to_acceleration * step / 2 + to_speed)[:-1]
    climb, acceleration = np.empty((2, len(time_s)))
    acceleration[1:-1] = 2.0 * (after - before) / (step[1:] + step[:-1])
    climb[1:-1] = after - acceleration[1:-1] * step[1:] / 2
    acceleration[0] = acceleration[1] - to_acceleration[0]
    climb[0] = climb[1] - acceleration[0] * step[0] - to_speed[0]
    acceleration[-1] = acceleration[-2] + to_acceleration[-1]
    climb[-1] = climb[-2] + acceleration[-2] * step[-1] + to_speed[-1]
    return climb, acceleration
