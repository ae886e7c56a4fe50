"""Wind from circles: closed form, recovery from noise, refusals."""

import math

import numpy as np
import pytest

from analyzer.circling.wind import Wind, mean_wind, wind_from_circles, wind_from_legs, wind_from_speed_and_heading
from analyzer.errors import NoAnswerError


def _circling(wind=(3.0, -2.0), airspeed=8.5, period_s=9.4, circles=3.0, rate_hz=5.0, noise=0.0, seed=0):
    time = np.arange(0.0, circles * period_s, 1.0 / rate_hz)
    heading = 2.0 * np.pi * time / period_s + 0.7
    rng = np.random.default_rng(seed)
    east = airspeed * np.sin(heading) + wind[0] + noise * rng.standard_normal(time.size)
    north = airspeed * np.cos(heading) + wind[1] + noise * rng.standard_normal(time.size)
    return time, heading, east, north


def test_closed_form():
    """The textbook rule: half the sum of the fastest and slowest ground speed is the airspeed, half the difference the
    wind, which blows along the track of the fastest; exact for a steady circle."""
    time, _, east, north = _circling(rate_hz=50.0)
    speed = np.hypot(east, north)
    fastest, slowest = speed.max(), speed.min()
    towards = math.degrees(math.atan2(east[speed.argmax()], north[speed.argmax()]))
    wind = wind_from_circles(time, east, north)
    assert wind.airspeed_m_s == pytest.approx((fastest + slowest) / 2.0, abs=0.001)
    assert wind.speed_m_s == pytest.approx((fastest - slowest) / 2.0, abs=0.001)
    assert (wind.from_deg - towards - 180.0 + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1.0)


@pytest.mark.parametrize("towards", [(0.0, 5.0), (5.0, 0.0), (0.0, -5.0), (-4.0, 3.0)])
def test_parts_and_direction(towards):
    time, _, east, north = _circling(wind=towards)
    wind = wind_from_circles(time, east, north)
    assert (wind.east_m_s, wind.north_m_s) == pytest.approx(towards, abs=1e-6)


def test_a_wind_from_the_west_is_named_so():
    time, _, east, north = _circling(wind=(4.0, 0.0))
    assert wind_from_circles(time, east, north).from_deg == pytest.approx(270.0)


def test_wind_stronger_than_the_aircraft():
    time, _, east, north = _circling(wind=(12.0, 0.0), airspeed=8.0)
    wind = wind_from_circles(time, east, north)
    assert (wind.speed_m_s, wind.airspeed_m_s) == pytest.approx((12.0, 8.0))


def test_two_noisy_circles_are_enough():
    errors = []
    for seed in range(40):
        time, _, east, north = _circling(circles=2.1, rate_hz=1.0, noise=0.8, seed=seed)
        wind = wind_from_circles(time, east, north)
        errors.append(math.hypot(wind.east_m_s - 3.0, wind.north_m_s + 2.0))
    assert np.median(errors) < 0.5


def test_standard_errors_cover():
    """Of 200 noisy climbs, 68 % should lie within one standard error of the truth."""
    within = []
    for seed in range(200):
        time, _, east, north = _circling(circles=6.0, rate_hz=4.0, noise=1.0, seed=seed)
        wind = wind_from_circles(time, east, north)
        within.append(abs(wind.speed_m_s - math.hypot(3.0, 2.0)) < wind.speed_se_m_s)
    assert 0.5 < np.mean(within) < 0.8


def test_position_jumps_do_not_pull():
    time, _, east, north = _circling(circles=4.0)
    east[20:23] += 60.0
    wind = wind_from_circles(time, east, north)
    assert math.hypot(wind.east_m_s - 3.0, wind.north_m_s + 2.0) < 0.1


def test_straightening_to_recentre_moves_the_track_not_the_wind():
    time, heading, _, _ = _circling(circles=4.0)
    heading = heading - np.interp(time, [10.0, 13.0], [0.0, 2.0])  # three slow seconds, pushed to one side
    wind = wind_from_circles(time, 8.5 * np.sin(heading) + 3.0, 8.5 * np.cos(heading) - 2.0)
    assert (wind.east_m_s, wind.north_m_s) == pytest.approx((3.0, -2.0), abs=0.01)


def test_logged_airspeed_gives_its_scale():
    time, heading, _, _ = _circling(circles=3.0)
    true = 8.5 + 1.5 * np.sin(heading + 0.4)  # speed that depends on the heading would bias the plain circle
    east, north = true * np.sin(heading) + 3.0, true * np.cos(heading) - 2.0
    wind = wind_from_circles(time, east, north, airspeed_m_s=true / 1.08)
    assert wind.airspeed_scale == pytest.approx(1.08, abs=1e-4)
    assert (wind.east_m_s, wind.north_m_s) == pytest.approx((3.0, -2.0), abs=1e-4)


def test_compass_heading_and_ground_speed():
    time, heading, east, north = _circling()
    wind = wind_from_speed_and_heading(time, np.hypot(east, north), np.degrees(heading) % 360.0)
    assert (wind.east_m_s, wind.north_m_s, wind.airspeed_m_s) == pytest.approx((3.0, -2.0, 8.5), abs=1e-6)


@pytest.mark.parametrize("circles", [0.3, 0.8])
def test_part_of_a_circle_is_refused(circles):
    time, heading, east, north = _circling(circles=circles)
    with pytest.raises(NoAnswerError, match="too few"):
        wind_from_circles(time, east, north)
    with pytest.raises(NoAnswerError, match="too few"):
        wind_from_speed_and_heading(time, np.hypot(east, north), np.degrees(heading))


def test_standing_still_is_refused():
    time = np.arange(0.0, 30.0, 0.5)
    with pytest.raises(NoAnswerError):
        wind_from_circles(time, np.zeros_like(time), np.zeros_like(time))
    with pytest.raises(NoAnswerError):
        wind_from_circles(time, np.full_like(time, np.nan), np.zeros_like(time))


def _legs(directions_deg, seed=0):
    """One sample a second on straight legs of 20 s at changing airspeed."""
    rng = np.random.default_rng(seed)
    heading = np.radians(np.repeat(directions_deg, 20)) + 0.05 * rng.standard_normal(20 * len(directions_deg))
    airspeed = np.repeat(rng.uniform(8.0, 14.0, len(directions_deg)), 20)
    time = np.arange(float(heading.size))
    east, north = airspeed * np.sin(heading) + 3.0, airspeed * np.cos(heading) - 2.0
    return time, east, north, airspeed / 1.05


def test_legs_in_many_directions_with_airspeed():
    wind = wind_from_legs(*_legs([10.0, 170.0, 280.0, 60.0, 220.0, 330.0, 120.0]))
    assert (wind.east_m_s, wind.north_m_s) == pytest.approx((3.0, -2.0), abs=1e-6)
    assert wind.airspeed_scale == pytest.approx(1.05)


def test_an_airspeed_that_reads_nought_is_refused():
    """A pitot that failed in flight: the air report of such a log ended in a division by zero."""
    time, east, north, airspeed = _legs([10.0, 170.0, 280.0, 60.0, 220.0, 330.0, 120.0])
    for wind in (wind_from_legs, wind_from_circles):
        with pytest.raises(NoAnswerError, match="airspeed"):
            wind(time, east, north, 0.0 * airspeed)


def test_legs_one_way_are_refused():
    with pytest.raises(NoAnswerError, match="same way"):
        wind_from_legs(*_legs([80.0, 95.0, 110.0, 90.0]))


def test_in_the_mean_every_part_counts_by_its_circles():
    """Three circles in a wind of 4 m/s from the west, one in a wind of 4 m/s from the south."""
    west = Wind(4.0, 0.2, 270.0, 2.0, 9.0, 1.0, 0.5, 3.0)
    south = Wind(4.0, 0.2, 180.0, 2.0, 11.0, 1.2, 0.7, 1.0)
    mean = mean_wind([west, south])
    assert (mean.east_m_s, mean.north_m_s) == pytest.approx((3.0, 1.0))
    assert (mean.airspeed_m_s, mean.airspeed_scale, mean.residual_m_s) == pytest.approx((9.5, 1.05, 0.55))
    assert mean.speed_se_m_s == pytest.approx(0.2 * math.hypot(0.75, 0.25))
    assert mean.circles == 4.0
    assert mean_wind([]) is None
