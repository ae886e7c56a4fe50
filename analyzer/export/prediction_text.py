"""A prediction as text: what a pilot reads before buying a propeller."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Final

from analyzer.cautions import PREDICTION_CAUTIONS
from analyzer.errors import printable
from analyzer.export import prediction_tables as tables
from analyzer.export.table import render_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from analyzer.export.display import System
    from analyzer.power_system.prediction_records import Prediction

WIDTH: Final = 80


def prediction_text(prediction: Prediction, system: System = "metric") -> str:
    """Write a prediction as aligned text.

    Parameters
    ----------
    prediction : Prediction
        For one or more propellers.
    system : {"metric", "feet"}
        Units for heights and speeds.

    Returns
    -------
    str
        Lines with a final newline.
    """
    single = prediction.propellers[0] if len(prediction.propellers) == 1 else None
    chosen = (
        tables.overview_table(prediction, system),
        tables.limits_table(prediction),
        tables.static_table(prediction, system),
        tables.climb_table(prediction, system),
        tables.pack_table(prediction, system),
        tables.glide_table(prediction, system),
        *((tables.airspeed_table(single, system),) if single is not None else ()),
    )
    reasons = (f"{one.propeller}: {reason}" for one in prediction.propellers for reason in one.reasons)
    sources = (f"{one.propeller}: {one.basis}" for one in prediction.propellers)
    parts = (
        _heading(prediction),
        render_text(chosen[0]),
        _listed("No answer", reasons),
        *(render_text(table.without_empty_columns()) for table in chosen[1:] if table.rows),
        _listed("Where the propellers' coefficients come from", sources),
        _listed("About the setup", (notice.message for notice in prediction.notices)),
        _listed("Cautions", PREDICTION_CAUTIONS),
    )
    return "\n\n".join(part for part in parts if part) + "\n"


def _heading(prediction: Prediction) -> str:
    title = f"{printable(prediction.setup)}: prediction"
    air = f"Air {prediction.density_kg_m3:.3f} kg/m³, throttle {prediction.throttle:.0%}"
    return "\n".join([title, "=" * len(title), air])


def _listed(title: str, lines: Iterable[str]) -> str:
    wrapped = [textwrap.fill(printable(line), WIDTH, initial_indent="  - ", subsequent_indent="    ") for line in lines]
    return "\n".join([title.upper(), *wrapped]) if wrapped else ""
