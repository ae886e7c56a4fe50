"""Noise of a height sensor and liveliness of the motion, by maximum likelihood from the series itself.

The third divided differences z of the readings do not know height, speed and acceleration at the start (a parabola has
none). For the white-jerk model with reading variance r and jerk density q = rho r they are normal with the covariance
r C, C = C(readings) + rho C(jerk), a band of four diagonals (`third_differences`). Minus twice the log-likelihood of n
readings is, constants apart,

    (n - 3) log r + log det C(rho) + S(rho) / r,        S = z' C^-1 z,

and both come from one banded Cholesky factorisation for all blocks of a log together. r is one number for a log (its
sensor); q varies from block to block: motion is lively in gusts and dives and dull in calm air.

Reference: A.C. Harvey, *Forecasting, Structural Time Series Models and the Kalman Filter*, Cambridge 1989, section 3.4
(concentrated likelihood; diffuse initial state).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.sampling import heard_s, quantum_of
from analyzer.conditioning.third_differences import (
    covariance_by_jerk,
    covariance_by_readings,
    difference_weights,
    differences,
)

if TYPE_CHECKING:
    from analyzer.arrays import Array, Indices
    from analyzer.conditioning.tuning import ConditioningTuning


_RATIOS: Final = np.geomspace(1e-3, 1e5, 10)
"""q/r in 1/s⁵: from a glass-smooth glide with a poor sensor to aerobatics with a good one."""

_LEAST_VARIANCE_M2: Final = 1e-4
"""No barometer is better than a centimetre."""

_USUAL_VARIANCE_M2: Final = 0.01
_USUAL_JERK_DENSITY: Final = 1.0
"""A common barometer's noise (0.1 m) and a calm flight's liveliness (m²/s⁵), where too few readings tell their own."""


@dataclass(frozen=True)
class MotionNoise:
    """What the series says of its sensor and of the motion.

    Attributes
    ----------
    variance_m2 : float
        r, error variance of one reading; rounding counts.
    time_s, jerk_density : numpy.ndarray, shape (blocks,)
        q in m²/s⁵ at the middle of each block.
    """

    variance_m2: float
    time_s: Array
    jerk_density: Array

    def jerk_at(self, time_s: Array) -> Array:
        """The jerk density at any times, interpolated in its logarithm."""
        return np.asarray(np.exp(np.interp(time_s, self.time_s, np.log(self.jerk_density))))


def motion_noise(time_s: Array, reading_m: Array, tuning: ConditioningTuning) -> MotionNoise:
    """Estimate r and q.

    Parameters
    ----------
    time_s, reading_m : numpy.ndarray, shape (n,)
        Readings, free of outliers; times strictly increasing, n at least 1.
    tuning : ConditioningTuning
        Block length, the spread of q between blocks, the margin on q.
    """
    rounding = _rounding_variance(reading_m)
    if len(time_s) < tuning.fewest_block_readings:
        return MotionNoise(max(rounding, _USUAL_VARIANCE_M2), time_s[:1], np.full(1, _USUAL_JERK_DENSITY))
    blocks = _blocks(time_s, tuning)
    times = time_s[blocks]
    misfit, complexity = _likelihood_parts(times, reading_m[blocks])
    freedom = times.shape[1] - 3
    best = np.argmin(freedom * np.log(np.maximum(misfit, 1e-12)) + complexity, axis=0)
    own = misfit[best, np.arange(len(times))] / freedom
    variance = max(float(np.median(own)), rounding, _LEAST_VARIANCE_M2)
    jerk = _jerk_by_block(complexity + misfit / variance, np.log(_RATIOS * variance), tuning)
    return MotionNoise(variance, 0.5 * (times[:, 0] + times[:, -1]), tuning.jerk_margin * jerk)


def _rounding_variance(reading_m: Array) -> float:
    """Variance that rounding adds to a reading taken alone.

    A step's square over 12 if successive readings are rounded independently; while the value stands still for several
    readings they share one error, so the variance is larger by about half as many.
    """
    repeats = float(np.mean(np.diff(reading_m) == 0)) if len(reading_m) > 1 else 0.0
    dwell = 1.0 / max(1.0 - repeats, 0.1)
    return quantum_of(reading_m) ** 2 / 12.0 * max(1.0, dwell / 2.0)


def _blocks(time_s: Array, tuning: ConditioningTuning) -> Indices:
    """Indices of the readings in blocks of about `block_s`: shape (blocks, readings in each).

    Each block overlaps the next by half, so that whatever happens at the edge of one happens in the middle of another.
    """
    spacing = heard_s(time_s, tuning.longest_bridge_s) / (len(time_s) - 1)
    size = min(max(round(tuning.block_s / spacing), tuning.fewest_block_readings), len(time_s))
    most = max(tuning.most_noise_readings * 2 // size, 1)
    starts = np.unique(np.linspace(0, len(time_s) - size, min(2 * len(time_s) // size, most)).astype(np.intp))
    return starts[:, None] + np.arange(size)


def _likelihood_parts(times: Array, reading_m: Array) -> tuple[Array, Array]:
    """Misfit S and complexity log det C for every ratio and block: two arrays (ratios, blocks)."""
    from scipy.linalg import lapack

    weights = difference_weights(times)
    of_readings = covariance_by_readings(weights, np.ones_like(times))
    of_jerk = covariance_by_jerk(times, weights, np.ones_like(times[:, 1:]))
    third = differences(weights, reading_m)
    misfits, complexities = [], []
    for ratio in _RATIOS:
        band = of_readings + ratio * of_jerk
        factor, _ = lapack.dpbtrf(band.reshape(-1, band.shape[-1]).T, lower=1, overwrite_ab=1)
        whitened, _ = lapack.dtbtrs(factor, third.reshape(-1, 1), uplo="L")
        misfits.append(np.square(whitened.reshape(third.shape)).sum(axis=1))
        complexities.append(2.0 * np.log(factor[0]).reshape(third.shape).sum(axis=1))
    return np.array(misfits), np.array(complexities)


def _jerk_by_block(minus_twice: Array, log_jerk: Array, tuning: ConditioningTuning) -> Array:
    """Likeliest jerk density of each block, given that the blocks of a log resemble each other.

    The prior on log q is a Cauchy distribution around the log's median: it draws in blocks that know little, and leaves
    alone the one in which something happened.
    """
    alone = log_jerk[np.argmin(minus_twice, axis=0)]
    away = (log_jerk[:, None] - np.median(alone)) / tuning.jerk_spread
    total = minus_twice + 2.0 * np.log1p(np.square(away))
    best = np.clip(np.argmin(total, axis=0), 1, len(log_jerk) - 2)
    low, middle, high = (total[best + k, np.arange(len(best))] for k in (-1, 0, 1))
    vertex = 0.5 * (low - high) / np.maximum(low - 2 * middle + high, 1e-6)
    return np.asarray(np.exp(log_jerk[best] + np.clip(vertex, -1.0, 1.0) * (log_jerk[1] - log_jerk[0])))
