"""The air page: what the air gave on the flight on screen, and how the aircraft glides apart from it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from dash import Input, Output, State, dcc, html

from analyzer.export import thermals_tables
from analyzer.soaring.report import soar
from dashboard import ids
from dashboard.components.ledger import ledger
from dashboard.preferences import Preferences

if TYPE_CHECKING:
    from dash import Dash

    from analyzer.soaring.records import SoaringReport
    from dashboard.session import OpenFlight
    from dashboard.workbench import Workbench

RESULT: Final = "air-result"


def layout(workbench: Workbench) -> html.Div:
    """Build the page; the answers arrive with the flight."""
    del workbench
    return html.Div([html.H1("Air"), dcc.Loading(html.Div(id=RESULT), delay_show=300, type="dot")])


def air_of(flight: OpenFlight, preferences: Preferences) -> list[Any]:
    """Thermals, searches, lift passed by, then glide and polar."""
    analysis = flight.analysis
    report = soar(analysis.log, analysis.segmentation, analysis.summary, flight.setup)
    system = preferences.units
    notices = [html.Li(notice.message) for notice in report.notices]
    return [
        html.P(_headline(flight, report), className="quiet"),
        html.H2("Thermals"),
        ledger(thermals_tables.climbs_table(report, system)),
        ledger(thermals_tables.circles_table(report, system)),
        html.H2("Between them"),
        ledger(thermals_tables.searches_table(report, system)),
        ledger(thermals_tables.passed_table(report, system)),
        html.H2("Glide"),
        ledger(thermals_tables.sinks_table(report, system)),
        ledger(thermals_tables.polars_table(report, system)),
        *[ledger(thermals_tables.speeds_table(polar, system)) for polar in report.glide.polars],
        html.Ul(notices, className="notices"),
    ]


def _headline(flight: OpenFlight, report: SoaringReport) -> str:
    count = len(report.thermals)
    climbs = "no thermal climb" if count == 0 else f"{count} thermal climb{'s' * (count > 1)}"
    return f"{flight.title}: {climbs}."


def register(app: Dash, workbench: Workbench) -> None:
    """Add the page's callbacks."""

    @app.callback(
        Output(RESULT, "children"),
        Input(ids.CURRENT, "data"),
        Input(ids.REVISION, "data"),
        Input(ids.PREFERENCES, "data"),
        State(ids.TAB, "data"),
    )
    def show(key: str | None, _: int, preferences: dict[str, str] | None, tab: str | None) -> Any:  # noqa: ANN401 - page content
        flight = workbench.shelf.get(key, tab or "")
        if flight is None:
            return html.P("Open a flight first.", className="quiet")
        return air_of(flight, Preferences.from_store(preferences))
