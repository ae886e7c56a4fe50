"""Lift over height, and time to centre."""

import numpy as np
import pytest

from analyzer.soaring.lift_profile import lift_profile, time_to_centre_s

TIME = np.arange(0.0, 200.0, 0.5)


def test_profile_finds_the_stronger_half():
    climb = np.where(TIME < 100.0, 1.0, 2.0)
    height = 50.0 + np.concatenate([[0.0], np.cumsum(climb[:-1] * 0.5)])
    bands = lift_profile(TIME, height, climb, 9.5)
    assert {band.high_m - band.low_m for band in bands} == {20.0}  # a circle gives 14 m
    assert all(band.climb_m_s == pytest.approx(1.0, abs=0.05) for band in bands if band.high_m <= 140.0)
    assert all(band.climb_m_s == pytest.approx(2.0, abs=0.05) for band in bands if band.low_m >= 160.0)
    assert sum(band.time_s for band in bands) == pytest.approx(200.0, abs=5.0)


def test_bands_are_round_heights_and_one_circle_high():
    bands = lift_profile(TIME, 4.0 * TIME, np.full(TIME.size, 4.0), 20.0)
    assert bands[0].high_m - bands[0].low_m == 100.0
    assert bands[0].low_m % 100.0 == 0.0


def test_standard_error_counts_circles_not_samples():
    rng = np.random.default_rng(0)
    climb = 1.0 + 0.5 * np.sin(TIME) + 0.1 * rng.standard_normal(TIME.size)
    band = lift_profile(TIME, np.full(TIME.size, 5.0), climb, 10.0)[0]
    assert band.climb_se_m_s == pytest.approx(climb.std() / np.sqrt(20.0), rel=0.01)
    assert lift_profile(TIME[:30], np.full(30, 5.0), climb[:30], 10.0)[0].climb_se_m_s is None


def test_nothing_to_profile():
    assert lift_profile(np.empty(0), np.empty(0), np.empty(0)) == ()
    nan = np.full(5, np.nan)
    assert lift_profile(nan, nan, nan) == ()


def test_time_to_centre():
    climb = np.where(TIME < 30.0, 0.4, 2.0)
    height = np.concatenate([[0.0], np.cumsum(climb[:-1] * 0.5)])
    assert time_to_centre_s(TIME, height, 10.0) == pytest.approx(27.5, abs=3.0)
    steady = np.linspace(0.0, 100.0, TIME.size)
    assert time_to_centre_s(TIME, steady, 10.0) == 0.0


def test_too_short_to_speak_of_centring():
    assert time_to_centre_s(TIME[:40], TIME[:40], 10.0) is None


def test_what_does_not_climb_has_no_centre():
    """A stretch that the pilot marked as a climb need not be one."""
    assert time_to_centre_s(TIME, -TIME, 10.0) is None
