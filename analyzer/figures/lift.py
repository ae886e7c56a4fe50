"""The lift: its profile over height in each climb, and how a session's climbing spreads over height and day."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from analyzer.constants import NORMAL_95
from analyzer.display import Scale, System, clock, scale_of
from analyzer.figures.template import DAY, KIND_STYLES, MARKER_SEQUENCE, Look, faint, new_figure
from analyzer.wording import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    import plotly.graph_objects as go

    from analyzer.soaring.records import Thermal
    from analyzer.soaring.session import Session

MOST_APART: Final = 8
"""Climbs that the eye still tells apart by colour and marker."""
LEAST_S: Final = 10.0
"""Climbing in a band of height that is drawn: less is half a circle, and tells of one gust."""


def lift_profile_figure(thermals: Sequence[Thermal], *, system: System = "metric", look: Look = DAY) -> go.Figure:
    """Draw the climb over height for each thermal.

    Parameters
    ----------
    thermals : sequence of Thermal
        Those without a profile are left out, but keep their numbers.
    system : System
        Units of the axes.
    look : Look
        Day or night.

    Returns
    -------
    plotly.graph_objects.Figure
        Height upwards, climb to the right, one line and marker a climb; 95 % intervals where a band holds at least two
        circles. Of more than `MOST_APART` climbs `height_distribution_figure` shows what they have in common.
    """
    climb, height = scale_of("climb_m_s", system), scale_of("height_m", system)
    figure = new_figure(look, height=380)
    figure.update_layout(
        xaxis={"title": {"text": f"climb, {climb.symbol}"}, "rangemode": "tozero"},
        yaxis={"title": {"text": f"height, {height.symbol}"}},
    )
    for number, thermal in enumerate(thermals):
        if thermal.profile:
            figure.add_trace(_profile(thermal, number, climb, height, look))
    return figure


def _profile(thermal: Thermal, number: int, climb: Scale, height: Scale, look: Look) -> go.Scatter:
    import plotly.graph_objects as go

    color = look.series[number % len(look.series)]
    bands = thermal.profile
    return go.Scatter(
        x=[band.climb_m_s * climb.factor for band in bands],
        y=[0.5 * (band.low_m + band.high_m) * height.factor for band in bands],
        mode="lines+markers",
        name=f"{KIND_STYLES['thermal_climb'].letter}{number + 1}",
        line={"color": color, "width": 2, "dash": "solid"},
        marker={"color": color, "size": 7, "symbol": MARKER_SEQUENCE[number % len(MARKER_SEQUENCE)]},
        error_x={
            "array": [NORMAL_95 * (band.climb_se_m_s or 0.0) * climb.factor for band in bands],
            "color": color,
            "thickness": 1.2,
            "width": 3,
        },
        hovertemplate=f"%{{y:.0f}} {height.symbol}: %{{x:.{climb.decimals}f}} {climb.symbol}",
    )


def height_distribution_figure(session: Session, *, system: System = "metric", look: Look = DAY) -> go.Figure:
    """Draw the mean climb by band of height over all climbs of a session; bars carry the time spent.

    Bands with less than `LEAST_S` of climbing are in the table alone.
    """
    import plotly.graph_objects as go

    climb, height = scale_of("climb_m_s", system), scale_of("height_m", system)
    figure = new_figure(look, height=320)
    figure.update_layout(
        xaxis={"title": {"text": f"mean climb, {climb.symbol}"}, "rangemode": "tozero"},
        yaxis={"title": {"text": f"height, {height.symbol}"}},
    )
    bands = [band for band in session.by_height if band.time_s >= LEAST_S]
    figure.add_trace(
        go.Bar(
            x=[band.climb_rate_m_s * climb.factor for band in bands],
            y=[0.5 * (band.low_m + band.high_m) * height.factor for band in bands],
            width=[0.9 * (band.high_m - band.low_m) * height.factor for band in bands],
            orientation="h",
            marker=_filled(),
            insidetextfont={"color": look.ink},
            text=[f"{counted(band.climbs, 'climb')}, {clock(band.time_s)}" for band in bands],
            hovertemplate=f"%{{y:.0f}} {height.symbol}: %{{x:.{climb.decimals}f}} {climb.symbol}<extra></extra>",
        )
    )
    return figure


def hour_distribution_figure(session: Session, *, system: System = "metric", look: Look = DAY) -> go.Figure:
    """Draw the mean climb by hour of the day over all climbs of a session."""
    import plotly.graph_objects as go

    climb = scale_of("climb_m_s", system)
    figure = new_figure(look, height=280)
    figure.update_layout(
        xaxis={"title": {"text": "hour of the day"}, "dtick": 1},
        yaxis={"title": {"text": f"mean climb, {climb.symbol}"}, "rangemode": "tozero"},
    )
    hours = session.by_hour
    figure.add_trace(
        go.Bar(
            x=[hour.hour + 0.5 for hour in hours],
            y=[hour.climb_rate_m_s * climb.factor for hour in hours],
            width=0.9,
            marker=_filled(),
            insidetextfont={"color": look.ink},
            text=[counted(hour.climbs, "climb") for hour in hours],
            hovertemplate=f"%{{y:.{climb.decimals}f}} {climb.symbol}<extra></extra>",
        )
    )
    return figure


def _filled() -> dict[str, object]:
    """Bars in the colour of thermal climbs, faint enough for the words in them."""
    color = KIND_STYLES["thermal_climb"].color
    return {"color": faint(color), "line": {"color": color, "width": 1.5}}
