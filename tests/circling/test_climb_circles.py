"""Circles of one climb from whatever the log has."""

import numpy as np
import pytest

from analyzer.circling.climb_circles import circles_of_climb
from analyzer.circling.position import metres_per_degree, track_of

TIME = np.arange(0.0, 90.0, 0.2)
WIND = (3.0, -2.0)
SPEED, PERIOD = 8.5, 9.4
HEADING = 2.0 * np.pi * TIME / PERIOD
EAST = WIND[0] * TIME - SPEED * PERIOD / (2.0 * np.pi) * np.cos(HEADING)
NORTH = WIND[1] * TIME + SPEED * PERIOD / (2.0 * np.pi) * np.sin(HEADING)
GROUND_SPEED = np.hypot(SPEED * np.sin(HEADING) + WIND[0], SPEED * np.cos(HEADING) + WIND[1])
COURSE = np.arctan2(SPEED * np.sin(HEADING) + WIND[0], SPEED * np.cos(HEADING) + WIND[1])
CLIMB = 1.5 + 0.8 * np.sin(HEADING + 0.3)


def _track():
    per_east, per_north = metres_per_degree(47.0)
    rng = np.random.default_rng(1)
    noise = 0.5 * rng.standard_normal((2, TIME.size))
    latitude, longitude = 47.0 + (NORTH + noise[0]) / per_north, 8.0 + (EAST + noise[1]) / per_east
    return track_of(TIME, latitude, longitude, np.ones(TIME.size, dtype=bool))[0]


def _check_wind(wind, tolerance):
    assert (wind.east_m_s, wind.north_m_s) == pytest.approx(WIND, abs=tolerance)


def test_from_position():
    circles = circles_of_climb(TIME, {"climb_m_s": CLIMB}, 0.0, 90.0, _track())
    assert circles.turning.source == "track"
    assert circles.turning.direction == circles.circle.direction == "right"
    assert circles.turning.period_s == pytest.approx(PERIOD, rel=0.02)
    _check_wind(circles.wind, 0.2)
    assert circles.airspeed_m_s == pytest.approx(SPEED, rel=0.03)
    assert circles.circle.radius_m == pytest.approx(12.7, abs=0.3)
    assert circles.bank_deg == pytest.approx(30.1, abs=1.0)


def test_logged_airspeed_is_preferred_and_its_scale_told():
    channels = {"climb_m_s": CLIMB, "airspeed_m_s": np.full(TIME.size, 8.0)}
    circles = circles_of_climb(TIME, channels, 0.0, 90.0, _track())
    assert circles.airspeed_m_s == pytest.approx(8.0)
    assert circles.wind.airspeed_scale == pytest.approx(SPEED / 8.0, rel=0.03)


@pytest.mark.parametrize("angle", [HEADING, COURSE], ids=["nose", "course"])
def test_from_ground_speed_and_either_heading(angle):
    channels = {"ground_speed_m_s": GROUND_SPEED, "heading_deg": np.degrees(angle) % 360.0, "climb_m_s": CLIMB}
    circles = circles_of_climb(TIME, channels, 0.0, 90.0)
    _check_wind(circles.wind, 0.05)
    assert circles.airspeed_m_s == pytest.approx(SPEED, abs=0.05)
    assert circles.circle is None


def test_from_heading_alone():
    circles = circles_of_climb(TIME, {"heading_deg": np.degrees(HEADING) % 360.0, "climb_m_s": CLIMB}, 0.0, 90.0)
    assert (circles.turning.source, circles.turning.direction) == ("heading", "right")
    assert circles.wind is None
    assert circles.bank_deg is None


def test_from_the_beat_of_the_climb_alone():
    circles = circles_of_climb(TIME, {"climb_m_s": CLIMB}, 0.0, 90.0)
    assert (circles.turning.source, circles.turning.direction) == ("climb", None)
    assert circles.turning.period_s == pytest.approx(PERIOD, rel=0.03)


def test_nothing_to_see():
    circles = circles_of_climb(TIME, {"climb_m_s": np.full(TIME.size, 1.5)}, 0.0, 90.0)
    assert circles.turning is circles.wind is circles.circle is circles.bank_deg is None


def test_dead_airspeed_sensor_is_not_believed():
    channels = {"climb_m_s": CLIMB, "airspeed_m_s": np.zeros(TIME.size)}
    assert circles_of_climb(TIME, channels, 0.0, 90.0, _track()).airspeed_m_s == pytest.approx(SPEED, rel=0.03)


def test_the_circles_are_the_same_without_the_wind():
    channels = {"climb_m_s": CLIMB, "airspeed_m_s": np.full(TIME.size, SPEED)}
    whole, turns = (circles_of_climb(TIME, channels, 0.0, 90.0, _track(), with_wind=wind) for wind in (True, False))
    assert (turns.turning, turns.circle) == (whole.turning, whole.circle)
    assert whole.wind is not None
    assert turns.wind is None
