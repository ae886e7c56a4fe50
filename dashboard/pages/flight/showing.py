"""The flight on screen: its answers, plot, list of segments, every table."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from dash import Input, Output, Patch, State, dcc, html
from dash.exceptions import PreventUpdate

from analyzer.cautions import REPORT_CAUTIONS
from analyzer.display import notice_lines
from analyzer.export import flight_tables
from analyzer.export.answers import MOTOR_UNKNOWN, NO_CLIMB, Answer, answers
from analyzer.export.match_tables import finding_lines, match_by_climb_table, match_rows, match_table
from analyzer.export.propeller_answer import QUESTION as PROPELLER_QUESTION
from dashboard import ids
from dashboard.components import segments as parts
from dashboard.components.column_question import AGAIN
from dashboard.components.flight_graph import (
    axis_seconds,
    flight_graph,
    marked,
    segment_at,
    window_of,
    zoomed,
)
from dashboard.components.ledger import answer_class, answer_list, answer_parts, bullets, ledger
from dashboard.components.page_words import ASK_COLUMNS
from dashboard.pages.flight.elements import (
    BESIDE_OTHERS,
    DETAILS,
    EDITOR,
    GRAPH,
    HEADLINE,
    IN_SIGHT,
    LIST,
    flight_on_screen,
    window_in_sight,
)
from dashboard.preferences import Preferences

if TYPE_CHECKING:
    from dash import Dash

    from dashboard.session import OpenFlight
    from dashboard.workbench import Workbench


WANTING_SETUP: Final = (
    dcc.Link("Give the setup", href="/setup"),
    ", and limits, climbs left in the pack, propeller and prediction are answered too.",
)


def headline(flight: OpenFlight, preferences: Preferences) -> list[Any]:
    """Name of the flight and its answers; what only a setup can answer is said last."""
    setup_name = f"with {flight.setup.name}" if flight.setup is not None else "without a setup"
    flag = html.Span("invented sample flight", className="sample-flag") if flight.is_sample else None
    to_come = Answer(PROPELLER_QUESTION, "")
    return [
        html.H1([flight.title, " ", html.Span(setup_name, className="quiet"), " ", flag]),
        answer_list(answers(flight.analysis.summary, preferences.units, flight.setup, to_come), BESIDE_OTHERS),
        None if flight.setup is not None else html.P(WANTING_SETUP, className="quiet"),
    ]


def details(flight: OpenFlight, preferences: Preferences) -> list[Any]:
    """Every table of the summary, in the order of decisions, then what was wrong with the log."""
    summary, system = flight.analysis.summary, preferences.units
    over = [number for number, limit in enumerate(summary.power_system.limits) if limit.ok is False]
    apart = [number for number, item in enumerate(match_rows(summary)) if item.within_uncertainty is False]
    return [
        html.H2("Limits"),
        ledger(
            flight_tables.limits_table(summary, system),
            beyond=over,
            titled=False,
            empty=flight_tables.limits_verdict(summary),
        ),
        html.H2("Climbs"),
        ledger(
            flight_tables.motor_runs_table(summary, system), empty=MOTOR_UNKNOWN if summary.motor_unknown else NO_CLIMB
        ),
        ledger(flight_tables.draw_table(summary, system)),
        ledger(match_table(summary, system), beyond=apart),
        ledger(match_by_climb_table(summary)),
        bullets(finding_lines(summary.findings)),
        html.H2("Glide and air"),
        ledger(flight_tables.glides_table(summary, system), empty="No glide was long enough to measure."),
        ledger(flight_tables.glide_parts_table(summary, system)),
        ledger(flight_tables.thermals_table(summary, system)),
        html.H2("Totals"),
        html.Div(
            [
                ledger(flight_tables.totals_table(summary, system), titled=False),
                ledger(flight_tables.kinds_table(summary, system), titled=False),
            ],
            className="columns",
        ),
        html.H2("About the log"),
        bullets(notice_lines(summary.log.notices, system) or ["Nothing to remark."]),
        html.Button(ASK_COLUMNS, id=AGAIN, className="plain", hidden=flight.is_sample),
        html.H2("Cautions"),
        bullets(REPORT_CAUTIONS),
    ]


def register(app: Dash, workbench: Workbench) -> None:
    """Add the callbacks."""

    @app.callback(
        Output(HEADLINE, "children"),
        Output(GRAPH, "figure"),
        Output(GRAPH, "style"),
        Output(LIST, "children"),
        Output(EDITOR, "children"),
        Output(DETAILS, "children"),
        Input(ids.CURRENT, "data"),
        Input(ids.REVISION, "data"),
        Input(ids.PREFERENCES, "data"),
        State(LIST, "value"),
        State(IN_SIGHT, "data"),
        State(ids.TAB, "data"),
    )
    def show(
        key: str | None,
        revision: int,
        kept: dict[str, str] | None,
        value: str | None,
        in_sight: dict[str, Any] | None,
        tab: str,
    ) -> tuple[Any, ...]:
        flight = flight_on_screen(workbench, key, tab)
        chosen, cut = Preferences.from_store(kept), flight.analysis.segmentation
        selected = parts.chosen_index(flight, value)
        segment = None if selected is None else cut.segments[selected]
        window_s = window_in_sight(flight, in_sight)
        figure = flight_graph(flight, segment, chosen.units, chosen.look, revision, window_s)
        return (
            headline(flight, chosen),
            figure,
            {"height": f"{figure.layout.height}px"},
            parts.segment_options(flight, chosen.units),
            parts.segment_editor(flight, selected),
            details(flight, chosen),
        )

    @app.callback(
        Output(BESIDE_OTHERS, "children"),
        Output(BESIDE_OTHERS, "className"),
        Input(BESIDE_OTHERS, "id"),
        State(ids.CURRENT, "data"),
        State(ids.TAB, "data"),
    )
    def set_beside_others(_: str, key: str | None, tab: str) -> tuple[list[html.Span], str]:
        answer = workbench.beside_others(flight_on_screen(workbench, key, tab))
        return answer_parts(answer), answer_class(answer)

    @app.callback(
        Output(GRAPH, "figure", allow_duplicate=True),
        Output(EDITOR, "children", allow_duplicate=True),
        Input(LIST, "value"),
        State(ids.CURRENT, "data"),
        State(ids.PREFERENCES, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def mark(value: str | None, key: str | None, kept: dict[str, str] | None, tab: str) -> tuple[Any, html.Div]:
        flight = flight_on_screen(workbench, key, tab)
        cut, selected = flight.analysis.segmentation, parts.chosen_index(flight, value)
        if selected is None:
            raise PreventUpdate
        return marked(cut.segments[selected], Preferences.from_store(kept).look), parts.segment_editor(flight, selected)

    @app.callback(
        Output(GRAPH, "figure", allow_duplicate=True),
        Output(IN_SIGHT, "data"),
        Input(GRAPH, "relayoutData"),
        State(ids.CURRENT, "data"),
        State(ids.PREFERENCES, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def zoom(
        event: dict[str, Any] | None, key: str | None, kept: dict[str, str] | None, tab: str
    ) -> tuple[Patch, dict[str, Any]]:
        try:
            window_s = window_of(event or {})
        except KeyError:
            raise PreventUpdate from None
        flight = flight_on_screen(workbench, key, tab)
        in_sight = {"log": flight.analysis.log.sha256, "window_s": window_s}
        return zoomed(flight, window_s, Preferences.from_store(kept).units), in_sight

    @app.callback(
        Output(LIST, "value"),
        Input(GRAPH, "clickData"),
        State(ids.CURRENT, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def select(click: dict[str, Any], key: str | None, tab: str) -> str:
        flight = flight_on_screen(workbench, key, tab)
        index = segment_at(flight.analysis.segmentation.segments, axis_seconds(click["points"][0]["x"]))
        if index is None:
            raise PreventUpdate
        return parts.choice(flight, index)
