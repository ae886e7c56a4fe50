"""The flight goes on: as a document, or into the logbook."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dash import ALL, Input, Output, State, ctx, html
from dash.exceptions import PreventUpdate

from analyzer.logbook import Edits
from dashboard import ids
from dashboard.components.exports import DOWNLOAD, FORM, export
from dashboard.components.keeping import KEEP, KEPT, NOTE, PLACE, kept_as, said
from dashboard.pages.flight.elements import BESIDE_OTHERS, flight_on_screen
from dashboard.preferences import Preferences
from dashboard.shell import message

if TYPE_CHECKING:
    from dash import Dash

    from dashboard.workbench import Workbench


def register(app: Dash, workbench: Workbench) -> None:
    """Add the callbacks."""

    @app.callback(
        Output(DOWNLOAD, "data"),
        Input({"type": FORM, "form": ALL}, "n_clicks"),
        State(ids.CURRENT, "data"),
        State(ids.PREFERENCES, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def hand_on(_: list[int], key: str, preferences: dict[str, str] | None, tab: str) -> dict[str, Any]:
        if not isinstance(ctx.triggered_id, dict) or not ctx.triggered[0]["value"]:
            raise PreventUpdate
        chosen = Preferences.from_store(preferences)
        return export(flight_on_screen(workbench, key, tab), ctx.triggered_id["form"], chosen.units)

    @app.callback(
        Output(ids.MESSAGE, "children", allow_duplicate=True),
        Output(NOTE, "value"),
        Output(KEPT, "children", allow_duplicate=True),
        Output(KEEP, "children", allow_duplicate=True),
        Input(KEEP, "n_clicks"),
        State(PLACE, "value"),
        State(NOTE, "value"),
        State(ids.CURRENT, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def keep(
        clicks: int | None, place: str | None, note: str | None, key: str, tab: str
    ) -> tuple[html.Div, str, str, str]:
        if not clicks:
            raise PreventUpdate
        kept = workbench.keep(flight_on_screen(workbench, key, tab), Edits(place=place or None, note=note or None))
        # the place is the next flight's too, the note is not
        return message(said(kept), "done"), "", *kept_as(kept, workbench.entry_of(kept))

    @app.callback(
        Output(KEPT, "children"),
        Output(KEEP, "children"),
        Input(BESIDE_OTHERS, "id"),
        State(ids.CURRENT, "data"),
        State(ids.TAB, "data"),
    )
    def look_up(_: str, key: str | None, tab: str) -> tuple[str, str]:
        flight = flight_on_screen(workbench, key, tab)
        return kept_as(flight, workbench.entry_of(flight))
