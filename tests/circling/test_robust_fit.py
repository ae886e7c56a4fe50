"""Robust least squares: the covariance against its defining sum, what it refuses."""

import numpy as np
import pytest

from analyzer.circling.robust_fit import median_of, medians_of, robust_least_squares

STEPS = np.random.default_rng(4).uniform(0.05, 2.0, 240)
TIME = np.cumsum(STEPS)


def line(values):
    """Residuals and derivatives of a straight line through values."""
    design = np.column_stack([np.ones_like(TIME), TIME / 100.0])
    return lambda parameters: (values - design @ parameters, -design)


def test_the_covariance_sums_score_products_weighted_by_bartletts_window():
    noise = np.random.default_rng(5).standard_normal(TIME.size)
    residuals, jacobian = line(noise)(robust_least_squares(line(noise), (0.0, 0.0), TIME, 7.0).values)
    scale = 1.4826 * np.median(np.abs(residuals - np.median(residuals)))
    weights = np.minimum(1.0, 1.345 * scale / np.abs(residuals))
    scores = jacobian * (weights * residuals)[:, None]
    window = np.maximum(0.0, 1.0 - np.abs(TIME[:, None] - TIME) / 7.0)  # Newey & West 1987, equation 5, in time
    bread = np.linalg.inv(jacobian.T @ (jacobian * (weights == 1.0)[:, None]))
    alike = 7.0 * TIME.size / (TIME[-1] - TIME[0])
    expected = min(2.0, TIME.size / (TIME.size - 2 * alike)) * bread @ (scores.T @ window @ scores) @ bread
    found = robust_least_squares(line(noise), (0.0, 0.0), TIME, 7.0).covariance
    assert found == pytest.approx(expected, rel=1e-6)


def test_without_correlation_each_sample_stands_for_itself():
    noise = np.random.default_rng(6).standard_normal(TIME.size)
    together = robust_least_squares(line(noise), (0.0, 0.0), TIME, 0.0).covariance
    barely = robust_least_squares(line(noise), (0.0, 0.0), TIME, 0.01).covariance  # closer than any two samples
    assert together == pytest.approx(barely, rel=1e-3)


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
