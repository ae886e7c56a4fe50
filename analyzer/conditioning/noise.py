"""Measurement noise and liveliness of a height series, from the series itself.

Third differences of a white-jerk process sampled at a spacing d have the variance 20 r + (11/20) q d⁵: the readings'
error r dominates at short spacings, the jerk's spectral density q at long ones. Two spacings, the closest and the one
where the motion has just overtaken the noise, give both.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_NOISE_GAIN: Final = 20.0
"""1 + 9 + 9 + 1: variance of a third difference of unit white noise."""

_JERK_GAIN: Final = 11.0 / 20.0
"""Value at 0 of the autocorrelation of the quadratic B-spline: third differences average jerk with it."""

_LEAST_VARIANCE_M2: Final = 1e-4
_LEAST_JERK: Final = 1e-3
_MOST_JERK: Final = 300.0


def quantum_of(values: Array) -> float:
    """Step of a channel's resolution: the smallest distance between different values; 0 when there is none."""
    sample = values[np.isfinite(values)][:20_000]
    steps = np.diff(np.unique(np.round(sample, 6)))
    return float(np.quantile(steps, 0.05)) if len(steps) > 1 else 0.0


def noise_and_jerk(time_s: Array, reading_m: Array, quantum_m: float) -> tuple[float, float]:
    """Estimate (r in m², q in m²/s⁵).

    Parameters
    ----------
    time_s, reading_m : numpy.ndarray, shape (n,)
        Readings, free of outliers.
    quantum_m : float
        Resolution; its rounding error counts as noise even where the readings do not show it.
    """
    rounding = quantum_m**2 / 12.0
    if len(time_s) < 8:
        return max(rounding, 0.01), 1.0
    spacing = float(np.median(np.diff(time_s)))
    first = _third_difference_variance(time_s, reading_m, 1, spacing)
    lag, variance = 1, first
    while variance < 3.0 * max(first, _NOISE_GAIN * rounding) and 6 * lag < len(time_s):
        lag *= 2
        variance = _third_difference_variance(time_s, reading_m, lag, spacing)
    reach, base = _JERK_GAIN * (lag * spacing) ** 5, _JERK_GAIN * spacing**5
    jerk = float(np.clip((variance - first) / max(reach - base, 1e-12), _LEAST_JERK, _MOST_JERK))
    noise = max((first - base * jerk) / _NOISE_GAIN, 0.05 * first / _NOISE_GAIN, rounding, _LEAST_VARIANCE_M2)
    return noise, jerk


def _third_difference_variance(time_s: Array, reading_m: Array, lag: int, spacing: float) -> float:
    """Mean square of third differences at a lag, over even stretches, the outermost two per cent left out."""
    if len(time_s) <= 3 * lag:
        return 0.0
    span = time_s[3 * lag :] - time_s[: -3 * lag]
    even = np.abs(span - 3 * lag * spacing) < 0.5 * lag * spacing
    difference = reading_m[3 * lag :] - 3 * reading_m[2 * lag : -lag] + 3 * reading_m[lag : -2 * lag]
    squares = np.square(difference - reading_m[: -3 * lag])[even]
    if len(squares) < 4:
        return 0.0
    return float(np.mean(squares[squares <= np.quantile(squares, 0.98)]))
