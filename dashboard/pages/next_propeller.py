"""Which propeller to try next: candidates beside the one flown, with limits, before one is bought."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

import dash_mantine_components as dmc
from dash import Input, Output, State, dcc, html
from dash.exceptions import PreventUpdate

from analyzer.cautions import PREDICTION_CAUTIONS
from analyzer.comparison.flights import propeller_name
from analyzer.errors import ClimbledgerError, NoAnswerError, SetupFileError
from analyzer.export import prediction_tables, ranking_tables
from analyzer.export.ranking_html import best_of, flown_points
from analyzer.figures.prediction import climb_rate_figure, current_figure, thrust_figure, trade_off_figure
from analyzer.match import AIMS, parse_aim, rank
from analyzer.match.match import MATCH_KEYS
from analyzer.power_system.prediction import predict
from analyzer.power_system.propeller import Propeller, parse_propeller, stated_propeller
from dashboard import ids
from dashboard.components.as_flown import as_flown
from dashboard.components.graph import graph
from dashboard.components.ledger import bullets, ledger, verdict_list
from dashboard.components.page_words import on_page
from dashboard.pages.flight.elements import flight_on_screen
from dashboard.preferences import Preferences
from dashboard.shell import message, working

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dash import Dash

    from analyzer.display import System
    from analyzer.match import Ranking
    from analyzer.power_system.prediction_records import Prediction
    from analyzer.setup_file import Setup
    from dashboard.workbench import Workbench

SIZES: Final = "candidate-sizes"
ASK: Final = "candidate-ask"
RESULT: Final = "candidate-result"
BASIS: Final = "candidate-basis"
BY_FLIGHT: Final = "candidate-by-flight"
QUESTION: Final = "candidate-question"
WANTING: Final = "candidate-wanting"
"""What the setup of the flight lacks for the data sheets to be corrected by it."""
AIM: Final = "candidate-aim"
LARGEST: Final = "candidate-largest"

FIRST_AIM: Final = "climb_per_ah"
OFFERED_AIMS: Final = (*AIMS, "climb_per_ah=1,level_speed=1", "climb_per_ah=1,climb_rate=1")
"""Aims on offer: each alone, and the two trades that builders make most."""

FEW: Final = 6
"""Propellers whose curves are named in the heading: as many as a figure draws."""

TYPED_MS: Final = 600
"""Rest of the keys after which what was typed counts: half a size is none, and each asks for a prediction."""

STEPS_IN: Final = (-2, -1, 0, 1, 2)
"""Candidates offered at first: up to two inches of diameter and of pitch around the one flown."""


NO_SETUP: Final = (
    "No setup is in use: ",
    dcc.Link("fill one in", href="/setup"),
    ", or open a flight that has one.",
)


def layout(workbench: Workbench) -> html.Div:
    """Build the page; candidates and answers arrive with the setup."""
    del workbench
    return html.Div(
        [
            html.H1("Next propeller"),
            html.P(id=BASIS, className="quiet"),
            html.Button(
                "Correct the data sheets by the flight on screen", id=BY_FLIGHT, className="plain", hidden=True
            ),
            html.P(id=WANTING, className="quiet"),
            html.Div(
                id=QUESTION,
                hidden=True,
                children=[
                    dmc.TextInput(
                        id=SIZES,
                        label="Candidates",
                        description="Diameter x pitch in inches, with blanks between; 14x8x3 has three blades",
                        debounce=TYPED_MS,
                        className="grow",
                    ),
                    dmc.Select(
                        id=AIM,
                        label="Aim",
                        data=[{"value": aim, "label": parse_aim(aim).words} for aim in OFFERED_AIMS],
                        value=FIRST_AIM,
                        allowDeselect=False,
                        w=220,
                    ),
                    dmc.NumberInput(
                        id=LARGEST,
                        label="Largest diameter (in)",
                        min=2,
                        max=40,
                        hideControls=True,
                        w=180,
                        debounce=TYPED_MS,
                    ),
                    html.Button("Predict", id=ASK, className="plain main"),
                ],
                className="row",
            ),
            working(RESULT),
        ]
    )


def neighbours(setup: Setup) -> list[Propeller]:
    """The setup's propeller and the sizes around it; none where the setup names no propeller."""
    own = stated_propeller(setup)
    if own is None:
        return []
    return [
        Propeller(own.diameter_in + wider, own.pitch_in + steeper, own.blades)
        for wider in STEPS_IN
        for steeper in STEPS_IN
        if own.pitch_in + steeper >= 2 and own.diameter_in + wider >= 4
    ]


def wanting(setup: Setup) -> str:
    """What a flight's setup lacks for the data sheets to be corrected by the flight; "" where it lacks nothing."""
    try:
        setup.require(*MATCH_KEYS, purpose="Correcting the data sheets by the flight on screen")
    except SetupFileError as error:
        return on_page(f"{error.problem}; {error.remedy}.")
    return ""


def answer(
    setup: Setup, sizes: str, preferences: Preferences, aim: str = FIRST_AIM, max_diameter_in: float | None = None
) -> list[Any]:
    """Rank the candidates: the advice and the trade-off first, then the order, what was left out, and the details."""
    asked = [parse_propeller(size) for size in re.split(r"[\s,;]+", sizes) if size]
    flown = [parse_propeller(one.propeller) for one in (setup.calibration.flown if setup.calibration else ())]
    prediction = predict(setup, tuple(dict.fromkeys([*asked, *flown])))
    ranking = _ranking(prediction, setup, aim, max_diameter_in)
    look, system = preferences.look, preferences.units
    few = best_of(prediction, ranking) if ranking is not None else prediction
    measured = flown_points(ranking) if ranking is not None else None
    named = [propeller_name(setup), *([one.propeller for one in few.propellers] if ranking is not None else [])]
    return [
        verdict_list([ranking_tables.advice(ranking)] if ranking is not None else []),
        html.H2("The trade: height per charge against speed"),
        graph(trade_off_figure(prediction, measured, named=named, system=system, look=look)),
        *_order(ranking, asked, max_diameter_in, system),
        ledger(prediction_tables.overview_table(prediction, system)),
        html.Details(
            [
                html.Summary("Standing still, and each limit"),
                ledger(prediction_tables.static_table(prediction, system)),
                ledger(prediction_tables.limits_table(few)),
            ]
        ),
        html.H2(f"Over airspeed: {', '.join(one.propeller for one in few.propellers[:FEW])}"),
        html.Div(
            [
                graph(figure)
                for figure in (
                    current_figure(few, system=system, look=look),
                    thrust_figure(few, system=system, look=look),
                    climb_rate_figure(few, system=system, look=look),
                )
            ],
            className="columns",
        ),
        *_notices(prediction),
        html.H2("Cautions"),
        bullets(PREDICTION_CAUTIONS),
    ]


def _ranking(prediction: Prediction, setup: Setup, aim: str, max_diameter_in: float | None) -> Ranking | None:
    """The candidates in order; None where none keeps the limits."""
    try:
        return rank(prediction, parse_aim(aim), setup, max_diameter_in)
    except NoAnswerError:
        return None


def _order(
    ranking: Ranking | None, asked: Sequence[Propeller], max_diameter_in: float | None, system: System
) -> list[Any]:
    if ranking is None:
        widest = "" if max_diameter_in is None else f" of at most {max_diameter_in:g} in"
        if max_diameter_in is not None and all(one.diameter_in > max_diameter_in for one in asked):
            return [html.P(f"There is no candidate{widest}.", className="quiet")]
        return [html.P(f"No candidate{widest} keeps the limits: see below which one each passes.", className="quiet")]
    return [
        ledger(ranking_tables.ranking_table(ranking, system)),
        ledger(ranking_tables.flown_table(ranking, system)),
        ledger(ranking_tables.excluded_table(ranking)),
    ]


def _notices(prediction: Prediction) -> list[Any]:
    if not prediction.notices:
        return []
    return [html.H2("What was assumed"), bullets(notice.message for notice in prediction.notices)]


def register(app: Dash, workbench: Workbench) -> None:
    """Add the page's callbacks."""

    @app.callback(
        Output(SIZES, "value"),
        Output(BASIS, "children"),
        Output(BY_FLIGHT, "hidden"),
        Output(WANTING, "children"),
        Output(QUESTION, "hidden"),
        Input(ids.SETUP_TEXT, "data"),
        Input(ids.CURRENT, "data"),
        State(ids.TAB, "data"),
    )
    def offer(text: str | None, key: str | None, tab: str | None) -> tuple[str, Any, bool, str, bool]:
        setup = workbench.setup_for(key, tab, text)
        if setup is None:
            return "", NO_SETUP, True, "", True
        flight = workbench.shelf.get(key, tab)
        flown_with = None if setup.calibration is not None or flight is None else flight.setup
        lacks = "" if flown_with is None else wanting(flown_with)
        how = "as calibrated in flight" if setup.calibration is not None else "from data sheets alone"
        return (
            " ".join(one.name for one in neighbours(setup)),
            f"For {setup.name}, {how}, at full throttle.",
            flown_with is None or bool(lacks),
            lacks,
            False,
        )

    @app.callback(
        Output(ids.SETUP_TEXT, "data", allow_duplicate=True),
        Output(ids.MESSAGE, "children", allow_duplicate=True),
        Input(BY_FLIGHT, "n_clicks"),
        State(ids.CURRENT, "data"),
        State(ids.TAB, "data"),
        prevent_initial_call=True,
    )
    def correct(clicks: int | None, key: str, tab: str) -> tuple[str, html.Div]:
        if not clicks:
            raise PreventUpdate
        return as_flown(workbench, flight_on_screen(workbench, key, tab))

    @app.callback(
        Output(RESULT, "children"),
        Input(ASK, "n_clicks"),
        Input(SIZES, "value"),
        Input(AIM, "value"),
        Input(LARGEST, "value"),
        Input(ids.PREFERENCES, "data"),
        State(ids.SETUP_TEXT, "data"),
        State(ids.CURRENT, "data"),
        State(ids.TAB, "data"),
    )
    def show(
        _: int | None,
        sizes: str | None,
        aim: str | None,
        largest: float | str | None,
        preferences: dict[str, str] | None,
        text: str | None,
        key: str | None,
        tab: str | None,
    ) -> Any:  # noqa: ANN401 - page content
        setup = workbench.setup_for(key, tab, text)
        if setup is None:
            return None
        try:
            largest_in = float(largest) if largest not in (None, "") else None
            return answer(setup, sizes or "", Preferences.from_store(preferences), aim or FIRST_AIM, largest_in)
        except ClimbledgerError as error:
            return message(error)
