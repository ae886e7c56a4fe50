"""Leaps that no flight makes are found, and what they mean; launches, dives and zooms are left alone."""

import numpy as np
import pytest
from conditioning.steady_glide import GLIDE, RNG, TIME
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.conditioning.leaps import away_and_back, cut_off, new_levels, not_ready, stood_still
from analyzer.conditioning.tuning import CONDITIONING


def test_an_altimeter_that_catches_up_by_a_leap_had_frozen():
    values = GLIDE.copy()
    values[100:300] = values[100]
    found = stood_still(TIME, values, CONDITIONING)
    assert found.tolist() == list(range(101, 300))
    assert not len(stood_still(TIME, GLIDE, CONDITIONING))


def test_what_is_still_said_from_before_a_silence_is_found():
    """The link comes back after 38 s of a climb: one row more holds what was heard before."""
    before, after = np.arange(0.0, 20.0, 0.5), np.arange(58.0, 90.0, 0.5)
    times = np.concatenate((before, after))
    values = (8.0 * np.minimum(times, 60.0) + RNG.normal(0.0, 0.2, len(times))).round(1)
    values[len(before)] = values[len(before) - 1]
    assert stood_still(times, values, CONDITIONING).tolist() == [len(before)]


@pytest.mark.parametrize("every_s", [0.2, 1.0, 2.0])
@pytest.mark.parametrize("climb_m_s", [4.0, 15.0, 30.0])
def test_an_altimeter_that_rests_until_the_launch_has_not_frozen(every_s, climb_m_s):
    time_s = np.arange(0.0, 60.0, every_s)
    values = np.round(np.maximum(time_s - 30.3, 0.0) * climb_m_s, 1)
    assert not len(stood_still(time_s, values, CONDITIONING))


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


@pytest.mark.parametrize("rate_hz", [1.0, 5.0, 20.0])
@pytest.mark.parametrize("count", [1, 2, 3])
@pytest.mark.parametrize("level", [0.0, 700.0])
def test_what_the_altimeter_reads_while_the_power_fails_is_found(rate_hz, count, level):
    values = 350.0 + RNG.normal(0.0, 0.3, 400)
    values[-count:] = level
    assert cut_off(np.arange(400) / rate_hz, values, CONDITIONING).tolist() == list(range(400 - count, 400))


@settings(max_examples=40, deadline=None)
@given(
    rate_hz=st.sampled_from([1.0, 2.0, 5.0, 10.0, 50.0]),
    starts_s=st.floats(0.0, 9.0),
    climb=st.floats(-40.0, 40.0),
    noise=st.floats(0.0, 0.6),
    seed=st.integers(0, 10_000),
)
def test_no_launch_and_no_dive_at_the_ends_is_taken_for_a_sensor_without_power(rate_hz, starts_s, climb, noise, seed):
    times = np.arange(0.0, 40.0, 1.0 / rate_hz)
    flown = climb * np.clip(times - starts_s, 0.0, 6.0) + np.random.default_rng(seed).normal(0.0, noise, len(times))
    assert len(not_ready(times, flown, CONDITIONING)) == 0
    assert len(not_ready(times, np.round(flown), CONDITIONING)) == 0
    assert len(cut_off(-times[::-1], flown[::-1], CONDITIONING)) == 0


def test_a_pair_of_spikes_leaves_the_readings_before_it():
    values = RNG.normal(0.0, 0.2, 200)
    values[[20, 21]] += 90.0
    assert not {*range(20)} & {*not_ready(0.2 * np.arange(200), values, CONDITIONING).tolist()}


@pytest.mark.parametrize("rows", [slice(200, 203), slice(200, 300)])
@pytest.mark.parametrize("level", ["zero", "elsewhere"])
def test_a_sensor_not_heard_for_a_while_is_no_dive_and_no_zoom(rows, level):
    values = GLIDE.copy()
    values[rows] = 0.0 if level == "zero" else values[rows] + 60.0
    assert away_and_back(TIME, values, CONDITIONING).tolist() == list(range(rows.start, rows.stop))
    values[rows] = np.nan
    heard = np.isfinite(values)
    assert new_levels(TIME[heard], values[heard], CONDITIONING)[0].size == 0


@pytest.mark.parametrize("at", [100, 250])
@pytest.mark.parametrize("silent_s", [0.0, 4.0])
def test_an_altimeter_that_restarts_in_flight_has_a_new_zero(at, silent_s):
    """It reads zero where the model then is, and far below when it has landed."""
    time_s = np.arange(0.0, 400.0, 0.2)
    height = np.maximum(150.0 - 0.5 * time_s, 0.0)
    heard = (time_s < time_s[at]) | (time_s >= time_s[at] + silent_s)
    restart = np.flatnonzero(time_s >= time_s[at] + silent_s)[0]
    readings = height + RNG.normal(0.0, 0.15, time_s.size) - height[restart] * (time_s >= time_s[restart])
    leaps, steps = new_levels(time_s[heard], readings[heard], CONDITIONING)
    assert leaps.tolist() == [at - 1]
    assert steps[0] == pytest.approx(-height[restart], abs=1.0)


def test_a_landing_in_a_silence_is_no_new_zero():
    time_s = np.arange(0.0, 120.0, 0.2)
    height = np.maximum(40.0 - 0.5 * time_s, 0.0) * (time_s < 30.0)
    heard = (time_s < 30.0) | (time_s > 34.0)
    assert new_levels(time_s[heard], height[heard], CONDITIONING)[0].size == 0


@settings(max_examples=40, deadline=None)
@given(
    rate_hz=st.sampled_from([1.0, 2.0, 5.0, 10.0, 50.0]),
    climb=st.floats(-40.0, 40.0),
    lasts_s=st.floats(1.0, 8.0),
    noise=st.floats(0.0, 1.0),
    seed=st.integers(0, 10_000),
)
def test_no_dive_and_no_zoom_is_a_leap(rate_hz, climb, lasts_s, noise, seed):
    times = np.arange(0.0, 60.0, 1.0 / rate_hz)
    flown = 300.0 + climb * np.clip(times - 20.0, 0.0, lasts_s)
    readings = np.round(flown + np.random.default_rng(seed).normal(0.0, noise, times.size), 1)
    assert away_and_back(times, readings, CONDITIONING).size == 0
    assert new_levels(times, readings, CONDITIONING)[0].size == 0
