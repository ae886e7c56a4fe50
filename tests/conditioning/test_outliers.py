"""Spikes are found; starts of the motor, stops, zooms and standing values are left alone."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.conditioning.outliers import frozen, not_ready, out_of_range, spikes, stood_still, stopped_in_flight
from analyzer.conditioning.tuning import CONDITIONING

RNG = np.random.default_rng(7)
START = RNG.bit_generator.state


@pytest.fixture(autouse=True)
def same_noise():
    """Each test draws the same noise, whichever ran before it."""
    RNG.bit_generator.state = START


TIME = np.arange(0.0, 100.0, 0.2)
GLIDE = np.round(150.0 - 0.5 * TIME + RNG.normal(0.0, 0.15, len(TIME)), 1)


@pytest.mark.parametrize("height", [80.0, -80.0, 3.0])
def test_a_single_spike_is_found(height):
    values = GLIDE.copy()
    values[[100, 333]] += height
    assert spikes(TIME, values, CONDITIONING).tolist() == [100, 333]


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


def test_an_altimeter_that_catches_up_by_a_leap_had_frozen():
    values = GLIDE.copy()
    values[100:300] = values[100]
    found = stood_still(TIME, values, CONDITIONING)
    assert found.tolist() == list(range(101, 300))
    assert not len(stood_still(TIME, GLIDE, CONDITIONING))


@pytest.mark.parametrize("every_s", [0.2, 1.0, 2.0])
@pytest.mark.parametrize("climb_m_s", [4.0, 15.0, 30.0])
def test_an_altimeter_that_rests_until_the_launch_has_not_frozen(every_s, climb_m_s):
    time_s = np.arange(0.0, 60.0, every_s)
    values = np.round(np.maximum(time_s - 30.3, 0.0) * climb_m_s, 1)
    assert not len(stood_still(time_s, values, CONDITIONING))


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


def test_zeros_before_the_altimeter_is_ready_are_found():
    values = np.concatenate((np.zeros(4), 350.0 + RNG.normal(0.0, 0.15, 60)))
    assert not_ready(0.5 * np.arange(64.0), values, CONDITIONING).tolist() == [0, 1, 2, 3]


def test_zeros_and_then_a_silence_are_found():
    times = np.concatenate(([0.0, 0.1, 0.2], 2.5 + 0.5 * np.arange(60.0)))
    values = np.concatenate((np.zeros(3), 350.0 + RNG.normal(0.0, 0.15, 60)))
    assert not_ready(times, values, CONDITIONING).tolist() == [0, 1, 2]


@pytest.mark.parametrize("rate_hz", [1.0, 5.0, 20.0])
def test_a_spike_as_first_reading_is_found(rate_hz):
    values = RNG.normal(0.0, 0.3, 400)
    values[0] -= 55.0
    assert not_ready(np.arange(400) / rate_hz, values, CONDITIONING).tolist() == [0]


@settings(max_examples=40, deadline=None)
@given(
    rate_hz=st.sampled_from([1.0, 2.0, 5.0, 10.0, 50.0]),
    starts_s=st.floats(0.0, 9.0),
    climb=st.floats(-40.0, 40.0),
    noise=st.floats(0.0, 0.6),
    seed=st.integers(0, 10_000),
)
def test_no_launch_and_no_dive_at_the_beginning_is_taken_for_a_sensor_not_ready(rate_hz, starts_s, climb, noise, seed):
    times = np.arange(0.0, 40.0, 1.0 / rate_hz)
    flown = climb * np.clip(times - starts_s, 0.0, 6.0) + np.random.default_rng(seed).normal(0.0, noise, len(times))
    assert len(not_ready(times, flown, CONDITIONING)) == 0
    assert len(not_ready(times, np.round(flown), CONDITIONING)) == 0


def test_a_pair_of_spikes_leaves_the_readings_before_it():
    values = RNG.normal(0.0, 0.2, 200)
    values[[20, 21]] += 90.0
    assert not {*range(20)} & {*not_ready(0.2 * np.arange(200), values, CONDITIONING).tolist()}
