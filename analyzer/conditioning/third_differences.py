"""Third divided differences of readings, and how they vary.

The third divided difference of four readings y at times t is sum(w_j y_j), w_j = 1 / prod(t_j - t_k). It is zero for a
parabola; of errors of unit variance it makes sum(w_j^2); and white jerk at time t, which moves the height at each later
t_j by (t_j - t)^2 / 2, enters it with the weight

    K(t) = sum over t_j > t of w_j (t_j - t)^2 / 2

(Peano's kernel, a quadratic B-spline). Differences that share nodes are correlated: the covariances form four diagonals
for the errors and three for the jerk.

Reference: C. de Boor, *A Practical Guide to Splines*, Springer 2001, chapters I and IX.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_GAUSS: Final = (0.5 - np.sqrt(0.15), 0.5, 0.5 + np.sqrt(0.15)), (5 / 18, 8 / 18, 5 / 18)
"""Gauss-Legendre points and weights on the unit interval: exact for the product of two kernels, of degree four."""


def third_differences(times: Array, readings: Array) -> tuple[Array, Array, Array]:
    """Third divided differences of series, their covariance by the readings' errors and that by the jerk.

    Parameters
    ----------
    times, readings : numpy.ndarray, shape (series, n)
        Times strictly increasing, n at least 4.

    Returns
    -------
    differences : numpy.ndarray, shape (series, n - 3)
        In the readings' unit per s³.
    of_readings, of_jerk : numpy.ndarray, shape (series, n - 3, 4)
        For unit error variance and unit jerk density: covariance of each difference with itself and the next three.
    """
    weights = _weights(times)
    count = weights.shape[-1]
    differences = sum(weights[j] * readings[:, j : j + count] for j in range(4))
    return np.asarray(differences), _of_readings(weights), _of_jerk(times, weights)


def _weights(times: Array) -> Array:
    """Weights of the four readings in each difference: shape (4, series, n - 3)."""
    count = times.shape[1] - 3
    nodes = [times[:, j : j + count] for j in range(4)]
    return np.array([1.0 / np.prod([t - other for other in nodes if other is not t], axis=0) for t in nodes])


def _of_readings(weights: Array) -> Array:
    covariance = np.zeros((*weights.shape[1:], 4))
    for k in range(4):
        ahead = weights.shape[-1] - k
        for j in range(4 - k):  # reading k + j of one difference is reading j of the k-th after it
            covariance[:, :ahead, k] += weights[k + j][:, :ahead] * weights[j][:, k:]
    return covariance


def _of_jerk(times: Array, weights: Array) -> Array:
    """Integrals of products of kernels; a kernel spans three steps, by the names of its first, middle and last part."""
    covariance = np.zeros((*weights.shape[1:], 4))
    step = np.diff(times, axis=1)
    here, next_one, after = step[:, :-2], step[:, 1:-1], step[:, 2:]
    for point, weight in zip(*_GAUSS, strict=True):
        first = -0.5 * weights[0] * (point * here) ** 2
        left = (1.0 - point) * next_one
        middle = 0.5 * (weights[2] * left**2 + weights[3] * (left + after) ** 2)
        last = 0.5 * weights[3] * ((1.0 - point) * after) ** 2
        covariance[..., 0] += weight * (here * first**2 + next_one * middle**2 + after * last**2)
        shared = (next_one * middle)[:, :-1] * first[:, 1:] + (after * last)[:, :-1] * middle[:, 1:]
        covariance[:, :-1, 1] += weight * shared
        covariance[:, :-2, 2] += weight * (after * last)[:, :-2] * first[:, 2:]
    return covariance
