"""Third differences against what they are by definition, and their likelihood against the general formula."""

import numpy as np
import pytest

from analyzer.conditioning.third_differences import third_differences

RNG = np.random.default_rng(4)
TIMES = np.cumsum(RNG.uniform(0.1, 0.5, (2, 24)), axis=1)


def jerk_covariance(time_s):
    """Covariance of heights driven by white jerk of unit density from rest at the first time.

    The integral of (t - u)² (s - u)² / 4 over u up to the earlier time, computed. The once integrated case is in
    C.E. Rasmussen, C.K.I. Williams, *Gaussian Processes for Machine Learning*, MIT Press 2006, section 6.3.
    """
    since = time_s - time_s[0]
    early, apart = np.minimum.outer(since, since), np.abs(np.subtract.outer(since, since))
    return early**5 / 20 + apart * early**4 / 8 + apart**2 * early**3 / 12


def test_a_parabola_has_none_and_a_cubic_its_coefficient():
    cubic = 3.0 - 2.0 * TIMES + 0.5 * TIMES**2 + 1.5 * TIMES**3
    assert third_differences(TIMES, cubic)[0] == pytest.approx(1.5, rel=1e-8)


def test_covariances_are_those_of_the_readings_carried_through():
    for series, time_s in enumerate(TIMES):
        operator = np.array([third_differences(TIMES, np.tile(unit, (2, 1)))[0][series] for unit in np.eye(24)]).T
        bands = third_differences(TIMES, TIMES)[1:]
        for band, covariance in zip(bands, (np.eye(24), jerk_covariance(time_s)), strict=True):
            exact = operator @ covariance @ operator.T
            for offset in range(4):
                theirs = np.diagonal(exact, offset)
                assert band[series, : len(theirs), offset] == pytest.approx(theirs, rel=1e-6, abs=1e-6 * exact.max())
            assert np.abs(np.triu(exact, 4)).max() < 1e-6 * exact.max()


def test_the_likelihood_is_the_restricted_one():
    """H.D. Patterson, R. Thompson, Biometrika 58 (1971) 545-554, with a parabola as the fixed part."""
    readings = 100.0 + 3.0 * np.sin(TIMES) + RNG.normal(0.0, 0.2, TIMES.shape)
    differences, of_readings, of_jerk = third_differences(TIMES, readings)
    for series, (time_s, y) in enumerate(zip(TIMES, readings, strict=True)):
        found, exact = [], []
        for ratio in (0.1, 10.0):
            band = (of_readings + ratio * of_jerk)[series]
            matrix = sum(np.diag(band[: 21 - k, k], k) + (k > 0) * np.diag(band[: 21 - k, k], -k) for k in range(4))
            misfit = differences[series] @ np.linalg.solve(matrix, differences[series])
            found.append((misfit, np.linalg.slogdet(matrix)[1]))
            inverse = np.linalg.inv(np.eye(24) + ratio * jerk_covariance(time_s))
            parabola = np.vander(time_s - time_s.mean(), 3)
            information = parabola.T @ inverse @ parabola
            rest = inverse - inverse @ parabola @ np.linalg.solve(information, parabola.T @ inverse)
            exact.append((y @ rest @ y, np.linalg.slogdet(information)[1] - np.linalg.slogdet(inverse)[1]))
        (misfit_1, size_1), (misfit_2, size_2) = found
        assert (misfit_1, misfit_2) == pytest.approx([value for value, _ in exact], rel=1e-6)
        assert size_2 - size_1 == pytest.approx(exact[1][1] - exact[0][1], abs=1e-6)  # constants apart
