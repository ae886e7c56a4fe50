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

    from analyzer.display import System
    from analyzer.figures.template import Look
    from analyzer.records import Log, Segment
    from dashboard.session import OpenFlight

START_EDGE: Final = 1
END_EDGE: Final = 2
"""Places of the selected segment's edges among the plot's shapes; its wash stands before them, limits after them."""

_SHAPE_MOVED: Final = re.compile(r"shapes\[(\d+)\]\.x0")


Window = tuple[float, float]
"""The stretch of time in sight, in seconds since the first sample."""


def flight_graph(
    flight: OpenFlight,
    selected: Segment | None,
    system: System,
    look: Look,
    revision: int,
    window_s: Window | None = None,
) -> go.Figure:
    """Draw the whole flight with the selected segment marked and its edges ready to drag.

    What the pilot zoomed to stays, and its curves as fine as a zoom draws them; what was dragged stays until the next
    revision.
    """
    figure = _figure(flight, system, look)
    if window_s is not None:
        for trace, fine in zip(figure.data, _figure(_in_sight(flight, window_s), system, look).data, strict=True):
            trace.update(x=fine.x, y=fine.y, text=fine.text)
        figure.layout.xaxis.range = clock_values(np.array(window_s))
    log_id = flight.analysis.log.sha256
    # set, not updated: an update would lay them one by one over those that are there
    figure.layout.shapes = (*selection_shapes(selected, look), *figure.layout.shapes)
    figure.update_layout(uirevision=log_id, editrevision=f"{log_id} {revision}")
    return figure


def marked(selected: Segment, look: Look) -> Patch:
    """Mark another segment of a flight already on screen."""
    patch = Patch()
    for place, shape in enumerate(selection_shapes(selected, look)):
        patch["layout"]["shapes"][place] = shape
    return patch


def selection_shapes(segment: Segment | None, look: Look) -> tuple[dict[str, Any], ...]:
    """A wash over the segment and a line at each of its edges; unseen where none is selected."""
    start, end = (0.0, 0.0) if segment is None else clock_values(np.array([segment.start_s, segment.end_s])).tolist()
    common = {"xref": "x", "yref": "paper", "y0": 0, "y1": 1, "visible": segment is not None}
    wash = {"type": "rect", "x0": start, "x1": end, "fillcolor": look.ink, "opacity": 0.08, "layer": "below"}
    line = {"type": "line", "line": {"color": look.ink, "width": 3}}
    return (
        {**common, **wash, "line": {"width": 0}},
        *({**common, **line, "x0": place, "x1": place} for place in (start, end)),
    )


def zoomed(flight: OpenFlight, window_s: Window | None, system: System) -> Patch:
    """Redraw the curves of a flight already on screen, finer, for the stretch of time that is visible."""
    patch = Patch()
    for number, trace in enumerate(_figure(_in_sight(flight, window_s), system, DAY).data):
        patch["data"][number]["x"] = trace.x
        patch["data"][number]["y"] = trace.y
        if trace.text is not None:
            patch["data"][number]["text"] = trace.text  # letters that find room now
    return patch


def window_of(relayout: dict[str, Any]) -> Window | None:
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


def moved_shape(relayout: dict[str, Any]) -> tuple[int, float] | None:
    """Which of the plot's shapes was dragged, and to when its left end; None where none was."""
    found = next(filter(None, map(_SHAPE_MOVED.fullmatch, relayout)), None)
    return None if found is None else (int(found[1]), axis_seconds(relayout[found[0]]))


def axis_seconds(value: str | float) -> float:
    """Seconds since the first sample of a place on the time axis, as the browser reports it."""
    if isinstance(value, str):
        return (pd.Timestamp(value) - pd.Timestamp(CLOCK_ORIGIN_MS, unit="ms")).total_seconds()
    return (float(value) - CLOCK_ORIGIN_MS) / 1000.0


def segment_at(segments: tuple[Segment, ...], time_s: float) -> int | None:
    """Index of the segment that holds a time."""
    return next((index for index, entry in enumerate(segments) if entry.start_s <= time_s <= entry.end_s), None)


def _figure(flight: OpenFlight, system: System, look: Look) -> go.Figure:
    analysis = flight.analysis
    limits = analysis.summary.power_system.limits
    cut = analysis.segmentation
    return flight_figure(analysis.log, cut.segments, limits, setup=flight.setup, system=system, look=look)


def _in_sight(flight: OpenFlight, window_s: Window | None) -> OpenFlight:
    """The flight with as much of its log as is visible."""
    log = flight.analysis.log
    return flight if window_s is None else replace(flight, analysis=replace(flight.analysis, log=_cut(log, window_s)))


def _cut(log: Log, window_s: Window) -> Log:
    low, high = np.searchsorted(log.frame["time_s"].to_numpy(), window_s)
    inside = log.frame.iloc[max(0, low - 1) : high + 1]
    return replace(log, frame=inside) if len(inside) > 1 else log
