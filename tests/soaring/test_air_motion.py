"""Motion through the air from airspeed, or from the ground velocity and the wind."""

import numpy as np
import pytest

from analyzer.circling.position import metres_per_degree, track_of
from analyzer.circling.wind import Wind
from analyzer.soaring.air_motion import air_motion

TIME = np.arange(0.0, 120.0, 0.2)
WIND = Wind(5.0, 0.1, 270.0, 1.0, 9.0, None, 0.1, 3.0)


def _track(speed):
    """Due north through the air while a west wind of 5 m/s carries the model east."""
    per_east, per_north = metres_per_degree(47.0)
    north = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * 0.2)])
    return track_of(TIME, 47.0 + north / per_north, 8.0 + 5.0 * TIME / per_east, np.ones(TIME.size, dtype=bool))[0]


def test_logged_airspeed_and_its_energy_are_used_as_they_are():
    channels = {
        "airspeed_m_s": np.full(TIME.size, 9.0),
        "energy_climb_m_s": np.full(TIME.size, -0.5),
        "climb_m_s": np.full(TIME.size, -3.0),
        "heading_deg": (TIME * 360.0 / 10.0) % 360.0,
    }
    motion = air_motion(TIME, channels)
    assert motion.source == "airspeed"
    assert np.all(motion.energy_climb_m_s == -0.5)
    bank = np.arctan(9.0 * 2.0 * np.pi / 10.0 / 9.80665)
    assert motion.load_factor[100] == pytest.approx(1.0 / np.cos(bank))


def test_ground_velocity_less_wind_gives_airspeed_and_energy():
    """A slow exchange of height and speed at constant energy: no air, no climb of energy."""
    speed = 10.0 + 2.0 * np.sin(TIME / 8.0)
    climb = -np.gradient(speed**2 / (2.0 * 9.80665), TIME)
    motion = air_motion(TIME, {"climb_m_s": climb}, _track(speed), WIND)
    assert motion.source == "ground speed and wind"
    assert motion.airspeed_m_s[50:-50] == pytest.approx(speed[50:-50], abs=0.05)
    assert motion.energy_climb_m_s[50:-50] == pytest.approx(0.0, abs=0.03)


def test_without_either_height_is_all():
    climb = np.full(TIME.size, -0.5)
    motion = air_motion(TIME, {"climb_m_s": climb})
    assert motion.source == "none"
    assert motion.energy_climb_m_s is climb
    assert np.isnan(motion.airspeed_m_s).all()
    assert air_motion(TIME, {"climb_m_s": climb}, _track(np.full(TIME.size, 9.0)), None).source == "none"


def test_a_glitch_of_the_heading_is_no_turn():
    heading = np.zeros(TIME.size)
    heading[300] = 170.0
    channels = {
        "airspeed_m_s": np.full(TIME.size, 9.0),
        "energy_climb_m_s": np.zeros(TIME.size),
        "climb_m_s": np.zeros(TIME.size),
        "heading_deg": heading,
    }
    assert air_motion(TIME, channels).load_factor.max() <= 4.0
