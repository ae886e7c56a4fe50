"""The logbook page: every flight kept, to search, open and annotate."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import dash_ag_grid as dag
import dash_mantine_components as dmc
from dash import Input, Output, State, dcc, html, no_update
from dash.exceptions import PreventUpdate

from analyzer.display import clock, scale_of
from analyzer.errors import ClimbledgerError, InputError
from analyzer.logbook import Edits, parse_tags
from analyzer.logbook.listing import tags_text
from analyzer.wording import counted
from dashboard import ids
from dashboard.components.page_words import on_page
from dashboard.preferences import Preferences
from dashboard.shell import message, open_list

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dash import Dash

    from analyzer.display import System
    from analyzer.logbook import Entry
    from dashboard.workbench import Workbench

SEARCH: Final = "logbook-search"
GRID: Final = "logbook-grid"
OPEN: Final = "logbook-open"
EDITOR: Final = "logbook-editor"
SAVE: Final = "logbook-save"
REMOVE: Final = "logbook-remove"
FIELDS: Final = ("propeller", "place", "day", "tags", "note")
WHERE: Final = "logbook-where"
ROWS: Final = 10
"""So few that the editor of a selected flight is in sight below them."""


def layout(workbench: Workbench) -> html.Div:
    """Build the page."""
    del workbench
    return html.Div(
        [
            html.H1("Logbook"),
            html.P(id=WHERE, className="quiet"),
            html.Div(
                [
                    dmc.TextInput(
                        id=SEARCH, label="Search", placeholder="a word, a date, a propeller", className="grow"
                    ),
                    html.Button("Open the flight", id=OPEN, className="plain main"),
                ],
                className="row",
            ),
            dag.AgGrid(
                id=GRID,
                className="keeps",
                columnDefs=columns("metric"),
                rowData=[],
                getRowId="params.data.id",
                defaultColDef={"sortable": True, "resizable": True},
                dashGridOptions={
                    "localeText": {"noRowsToShow": "Nothing here: a flight is kept from its own page."},
                    "rowSelection": {"mode": "singleRow", "checkboxes": False, "enableClickSelection": True},
                    "suppressCellFocus": False,
                    "domLayout": "autoHeight",
                    "pagination": True,
                    "paginationPageSize": ROWS,
                    "paginationPageSizeSelector": False,
                },
            ),
            html.Div(editor(None), id=EDITOR, className="sheet"),
        ]
    )


def columns(system: System) -> list[dict[str, Any]]:
    """Columns of the grid: field, heading, least width in pixels, share of the room that is left."""
    table = (
        ("day", "flown", 105, 1),
        ("log", "log", 130, 3),
        ("propeller", "propeller", 110, 1),
        ("place", "place", 90, 1),
        ("climbs", "climbs", 90, 1),
        ("time", "in flight", 90, 1),
        ("highest", f"highest ({scale_of('altitude_m', system).symbol})", 115, 1),
        ("tags", "tags", 90, 1),
        ("note", "note", 200, 3),
    )
    names = ("field", "headerName", "minWidth", "flex")
    newest_first, *others = (dict(zip(names, row, strict=True)) for row in table)
    return [{**newest_first, "sort": "desc"}, *others]


def rows(entries: Sequence[Entry], system: System) -> list[dict[str, str]]:
    """One row an entry, as texts."""
    height = scale_of("altitude_m", system)
    return [
        {
            "id": str(entry.id),
            "day": entry.day,
            "log": entry.log_name,
            "propeller": entry.propeller,
            "place": entry.place,
            "climbs": str(entry.motor_runs),
            "time": clock(entry.totals.flight_time_s),
            "highest": height.text(entry.totals.max_altitude_m),
            "tags": tags_text(entry),
            "note": entry.note,
        }
        for entry in entries
    ]


def texts_of(entry: Entry) -> dict[str, str]:
    """What an entry says under `FIELDS`, as the editor shows it."""
    return {
        "propeller": entry.propeller,
        "place": entry.place,
        "day": entry.day,
        "tags": tags_text(entry),
        "note": entry.note,
    }


def editor(entry: Entry | None) -> list[Any]:
    """Fields for what the pilot says of a flight."""
    if entry is None:
        return [html.P("Select a flight to open it, or to write what you know of it.", className="quiet")]
    values = texts_of(entry)
    hints = {"day": "2026-05-31", "tags": "wind=calm, cowl=off"}
    inputs = [
        dmc.TextInput(
            id=f"logbook-{field}", label=field.capitalize(), value=values[field], placeholder=hints.get(field)
        )
        for field in FIELDS
    ]
    return [
        html.H3(entry.log_name),
        html.Div(inputs, className="fields"),
        html.Div(
            [
                html.Button("Save", id=SAVE, className="plain"),
                dcc.ConfirmDialogProvider(
                    html.Button("Remove from the logbook", className="plain"),
                    id=REMOVE,
                    message=f"Remove {entry.log_name} from the logbook, with its log, setup, corrections and note?",
                ),
            ],
            className="row",
        ),
    ]


def edits_from(values: Sequence[str | None], before: Entry) -> Edits:
    """What the pilot changed, from the editor's fields in the order of `FIELDS`.

    Raises
    ------
    OptionError
        When a tag is not written name=value.
    """
    said = {field: value or "" for field, value in zip(FIELDS, values, strict=True)}
    changed = {field: text for field, text in said.items() if text != texts_of(before)[field]}
    tags = parse_tags(filter(str.strip, changed["tags"].split(","))) if "tags" in changed else before.tags
    return Edits(
        propeller=changed.get("propeller"),
        place=changed.get("place"),
        day=changed.get("day"),
        note=changed.get("note"),
        tags={**dict.fromkeys(before.tags), **tags},
    )


def _selected(chosen: list[dict[str, str]] | None) -> int:
    if not chosen:
        raise InputError("no flight is selected", remedy="select one in the table")
    return int(chosen[0]["id"])


def register(app: Dash, workbench: Workbench) -> None:
    """Add the page's callbacks."""

    @app.callback(
        Output(GRID, "rowData"),
        Output(GRID, "columnDefs"),
        Output(WHERE, "children"),
        Input(ids.PREFERENCES, "data"),
        Input(ids.REVISION, "data"),
    )
    def fill(preferences: dict[str, str] | None, _: int) -> tuple[Any, Any, str]:
        system = Preferences.from_store(preferences).units
        try:
            with workbench.logbook() as book:
                entries, place = book.list(), book.label
        except ClimbledgerError as error:
            return [], no_update, on_page(str(error))
        return rows(entries, system), columns(system), f"{counted(len(entries), 'flight')} in {place}"

    @app.callback(Output(GRID, "dashGridOptions"), Input(SEARCH, "value"), State(GRID, "dashGridOptions"))
    def search(text: str | None, options: dict[str, Any]) -> dict[str, Any]:
        return {**options, "quickFilterText": text or ""}

    @app.callback(Output(EDITOR, "children"), Input(GRID, "selectedRows"), prevent_initial_call=True)
    def select(chosen: list[dict[str, str]] | None) -> list[Any]:
        if not chosen:
            return editor(None)
        with workbench.logbook() as book:
            return editor(book.get(_selected(chosen)))

    @app.callback(
        Output(ids.OPEN_FLIGHTS, "data", allow_duplicate=True),
        Output(ids.CURRENT, "data", allow_duplicate=True),
        Output(ids.LOCATION, "pathname"),
        Input(OPEN, "n_clicks"),
        State(GRID, "selectedRows"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def open_flight(clicks: int | None, chosen: list[dict[str, str]] | None, tab: str) -> tuple[Any, str, str]:
        if not clicks:
            raise PreventUpdate
        flight = workbench.open_entry(tab, _selected(chosen))
        return open_list(workbench.shelf.of_tab(tab)), flight.key, "/"

    @app.callback(
        Output(ids.REVISION, "data", allow_duplicate=True),
        Output(ids.MESSAGE, "children", allow_duplicate=True),
        Input(SAVE, "n_clicks"),
        State(GRID, "selectedRows"),
        State(ids.REVISION, "data"),
        *[State(f"logbook-{field}", "value") for field in FIELDS],
        prevent_initial_call=True,
    )
    def save(
        clicks: int | None, chosen: list[dict[str, str]] | None, revision: int, *values: str | None
    ) -> tuple[int, html.Div]:
        if not clicks:
            raise PreventUpdate
        entry_id = _selected(chosen)
        with workbench.logbook() as book:
            book.update(entry_id, edits_from(values, book.get(entry_id)))
        return revision + 1, message("Saved.", "done")

    @app.callback(
        Output(ids.REVISION, "data", allow_duplicate=True),
        Output(ids.MESSAGE, "children", allow_duplicate=True),
        Output(EDITOR, "children", allow_duplicate=True),
        Input(REMOVE, "submit_n_clicks"),
        State(GRID, "selectedRows"),
        State(ids.REVISION, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def remove(
        confirmed: int | None, chosen: list[dict[str, str]] | None, revision: int, tab: str
    ) -> tuple[int, html.Div, list[Any]]:
        if not confirmed:
            raise PreventUpdate
        name = workbench.remove_entry(tab, _selected(chosen))
        return revision + 1, message(f"{name} is no longer in the logbook.", "done"), editor(None)
