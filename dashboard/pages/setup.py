"""The setup page: a form for airframe and power system, the same TOML in and out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from dash import ALL, Input, Output, State, dcc, html
from dash.exceptions import PreventUpdate

from analyzer.errors import SetupFileError
from analyzer.setup_file import MAX_FILE_BYTES, parse_setup, setup_toml
from dashboard import ids
from dashboard.components.attributes import data
from dashboard.components.setup_form import FIELD, TABLE_KEY, setup_form, setup_from_form, with_calibration
from dashboard.shell import message
from dashboard.upload import decode_upload
from dashboard.workbench import setup_in_use

if TYPE_CHECKING:
    from dash import Dash

    from analyzer.setup_file import Setup
    from dashboard.workbench import Workbench

FORM: Final = "setup-form"
LOAD: Final = "setup-load"
USE: Final = "setup-use"
SAVE: Final = "setup-save"
CLEAR: Final = "setup-clear"
DOWNLOAD: Final = "setup-download"


def layout(workbench: Workbench) -> html.Div:
    """Build the page; the form is filled when it arrives."""
    return html.Div(
        [
            html.H1("Setup"),
            html.P(
                "One combination of airframe and power system. Fill in what you know: each answer says what it "
                "misses. The same keys stand in the TOML file that the command line takes.",
                className="quiet",
            ),
            html.Div(
                className="row",
                children=[_load_box(), html.Button("Empty the form", id=CLEAR, className="plain")],
            ),
            html.Div(id=FORM),
            html.Div(
                className="row actions",
                children=[
                    html.Button("Use this setup", id=USE, className="plain main"),
                    html.Button("Save as TOML", id=SAVE, className="plain"),
                ],
            ),
            dcc.Download(id=DOWNLOAD),
        ]
    )


def _load_box() -> html.Div:
    upload = dcc.Upload(html.Span("Load a setup file (TOML)"), id=LOAD, className="drop")
    return html.Div(upload, **data(label="Load a setup file"))


def loaded_setup(contents: str, name: str) -> Setup:
    """Read a dropped setup file.

    Raises
    ------
    SetupFileError
        When it is no valid setup.
    """
    data = decode_upload(name, contents)
    if len(data) > MAX_FILE_BYTES:
        raise SetupFileError("too large for a setup file", source=name, remedy="give a TOML file of a page or so")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise SetupFileError("is not UTF-8 text", source=name, remedy="save it as UTF-8") from error
    return parse_setup(text, source=name)


def register(app: Dash, workbench: Workbench) -> None:
    """Add the page's callbacks."""

    @app.callback(
        Output(FORM, "children"),
        Input(FORM, "id"),
        State(ids.SETUP_TEXT, "data"),
        State(ids.CURRENT, "data"),
        State(ids.TAB, "data"),
    )
    def fill(_: str, text: str | None, key: str | None, tab: str | None) -> list[html.Fieldset]:
        return setup_form(workbench.setup_for(key, tab, text))

    @app.callback(
        Output(FORM, "children", allow_duplicate=True),
        Output(ids.MESSAGE, "children", allow_duplicate=True),
        Input(LOAD, "contents"),
        State(LOAD, "filename"),
        prevent_initial_call=True,
    )
    def load(contents: str | None, name: str) -> tuple[list[html.Fieldset], html.Div]:
        if contents is None:
            raise PreventUpdate
        setup = loaded_setup(contents, name)
        said = f"'{setup.name}' is in the form; use it when it is right."
        if setup.value(TABLE_KEY) is not None:
            said += " Its propeller table is left out: only the command line reads it."
        return setup_form(setup), message(said, "done")

    @app.callback(Output(FORM, "children", allow_duplicate=True), Input(CLEAR, "n_clicks"), prevent_initial_call=True)
    def clear(clicks: int | None) -> list[html.Fieldset]:
        if not clicks:
            raise PreventUpdate
        return setup_form(None)

    @app.callback(
        Output(ids.SETUP_TEXT, "data"),
        Output(ids.MESSAGE, "children", allow_duplicate=True),
        Input(USE, "n_clicks"),
        State({"type": FIELD, "key": ALL}, "value"),
        State({"type": FIELD, "key": ALL}, "id"),
        State(ids.SETUP_TEXT, "data"),
        State(ids.CURRENT, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def use(
        clicks: int | None,
        values: list[Any],
        field_ids: list[dict[str, str]],
        text: str | None,
        key: str | None,
        tab: str | None,
    ) -> tuple[str, html.Div]:
        if not clicks:
            raise PreventUpdate
        setup = _filled_in(values, field_ids, text)
        flight = workbench.shelf.get(key, tab)
        # what a kept flight was flown with stays, unless nobody has said it yet
        if flight is not None and not flight.is_sample and (flight.logbook_id is None or flight.setup is None):
            workbench.with_setup(flight, setup)
        return setup_toml(setup), message(f"Logs are now analysed with '{setup.name}'.", "done")

    @app.callback(
        Output(DOWNLOAD, "data"),
        Input(SAVE, "n_clicks"),
        State({"type": FIELD, "key": ALL}, "value"),
        State({"type": FIELD, "key": ALL}, "id"),
        State(ids.SETUP_TEXT, "data"),
        prevent_initial_call=True,
    )
    def save(
        clicks: int | None, values: list[Any], field_ids: list[dict[str, str]], text: str | None
    ) -> dict[str, str]:
        if not clicks:
            raise PreventUpdate
        return {"content": setup_toml(_filled_in(values, field_ids, text)), "filename": "setup.toml"}


def _filled_in(values: list[Any], field_ids: list[dict[str, str]], text: str | None) -> Setup:
    """The setup in the form, with the calibration of the one in use where that still fits."""
    form = {field_id["key"]: value for field_id, value in zip(field_ids, values, strict=True)}
    return with_calibration(setup_from_form(form), setup_in_use(text))
