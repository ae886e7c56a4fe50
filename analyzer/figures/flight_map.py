"""Where it was flown: the track seen from above, drawn from the data alone, with a scale and north."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.display import KIND_TITLES, System, scale_of
from analyzer.figures.decimation import decimated
from analyzer.figures.template import DAY, KIND_STYLES, ORANGE, Look, new_figure
from analyzer.records import SEGMENT_KINDS

if TYPE_CHECKING:
    from collections.abc import Sequence

    import plotly.graph_objects as go

    from analyzer.circling.position import Track
    from analyzer.circling.wind import Wind
    from analyzer.records import Segment, SegmentKind
    from analyzer.soaring.records import Circling, SoaringReport

Bounds = tuple[float, float, float, float]
"""Left, right, bottom and top of a map, in metres."""

SCALE_STEPS: Final = (1.0, 2.0, 5.0)
SCALE_SHARE: Final = 0.3
"""The scale is at most this share of the width drawn."""
BAND: Final = 0.3
"""Of half the width of the map, above the track, for the arrows of north and wind."""
LEAST_SPAN_M: Final = 50.0
POINTS: Final = 6000
"""Per direction: circles need more than the height does."""
WIDTHS: Final[dict[SegmentKind, float]] = {"ground": 1.0, "motor_run": 3.0, "glide": 1.0, "thermal_climb": 1.6}
"""Circles lie close together: dashes and thick lines would run into one another."""


def flight_map_figure(
    track: Track, segments: Sequence[Segment], report: SoaringReport, *, system: System = "metric", look: Look = DAY
) -> go.Figure:
    """Draw the track by kind of segment, the thermals' centres, and lift that was passed by.

    Parameters
    ----------
    track : Track
        Believable positions.
    segments : sequence of Segment
        They colour the track.
    report : SoaringReport
        Thermals (T1, T2...), lift passed by with its probability, and the wind.
    system : System
        Unit of the scale.
    look : Look
        Day or night.

    Returns
    -------
    plotly.graph_objects.Figure
        East to the right and north up, in one scale; nothing is fetched from anywhere.
    """
    figure = new_figure(look, height=520)
    bounds = left, right, bottom, top = _bounds(track)
    axis = {"showgrid": False, "showline": False, "ticks": "", "showticklabels": False}
    figure.update_layout(
        xaxis={**axis, "range": [left, right], "constrain": "domain"},
        yaxis={**axis, "range": [bottom, top], "scaleanchor": "x", "scaleratio": 1.0},
        margin={"l": 16, "r": 16, "b": 16},
    )
    kept = np.union1d(decimated(track.east_m, POINTS), decimated(track.north_m, POINTS))
    for kind in SEGMENT_KINDS:
        figure.add_trace(_track_trace(track, kept, kind, segments, look))
    figure.add_trace(_passed_trace(track, report, system))
    figure.add_trace(_thermals_trace(track, report, system))
    _draw_scale(figure, bounds, system, look)
    _draw_north(figure, bounds, report.wind, look)
    return figure


def _bounds(track: Track) -> Bounds:
    """A square around the track, and above it a band for the arrows."""
    east, north = track.east_m[np.isfinite(track.east_m)], track.north_m[np.isfinite(track.north_m)]
    across, along = 0.5 * float(east.min() + east.max()), 0.5 * float(north.min() + north.max())
    half = 0.58 * max(float(np.ptp(east)), float(np.ptp(north)), LEAST_SPAN_M)
    return across - half, across + half, along - half, along + (1.0 + BAND) * half


def _track_trace(
    track: Track, kept: np.ndarray, kind: SegmentKind, segments: Sequence[Segment], look: Look
) -> go.Scatter:
    """Every segment of one kind as one broken line, of the samples that are drawn."""
    import plotly.graph_objects as go

    east, north = [], []
    for segment in segments:
        if segment.kind == kind:
            rows = kept[(track.time_s[kept] >= segment.start_s) & (track.time_s[kept] <= segment.end_s)]
            east += [track.east_m[rows], [np.nan]]
            north += [track.north_m[rows], [np.nan]]
    style = look.of_kind(kind)
    return go.Scatter(
        x=np.concatenate(east) if east else [],
        y=np.concatenate(north) if north else [],
        mode="lines",
        name=KIND_TITLES[kind],
        showlegend=bool(east),
        line={"color": style.color, "width": WIDTHS[kind], "dash": "dot" if kind == "ground" else "solid"},
        hoverinfo="skip",
    )


def _thermals_trace(track: Track, report: SoaringReport, system: System) -> go.Scatter:
    import plotly.graph_objects as go

    placed = [
        (number, thermal, place)
        for number, thermal in enumerate(report.thermals, start=1)
        if (place := _centre(track, thermal.circling)) is not None
    ]
    climb, gain = scale_of("climb_m_s", system), scale_of("gain_m", system)
    letter = KIND_STYLES["thermal_climb"].letter
    return go.Scatter(
        x=[east for _, _, (east, _) in placed],
        y=[north for _, _, (_, north) in placed],
        mode="markers+text",
        marker={"color": KIND_STYLES["thermal_climb"].color, "size": 9, "symbol": "circle"},
        text=[f"{letter}{number}" for number, _, _ in placed],
        textposition="top center",
        hovertext=[
            f"{letter}{number}: {gain.with_unit(t.climb.height_gain_m)}, {climb.with_unit(t.climb.climb_rate_m_s)}"
            for number, t, _ in placed
        ],
        hoverinfo="text",
        showlegend=False,
    )


def _passed_trace(track: Track, report: SoaringReport, system: System) -> go.Scatter:
    import plotly.graph_objects as go

    placed = [
        (item, track.to_plane(item.latitude_deg, item.longitude_deg))
        for item in report.lift_passed
        if item.latitude_deg is not None and item.longitude_deg is not None
    ]
    air = scale_of("air_m_s", system)
    return go.Scatter(
        x=[east for _, (east, _) in placed],
        y=[north for _, (_, north) in placed],
        mode="markers",
        name="lift passed by",
        marker={"color": ORANGE, "size": [6.0 + 10.0 * item.probability for item, _ in placed], "symbol": "diamond"},
        hovertext=[f"{air.with_unit(item.air_m_s)}, {100 * item.probability:.0f} % a climb" for item, _ in placed],
        hoverinfo="text",
        showlegend=bool(placed),
    )


def _centre(track: Track, circling: Circling | None) -> tuple[float, float] | None:
    if circling is None or circling.centre_latitude_deg is None or circling.centre_longitude_deg is None:
        return None
    return track.to_plane(circling.centre_latitude_deg, circling.centre_longitude_deg)


def round_length(longest: float) -> float:
    """The longest of 1, 2, 5, 10, 20, 50... that is no longer than this."""
    power = 10.0 ** math.floor(math.log10(longest))
    return max(step * power for step in SCALE_STEPS if step * power <= longest)


def _draw_scale(figure: go.Figure, bounds: Bounds, system: System, look: Look) -> None:
    """A bar of a round length at the lower left."""
    left, right, bottom, top = bounds
    unit = scale_of("height_m", system)
    length = round_length(SCALE_SHARE * (right - left) * unit.factor)
    start, level = left + 0.04 * (right - left), bottom + 0.05 * (top - bottom)
    end, tick = start + length / unit.factor, 0.01 * (top - bottom)
    line = {"color": look.ink, "width": 2}
    figure.add_shape(type="line", x0=start, x1=end, y0=level, y1=level, line=line)
    for place in (start, end):
        figure.add_shape(type="line", x0=place, x1=place, y0=level - tick, y1=level + tick, line=line)
    text = f"{length:g} {unit.symbol}"
    figure.add_annotation(x=0.5 * (start + end), y=level, text=text, showarrow=False, yanchor="bottom")


def _draw_north(figure: go.Figure, bounds: Bounds, wind: Wind | None, look: Look) -> None:
    """North, and beside it the wind as an arrow that blows with it."""
    left, right, bottom, top = bounds
    east, north = left + 0.93 * (right - left), top - 0.07 * (top - bottom)
    reach = 0.09 * (top - bottom)
    _arrow(figure, east, north, 0.0, reach, "N", look)
    if wind is not None and wind.speed_m_s > 0.0:
        share = reach / wind.speed_m_s
        _arrow(figure, east - 2.0 * reach, north, share * wind.east_m_s, share * wind.north_m_s, "wind", look)


def _arrow(
    figure: go.Figure, east: float, north: float, along_east: float, along_north: float, text: str, look: Look
) -> None:
    half_east, half_north = 0.5 * along_east, 0.5 * along_north
    head, tail = {"x": east + half_east, "y": north + half_north}, {"ax": east - half_east, "ay": north - half_north}
    style = {"axref": "x", "ayref": "y", "showarrow": True, "arrowhead": 2, "arrowcolor": look.ink, "arrowwidth": 2}
    figure.add_annotation(text="", **head, **tail, **style)
    figure.add_annotation(x=east, y=north, text=text, showarrow=False, yshift=-30, font={"size": 12})
