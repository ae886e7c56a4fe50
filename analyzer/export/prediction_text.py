"""A prediction as text: what a pilot reads before buying a propeller."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from analyzer.cautions import PREDICTION_CAUTIONS
from analyzer.export import prediction_tables as tables
from analyzer.export.text_page import bullet_list, heading, page, rendered

if TYPE_CHECKING:
    from analyzer.display import System
    from analyzer.power_system.prediction_records import Prediction

NARROWER: Final = (
    "From data sheets alone. One log flown with this setup narrows the intervals: climbledger analyze LOG --setup "
    "SETUP.toml --calibrate AS_FLOWN.toml, then predict from that file."
)


def prediction_text(prediction: Prediction, system: System = "metric") -> str:
    """Write a prediction as aligned text.

    Parameters
    ----------
    prediction : Prediction
        For one or more propellers.
    system : System
        Units for heights and speeds.

    Returns
    -------
    str
        Lines with a final newline.
    """
    single = prediction.propellers[0] if len(prediction.propellers) == 1 else None
    details = (
        tables.limits_table(prediction, system),
        tables.static_table(prediction, system),
        tables.climb_table(prediction, system),
        tables.pack_table(prediction, system),
        tables.glide_table(prediction, system),
        *((tables.airspeed_table(single, system),) if single is not None else ()),
    )
    return page(
        heading(f"{prediction.setup}: prediction", conditions(prediction)),
        *rendered((tables.overview_table(prediction, system),)),
        bullet_list("No answer", (f"{one.propeller}: {why}" for one in prediction.propellers for why in one.reasons)),
        *rendered(details),
        bullet_list(
            "Where the propellers' coefficients come from",
            (f"{one.propeller}: {one.basis}" for one in prediction.propellers),
        ),
        bullet_list("About the setup", setup_remarks(prediction)),
        bullet_list("Cautions", PREDICTION_CAUTIONS),
    )


def setup_remarks(prediction: Prediction) -> tuple[str, ...]:
    """What was assumed, and what would narrow the intervals."""
    told = tuple(notice.message for notice in prediction.notices)
    is_flown = any(notice.code == "calibrated" for notice in prediction.notices)
    return told if is_flown else (*told, NARROWER)


def conditions(prediction: Prediction) -> str:
    """What was predicted for."""
    return f"Air {prediction.density_kg_m3:.3f} kg/m³, throttle {100.0 * prediction.throttle:.0f} %"
