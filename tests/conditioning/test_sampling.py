"""True update times: a held channel is recognised, a coarse or noisy one is not taken for held."""

import numpy as np
import pytest

from analyzer.conditioning.sampling import hold_period, pieces, quantum_of, updates
from analyzer.conditioning.tuning import CONDITIONING

TIME = np.arange(0.0, 120.0, 0.05)


def flight(time_s):
    return 2.0 * time_s + 10.0 * np.sin(time_s / 5.0)


def held(period, phase, quantum, noise, seed=0):
    own = np.arange(-phase, TIME[-1] + period, period)
    reading = flight(own) + np.random.default_rng(seed).normal(0.0, noise, len(own))
    reading = np.round(reading / quantum) * quantum
    return reading[np.searchsorted(own, TIME, side="right") - 1], own


@pytest.mark.parametrize(
    ("period", "quantum", "noise"), [(0.5, 0.1, 0.1), (0.25, 0.1, 0.05), (0.5, 1.0, 0.2), (0.2, 0.01, 0.1)]
)
def test_the_period_of_a_held_channel_comes_out(period, quantum, noise):
    values, _ = held(period, 0.13 * period, quantum, noise)
    assert hold_period(TIME, values, CONDITIONING) == pytest.approx(period, rel=0.12)


def test_updates_of_a_held_channel_are_where_they_were():
    values, own = held(0.5, 0.11, 0.1, 0.1)
    rows = np.flatnonzero(updates(TIME, values, CONDITIONING))
    assert len(rows) == pytest.approx(len(own), rel=0.05)
    late = TIME[rows] - own[np.searchsorted(own, TIME[rows] + 1e-9) - 1]
    assert np.quantile(late, 0.95) < 0.11  # rows are 0.05 s apart


def test_a_reading_held_over_two_rows_and_three_in_turn_counts_once():
    """Half a second in rows of a fifth: the third row of a reading is no reading of its own."""
    every = slice(None, None, 4)
    values, own = held(0.5, 0.11, 0.01, 0.1)
    assert hold_period(TIME[every], values[every], CONDITIONING) == pytest.approx(0.5, rel=0.05)
    assert np.count_nonzero(updates(TIME[every], values[every], CONDITIONING)) == pytest.approx(len(own), rel=0.05)


@pytest.mark.parametrize(("quantum", "noise"), [(0.1, 0.15), (1.0, 0.2), (1.0, 0.0), (0.01, 0.0)])
def test_a_channel_of_the_log_s_own_rate_is_not_held(quantum, noise):
    """Not even when a metre's steps stand still for many rows in a slow climb."""
    values = (
        flight(TIME) * 0.3 + np.random.default_rng(1).normal(0.0, noise, len(TIME)) if noise else flight(TIME) * 0.3
    )
    values = np.round(values / quantum) * quantum
    assert hold_period(TIME, values, CONDITIONING) == 0.0
    assert updates(TIME, values, CONDITIONING).all()


def test_a_sparse_channel_is_updated_where_it_has_values():
    values = np.full(len(TIME), np.nan)
    values[3::7] = flight(TIME[3::7])
    assert np.flatnonzero(updates(TIME, values, CONDITIONING)).tolist() == list(range(3, len(TIME), 7))


def test_a_motor_that_stands_still_is_not_held():
    current = np.where((TIME > 30) & (TIME < 60), 30.0, 0.0) + np.random.default_rng(2).normal(0.0, 0.1, len(TIME))
    assert hold_period(TIME, np.round(current, 1), CONDITIONING) == 0.0


@pytest.mark.parametrize(("quantum", "foot", "resolution"), [(1.0, 1.0, 1.0), (1.0, 0.1, 1.0), (0.1, 1.0, 0.3048)])
def test_metres_written_in_feet_keep_the_coarser_resolution(quantum, foot, resolution):
    metres = np.round((23.0 + flight(TIME)) / quantum) * quantum
    feet = np.round(metres / 0.3048 / foot) * foot
    assert quantum_of(feet * 0.3048) == pytest.approx(resolution, rel=0.01)


def test_values_of_no_resolution_have_none():
    assert quantum_of(np.random.default_rng(4).normal(100.0, 30.0, 2000)) == 0.0


def test_pieces_are_the_series_itself_when_it_is_short():
    short, long = np.arange(1000.0), np.arange(1_000_000.0)
    assert pieces(short) is short
    sample = pieces(long)
    assert len(sample) < 60_000
    assert sample[0] == 0.0
    assert sample[-1] == 999_999.0


def test_a_throttle_that_is_switched_stands_still_between_but_is_not_held():
    time_s = np.arange(0.0, 1300.0, 0.1)
    throttle = np.zeros(len(time_s))
    starts = (34.0, 113.0, 366.0, 390.0, 514.0, 706.0, 830.0, 944.0, 1088.0, 1200.0)
    lengths = (10.5, 7.5, 15.0, 16.0, 15.0, 8.1, 23.0, 1.3, 9.8, 8.6)
    levels = (1.0, 0.6, 0.6, 0.8, 0.7, 1.0, 0.6, 0.9, 0.7, 0.6)
    for start, lasts, level in zip(starts, lengths, levels, strict=True):
        throttle[(time_s >= start) & (time_s < start + lasts)] = level
    assert updates(time_s, throttle, CONDITIONING).all()


def test_spikes_hide_no_resolution_of_a_channel_with_few_values():
    rpm = np.repeat([0.0, 60.0, 120.0, 6600.0, 6660.0, 6720.0, 8400.0, 8460.0, 8520.0, 8580.0, 8640.0, 8700.0], 40)
    rpm[[30, 250]] = 12_783.5, 65_368.7
    assert quantum_of(rpm) == 60.0
