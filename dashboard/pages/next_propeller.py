"""Which propeller to try next: candidates beside the one flown, with limits and odds, before one is bought."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import dash_mantine_components as dmc
from dash import Input, Output, State, html

from analyzer.cautions import PREDICTION_CAUTIONS
from analyzer.errors import ClimbledgerError
from analyzer.export import prediction_tables
from analyzer.figures.prediction import climb_rate_figure, current_figure, trade_off_figure
from analyzer.power_system.prediction import predict
from analyzer.power_system.propeller import Propeller, parse_propeller
from dashboard import ids
from dashboard.components.graph import graph
from dashboard.components.ledger import ledger
from dashboard.preferences import Preferences
from dashboard.shell import message, working
from dashboard.workbench import setup_in_use

if TYPE_CHECKING:
    from dash import Dash

    from analyzer.power_system.prediction_records import Prediction
    from analyzer.setup_file import Setup
    from dashboard.workbench import Workbench

SIZES: Final = "candidate-sizes"
ASK: Final = "candidate-ask"
RESULT: Final = "candidate-result"
BASIS: Final = "candidate-basis"

FEW: Final = 6
"""Propellers whose curves and limits are shown one by one; with more, the overview says it."""

STEPS_IN: Final = (-2, -1, 0, 1, 2)
"""Candidates offered at first: up to two inches of diameter and of pitch around the one flown."""


def layout(workbench: Workbench) -> html.Div:
    """Build the page; candidates and answers arrive with the setup."""
    del workbench
    return html.Div(
        [
            html.H1("Next propeller"),
            html.P(id=BASIS, className="quiet"),
            html.Div(
                [
                    dmc.TextInput(
                        id=SIZES,
                        label="Candidates",
                        description="Diameter x pitch in inches, with blanks between; 14x8x3 has three blades",
                        className="grow",
                    ),
                    html.Button("Predict", id=ASK, className="plain main"),
                ],
                className="row",
            ),
            working(html.Div(id=RESULT)),
        ]
    )


def neighbours(setup: Setup) -> list[Propeller]:
    """The setup's propeller and the sizes around it; none where the setup names no propeller."""
    diameter_in, pitch_in = setup.value("propeller.diameter_in"), setup.value("propeller.pitch_in")
    if diameter_in is None or pitch_in is None or setup.propeller is None:
        return []
    return [
        Propeller(diameter_in + wider, pitch_in + steeper, setup.propeller.blades)
        for wider in STEPS_IN
        for steeper in STEPS_IN
        if pitch_in + steeper >= 2 and diameter_in + wider >= 4
    ]


def answer(setup: Setup, sizes: str, preferences: Preferences) -> list[Any]:
    """Predict the candidates and show them: trade-off first, then limits, then the table."""
    prediction = predict(setup, [parse_propeller(size) for size in sizes.replace(",", " ").split()])
    limit_a = setup.value("speed_controller.continuous_current_a")
    look, system = preferences.look, preferences.units
    few = prediction.propellers[:FEW]
    return [
        html.H2("The trade: height per charge against speed"),
        graph(trade_off_figure(prediction, system=system, look=look)),
        ledger(prediction_tables.overview_table(prediction, system)),
        ledger(prediction_tables.static_table(prediction, system)),
        ledger(prediction_tables.limits_table(prediction)) if len(prediction.propellers) <= FEW else html.Div(),
        html.H2(f"Over airspeed: {', '.join(one.propeller for one in few)}"),
        html.Div(
            [
                graph(figure)
                for figure in (
                    current_figure(prediction, limit_a, system=system, look=look),
                    climb_rate_figure(prediction, system=system, look=look),
                )
            ],
            className="columns",
        ),
        *_notices(prediction),
        html.H2("Cautions"),
        html.Ul([html.Li(caution) for caution in PREDICTION_CAUTIONS], className="notices"),
    ]


def _notices(prediction: Prediction) -> list[Any]:
    if not prediction.notices:
        return []
    items = [html.Li(notice.message) for notice in prediction.notices]
    return [html.H2("What was assumed"), html.Ul(items, className="notices")]


def register(app: Dash, workbench: Workbench) -> None:
    """Add the page's callbacks."""

    def setup_for(key: str | None, tab: str | None, text: str | None) -> Setup | None:
        flight = workbench.shelf.get(key, tab or "")
        return setup_in_use(text) or (flight.setup if flight is not None else None)

    @app.callback(
        Output(SIZES, "value"),
        Output(BASIS, "children"),
        Input(ids.SETUP_TEXT, "data"),
        Input(ids.CURRENT, "data"),
        State(ids.TAB, "data"),
    )
    def offer(text: str | None, key: str | None, tab: str | None) -> tuple[str, str]:
        setup = setup_for(key, tab, text)
        if setup is None:
            return "", "No setup is in use: fill one in on the setup page, or open a flight that has one."
        return " ".join(one.name for one in neighbours(setup)), f"For {setup.name}, at full throttle."

    @app.callback(
        Output(RESULT, "children"),
        Input(ASK, "n_clicks"),
        Input(SIZES, "value"),
        Input(ids.PREFERENCES, "data"),
        State(ids.SETUP_TEXT, "data"),
        State(ids.CURRENT, "data"),
        State(ids.TAB, "data"),
    )
    def show(
        _: int | None,
        sizes: str | None,
        preferences: dict[str, str] | None,
        text: str | None,
        key: str | None,
        tab: str | None,
    ) -> Any:  # noqa: ANN401 - page content
        setup = setup_for(key, tab, text)
        if setup is None:
            return None
        try:
            return answer(setup, sizes or "", Preferences.from_store(preferences))
        except ClimbledgerError as error:
            return message(str(error))
