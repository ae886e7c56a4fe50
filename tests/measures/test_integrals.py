from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.measures.integrals import SECONDS_PER_HOUR, integrate, signal_of, step_at


def signal(time, values):
    made = signal_of(np.asarray(time, dtype=float), np.asarray(values, dtype=float))
    assert made is not None
    return made


def test_thirty_six_amperes_for_a_hundred_seconds_are_one_ampere_hour():
    # By definition of the hour (SI brochure, 9th edition 2019, table 8): 1 Ah = 3600 C.
    charge = integrate(signal([0.0, 40.0, 100.0], [36.0, 36.0, 36.0]), 0.0, 100.0)
    assert charge.value / SECONDS_PER_HOUR == pytest.approx(1.0, rel=1e-15)


def test_a_ramp_is_integrated_exactly_between_its_samples():
    # Closed form of the piecewise linear signal 2 t: integral from a to b is b^2 - a^2.
    ramp = signal([0.0, 0.7, 1.1, 3.0, 4.0], [0.0, 1.4, 2.2, 6.0, 8.0])
    assert integrate(ramp, 0.35, 3.5).value == pytest.approx(3.5**2 - 0.35**2, rel=1e-14)


def test_charge_of_an_exponential_current_stays_within_the_rule_s_error_bound():
    # i = I (1 - exp(-t/tau)): charge I (T - tau (1 - exp(-T/tau))); bound n d^3 max|i''| / 12 = T d^2 I / (12 tau^2).
    peak, tau, length, step = 40.0, 2.0, 20.0, 0.1
    time = np.arange(0.0, length + step / 2, step)
    charge = integrate(signal(time, peak * -np.expm1(-time / tau)), 0.0, length).value
    exact = peak * (length + tau * np.expm1(-length / tau))
    assert abs(charge - exact) <= length * step**2 * peak / (12.0 * tau**2)
    assert charge != pytest.approx(exact, rel=1e-9)


def test_energy_at_falling_voltage_in_closed_form():
    # u = 16 - t/10, i = 30 over 20 s: energy 30 (16 * 20 - 20^2 / 20) = 9000 J = 2.5 Wh.
    time = np.linspace(0.0, 20.0, 9)
    energy = integrate(signal(time, 30.0 * (16.0 - time / 10.0)), 0.0, 20.0)
    assert energy.value / SECONDS_PER_HOUR == pytest.approx(2.5, rel=1e-14)


@given(st.lists(st.floats(0.01, 5.0), min_size=2, max_size=40), st.data())
def test_parts_add_up_to_the_whole(steps, data):
    time = np.concatenate(([0.0], np.cumsum(steps)))
    values = np.array(data.draw(st.lists(st.floats(-50.0, 50.0), min_size=time.size, max_size=time.size)))
    start, middle, end = sorted(data.draw(st.lists(st.floats(-1.0, time[-1] + 1.0), min_size=3, max_size=3)))
    whole = signal(time, values)
    parts = integrate(whole, start, middle).value + integrate(whole, middle, end).value
    assert integrate(whole, start, end).value == pytest.approx(parts, abs=1e-8)


@settings(max_examples=50)
@given(st.lists(st.floats(0.01, 5.0), min_size=1, max_size=30), st.data())
def test_agrees_with_numpy_s_rule_over_the_whole_signal(steps, data):
    time = np.concatenate(([0.0], np.cumsum(steps)))
    values = np.array(data.draw(st.lists(st.floats(-50.0, 50.0), min_size=time.size, max_size=time.size)))
    expected = float(np.trapezoid(values, time))
    assert integrate(signal(time, values), 0.0, float(time[-1])).value == pytest.approx(expected, abs=1e-8)


def test_beyond_its_readings_the_signal_is_constant():
    assert integrate(signal([1.0, 2.0], [3.0, 5.0]), 0.0, 4.0).value == pytest.approx(3.0 + 4.0 + 10.0)


def test_silences_are_bridged_and_a_long_one_is_told():
    time = np.arange(0.0, 10.0, 0.1)
    values = np.full(time.size, 20.0)
    values[30:70] = np.nan
    result = integrate(signal(time, values), 0.0, 9.0)
    assert result.value == pytest.approx(180.0)
    assert result.in_gaps == pytest.approx(20.0 * 4.1)


@settings(max_examples=50)
@given(st.lists(st.floats(0.01, 5.0), min_size=1, max_size=30), st.data())
def test_what_lies_in_gaps_is_what_is_left_without_the_narrow_steps(steps, data):
    time = np.concatenate(([0.0], np.cumsum(steps)))
    values = np.array(data.draw(st.lists(st.floats(-50.0, 50.0), min_size=time.size, max_size=time.size)))
    start, end = sorted(data.draw(st.lists(st.floats(-1.0, time[-1] + 1.0), min_size=2, max_size=2, unique=True)))
    whole = signal(time, values)
    narrow = [
        integrate(whole, max(before, start), min(after, end)).value
        for before, after in pairwise(time)
        if after - before <= whole.gap_s
    ]
    result = integrate(whole, start, end)
    assert result.in_gaps == pytest.approx(result.value - sum(narrow), abs=1e-8)


def test_a_dropped_row_is_no_gap():
    time = np.array([0.0, 0.1, 0.3, 0.4, 0.5])
    assert integrate(signal(time, np.ones(5)), 0.0, 0.5).in_gaps == 0.0


def test_nothing_between_equal_or_swapped_bounds():
    assert integrate(signal([0.0, 1.0], [1.0, 1.0]), 0.5, 0.5).value == 0.0
    assert integrate(signal([0.0, 1.0], [1.0, 1.0]), 0.8, 0.2).value == 0.0


def test_a_channel_without_readings_is_no_signal():
    assert signal_of(np.arange(3.0), np.full(3, np.nan)) is None


def test_one_reading_is_a_constant():
    assert integrate(signal([5.0], [2.0]), 0.0, 10.0).value == pytest.approx(20.0)


def test_step_at_an_instant_is_that_between_its_neighbours():
    uneven = signal([0.0, 1.0, 3.0], [0.0, 0.0, 0.0])
    assert [step_at(uneven, at) for at in (-1.0, 0.5, 2.0, 9.0)] == [1.0, 1.0, 2.0, 2.0]
