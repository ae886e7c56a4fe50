"""The still picture shows what the interactive figure shows, at the right place, with all text escaped."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import numpy as np
import pytest
from made_flight import SEGMENTS, made_analysis, made_summary

from analyzer.figures.climbs import climbs_figure
from analyzer.figures.flight import flight_figure
from analyzer.figures.glides import glides_figure
from analyzer.figures.still import still_svg
from analyzer.figures.template import MARKER_SEQUENCE, new_figure
from analyzer.records import Glide, LimitCheck

SVG = "{http://www.w3.org/2000/svg}"


def texts(svg: str) -> list[str]:
    return [element.text or "" for element in ET.fromstring(svg).iter(f"{SVG}text")]


def test_every_project_figure_becomes_well_formed_svg() -> None:
    summary = made_summary()
    log = made_analysis().log
    for figure in (
        flight_figure(log, SEGMENTS, summary.power_system.limits),
        climbs_figure(summary.motor_runs),
        glides_figure(summary.glides),
        climbs_figure([]),
        glides_figure([]),
    ):
        root = ET.fromstring(still_svg(figure, "a figure"))
        assert root.attrib["aria-label"] == "a figure"
        assert "nan" not in still_svg(figure)


def test_a_line_is_drawn_to_scale() -> None:
    import plotly.graph_objects as go

    figure = new_figure(height=400)
    figure.update_layout(xaxis={"range": [0, 10]}, yaxis={"range": [0, 1]})
    figure.add_trace(
        go.Scatter(x=[0, 5, 5, 10], y=[0.0, 1.0, None, 0.5], mode="lines", line={"color": "#000000", "width": 1})
    )
    path = next(ET.fromstring(still_svg(figure)).iter(f"{SVG}path")).attrib["d"]
    # the picture is 860 wide with margins 70 and 12; 400 high with 26 and 42
    assert path == "M70.0 358.0L459.0 26.0M848.0 192.0"


def test_limits_letters_and_axes_are_named() -> None:
    limits = [LimitCheck("controller current, continuous", 30.0, 34.0, -4.0, ok=False, unit="A")]
    found = texts(still_svg(flight_figure(made_analysis().log, SEGMENTS, limits)))
    for words in ("M1", "M2", "T1", "height, m", "rpm", "2:00", "motor run", "continuous: 30"):
        assert words in found


def test_error_bars_reach_both_ways_and_upright_lines_stand() -> None:
    import plotly.graph_objects as go

    figure = new_figure(height=400)
    figure.update_layout(xaxis={"range": [0, 10]}, yaxis={"range": [10, 0], "tickvals": [5], "ticktext": ["a" * 20]})
    marker = {"color": "#000000", "symbol": ["circle", "circle-open"]}
    bars = {"array": [1.0, 0.0], "arrayminus": [2.0, 0.0], "color": "#000000"}
    figure.add_trace(go.Scatter(x=[5, 8], y=[5, 5], mode="markers", marker=marker, error_x=bars))
    figure.add_shape(type="line", xref="x", yref="y domain", x0=2, x1=2, y0=0, y1=1, line={"color": "#123456"})
    root = ET.fromstring(still_svg(figure))
    assert "a" * 20 in texts(still_svg(figure))
    left = 12 + 6.2 * 20
    px = (860 - 12 - left) / 10
    lines = [
        {key: element.attrib[key] for key in ("x1", "x2", "y1", "y2", "stroke")} for element in root.iter(f"{SVG}line")
    ]
    bar = next(line for line in lines if line["stroke"] == "#000000")
    assert [float(bar["x1"]), float(bar["x2"])] == pytest.approx([left + 3 * px, left + 6 * px], abs=0.06)
    upright = next(line for line in lines if line["stroke"] == "#123456")
    assert upright["x1"] == upright["x2"] == f"{left + 2 * px:.1f}"
    assert {upright["y1"], upright["y2"]} == {"358.0", "26.0"}
    assert [element.attrib["fill"] for element in root.iter(f"{SVG}path")] == ["#000000", "none"]


def test_foreign_text_stays_text() -> None:
    svg = still_svg(glides_figure([Glide(0.0, 60.0, 20.0, 0.4, 0.01, "<script>&amp;")]), '"><script>')
    assert "<script" not in svg
    assert "<script>&amp;" in texts(svg)


@pytest.mark.parametrize("symbol", MARKER_SEQUENCE)
def test_every_marker_of_the_house_can_be_drawn(symbol: str) -> None:
    import plotly.graph_objects as go

    figure = new_figure()
    figure.update_layout(xaxis={}, yaxis={"title": {"text": "y"}})
    figure.update_layout(xaxis={"range": [0, 2]})
    figure.add_trace(go.Scatter(x=[1], y=[1.0], mode="markers", marker={"color": "#000000", "symbol": symbol}))
    assert "transform" in still_svg(figure)


def test_ticks_are_round_numbers() -> None:
    figure = glides_figure(made_summary().glides)
    ticks = [float(text) for text in texts(still_svg(figure)) if text.replace(".", "").isdigit()]
    steps = np.diff(ticks)
    assert steps == pytest.approx([steps[0]] * len(steps))
    assert ticks[0] == 0.0


def test_a_band_is_filled_and_nothing_leaves_its_axis() -> None:
    """An axis that begins at zero hides what lies below, on paper as on the screen."""
    import plotly.graph_objects as go

    figure = new_figure(height=400)
    figure.update_layout(xaxis={"range": [0, 2]}, yaxis={"rangemode": "nonnegative"})
    outline = {"x": [0, 1, 1, 0], "y": [10, 10, -5, -5], "fill": "toself", "mode": "none", "fillcolor": "#123456"}
    figure.add_trace(go.Scatter(**outline, opacity=0.2))
    figure.add_trace(go.Scatter(x=[0, 1, 2], y=[10, 4, -5], mode="lines", line={"color": "#000000", "width": 1}))
    band, curve = (element.attrib["d"] for element in ET.fromstring(still_svg(figure)).iter(f"{SVG}path"))
    assert (band.count("L"), band[-1]) == (3, "Z")
    assert curve.count("L") == 1
    assert max(float(point.split()[1].rstrip("Z")) for point in band[1:].split("L")) == pytest.approx(358.0)
