"""Third divided differences of readings, and how they vary.

The third divided difference of four readings y at times t is sum(w_j y_j), w_j = 1 / prod(t_j - t_k). It is zero for a
parabola; errors of variance r make it vary by sum(w_j^2 r_j); and white jerk at time t, which moves the height at each
later t_j by (t_j - t)^2 / 2, enters it with the weight

    K(t) = sum over t_j > t of w_j (t_j - t)^2 / 2

(Peano's kernel, a quadratic B-spline). Differences that share nodes are correlated: the covariances form four diagonals
for the errors and three for the jerk.

Times may hold several series: all arrays have the nodes on their last axis.

Reference: C. de Boor, *A Practical Guide to Splines*, Springer 2001, chapters I and IX.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from analyzer.arrays import Array


_GAUSS: Final = (0.5 - 0.15**0.5, 0.5, 0.5 + 0.15**0.5), (5 / 18, 8 / 18, 5 / 18)
"""Gauss-Legendre points and weights on the unit interval: exact for the product of two kernels, of degree four."""


def difference_weights(times: Array) -> Array:
    """Weights of the four readings in each difference: shape (4, ..., n - 3).

    Parameters
    ----------
    times : numpy.ndarray, shape (..., n)
        Strictly increasing, n at least 4.
    """
    step = np.diff(times)
    a, b, c = step[..., :-2], step[..., 1:-1], step[..., 2:]
    ab, bc = a + b, b + c
    abc = ab + c
    return np.array([-1.0 / (a * ab * abc), 1.0 / (a * b * bc), -1.0 / (ab * b * c), 1.0 / (abc * bc * c)])


def differences(weights: Array, readings: Array) -> Array:
    """Third divided differences of readings, in their unit per s³: shape (..., n - 3)."""
    count = weights.shape[-1]
    return np.asarray(sum(weights[j] * readings[..., j : j + count] for j in range(4)))


def spread_back(weights: Array, values: Array) -> Array:
    """Each difference's value times its weights, added up at the nodes: the transpose of `differences`."""
    count = values.shape[-1]
    nodes = np.zeros((*values.shape[:-1], count + 3))
    for j in range(4):
        nodes[..., j : j + count] += weights[j] * values
    return nodes


def covariance_by_readings(weights: Array, variance: Array) -> Array:
    """Covariance of each difference with itself and the next three, by errors of the readings.

    Parameters
    ----------
    weights : numpy.ndarray, shape (4, ..., n - 3)
        Of `difference_weights`.
    variance : numpy.ndarray, shape (..., n)
        Of the readings' errors.

    Returns
    -------
    numpy.ndarray, shape (..., n - 3, 4)
    """
    count = weights.shape[-1]
    covariance = np.zeros((*weights.shape[1:], 4))
    for j in range(4):
        weighted = weights[j] * variance[..., j : j + count]
        for k in range(min(j + 1, count)):  # reading j of one difference is reading j - k of the k-th after it
            covariance[..., : count - k, k] += weighted[..., : count - k] * weights[j - k][..., k:]
    return covariance


def covariance_by_jerk(times: Array, weights: Array, jerk_density: Array) -> Array:
    """Covariance of each difference with itself and the next three, by white jerk.

    Parameters
    ----------
    times, weights : numpy.ndarray
        As for `covariance_by_readings`.
    jerk_density : numpy.ndarray, shape (..., n - 1)
        q from each node to the next.

    Returns
    -------
    numpy.ndarray, shape (..., n - 3, 4)
    """
    covariance = np.zeros((*weights.shape[1:], 4))
    power = np.diff(times) * jerk_density
    here, ahead, after = power[..., :-2], power[..., 1:-1], power[..., 2:]
    for _, weight, first, middle, last in kernel_parts(times, weights):
        by_middle, by_last = weight * ahead * middle, weight * after * last
        covariance[..., 0] += weight * here * first**2 + by_middle * middle + by_last * last
        covariance[..., :-1, 1] += by_middle[..., :-1] * first[..., 1:] + by_last[..., :-1] * middle[..., 1:]
        covariance[..., :-2, 2] += by_last[..., :-2] * first[..., 2:]
    return covariance


def kernel_parts(times: Array, weights: Array) -> Iterator[tuple[float, float, Array, Array, Array]]:
    """The kernels at the Gauss points of the three steps that each spans.

    Yields
    ------
    point, weight : float
        Place within a step, from 0 to 1, and weight in its integral.
    first, middle, last : numpy.ndarray, shape (..., n - 3)
        The kernels there, on their first, middle and last step.
    """
    step = np.diff(times)
    here, ahead, after = step[..., :-2], step[..., 1:-1], step[..., 2:]
    for point, weight in zip(*_GAUSS, strict=True):
        first = -0.5 * weights[0] * (point * here) ** 2
        left = (1.0 - point) * ahead
        middle = 0.5 * (weights[2] * left**2 + weights[3] * (left + after) ** 2)
        last = 0.5 * weights[3] * ((1.0 - point) * after) ** 2
        yield point, weight, first, middle, last
