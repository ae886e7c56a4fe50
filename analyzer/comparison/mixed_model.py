"""A linear mixed model by restricted maximum likelihood, with inference that is honest for few flights.

The model of a table of runs is

    y = X b + Z_1 u_1 + ... + Z_K u_K + e,   u_k ~ N(0, v_k I),   e_i ~ N(0, v_0 / w_i),

where each ``Z_k`` marks the levels of one random factor (the flight, the day) and ``w`` are weights. The variances
maximise the restricted likelihood (Patterson & Thompson 1971, *Biometrika* 58, 545-554). Standard errors and degrees
of freedom are those of Kenward & Roger (1997, *Biometrics* 53, 983-997); for a single contrast their degrees of
freedom are Satterthwaite's. In a balanced design both equal the exact analysis of variance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analyzer.comparison.restricted_likelihood import arrange, maximise
from analyzer.errors import NoAnswerError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike

    from analyzer.arrays import Array
    from analyzer.comparison.restricted_likelihood import Data, Likelihood


@dataclass(frozen=True)
class Contrast:
    """A linear combination of coefficients: its estimate, standard error and degrees of freedom of Student's t."""

    estimate: float
    standard_error: float
    degrees_of_freedom: float

    def with_known_error(self, error: float) -> Contrast:
        """Add an independent error of a standard deviation that is known beforehand.

        The sum's degrees of freedom are Satterthwaite's, those of the known part without limit.
        """
        whole = math.hypot(self.standard_error, error)
        degrees = self.degrees_of_freedom * (whole / self.standard_error) ** 4
        return Contrast(self.estimate, whole, degrees)


@dataclass(frozen=True)
class MixedFit:
    """A fitted model.

    Attributes
    ----------
    coefficients : ndarray, shape (p,)
        Generalised least squares estimates of ``b``.
    covariance : ndarray, shape (p, p)
        Their covariance, were the variances known.
    adjusted_covariance : ndarray, shape (p, p)
        The same, adjusted for the variances being estimated (Kenward & Roger); use this one.
    variances : ndarray, shape (1 + K,)
        Residual variance, then one a random factor, in the order given.
    variances_covariance : ndarray, shape (1 + K, 1 + K)
        Covariance of the variances (inverse expected information).
    variance_slopes : ndarray, shape (1 + K, p, p)
        Derivative of `covariance` in each variance.
    log_likelihood : float
        Restricted log-likelihood, with all its constants.
    outlyingness : ndarray, shape (n,)
        Each row's residual over that residual's standard deviation, given all other rows (see `Notes`).

    Notes
    -----
    ``outlyingness_i = (P y)_i / sqrt(P_ii)``: the score statistic of a shift in row i alone. Without random factors
    it is the ordinary internally studentised residual.
    """

    coefficients: Array
    covariance: Array
    adjusted_covariance: Array
    variances: Array
    variances_covariance: Array
    variance_slopes: Array
    log_likelihood: float
    outlyingness: Array

    def contrast(self, weights: ArrayLike) -> Contrast:
        """Estimate one linear combination of the coefficients.

        Parameters
        ----------
        weights : array_like, shape (p,)
            One number a coefficient.

        Notes
        -----
        Degrees of freedom: ``2 V^2 / (g' W g)`` with ``V`` the contrast's variance, ``g`` its gradient in the
        variance components, ``W`` their covariance (Satterthwaite 1946, *Biometrics Bulletin* 2, 110-114).
        """
        row = np.asarray(weights, dtype=np.float64)
        variance = float(row @ self.covariance @ row)
        gradient = np.einsum("i,kij,j->k", row, self.variance_slopes, row)
        return Contrast(
            estimate=float(row @ self.coefficients),
            standard_error=float(np.sqrt(row @ self.adjusted_covariance @ row)),
            degrees_of_freedom=2.0 * variance**2 / float(gradient @ self.variances_covariance @ gradient),
        )


def fit_mixed_model(
    response: ArrayLike, design: ArrayLike, factors: Sequence[ArrayLike] = (), weights: ArrayLike | None = None
) -> MixedFit:
    """Fit by restricted maximum likelihood.

    Parameters
    ----------
    response : array_like, shape (n,)
        Finite values.
    design : array_like, shape (n, p)
        Fixed effects, of full column rank.
    factors : sequence of array_like, each of shape (n,)
        Level of each random factor, of any type; the design must leave every factor some degrees of freedom.
    weights : array_like, shape (n,), optional
        Precision of each row beside the others, > 0; 1 when left out.

    Raises
    ------
    NoAnswerError
        When no degrees of freedom are left, when the rows do not scatter at all, or when the likelihood has no
        definite maximum.
    """
    y = np.asarray(response, dtype=np.float64)
    x = np.asarray(design, dtype=np.float64)
    w = np.ones_like(y) if weights is None else np.asarray(weights, dtype=np.float64)
    codes = [np.unique(np.asarray(factor), return_inverse=True)[1].reshape(-1) for factor in factors]
    # In units of their own scatter, so that tolerances mean the same for every metric.
    scale = _scatter(y, x)
    data = arrange(y / scale, x, codes, w)
    best = maximise(data)
    return _report(best, _outlyingness(data, best, y / scale, w), scale, len(y))


def _scatter(y: Array, x: Array) -> float:
    if len(y) <= x.shape[1]:
        raise NoAnswerError("there are not more runs than groups", remedy="fly more runs")
    residual = y - x @ np.linalg.lstsq(x, y, rcond=None)[0]
    scatter = float(np.sqrt(np.mean(residual**2)))
    if scatter <= 1e-9 * float(np.max(np.abs(y))):
        raise NoAnswerError("the runs of each group are all alike", remedy="check that they are not copies of one run")
    return scatter


def _report(best: Likelihood, outlyingness: Array, scale: float, rows: int) -> MixedFit:
    phi, p = best.phi, best.p
    try:
        w: Array = np.linalg.inv(best.information).astype(np.float64, copy=False)
    except np.linalg.LinAlgError as error:
        raise NoAnswerError("the flights do not determine the scatter", remedy="fly more flights") from error
    bias = np.einsum("kl,klij->ij", w, best.q - p[:, None] @ phi @ p[None, :])
    return MixedFit(
        coefficients=best.coefficients * scale,
        covariance=phi * scale**2,
        adjusted_covariance=(phi + 2.0 * phi @ bias @ phi) * scale**2,
        variances=best.variances * scale**2,
        variances_covariance=w * scale**4,
        variance_slopes=phi @ p @ phi,
        log_likelihood=best.log_likelihood - (rows - len(phi)) * float(np.log(scale)),
        outlyingness=outlyingness,
    )


def _outlyingness(data: Data, best: Likelihood, y: Array, w: Array) -> Array:
    pulls, spreads = np.zeros_like(data.cell_mean), np.zeros_like(data.cell_mean)
    for block, inverse in zip(data.blocks, best.inverses, strict=True):
        vx = inverse @ block.x
        pulls[block.cells] = np.einsum("bmn,bn->bm", inverse, block.y - block.x @ best.coefficients)
        projected = np.diagonal(inverse, axis1=1, axis2=2) - np.einsum("bmi,ij,bmj->bm", vx, best.phi, vx)
        spreads[block.cells] = projected
    cell, residual = data.cell_of_row, best.variances[0]
    share = w / data.cell_weight[cell]
    pull = w * (y - data.cell_mean[cell]) / residual + share * pulls[cell]
    spread = w / residual * (1.0 - share) + share**2 * spreads[cell]
    # A row that alone determines a coefficient has no residual.
    known = spread > 1e-9
    return np.where(known, pull / np.sqrt(np.where(known, spread, 1.0)), 0.0)
