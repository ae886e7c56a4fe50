"""A ranking of candidates as text: which propeller to try next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.cautions import PREDICTION_CAUTIONS
from analyzer.export.prediction_text import conditions, setup_remarks
from analyzer.export.ranking_tables import MOST_SHOWN, advice, flown_table, ranking_table
from analyzer.export.text_page import bullet_list, heading, page, rendered, sentences

if TYPE_CHECKING:
    from analyzer.display import System
    from analyzer.match import Ranking
    from analyzer.power_system.prediction_records import Prediction


def ranking_text(ranking: Ranking, prediction: Prediction, system: System = "metric") -> str:
    """Write a ranking as aligned text.

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
        Lines with a final newline.
    """
    out = [f"{one.propeller}: {'; '.join(one.reasons)}" for one in ranking.excluded]
    if len(out) > MOST_SHOWN:
        out[MOST_SHOWN:] = [f"{len(out) - MOST_SHOWN} more stand in the document"]
    return page(
        heading(f"{prediction.setup}: which propeller to try next", conditions(prediction)),
        sentences([advice(ranking)]),
        *rendered((ranking_table(ranking, system, MOST_SHOWN), flown_table(ranking, system))),
        bullet_list("Left out", out),
        bullet_list("About the setup", setup_remarks(prediction)),
        bullet_list("Cautions", PREDICTION_CAUTIONS),
    )
