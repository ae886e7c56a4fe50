"""The air page: what the air gave on the flight on screen, and how the aircraft glides apart from it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from dash import Input, Output, State, dcc, html

from analyzer.display import notice_lines
from analyzer.export import thermals_tables
from analyzer.export.thermals_text import difference_lines, thermals_answers
from analyzer.figures.flight_map import flight_map_figure
from analyzer.figures.lift import (
    MOST_APART,
    height_distribution_figure,
    hour_distribution_figure,
    lift_profile_figure,
)
from analyzer.figures.polar import polar_figure
from analyzer.measures.traces import traces_of
from analyzer.soaring.flight_track import flight_track
from analyzer.soaring.report import soar
from analyzer.soaring.session import session_of
from dashboard import ids
from dashboard.components.graph import graph
from dashboard.components.ledger import bullets, ledger, verdict_list
from dashboard.preferences import Preferences
from dashboard.shell import working

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dash import Dash

    from analyzer.records import FlightSummary
    from analyzer.soaring.records import SoaringReport
    from dashboard.session import OpenFlight
    from dashboard.workbench import Workbench

RESULT: Final = "air-result"
BARS: Final = "Bars are 95 % intervals; they stand where a band of height holds two circles or more."
MIN_FLIGHTS: Final = 2
"""A session is more than one flight."""


def layout(workbench: Workbench) -> html.Div:
    """Build the page; the answers arrive with the flight."""
    del workbench
    return html.Div([html.H1("Air"), working(RESULT)])


def air_of(flight: OpenFlight, preferences: Preferences) -> list[Any]:
    """Thermals, searches, lift passed by, then glide and polar."""
    analysis = flight.analysis
    report = soar(analysis.log, analysis.segmentation, analysis.summary, flight.setup)
    system, look = preferences.units, preferences.look
    return [
        html.P(flight.title, className="quiet"),
        verdict_list(thermals_answers(report, system)),
        *_lift(analysis.summary, report, preferences),
        *_map(flight, report, preferences),
        html.H2("Searching and gliding"),
        ledger(thermals_tables.searches_table(report, system)),
        ledger(thermals_tables.passed_table(report, system)),
        *([graph(polar_figure(report.glide.polars, system=system, look=look))] if report.glide.polars else []),
        ledger(thermals_tables.sinks_table(report, system)),
        ledger(thermals_tables.polars_table(report, system)),
        *[ledger(thermals_tables.speeds_table(polar, system)) for polar in report.glide.polars],
        bullets(difference_lines(report.glide.mode_differences, system)),
        bullets(notice_lines(report.notices, system)),
    ]


def has_bars(report: SoaringReport) -> bool:
    """Whether any climb's profile has intervals."""
    return any(band.climb_se_m_s is not None for thermal in report.thermals for band in thermal.profile)


def _lift(summary: FlightSummary, report: SoaringReport, preferences: Preferences) -> list[Any]:
    """The thermals one by one, where there are any."""
    if not report.thermals:
        return []
    system, look = preferences.units, preferences.look
    # more profiles than the eye tells apart are drawn as what they have in common
    if len(report.thermals) <= MOST_APART:
        profile = lift_profile_figure(report.thermals, system=system, look=look)
        drawn = [graph(profile), html.P(BARS, className="quiet", hidden=not has_bars(report))]
    else:
        drawn = [graph(height_distribution_figure(session_of([summary]), system=system, look=look))]
    return [
        html.H2("Climbs, in lift or with the motor" if report.motor_unknown else "Thermals"),
        *drawn,
        ledger(thermals_tables.thermals_table(report, system), titled=False),
        ledger(thermals_tables.circles_table(report, system)),
    ]


def _map(flight: OpenFlight, report: SoaringReport, preferences: Preferences) -> list[Any]:
    """Draw the track from above, where position is logged."""
    analysis = flight.analysis
    track, _ = flight_track(traces_of(analysis.log), analysis.segmentation)
    if track is None:
        return []
    segments = analysis.segmentation.segments
    figure = flight_map_figure(track, segments, report, system=preferences.units, look=preferences.look)
    return [html.H2("From above"), graph(figure)]


def session_of_tab(flights: Sequence[OpenFlight], preferences: Preferences) -> list[Any]:
    """The thermals of all flights that are open here together, by height and by time of day."""
    session = session_of([flight.analysis.summary for flight in flights])
    if len(flights) < MIN_FLIGHTS or not session.climbs:
        return []
    system, look = preferences.units, preferences.look
    figures = [height_distribution_figure(session, system=system, look=look)]
    if len(session.by_hour) > 1:
        figures.append(hour_distribution_figure(session, system=system, look=look))
    return [
        html.H2(f"All {len(flights)} flights open here together"),
        html.Div([graph(figure) for figure in figures], className="columns"),
        ledger(thermals_tables.session_climbs_table(session, system)),
        ledger(thermals_tables.heights_table(session, system)),
        ledger(thermals_tables.hours_table(session, system)),
    ]


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
        flight = workbench.shelf.get(key, tab)
        if flight is None:
            return html.P([dcc.Link("Open a flight", href="/"), " first."], className="quiet")
        chosen = Preferences.from_store(preferences)
        own = [one for one in workbench.shelf.of_tab(tab) if one.is_sample == flight.is_sample]
        return [*air_of(flight, chosen), *session_of_tab(own, chosen)]
