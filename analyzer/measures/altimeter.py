"""Lag of the altimeter and the propeller's wash on it, from all motor stops of a log together."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.measures.kink import KinkFit, KinkModel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array


LATE_DRIVE: Final = 0.05
"""Share of logs in which the motor's channels come late, expected before the log speaks; no source."""

UNLIKELY: Final = 0.01
"""A motion of less probability than this, by the first stops of a log, is not tried at the others."""

WASHES: Final = 65
"""Washes tried, an eighth of their usual spread apart: from four times that below zero to four times above it."""


@dataclass(frozen=True, slots=True)
class Usual:
    """What is expected of an altimeter and of a pilot before the log speaks.

    Attributes
    ----------
    lag_s, lag_spread_s : float
        Middle and spread of a normal distribution, of which the positive part counts.
    manner_s, manner_spread_s : float
        Middle and spread of a normal distribution of the time after which the path of the model bends, the same at all
        stops of a log: it bends with the thrust, and as the pilot pushes over, before the motor stops or after.
    wash_m : float
        Spread of a normal distribution around 0.
    """

    lag_s: float
    lag_spread_s: float
    manner_s: float
    manner_spread_s: float
    wash_m: float

    def lag_of(self, delay_s: Array) -> tuple[Array, Array]:
        """Mean and variance of the lag for delays of the reading behind the motor, the manner being the rest.

        Of two normal variables with a given sum either is normal again; of the lag the positive part counts (truncated
        normal distribution; N.L. Johnson, S. Kotz, N. Balakrishnan, *Continuous Univariate Distributions* 1, Wiley
        1994, section 13.10: from memory).
        """
        lag, manner = self.lag_spread_s**2, self.manner_spread_s**2
        share = lag / (lag + manner)
        middle = self.lag_s + share * (delay_s - self.lag_s - self.manner_s)
        spread = max(math.sqrt(share * manner), 1e-6)
        below = -middle / spread
        tail = np.array([0.5 * math.erfc(value / math.sqrt(2.0)) for value in below.tolist()])
        ratio = np.exp(-0.5 * below**2) / math.sqrt(2.0 * math.pi) / tail
        return middle + spread * ratio, spread**2 * (1.0 + below * ratio - ratio**2)


@dataclass(frozen=True)
class Altimeter:
    """What the altimeter does to the height of a moving, powered model.

    The stops show a delay of the reading behind the motor: the altimeter's lag, and the time after which the path
    bends, the pilot's manner. What is usual of either shares the delay out between them.

    Attributes
    ----------
    lag_s, lag_se_s : float
        First-order time constant, or the time by which readings arrive late.
    wash_m, wash_se_m : float
        What the strongest slipstream of the log adds to the reading.
    stops : int
        Motor stops that it rests on; without any, the values are what is usual.
    weights : ndarray, shape (sensor, motion, fade, wash)
        Posterior probabilities over the model's sensors (as delays), motions and fades, and over `washes_m`.
    washes_m : ndarray, shape (wash,)
        Washes tried.
    manner_s, manner_variance_s2 : ndarray, shape (sensor,)
        How much of each delay is the pilot's, and how well that is known.
    late_drive_s : float
        By how much the motor's channels come late.
    """

    lag_s: float
    lag_se_s: float
    wash_m: float
    wash_se_m: float
    stops: int
    weights: Array
    washes_m: Array
    manner_s: Array
    manner_variance_s2: Array
    late_drive_s: float

    def narrowed(self, model: KinkModel, sensors: int) -> tuple[Altimeter, KinkModel]:
        """The same on a few sensors that stand for all, without unlikely motions, and the model to go with it.

        The sensors lie at evenly spaced quantiles of the delay and share its probability evenly (systematic resampling;
        G. Kitagawa, *Journal of Computational and Graphical Statistics* 5, 1996, appendix: from memory).
        """
        moved = self.weights.sum(axis=(0, 2, 3)) > UNLIKELY
        weights = self.weights[:, moved]
        probability = weights.sum(axis=(1, 2, 3))
        by_delay = np.argsort(model.delays_s, kind="stable")
        reached = np.cumsum(probability[by_delay])
        quantiles = (np.arange(sensors) + 0.5) / sensors * reached[-1]
        kept, times = np.unique(by_delay[np.searchsorted(reached, quantiles)], return_counts=True)
        weights = weights[kept] * (times / sensors / probability[kept])[:, None, None, None]
        manner, variance = self.manner_s[kept], self.manner_variance_s2[kept]
        few = replace(self, weights=weights, manner_s=manner, manner_variance_s2=variance)
        motions = tuple(motion for motion, likely in zip(model.motions, moved.tolist(), strict=True) if likely)
        return few, replace(model, sensors=tuple(model.sensors[one] for one in kept.tolist()), motions=motions)


def estimate_altimeter(fits: Sequence[KinkFit], model: KinkModel, usual: Usual) -> Altimeter:
    """Posterior of lag and wash from fitted kinks.

    Parameters
    ----------
    fits : sequence of KinkFit
        One for every motor stop with readings on both sides.
    model : KinkModel
        The model they were made with.
    usual : Usual
        Prior.
    """
    washes = np.linspace(-4.0 * usual.wash_m, 4.0 * usual.wash_m, WASHES)
    weights = _posterior(fits, model, washes, usual)
    wash, wash_se = _moments(washes, weights.sum(axis=(0, 1, 2)))
    over_sensor = weights.sum(axis=(1, 2, 3))
    late = model.late_drives_s > 0.0  # what is the drive's, is neither the lag's nor the pilot's
    lags, variances = usual.lag_of(np.where(late, usual.lag_s + usual.manner_s, model.delays_s))
    manner = np.where(late, usual.manner_s, model.delays_s - lags)
    manner_variance = np.where(late, usual.manner_spread_s**2, variances)
    lag, spread = _moments(lags, over_sensor)
    lag_se = math.sqrt(spread**2 + float(over_sensor @ np.where(late, usual.lag_spread_s**2, variances)))
    late_s = float(over_sensor @ model.late_drives_s) if fits else 0.0
    return Altimeter(lag, lag_se, wash, wash_se, len(fits), weights, washes, manner, manner_variance, late_s)


def _posterior(fits: Sequence[KinkFit], model: KinkModel, washes: Array, usual: Usual) -> Array:
    """Probabilities of everything tried; all stops together tell as much as one of them, their mean.

    One pilot pushes over in one manner: what the model of the motion gets wrong at one stop it gets wrong at the next.
    """
    log_weight = _expected(model, usual)[:, None, None, None]
    others = np.zeros((1, len(model.motions), len(model.wash_fades), 1))
    log_weight = log_weight - 0.5 * (washes / usual.wash_m) ** 2 + others
    for fit in fits:
        likelihood = _likelihood(fit, washes)
        most = likelihood.max(axis=2)
        log_weight = log_weight + (most + np.log(np.exp(likelihood - most[:, :, None]).mean(axis=2))) / len(fits)
    weights = np.exp(log_weight - log_weight.max())
    return np.asarray(weights / weights.sum())


def _expected(model: KinkModel, usual: Usual) -> Array:
    """Log-probability of each sensor before the log speaks, but for a constant.

    Each stands for the delays next to its own, among those that respond late, those that report late, and those beside
    a late drive, of which every delay is as likely.
    """
    spread = math.hypot(usual.lag_spread_s, usual.manner_spread_s)
    away = (model.delays_s - usual.lag_s - usual.manner_s) / spread
    sign = np.sign([latency for _, latency in model.sensors])
    widths = np.empty(sign.size)
    for some in (sign > 0.0, sign == 0.0, sign < 0.0):
        if some.any():
            widths[some] = np.abs(np.gradient(model.delays_s[some])) if np.count_nonzero(some) > 1 else 1.0
    expected, late = np.log(widths) - 0.5 * away**2, sign < 0.0
    if late.any():
        expected[late] = np.log(widths[late] / widths[late].sum() * LATE_DRIVE * np.exp(expected[~late]).sum())
    return expected


def _likelihood(fit: KinkFit, washes: Array) -> Array:
    """Log-likelihood over (sensor, motion, offset, fade, wash)."""
    level, pull, weight = fit.level[..., None, None], fit.pull[..., None], fit.weight[..., None]
    return np.asarray(level + washes * pull - 0.5 * washes**2 * weight)


def _moments(values: Array, weights: Array) -> tuple[float, float]:
    mean = float(values @ weights)
    return mean, float(np.sqrt(np.sum((values - mean) ** 2 * weights)))


def height_at_stop(fit: KinkFit, altimeter: Altimeter, climb_m_s: float) -> tuple[float, float]:
    """Height when the motor stopped, and its standard error, averaged over what lag, manner and wash may be.

    `climb_m_s` is the climb before it.
    """
    likelihood = _likelihood(fit, altimeter.washes_m)
    share = np.exp(likelihood - likelihood.max(axis=2, keepdims=True))
    share /= share.sum(axis=2, keepdims=True)
    weights = share * altimeter.weights[:, :, None]
    height = fit.height_m[..., None, None] - altimeter.washes_m * fit.tilt[..., None]
    height -= (climb_m_s * altimeter.manner_s)[:, None, None, None, None]
    variance = fit.variance_m2 + (climb_m_s**2 * altimeter.manner_variance_s2)[:, None, None]
    mean = float((weights * height).sum())
    return mean, float(np.sqrt((weights * ((height - mean) ** 2 + variance[..., None, None])).sum()))
