"""Logs that cannot be read until the pilot says what their columns are: asked about one after another."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dash import ALL, Input, Output, State
from dash.exceptions import PreventUpdate

from dashboard import ids
from dashboard.components import column_question as asked
from dashboard.components.column_question import column_question
from dashboard.components.page_words import ASK_COLUMNS
from dashboard.pages.flight.elements import QUESTION, flight_on_screen
from dashboard.shell import message, open_list
from dashboard.workbench import setup_in_use

if TYPE_CHECKING:
    from dash import Dash, html

    from dashboard.workbench import Workbench


def next_question(workbench: Workbench, tab: str) -> html.Div | None:
    """Ask about the columns of the first log that waits for it."""
    waiting = workbench.shelf.held(tab)
    return column_question(waiting[0]) if waiting else None


def register(app: Dash, workbench: Workbench) -> None:
    """Add the callbacks."""

    @app.callback(
        Output(ids.OPEN_FLIGHTS, "data", allow_duplicate=True),
        Output(ids.CURRENT, "data", allow_duplicate=True),
        Output(QUESTION, "children", allow_duplicate=True),
        Output(ids.COLUMN_MAPS, "data"),
        Output(ids.MESSAGE, "children", allow_duplicate=True),
        Input(asked.ANSWER, "n_clicks"),
        State({"type": asked.CHANNEL, "header": ALL}, "id"),
        State({"type": asked.CHANNEL, "header": ALL}, "value"),
        State({"type": asked.UNIT, "header": ALL}, "value"),
        State(ids.TAB, "data"),
        State(ids.SETUP_TEXT, "data"),
        State(ids.COLUMN_MAPS, "data"),
        prevent_initial_call=True,
    )
    def answer(
        clicks: int | None,
        headers: list[dict[str, str]],
        channels: list[str],
        units: list[str],
        tab: str,
        setup_text: str | None,
        remembered: dict[str, dict[str, str]] | None,
    ) -> tuple[Any, ...]:
        if not clicks:
            raise PreventUpdate
        columns = asked.column_map(headers, channels, units)
        flight, signature = workbench.open_held(tab, setup_in_use(setup_text), columns)
        maps = {**(remembered or {}), signature: columns}
        said = message(f"Read as you said. If it was not so, answer anew under 'About the log': {ASK_COLUMNS}", "done")
        return open_list(workbench.shelf.of_tab(tab)), flight.key, next_question(workbench, tab), maps, said

    @app.callback(
        Output(QUESTION, "children", allow_duplicate=True),
        Input(asked.AGAIN, "n_clicks"),
        State(ids.CURRENT, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def ask_again(clicks: int | None, key: str, tab: str) -> html.Div | None:
        if not clicks:
            raise PreventUpdate
        workbench.ask_again(flight_on_screen(workbench, key, tab))
        return next_question(workbench, tab)

    @app.callback(
        Output(QUESTION, "children", allow_duplicate=True),
        Input(asked.CANCEL, "n_clicks"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def leave(clicks: int | None, tab: str) -> html.Div | None:
        if not clicks:
            raise PreventUpdate
        for held in workbench.shelf.held(tab)[:1]:
            workbench.shelf.release(tab, held)
        return next_question(workbench, tab)
