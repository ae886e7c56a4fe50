"""Third differences against what they are by definition, and their likelihood against the general formula."""

from itertools import pairwise

import numpy as np
import pytest

from analyzer.conditioning.third_differences import (
    covariance_by_jerk,
    covariance_by_readings,
    difference_weights,
    differences,
    spread_back,
)

RNG = np.random.default_rng(4)
START = RNG.bit_generator.state


@pytest.fixture(autouse=True)
def same_noise():
    """Each test draws the same noise, whichever ran before it."""
    RNG.bit_generator.state = START


TIMES = np.cumsum(RNG.uniform(0.1, 0.5, (2, 24)), axis=1)
WEIGHTS = difference_weights(TIMES)
VARIANCE, JERK = RNG.uniform(0.5, 2.0, (2, 24)), RNG.uniform(0.5, 2.0, (2, 23))


def jerk_covariance(time_s, density):
    """Covariance of heights driven by white jerk from rest at the first time.

    The integral of q(u) (t - u)² (s - u)² / 4 over u up to the earlier time, by Simpson's rule on parts of each step
    (exact: degree four, halved until nothing changes). The once integrated case of constant q is in C.E. Rasmussen,
    C.K.I. Williams, *Gaussian Processes for Machine Learning*, MIT Press 2006, section 6.3.
    """
    parts = 64
    edges = np.concatenate([np.linspace(a, b, parts + 1)[:-1] for a, b in pairwise(time_s)] + [time_s[-1:]])
    moved = [
        np.maximum(time_s[:, None] - at, 0.0) ** 2 / 2 for at in (edges[:-1], (edges[:-1] + edges[1:]) / 2, edges[1:])
    ]
    weight = np.repeat(density, parts) * np.diff(edges) / 6
    return sum(share * (one * weight) @ one.T for share, one in zip((1, 4, 1), moved, strict=True))


def test_a_parabola_has_none_and_a_cubic_its_coefficient():
    cubic = 3.0 - 2.0 * TIMES + 0.5 * TIMES**2 + 1.5 * TIMES**3
    assert differences(WEIGHTS, cubic) == pytest.approx(1.5, rel=1e-8)


def test_spreading_back_is_the_transpose():
    left, right = RNG.normal(size=(2, 21)), RNG.normal(size=(2, 24))
    assert (left * differences(WEIGHTS, right)).sum() == pytest.approx((spread_back(WEIGHTS, left) * right).sum())


def test_covariances_are_those_of_the_readings_carried_through():
    by_readings, by_jerk = covariance_by_readings(WEIGHTS, VARIANCE), covariance_by_jerk(TIMES, WEIGHTS, JERK)
    for series, time_s in enumerate(TIMES):
        operator = spread_back(WEIGHTS[:, series, None], np.eye(21)[:, None])[:, 0]
        ours = (by_readings[series], by_jerk[series])
        for band, covariance in zip(
            ours, (np.diag(VARIANCE[series]), jerk_covariance(time_s, JERK[series])), strict=True
        ):
            exact = operator @ covariance @ operator.T
            for offset in range(4):
                theirs = np.diagonal(exact, offset)
                assert band[: len(theirs), offset] == pytest.approx(theirs, rel=1e-6, abs=1e-6 * exact.max())
            assert np.abs(np.triu(exact, 4)).max() < 1e-6 * exact.max()


def test_the_likelihood_is_the_restricted_one():
    """H.D. Patterson, R. Thompson, Biometrika 58 (1971) 545-554, with a parabola as the fixed part."""
    readings = 100.0 + 3.0 * np.sin(TIMES) + RNG.normal(0.0, 0.2, TIMES.shape)
    third, by_readings = differences(WEIGHTS, readings), covariance_by_readings(WEIGHTS, VARIANCE)
    by_jerk = covariance_by_jerk(TIMES, WEIGHTS, JERK)
    for series, (time_s, y) in enumerate(zip(TIMES, readings, strict=True)):
        found, exact = [], []
        for ratio in (0.1, 10.0):
            band = (by_readings + ratio * by_jerk)[series]
            matrix = sum(np.diag(band[: 21 - k, k], k) + (k > 0) * np.diag(band[: 21 - k, k], -k) for k in range(4))
            found.append((third[series] @ np.linalg.solve(matrix, third[series]), np.linalg.slogdet(matrix)[1]))
            inverse = np.linalg.inv(np.diag(VARIANCE[series]) + ratio * jerk_covariance(time_s, JERK[series]))
            parabola = np.vander(time_s - time_s.mean(), 3)
            information = parabola.T @ inverse @ parabola
            rest = inverse - inverse @ parabola @ np.linalg.solve(information, parabola.T @ inverse)
            exact.append((y @ rest @ y, np.linalg.slogdet(information)[1] - np.linalg.slogdet(inverse)[1]))
        (misfit_1, size_1), (misfit_2, size_2) = found
        assert (misfit_1, misfit_2) == pytest.approx([value for value, _ in exact], rel=1e-6)
        assert size_2 - size_1 == pytest.approx(exact[1][1] - exact[0][1], abs=1e-6)  # constants apart
