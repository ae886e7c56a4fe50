"""The restricted likelihood of a linear mixed model, and where it is highest.

Notation as in Kenward & Roger (1997): the covariance of the response is ``V = sum_k v_k G_k`` with ``G_0`` the
residual part and ``G_k = Z_k Z_k'`` one random factor each; ``Phi = (X' V^-1 X)^-1``;
``P = V^-1 - V^-1 X Phi X' V^-1``.

Two exact savings keep thousands of runs fast: rows that share their design row and all factor levels enter as their
weighted mean and the scatter around it; and what shares no level of any random factor is an independent block, so only
small matrices are ever inverted, all of one size at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.errors import NoAnswerError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array, Indices


_MAX_STEPS: Final = 100
_MAX_HALVINGS: Final = 40
_LEAST_SHARE: Final = 0.2
"""Of the gain that the gradient promises, what a step must deliver (Armijo 1966); a full Newton step delivers half."""
_TOLERANCE: Final = 1e-8
"""Convergence: expected gain of the next step in log-likelihood; far below anything that shows in a result."""


@dataclass(frozen=True)
class Block:
    """All independent blocks of one size m: B of them, stacked; p fixed effects, K random factors."""

    cells: Indices
    """(B, m): which cell stands where."""
    y: Array
    """(B, m)"""
    x: Array
    """(B, m, p)"""
    g: Array
    """(1 + K, B, m, m): the parts of the covariance."""


@dataclass(frozen=True)
class Data:
    """The rows, collapsed to cells and cut into independent blocks."""

    blocks: tuple[Block, ...]
    cell_of_row: Indices
    cell_mean: Array
    cell_weight: Array
    factors: int
    columns: int
    inner_squares: float
    """Weighted squares of the rows about their cell's mean."""
    inner_degrees: int
    constant: float
    """What -2 log-likelihood holds besides the variances."""


def arrange(y: Array, x: Array, codes: Sequence[Indices], weights: Array) -> Data:
    """Collapse the rows to cells and cut them into independent blocks.

    Parameters
    ----------
    y : ndarray, shape (n,)
    x : ndarray, shape (n, p)
    codes : sequence of ndarray, each of shape (n,)
        Levels of each random factor, counted from 0.
    weights : ndarray, shape (n,)
    """
    keys = np.column_stack([x, *codes])
    _, first, cell = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    cell = cell.reshape(-1)
    total = np.bincount(cell, weights).astype(np.float64)
    mean = np.bincount(cell, weights * y) / total
    cell_codes = [code[first] for code in codes]
    return Data(
        blocks=_blocks(mean, x[first], cell_codes, 1.0 / total),
        cell_of_row=cell,
        cell_mean=mean,
        cell_weight=total,
        factors=len(codes),
        columns=x.shape[1],
        inner_squares=float(np.sum(weights * (y - mean[cell]) ** 2)),
        inner_degrees=len(y) - len(mean),
        constant=float(np.log(total).sum() - np.log(weights).sum() + (len(y) - x.shape[1]) * np.log(2 * np.pi)),
    )


def _blocks(y: Array, x: Array, codes: Sequence[Indices], variance: Array) -> tuple[Block, ...]:
    label = connected(codes, len(y))
    order = np.argsort(label, kind="stable")
    groups = np.split(order, np.flatnonzero(np.diff(label[order])) + 1)
    by_size: dict[int, list[Indices]] = {}
    for group in groups:
        by_size.setdefault(len(group), []).append(group)
    return tuple(_stacked(np.array(same), y, x, codes, variance) for same in by_size.values())


def _stacked(cells: Indices, y: Array, x: Array, codes: Sequence[Indices], variance: Array) -> Block:
    residual = np.eye(cells.shape[1]) * variance[cells][:, :, None]
    shared = [(code[cells][:, :, None] == code[cells][:, None, :]).astype(np.float64) for code in codes]
    return Block(cells=cells, y=y[cells], x=x[cells], g=np.array([residual, *shared]))


def connected(codes: Sequence[Indices], count: int) -> Indices:
    """Label rows so that two which share a level of any factor, directly or through others, get one label.

    Parameters
    ----------
    codes : sequence of ndarray, each of shape (count,)
        Levels of each factor, counted from 0.
    count : int
        Number of rows.

    Returns
    -------
    ndarray, shape (count,)
        Lowest row number of each connected set.
    """
    label = np.arange(count)
    while True:
        before = label
        for code in codes:
            lowest = np.full(int(code.max(initial=0)) + 1, count)
            np.minimum.at(lowest, code, label)
            label = lowest[code]
        if np.array_equal(label, before):
            return label


@dataclass(frozen=True)
class Likelihood:
    """The restricted likelihood at one set of variances, with its derivatives and the small-sample matrices."""

    variances: Array
    log_likelihood: float
    coefficients: Array
    phi: Array
    """(p, p): covariance of the coefficients."""
    inverses: tuple[Array, ...]
    """V^-1 of each stack of blocks, (B, m, m)."""
    score: Array
    """(1 + K,): gradient in the variances."""
    information: Array
    """(1 + K, 1 + K): expected information."""
    p: Array
    """(1 + K, p, p): X' V^-1 G_k V^-1 X."""
    q: Array
    """(1 + K, 1 + K, p, p): X' V^-1 G_k V^-1 G_l V^-1 X."""


@dataclass(frozen=True)
class _Solved:
    inverses: tuple[Array, ...]
    log_determinant: float
    phi: Array
    coefficients: Array
    log_information: float


@dataclass
class _Sums:
    """What the derivatives add up over the blocks."""

    traces: Array
    pair_traces: Array
    p: Array
    q: Array
    pulls: Array
    squares: float = 0.0


def evaluate(data: Data, variances: Array) -> Likelihood | None:
    """Compute the restricted likelihood; None where the covariance is not positive definite.

    Notes
    -----
    ``score_k = -(tr(P G_k) - r' V^-1 G_k V^-1 r) / 2`` and ``information_kl = tr(P G_k P G_l) / 2``
    (Harville 1977, section 4).
    """
    solved = _solve(data, variances) if variances[0] > 0.0 else None
    if solved is None:
        return None
    sums = _sum_up(data, solved)
    phi_p = solved.phi @ sums.p
    score = -0.5 * (sums.traces - np.einsum("kii->k", phi_p) - sums.pulls)
    information = 0.5 * (
        sums.pair_traces - 2.0 * np.einsum("ij,klji->kl", solved.phi, sums.q) + np.einsum("kij,lji->kl", phi_p, phi_p)
    )
    inside, residual = data.inner_squares, float(variances[0])
    score[0] -= 0.5 * (data.inner_degrees / residual - inside / residual**2)
    information[0, 0] += 0.5 * data.inner_degrees / residual**2
    deviance = solved.log_determinant + solved.log_information + sums.squares
    deviance += data.inner_degrees * float(np.log(residual)) + inside / residual + data.constant
    return Likelihood(
        variances=variances,
        log_likelihood=-0.5 * deviance,
        coefficients=solved.coefficients,
        phi=solved.phi,
        inverses=solved.inverses,
        score=score,
        information=information,
        p=sums.p,
        q=sums.q,
    )


def _solve(data: Data, variances: Array) -> _Solved | None:
    """Generalised least squares at known variances."""
    inverses: list[Array] = []
    log_determinant = 0.0
    a, b = np.zeros((data.columns, data.columns)), np.zeros(data.columns)
    for block in data.blocks:
        covariance = np.tensordot(variances, block.g, axes=1)
        try:
            root = np.linalg.cholesky(covariance)
        except np.linalg.LinAlgError:
            return None
        log_determinant += 2.0 * float(np.log(np.diagonal(root, axis1=1, axis2=2)).sum())
        inverse: Array = np.linalg.inv(covariance).astype(np.float64, copy=False)
        weighted = inverse @ block.x
        a += np.einsum("bmi,bmj->ij", block.x, weighted)
        b += np.einsum("bmi,bm->i", weighted, block.y)
        inverses.append(inverse)
    phi: Array = np.linalg.inv(a).astype(np.float64, copy=False)
    return _Solved(tuple(inverses), log_determinant, phi, phi @ b, float(np.linalg.slogdet(a)[1]))


def _sum_up(data: Data, solved: _Solved) -> _Sums:
    k, p = 1 + data.factors, data.columns
    sums = _Sums(np.zeros(k), np.zeros((k, k)), np.zeros((k, p, p)), np.zeros((k, k, p, p)), np.zeros(k))
    for block, inverse in zip(data.blocks, solved.inverses, strict=True):
        vg = inverse @ block.g
        vx = inverse @ block.x
        gvx = block.g @ vx
        vgvx = inverse @ gvx
        residual = block.y - block.x @ solved.coefficients
        vr = np.einsum("bmn,bn->bm", inverse, residual)
        sums.traces += np.einsum("kbmm->k", vg)
        sums.pair_traces += np.einsum("kbmn,lbnm->kl", vg, vg)
        sums.p += np.einsum("bmi,kbmj->kij", vx, gvx)
        sums.q += np.einsum("kbmi,lbmj->klij", gvx, vgvx)
        sums.pulls += np.einsum("bm,kbmn,bn->k", vr, block.g, vr, optimize=True)
        sums.squares += float(np.sum(residual * vr))
    return sums


def maximise(data: Data) -> Likelihood:
    """Find the variances of highest restricted likelihood, none below zero, by Fisher scoring.

    Raises
    ------
    NoAnswerError
        When the search does not settle: the data do not determine the variances.
    """
    here = evaluate(data, np.full(1 + data.factors, 0.5))
    for _ in range(_MAX_STEPS):
        if here is None:
            break
        step = _scoring_step(here)
        if float(here.score @ step) < _TOLERANCE:
            return here
        higher = _climb(data, here, step)
        if higher is None:
            return here
        here = higher
    raise NoAnswerError(
        "the scatter inside the flights cannot be told apart from that between them", remedy="fly more flights"
    )


def _scoring_step(here: Likelihood) -> Array:
    """Newton step with the expected information, in the variances that are not held at zero."""
    free = (here.variances > 0.0) | (here.score > 0.0)
    step = np.zeros_like(here.variances)
    step[free] = np.linalg.lstsq(here.information[np.ix_(free, free)], here.score[free], rcond=None)[0]
    return step


def _climb(data: Data, here: Likelihood, step: Array) -> Likelihood | None:
    """Take as much of the step as raises the likelihood well; None when no part of it does.

    Where the likelihood is flat the expected information promises too little, so a step that delivers is doubled.
    """
    best: Likelihood | None = None
    length = 1.0
    for _ in range(_MAX_HALVINGS):
        variances = here.variances + length * step
        variances[1:] = np.maximum(variances[1:], 0.0)
        there = evaluate(data, variances)
        promised = _LEAST_SHARE * max(float(here.score @ (variances - here.variances)), 0.0)
        enough = here.log_likelihood + promised if best is None else best.log_likelihood
        if there is not None and there.log_likelihood > enough:
            best = there
            if length < 1.0:
                return best
            length *= 2.0
        elif best is not None:
            return best
        else:
            length /= 2.0
    return best
