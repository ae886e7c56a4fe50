"""The comparison page: whether one propeller is better, by how much, and whether that is real or today's air."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import dash_mantine_components as dmc
from dash import Input, Output, dcc, html

from analyzer.comparison.compare import compare_flights
from analyzer.comparison.flights import GROUPINGS
from analyzer.comparison.metrics import METRICS
from analyzer.display import notice_lines
from analyzer.errors import ClimbledgerError
from analyzer.export import comparison_tables
from analyzer.figures.comparison import comparison_caption, comparison_figure
from analyzer.wording import counted
from dashboard import ids
from dashboard.components.graph import graph
from dashboard.components.ledger import bullets, ledger, verdict_list
from dashboard.preferences import Preferences
from dashboard.shell import message, working

if TYPE_CHECKING:
    from dash import Dash

    from analyzer.comparison.flights import LoggedFlight
    from dashboard.workbench import Workbench

SOURCE: Final = "compare-source"
BY: Final = "compare-by"
METRIC: Final = "compare-metric"
RESULT: Final = "compare-result"

KNOWN_FROM: Final = html.P(
    ["Propeller, place and tags of a flight can be written on the ", dcc.Link("Logbook page", href="/logbook"), "."],
    className="quiet",
)


def layout(workbench: Workbench) -> html.Div:
    """Build the page; it compares the logbook, or the invented flights while that is empty."""
    flights = workbench.kept_flights()
    tags = sorted({tag for flight in flights for tag in flight.tags} - set(GROUPINGS))  # a choice stands there once
    sources = [("logbook", f"the logbook ({counted(len(flights), 'flight')})"), ("samples", "the invented flights")]
    return html.Div(
        [
            html.H1("Compare"),
            html.Div(
                [
                    _select(SOURCE, "Flights of", sources, "logbook" if flights else "samples"),
                    _select(BY, "By", [(name, name) for name in (*GROUPINGS, *tags)], GROUPINGS[0]),
                    _select(METRIC, "What", [(key, metric.label) for key, metric in METRICS.items()], "climb_per_ah_m"),
                ],
                className="row",
            ),
            working(RESULT),
        ]
    )


def comparison_of(flights: tuple[LoggedFlight, ...], by: str, metric: str, preferences: Preferences) -> list[Any]:
    """The verdict first, then the figure, then what it rests on.

    Raises
    ------
    NoAnswerError
        When there is nothing to compare.
    """
    comparison = compare_flights(flights, by, metric)
    system, look = preferences.units, preferences.look
    return [
        verdict_list(comparison.verdict),
        graph(comparison_figure(comparison, system=system, look=look)),
        html.P(comparison_caption(metric), className="quiet"),
        ledger(comparison_tables.groups_table(comparison, system)),
        ledger(comparison_tables.differences_table(comparison, system)),
        ledger(comparison_tables.set_aside_table(comparison, system)),
        bullets(notice_lines(comparison.notices, system)),
    ]


def _select(component_id: str, label: str, options: list[tuple[str, str]], value: str) -> dmc.Select:
    data = [{"value": key, "label": title} for key, title in options]
    return dmc.Select(id=component_id, label=label, data=data, value=value, allowDeselect=False, w=270)


def register(app: Dash, workbench: Workbench) -> None:
    """Add the page's callbacks."""

    @app.callback(
        Output(RESULT, "children"),
        Input(SOURCE, "value"),
        Input(BY, "value"),
        Input(METRIC, "value"),
        Input(ids.PREFERENCES, "data"),
    )
    def show(source: str, by: str, metric: str, preferences: dict[str, str] | None) -> Any:  # noqa: ANN401 - page content
        flights = workbench.sample_comparison() if source == "samples" else workbench.kept_flights()
        flag = html.Span("invented sample flights", className="sample-flag") if source == "samples" else None
        try:
            return [flag, *comparison_of(flights, by, metric, Preferences.from_store(preferences))]
        except ClimbledgerError as error:
            return [message(error, "plain"), KNOWN_FROM if source == "logbook" else None]
