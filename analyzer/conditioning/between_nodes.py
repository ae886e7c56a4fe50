"""Smoothed motion at any time, from the smoother's nodes.

Between two nodes, T apart, the posterior mean is the quintic that matches height, speed and acceleration at both ends
(white-jerk bridge). What the bridge itself does not know, s after the first and u before the second node, is

    var h = q s^5 u^5 / (20 T^5),        var v = q s^3 u^3 (T^2 - 15/4 s u) / (3 T^5),

from the two transitions' precisions added and inverted.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from analyzer.arrays import Array, Indices
    from analyzer.conditioning.vertical_motion import VerticalMotion


_COUNTS: Final = 0.05
"""A variance of less than this share changes no standard error by more than 2.5 %."""

_REACH: Final = 0.5
"""Share of the nodes' usual distance by which the readings that a node averages may lie beyond it."""

_ROWS_AT_A_TIME: Final = 1 << 14
"""Intermediate results of so many rows stay in the processor's cache, which halves the time."""


class SmoothedHeight(NamedTuple):
    """Height in metres, its rate in m/s, and their standard errors; arrays of one length."""

    height_m: Array
    height_se_m: Array
    climb_m_s: Array
    climb_se_m_s: Array


def at_times(motion: VerticalMotion, time_s: Array, longest_s: float) -> SmoothedHeight:
    """Height, vertical speed and their standard errors at increasing times.

    Parameters
    ----------
    motion : VerticalMotion
        Nodes.
    time_s : numpy.ndarray, shape (n,)
        Where the motion is wanted; before the first and after the last node it stands still.
    longest_s : float
        Nodes further apart are not bridged: NaN. At least as long as what `standard_errors` calls a silence.
    """
    at_nodes = SmoothedHeight(motion.height_m, motion.height_se_m, motion.climb_m_s, motion.climb_se_m_s)
    if np.array_equal(time_s, motion.time_s):
        return at_nodes
    if len(motion.time_s) == 1:
        return SmoothedHeight(*(np.repeat(column, len(time_s)) for column in at_nodes))
    span = np.diff(motion.time_s)
    ends = np.concatenate(([0], np.searchsorted(time_s, motion.time_s[1:-1]), [len(time_s)]))
    quintic, bridge = _quintics(motion, span), _bridge_variances(motion, span)
    found = height, height_se, climb, climb_se = SmoothedHeight(*(np.empty(len(time_s)) for _ in range(4)))
    nodes = max(_ROWS_AT_A_TIME * len(span) // len(time_s), 1)
    for first in range(0, len(span), nodes):
        own_ends = ends[first : first + nodes + 1]
        rows = slice(own_ends[0], own_ends[-1])
        node = np.repeat(np.arange(first, first + len(own_ends) - 1), np.diff(own_ends))
        x = np.clip((time_s[rows] - motion.time_s[node]) / span[node], 0.0, 1.0)
        height[rows], climb[rows] = _height_and_climb(quintic, span, node, x)
        height_se[rows], climb_se[rows] = _errors(motion, bridge, node, x)
    reach_s = _REACH * float(np.median(span))
    for before in motion.silences:
        rows = slice(ends[before], ends[before + 1])
        if span[before] > longest_s:
            for column, values in zip(found, _beside_silence(motion, before, time_s[rows], reach_s), strict=True):
                column[rows] = values
        else:
            height_se[rows], climb_se[rows] = _errors_across(motion, before, time_s[rows])
    return found


def _beside_silence(motion: VerticalMotion, before: int, time_s: Array, reach_s: float) -> tuple[Array, ...]:
    """The motion of the nearer node carried on as far as its own readings may lie; NaN beyond.

    A quintic over days would lose the height's digits.
    """
    middle_s = 0.5 * (motion.time_s[before] + motion.time_s[before + 1])
    node = np.where(time_s < middle_s, before, before + 1)
    away = np.clip(time_s, motion.time_s[0], motion.time_s[-1]) - motion.time_s[node]
    height = motion.height_m[node] + motion.climb_m_s[node] * away
    columns = (height, motion.height_se_m[node], motion.climb_m_s[node], motion.climb_se_m_s[node])
    return tuple(np.where(np.abs(away) < reach_s, column, np.nan) for column in columns)


def _quintics(motion: VerticalMotion, span: Array) -> tuple[Array, ...]:
    """Coefficients, lowest first, of the quintic Hermite polynomials in the share of the way to the next node."""
    c0, c1, c2 = motion.height_m[:-1], motion.climb_m_s[:-1] * span, motion.acceleration_m_s2[:-1] * span**2 / 2
    rise = motion.height_m[1:] - c0 - c1 - c2
    speed = motion.climb_m_s[1:] * span - c1 - 2 * c2
    bend = motion.acceleration_m_s2[1:] * span**2 / 2 - c2
    return c0, c1, c2, 10 * rise - 4 * speed + bend, -15 * rise + 7 * speed - 2 * bend, 6 * rise - 3 * speed + bend


def _height_and_climb(quintic: tuple[Array, ...], span: Array, node: Indices, x: Array) -> tuple[Array, Array]:
    """Value and slope of the polynomials, by Horner's rule for both."""
    value, slope = quintic[-1][node], np.zeros(len(x))
    for coefficient in quintic[-2::-1]:
        slope *= x
        slope += value
        value *= x
        value += coefficient[node]
    return value, slope / span[node]


def _bridge_variances(motion: VerticalMotion, span: Array) -> tuple[Array, Array] | None:
    """Variances of height and speed that the bridges add, but for their course; None where they count for nothing."""
    height, climb = motion.jerk_density * span**5 / 20, motion.jerk_density * span**3 / 3
    counts = (height / 4**5 > _COUNTS * motion.height_se_m[:-1] ** 2).any()
    counts |= (climb / 4**5 > _COUNTS * motion.climb_se_m_s[:-1] ** 2).any()
    return (height, climb) if counts else None


def _errors(motion: VerticalMotion, bridge: tuple[Array, Array] | None, node: Indices, x: Array) -> tuple[Array, Array]:
    """Standard errors of height and speed: the nodes' own, interpolated, and the bridge's where it counts."""
    height, climb = _blend(motion.height_se_m, node, x), _blend(motion.climb_se_m_s, node, x)
    if bridge is None:
        return height, climb
    inner = x * (1.0 - x)
    cube = inner * inner * inner
    height = np.sqrt(np.square(height) + bridge[0][node] * cube * inner * inner)
    return height, np.sqrt(np.square(climb) + bridge[1][node] * cube * (1.0 - 3.75 * inner))


def _blend(errors: Array, node: Indices, x: Array) -> Array:
    before = errors[node]
    return before + (errors[node + 1] - before) * x


def _errors_across(motion: VerticalMotion, node: int, time_s: Array) -> tuple[Array, Array]:
    """Standard errors inside the silence after a node, where those of speed and acceleration carry far."""
    begun, length, q = motion.time_s[node], motion.time_s[node + 1] - motion.time_s[node], motion.jerk_density[node]
    x = np.clip((time_s - begun) / length, 0.0, 1.0)
    height, climb = _hermite_basis(x, length)
    inner = x * (1.0 - x)
    own_height, own_climb = length**5 * inner**5 / 20, length**3 * inner**3 * (1.0 - 3.75 * inner) / 3
    covariance = motion.silences[node]
    height_variance = np.einsum("in,ij,jn->n", height, covariance, height) + q * own_height
    return np.sqrt(height_variance), np.sqrt(np.einsum("in,ij,jn->n", climb, covariance, climb) + q * own_climb)


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
