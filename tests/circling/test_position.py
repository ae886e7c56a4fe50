"""Positions: scale of the plane, jumps and frozen stretches, velocity from fixes."""

import numpy as np
import pytest

from analyzer.circling.position import ground_velocity_m_s, hodograph_shrinkage, metres_per_degree, track_of


@pytest.mark.parametrize(
    ("latitude", "east_m", "north_m"),
    [(0.0, 111_320, 110_574), (45.0, 78_847, 111_132), (60.0, 55_800, 111_412)],
)
def test_length_of_a_degree(latitude, east_m, north_m):
    """WGS 84 lengths as tabulated in the public "Length of a degree" tables (0, 45 and 60 degrees), rounded to 1 m.

    From memory; 111.320/110.574, 78.847/111.132 and 55.800/111.412 km.
    """
    assert metres_per_degree(latitude) == pytest.approx((east_m, north_m), abs=1.0)


def _fixes(seconds=120.0, rate_hz=5.0, noise_m=0.5, speed=9.0, period_s=10.0, wind=(2.0, -1.0), seed=0):
    time = np.arange(0.0, seconds, 1.0 / rate_hz)
    rng = np.random.default_rng(seed)
    angle = 2.0 * np.pi * time / period_s
    radius = speed * period_s / (2.0 * np.pi)
    east = wind[0] * time - radius * np.cos(angle) + noise_m * rng.standard_normal(time.size)
    north = wind[1] * time + radius * np.sin(angle) + noise_m * rng.standard_normal(time.size)
    per_east, per_north = metres_per_degree(47.0)
    return time, 47.0 + north / per_north, 8.0 + east / per_east


def _track(time, latitude, longitude, airborne=True):
    return track_of(time, latitude, longitude, np.full(time.size, airborne))


def test_clean_positions_pass_unchanged():
    time, latitude, longitude = _fixes()
    track, notices = _track(time, latitude, longitude)
    assert notices == ()
    assert np.isfinite(track.east_m).all()
    back = track.to_degrees(track.east_m[50], track.north_m[50])
    assert back == pytest.approx((latitude[50], longitude[50]), abs=1e-6)


@pytest.mark.parametrize("length", [1, 7, 60])
def test_jump_is_set_aside_and_the_rest_kept(length):
    time, latitude, longitude = _fixes()
    latitude[200 : 200 + length] += 0.02  # 2 km
    track, notices = _track(time, latitude, longitude)
    assert [notice.code for notice in notices] == ["position-jump"]
    assert np.flatnonzero(np.isnan(track.east_m)).tolist() == list(range(200, 200 + length))


def test_jump_at_the_start_does_not_condemn_the_flight():
    time, latitude, longitude = _fixes()
    latitude[:20] += 0.5
    track, _ = _track(time, latitude, longitude)
    assert np.isnan(track.east_m[:20]).all()
    assert np.isfinite(track.east_m[20:]).all()


def test_no_fix_yet_is_not_the_gulf_of_guinea():
    time, latitude, longitude = _fixes()
    latitude[:30] = longitude[:30] = 0.0
    track, _ = _track(time, latitude, longitude)
    assert np.isnan(track.east_m[:30]).all()
    assert abs(track.east_m[40]) < 100.0


def test_frozen_in_flight_is_set_aside_but_standing_on_the_ground_is_not():
    time, latitude, longitude = _fixes()
    latitude[100:160], longitude[100:160] = latitude[100], longitude[100]
    track, notices = _track(time, latitude, longitude)
    assert "position-frozen" in [notice.code for notice in notices]
    assert np.isnan(track.east_m[101:160]).all()
    _, notices = _track(time, latitude, longitude, airborne=False)
    assert "position-frozen" not in [notice.code for notice in notices]


def test_standing_up_to_the_launch_is_no_frozen_fix():
    """The launch is found a second early: "frozen for 1 s of flight" stood in many a log."""
    time, latitude, longitude = _fixes()
    latitude[:50], longitude[:50] = latitude[50], longitude[50]
    _, notices = track_of(time, latitude, longitude, time >= 9.0)
    assert notices == ()


def test_frozen_throughout_is_no_track():
    time, latitude, longitude = _fixes()
    track, notices = _track(time, np.full_like(latitude, 47.0), np.full_like(longitude, 8.0))
    assert track is None
    assert notices


def test_velocity_from_noisy_fixes():
    track, _ = _track(*_fixes(noise_m=1.0))
    _, east, north = ground_velocity_m_s(track, 0.0, 120.0, 2.5)
    assert (np.mean(east), np.mean(north)) == pytest.approx((2.0, -1.0), abs=0.15)
    through_air = np.hypot(east - 2.0, north + 1.0)
    assert np.median(through_air) / hodograph_shrinkage(2.5, 10.0, 0.2) == pytest.approx(9.0, rel=0.03)


@pytest.mark.parametrize(("rate_hz", "window_s"), [(5.0, 2.5), (1.0, 3.75), (1.0, 3.0), (0.5, 6.0)])
def test_shrinkage_is_that_of_the_velocities_found(rate_hz, window_s):
    track, _ = _track(*_fixes(seconds=300.0, rate_hz=rate_hz, noise_m=0.0, period_s=20.0, wind=(0.0, 0.0)))
    _, east, north = ground_velocity_m_s(track, 0.0, 300.0, window_s)
    inner = slice(10, -10)
    expected = 9.0 * hodograph_shrinkage(window_s, 20.0, 1.0 / rate_hz)
    assert np.hypot(east, north)[inner] == pytest.approx(expected, rel=0.01)


def test_shrinkage_towards_many_fixes():
    x = np.pi * 3.0 / 12.0
    assert hodograph_shrinkage(3.0, 12.0, 0.001) == pytest.approx(3.0 * (np.sin(x) - x * np.cos(x)) / x**3, rel=1e-3)


def test_velocity_needs_positions():
    track, _ = _track(*_fixes())
    time, east, north = ground_velocity_m_s(track, 500.0, 600.0, 2.5)
    assert time.size == east.size == north.size == 0
