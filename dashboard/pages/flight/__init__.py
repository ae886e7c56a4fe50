"""The flight page: drop a log, read five answers, look closer, correct, keep, hand on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import dash_mantine_components as dmc
from dash import dcc, html

from dashboard.components.attributes import data
from dashboard.components.exports import export_row
from dashboard.components.graph import EDITABLE_CONFIG
from dashboard.components.keeping import keep_row
from dashboard.pages.flight import calibrating, correcting, handing_on, opening, showing
from dashboard.pages.flight.elements import (
    CALIBRATE,
    CHOOSE,
    DETAILS,
    DROP,
    EDITOR,
    GRAPH,
    HEADLINE,
    LIST,
    QUESTION,
)
from dashboard.shell import working

if TYPE_CHECKING:
    from dash import Dash

    from dashboard.workbench import Workbench


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
                    html.Div(
                        [dmc.RadioGroup([], id=LIST, label="Course of the log", className="segments")],
                        className="sheet segment-scroll",
                    ),
                    html.Div(html.Div(id=EDITOR), className="sheet"),
                ],
                className="columns",
            ),
            html.Div(id=DETAILS),
            html.H2("Which propeller next?"),
            html.P(
                "Fit the setup to this flight, then see the candidates by the model as it flies.", className="quiet"
            ),
            html.Button("Calibrate, and show candidates", id=CALIBRATE, className="plain"),
            html.H2("Keep it, hand it on"),
            keep_row(),
            html.P(),
            export_row(),
        ]
    )


def register(app: Dash, workbench: Workbench) -> None:
    """Add the page's callbacks."""
    for part in (opening, showing, correcting, calibrating, handing_on):
        part.register(app, workbench)
