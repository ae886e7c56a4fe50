"""Highest and lowest values that are more than one noisy sample."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from analyzer.arrays import Array


def steadied(values: Array) -> Array:
    """Running median of three; the ends stay as they are unless they stand alone."""
    if values.size < 3:
        return values
    padded = np.concatenate((values[:1], values, values[-1:]))
    low, high = np.minimum(padded[:-2], padded[1:-1]), np.maximum(padded[:-2], padded[1:-1])
    return np.asarray(np.maximum(low, np.minimum(high, padded[2:])))


def highest_mean(time_s: Array, values: Array, over_s: float) -> tuple[float, float]:
    """Highest mean over any `over_s` of a series, and when that stretch begins; of all of it, where it is shorter.

    Parameters
    ----------
    time_s, values : ndarray, shape (n,)
        At least one sample, no NaN; between samples the series runs straight.
    over_s : float
        Length of the mean, in seconds.
    """
    if time_s.size < 2 or time_s[-1] - time_s[0] <= over_s:
        length = float(time_s[-1] - time_s[0])
        mean = float(np.trapezoid(values, time_s) / length) if length > 0.0 else float(values.mean())
        return mean, float(time_s[0])
    summed = np.concatenate(([0.0], np.cumsum(np.diff(time_s) * (values[1:] + values[:-1]) / 2.0)))
    starts = np.union1d(time_s[time_s <= time_s[-1] - over_s], time_s[time_s >= time_s[0] + over_s] - over_s)
    means = (_area(time_s, values, summed, starts + over_s) - _area(time_s, values, summed, starts)) / over_s
    best = int(np.argmax(means))
    return float(means[best]), float(starts[best])


def _area(time_s: Array, values: Array, summed: Array, until_s: Array) -> Array:
    """Integral from the first sample to given instants."""
    left = np.clip(np.searchsorted(time_s, until_s, side="right") - 1, 0, time_s.size - 2)
    past = until_s - time_s[left]
    slope = (values[left + 1] - values[left]) / (time_s[left + 1] - time_s[left])
    return np.asarray(summed[left] + past * (values[left] + 0.5 * slope * past))
