"""Spikes are found; starts of the motor, stops, zooms and standing values are left alone."""

import numpy as np
import pytest
from conditioning.steady_glide import GLIDE, RNG, TIME
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.conditioning.outliers import frozen, out_of_range, spikes, stopped_in_flight
from analyzer.conditioning.tuning import CONDITIONING


@pytest.mark.parametrize("height", [80.0, -80.0, 3.0])
def test_a_single_spike_is_found(height):
    values = GLIDE.copy()
    values[[100, 333]] += height
    assert spikes(TIME, values, CONDITIONING).tolist() == [100, 333]


@pytest.mark.parametrize("row", [1, 2, 3, -4, -3, -2])
def test_a_spike_beside_the_ends_of_a_log_is_found(row):
    """A log of an altimeter in whole metres that ends on the ground; the spike is no noise of its neighbours."""
    values = np.round(GLIDE / 40.0)
    values[row] += 392.6
    assert spikes(TIME, values, CONDITIONING, acceleration=30.0).tolist() == [row % len(values)]


@settings(max_examples=40, deadline=None)
@given(on=st.integers(20, 200), lasts=st.integers(2, 200), level=st.floats(3.0, 80.0), seed=st.integers(0, 10_000))
def test_a_motor_run_of_two_samples_or_more_is_never_eaten(on, lasts, level, seed):
    rng = np.random.default_rng(seed)
    current = 0.3 + rng.normal(0.0, 0.1, len(TIME))
    current[on : on + lasts] += level * (1.0 + rng.normal(0.0, 0.02, len(current[on : on + lasts])))
    assert not set(spikes(TIME, np.round(current, 1), CONDITIONING)) & {on - 1, on, on + lasts - 1, on + lasts}


def test_noise_alone_is_hardly_ever_a_spike():
    noise = np.random.default_rng(0).normal(0.0, 1.0, 400_000)
    assert len(spikes(np.arange(400_000) * 0.1, noise, CONDITIONING)) <= 2


def test_what_acceleration_explains_is_no_spike():
    """At 1 Hz a pull-up of 2 g bends the height by 10 m from one sample to the next."""
    time_s = np.arange(40.0)
    height = np.where(time_s == 20, 109.0, 100.0) + RNG.normal(0.0, 0.1, 40)
    assert spikes(time_s, height, CONDITIONING).tolist() == [20]
    assert spikes(time_s, height, CONDITIONING, acceleration=30.0).tolist() == []


def test_a_spike_behind_a_silence_is_no_climb_and_dive():
    """A parabola of 30 m/s² leaves its chord by a d1 d2 / 2 at most: 30 m here, not the 390 m of the whole silence."""
    times = np.concatenate((np.arange(0.0, 20.0, 0.2), 30.0 + np.arange(0.0, 20.0, 0.2)))
    height = 166.0 + RNG.normal(0.0, 0.3, len(times))
    height[100] += 390.0
    assert spikes(times, height, CONDITIONING, acceleration=30.0).tolist() == [100]


def test_a_supply_may_sag_for_one_sample():
    volts = np.round(5.2 + RNG.normal(0.0, 0.01, len(TIME)), 2)
    volts[50] = 4.6
    volts[70] = 0.0
    assert spikes(TIME, volts, CONDITIONING, jump=1.0).tolist() == [70]


def test_too_short_a_series_has_no_spikes():
    assert len(spikes(np.arange(3.0), np.array([0.0, 99.0, 0.0]), CONDITIONING)) == 0


def test_a_frozen_altimeter_is_found():
    values = GLIDE.copy()
    values[200:215] = values[200]
    assert frozen(TIME, values, CONDITIONING).tolist() == list(range(201, 215))


def test_rest_is_not_frozen():
    """An altitude in whole metres stands still on the ground and for seconds in a slow glide; a filtered one, too."""
    coarse = np.round(np.where(TIME < 40, 0.0, 0.4 * (TIME - 40)) + RNG.normal(0.0, 0.1, len(TIME)))
    filtered = np.where(TIME < 40, 0.0, np.round(0.4 * (TIME - 40), 2))
    for values in (coarse, filtered):
        assert len(frozen(TIME, values, CONDITIONING)) == 0


def test_a_speed_that_stands_at_a_flying_value_has_stopped_and_one_at_rest_has_not():
    speed = np.round(9.0 + RNG.normal(0.0, 0.4, len(TIME)), 1)
    speed[300:] = speed[300]
    assert stopped_in_flight(TIME, speed, CONDITIONING).tolist() == list(range(301, len(TIME)))
    assert stopped_in_flight(TIME, np.where(TIME > 40.0, 0.3, speed), CONDITIONING).size == 0
    assert stopped_in_flight(TIME[:0], speed[:0], CONDITIONING).size == 0


def test_only_the_impossible_is_out_of_range():
    values = np.array([0.0, -3.0, 130.0, np.nan, 50.0])
    assert out_of_range(values, 0.0, 120.0).tolist() == [1, 2]
    assert out_of_range(np.array([-0.5, 121.0]), 0.0, 120.0).tolist() == []  # noise about the bounds
