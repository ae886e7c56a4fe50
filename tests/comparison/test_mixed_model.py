"""The mixed model against published data sets, a general statistics library, and exact small-sample results."""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.comparison.mixed_model import fit_mixed_model
from analyzer.errors import NoAnswerError

MACHINES = (
    "52 52.8 53.1 51.8 52.8 53.1 60 60.2 58.4 51.1 52.3 50.3 50.9 51.8 51.4 46.4 44.8 49.2 "
    "62.1 62.6 64 59.7 60 59 68.6 65.8 69.7 63.2 62.8 62.2 64.8 65 65.4 43.7 44.2 43 "
    "67.5 67.2 66.9 61.5 61.7 62.3 70.8 70.6 71 64.1 66.2 64 72.1 72 71.1 62 61.4 60.5"
)
"""Productivity scores of six workers on three machines, three times each: Milliken & Johnson (1992), Analysis of Messy
Data I, p. 285, as given in Pinheiro & Bates (2000), Mixed-Effects Models in S and S-PLUS, app. A.14 (read, in a public
collection of R data sets, November 2026)."""

DYESTUFF = (
    "1545 1440 1440 1520 1580 1540 1555 1490 1560 1495 1595 1550 1605 1510 1560 "
    "1445 1440 1595 1465 1545 1595 1630 1515 1635 1625 1520 1455 1450 1480 1445"
)
"""Yield of six batches of an intermediate product, five samples each: Davies & Goldsmith (1972), Statistical Methods in
Research and Production, table 6.3 (read, same collection)."""

DYESTUFF2 = (
    "7.298 3.846 2.434 9.566 7.99 5.22 6.556 0.608 11.788 -0.892 0.11 10.386 13.434 5.51 8.166 "
    "2.212 4.852 7.092 9.288 4.98 0.282 9.014 4.458 9.446 7.198 1.722 4.782 8.106 0.758 3.758"
)
"""The same layout with less between than within batches: Box & Tiao (1973), Bayesian Inference in Statistical Analysis,
table 5.1.4 (read, same collection)."""


def numbers(text: str) -> np.ndarray:
    return np.array(text.split(), dtype=float)


def statsmodels_data(name: str) -> pd.DataFrame:
    import statsmodels

    return pd.read_csv(Path(statsmodels.__file__).parent / "regression" / "tests" / "results" / name)


def test_growing_pigs_match_the_published_estimates() -> None:
    """861 weights of 72 pigs, unbalanced; estimates of R's lme4 as printed in statsmodels 0.15.0's own tests
    (regression/tests/test_lme.py, test_dietox; read), relative tolerance 1e-5 as there."""
    pigs = statsmodels_data("dietox.csv").dropna(subset="Weight")
    fit = fit_mixed_model(pigs.Weight, np.column_stack([np.ones(len(pigs)), pigs.Time]), [pigs.Pig])
    assert fit.coefficients == pytest.approx([15.723523, 6.942505], rel=1e-5)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx([0.78805374, 0.03338727], rel=1e-5)
    assert fit.variances == pytest.approx([11.36692, 40.39395], rel=1e-5)
    assert fit.log_likelihood == pytest.approx(-2404.775, rel=1e-6)


def test_workers_on_machines_match_the_published_estimates() -> None:
    """Pinheiro & Bates (2000), section 1.2.1: random = ~1 | Worker/Machine; log-likelihood -107.84, standard deviations
    4.7811, 3.7295, 0.9616, effects 52.356, 7.967, 13.917 with errors 2.4858, 2.1770, 10 degrees of freedom (from
    memory; half a unit of the last digit printed)."""
    machine, worker = np.repeat([0, 1, 2], 18), np.tile(np.repeat(np.arange(6), 3), 3)
    design = np.column_stack([np.ones(54), machine == 1, machine == 2])
    fit = fit_mixed_model(numbers(MACHINES), design, [worker, 10 * worker + machine])
    assert fit.coefficients == pytest.approx([52.356, 7.967, 13.917], abs=5e-4)
    assert np.sqrt(fit.variances) == pytest.approx([0.9616, 4.7811, 3.7295], abs=5e-5)
    assert fit.log_likelihood == pytest.approx(-107.84, abs=5e-3)
    second = fit.contrast([0, 1, 0])
    assert second.standard_error == pytest.approx(2.1770, abs=5e-5)
    assert second.degrees_of_freedom == pytest.approx(10.0, abs=1e-6)
    assert fit.contrast([1, 0, 0]).standard_error == pytest.approx(2.4858, abs=5e-5)


def test_dyestuff_matches_the_published_estimates() -> None:
    """Bates, lme4: Mixed-Effects Modeling with R, section 1.3: REML criterion 319.65, variances 1764 and 2451, mean
    1527.50 with error 19.383 (from memory); 5 degrees of freedom by the analysis of variance."""
    fit = fit_mixed_model(numbers(DYESTUFF), np.ones((30, 1)), [np.repeat(np.arange(6), 5)])
    assert -2 * fit.log_likelihood == pytest.approx(319.65, abs=5e-3)
    assert fit.variances == pytest.approx([2451, 1764], abs=0.5)
    mean = fit.contrast([1.0])
    assert (mean.estimate, mean.standard_error) == pytest.approx((1527.5, 19.383), abs=5e-4)
    assert mean.degrees_of_freedom == pytest.approx(5.0, abs=1e-6)


def test_no_scatter_between_batches_is_found_as_zero() -> None:
    """Same book, section 1.3: REML criterion 161.83, batch variance 0, residual 13.81, mean 5.666 with error 0.6784
    (from memory)."""
    fit = fit_mixed_model(numbers(DYESTUFF2), np.ones((30, 1)), [np.repeat(np.arange(6), 5)])
    assert -2 * fit.log_likelihood == pytest.approx(161.83, abs=5e-3)
    assert fit.variances == pytest.approx([13.806, 0.0], abs=5e-4)
    mean = fit.contrast([1.0])
    assert (mean.estimate, mean.standard_error) == pytest.approx((5.666, 0.6784), abs=5e-4)
    # The batches, not the thirty samples, are what the mean rests on.
    assert mean.degrees_of_freedom == pytest.approx(5.0, abs=1e-6)


def test_nested_pastes_match_the_published_estimates() -> None:
    """Pastes, two nested factors: same book, section 2.2: variances 8.434 (cask), 1.657 (batch), 0.678 (residual), mean
    60.053 with error 0.6769, REML criterion 246.99 (from memory). The data ship with statsmodels."""
    pastes = statsmodels_data("pastes.csv")
    fit = fit_mixed_model(pastes.strength, np.ones((len(pastes), 1)), [pastes["sample"], pastes.batch])
    assert fit.variances == pytest.approx([0.678, 8.434, 1.657], abs=5e-4)
    assert -2 * fit.log_likelihood == pytest.approx(246.99, abs=5e-3)
    assert fit.contrast([1.0]).standard_error == pytest.approx(0.6769, abs=5e-5)


@pytest.mark.parametrize("seed", range(4))
def test_unbalanced_layouts_match_a_general_library(seed: int) -> None:
    """statsmodels' MixedLM (REML) on layouts large enough for it to converge. Its standard errors come from a joint
    Hessian of all parameters, ours from the coefficients alone: they differ by some tenths of a per cent."""
    import statsmodels.api as sm

    rng = np.random.default_rng(seed)
    flights = np.repeat(np.arange(40), rng.integers(1, 9, 40))
    groups = flights % 3
    design = np.eye(3)[groups]
    y = 100.0 + 5.0 * groups + rng.normal(0, 4, 40)[flights] + rng.normal(0, 3, len(flights))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = sm.MixedLM(y, design, flights).fit(reml=True, method="lbfgs", gtol=1e-10)
    ours = fit_mixed_model(y, design, [flights])
    assert ours.coefficients == pytest.approx(theirs.fe_params, rel=1e-5)
    assert np.sqrt(np.diag(ours.covariance)) == pytest.approx(theirs.bse_fe, rel=5e-3)
    assert ours.variances == pytest.approx([theirs.scale, theirs.cov_re[0, 0]], rel=2e-3)
    assert ours.log_likelihood == pytest.approx(theirs.llf, abs=1e-4)


@pytest.mark.parametrize("seed", range(5))
def test_balanced_layouts_give_the_exact_t_test_of_flight_means(seed: int) -> None:
    """With equal flights the model must reduce to Student's t on the flights' means, with flights minus groups degrees
    of freedom (as long as the flights scatter at all)."""
    rng = np.random.default_rng(seed)
    flights = np.repeat(np.arange(8), 3)
    groups = flights // 4
    y = rng.normal(0, 3, 8)[flights] + rng.normal(0, 1, 24)
    contrast = fit_mixed_model(y, np.eye(2)[groups], [flights]).contrast([1, -1])
    means = y.reshape(8, 3).mean(axis=1).reshape(2, 4)
    error = np.sqrt(means.var(axis=1, ddof=1).mean() * 2 / 4)
    assert contrast.estimate == pytest.approx(means[0].mean() - means[1].mean())
    assert contrast.standard_error == pytest.approx(error, rel=1e-6)
    assert contrast.degrees_of_freedom == pytest.approx(6.0, abs=1e-5)


def test_without_random_factors_it_is_least_squares() -> None:
    rng = np.random.default_rng(3)
    groups = rng.integers(0, 3, 25)
    y = rng.normal(groups, 1.0)
    fit = fit_mixed_model(y, np.eye(3)[groups])
    inside = y - np.array([y[groups == g].mean() for g in range(3)])[groups]
    assert fit.variances[0] == pytest.approx(np.sum(inside**2) / 22)
    assert fit.contrast([1, -1, 0]).degrees_of_freedom == pytest.approx(22.0)


def test_outlyingness_is_the_score_of_a_shift_in_one_row() -> None:
    """Against the same quantity from full matrices."""
    rng = np.random.default_rng(0)
    flights = np.array([0, 0, 0, 1, 1, 1, 1, 2, 2, 3, 3, 3, 4, 4])
    groups = np.repeat([0, 1], 7)
    weights = rng.uniform(0.5, 2.0, 14)
    y = rng.normal(0, 1.5, 5)[flights] + rng.normal(0, 1, 14)
    x = np.eye(2)[groups]
    fit = fit_mixed_model(y, x, [flights], weights)
    v = np.linalg.inv(np.diag(fit.variances[0] / weights) + fit.variances[1] * (flights[:, None] == flights[None, :]))
    p = v - v @ x @ np.linalg.inv(x.T @ v @ x) @ x.T @ v
    assert fit.outlyingness == pytest.approx(p @ y / np.sqrt(np.diag(p)), abs=1e-9)


def test_a_weight_of_two_counts_as_two_equal_rows() -> None:
    rng = np.random.default_rng(8)
    flights = np.repeat(np.arange(6), 2)
    groups, y = flights // 3, rng.normal(0, 1, 12)
    double = np.r_[np.arange(12), np.arange(12)]
    weighted = fit_mixed_model(y, np.eye(2)[groups], [flights], np.full(12, 2.0)).contrast([1, -1])
    plain = fit_mixed_model(y, np.eye(2)[groups], [flights]).contrast([1, -1])
    assert weighted.estimate == pytest.approx(plain.estimate)
    assert weighted.standard_error == pytest.approx(plain.standard_error)
    doubled = fit_mixed_model(y[double], np.eye(2)[groups[double]], [flights[double]]).contrast([1, -1])
    assert doubled.estimate == pytest.approx(plain.estimate)


@given(seed=st.integers(0, 10_000), shift=st.floats(-1e4, 1e4), factor=st.floats(1e-3, 1e3))
@settings(max_examples=25, deadline=None)
def test_unit_and_origin_change_nothing(seed: int, shift: float, factor: float) -> None:
    rng = np.random.default_rng(seed)
    flights = np.sort(rng.integers(0, 9, 30))
    groups = flights % 2
    if len(np.unique(groups)) < 2 or len(np.unique(flights)) < 4:
        return
    y = rng.normal(0, 1, 9)[flights] + rng.normal(0, 1, 30)
    plain = fit_mixed_model(y, np.eye(2)[groups], [flights]).contrast([1, -1])
    moved = fit_mixed_model(shift + factor * y, np.eye(2)[groups], [flights]).contrast([1, -1])
    assert moved.estimate == pytest.approx(factor * plain.estimate, rel=1e-6, abs=1e-7 * abs(shift) + 1e-9)
    assert moved.standard_error == pytest.approx(factor * plain.standard_error, rel=1e-4)
    assert moved.degrees_of_freedom == pytest.approx(plain.degrees_of_freedom, rel=1e-3)


def test_thousands_of_runs_take_milliseconds_and_recover_the_truth() -> None:
    rng = np.random.default_rng(1)
    flights = np.repeat(np.arange(1000), 5)
    days = flights // 8
    groups = flights % 3
    y = rng.normal(0, 2, 1000)[flights] + rng.normal(0, 1, 125)[days] + rng.normal(0, 1, 5000)
    fit = fit_mixed_model(y, np.eye(3)[groups], [flights, days])
    assert fit.variances == pytest.approx([1.0, 4.0, 1.0], rel=0.25)


@pytest.mark.parametrize(
    ("y", "groups"),
    [
        pytest.param([1.0, 2.0], [0, 1], id="no more runs than groups"),
        pytest.param([1.0, 1.0, 2.0, 2.0], [0, 0, 1, 1], id="no scatter at all"),
    ],
)
def test_what_cannot_be_fitted_is_said(y: list[float], groups: list[int]) -> None:
    with pytest.raises(NoAnswerError):
        fit_mixed_model(y, np.eye(2)[groups])
