"""Standard errors of smoothed height, vertical speed and acceleration.

They depend on where the readings are, not on what they say: in the steady state on their spacing, their error and the
motion's liveliness alone, near an end or a silence also on the distance from it. Small windows are solved exactly, and
every node takes the errors of the window that looks like its surroundings.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.smoother_matrix import smoother_matrix

if TYPE_CHECKING:
    from analyzer.arrays import Array


SILENCE: Final = 3.0
"""A step of more than this many usual ones is a silence of the sensor."""

_LEVELS: Final = 5
"""Levels of liveliness that are solved exactly: errors go with small powers of it, and are read off between them."""


def posterior_covariance(time_s: Array, variance_m2: Array, jerk_density: Array) -> Array:
    """Exact posterior covariance, shape (3n, 3n), by inverting the whole matrix: for windows, not for logs."""
    band = smoother_matrix(time_s, variance_m2, jerk_density)
    size = band.shape[1]
    dense = np.zeros((size, size))
    for offset in range(min(6, size)):
        index = np.arange(size - offset)
        dense[index + offset, index] = dense[index, index + offset] = band[offset, : size - offset]
    scale = 1.0 / np.sqrt(np.diag(dense))
    return np.asarray(np.linalg.inv(dense * scale[:, None] * scale) * scale[:, None] * scale)


def posterior_variances(time_s: Array, variance_m2: Array, jerk_density: Array) -> Array:
    """Exact posterior variances, shape (n, 3): the diagonal of `posterior_covariance`."""
    return np.diag(posterior_covariance(time_s, variance_m2, jerk_density)).reshape(-1, 3)


def standard_errors(
    time_s: Array, variance_m2: float, jerk_density: Array, edge: int
) -> tuple[Array, dict[int, Array]]:
    """Standard errors at all nodes, and how the errors on both sides of each silence hang together.

    Parameters
    ----------
    time_s : numpy.ndarray, shape (n,)
        Nodes.
    variance_m2 : float
        Usual error variance of a node.
    jerk_density : numpy.ndarray, shape (n - 1,)
        q in m²/s⁵ between nodes.
    edge : int
        Nodes on each side of an end or a silence that feel it.

    Returns
    -------
    errors : numpy.ndarray, shape (n, 3)
        Of height, vertical speed, acceleration.
    silences : dict of int to numpy.ndarray, shape (6, 6)
        By the index of the last node before a silence: covariance of the states before and after it.
    """
    count = len(time_s)
    if count == 1:
        return np.sqrt(posterior_variances(time_s, np.full(1, variance_m2), jerk_density)), {}
    step = np.diff(time_s)
    typical = float(np.median(step))
    log_q = np.log(np.append(jerk_density, jerk_density[-1]))
    errors = _by_liveliness(log_q, typical, variance_m2, edge)
    silences = {}
    known: dict[tuple[int, int], tuple[Array, Array]] = {}
    for node in np.flatnonzero(step > SILENCE * typical).tolist():
        length, q = float(step[node]), float(jerk_density[node])
        key = (round(8 * np.log(length)), round(2 * np.log(q)))
        if key not in known:
            known[key] = _around_silence(length, q, typical, variance_m2, edge)
        around, silences[node] = known[key]
        first, last = max(node + 1 - edge, 0), min(node + 1 + edge, count)
        part = around[first - (node + 1 - edge) : len(around) - (node + 1 + edge - last)]
        errors[first:last] = np.maximum(errors[first:last], part)
    return errors, silences


def _by_liveliness(log_q: Array, step_s: float, variance_m2: float, edge: int) -> Array:
    """Errors of an even series, wider towards its ends; their logarithm is interpolated between a few levels of q."""
    width = min(len(log_q), 2 * edge + 1)
    grid = np.linspace(log_q.min(), log_q.max() + 1e-6, _LEVELS)
    even = np.arange(width, dtype=float) * step_s
    variances = np.full(width, variance_m2)
    levels = [posterior_variances(even, variances, np.full(width - 1, q)) for q in np.exp(grid).tolist()]
    logs = 0.5 * np.log(np.array(levels))
    middle = (width - 1) // 2
    errors = _interpolated(log_q, grid, logs[:, middle])
    for node in range(middle):
        ends = [node, -1 - node]
        errors[ends] = _interpolated(log_q[ends], grid, logs[:, node])
    return np.asarray(np.exp(errors, out=errors))


def _interpolated(x: Array, grid: Array, columns: Array) -> Array:
    return np.stack([np.interp(x, grid, column) for column in columns.T], axis=1)


def _around_silence(length_s: float, q: float, step_s: float, variance_m2: float, edge: int) -> tuple[Array, Array]:
    """Errors of the nodes around a silence, shape (2 edge, 3), and covariance of the states on its two sides."""
    before = np.arange(1 - edge, 1) * step_s
    times = np.concatenate((before, length_s - before[::-1]))
    covariance = posterior_covariance(times, np.full(2 * edge, variance_m2), np.full(2 * edge - 1, q))
    middle = slice(3 * edge - 3, 3 * edge + 3)
    return np.sqrt(np.diag(covariance).reshape(-1, 3)), covariance[middle, middle]
