"""Roots of many bracketed equations at once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

    from analyzer.arrays import Array


MOST_ITERATIONS: Final = 100
"""Bisection alone needs about 45 to reach the tolerance; interpolation mostly ends within 12."""


def bracketed_root(
    function: Callable[[Array], Array], low: Array, high: Array, relative_tolerance: float = 1e-13
) -> Array:
    """Root of each of many functions of one variable, inside its own bracket.

    T.R. Chandrupatla, *A new hybrid quadratic/bisection algorithm for finding the zero of a nonlinear function
    without using derivatives*, Advances in Engineering Software 28 (1997) 145-149, on whole arrays. scipy's own array
    root finder gives the same roots; it is not used because importing scipy.optimize takes several times as long as a
    whole prediction, and because it hands a shrinking part of the points to the function, so that every constant of a
    point would have to be an argument (on 4,000 operating points it took 1.6 times as long).

    Parameters
    ----------
    function : callable
        Maps an array of the brackets' shape to values of the same shape, point by point.
    low, high : array
        Ends of the brackets. Where the function has one sign at both ends, the end with the smaller value results.
    relative_tolerance : float
        Of the bracket's width over the larger of the ends' sizes.

    Returns
    -------
    array
        Points between `low` and `high`.
    """
    ends = np.stack((low, high)).astype(float)
    first, second = ends[0], ends[1]
    at_first, at_second = function(first), function(second)
    third, at_third = first, at_first
    smallest = relative_tolerance * np.maximum(np.abs(first), np.abs(second))
    share = np.full(first.shape, 0.5)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for _ in range(MOST_ITERATIONS):
            best: Array = np.where(np.abs(at_second) < np.abs(at_first), second, first)
            width = np.abs(second - first)
            done = (width <= 2.0 * smallest) | (at_first == 0.0) | (at_second == 0.0)
            done |= np.sign(at_first) == np.sign(at_second)
            if done.all():
                break
            limit = np.minimum(smallest / width, 0.5)
            point = np.where(done, best, first + np.clip(share, limit, 1.0 - limit) * (second - first))
            value = function(point)
            same = np.sign(value) == np.sign(at_first)
            third, at_third = np.where(same, first, second), np.where(same, at_first, at_second)
            second = np.where(done | same, second, first)
            at_second = np.where(done | same, at_second, at_first)
            first, at_first = np.where(done, first, point), np.where(done, at_first, value)
            share = _interpolated_share(first, second, third, at_first, at_second, at_third)
    return best


def _interpolated_share(x1: Array, x2: Array, x3: Array, f1: Array, f2: Array, f3: Array) -> Array:
    """Next point between x1 (share 0) and x2 (share 1): inverse quadratic where that is safe, else the middle."""
    xi, phi = (x1 - x2) / (x3 - x2), (f1 - f2) / (f3 - f2)
    safe = (phi**2 < xi) & ((1.0 - phi) ** 2 < 1.0 - xi)
    quadratic = f1 / (f2 - f1) * f3 / (f2 - f3) + (x3 - x1) / (x2 - x1) * f1 / (f3 - f1) * f2 / (f3 - f2)
    return np.where(safe & np.isfinite(quadratic), quadratic, 0.5)
