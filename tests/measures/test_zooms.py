from __future__ import annotations

import numpy as np
import pytest
from measures.made_traces import cut, made_traces

from analyzer.constants import STANDARD_GRAVITY_M_S2
from analyzer.measures.edge_heights import heights_of
from analyzer.measures.tuning import TUNING
from analyzer.measures.zooms import zoom_after


def zoom(climb_m_s, climb_se_m_s=0.1, **channels):
    """Heights of a log whose motor stops after ten seconds; its altimeter is a usual one."""
    time = np.arange(0.0, 40.0, 0.1)
    climb = climb_m_s(time - 10.0)
    height = np.concatenate(([0.0], np.cumsum(0.05 * (climb[1:] + climb[:-1]))))
    given = {name: values(time - 10.0) for name, values in channels.items()}
    return made_traces(time, height, climb_m_s=climb, climb_se_m_s=np.full(time.size, climb_se_m_s), **given)


def heights_in(traces):
    return heights_of(traces, cut(("glide", 0.0, float(traces.time_s[-1]))), TUNING)


def after_the_stop(traces):
    return zoom_after(heights_in(traces), 10.0, 20.0, TUNING)


def test_the_top_of_a_zoom_in_closed_form():
    # v = 4 - 2 t: seen at the top after 2 s; within two standard errors of zero from 0.2 m/s on, 0.1 s earlier.
    heights = heights_in(zoom(lambda t: 4.0 - 2.0 * t))
    top, altimeter = zoom_after(heights, 10.0, 20.0, TUNING).top, heights.altimeter
    assert top.at_s == pytest.approx(12.0 - altimeter.lag_s)
    assert top.time_error_s == pytest.approx(np.hypot(0.05, altimeter.lag_se_s), rel=0.01)
    # Free fall on either side: a t^2/2 below the top.
    assert (top.before_m, top.after_m) == pytest.approx((top.time_error_s**2, -(top.time_error_s**2)), rel=0.1)


def test_a_zoom_that_nearly_ended_before_may_have_ended_there():
    # After 1 s the climb comes within two standard errors of zero, after 3 s it crosses it.
    def twice(t):
        return np.interp(t, [0.0, 1.0, 2.0, 3.0, 4.0], [4.0, 0.1, 2.0, 0.0, -0.5])

    sharp, blurred = (after_the_stop(zoom(twice, error)).top for error in (0.01, 0.1))
    assert sharp.at_s == blurred.at_s
    assert sharp.time_error_s < 0.4
    assert blurred.time_error_s == pytest.approx(0.5 * 2.0, rel=0.1)


def test_a_rise_that_lasts_longer_than_speed_can_may_have_been_lift_from_any_time():
    # It crosses zero after 8 s; an even distribution 4 s less the lag to either side.
    found = after_the_stop(zoom(lambda t: 4.0 - 0.5 * t))
    assert found.top.at_s == pytest.approx(10.0 + TUNING.usual_zoom_s)
    assert found.top.time_error_s == pytest.approx((8.0 - TUNING.usual_zoom_s) / np.sqrt(3.0), rel=0.15)
    assert found.gain_se_m > 3.0


def test_a_model_that_rises_on_and_on_rises_in_lift():
    found = after_the_stop(zoom(lambda t: 1.5 + 0.0 * t))
    assert found.top.at_s == pytest.approx(10.0 + TUNING.usual_zoom_s)
    # Each second more or less, of six, adds 2 m beyond a sink of 0.5 m/s.
    assert found.top.height_error_m(-0.5) == pytest.approx(2.0 * found.top.time_error_s, rel=0.1)
    assert found.top.time_error_s > 6.0 / np.sqrt(3.0)
    # Six metres found, none of them from speed.
    assert found.gain_m < 2.0 * found.gain_se_m


def test_without_a_zoom_the_glide_is_steady_when_the_motor_stops():
    assert after_the_stop(zoom(lambda t: -0.5 + 0.0 * t)).top.at_s == 10.0


def test_a_model_that_was_fast_and_level_is_pulled_up_after_the_stop():
    # Sinking still when the motor stops, rising from half a second on, over the top after three.
    found = after_the_stop(zoom(lambda t: np.interp(t, [0.0, 1.5, 3.0, 4.0], [-0.5, 2.0, 0.0, -0.8])))
    assert found.top.at_s == pytest.approx(13.0, abs=0.6)  # but for the lag
    assert found.gain_m == pytest.approx(2.6, abs=2.0 * found.gain_se_m)
    assert found.gain_m > 1.5


def test_the_top_of_a_zoom_in_a_silence_is_sought_beside_it():
    traces = zoom(lambda t: 4.0 - 2.0 * t)
    silent = np.abs(traces.time_s - 12.0) < 1.0
    for name in ("height_m", "climb_m_s", "climb_se_m_s", "height_se_m", "altitude_reading_m"):
        traces.channels[name] = np.where(silent, np.nan, traces.channels[name])
    heights = heights_in(traces)
    assert zoom_after(heights, 10.0, 20.0, TUNING).top.at_s == pytest.approx(12.0 - heights.altimeter.lag_s)


def slowing(t):
    """From 14 to 9 m/s within two seconds."""
    return np.interp(t, [0.0, 2.0], [14.0, 9.0])


SPEED_HEIGHT_M = (14.0**2 - 9.0**2) / (2.0 * STANDARD_GRAVITY_M_S2)


def test_lift_after_a_stop_is_no_zoom_where_the_airspeed_tells():
    # 5.9 m of speed height, and a climb of 2 m/s that goes on when they are spent.
    found = after_the_stop(zoom(lambda t: np.interp(t, [0.0, 2.0], [4.0, 2.0]), airspeed_m_s=slowing))
    assert found.gain_m == pytest.approx(SPEED_HEIGHT_M, abs=0.2)
    assert found.gain_se_m < 1.0
    assert found.top.at_s == pytest.approx(12.0, abs=0.3)


def test_speed_that_drag_takes_gives_no_height():
    still = zoom(lambda t: 4.0 - 2.0 * t, airspeed_m_s=slowing)
    without = zoom(lambda t: 4.0 - 2.0 * t)
    assert after_the_stop(still).gain_m == after_the_stop(without).gain_m < SPEED_HEIGHT_M


def test_airspeed_read_once_a_second_does_not_tell_what_a_zoom_took():
    def seldom(t):
        return np.where(np.round(10.0 * t) % 10 == 5, slowing(t), np.nan)

    rising = zoom(lambda t: 2.0 + 0.0 * t, airspeed_m_s=seldom)
    assert after_the_stop(rising).gain_m == after_the_stop(zoom(lambda t: 2.0 + 0.0 * t)).gain_m
