"""Standard errors of smoothed height and vertical speed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.conditioning.smoother_matrix import smoother_matrix

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


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
