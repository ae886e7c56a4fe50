"""The flight's plot on the page: what is zoomed to is drawn finely, whatever is changed meanwhile."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analyzer.analysis import analyze_bytes, analyze_conditioned
from analyzer.figures.template import CLOCK_ORIGIN_MS, DAY
from analyzer.setup_file import parse_setup
from dashboard.components.flight_graph import axis_seconds, flight_graph
from dashboard.pages.flight.elements import window_in_sight
from dashboard.session import OpenFlight

WINDOW_S = (1000.0, 1010.0)


@pytest.fixture(scope="module")
def flight() -> OpenFlight:
    """Forty minutes at 20 Hz: more samples than a plot of the whole draws."""
    time_s = np.arange(0.0, 2400.0, 0.05)
    height = np.interp(time_s, [0, 20, 60, 2380, 2400], [0, 0, 300, 0, 0]) + 0.3 * np.sin(9.0 * time_s)
    current = np.where((time_s > 20) & (time_s < 60), 30.0, 0.0)
    frame = pd.DataFrame({"time (s)": time_s, "altitude (m)": height.round(2), "current (A)": current})
    return OpenFlight("key", "tab", "long.csv", analyze_bytes(frame.to_csv(index=False).encode(), "long.csv", None))


def points_within(flight: OpenFlight, window_s: tuple[float, float] | None) -> int:
    figure = flight_graph(flight, None, "metric", DAY, 1, window_s)
    glide = next(trace for trace in figure.data if trace.name == "glide")
    seconds = (np.asarray(glide.x) - CLOCK_ORIGIN_MS) / 1000.0
    return int(np.count_nonzero((seconds > WINDOW_S[0]) & (seconds < WINDOW_S[1])))


def test_a_plot_drawn_anew_is_as_fine_as_the_zoom_before_it(flight: OpenFlight) -> None:
    assert points_within(flight, WINDOW_S) == pytest.approx(200, abs=2)  # every sample of ten seconds at 20 Hz
    assert points_within(flight, None) < 100


def test_a_plot_drawn_anew_shows_what_was_in_sight(flight: OpenFlight) -> None:
    """The browser's own memory of a zoom ends with the first answer of the server: its curves would stand in a void."""
    axis = flight_graph(flight, None, "metric", DAY, 1, WINDOW_S).layout.xaxis
    assert [axis_seconds(end) for end in axis.range] == pytest.approx(WINDOW_S)
    whole = flight_graph(flight, None, "metric", DAY, 1).layout.xaxis
    assert [axis_seconds(end) for end in whole.range] == pytest.approx([0.0, 2399.95])


def test_a_zoom_into_another_log_is_forgotten(flight: OpenFlight) -> None:
    own = {"log": flight.analysis.log.sha256, "window_s": [1000.0, 1010.0]}
    assert window_in_sight(flight, own) == WINDOW_S
    assert window_in_sight(flight, {**own, "log": "another"}) is None
    assert window_in_sight(flight, {**own, "window_s": None}) is None
    assert window_in_sight(flight, None) is None


def test_a_selected_segment_is_marked_before_the_limits_and_takes_none_of_their_places(flight: OpenFlight) -> None:
    setup = parse_setup(
        'name = "x"\n[speed_controller]\ncontinuous_current_a = 29.0\nburst_current_a = 35.0', source="x"
    )
    limited = replace(flight, setup=setup, analysis=analyze_conditioned(flight.analysis.log, setup))
    segment = limited.analysis.segmentation.segments[1]
    shapes = flight_graph(limited, segment, "metric", DAY, 1).layout.shapes
    wash, start, end, *limits = shapes
    assert wash.type == "rect"
    assert [axis_seconds(edge.x0) for edge in (start, end)] == pytest.approx([segment.start_s, segment.end_s])
    assert [line.y0 for line in limits] == [29.0, 35.0]
