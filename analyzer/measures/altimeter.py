"""Lag of the altimeter and the propeller's wash on it, from all motor stops of a log together."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.measures.kink import KinkFit, KinkModel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.measures.traces import Array

INDEPENDENCE: Final = 0.15
"""n stops tell as much as n to this power independent ones: one pilot pushes over in one manner, so what the model of
the motion gets wrong at one stop it gets wrong at the next."""

WASHES: Final = 65
"""Washes tried, an eighth of a standard deviation apart from four below the mean to four above it."""

LEAST_WASH_REACH_M: Final = 0.2
"""... and this far on either side at least: finer steps than 6 mm are below what any altimeter resolves."""

LEAST_REACH_S: Final = 0.2
"""The slipstream dies away and the wing follows the elevator within some such time, whatever the pilot does."""


@dataclass(frozen=True, slots=True)
class Usual:
    """What is expected of an altimeter and of a pilot before the log speaks.

    Attributes
    ----------
    lag_s, lag_spread_s : float
        Middle and spread of a normal distribution, of which the positive part counts.
    manner_s : float
        Spread of the time after which the pilot pushes over: evenly distributed from 0, the same at all stops of a log.
    wash_m : float
        Spread of a normal distribution around 0.
    """

    lag_s: float
    lag_spread_s: float
    manner_s: float
    wash_m: float

    @property
    def latest_s(self) -> float:
        """Latest push-over: an even distribution from 0 to here has the manner's spread."""
        return self.manner_s * math.sqrt(12.0)


@dataclass(frozen=True)
class Altimeter:
    """What the altimeter does to the height of a moving, powered model.

    The stops show a delay of the reading behind the motor: the altimeter's lag, and the time after which the pilot
    pushes over. As much of it is the pilot's as it can hold, half of that in the mean.

    Attributes
    ----------
    lag_s, lag_se_s : float
        First-order time constant.
    wash_m, wash_se_m : float
        What the strongest slipstream of the log adds to the reading.
    stops : int
        Motor stops that it rests on; without any, the values are what is usual.
    weights : ndarray, shape (delay, walk, wash)
        Posterior probabilities over the model's lags (as delays) and walks, and over `washes_m`.
    washes_m : ndarray, shape (wash,)
        Washes tried.
    reach_s : ndarray, shape (delay,)
        How much of each delay may be the pilot's.
    """

    lag_s: float
    lag_se_s: float
    wash_m: float
    wash_se_m: float
    stops: int
    weights: Array
    washes_m: Array
    reach_s: Array

    @property
    def manner_s(self) -> Array:
        """Pilot's mean part of each delay, shape (delay,)."""
        return 0.5 * self.reach_s

    @property
    def manner_variance_s2(self) -> Array:
        """Variance of that part, shape (delay,)."""
        return np.asarray(np.maximum(self.reach_s, LEAST_REACH_S) ** 2 / 12.0)

    def narrowed(self, model: KinkModel, share: float) -> tuple[Altimeter, KinkModel]:
        """The same without lags of less than a share of the probability, and the model that goes with it."""
        likely = self.weights.sum(axis=(1, 2)) >= share
        weights = self.weights[likely]
        lags = tuple(lag for lag, kept in zip(model.lags_s, likely, strict=True) if kept)
        return replace(self, weights=weights / weights.sum(), reach_s=self.reach_s[likely]), replace(model, lags_s=lags)


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
    wash, wash_se = _moments(washes, weights.sum(axis=(0, 1)))
    reach = max(4.0 * wash_se, LEAST_WASH_REACH_M)
    if reach <= 2.0 * usual.wash_m:  # too few of them lie where the wash is
        washes = np.linspace(wash - reach, wash + reach, WASHES)
        weights = _posterior(fits, model, washes, usual)
        wash, wash_se = _moments(washes, weights.sum(axis=(0, 1)))
    delays, over_delay = np.array(model.lags_s), weights.sum(axis=(1, 2))
    found = Altimeter(0.0, 0.0, wash, wash_se, len(fits), weights, washes, np.minimum(delays, usual.latest_s))
    lag, spread = _moments(delays - found.manner_s, over_delay)
    return replace(found, lag_s=lag, lag_se_s=math.sqrt(spread**2 + float(over_delay @ found.manner_variance_s2)))


def _posterior(fits: Sequence[KinkFit], model: KinkModel, washes: Array, usual: Usual) -> Array:
    delays, middle = np.array(model.lags_s), usual.lag_s + 0.5 * usual.latest_s
    away = (delays - middle) / math.hypot(usual.lag_spread_s, usual.manner_s)
    log_weight = (np.log(np.gradient(delays)) - 0.5 * away**2)[:, None, None]
    log_weight = log_weight - 0.5 * (washes / usual.wash_m) ** 2 + np.zeros((1, len(model.walk_m_s3_5), 1))
    share = len(fits) ** (INDEPENDENCE - 1.0) if fits else 1.0
    for fit in fits:
        likelihood = _likelihood(fit, washes)
        most = likelihood.max(axis=2)
        log_weight = log_weight + share * (most + np.log(np.exp(likelihood - most[:, :, None]).mean(axis=2)))
    weights = np.exp(log_weight - log_weight.max())
    return np.asarray(weights / weights.sum())


def _likelihood(fit: KinkFit, washes: Array) -> Array:
    """Log-likelihood over (lag, walk, offset, wash)."""
    return np.asarray(fit.level[..., None] + washes * fit.pull[..., None] - 0.5 * washes**2 * fit.weight[..., None])


def _moments(values: Array, weights: Array) -> tuple[float, float]:
    mean = float(values @ weights)
    return mean, float(np.sqrt(np.sum((values - mean) ** 2 * weights)))


def height_at_start(fit: KinkFit, lag_s: float, altimeter: Altimeter, climb_m_s: float) -> tuple[float, float]:
    """Height when the motor started, from a fit to the readings before it alone, and its standard error.

    Parameters
    ----------
    fit : KinkFit
        Made with one lag.
    lag_s : float
        That lag. In steady flight the height moves with it at the rate of the climb.
    altimeter : Altimeter
        What is known of the lag.
    climb_m_s : float
        The climb before the start.
    """
    level = fit.level[0, :, 0]
    weights = np.exp(level - level.max())
    weights /= weights.sum()
    height, variance = fit.height_m[0, :, 0], fit.variance_m2[0, :, 0]
    mean = float(weights @ height)
    spread = float(weights @ ((height - mean) ** 2 + variance))
    return mean + climb_m_s * (altimeter.lag_s - lag_s), math.sqrt(spread + (climb_m_s * altimeter.lag_se_s) ** 2)


def height_at_stop(fit: KinkFit, altimeter: Altimeter, climb_m_s: float) -> tuple[float, float]:
    """Height when the motor stopped, and its standard error, averaged over what lag, manner and wash may be.

    `climb_m_s` is the climb before it.
    """
    likelihood = _likelihood(fit, altimeter.washes_m)
    share = np.exp(likelihood - likelihood.max(axis=2, keepdims=True))
    share /= share.sum(axis=2, keepdims=True)
    weights = share * altimeter.weights[:, :, None, :]
    height = fit.height_m[..., None] - altimeter.washes_m * fit.tilt[..., None]
    height -= (climb_m_s * altimeter.manner_s)[:, None, None, None]
    variance = fit.variance_m2 + (climb_m_s**2 * altimeter.manner_variance_s2)[:, None, None]
    mean = float((weights * height).sum())
    return mean, float(np.sqrt((weights * ((height - mean) ** 2 + variance[..., None])).sum()))
