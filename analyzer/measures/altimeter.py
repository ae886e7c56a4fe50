"""Lag of the altimeter and the propeller's wash on it, from all motor stops of a log together."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.measures.kink import KinkFit, KinkModel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.measures.traces import Array

INDEPENDENCE: Final = 0.33
"""n stops tell as much as n to this power independent ones: one pilot pushes over in one manner, so what the model of
the motion gets wrong at one stop it gets wrong at the next."""


@dataclass(frozen=True)
class Altimeter:
    """What the altimeter does to the height of a moving, powered model.

    Attributes
    ----------
    lag_s, lag_se_s : float
        First-order time constant.
    wash_m, wash_se_m : float
        What the strongest slipstream of the log adds to the reading.
    stops : int
        Motor stops that it rests on; without any, the values are what is usual.
    weights : ndarray, shape (lag, walk, wash)
        Posterior probabilities over the model's lags and walks and over `washes_m`.
    washes_m : ndarray, shape (wash,)
        Washes tried.
    """

    lag_s: float
    lag_se_s: float
    wash_m: float
    wash_se_m: float
    stops: int
    weights: Array
    washes_m: Array

    def allowing_for(self, manner_s: float) -> Altimeter:
        """The same with what no stop tells in the lag's error: a delay that all stops of a log share."""
        return replace(self, lag_se_s=float(np.hypot(self.lag_se_s, manner_s))) if self.stops else self

    def narrowed(self, model: KinkModel, share: float) -> tuple[Altimeter, KinkModel]:
        """The same without lags of less than a share of the probability, and the model that goes with it."""
        likely = self.weights.sum(axis=(1, 2)) >= share
        weights = self.weights[likely]
        lags = tuple(lag for lag, kept in zip(model.lags_s, likely, strict=True) if kept)
        return replace(self, weights=weights / weights.sum()), replace(model, lags_s=lags)


def estimate_altimeter(fits: Sequence[KinkFit], model: KinkModel, usual_lag_s: float, usual_wash_m: float) -> Altimeter:
    """Posterior of lag and wash from fitted kinks.

    Parameters
    ----------
    fits : sequence of KinkFit
        One for every motor stop with readings on both sides.
    model : KinkModel
        The model they were made with.
    usual_lag_s, usual_wash_m : float
        Prior: exponential for the lag, normal around 0 for the wash.
    """
    washes = np.linspace(-4.0 * usual_wash_m, 4.0 * usual_wash_m, 65)
    for _ in range(2):
        weights = _posterior(fits, model, washes, usual_lag_s, usual_wash_m)
        over_wash = weights.sum(axis=(0, 1))
        wash, wash_se = _moments(washes, over_wash)
        reach = max(4.0 * wash_se, 0.2)
        if reach > 2.0 * usual_wash_m:
            break
        final, washes = washes, np.linspace(wash - reach, wash + reach, 65)
    else:
        washes = final
    lag, lag_se = _moments(np.array(model.lags_s), weights.sum(axis=(1, 2)))
    return Altimeter(lag, lag_se, wash, wash_se, len(fits), weights, washes)


def _posterior(
    fits: Sequence[KinkFit], model: KinkModel, washes: Array, usual_lag_s: float, usual_wash_m: float
) -> Array:
    lags = np.array(model.lags_s)
    log_weight = (
        -0.5 * ((lags[:, None, None] - usual_lag_s) / usual_lag_s) ** 2 + np.log(np.gradient(lags))[:, None, None]
    )
    log_weight = log_weight - 0.5 * (washes / usual_wash_m) ** 2 + np.zeros((1, len(model.walk_m_s3_5), 1))
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


def height_at_start(fit: KinkFit, altimeter: Altimeter) -> tuple[float, float]:
    """Height when the motor started, from a fit to the readings before it alone, and its standard error."""
    level = fit.level[:, :, 0]
    share = np.exp(level - level.max(axis=1, keepdims=True))
    weights = altimeter.weights.sum(axis=(1, 2))[:, None] * share / share.sum(axis=1, keepdims=True)
    height, variance = fit.height_m[:, :, 0], fit.variance_m2[:, :, 0]
    mean = float((weights * height).sum())
    return mean, float(np.sqrt((weights * ((height - mean) ** 2 + variance)).sum()))


def height_at_stop(fit: KinkFit, altimeter: Altimeter) -> tuple[float, float]:
    """Height when the motor stopped, and its standard error, averaged over what lag and wash may be."""
    likelihood = _likelihood(fit, altimeter.washes_m)
    share = np.exp(likelihood - likelihood.max(axis=2, keepdims=True))
    share /= share.sum(axis=2, keepdims=True)
    weights = share * altimeter.weights[:, :, None, :]
    height = fit.height_m[..., None] - altimeter.washes_m * fit.tilt[..., None]
    mean = float((weights * height).sum())
    spread = (weights * ((height - mean) ** 2 + fit.variance_m2[..., None])).sum()
    return mean, float(np.sqrt(spread))
