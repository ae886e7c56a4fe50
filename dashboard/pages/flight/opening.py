"""Logs come in: dropped, or chosen among those open."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dash import ClientsideFunction, Input, Output, State, html, no_update
from dash.exceptions import PreventUpdate

from analyzer.errors import ClimbledgerError
from dashboard import ids
from dashboard.pages.flight.asking import next_question
from dashboard.pages.flight.elements import CHOOSE, DROP, DROPPED, QUESTION
from dashboard.shell import message, open_list
from dashboard.workbench import setup_in_use

if TYPE_CHECKING:
    from dash import Dash

    from dashboard.workbench import Workbench


def register(app: Dash, workbench: Workbench) -> None:
    """Add the callbacks."""
    app.clientside_callback(  # type: ignore[no-untyped-call]
        ClientsideFunction("climbledger", "take"),
        Output(DROPPED, "data", allow_duplicate=True),
        Output(DROP, "contents"),
        Input(DROP, "contents"),
        State(DROP, "filename"),
        prevent_initial_call=True,
    )

    @app.callback(
        Output(ids.OPEN_FLIGHTS, "data", allow_duplicate=True),
        Output(ids.CURRENT, "data", allow_duplicate=True),
        Output(ids.MESSAGE, "children", allow_duplicate=True),
        Output(QUESTION, "children"),
        Output(DROPPED, "data"),
        Input(DROPPED, "data"),
        State(ids.TAB, "data"),
        State(ids.SETUP_TEXT, "data"),
        State(ids.COLUMN_MAPS, "data"),
        prevent_initial_call=True,
        # A second drop while one is read would make the page forget the first one's answer.
        running=[(Output(DROP, "disabled"), True, False)],
    )
    def drop(
        dropped: dict[str, list[str]] | None,
        tab: str,
        setup_text: str | None,
        remembered: dict[str, dict[str, str]] | None,
    ) -> tuple[Any, Any, Any, Any, None]:
        if not dropped:  # emptied below: the browser need not keep what is here
            raise PreventUpdate
        setup = setup_in_use(setup_text)
        problems: list[html.Div] = []
        opened: Any = no_update  # a broken file leaves what is on screen alone, and does not draw it anew
        # The browser hands them over as they happen to be read: their names say which is opened last, and shown.
        for name, content in sorted(zip(dropped["names"], dropped["contents"], strict=True)):
            try:
                flight = workbench.open_upload(tab, name, content, setup, remembered)
                opened = flight.key if flight is not None else opened
            except ClimbledgerError as error:
                problems.append(message(error))
        listed = no_update if opened is no_update else open_list(workbench.shelf.of_tab(tab))
        return listed, opened, problems, next_question(workbench, tab), None

    app.clientside_callback(  # type: ignore[no-untyped-call]
        ClientsideFunction("climbledger", "offer"),
        Output(CHOOSE, "data"),
        Output(CHOOSE, "value"),
        Input(ids.OPEN_FLIGHTS, "data"),
        Input(ids.CURRENT, "data"),
    )
    app.clientside_callback(  # type: ignore[no-untyped-call]
        ClientsideFunction("climbledger", "choose"),
        Output(ids.CURRENT, "data", allow_duplicate=True),
        Input(CHOOSE, "value"),
        State(ids.CURRENT, "data"),
        prevent_initial_call=True,
    )
