"""A calibration as text: what the flights say of the setup, and what that does to its prediction."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from analyzer.display import System, scale_of
from analyzer.export.columns import estimated
from analyzer.export.match_tables import finding_lines
from analyzer.export.table import Column, Table
from analyzer.export.text_page import bullet_list, page, rendered, sentences

if TYPE_CHECKING:
    from analyzer.match import CalibrationResult

_SHOWN: Final = {"current_a": "current", "climb_rate_m_s": "climb", "climb_per_ah_m": "per Ah"}


def calibration_text(result: CalibrationResult, system: System = "metric") -> str:
    """Write a calibration as text.

    Parameters
    ----------
    result : CalibrationResult
        What some logs say of a setup.
    system : System
        Units for heights and speeds.

    Returns
    -------
    str
        Lines with a final newline.
    """
    return page(
        sentences([f"{result.stated.name}: calibrated by {', '.join(result.logs)}"]),
        bullet_list("What the flights say", (*finding_lines(result.findings), _siblings(result))),
        *rendered([effect_table(result, system)]),
        bullet_list("About the logs", (notice.message for notice in result.notices)),
    )


def effect_table(result: CalibrationResult, system: System = "metric") -> Table:
    """The best climb with the setup's own propeller, as stated and as calibrated."""
    from analyzer.power_system.prediction import predict

    climbs = [predict(setup).propellers[0].best_climb for setup in (result.stated, result.setup)]
    columns = (
        Column("", ("as stated", "calibrated"), is_number=False),
        *(
            estimated(title, scale_of(name, system), [getattr(climb, name, None) for climb in climbs])
            for name, title in _SHOWN.items()
        ),
    )
    return Table("The best climb, pack at 60 %", columns, "95 % intervals")


def _siblings(result: CalibrationResult) -> str:
    """What other propellers are predicted from."""
    calibration = result.setup.calibration
    if calibration is not None and calibration.propellers_as_measured:
        return (
            "The propeller flies as the measured one of its size: other sizes are predicted from their own measurement."
        )
    return "Other propellers are predicted from the mean of the measured family, moved by what these flights show."
