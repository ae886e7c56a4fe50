"""Smoothed motion at any time, from the smoother's nodes.

Between two nodes the posterior mean is the quintic that matches height, speed and acceleration at both ends (white-jerk
bridge). The bridge's own variance, q s^5 (T-s)^5 / (20 T^5) for height and q s^3 (T-s)^3 / (3 T^3) for speed, is added
to the nodes' errors: both are exact for small s and upper bounds elsewhere.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.conditioning.vertical_motion import VerticalMotion

    Array = NDArray[np.float64]


def at_times(motion: VerticalMotion, time_s: Array, longest_s: float) -> tuple[Array, Array, Array, Array]:
    """Height, vertical speed and their standard errors at increasing times.

    Parameters
    ----------
    motion : VerticalMotion
        Nodes.
    time_s : numpy.ndarray, shape (n,)
        Where the motion is wanted; before the first and after the last node it stands still.
    longest_s : float
        Nodes further apart are not bridged: NaN.
    """
    if len(time_s) == len(motion.time_s) and np.array_equal(time_s, motion.time_s):
        return motion.height_m, motion.climb_m_s, motion.height_se_m, motion.climb_se_m_s
    if len(motion.time_s) == 1:
        one = np.ones(len(time_s))
        return one * motion.height_m, one * 0.0, one * motion.height_se_m, one * motion.climb_se_m_s
    span = np.diff(motion.time_s)
    first = np.searchsorted(time_s, motion.time_s[1:-1])
    rows = np.diff(np.concatenate(([0], first, [len(time_s)])))
    s = np.clip((time_s - np.repeat(motion.time_s[:-1], rows)) / np.repeat(span, rows), 0.0, 1.0)
    height, climb = _quintic(motion, span, rows, s)
    square = np.square(s * (1.0 - s))
    cube = square * s * (1.0 - s)
    height_se = _with_bridge(motion.height_se_m, motion.jerk_density * span**5 / 20, rows, s, cube * square)
    climb_se = _with_bridge(motion.climb_se_m_s, motion.jerk_density * span**3 / 3, rows, s, cube)
    if span.max() > longest_s:
        silent = np.repeat(span > longest_s, rows) & (s > 0.0) & (s < 1.0)
        height[silent] = climb[silent] = height_se[silent] = climb_se[silent] = np.nan
    return height, climb, height_se, climb_se


def _with_bridge(errors: Array, variance: Array, rows: NDArray[np.intp], s: Array, bridge: Array) -> Array:
    """Errors of the nodes, interpolated, and of the bridge between them."""
    node = np.repeat(errors[:-1], rows) + np.repeat(np.diff(errors), rows) * s
    return np.asarray(np.sqrt(np.square(node) + np.repeat(variance, rows) * bridge))


def _quintic(motion: VerticalMotion, span: Array, rows: NDArray[np.intp], s: Array) -> tuple[Array, Array]:
    """Quintic Hermite interpolation of height, and its derivative; coefficients are made per node, not per row."""
    c0, c1, c2 = motion.height_m[:-1], motion.climb_m_s[:-1] * span, motion.acceleration_m_s2[:-1] * span**2 / 2
    rise = motion.height_m[1:] - c0 - c1 - c2
    speed = motion.climb_m_s[1:] * span - c1 - 2 * c2
    bend = motion.acceleration_m_s2[1:] * span**2 / 2 - c2
    c3, c4, c5 = 10 * rise - 4 * speed + bend, -15 * rise + 7 * speed - 2 * bend, 6 * rise - 3 * speed + bend
    height = _polynomial((c0, c1, c2, c3, c4, c5), rows, s)
    climb = _polynomial(tuple(k * c / span for k, c in enumerate((c1, c2, c3, c4, c5), 1)), rows, s)
    return height, climb


def _polynomial(coefficients: tuple[Array, ...], rows: NDArray[np.intp], s: Array) -> Array:
    """Horner's rule, in place."""
    value = np.repeat(coefficients[-1], rows)
    for coefficient in coefficients[-2::-1]:
        value *= s
        value += np.repeat(coefficient, rows)
    return value
