"""Segments corrected by hand: an edge dragged or typed, a kind renamed; measures follow."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dash import Input, Output, State
from dash.exceptions import PreventUpdate

from analyzer.segmentation.correction import move_edge, rename_segment
from dashboard import ids
from dashboard.components import segments as parts
from dashboard.components.flight_graph import (
    EDGE_NAMES,
    moved_edge,
)
from dashboard.pages.flight.elements import (
    GRAPH,
    LIST,
    flight_on_screen,
)

if TYPE_CHECKING:
    from dash import Dash

    from analyzer.records import SegmentKind
    from dashboard.workbench import Workbench


def register(app: Dash, workbench: Workbench) -> None:
    """Add the callbacks."""

    @app.callback(
        Output(ids.REVISION, "data", allow_duplicate=True),
        Input(GRAPH, "relayoutData"),
        State(GRAPH, "figure"),
        State(LIST, "value"),
        State(ids.CURRENT, "data"),
        State(ids.REVISION, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def drag(
        event: dict[str, Any] | None, figure: dict[str, Any], value: str | None, key: str, revision: int, tab: str
    ) -> int:
        try:
            moved = moved_edge(event or {}, figure)
        except KeyError:
            raise PreventUpdate from None
        selected = parts.selected_index(value)
        if moved is None or selected is None:
            return revision + 1  # a limit's line was dragged: drawing anew puts it back
        flight = flight_on_screen(workbench, key, tab)
        name, time_s = moved
        edge = selected - 1 if name == EDGE_NAMES[0] else selected
        workbench.correct(flight, move_edge(flight.analysis.segmentation, edge, time_s, flight.analysis.log))
        return revision + 1

    @app.callback(
        Output(ids.REVISION, "data", allow_duplicate=True),
        Input(parts.APPLY, "n_clicks"),
        State(parts.KIND, "value"),
        State(parts.START, "value"),
        State(parts.END, "value"),
        State(LIST, "value"),
        State(ids.CURRENT, "data"),
        State(ids.REVISION, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def apply(
        clicks: int | None,
        kind: SegmentKind,
        start_s: float,
        end_s: float,
        value: str | None,
        key: str,
        revision: int,
        tab: str,
    ) -> int:
        selected = parts.selected_index(value)
        if not clicks or selected is None:
            raise PreventUpdate
        flight = flight_on_screen(workbench, key, tab)
        cut, log = flight.analysis.segmentation, flight.analysis.log
        if selected > 0 and start_s != round(cut.segments[selected].start_s, 2):
            cut = move_edge(cut, selected - 1, float(start_s), log)
        if selected < len(cut.segments) - 1 and end_s != round(cut.segments[selected].end_s, 2):
            cut = move_edge(cut, selected, float(end_s), log)
        if kind != cut.segments[selected].kind:
            cut = rename_segment(cut, selected, kind)
        workbench.correct(flight, cut)
        return revision + 1
