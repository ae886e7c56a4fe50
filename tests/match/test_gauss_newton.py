"""The fit against a general-purpose least-squares routine, and its covariance against a bootstrap.

Data: static and wind-tunnel points of folding propellers from the UIUC Propeller Database, volume 3 (J.B. Brandt et
al., University of Illinois), as cited in tests/power_system/measured_points.csv.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from scipy.optimize import least_squares

from analyzer.match.gauss_newton import Fit, fit, mixed

POINTS = Path(__file__).parents[1] / "power_system" / "measured_points.csv"
START = np.array([0.12, 0.75, 1.5, 0.008, 1.1])
SPREAD = 0.006
"""Of the points: sizes of like pitch over diameter differ by some per cent."""

LOOSE = np.diag(np.array([0.1, 0.5, 1.0, 0.02, 1.0]) ** 2)


def blades(values: np.ndarray, advance: np.ndarray) -> np.ndarray:
    """C_T falling from its static value to zero at J0; C_P from momentum theory (Glauert 1935) and profile drag.

    C_T = a (1 - (J/J0)^m); C_P = C_T (J + k v) + p with the ideal inflow v = -J/2 + sqrt(J^2/4 + 2 C_T/pi).
    """
    level, end, power, profile, losses = values
    thrust = level * (1.0 - (advance / end) ** power)
    inflow = -advance / 2.0 + np.sqrt(advance**2 / 4.0 + 2.0 * np.maximum(thrust, 0.0) / np.pi)
    return np.concatenate((thrust, thrust * (advance + losses * inflow) + profile))


def with_slopes(advance: np.ndarray):
    def model(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        steps = 1e-6 * np.eye(values.size)
        slopes = [(blades(values + step, advance) - blades(values - step, advance)) / 2e-6 for step in steps]
        return blades(values, advance), np.stack(slopes, axis=1)

    return model


@pytest.fixture(scope="module")
def measured() -> tuple[np.ndarray, np.ndarray]:
    table = pd.read_csv(POINTS, comment="#")
    ratio = table["pitch_in"] / table["diameter_in"]
    rows = table[table["propeller"].str.startswith("folding") & ratio.between(0.54, 0.62) & (table["J"] < 0.7)]
    assert len(rows) >= 20
    return rows["J"].to_numpy(), np.concatenate((rows["CT"].to_numpy(), rows["CP"].to_numpy()))


def reference(advance: np.ndarray, data: np.ndarray, spread: float) -> np.ndarray:
    root = np.linalg.inv(np.linalg.cholesky(LOOSE))

    def residuals(values: np.ndarray) -> np.ndarray:
        return np.concatenate(((data - blades(values, advance)) / spread, root @ (values - START)))

    return least_squares(residuals, START, xtol=1e-14, ftol=1e-14, gtol=1e-14).x


def test_the_same_propeller_as_a_general_purpose_routine(measured) -> None:
    advance, data = measured
    found = fit(with_slopes(advance), data, np.full(data.size, SPREAD**2), START, LOOSE)
    assert found.converged
    np.testing.assert_allclose(found.values, reference(advance, data, SPREAD), rtol=2e-5)
    assert np.sqrt(np.mean(found.residuals**2)) < 2.0 * SPREAD


def test_the_covariance_is_that_of_a_bootstrap(measured) -> None:
    advance, data = measured
    spread = SPREAD
    found = fit(with_slopes(advance), data, np.full(data.size, spread**2), START, LOOSE)
    fitted = data - found.residuals
    rng = np.random.default_rng(3)
    again = [
        fit(
            with_slopes(advance),
            fitted + rng.normal(0.0, spread, data.size),
            np.full(data.size, spread**2),
            START,
            LOOSE,
        )
        for _ in range(300)
    ]
    spreads = np.std([one.values for one in again], axis=0)
    told = spreads < 0.5 * np.sqrt(np.diag(LOOSE))  # a prior pulls every sample alike: it is no scatter
    assert told.sum() >= 3
    np.testing.assert_allclose(spreads[told], np.sqrt(np.diag(found.covariance))[told], rtol=0.2)


def line(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    at = np.linspace(-1.0, 1.0, 9)
    return values[0] + values[1] * at, np.stack((np.ones(9), at), axis=1)


def test_a_linear_model_has_the_textbook_answer() -> None:
    rng = np.random.default_rng(0)
    data = line(np.array([1.0, 2.0]))[0] + rng.normal(0.0, 0.1, 9)
    prior = np.diag((4.0, 9.0))
    found = fit(line, data, np.full(9, 0.01), np.zeros(2), prior)
    _, design = line(np.zeros(2))
    covariance = np.linalg.inv(design.T @ design / 0.01 + np.linalg.inv(prior))
    np.testing.assert_allclose(found.covariance, covariance, rtol=1e-9)
    np.testing.assert_allclose(found.values, covariance @ design.T @ data / 0.01, rtol=1e-9)


def test_the_evidence_of_a_linear_model_is_exact() -> None:
    data = np.array([0.3, -0.2, 0.5])

    def model(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return values.repeat(3), np.ones((3, 1))

    def exact(width: float) -> float:
        covariance = np.eye(3) * 0.04 + width**2
        return float(-0.5 * (data @ np.linalg.solve(covariance, data) + np.linalg.slogdet(covariance)[1]))

    ours = [fit(model, data, np.full(3, 0.04), np.zeros(1), np.array([[w * w]])).log_evidence for w in (0.1, 1.0)]
    assert ours[0] - ours[1] == pytest.approx(exact(0.1) - exact(1.0), abs=1e-9)


@pytest.mark.parametrize("freedom", [np.inf, 4.0])
def test_the_evidence_weighs_a_wide_scatter_against_a_narrow_one(freedom: float) -> None:
    """With nothing fitted it is the density of the data: a scatter too wide explains all, and is less probable."""
    data, certain = np.array([0.3, -0.2, 0.5]), np.array([[1e-12]])

    def model(_values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return np.zeros(3), np.zeros((3, 1))

    def ours(scatter: float) -> float:
        return fit(model, data, np.full(3, scatter**2), np.zeros(1), certain, np.full(3, freedom)).log_evidence

    def exact(scatter: float) -> float:
        return float(stats.t.logpdf(data, min(freedom, 1e9), scale=scatter).sum())

    assert ours(0.3) - ours(3.0) == pytest.approx(exact(0.3) - exact(3.0), abs=1e-6)


def test_an_outlier_hardly_moves_a_fit_with_heavy_tails() -> None:
    data = line(np.array([1.0, 2.0]))[0]
    spoilt = data.copy()
    spoilt[4] += 3.0
    variance, prior = np.full(9, 0.01), np.diag((4.0, 9.0))
    plain = fit(line, spoilt, variance, np.zeros(2), prior)
    heavy = fit(line, spoilt, variance, np.zeros(2), prior, np.full(9, 4.0))
    assert abs(heavy.values[0] - 1.0) < 0.1 * abs(plain.values[0] - 1.0)


def test_two_solutions_are_one_mixture_and_one_found_twice_counts_once() -> None:
    """Moments of 3/4 N(0, 1) and 1/4 N(8, 4) in closed form."""

    def solution(value: float, variance: float, evidence: float) -> Fit:
        return Fit(np.array([value]), np.array([[variance]]), np.zeros(1), evidence, True)

    likely, other = solution(0.0, 1.0, np.log(3.0)), solution(8.0, 4.0, 0.0)
    found = mixed([other, likely, solution(0.1, 1.0, np.log(3.0) - 1e-3)])
    assert found.values[0] == pytest.approx(2.0)
    assert found.covariance[0, 0] == pytest.approx(0.75 * 1.0 + 0.25 * 4.0 + 0.75 * 2.0**2 + 0.25 * 6.0**2)
    assert found.log_evidence == pytest.approx(np.log(4.0))
