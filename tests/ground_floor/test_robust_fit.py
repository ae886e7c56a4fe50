"""Robust least squares: the covariance against its defining sum, what it refuses."""

import numpy as np
import pytest

from analyzer.robust_fit import median_of, medians_of, robust_least_squares

STEPS = np.random.default_rng(4).uniform(0.05, 2.0, 240)
TIME = np.cumsum(STEPS)


def line(values):
    """Residuals and derivatives of a straight line through values."""
    design = np.column_stack([np.ones_like(TIME), TIME / 100.0])
    return lambda parameters: (values - design @ parameters, -design)


@pytest.mark.parametrize("correlation_s", [0.01, 7.0])  # closer than any two samples; over several
def test_the_covariance_sums_score_products_weighted_by_bartletts_window(correlation_s):
    noise = np.random.default_rng(5).standard_normal(TIME.size)
    fit = robust_least_squares(line(noise), (0.0, 0.0), TIME, correlation_s)
    residuals, jacobian = line(noise)(fit.values)
    scale = 1.4826 * np.median(np.abs(residuals - np.median(residuals)))
    weights = np.minimum(1.0, 1.345 * scale / np.abs(residuals))
    scores = jacobian * (weights * residuals)[:, None]
    window = np.maximum(0.0, 1.0 - np.abs(TIME[:, None] - TIME) / correlation_s)  # Newey & West 1987, eq. 5
    bread = np.linalg.inv(jacobian.T @ (jacobian * (weights == 1.0)[:, None]))
    alike = max(1.0, correlation_s * TIME.size / (TIME[-1] - TIME[0]))
    expected = min(2.0, TIME.size / (TIME.size - 2 * alike)) * bread @ (scores.T @ window @ scores) @ bread
    assert fit.covariance == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("second", [0.0, 1.0, 1.0 + 1e-9])
def test_columns_that_are_nought_or_alike_determine_nothing(second):
    design = np.column_stack([np.ones_like(TIME), np.full_like(TIME, second)])
    with pytest.raises(np.linalg.LinAlgError):
        robust_least_squares(lambda p: (TIME - design @ p, -design), (0.0, 0.0), TIME, 7.0)


@pytest.mark.parametrize("count", [1, 2, 3, 8, 9, 240])
def test_the_median_is_numpys(count):
    assert median_of(STEPS[:count]) == np.median(STEPS[:count])


@pytest.mark.parametrize("count", [5, 8])
def test_medians_of_rows_are_numpys(count):
    rows = STEPS[: 4 * count].reshape(4, count)
    np.testing.assert_array_equal(medians_of(rows), np.median(rows, axis=1))
