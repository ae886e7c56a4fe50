"""Most probable values under a normal prior: Gauss-Newton with damping, and what the data leave open."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from analyzer.arrays import Array


MOST_STEPS: Final = 60
TOLERANCE: Final = 1e-6
"""Of the last step, in standard deviations of the prior."""
FIRST_DAMPING: Final = 1e-3
"""Of the Levenberg-Marquardt step, relative to the diagonal; the problems here are mild, so that few steps need any."""

SAME: Final = 0.5
"""Standard deviations: solutions no further apart than that are one."""


@dataclass(frozen=True)
class Fit:
    """A fit.

    Attributes
    ----------
    values : array, shape (n,)
        Most probable values.
    covariance : array, shape (n, n)
        Inverse of J'WJ + P, the curvature of minus the log posterior (Laplace's approximation).
    residuals : array, shape (m,)
        Measured minus modelled.
    log_evidence : float
        Logarithm of the probability of the data under the model, up to a constant that depends on how many they are.
    converged : bool
        Whether the last step was small.
    """

    values: Array
    covariance: Array
    residuals: Array
    log_evidence: float
    converged: bool


def fit(
    model: Callable[[Array], tuple[Array, Array]],
    measured: Array,
    variance: Array,
    prior_mean: Array,
    prior_covariance: Array,
    freedom: Array | None = None,
    begin: Array | None = None,
) -> Fit:
    """Fit a model to data under a normal prior.

    Minimises sum(rho(r_i^2/v_i)) + (x - m)'P(x - m) with r the residuals, v their variances and P the inverse of the
    prior's covariance; rho(s) = s, or for Student's distribution of nu degrees of freedom (nu + 1) ln(1 + s/nu), by
    reweighting (K.L. Lange, R.J.A. Little & J.M.G. Taylor, *Robust statistical modeling using the t distribution*,
    J. American Statistical Association 84 (1989) 881-896: from memory). Steps after D.W. Marquardt, *An algorithm for
    least-squares estimation of nonlinear parameters*, J. SIAM 11 (1963) 431-441.

    Parameters
    ----------
    model : callable
        Values (n,) to model (m,) and its derivatives (m, n).
    measured, variance : array, shape (m,)
        Data and the variances of their errors.
    prior_mean : array, shape (n,)
        Best values beforehand.
    prior_covariance : array, shape (n, n)
        Positive definite.
    freedom : array, shape (m,), optional
        Degrees of freedom of each datum; infinity for a normal one. Normal by default.
    begin : array, shape (n,), optional
        Where the search starts; at the prior's mean by default.
    """
    freedom = np.full(measured.size, np.inf) if freedom is None else freedom
    precision = np.linalg.inv(prior_covariance).astype(float)
    scale = np.sqrt(np.diag(prior_covariance))
    values, damping = (prior_mean if begin is None else begin).copy(), FIRST_DAMPING
    modelled, slopes = model(values)
    cost = _cost(measured - modelled, variance, freedom, values - prior_mean, precision)
    converged = False
    for _ in range(MOST_STEPS):
        weight = _weights(measured - modelled, variance, freedom) / variance
        curvature = slopes.T * weight @ slopes + precision
        pull = slopes.T @ (weight * (measured - modelled)) - precision @ (values - prior_mean)
        step = np.linalg.solve(curvature + damping * np.diag(np.diag(curvature)), pull)
        trial_modelled, trial_slopes = model(values + step)
        trial = _cost(measured - trial_modelled, variance, freedom, values + step - prior_mean, precision)
        if np.isfinite(trial) and trial <= cost * (1.0 + 1e-12) + 1e-12:
            values, modelled, slopes, cost = values + step, trial_modelled, trial_slopes, trial
            damping = max(damping / 10.0, 1e-9)
            converged = bool(np.max(np.abs(step) / scale) < TOLERANCE)
        else:
            damping *= 10.0
        if converged or damping > 1e8:
            break
    weight = _weights(measured - modelled, variance, freedom) / variance
    covariance = np.linalg.inv(slopes.T * weight @ slopes + precision).astype(float)
    ratio = np.linalg.slogdet(covariance)[1] - np.linalg.slogdet(prior_covariance)[1]
    log_evidence = 0.5 * float(ratio - cost - np.log(variance).sum())
    return Fit(values, covariance, measured - modelled, log_evidence, converged)


def mixed(fits: Sequence[Fit]) -> Fit:
    """Solutions of one problem as one, each by its evidence: the mean and covariance of their mixture.

    A solution that was found twice counts once. Residuals are those of the most probable one.
    """
    apart: list[Fit] = []
    for one in sorted(fits, key=lambda fit: -fit.log_evidence):
        spread = np.sqrt(np.diag(one.covariance))
        if all(np.any(np.abs(one.values - other.values) > SAME * spread) for other in apart):
            apart.append(one)
    best = apart[0]
    weight = np.exp([one.log_evidence - best.log_evidence for one in apart])
    log_evidence = best.log_evidence + float(np.log(weight.sum()))
    weight /= weight.sum()
    values = np.array([one.values for one in apart])
    mean = weight @ values
    away = values - mean
    covariance = np.einsum("f,fnm->nm", weight, [one.covariance for one in apart]) + away.T * weight @ away
    return replace(best, values=mean, covariance=covariance, log_evidence=log_evidence)


def _cost(residual: Array, variance: Array, freedom: Array, away: Array, precision: Array) -> float:
    """Minus twice the logarithm of the posterior, up to a constant."""
    squares = residual**2 / variance
    with np.errstate(invalid="ignore"):
        heavy = (freedom + 1.0) * np.log1p(squares / freedom)
    return float(np.sum(np.where(np.isfinite(freedom), heavy, squares)) + away @ precision @ away)


def _weights(residual: Array, variance: Array, freedom: Array) -> Array:
    """Weights that make a weighted sum of squares have the gradient of the cost."""
    squares = residual**2 / variance
    with np.errstate(invalid="ignore"):
        heavy = (freedom + 1.0) / (freedom + squares)
    return np.where(np.isfinite(freedom), heavy, 1.0)
