"""Segments corrected by hand: an edge dragged or typed, a kind renamed; measures follow."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dash import Input, NoUpdate, Output, State, no_update, set_props
from dash.exceptions import PreventUpdate

from analyzer.errors import ClimbledgerError
from dashboard import ids
from dashboard.components import segments as parts
from dashboard.components.flight_graph import moved_shape
from dashboard.pages.flight.elements import GRAPH, LIST, flight_on_screen
from dashboard.shell import message

if TYPE_CHECKING:
    from dash import Dash

    from analyzer.records import SegmentKind
    from dashboard.session import OpenFlight
    from dashboard.workbench import Workbench


def register(app: Dash, workbench: Workbench) -> None:
    """Add the callbacks."""

    @app.callback(
        Output(ids.REVISION, "data", allow_duplicate=True),
        Input(GRAPH, "relayoutData"),
        State(LIST, "value"),
        State(ids.CURRENT, "data"),
        State(ids.REVISION, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def drag(event: dict[str, Any] | None, value: str | None, key: str, revision: int, tab: str) -> int:
        dragged = moved_shape(event or {})
        if dragged is None:
            raise PreventUpdate
        shape, time_s = dragged
        flight = flight_on_screen(workbench, key, tab)
        edge = parts.dragged_edge(flight, value, shape)
        try:
            if edge is not None:
                workbench.correct(flight, parts.moved(flight, edge, time_s))
        except ClimbledgerError as error:
            set_props(ids.MESSAGE, {"children": message(error)})
        return revision + 1  # what did not move goes back to its place when all is drawn anew

    @app.callback(
        Output(ids.REVISION, "data", allow_duplicate=True),
        Output(LIST, "value", allow_duplicate=True),
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
        start_s: object,
        end_s: object,
        value: str | None,
        key: str,
        revision: int,
        tab: str,
    ) -> tuple[int, str | NoUpdate | None]:
        flight = flight_on_screen(workbench, key, tab)
        selected = parts.chosen_index(flight, value)
        if not clicks or selected is None:
            raise PreventUpdate
        corrected = workbench.correct(flight, parts.edited(flight, selected, kind, start_s, end_s))
        return revision + 1, _still_chosen(value, flight, corrected)

    @app.callback(
        Output(ids.REVISION, "data", allow_duplicate=True),
        Output(LIST, "value", allow_duplicate=True),
        Input(parts.UNDO, "n_clicks"),
        State(LIST, "value"),
        State(ids.CURRENT, "data"),
        State(ids.REVISION, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def undo(
        clicks: int | None, value: str | None, key: str, revision: int, tab: str
    ) -> tuple[int, str | NoUpdate | None]:
        if not clicks:
            raise PreventUpdate
        flight = flight_on_screen(workbench, key, tab)
        return revision + 1, _still_chosen(value, flight, workbench.undo(flight))


def _still_chosen(value: str | None, before: OpenFlight, after: OpenFlight) -> str | NoUpdate | None:
    """The list's new value where it has one: a value that is set again would be drawn again."""
    new = parts.choice_after(value, before, after)
    return no_update if new == value else new
