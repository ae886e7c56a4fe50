"""Noise and liveliness from the series itself: known values must come back."""

import numpy as np
import pytest

from analyzer.conditioning.noise import motion_noise
from analyzer.conditioning.sampling import quantum_of
from analyzer.conditioning.tuning import CONDITIONING

MARGIN = CONDITIONING.jerk_margin


def white_jerk_motion(q, step_s, count, seed):
    """Height driven by white jerk, simulated on steps four times finer, and pulled back gently."""
    fine = 4
    dt = step_s / fine
    jerk = np.random.default_rng(seed).normal(0.0, np.sqrt(q / dt), count * fine)
    height = np.empty(count * fine)
    h = v = a = 0.0
    for index, impulse in enumerate(jerk):
        h, v, a = h + v * dt + a * dt**2 / 2, v + a * dt, a + impulse * dt - (a + v / 3.0 + h / 30.0) * dt / 5.0
        height[index] = h
    return height[::fine]


@pytest.mark.parametrize(("noise", "q", "step"), [(0.1, 0.5, 0.2), (0.3, 0.5, 0.2), (0.3, 0.05, 0.5), (0.15, 2.0, 0.2)])
def test_known_noise_and_liveliness_come_back(noise, q, step):
    count = 2000
    height = white_jerk_motion(q, step, count, 11)
    reading = height + np.random.default_rng(12).normal(0.0, noise, count)
    found = motion_noise(np.arange(count) * step, reading, CONDITIONING)
    assert np.sqrt(found.variance_m2) == pytest.approx(noise, rel=0.07)
    likeliest = np.exp(np.log(found.jerk_density).mean()) / MARGIN
    assert abs(np.log(likeliest / q)) < 0.7  # the standard errors go with its fourth root


def test_liveliness_follows_the_motion_through_the_log():
    calm, lively = white_jerk_motion(0.02, 0.2, 1500, 1), white_jerk_motion(2.0, 0.2, 1500, 2)
    height = np.concatenate((calm, lively - lively[0] + calm[-1]))
    reading = height + np.random.default_rng(3).normal(0.0, 0.1, 3000)
    found = motion_noise(np.arange(3000) * 0.2, reading, CONDITIONING)
    early, late = found.jerk_at(np.array([150.0, 450.0]))
    assert late / early > 20.0


def test_rounding_counts_as_noise():
    """Uniform rounding of a step has the variance step²/12 (B. Widrow, 1956); a slow ramp shows it in no difference."""
    height = np.round(0.5 * np.arange(600) * 0.5)
    found = motion_noise(np.arange(600) * 0.5, height, CONDITIONING)
    assert found.variance_m2 >= 1.0 / 12.0


def test_the_quantum_is_the_step_of_the_values():
    assert quantum_of(np.array([1.0, 1.2, 1.4, 2.0, 1.2, np.nan])) == pytest.approx(0.2)
    assert quantum_of(np.array([3.0, 3.0])) == 0.0
    assert quantum_of(np.random.default_rng(0).normal(0.0, 50.0, 500)) == 0.0


def test_a_handful_of_readings_gives_an_answer():
    found = motion_noise(np.arange(5.0), np.array([0.0, 1.0, 2.0, 3.0, 4.0]), CONDITIONING)
    assert found.variance_m2 > 0
    assert (found.jerk_at(np.array([0.0, 4.0])) > 0).all()


def test_a_long_log_is_estimated_from_pieces_alike():
    height = np.tile(white_jerk_motion(0.5, 0.2, 5000, 4), 20)
    reading = height + np.random.default_rng(5).normal(0.0, 0.2, 100_000)
    found = motion_noise(np.arange(100_000) * 0.2, reading, CONDITIONING)
    assert np.sqrt(found.variance_m2) == pytest.approx(0.2, rel=0.05)
