"""Sink rate of each glide with its interval, by flight mode where one is logged."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.constants import NORMAL_95
from analyzer.display import Scale, System, clock, scale_of
from analyzer.figures.template import DAY, MARKER_SEQUENCE, clock_axis, clock_values, new_figure, words

if TYPE_CHECKING:
    from collections.abc import Sequence

    import plotly.graph_objects as go

    from analyzer.records import Glide


def glides_figure(glides: Sequence[Glide], *, system: System = "metric") -> go.Figure:
    """Draw the sink rate of each measured glide over the time at which it was flown.

    Parameters
    ----------
    glides : sequence of Glide
        Those without a sink rate are left out.
    system : System
        Units of the axes.

    Returns
    -------
    plotly.graph_objects.Figure
        A bar as long as the glide at its sink rate, with its 95 % interval; colour and marker by flight mode.
    """
    scale = scale_of("sink_rate_m_s", system)
    figure = new_figure(DAY, height=240)
    figure.update_layout(
        xaxis=clock_axis(
            max((glide.end_s for glide in glides), default=0.0), title={"text": "time since the log began"}
        ),
        yaxis={"title": {"text": f"sink, {scale.symbol}"}, "nticks": 6, "rangemode": "tozero"},
    )
    measured = [glide for glide in glides if glide.sink_rate_m_s is not None]
    for number, mode in enumerate(dict.fromkeys(glide.flight_mode for glide in measured)):
        of_mode = [glide for glide in measured if glide.flight_mode == mode]
        color = DAY.series[number % len(DAY.series)] if mode else DAY.of_kind("glide").color
        figure.add_trace(_spans(of_mode, mode, color, scale))
        figure.add_trace(_middles(of_mode, MARKER_SEQUENCE[number % len(MARKER_SEQUENCE)], color, scale))
    return figure


def _spans(glides: Sequence[Glide], mode: str | None, color: str, scale: Scale) -> go.Scatter:
    """A level line from begin to end of each glide."""
    import plotly.graph_objects as go

    times_s, sinks = [], []
    for glide in glides:
        times_s += [glide.start_s, glide.end_s, glide.end_s]
        sinks += [(glide.sink_rate_m_s or 0.0) * scale.factor] * 2 + [None]  # None lifts the pen
    return go.Scatter(
        x=clock_values(np.array(times_s)),
        y=sinks,
        mode="lines",
        name=words(mode) if mode else "glide",
        showlegend=mode is not None,
        line={"color": color, "width": 3},
        hoverinfo="skip",
    )


def _middles(glides: Sequence[Glide], symbol: str, color: str, scale: Scale) -> go.Scatter:
    """The interval, at the middle of each glide."""
    import plotly.graph_objects as go

    return go.Scatter(
        x=clock_values(np.array([0.5 * (glide.start_s + glide.end_s) for glide in glides])),
        y=[(glide.sink_rate_m_s or 0.0) * scale.factor for glide in glides],
        mode="markers",
        marker={"color": color, "size": 8, "symbol": symbol},
        error_y={
            "array": [NORMAL_95 * scale.factor * (glide.sink_rate_se_m_s or 0.0) for glide in glides],
            "color": color,
            "thickness": 1.5,
            "width": 4,
        },
        hovertext=[f"{clock(glide.start_s)} to {clock(glide.end_s)}" for glide in glides],
        hovertemplate=f"%{{hovertext}}: %{{y:.{scale.decimals}f}} {scale.symbol}<extra></extra>",
        showlegend=False,
    )
