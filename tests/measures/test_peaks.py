from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.ndimage import median_filter

from analyzer.measures.peaks import highest_mean, steadied


@given(st.lists(st.floats(-100.0, 100.0), min_size=3, max_size=50))
def test_running_median_as_in_a_general_library(values):
    series = np.array(values)
    np.testing.assert_array_equal(steadied(series), median_filter(series, 3, mode="nearest"))


def test_one_sample_alone_is_no_peak():
    assert steadied(np.array([1.0, 1.0, 9.0, 1.0, 1.0])).max() == 1.0
    assert steadied(np.array([1.0, 8.0, 9.0, 1.0, 1.0])).max() == 8.0


@given(st.lists(st.floats(0.05, 2.0), min_size=4, max_size=30), st.data())
def test_highest_mean_is_that_of_the_best_window_on_a_fine_grid(steps, data):
    time = np.concatenate(([0.0], np.cumsum(steps)))
    values = np.array(data.draw(st.lists(st.floats(0.0, 60.0), min_size=time.size, max_size=time.size)))
    over = 0.4 * time[-1]
    mean, at = highest_mean(time, values, over)
    fine = np.linspace(0.0, time[-1] - over, 400)
    area = np.concatenate(([0.0], np.cumsum(np.diff(time) * (values[1:] + values[:-1]) / 2)))

    def until(instant):
        left = np.clip(np.searchsorted(time, instant, side="right") - 1, 0, time.size - 2)
        reached = np.interp(instant, time, values)
        return area[left] + (instant - time[left]) * (values[left] + reached) / 2

    brute = (until(fine + over) - until(fine)) / over
    # Between samples the mean is a parabola of the window's place: the vertex may stand a little above both ends.
    largest = np.abs(np.diff(values) / np.diff(time)).max() * np.max(steps) / over
    assert brute.max() <= mean + 0.25 * largest * np.max(steps) + 1e-9
    assert mean == pytest.approx((until(np.array([at + over])) - until(np.array([at])))[0] / over, abs=1e-9)


def test_a_series_shorter_than_the_window_gives_its_own_mean():
    mean, at = highest_mean(np.array([2.0, 3.0, 5.0]), np.array([10.0, 20.0, 20.0]), 10.0)
    assert mean == pytest.approx((15.0 + 40.0) / 3.0)
    assert at == 2.0


def test_one_sample_is_its_own_mean():
    assert highest_mean(np.array([4.0]), np.array([7.0]), 1.0) == (7.0, 4.0)
