"""The banded smoother against a general library's Kalman smoother, and against what it must do by itself."""

import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.conditioning.between_nodes import at_times
from analyzer.conditioning.smoother_matrix import smoother_matrix
from analyzer.conditioning.standard_errors import posterior_variances, standard_errors
from analyzer.conditioning.vertical_motion import smooth


def transition(step):
    return np.array([[1.0, step, step**2 / 2], [0.0, 1.0, step], [0.0, 0.0, 1.0]])


def transition_covariance(step, q):
    return q * np.array([
        [step**5 / 20, step**4 / 8, step**3 / 6],
        [step**4 / 8, step**3 / 3, step**2 / 2],
        [step**3 / 6, step**2 / 2, step],
    ])  # fmt: skip


@pytest.fixture(scope="module")
def uneven():
    """Readings on uneven stamps with a gap, their variances, and a jerk density for every step."""
    rng = np.random.default_rng(5)
    steps = rng.uniform(0.1, 0.6, 80)
    steps[40] = 4.0
    time_s = np.concatenate(([0.0], np.cumsum(steps)))
    reading = 3.0 * np.sin(time_s / 2.0) + 0.4 * time_s + rng.normal(0.0, 0.3, len(time_s))
    variance = rng.uniform(0.05, 0.15, len(time_s))
    jerk = np.where(time_s[1:] < 12.0, 0.3, 2.0)
    return time_s, reading, variance, jerk


def test_equals_the_kalman_smoother_of_a_general_library(uneven):
    """Means and variances as pykalman 0.11 gives them (D. Duckworth et al.), forward filter and backward smoother."""
    time_s, reading, variance, jerk = uneven
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from pykalman import KalmanFilter

        steps = np.diff(time_s)
        library = KalmanFilter(
            transition_matrices=np.array([transition(step) for step in steps]),
            transition_covariance=np.array([transition_covariance(s, q) for s, q in zip(steps, jerk, strict=True)]),
            observation_matrices=np.array([[1.0, 0.0, 0.0]]),
            observation_covariance=variance[:, None, None],
            initial_state_mean=np.zeros(3),
            initial_state_covariance=np.diag([1e9, 1e5, 1e5]),
        )
        means, covariances = library.smooth(reading[:, None])
    ours = smooth(time_s, reading, variance, jerk, 16)
    assert np.abs(ours.height_m - means[:, 0]).max() < 1e-5
    assert np.abs(ours.climb_m_s - means[:, 1]).max() < 1e-5
    assert np.abs(ours.acceleration_m_s2 - means[:, 2]).max() < 1e-5
    theirs = np.diagonal(covariances, axis1=1, axis2=2)
    assert posterior_variances(time_s, variance, jerk) == pytest.approx(theirs, rel=1e-3)  # of vague prior speeds


def test_standard_errors_are_exact_in_an_even_log():
    time_s = np.arange(120) * 0.2
    height, climb, _ = standard_errors(time_s, 0.04, np.full(119, 0.5), 16)[0].T
    exact = np.sqrt(posterior_variances(time_s, np.full(120, 0.04), np.full(119, 0.5)))
    assert height == pytest.approx(exact[:, 0], rel=0.01)
    assert climb == pytest.approx(exact[:, 1], rel=0.01)


def test_standard_errors_grow_at_the_edges_of_a_gap():
    time_s = np.concatenate((np.arange(60), np.arange(110, 170))) * 0.2
    height, climb, _ = standard_errors(time_s, 0.04, np.full(119, 0.5), 16)[0].T
    assert height[59] > 1.5 * height[30]
    assert climb[60] > 2.0 * climb[90]


def test_standard_errors_follow_the_liveliness():
    """In the steady state the error of the speed goes with the fourth root of q (dimensions of q, r, spacing)."""
    time_s = np.arange(400) * 0.1
    jerk = np.where(time_s[1:] < 20.0, 0.1, 1.6)
    _, climb, _ = standard_errors(time_s, 0.04, jerk, 30)[0].T
    assert climb[300] / climb[100] == pytest.approx(2.0, rel=0.1)


def test_constant_acceleration_is_reproduced_exactly():
    time_s = np.sort(np.random.default_rng(1).uniform(0.0, 20.0, 50))
    height = 5.0 - 0.7 * time_s + 0.15 * time_s**2
    motion = smooth(time_s, height, np.full(50, 0.04), np.full(49, 1.0), 16)
    assert motion.height_m == pytest.approx(height, abs=1e-9)
    assert motion.climb_m_s == pytest.approx(-0.7 + 0.3 * time_s, abs=1e-8)
    assert motion.acceleration_m_s2 == pytest.approx(0.3, abs=1e-7)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5, 6])
def test_a_few_readings_lie_on_the_curve_that_fits_them(count):
    """Fewer than four on a parabola, a line or a level; four or more as the exact posterior mean says."""
    time_s, height = np.array([0.0, 1.0, 3.0, 4.0, 4.5, 6.0])[:count], np.array([1.0, 2.0, 8.0, 9.0, 9.5, 4.0])[:count]
    motion = smooth(time_s, height, np.full(count, 0.04), np.full(count - 1, 1.0), 10)
    if count < 4:
        curve = np.polynomial.Polynomial.fit(time_s, height, count - 1)
        assert motion.height_m == pytest.approx(height)
        assert motion.climb_m_s == pytest.approx(curve.deriv()(time_s))
        return
    since = np.minimum.outer(time_s, time_s), np.abs(np.subtract.outer(time_s, time_s))
    jerk = since[0] ** 5 / 20 + since[1] * since[0] ** 4 / 8 + since[1] ** 2 * since[0] ** 3 / 12
    inverse, parabola = np.linalg.inv(jerk + 0.04 * np.eye(count)), np.vander(time_s, 3)
    fixed = np.linalg.solve(parabola.T @ inverse @ parabola, parabola.T @ inverse @ height)
    exact = parabola @ fixed + jerk @ inverse @ (height - parabola @ fixed)
    assert motion.height_m == pytest.approx(exact, abs=1e-8)


def test_precise_readings_are_kept():
    time_s = np.arange(30.0)
    height = np.random.default_rng(2).normal(0.0, 1.0, 30)
    motion = smooth(time_s, height, np.full(30, 1e-6), np.full(29, 10.0), 10)
    assert motion.height_m == pytest.approx(height, abs=1e-3)


@settings(max_examples=30, deadline=None)
@given(shift=st.floats(-500.0, 3000.0), slope=st.floats(-5.0, 5.0), scale=st.floats(0.1, 10.0))
def test_smoothing_is_linear(shift, slope, scale):
    """Doubling the motion and its errors, lifting or tilting it, does the same to the result."""
    rng = np.random.default_rng(3)
    time_s = np.cumsum(rng.uniform(0.2, 0.4, 60))
    reading = np.cumsum(rng.normal(0.0, 0.3, 60))
    plain = smooth(time_s, reading, np.full(60, 0.05), np.full(59, 0.5), 16)
    other = smooth(
        time_s, scale * reading + shift + slope * time_s, np.full(60, 0.05 * scale**2), np.full(59, 0.5 * scale**2), 16
    )
    assert other.height_m == pytest.approx(scale * plain.height_m + shift + slope * time_s, abs=1e-7)
    assert other.climb_m_s == pytest.approx(scale * plain.climb_m_s + slope, abs=1e-6)


def test_between_nodes_it_is_the_smoother_itself(uneven):
    """A poor reading of what at_times says, added there, leaves the smoother's answer: at_times must equal it."""
    time_s, reading, variance, jerk = uneven
    motion = smooth(time_s, reading, variance, jerk, 16)
    wanted = np.array([3.03, 7.7, time_s[40] + 1.0, time_s[40] + 2.0])
    height, _, climb, _ = at_times(motion, wanted, 10.0)
    for index, moment in enumerate(wanted):
        place = int(np.searchsorted(time_s, moment))
        more_times = np.insert(time_s, place, moment)
        more_readings = np.insert(reading, place, height[index])
        more_variances = np.insert(variance, place, 1e4)
        more_jerk = np.insert(jerk, place, jerk[place - 1])
        whole = smooth(more_times, more_readings, more_variances, more_jerk, 16)
        assert height[index] == pytest.approx(whole.height_m[place], abs=1e-6)
        assert climb[index] == pytest.approx(whole.climb_m_s[place], abs=1e-6)


def test_errors_inside_a_silence_are_exact():
    time_s = np.concatenate((np.arange(40) * 0.2, 12.8 + np.arange(40) * 0.2))
    variance, jerk = np.full(80, 0.04), np.full(79, 0.5)
    motion = smooth(time_s, np.zeros(80), variance, jerk, 20)
    wanted = np.array([7.9, 8.4, 10.3, 12.5])
    _, height_se, _, climb_se = at_times(motion, wanted, 10.0)
    for index, moment in enumerate(wanted):
        more = np.insert(time_s, 40, moment)
        exact = np.sqrt(posterior_variances(more, np.insert(variance, 40, 1e12), np.full(80, 0.5))[40])
        assert height_se[index] == pytest.approx(exact[0], rel=0.02)
        assert climb_se[index] == pytest.approx(exact[1], rel=0.02)


def test_errors_between_near_nodes_are_nearly_exact():
    time_s = np.arange(80) * 0.4
    variance, jerk = np.full(80, 0.04), np.full(79, 0.5)
    motion = smooth(time_s, np.zeros(80), variance, jerk, 20)
    _, height_se, _, climb_se = at_times(motion, np.array([16.2]), 10.0)
    more = np.insert(time_s, 41, 16.2)
    exact = np.sqrt(posterior_variances(more, np.insert(variance, 41, 1e12), np.full(80, 0.5))[41])
    assert height_se[0] == pytest.approx(exact[0], rel=0.05)
    assert climb_se[0] == pytest.approx(exact[1], rel=0.05)


def test_long_silences_are_not_bridged(uneven):
    time_s, reading, variance, jerk = uneven
    motion = smooth(time_s, reading, variance, jerk, 16)
    inside = time_s[40] + 2.0
    assert np.isfinite(at_times(motion, np.array([0.0, inside]), 10.0).height_m[1])
    assert np.isnan(at_times(motion, np.array([0.0, inside]), 3.0).height_m[1])


def test_the_matrix_is_symmetric_positive(uneven):
    time_s, _, variance, jerk = uneven
    band = smoother_matrix(time_s, variance, jerk)
    assert band.shape == (6, 3 * len(time_s))
    assert (band[0] > 0).all()
    assert (posterior_variances(time_s, variance, jerk) > 0).all()
    assert (posterior_variances(time_s, variance, jerk)[:, 0] <= variance * (1 + 1e-9)).all()
