"""A ranking of candidates as one HTML page that opens without a network."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from analyzer.cautions import PREDICTION_CAUTIONS
from analyzer.display import System
from analyzer.export.html_page import picture_of, render
from analyzer.export.prediction_tables import limits_table
from analyzer.export.prediction_text import setup_remarks
from analyzer.export.ranking_tables import advice, excluded_table, flown_table, ranking_table

if TYPE_CHECKING:
    from analyzer.match import Ranking
    from analyzer.power_system.prediction_records import Prediction

BEST: Final = 3
"""Candidates whose curves and limits are shown one by one."""


def ranking_page(ranking: Ranking, prediction: Prediction, system: System = "metric") -> str:
    """Write the page.

    Parameters
    ----------
    ranking : Ranking
        The candidates in order.
    prediction : Prediction
        What it was made from.
    system : System
        Units for heights and speeds.

    Returns
    -------
    str
        A complete HTML document.
    """
    from analyzer.figures.prediction import climb_rate_figure, current_figure, trade_off_figure

    best = best_of(prediction, ranking)
    named = [one.propeller for one in best.propellers]
    trade = trade_off_figure(prediction, flown_points(ranking), named=named, system=system)
    return render(
        "ranking.html",
        name=prediction.setup,
        facts=[f"aim: {ranking.aim}", f"over {ranking.reference}", f"air {prediction.density_kg_m3:.3f} kg/m³"],
        advice=advice(ranking),
        ranking=ranking_table(ranking, system),
        excluded=excluded_table(ranking),
        flown=flown_table(ranking, system),
        limits=limits_table(best, system),
        trade=picture_of(trade, "trade", "Up and to the right is better; bars are 95 % intervals."),
        curves=[
            picture_of(current_figure(best, system=system), "current", "Current over airspeed, pack at 60 %."),
            picture_of(climb_rate_figure(best, system=system), "climb", "Climb rate over airspeed, pack at 60 %."),
        ],
        notices=setup_remarks(prediction),
        cautions=PREDICTION_CAUTIONS,
    )


def best_of(prediction: Prediction, ranking: Ranking) -> Prediction:
    """The prediction of the one to try first, the best candidates and the reference alone."""
    by_name = {one.propeller: one for one in prediction.propellers}
    first = [ranking.first_to_try] if ranking.first_to_try is not None else []
    best = list(dict.fromkeys(one.propeller for one in (*first, *ranking.ranked)))[:BEST]
    names = dict.fromkeys([*best, ranking.reference])
    return replace(prediction, propellers=tuple(by_name[name] for name in names))


def flown_points(ranking: Ranking) -> dict[str, tuple[float, float | None]]:
    """What was measured, as the trade-off figure takes it."""
    return {one.propeller: (one.climb_per_ah_m, one.climb_per_ah_se_m) for one in ranking.flown}
