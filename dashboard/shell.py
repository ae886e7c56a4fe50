"""The frame around every page: name, ways to go, units and theme, messages, and what the tab remembers."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Final

import dash_mantine_components as dmc
from dash import ClientsideFunction, Input, Output, State, ctx, dcc, html, no_update
from dash.exceptions import PreventUpdate

from analyzer.display import SYSTEMS
from analyzer.errors import ClimbledgerError
from dashboard import ids
from dashboard.components.attributes import aria
from dashboard.components.page_words import on_page
from dashboard.preferences import LOOKS, Preferences
from dashboard.session import OpenFlight, new_key

if TYPE_CHECKING:
    from types import ModuleType

    from dash import Dash

    from dashboard.workbench import Workbench

PLACES: Final = (
    ("/", "Flight", "What it did, what it cost, whether it stayed inside its limits"),
    ("/next", "Propeller", "Candidates for the next one, beside what was measured"),
    ("/compare", "Compare", "Is the difference real, or today's air?"),
    ("/air", "Air", "Thermals, wind, glide and polar"),
    ("/logbook", "Logbook", "Every flight kept, with notes and tags"),
    ("/setup", "Setup", "Airframe and power system"),
)
"""Where a pilot can go, in the order of the questions after a landing."""

MANTINE_THEME: Final[dict[str, Any]] = {
    "primaryColor": "dark",
    "primaryShade": {"light": 7, "dark": 2},
    "autoContrast": True,
    "fontFamily": "system-ui, -apple-system, 'Segoe UI', 'Liberation Sans', 'DejaVu Sans', sans-serif",
    "defaultRadius": 3,
}


def shell() -> dmc.MantineProvider:
    """Build the frame; a page's content goes into the element `ids.PAGE`."""
    return dmc.MantineProvider(
        id=ids.PROVIDER,
        theme=MANTINE_THEME,
        forceColorScheme="light",
        children=[
            dcc.Location(id=ids.LOCATION, refresh="callback-nav"),
            dcc.Store(id=ids.TAB, storage_type="session", data=new_key()),  # what the tab remembers comes first
            dcc.Store(id=ids.PREFERENCES, storage_type="local"),
            dcc.Store(id=ids.SETUP_TEXT, storage_type="local"),
            dcc.Store(id=ids.COLUMN_MAPS, storage_type="local"),
            dcc.Store(id=ids.OPEN_FLIGHTS),
            dcc.Store(id=ids.CURRENT),
            dcc.Store(id=ids.REVISION, data=0),
            html.A("Skip to content", href="#content", className="skip"),
            _header(),
            html.Div(id=ids.MESSAGE, role="status", **aria(live="polite")),
            html.Main(html.Div(id=ids.PAGE), id="content", tabIndex=-1),
            html.Footer(
                "Predictions are no clearance to fly. Limits, local rules and the field's safety officer come first. "
                "Everything stays on this machine.",
                className="foot",
            ),
        ],
    )


def places(here: str) -> list[dcc.Link]:
    """The ways to go, the present one marked."""
    return [
        dcc.Link(name, href=path, title=hint, className="place here" if path == here else "place")
        for path, name, hint in PLACES
    ]


def message(said: str | ClimbledgerError, kind: str = "problem") -> html.Div:
    """A line to the pilot, in the words of the page: kind "problem", "done" or "plain"."""
    words = on_page(str(said))
    if isinstance(said, ClimbledgerError) and not said.source:  # else it begins with a file's name
        words = words[:1].upper() + words[1:]
    return html.Div(words, className=f"message {kind}")


def working(component_id: str) -> dcc.Loading:
    """A place for what is worked out; it says so when that takes longer than a blink.

    What arrives later within it, one answer of many, leaves the rest in sight.
    """
    own_content: Any = {component_id: "children"}
    return dcc.Loading(
        html.Div(id=component_id),
        target_components=own_content,
        delay_show=300,
        custom_spinner=html.Span("working it out…", className="working"),
        parent_className="being-worked-out",
    )


def _header() -> html.Header:
    return html.Header(
        className="top",
        children=[
            html.Span(["climb", html.B("ledger")], className="wordmark"),
            html.Nav(id="places", className="places", **aria(label="Places")),
            html.Div(
                className="switches",
                children=[
                    _switch(ids.UNITS_SWITCH, "Units", tuple(SYSTEMS.items())),
                    _switch(ids.THEME_SWITCH, "Theme", tuple((theme, theme) for theme in LOOKS)),
                ],
            ),
        ],
    )


def _switch(component_id: str, label: str, options: tuple[tuple[str, str], ...]) -> dmc.Select:
    return dmc.Select(
        id=component_id,
        data=[{"value": value, "label": name} for value, name in options],
        value=options[0][0],
        allowDeselect=False,
        size="xs",
        w=92,
        **aria(label=label),
    )


def open_list(flights: list[OpenFlight]) -> list[dict[str, Any]]:
    """What the page remembers of the flights that a tab has open."""
    return [{"key": flight.key, "title": flight.title, "is_sample": flight.is_sample} for flight in flights]


def register_shell(app: Dash, workbench: Workbench, pages: dict[str, ModuleType]) -> None:
    """Add the callbacks that every page needs: going about, preferences, and the tab's own key."""

    @app.callback(Output(ids.PAGE, "children"), Output("places", "children"), Input(ids.LOCATION, "pathname"))
    def go(path: str) -> tuple[Any, list[dcc.Link]]:
        here = path if path in pages else "/"
        return pages[here].layout(workbench), places(here)

    @app.callback(
        Output(ids.PREFERENCES, "data"),
        Output(ids.UNITS_SWITCH, "value"),
        Output(ids.THEME_SWITCH, "value"),
        Input(ids.PREFERENCES, "modified_timestamp"),
        Input(ids.UNITS_SWITCH, "value"),
        Input(ids.THEME_SWITCH, "value"),
        State(ids.PREFERENCES, "data"),
    )
    def prefer(_: int, units: str, theme: str, kept: dict[str, str] | None) -> tuple[Any, Any, Any]:
        if ctx.triggered_id in (ids.UNITS_SWITCH, ids.THEME_SWITCH):
            return {"units": units, "theme": theme}, no_update, no_update
        remembered = Preferences.from_store(kept)
        return (no_update if kept else asdict(remembered)), remembered.units, remembered.theme

    app.clientside_callback(  # type: ignore[no-untyped-call]
        ClientsideFunction("climbledger", "theme"),
        Output(ids.PROVIDER, "forceColorScheme"),
        Input(ids.PREFERENCES, "data"),
    )

    @app.callback(
        Output(ids.OPEN_FLIGHTS, "data"),
        Output(ids.CURRENT, "data"),
        Input(ids.TAB, "modified_timestamp"),
        State(ids.TAB, "data"),
    )
    def arrive(kept_at: int, tab: str) -> tuple[Any, Any]:
        if kept_at < 0:  # the browser has not yet looked what the tab remembers
            raise PreventUpdate
        if not workbench.shelf.of_tab(tab):
            workbench.open_samples(tab)
        flights = workbench.shelf.of_tab(tab)  # one from the logbook may have been opened meanwhile
        own = [flight.key for flight in flights if not flight.is_sample]
        return open_list(flights), next(iter((*reversed(own), *(flight.key for flight in flights))), None)
