"""Smoothed motion at any time, from the smoother's nodes.

Between two nodes, T apart, the posterior mean is the quintic that matches height, speed and acceleration at both ends
(white-jerk bridge). What the bridge itself does not know, s after the first and u before the second node, is

    var h = q s^5 u^5 / (20 T^5),        var v = q s^3 u^3 (T^2 - 15/4 s u) / (3 T^5),

from the two transitions' precisions added and inverted.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.conditioning.vertical_motion import VerticalMotion

    Array = NDArray[np.float64]
    Rows = NDArray[np.intp]

_COUNTS: Final = 0.05
"""A variance of less than this share changes no standard error by more than 2.5 %."""


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
    x = np.clip((time_s - np.repeat(motion.time_s[:-1], rows)) / np.repeat(span, rows), 0.0, 1.0)
    height, climb = _quintic(motion, span, rows, x)
    height_se, climb_se = _errors(motion, span, rows, x)
    _across_silences(motion, span, rows, x, height_se, climb_se)
    if span.max() > longest_s:
        silent = np.repeat(span > longest_s, rows) & (x > 0.0) & (x < 1.0)
        height[silent] = climb[silent] = height_se[silent] = climb_se[silent] = np.nan
    return height, climb, height_se, climb_se


def _quintic(motion: VerticalMotion, span: Array, rows: Rows, x: Array) -> tuple[Array, Array]:
    """Quintic Hermite interpolation of height, and its derivative; coefficients are made per node, not per row."""
    c0, c1, c2 = motion.height_m[:-1], motion.climb_m_s[:-1] * span, motion.acceleration_m_s2[:-1] * span**2 / 2
    rise = motion.height_m[1:] - c0 - c1 - c2
    speed = motion.climb_m_s[1:] * span - c1 - 2 * c2
    bend = motion.acceleration_m_s2[1:] * span**2 / 2 - c2
    c3, c4, c5 = 10 * rise - 4 * speed + bend, -15 * rise + 7 * speed - 2 * bend, 6 * rise - 3 * speed + bend
    height = _polynomial((c0, c1, c2, c3, c4, c5), rows, x)
    climb = _polynomial(tuple(k * c / span for k, c in enumerate((c1, c2, c3, c4, c5), 1)), rows, x)
    return height, climb


def _polynomial(coefficients: tuple[Array, ...], rows: Rows, x: Array) -> Array:
    """Horner's rule, in place."""
    value = np.repeat(coefficients[-1], rows)
    for coefficient in coefficients[-2::-1]:
        value *= x
        value += np.repeat(coefficient, rows)
    return value


def _errors(motion: VerticalMotion, span: Array, rows: Rows, x: Array) -> tuple[Array, Array]:
    """Standard errors of height and speed: the nodes' own, interpolated, and the bridge's where it counts."""
    height, climb = _blend(motion.height_se_m, rows, x), _blend(motion.climb_se_m_s, rows, x)
    own_height, own_climb = motion.jerk_density * span**5 / 20, motion.jerk_density * span**3 / 3
    if (
        (own_height / 4**5 < _COUNTS * motion.height_se_m[:-1] ** 2).all()
        and (own_climb / 4**5 < _COUNTS * motion.climb_se_m_s[:-1] ** 2).all()
    ):  # fmt: skip
        return height, climb
    inner = x * (1.0 - x)
    cube = inner * inner * inner
    height = np.sqrt(np.square(height) + np.repeat(own_height, rows) * cube * inner * inner)
    return height, np.sqrt(np.square(climb) + np.repeat(own_climb, rows) * cube * (1.0 - 3.75 * inner))


def _blend(errors: Array, rows: Rows, x: Array) -> Array:
    return np.repeat(errors[:-1], rows) + np.repeat(np.diff(errors), rows) * x


def _across_silences(
    motion: VerticalMotion, span: Array, rows: Rows, x: Array, height_se: Array, climb_se: Array
) -> None:
    """Put right, in place, the errors inside silences, where those of speed and acceleration carry far."""
    ends = np.concatenate(([0], np.cumsum(rows)))
    for node, covariance in motion.silences.items():
        inside = slice(int(ends[node]), int(ends[node + 1]))
        length, q, y = span[node], motion.jerk_density[node], x[inside]
        height, climb = _hermite_basis(y, length)
        inner = y * (1.0 - y)
        own_height, own_climb = length**5 * inner**5 / 20, length**3 * inner**3 * (1.0 - 3.75 * inner) / 3
        height_se[inside] = np.sqrt(np.einsum("in,ij,jn->n", height, covariance, height) + q * own_height)
        climb_se[inside] = np.sqrt(np.einsum("in,ij,jn->n", climb, covariance, climb) + q * own_climb)


def _hermite_basis(x: Array, length: float) -> tuple[Array, Array]:
    """Weights (6, n) of the two end states in the quintic's height and in its speed."""
    powers = np.array([x**0, x, x**2, x**3, x**4, x**5])
    slopes = np.array([0 * x, x**0, 2 * x, 3 * x**2, 4 * x**3, 5 * x**4]) / length
    weights = np.array([
        [1, 0, 0, -10, 15, -6], [0, 1, 0, -6, 8, -3], [0, 0, 0.5, -1.5, 1.5, -0.5],
        [0, 0, 0, 10, -15, 6], [0, 0, 0, -4, 7, -3], [0, 0, 0, 0.5, -1, 0.5],
    ])  # fmt: skip
    weights *= np.array([1, length, length**2, 1, length, length**2])[:, None]
    return weights @ powers, weights @ slopes
