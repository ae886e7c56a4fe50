"""Each figure draws the values that it was given, in the units that were asked for, and changes nothing."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pandas as pd
import plotly.graph_objects as go
import pytest
from made_flight import SEGMENTS, made_analysis, made_frame, made_run, made_summary

from analyzer.figures.climbs import climbs_figure
from analyzer.figures.flight import POWER_CHANNELS, flight_figure
from analyzer.figures.glides import glides_figure
from analyzer.figures.template import CLOCK_ORIGIN_MS
from analyzer.records import Glide, LimitCheck, Log
from analyzer.setup_file import Gearbox, Pack, Setup, Telemetry


@pytest.fixture(scope="module")
def log() -> Log:
    return made_analysis().log


def seconds(trace: go.Scatter) -> np.ndarray:
    return (np.asarray(trace.x, dtype=float) - CLOCK_ORIGIN_MS) / 1000.0


def named(figure: go.Figure, name: str) -> go.Scatter:
    return next(trace for trace in figure.data if trace.name == name)


def test_each_kind_of_segment_is_drawn_where_it_was_flown(log: Log) -> None:
    figure = flight_figure(log, SEGMENTS)
    time_s, height = seconds(named(figure, "motor run")), np.asarray(named(figure, "motor run").y)
    drawn = time_s[np.isfinite(height)]
    assert drawn.min() == pytest.approx(12.0)
    assert drawn.max() == pytest.approx(515.0)
    assert not np.any((drawn > 40.0) & (drawn < 500.0))
    assert np.isnan(height).any(), "the pen is lifted between two runs"
    logged = np.interp(drawn, log.frame["time_s"], log.frame["height_m"])
    assert height[np.isfinite(height)] == pytest.approx(logged)


def test_a_gap_of_the_log_is_a_gap_of_the_line(log: Log) -> None:
    glide = named(flight_figure(log, SEGMENTS), "glide")
    inside = (seconds(glide) > 300.05) & (seconds(glide) < 309.95)
    assert inside.any()
    assert np.isnan(np.asarray(glide.y)[inside]).all()


def test_runs_and_thermals_carry_the_numbers_of_the_tables(log: Log) -> None:
    letters = next(trace for trace in flight_figure(log, SEGMENTS).data if trace.mode == "text")
    assert list(letters.text) == ["M1", "M2", "T1"]
    assert seconds(letters) == pytest.approx([40.0, 515.0, 280.0])


def test_a_letter_that_would_lie_on_another_is_left_out(log: Log) -> None:
    run = next(segment for segment in SEGMENTS if segment.kind == "motor_run")
    close = (run, replace(run, start_s=run.end_s, end_s=run.end_s + 2.0))
    letters = next(trace for trace in flight_figure(log, close).data if trace.mode == "text")
    assert list(letters.text) == ["M1", ""]
    assert "motor run 2" in letters.hovertext[1]


def test_heights_can_be_feet(log: Log) -> None:
    metres = np.asarray(named(flight_figure(log, SEGMENTS), "glide").y)
    feet = np.asarray(named(flight_figure(log, SEGMENTS, system="feet"), "glide").y)
    assert feet == pytest.approx(metres / 0.3048, nan_ok=True)
    assert flight_figure(log, SEGMENTS, system="feet").layout.yaxis.title.text == "height, ft"


def test_only_what_was_logged_has_a_row(log: Log) -> None:
    without_rpm = Log("a", "0", log.frame.drop(columns="rpm"))
    assert flight_figure(without_rpm, SEGMENTS).layout.yaxis4.title.text == "voltage, V"
    assert "yaxis5" not in flight_figure(without_rpm, SEGMENTS).layout
    bare = flight_figure(Log("a", "0", log.frame[["time_s", "altitude_m"]]), SEGMENTS)
    assert "yaxis2" not in bare.layout
    assert bare.layout.xaxis.anchor == "y"


def test_rows_do_not_overlap_and_fill_the_height(log: Log) -> None:
    layout = flight_figure(log, SEGMENTS).layout
    domains = [layout[name].domain for name in ("yaxis", "yaxis2", "yaxis3", "yaxis4", "yaxis5")]
    assert domains[0][1] == pytest.approx(1.0)
    assert domains[-1][0] == pytest.approx(0.0, abs=1e-9)
    for upper, lower in itertools.pairwise(domains):
        assert lower[1] < upper[0]


def test_a_limit_is_a_line_in_the_row_of_its_channel(log: Log) -> None:
    limits = [LimitCheck("controller current, continuous", 30.0, 34.0, -4.0, ok=False, unit="A")]
    figure = flight_figure(log, SEGMENTS, limits)
    row = f"y{2 + POWER_CHANNELS.index('current_a')}"
    assert [(shape.yref, shape.y0, shape.y1) for shape in figure.layout.shapes] == [(row, 30.0, 30.0)]
    assert figure.layout.annotations[0].text == "continuous: 30"


def test_limits_at_one_level_share_a_line_and_far_ones_are_left_out(log: Log) -> None:
    limits = [
        LimitCheck("controller current, continuous", 30.0, 28.0, 2.0, ok=True, unit="A"),
        LimitCheck("motor current", 30.0, 28.0, 2.0, ok=True, unit="A"),
        LimitCheck("controller current, burst", 80.0, 28.0, 52.0, ok=True, unit="A"),
    ]
    notes = flight_figure(log, SEGMENTS, limits).layout.annotations
    assert [note.text for note in notes] == ["continuous; motor: 30"]


def test_the_limit_of_a_cell_is_drawn_for_the_whole_pack(log: Log) -> None:
    limits = [LimitCheck("cell voltage under load", 3.3, 3.4, 0.1, ok=True, unit="V")]
    shapes = flight_figure(log, SEGMENTS, limits, setup=Setup(name="x", pack=Pack(cells=3))).layout.shapes
    assert [(shape.yref, shape.y0) for shape in shapes] == [("y4", pytest.approx(9.9))]
    assert not flight_figure(log, SEGMENTS, limits).layout.shapes


def test_the_limit_of_the_motor_is_drawn_at_the_speed_of_the_shaft_that_is_logged(log: Log) -> None:
    limits = [LimitCheck("motor rpm", 36_000.0, 30_000.0, 6_000.0, ok=True, unit="rpm")]
    geared = Setup(name="x", gearbox=Gearbox(ratio=5.0), telemetry=Telemetry(rpm_measured_at="propeller"))
    row = f"y{2 + POWER_CHANNELS.index('rpm')}"
    shapes = flight_figure(log, SEGMENTS, limits, setup=geared).layout.shapes
    assert [(shape.yref, shape.y0) for shape in shapes] == [(row, pytest.approx(7_200.0))]


def test_a_long_log_is_thinned_but_keeps_its_worst_moment() -> None:
    frame = made_frame(rate_hz=200.0)
    frame.loc[100_001, "current_a"] = 77.0
    figure = flight_figure(Log("a", "0", frame), SEGMENTS)
    current = next(trace for trace in figure.data if trace.name == "current")
    assert len(current.y) < 4000
    assert np.nanmax(current.y) == 77.0


def test_a_figure_changes_nothing_that_it_was_given() -> None:
    frame = made_frame()
    before = frame.copy()
    flight_figure(Log("a", "0", frame), SEGMENTS, system="feet")
    pd.testing.assert_frame_equal(frame, before)


def test_each_climb_has_its_point_and_its_interval() -> None:
    figure = climbs_figure(made_summary().motor_runs)
    heights, rates, costs = figure.data
    assert list(heights.y) == [171.2, 88.4]
    assert list(costs.y) == [793.0, 771.0]
    assert list(costs.error_y.array) == pytest.approx([1.96 * 5.1] * 2, rel=1e-4)
    assert list(rates.error_y.array) == pytest.approx([1.96 * 0.04] * 2, rel=1e-4)


def test_blips_and_ground_runs_are_left_out_but_keep_their_numbers() -> None:
    runs = (made_run(blip=True), made_run(climb_per_ah_m=None), made_run(on_ground=True), made_run())
    heights, _, costs = climbs_figure(runs).data
    assert list(heights.x) == [2, 4]
    assert list(costs.x) == [4]


def test_what_is_not_known_of_any_climb_has_no_panel_and_many_climbs_share_a_few_names() -> None:
    figure = climbs_figure([made_run(climb_per_ah_m=None)] * 23)
    assert len(figure.data) == 2
    assert list(figure.layout.xaxis.ticktext) == ["M1", "M7", "M13", "M19"]
    assert figure.layout.xaxis2.domain[1] == 1.0


def test_glides_are_told_apart_by_flight_mode() -> None:
    figure = glides_figure(made_summary().glides)
    assert [trace.name for trace in figure.data if trace.showlegend] == ["cruise", "speed"]
    points = [trace for trace in figure.data if trace.mode == "markers"]
    assert points[0].marker.symbol != points[1].marker.symbol
    assert points[0].marker.color != points[1].marker.color
    assert list(points[0].y) == [0.387]
    assert seconds(points[1]) == pytest.approx([390.0])


def test_a_foreign_flight_mode_is_text_not_markup() -> None:
    figure = glides_figure([Glide(0.0, 60.0, 20.0, 0.4, 0.01, "<a href='http://x.example'>\x1b</a>")])
    assert figure.data[0].name == "&lt;a href='http://x.example'&gt;\N{REPLACEMENT CHARACTER}&lt;/a&gt;"


@pytest.mark.parametrize("figure", [climbs_figure([]), glides_figure([])])
def test_nothing_to_draw_is_an_empty_figure(figure: go.Figure) -> None:
    assert all(len(trace.y) == 0 for trace in figure.data)
