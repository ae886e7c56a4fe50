"""Logs come in: dropped, asked about, chosen among those open."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dash import ALL, ClientsideFunction, Input, Output, State
from dash.exceptions import PreventUpdate

from analyzer.errors import ClimbledgerError
from dashboard import ids
from dashboard.components import column_question as asked
from dashboard.components.column_question import column_question
from dashboard.pages.flight.elements import (
    CHOOSE,
    DROP,
    QUESTION,
)
from dashboard.shell import message, open_list
from dashboard.workbench import UnreadColumnsError, setup_in_use

if TYPE_CHECKING:
    from dash import Dash

    from dashboard.workbench import Workbench


def register(app: Dash, workbench: Workbench) -> None:
    """Add the callbacks."""

    @app.callback(
        Output(ids.OPEN_FLIGHTS, "data", allow_duplicate=True),
        Output(ids.CURRENT, "data", allow_duplicate=True),
        Output(ids.MESSAGE, "children", allow_duplicate=True),
        Output(QUESTION, "children"),
        Output(DROP, "contents"),
        Input(DROP, "contents"),
        State(DROP, "filename"),
        State(ids.TAB, "data"),
        State(ids.SETUP_TEXT, "data"),
        State(ids.CURRENT, "data"),
        State(ids.COLUMN_MAPS, "data"),
        prevent_initial_call=True,
    )
    def drop(
        contents: list[str] | None,
        names: list[str],
        tab: str,
        setup_text: str | None,
        current: str | None,
        remembered: dict[str, dict[str, str]] | None,
    ) -> tuple[Any, Any, Any, Any, None]:
        if not contents:  # emptied below, so that the same file can be dropped again
            raise PreventUpdate
        setup = setup_in_use(setup_text)
        problems: list[str] = []
        question: Any = None
        for name, content in zip(names, contents, strict=True):
            try:
                current = workbench.open_upload(tab, name, content, setup, remembered).key
            except UnreadColumnsError as error:
                question = column_question(error.source, error.problem, error.columns)
            except ClimbledgerError as error:
                problems.append(str(error))
        lines = [message(problem) for problem in problems]
        return open_list(workbench.shelf.of_tab(tab)), current, lines, question, None

    @app.callback(
        Output(ids.OPEN_FLIGHTS, "data", allow_duplicate=True),
        Output(ids.CURRENT, "data", allow_duplicate=True),
        Output(QUESTION, "children", allow_duplicate=True),
        Output(ids.COLUMN_MAPS, "data"),
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
    ) -> tuple[Any, Any, Any, Any]:
        if not clicks:
            raise PreventUpdate
        columns = asked.column_map(headers, channels, units)
        flight, signature = workbench.open_held(tab, setup_in_use(setup_text), columns)
        maps = {**(remembered or {}), signature: columns}
        return open_list(workbench.shelf.of_tab(tab)), flight.key, None, maps

    @app.callback(
        Output(QUESTION, "children", allow_duplicate=True), Input(asked.CANCEL, "n_clicks"), prevent_initial_call=True
    )
    def leave(clicks: int | None) -> None:
        if not clicks:
            raise PreventUpdate

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
