"""The measured polar with its confidence band, least sink, best glide and the tangent to it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.display import Scale, System, scale_of
from analyzer.figures.template import DAY, MARKER_SEQUENCE, Look, new_figure, words

if TYPE_CHECKING:
    from collections.abc import Sequence

    import plotly.graph_objects as go

    from analyzer.soaring.records import PolarReport


def polar_figure(polars: Sequence[PolarReport], *, system: System = "metric", look: Look = DAY) -> go.Figure:
    """Draw sink over airspeed for each polar, sink downwards as is the custom.

    Parameters
    ----------
    polars : sequence of PolarReport
        One per flight mode.
    system : System
        Units of the axes.
    look : Look
        Day or night.

    Returns
    -------
    plotly.graph_objects.Figure
        Band: 95 % at each speed, within the speeds flown. Markers: least sink and best glide.
    """
    speed, sink = scale_of("airspeed_m_s", system), scale_of("sink_m_s", system)
    figure = new_figure(look, height=340)
    figure.update_layout(
        xaxis={"title": {"text": f"airspeed, {speed.symbol}"}},
        yaxis={"title": {"text": f"sink, {sink.symbol}"}, "autorange": "reversed", "rangemode": "tozero"},
    )
    for number, polar in enumerate(polars):
        color = look.series[number % len(look.series)]
        figure.add_trace(_band(polar, color, speed, sink))
        figure.add_trace(_curve(polar, color, speed, sink))
        figure.add_trace(_landmarks(polar, color, MARKER_SEQUENCE[number % len(MARKER_SEQUENCE)], speed, sink))
    return figure


def _band(polar: PolarReport, color: str, speed: Scale, sink: Scale) -> go.Scatter:
    import plotly.graph_objects as go

    there, back = polar.curve, polar.curve[::-1]
    return go.Scatter(
        x=[point.airspeed_m_s * speed.factor for point in there + back],
        y=[point.low_m_s * sink.factor for point in there] + [point.high_m_s * sink.factor for point in back],
        mode="lines",
        line={"width": 0, "color": color},
        fill="toself",
        opacity=0.2,
        hoverinfo="skip",
        showlegend=False,
    )


def _curve(polar: PolarReport, color: str, speed: Scale, sink: Scale) -> go.Scatter:
    import plotly.graph_objects as go

    hover = f"%{{x:.{speed.decimals}f}} {speed.symbol}: %{{y:.{sink.decimals}f}} {sink.symbol}<extra></extra>"
    return go.Scatter(
        x=[point.airspeed_m_s * speed.factor for point in polar.curve],
        y=[point.sink_m_s * sink.factor for point in polar.curve],
        mode="lines",
        name=words(polar.flight_mode) if polar.flight_mode else "as flown",
        line={"color": color, "width": 2, "dash": "solid"},
        hovertemplate=hover,
    )


def _landmarks(polar: PolarReport, color: str, symbol: str, speed: Scale, sink: Scale) -> go.Scatter:
    import plotly.graph_objects as go

    flown = polar.flown
    marks = [
        (flown.least_sink_speed_m_s, flown.least_sink_m_s, f"least sink {sink.with_unit(flown.least_sink_m_s)}"),
        (
            flown.best_glide_speed_m_s,
            flown.best_glide_speed_m_s / flown.best_glide_ratio,
            f"best glide {flown.best_glide_ratio:.1f}",
        ),
    ]
    return go.Scatter(
        x=[at * speed.factor for at, _, _ in marks],
        y=[value * sink.factor for _, value, _ in marks],
        mode="markers",
        marker={"color": color, "size": 9, "symbol": symbol},
        hovertext=[text for _, _, text in marks],
        hoverinfo="text",
        showlegend=False,
    )
