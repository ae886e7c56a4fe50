"""The flight page: drop a log, read the answers, look closer, correct, keep, hand on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import dash_mantine_components as dmc
from dash import dcc, html

from dashboard.components.attributes import aria, data
from dashboard.components.exports import export_row
from dashboard.components.graph import EDITABLE_CONFIG
from dashboard.components.keeping import KEPT, keep_row
from dashboard.pages.flight import asking, calibrating, correcting, handing_on, opening, showing
from dashboard.pages.flight.elements import (
    CALIBRATE,
    CHOOSE,
    DETAILS,
    DROP,
    DROPPED,
    EDITOR,
    GRAPH,
    HEADLINE,
    IN_SIGHT,
    LIST,
    QUESTION,
)
from dashboard.security import MAX_TOGETHER_BYTES, MAX_UPLOAD_BYTES
from dashboard.shell import working

if TYPE_CHECKING:
    from dash import Dash

    from dashboard.workbench import Workbench

KEEPING: Final = "keeping"
NO_FLIGHT: Final = (
    "No log is open. Drop one above, or choose it: any table of telemetry with time and altitude, or IGC. "
    "What the flight cost, gave and stayed within stands here a moment later."
)
UPLOAD_LIMITS: Final = data(
    label="Open logs", most_bytes=str(MAX_UPLOAD_BYTES), most_together_bytes=str(MAX_TOGETHER_BYTES)
)
"""Read by the page's own script, which refuses what is too large before it is sent."""


def layout(workbench: Workbench) -> html.Div:
    """Build the page; what it shows arrives with the flight."""
    return html.Div(
        [
            html.Div(
                [
                    html.Div(_drop(), className="grow", **UPLOAD_LIMITS),
                    dmc.Select(
                        id=CHOOSE,
                        data=[],
                        allowDeselect=False,
                        className="grow of-flight",
                        **aria(label="Flight on screen"),
                    ),
                ],
                className="row",
            ),
            dcc.Store(id=DROPPED),
            dcc.Store(id=IN_SIGHT),
            html.Div(id=QUESTION),
            html.P(NO_FLIGHT, className="no-flight quiet"),
            working(HEADLINE),
            html.Div(
                [
                    html.Button("Which propeller next?", id=CALIBRATE, className="plain main"),
                    html.A("Keep it, hand it on", href=f"#{KEEPING}", className="plain"),
                    html.Span(id=KEPT, className="quiet"),
                ],
                className="row next-steps of-flight",
            ),
            dcc.Graph(id=GRAPH, config=EDITABLE_CONFIG, className="graph", style={"display": "none"}),
            html.Div(
                [
                    html.Div(
                        [dmc.RadioGroup([], id=LIST, label="Course of the log", className="segments")],
                        className="sheet segment-scroll",
                    ),
                    html.Div(html.Div(id=EDITOR), className="sheet"),
                ],
                className="columns of-flight",
            ),
            html.Div(id=DETAILS),
            html.Div([html.H2("Keep it, hand it on", id=KEEPING), keep_row(), export_row()], className="of-flight"),
        ]
    )


def _drop() -> dcc.Upload:
    return dcc.Upload(
        [
            html.Span([html.B("Open logs"), ": drop them here or choose"], className="invitation"),
            html.Span("Reading the log…", className="reading"),
        ],
        id=DROP,
        className="drop",
        className_active="over",
        className_disabled="busy",
        multiple=True,
    )


def register(app: Dash, workbench: Workbench) -> None:
    """Add the page's callbacks."""
    for part in (opening, asking, showing, correcting, calibrating, handing_on):
        part.register(app, workbench)
