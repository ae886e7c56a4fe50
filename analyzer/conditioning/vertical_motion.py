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
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_VAGUE_SPEED_M_S: Final = 50.0
_VAGUE_ACCELERATION_M_S2: Final = 50.0


@dataclass(frozen=True)
class VerticalMotion:
    """Smoothed states at nodes: arrays of one length.

    Attributes
    ----------
    time_s, height_m, climb_m_s, acceleration_m_s2 : numpy.ndarray
        Node times and posterior means.
    height_se_m, climb_se_m_s : numpy.ndarray
        Posterior standard errors.
    jerk_density : numpy.ndarray
        Spectral density of the jerk in m²/s⁵ that was assumed from each node to the next, shape (n - 1,).
    """

    time_s: Array
    height_m: Array
    climb_m_s: Array
    acceleration_m_s2: Array
    height_se_m: Array
    climb_se_m_s: Array
    jerk_density: Array


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
    band = np.zeros((len(time_s), 3, 6))
    band[:, 0, 0] = 1.0 / variance_m2
    band[0, 1, 0] = _VAGUE_SPEED_M_S**-2
    band[0, 2, 0] = _VAGUE_ACCELERATION_M_S2**-2
    w1 = 1.0 / (jerk_density * step)
    w2, w3 = w1 / step, w1 / step**2
    w4, w5 = w3 / step, w3 / step**2
    before, after = band[:-1], band[1:]
    for target, sign in ((before, 1.0), (after, -1.0)):
        target[:, 0, 0] += 720 * w5
        target[:, 0, 1] += sign * 360 * w4
        target[:, 0, 2] += 60 * w3
        target[:, 1, 0] += 192 * w3
        target[:, 1, 1] += sign * 36 * w2
        target[:, 2, 0] += 9 * w1
    before[:, 0, 3:] = np.column_stack((-720 * w5, 360 * w4, -60 * w3))
    before[:, 1, 2:5] = np.column_stack((-360 * w4, 168 * w3, -24 * w2))
    before[:, 2, 1:4] = np.column_stack((-60 * w3, 24 * w2, -3 * w1))
    return band.reshape(-1, 6).T


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
    height_se, climb_se = standard_errors(time_s, float(np.median(variance_m2)), jerk_density, edge_nodes)
    return VerticalMotion(time_s, state[:, 0], state[:, 1], state[:, 2], height_se, climb_se, jerk_density)


def posterior_variances(time_s: Array, variance_m2: Array, jerk_density: Array) -> Array:
    """Exact posterior variances, shape (n, 3), by inverting the whole matrix: for windows, not for logs."""
    band = smoother_matrix(time_s, variance_m2, jerk_density)
    size = band.shape[1]
    dense = np.zeros((size, size))
    for offset in range(min(6, size)):
        index = np.arange(size - offset)
        dense[index + offset, index] = dense[index, index + offset] = band[offset, : size - offset]
    scale = 1.0 / np.sqrt(np.diag(dense))
    inverse = np.linalg.inv(dense * scale[:, None] * scale[None, :])
    return np.asarray((np.diag(inverse) * scale**2).reshape(-1, 3))


def standard_errors(time_s: Array, variance_m2: float, jerk_density: Array, edge: int) -> tuple[Array, Array]:
    """Standard errors of height and vertical speed by distance from the nearest end or gap, and by liveliness.

    Those of an even window are exact; the window is solved for a few values of q, between which the logarithm of the
    error is interpolated (in the steady state it is linear in log q).
    """
    count, step = len(time_s), np.diff(time_s)
    typical = float(np.median(step)) if count > 1 else 1.0
    width = min(count, 2 * edge + 1)
    breaks = np.concatenate(([0], np.flatnonzero(step > 3.0 * typical) + 1, [count]))
    index = np.arange(count)
    part = np.searchsorted(breaks, index, side="right") - 1
    from_edge = np.minimum(np.minimum(index - breaks[part], breaks[part + 1] - 1 - index), (width - 1) // 2)
    log_q = np.log(np.append(jerk_density, jerk_density[-1:]) if count > 1 else np.ones(1))
    grid = np.linspace(log_q.min(), log_q.max(), 5 if np.ptp(log_q) > 0.01 else 1)
    even = np.arange(width, dtype=float) * typical
    table = np.array(
        [posterior_variances(even, np.full(width, variance_m2), np.full(width - 1, q)) for q in np.exp(grid)]
    )
    if len(grid) == 1:
        errors = np.sqrt(table[0, from_edge])
        return errors[:, 0], errors[:, 1]
    place = np.clip((log_q - grid[0]) / (grid[1] - grid[0]), 0.0, len(grid) - 1.001)
    low = place.astype(np.intp)
    share = (place - low)[:, None]
    logs = 0.5 * np.log(table)
    errors = np.exp((1.0 - share) * logs[low, from_edge] + share * logs[low + 1, from_edge])
    return errors[:, 0], errors[:, 1]


def at_times(motion: VerticalMotion, time_s: Array) -> tuple[Array, Array, Array, Array]:
    """Height, vertical speed and their standard errors at any times inside the log.

    Between two nodes the posterior mean is the quintic that matches both states (white-jerk bridge); the bridge's own
    variance, q s⁵(T-s)⁵/(20 T⁵) for height and q s³(T-s)³/(3 T³) for speed, is added to the nodes' errors.
    """
    if len(time_s) == len(motion.time_s) and np.array_equal(time_s, motion.time_s):
        return motion.height_m, motion.climb_m_s, motion.height_se_m, motion.climb_se_m_s
    node = np.clip(np.searchsorted(motion.time_s, time_s, side="right") - 1, 0, max(len(motion.time_s) - 2, 0))
    after = np.minimum(node + 1, len(motion.time_s) - 1)
    span = np.maximum(motion.time_s[after] - motion.time_s[node], 1e-9)
    s = np.clip((time_s - motion.time_s[node]) / span, 0.0, 1.0)
    height, climb = _quintic(motion, node, after, span, s)
    bridge = s * (1.0 - s)
    q = motion.jerk_density[np.minimum(node, len(motion.jerk_density) - 1)] if len(motion.jerk_density) else 0.0
    height_se = np.sqrt(_blend(motion.height_se_m, node, after, s) ** 2 + q * span**5 * bridge**5 / 20)
    climb_se = np.sqrt(_blend(motion.climb_se_m_s, node, after, s) ** 2 + q * span**3 * bridge**3 / 3)
    return height, climb, height_se, climb_se


def _blend(values: Array, node: NDArray[np.intp], after: NDArray[np.intp], s: Array) -> Array:
    return values[node] * (1.0 - s) + values[after] * s


def _quintic(
    motion: VerticalMotion, node: NDArray[np.intp], after: NDArray[np.intp], span: Array, s: Array
) -> tuple[Array, Array]:
    """Quintic Hermite interpolation of height, and its derivative."""
    h0, v0, a0 = motion.height_m[node], motion.climb_m_s[node] * span, motion.acceleration_m_s2[node] * span**2 / 2
    rise = motion.height_m[after] - h0 - v0 - a0
    speed = motion.climb_m_s[after] * span - v0 - 2 * a0
    bend = motion.acceleration_m_s2[after] * span**2 / 2 - a0
    c3 = 10 * rise - 4 * speed + bend
    c4 = -15 * rise + 7 * speed - 2 * bend
    c5 = 6 * rise - 3 * speed + bend
    height = h0 + s * (v0 + s * (a0 + s * (c3 + s * (c4 + s * c5))))
    climb = (v0 + s * (2 * a0 + s * (3 * c3 + s * (4 * c4 + s * 5 * c5)))) / span
    return height, climb
