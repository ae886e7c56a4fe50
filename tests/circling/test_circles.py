"""Circles from heading, track, position and the beat of the climb."""

import numpy as np
import pytest

from analyzer.circling.circles import (
    air_track_deg,
    fit_drifting_circle,
    turning_from_climb,
    turning_from_heading,
)
from analyzer.errors import NoAnswerError


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("rate_hz", [0.5, 1.0, 10.0])
def test_period_and_direction_from_heading(sign, rate_hz):
    time = np.arange(0.0, 60.0, 1.0 / rate_hz)
    turning = turning_from_heading(time, (sign * 360.0 * time / 9.4 + 30.0) % 360.0)
    assert turning.period_s == pytest.approx(9.4)
    assert turning.direction == ("right" if sign > 0 else "left")
    assert turning.circles == pytest.approx(time[-1] / 9.4)


def test_heading_without_circles_is_refused():
    time = np.arange(0.0, 60.0, 0.5)
    with pytest.raises(NoAnswerError, match="too few"):
        turning_from_heading(time, 20.0 * np.sin(time) + 90.0)
    with pytest.raises(NoAnswerError, match="too rarely"):
        turning_from_heading(time[::10], (360.0 * time[::10] / 9.4) % 360.0)


def test_air_track_goes_round_where_the_ground_track_does_not():
    time = np.arange(0.0, 60.0, 0.5)
    heading = 2.0 * np.pi * time / 10.0
    east, north = 8.0 * np.sin(heading) + 12.0, 8.0 * np.cos(heading)
    with pytest.raises(NoAnswerError):
        turning_from_heading(time, np.degrees(np.arctan2(east, north)), "track")
    turning = turning_from_heading(time, air_track_deg(east, north, (12.0, 0.0)), "track")
    assert (turning.period_s, turning.direction) == (pytest.approx(10.0), "right")


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_drifting_circle(sign):
    """Integrate a steady turn in a wind; radius must be V over the turn rate, the drift the wind."""
    rate = sign * 2.0 * np.pi / 9.4
    time = np.arange(0.0, 40.0, 0.2)
    heading = rate * time + 1.0
    east = 100.0 + 3.0 * time - 8.5 / rate * np.cos(heading)
    north = -50.0 - 1.0 * time + 8.5 / rate * np.sin(heading)
    circle = fit_drifting_circle(time, east, north, np.degrees(heading))
    assert circle.radius_m == pytest.approx(8.5 / abs(rate))
    assert circle.direction == ("right" if sign > 0 else "left")
    assert (circle.drift_east_m_s, circle.drift_north_m_s) == pytest.approx((3.0, -1.0))
    middle = 0.5 * time[-1]
    assert (circle.centre_east_m, circle.centre_north_m) == pytest.approx((100.0 + 3.0 * middle, -50.0 - middle))
    assert circle.drift_from_deg == pytest.approx(np.degrees(np.arctan2(-3.0, 1.0)) % 360.0)


def test_straight_flight_is_no_circle():
    time = np.arange(0.0, 40.0, 0.5)
    with pytest.raises(NoAnswerError, match="go round"):
        fit_drifting_circle(time, 8.0 * time, 0.0 * time, np.full_like(time, 90.0))


def _gusts(rng, count, step_s, correlation_s):
    decay = np.exp(-step_s / correlation_s)
    value, values = 0.0, []
    for innovation in rng.standard_normal(count):
        value = decay * value + np.sqrt(1.0 - decay**2) * innovation
        values.append(value)
    return np.array(values)


def test_period_from_the_beat_of_the_climb():
    rng = np.random.default_rng(3)
    time = np.arange(0.0, 90.0, 0.5) + rng.uniform(0.0, 0.1, 180)
    climb = 1.5 + 1.2 * np.sin(2.0 * np.pi * time / 9.4) + 0.5 * _gusts(rng, 180, 0.5, 2.0)
    turning = turning_from_climb(time, climb)
    assert turning.period_s == pytest.approx(9.4, rel=0.05)
    assert turning.direction is None


def test_gusts_alone_seldom_look_like_circles():
    rng = np.random.default_rng(4)
    found = 0
    for correlation_s in np.repeat([1.0, 3.0, 10.0, 30.0], 50):
        time = np.arange(0.0, 80.0, 0.5)
        climb = _gusts(rng, time.size, 0.5, correlation_s)
        try:
            turning_from_climb(time, climb)
            found += 1
        except NoAnswerError:
            pass
    assert found <= 10  # 5 %


def test_short_or_flat_climb_is_refused():
    with pytest.raises(NoAnswerError):
        turning_from_climb([0.0, 1.0, 2.0], [1.0, 1.0, 1.0])
    with pytest.raises(NoAnswerError):
        turning_from_climb(np.arange(0.0, 60.0), np.ones(60))
    with pytest.raises(NoAnswerError):  # two minutes, three samples
        turning_from_climb([0.0, 40.0, 80.0, 120.0], [1.0, 2.0, 1.0, 2.0])
