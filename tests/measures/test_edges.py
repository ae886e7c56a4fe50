from __future__ import annotations

import numpy as np
import pytest
from measures.made_traces import cut, made_traces

from analyzer.measures.edge_heights import heights_of
from analyzer.measures.edges import edge_between, edges_of
from analyzer.measures.tuning import TUNING


def heights_in(traces):
    """Heights of a log without motor runs: the altimeter is a usual one."""
    return heights_of(traces, cut(("glide", float(traces.time_s[0]), float(traces.time_s[-1]))), TUNING)


def edge(traces, time_s, before, after):
    beside = cut((before, float(traces.time_s[0]), time_s), (after, time_s, float(traces.time_s[-1]))).segments
    return edge_between(heights_in(traces), *beside, TUNING)


def test_an_edge_in_a_steep_turn_to_lift_is_sharper_than_in_a_slow_one():
    time = np.arange(0.0, 60.0, 0.2)
    gusts = 0.3 * np.sin(time * 1.7)
    edges = []
    for turn in (0.3, 0.05):
        climb = np.clip(turn * (time - 30.0), -0.6, 1.5) + gusts
        traces = made_traces(time, np.cumsum(climb) * 0.2, climb_m_s=climb)
        edges.append(edge(traces, 30.0, "glide", "thermal_climb"))
    assert edges[0].time_error_s < edges[1].time_error_s <= TUNING.most_edge_s
    assert edges[0].height_error_m(-0.5) < edges[1].height_error_m(-0.5)


def test_an_edge_is_worth_what_the_model_gains_beyond_its_rate_while_the_edge_is_off():
    # Sink of 0.5 m/s turns into lift of 1.5 m/s at once: 2 m/s more after the edge, none before.
    time = np.arange(0.0, 60.0, 0.2)
    climb = np.where(time < 30.0, -0.5, 1.5) + 0.2 * np.sin(time * 2.1)
    traces = made_traces(time, np.cumsum(climb) * 0.2, climb_m_s=climb)
    turn = edge(traces, 30.0, "glide", "thermal_climb")
    assert turn.height_error_m(-0.5) == pytest.approx(2.0 * turn.time_error_s / np.sqrt(2.0), rel=0.1)


def test_a_touch_down_after_a_long_flare_is_less_certain():
    errors = []
    for flare_s in (0.2, 8.0):
        time = np.arange(0.0, 100.0, 0.2)
        height = np.interp(time, [0.0, 60.0 - flare_s, 60.0, 100.0], [60.0, 0.6, 0.0, 0.0])
        errors.append(edge(made_traces(time, height), 60.0, "glide", "ground").time_error_s)
    assert errors[0] == pytest.approx(TUNING.ground_edge_s, rel=0.1)
    assert 4.0 <= errors[1] <= 5.0  # half of the flare and more


def test_the_ends_of_the_log_are_known():
    traces = made_traces(np.arange(0.0, 60.0), np.zeros(60))
    glide = cut(("glide", 0.0, 59.0)).segments
    first, last = edges_of(heights_in(traces), glide, TUNING)
    assert (first.at_s, last.at_s) == (0.0, 59.0)
    assert first.height_error_m(-0.5) == last.height_error_m(-0.5) == 0.0


def test_an_edge_soon_after_the_motor_s_stop_is_not_off_by_the_motor_s_climb():
    # A climb at 8 m/s until 30 s, a glide of 5 s, then lift: the glide began after the motor's climb, whatever its end.
    time = np.arange(0.0, 80.0, 0.2)
    climb = np.select([time < 30.0, time < 35.0], [8.0, -0.5], 1.5) + 0.2 * np.sin(time * 2.1)
    traces = made_traces(time, np.cumsum(climb) * 0.2, climb_m_s=climb)
    pieces = cut(("motor_run", 0.0, 30.0), ("glide", 30.0, 35.0), ("thermal_climb", 35.0, 79.8)).segments
    to_lift = edges_of(heights_of(traces, cut(("glide", 0.0, 79.8)), TUNING), pieces, TUNING)[2]
    assert to_lift.time_error_s <= 5.0
    assert to_lift.height_error_m(0.0) < 5.0


def test_what_the_altimeter_shows_was_its_lag_earlier_and_what_the_motor_shows_was_not():
    time = np.arange(0.0, 60.0, 0.2)
    traces = made_traces(time, np.abs(time - 30.0))
    assert edge(traces, 30.0, "glide", "thermal_climb").at_s == 30.0 - heights_in(traces).altimeter.lag_s
    assert edge(traces, 30.0, "glide", "motor_run").at_s == 30.0


@pytest.mark.parametrize("step_s", [0.1, 1.0])
def test_a_motor_edge_lies_anywhere_between_two_samples(step_s):
    # Even distribution over the step: standard deviation step/sqrt(12).
    time = np.arange(0.0, 60.0, step_s)
    start = edge(made_traces(time, np.abs(time - 30.0)), 30.5 * step_s, "glide", "motor_run")
    assert start.time_error_s == pytest.approx(step_s / np.sqrt(12.0))


def test_a_motor_edge_lies_anywhere_between_two_readings_of_the_drive():
    # Rows at 10 Hz, of which current and rpm bring a reading each second, by turns: one every half second.
    time = np.arange(0.0, 60.0, 0.1)
    row = np.arange(time.size)
    current, rpm = (np.where(row % 10 == turn, 1.0, np.nan) for turn in (0, 5))
    traces = made_traces(time, np.abs(time - 30.0), current_reading_a=current, rpm_reading=rpm)
    assert edge(traces, 30.25, "glide", "motor_run").time_error_s == pytest.approx(0.5 / np.sqrt(12.0))
