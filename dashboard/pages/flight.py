"""The flight page: drop a log, read five answers, look closer, correct, keep, hand on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import dash_mantine_components as dmc
from dash import ALL, Input, Output, State, ctx, dcc, html, no_update
from dash.exceptions import PreventUpdate

from analyzer.cautions import REPORT_CAUTIONS
from analyzer.errors import ClimbledgerError
from analyzer.export import flight_tables
from analyzer.export.answers import answers
from analyzer.logbook import Edits
from analyzer.segmentation.correction import move_edge, rename_segment
from dashboard import ids
from dashboard.components import column_question as asked
from dashboard.components import segments as parts
from dashboard.components.attributes import data
from dashboard.components.column_question import column_question
from dashboard.components.exports import DOWNLOAD, FORM, export, export_row
from dashboard.components.flight_graph import (
    EDGE_NAMES,
    axis_seconds,
    flight_graph,
    moved_edge,
    segment_at,
    window_of,
    zoomed,
)
from dashboard.components.graph import EDITABLE_CONFIG
from dashboard.components.keeping import KEEP, NOTE, PLACE, keep_row, said
from dashboard.components.ledger import answer_list, ledger
from dashboard.preferences import Preferences
from dashboard.shell import message, open_list, working
from dashboard.workbench import UnreadColumnsError, setup_in_use

if TYPE_CHECKING:
    from dash import Dash

    from analyzer.records import SegmentKind
    from dashboard.session import OpenFlight
    from dashboard.workbench import Workbench

DROP: Final = "drop"
CHOOSE: Final = "flight-choice"
QUESTION: Final = "column-question"
HEADLINE: Final = "flight-headline"
GRAPH: Final = "flight-graph"
SELECTED: Final = "selected-segment"
LIST: Final = "segment-list"
EDITOR: Final = "segment-editor"
DETAILS: Final = "flight-details"


def layout(workbench: Workbench) -> html.Div:
    """Build the page; what it shows arrives with the flight."""
    upload = dcc.Upload(
        [html.B("Drop logs here"), " or choose them: CSV, any text table of telemetry, IGC"],
        id=DROP,
        className="drop",
        className_active="drop over",
        multiple=True,
    )
    return html.Div(
        [
            dcc.Store(id=SELECTED),
            html.Div(
                [
                    html.Div(upload, className="grow", **data(label="Choose log files")),
                    dmc.Select(id=CHOOSE, label="Flight", data=[], allowDeselect=False, w=320, className="grow"),
                ],
                className="row",
            ),
            html.Div(id=QUESTION),
            working(html.Div(id=HEADLINE)),
            dcc.Graph(id=GRAPH, config=EDITABLE_CONFIG, className="graph", style={"display": "none"}),
            html.Div(
                [
                    html.Div(id=LIST, className="sheet segment-scroll", tabIndex=0),
                    html.Div(html.Div(id=EDITOR), className="sheet"),
                ],
                className="columns",
            ),
            html.Div(id=DETAILS),
            html.H2("Keep it, hand it on"),
            keep_row(),
            html.P(),
            export_row(),
        ]
    )


def headline(flight: OpenFlight, preferences: Preferences) -> list[Any]:
    """Name of the flight and the five answers."""
    setup_name = f"with {flight.setup.name}" if flight.setup is not None else "without a setup"
    flag = html.Span("invented sample flight", className="sample-flag") if flight.is_sample else None
    return [
        html.H1([flight.title, " ", html.Span(setup_name, className="quiet"), " ", flag]),
        answer_list(answers(flight.analysis.summary, preferences.units, flight.setup)),
    ]


def details(flight: OpenFlight, preferences: Preferences) -> list[Any]:
    """Every table of the summary, in the order of decisions, then what was wrong with the log."""
    summary, system = flight.analysis.summary, preferences.units
    over = [number for number, limit in enumerate(summary.power_system.limits) if limit.ok is False]
    apart = [number for number, item in enumerate(summary.match) if item.within_uncertainty is False]
    notices = [html.Li(notice.message) for notice in summary.log.notices]
    return [
        html.H2("Limits"),
        ledger(flight_tables.limits_table(summary, system), beyond=over),
        html.H2("Climbs"),
        ledger(flight_tables.climbs_table(summary, system)),
        ledger(flight_tables.draw_table(summary, system)),
        ledger(flight_tables.match_table(summary, system), beyond=apart),
        html.H2("Glide and air"),
        ledger(flight_tables.glides_table(summary, system)),
        ledger(flight_tables.thermals_table(summary, system)),
        html.H2("Totals"),
        html.Div(
            [ledger(flight_tables.totals_table(summary, system)), ledger(flight_tables.kinds_table(summary, system))],
            className="columns",
        ),
        html.H2("About the log"),
        html.Ul(notices, className="notices") if notices else html.P("Nothing to remark."),
        html.H2("Cautions"),
        html.Ul([html.Li(caution) for caution in REPORT_CAUTIONS], className="notices"),
    ]


def register(app: Dash, workbench: Workbench) -> None:
    """Add the page's callbacks."""
    _register_opening(app, workbench)
    _register_showing(app, workbench)
    _register_correcting(app, workbench)
    _register_exports(app, workbench)
    _register_keeping(app, workbench)


def _register_opening(app: Dash, workbench: Workbench) -> None:
    @app.callback(
        Output(ids.OPEN_FLIGHTS, "data", allow_duplicate=True),
        Output(ids.CURRENT, "data", allow_duplicate=True),
        Output(ids.MESSAGE, "children", allow_duplicate=True),
        Output(QUESTION, "children"),
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
    ) -> tuple[Any, Any, Any, Any]:
        if not contents:
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
        return open_list(workbench.shelf.of_tab(tab)), current, lines, question

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

    @app.callback(
        Output(CHOOSE, "data"),
        Output(CHOOSE, "value"),
        Input(ids.OPEN_FLIGHTS, "data"),
        Input(ids.CURRENT, "data"),
    )
    def offer(flights: list[dict[str, Any]] | None, current: str | None) -> tuple[list[dict[str, str]], str | None]:
        options = [
            {"value": entry["key"], "label": entry["title"] + (" (sample)" if entry["is_sample"] else "")}
            for entry in flights or []
        ]
        return options, current

    @app.callback(Output(ids.CURRENT, "data", allow_duplicate=True), Input(CHOOSE, "value"), prevent_initial_call=True)
    def choose(key: str | None) -> Any:  # noqa: ANN401 - a key or no update
        return key or no_update


def _register_showing(app: Dash, workbench: Workbench) -> None:
    @app.callback(
        Output(HEADLINE, "children"),
        Output(DETAILS, "children"),
        Input(ids.CURRENT, "data"),
        Input(ids.REVISION, "data"),
        Input(ids.PREFERENCES, "data"),
        State(ids.TAB, "data"),
    )
    def show(key: str | None, _: int, preferences: dict[str, str] | None, tab: str) -> tuple[Any, Any]:
        flight = _flight(workbench, key, tab)
        chosen = Preferences.from_store(preferences)
        return headline(flight, chosen), details(flight, chosen)

    @app.callback(
        Output(GRAPH, "figure"),
        Output(GRAPH, "style"),
        Output(LIST, "children"),
        Output(EDITOR, "children"),
        Input(ids.CURRENT, "data"),
        Input(ids.REVISION, "data"),
        Input(ids.PREFERENCES, "data"),
        Input(SELECTED, "data"),
        State(ids.TAB, "data"),
    )
    def draw(
        key: str | None, _: int, preferences: dict[str, str] | None, selected: int | None, tab: str
    ) -> tuple[Any, Any, Any, Any]:
        flight = _flight(workbench, key, tab)
        chosen = Preferences.from_store(preferences)
        cut = flight.analysis.segmentation
        figure = flight_graph(flight.analysis, selected, chosen.units, chosen.look)
        return (
            figure,
            {"height": f"{figure.layout.height}px"},
            parts.segment_list(cut, selected, chosen.units),
            parts.segment_editor(cut, selected),
        )

    @app.callback(
        Output(GRAPH, "figure", allow_duplicate=True),
        Input(GRAPH, "relayoutData"),
        State(ids.CURRENT, "data"),
        State(ids.PREFERENCES, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def zoom(event: dict[str, Any] | None, key: str | None, preferences: dict[str, str] | None, tab: str) -> Any:  # noqa: ANN401 - a patch
        try:
            window_s = window_of(event or {})
        except KeyError:
            raise PreventUpdate from None
        return zoomed(_flight(workbench, key, tab).analysis, window_s, Preferences.from_store(preferences).units)

    @app.callback(
        Output(SELECTED, "data"),
        Input({"type": parts.ROW, "index": ALL}, "n_clicks"),
        Input(GRAPH, "clickData"),
        Input(ids.CURRENT, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def select(_: list[int], click: dict[str, Any] | None, key: str | None, tab: str) -> Any:  # noqa: ANN401 - index or no update
        if ctx.triggered_id == ids.CURRENT:
            return None
        if ctx.triggered_id == GRAPH and click:
            cut = _flight(workbench, key, tab).analysis.segmentation
            return segment_at(cut.segments, axis_seconds(click["points"][0]["x"]))
        if isinstance(ctx.triggered_id, dict) and ctx.triggered[0]["value"]:
            return ctx.triggered_id["index"]
        raise PreventUpdate


def _register_correcting(app: Dash, workbench: Workbench) -> None:
    @app.callback(
        Output(ids.REVISION, "data", allow_duplicate=True),
        Input(GRAPH, "relayoutData"),
        State(GRAPH, "figure"),
        State(SELECTED, "data"),
        State(ids.CURRENT, "data"),
        State(ids.REVISION, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def drag(
        event: dict[str, Any] | None, figure: dict[str, Any], selected: int, key: str, revision: int, tab: str
    ) -> int:
        try:
            moved = moved_edge(event or {}, figure)
        except KeyError:
            raise PreventUpdate from None
        if moved is None or selected is None:
            return revision + 1  # a limit's line was dragged: drawing anew puts it back
        flight = _flight(workbench, key, tab)
        name, time_s = moved
        edge = selected - 1 if name == EDGE_NAMES[0] else selected
        workbench.correct(flight, move_edge(flight.analysis.segmentation, edge, time_s, flight.analysis.log))
        return revision + 1

    @app.callback(
        Output(ids.REVISION, "data", allow_duplicate=True),
        Input(parts.APPLY, "n_clicks"),
        State(parts.KIND, "value"),
        State(parts.START, "value"),
        State(parts.END, "value"),
        State(SELECTED, "data"),
        State(ids.CURRENT, "data"),
        State(ids.REVISION, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def apply(
        clicks: int | None,
        kind: SegmentKind,
        start_s: float,
        end_s: float,
        selected: int,
        key: str,
        revision: int,
        tab: str,
    ) -> int:
        if not clicks or selected is None:
            raise PreventUpdate
        flight = _flight(workbench, key, tab)
        cut, log = flight.analysis.segmentation, flight.analysis.log
        if selected > 0 and start_s != round(cut.segments[selected].start_s, 2):
            cut = move_edge(cut, selected - 1, float(start_s), log)
        if selected < len(cut.segments) - 1 and end_s != round(cut.segments[selected].end_s, 2):
            cut = move_edge(cut, selected, float(end_s), log)
        if kind != cut.segments[selected].kind:
            cut = rename_segment(cut, selected, kind)
        workbench.correct(flight, cut)
        return revision + 1


def _register_exports(app: Dash, workbench: Workbench) -> None:
    @app.callback(
        Output(DOWNLOAD, "data"),
        Input({"type": FORM, "form": ALL}, "n_clicks"),
        State(ids.CURRENT, "data"),
        State(ids.PREFERENCES, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def hand_on(_: list[int], key: str, preferences: dict[str, str] | None, tab: str) -> dict[str, Any]:
        if not isinstance(ctx.triggered_id, dict) or not ctx.triggered[0]["value"]:
            raise PreventUpdate
        chosen = Preferences.from_store(preferences)
        return export(_flight(workbench, key, tab), ctx.triggered_id["form"], chosen.units)


def _register_keeping(app: Dash, workbench: Workbench) -> None:
    @app.callback(
        Output(ids.MESSAGE, "children", allow_duplicate=True),
        Input(KEEP, "n_clicks"),
        State(PLACE, "value"),
        State(NOTE, "value"),
        State(ids.CURRENT, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def keep(clicks: int | None, place: str | None, note: str | None, key: str, tab: str) -> html.Div:
        if not clicks:
            raise PreventUpdate
        kept = workbench.keep(_flight(workbench, key, tab), Edits(place=place or None, note=note or None))
        return message(said(kept), "done")


def _flight(workbench: Workbench, key: str | None, tab: str | None) -> OpenFlight:
    flight = workbench.shelf.get(key, tab or "")
    if flight is None:
        raise PreventUpdate
    return flight
