"""From a flight to the setup as it flies, and on to the propellers worth trying."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dash import Input, Output, State, html
from dash.exceptions import PreventUpdate

from dashboard import ids
from dashboard.components.as_flown import as_flown
from dashboard.pages.flight.elements import CALIBRATE, flight_on_screen

if TYPE_CHECKING:
    from dash import Dash

    from dashboard.workbench import Workbench

NEXT_PAGE = "/next"


def register(app: Dash, workbench: Workbench) -> None:
    """Add the callback."""

    @app.callback(
        Output(ids.SETUP_TEXT, "data", allow_duplicate=True),
        Output(ids.MESSAGE, "children", allow_duplicate=True),
        Output(ids.LOCATION, "pathname", allow_duplicate=True),
        Input(CALIBRATE, "n_clicks"),
        State(ids.CURRENT, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def calibrate(clicks: int | None, key: str, tab: str) -> tuple[str, html.Div, str]:
        if not clicks:
            raise PreventUpdate
        return *as_flown(workbench, flight_on_screen(workbench, key, tab)), NEXT_PAGE
