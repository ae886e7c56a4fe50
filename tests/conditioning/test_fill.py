"""Silences: short ones are bridged, long ones stay missing, labels hold."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.conditioning.fill import bridge, hold_label
from analyzer.conditioning.tuning import CONDITIONING

TIME = np.arange(0.0, 60.0, 0.2)


def readings(values):
    return np.isfinite(values)


def test_a_dropout_is_bridged_in_line():
    values = 2.0 * TIME
    values[50:54] = np.nan
    assert bridge(TIME, values, readings(values), "continuous", CONDITIONING) == pytest.approx(2.0 * TIME)


def test_a_long_silence_stays_missing():
    values = 2.0 * TIME
    values[50:100] = np.nan
    filled = bridge(TIME, values, readings(values), "continuous", CONDITIONING)
    assert np.isnan(filled[50:100]).all()
    assert np.isfinite(filled[:50]).all()
    assert np.isfinite(filled[100:]).all()


def test_a_slow_sensor_is_bridged_over_its_own_period():
    values = np.full(len(TIME), np.nan)
    values[::15] = TIME[::15]
    filled = bridge(TIME, values, readings(values), "continuous", CONDITIONING)
    assert filled == pytest.approx(np.minimum(TIME, TIME[285]))


def test_an_angle_takes_the_short_way_round():
    values = np.full(len(TIME), 350.0)
    values[100:] = 10.0
    values[97:100] = np.nan
    filled = bridge(TIME, values, readings(values), "angle", CONDITIONING)
    assert filled[97:100] == pytest.approx([355.0, 0.0, 5.0], abs=1e-6)


def test_a_channel_without_a_reading_is_missing():
    assert np.isnan(
        bridge(TIME, np.full(len(TIME), np.nan), np.zeros(len(TIME), dtype=bool), "continuous", CONDITIONING)
    ).all()


def test_a_label_holds():
    assert hold_label(pd.Series([None, "launch", None, "cruise", None])).tolist() == [
        "launch", "launch", "launch", "cruise", "cruise",
    ]  # fmt: skip


@given(st.lists(st.one_of(st.none(), st.floats(-1e3, 1e3)), min_size=2, max_size=60))
def test_what_is_there_is_never_changed(raw):
    values = np.array([np.nan if value is None else value for value in raw], dtype=float)
    time_s = np.arange(len(values)) * 0.3
    rows = readings(values)
    filled = bridge(time_s, values, rows, "continuous", CONDITIONING)
    assert filled[rows].tolist() == values[rows].tolist()
    if rows.any():
        known = filled[np.isfinite(filled)]
        assert known.min() >= values[rows].min() - 1e-9
        assert known.max() <= values[rows].max() + 1e-9
