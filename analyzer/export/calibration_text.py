"""A calibration as text: what the flights say of the setup, and what that does to its prediction."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Final

from analyzer.errors import printable
from analyzer.export.display import System, scale_of, with_intervals
from analyzer.export.match_tables import finding_lines
from analyzer.export.table import Column, Table, render_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from analyzer.match import CalibrationResult
    from analyzer.power_system.prediction_records import Climb, Estimate

WIDTH: Final = 80

_SHOWN: Final = ("current_a", "climb_rate_m_s", "climb_per_ah_m")


def calibration_text(result: CalibrationResult, system: System = "metric") -> str:
    """Write a calibration as text.

    Parameters
    ----------
    result : CalibrationResult
        What some logs say of a setup.
    system : {"metric", "feet"}
        Units for heights and speeds.

    Returns
    -------
    str
        Lines with a final newline.
    """
    title = f"{printable(result.stated.name)}: calibrated by {printable(', '.join(result.logs))}"
    parts = (
        "\n".join(textwrap.wrap(title, WIDTH)),
        _listed("What the flights say", (*finding_lines(result.findings), _siblings(result))),
        render_text(effect_table(result, system)),
        _listed("About the logs", (notice.message for notice in result.notices)),
    )
    return "\n\n".join(part for part in parts if part) + "\n"


def effect_table(result: CalibrationResult, system: System = "metric") -> Table:
    """The best climb with the setup's own propeller, as stated and as calibrated."""
    from analyzer.power_system.prediction import predict

    climbs = [predict(setup).propellers[0].best_climb for setup in (result.stated, result.setup)]
    columns = (
        Column("", ("as stated", "calibrated"), is_number=False),
        *(_column(name, climbs, system) for name in _SHOWN),
    )
    return Table("The best climb, pack at 60 %", columns, "95 % intervals")


def _column(name: str, climbs: list[Climb | None], system: System) -> Column:
    scale = scale_of(name, system)
    found: list[Estimate | None] = [None if climb is None else getattr(climb, name) for climb in climbs]
    values = [None if one is None else one.value for one in found]
    errors = [None if one is None else one.standard_error for one in found]
    titles = {"current_a": "current", "climb_rate_m_s": "climb", "climb_per_ah_m": "per Ah"}
    return Column(titles[name], with_intervals(scale, values, errors), scale.symbol)


def _siblings(result: CalibrationResult) -> str:
    """What other propellers are predicted from."""
    calibration = result.setup.calibration
    if calibration is not None and calibration.propellers_as_measured:
        return (
            "The propeller flies as the measured one of its size: other sizes are predicted from their own measurement."
        )
    return "Other propellers are predicted from the mean of the measured family, moved by what these flights show."


def _listed(title: str, lines: Iterable[str]) -> str:
    wrapped = [textwrap.fill(printable(line), WIDTH, initial_indent="  - ", subsequent_indent="    ") for line in lines]
    return "\n".join([title.upper(), *wrapped]) if wrapped else ""
