"""The setup as it flies: fitted values in its own keys, and what is still open in its calibration."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.match.findings import KEYS, stated_values
from analyzer.power_system.coefficients import setup_propeller
from analyzer.setup_file import CalibrationSection, FlownPropeller, Section, Setup

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.match.estimate import Posterior
    from analyzer.match.tuning import MatchTuning
    from analyzer.power_system.system import PowerSystem

DIGITS: Final = 4
"""Significant ones of a fitted value; what rounding leaves goes into the calibration."""


def fitted_values(system: PowerSystem, found: Posterior, tuning: MatchTuning) -> dict[str, float]:
    """Values to write, by key: of those parameters that the logs tell, and tell to be others."""
    values = {}
    stated = stated_values(system)
    for parameter, key in KEYS.items():
        spread, away = found.belief.spread(parameter), found.belief.of(parameter).mean[0]
        if spread <= tuning.told_share * found.usual.spread(parameter) and abs(away) > tuning.shown * spread:
            moved = stated[parameter] * float(np.exp(away))
            values[key] = _rounded(min(moved, 1.0) if parameter == "gearbox_efficiency" else moved, DIGITS)
    return values


def fitted_setup(
    setup: Setup, system: PowerSystem, found: Posterior, logs: Sequence[tuple[str, str]], tuning: MatchTuning
) -> Setup:
    """The setup with what was fitted.

    Parameters
    ----------
    setup : Setup
        As stated.
    system : PowerSystem
        Its models.
    found : Posterior
        From the logs.
    logs : sequence of (str, str)
        Name and hash of each.
    tuning : MatchTuning
        Tuning values.
    """
    values = fitted_values(system, found, tuning)
    calibration = _calibration(setup, system, found, values, logs, tuning)
    sections: dict[str, Section] = {"calibration": calibration}
    for key, value in values.items():
        name, _, field = key.partition(".")
        section = sections.get(name, getattr(setup, name))
        sections[name] = section.model_copy(update={field: value})
    return setup.model_copy(update=sections)


def _calibration(
    setup: Setup,
    system: PowerSystem,
    found: Posterior,
    values: dict[str, float],
    logs: Sequence[tuple[str, str]],
    tuning: MatchTuning,
) -> CalibrationSection:
    """What is left of the fit once the values are written: offsets from them, and the covariance."""
    mean, stated = found.belief.mean.copy(), stated_values(system)
    for parameter, key in KEYS.items():
        if key in values:
            mean[found.belief.names.index(parameter)] -= np.log(values[key] / stated[parameter])
    covariance = found.belief.covariance
    return CalibrationSection(
        propellers_as_measured=found.prior.as_measured,
        parameters=list(found.belief.names),
        offsets=[_rounded(value, 6) for value in mean],
        covariance=[[_rounded(value, 5) for value in covariance[row, : row + 1]] for row in range(len(mean))],
        flown=_flown(setup, found, logs, tuning),
    )


def _rounded(value: float, digits: int) -> float:
    return float(f"{value:.{digits}g}")


def _flown(
    setup: Setup, found: Posterior, logs: Sequence[tuple[str, str]], tuning: MatchTuning
) -> list[FlownPropeller]:
    """The propellers fitted so far, this one last; its error is that of a climb in still air."""
    before = list(setup.calibration.flown) if setup.calibration is not None else []
    name = setup_propeller(setup).name
    own = next((one for one in before if one.propeller == name), None)
    runs = tuple(run for run in found.runs if run.is_full_throttle) or found.runs
    weight = np.array([run.duration_s for run in runs])
    climb = np.array([run.climb_m_s.value for run in runs])
    current = np.array([run.current_a.value if run.current_a is not None else np.nan for run in runs])
    mean_a, mean_m_s = float(np.average(current, weights=weight)), float(np.average(climb, weights=weight))
    air = np.hypot(found.air_run_m_s / np.sqrt(len(runs)), tuning.air_log_m_s)
    error = 3600.0 / mean_a * float(np.hypot(air, tuning.current_scale * mean_m_s))
    entry = FlownPropeller(
        propeller=name,
        basis=found.prior.basis,
        advance_ratio=_rounded(found.advance_ratio, 4),
        rpm=_rounded(60.0 * found.speed_rev_s, 5),
        logs=[*(own.logs if own is not None else []), *(log for log, _ in logs)],
        sha256=[*(own.sha256 if own is not None else []), *(sha256 for _, sha256 in logs)],
        current_a=_rounded(mean_a, 4),
        climb_rate_m_s=_rounded(mean_m_s, 4),
        climb_per_ah_m=_rounded(3600.0 * mean_m_s / mean_a, 4),
        climb_per_ah_se_m=_rounded(error, 2),
    )
    return [*(one for one in before if one.propeller != name), entry]
