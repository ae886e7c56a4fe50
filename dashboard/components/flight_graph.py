"""The flight's plot on the page: the report's figure, plus what a screen can do: zoom, select, drag an edge."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
from dash import Patch

from analyzer.figures.flight import flight_figure
from analyzer.figures.template import CLOCK_ORIGIN_MS, DAY, clock_values

if TYPE_CHECKING:
    import plotly.graph_objects as go

    from analyzer.analysis import Analysis
    from analyzer.export.display import System
    from analyzer.figures.template import Look
    from analyzer.records import Log, Segment

EDGE_NAMES: Final = ("segment start", "segment end")
_EDGE_MOVED: Final = re.compile(r"shapes\[(\d+)\]\.x0")


def flight_graph(analysis: Analysis, selected: int | None, system: System, look: Look) -> go.Figure:
    """Draw the whole flight with the selected segment marked and its edges ready to drag."""
    figure = _figure(analysis, system, look)
    figure.update_layout(hovermode="x unified", hoversubplots="axis", uirevision=analysis.log.sha256)
    if selected is not None and 0 <= selected < len(analysis.segmentation.segments):
        _mark(figure, analysis.segmentation.segments[selected], look)
    return figure


def zoomed(analysis: Analysis, window_s: tuple[float, float] | None, system: System) -> Patch:
    """Redraw the curves of a flight already on screen, finer, for the stretch of time that is visible."""
    shown = analysis if window_s is None else replace(analysis, log=_cut(analysis, window_s))
    patch = Patch()
    for number, trace in enumerate(_figure(shown, system, DAY).data):
        patch["data"][number]["x"] = trace.x
        patch["data"][number]["y"] = trace.y
    return patch


def window_of(relayout: dict[str, Any]) -> tuple[float, float] | None:
    """Visible stretch of time that a zoom or pan reports, in seconds; None for the whole log.

    Raises
    ------
    KeyError
        When the event is neither.
    """
    if "xaxis.autorange" in relayout:
        return None
    if "xaxis.range" in relayout:
        low, high = relayout["xaxis.range"]
    else:
        low, high = relayout["xaxis.range[0]"], relayout["xaxis.range[1]"]
    return axis_seconds(low), axis_seconds(high)


def moved_edge(relayout: dict[str, Any], figure: dict[str, Any]) -> tuple[str, float] | None:
    """Which edge of the selected segment was dragged, and to when; None when another line was.

    Raises
    ------
    KeyError
        When nothing was dragged.
    """
    found = next((match for key in relayout if (match := _EDGE_MOVED.fullmatch(key))), None)
    if found is None:
        raise KeyError("shapes")
    name = figure["layout"]["shapes"][int(found[1])].get("name", "")
    return (name, axis_seconds(relayout[found[0]])) if name in EDGE_NAMES else None


def axis_seconds(value: str | float) -> float:
    """Seconds since the first sample of a place on the time axis, as the browser reports it."""
    if isinstance(value, str):
        return (pd.Timestamp(value) - pd.Timestamp(CLOCK_ORIGIN_MS, unit="ms")).total_seconds()
    return (float(value) - CLOCK_ORIGIN_MS) / 1000.0


def segment_at(segments: tuple[Segment, ...], time_s: float) -> int | None:
    """Index of the segment that holds a time."""
    return next((index for index, entry in enumerate(segments) if entry.start_s <= time_s <= entry.end_s), None)


def _figure(analysis: Analysis, system: System, look: Look) -> go.Figure:
    limits = analysis.summary.power_system.limits
    return flight_figure(analysis.log, analysis.segmentation.segments, limits, system=system, look=look)


def _cut(analysis: Analysis, window_s: tuple[float, float]) -> Log:
    frame = analysis.log.frame
    low, high = np.searchsorted(frame["time_s"].to_numpy(), window_s)
    inside = frame.iloc[max(0, low - 1) : high + 1]
    return replace(analysis.log, frame=inside if len(inside) > 1 else frame)


def _mark(figure: go.Figure, segment: Segment, look: Look) -> None:
    start, end = clock_values(np.array([segment.start_s, segment.end_s]))
    paper = {"xref": "x", "yref": "paper", "y0": 0, "y1": 1}
    figure.add_shape(
        type="rect", x0=start, x1=end, fillcolor=look.ink, opacity=0.08, line={"width": 0}, layer="below", **paper
    )
    for name, place in zip(EDGE_NAMES, (start, end), strict=True):
        figure.add_shape(type="line", x0=place, x1=place, name=name, line={"color": look.ink, "width": 3}, **paper)
