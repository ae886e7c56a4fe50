"""Calibration: logs of one setup in, the setup as it flies out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Protocol

import numpy as np

from analyzer.errors import NoAnswerError, OptionError
from analyzer.match.choice import best_estimate
from analyzer.match.findings import findings_of
from analyzer.match.fitted_setup import fitted_setup
from analyzer.match.glide_drag import drag_from_glides
from analyzer.match.speed_check import speed_contradiction
from analyzer.match.steady import steady_runs
from analyzer.match.tuning import TUNING, MatchTuning
from analyzer.power_system.calibrated import SHARED, own_names
from analyzer.power_system.system import CLIMB_KEYS, power_system
from analyzer.records import Notice

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from analyzer.match.estimate import Posterior
    from analyzer.match.steady import SteadyRun
    from analyzer.power_system.system import PowerSystem
    from analyzer.records import Finding, FlightSummary, Log
    from analyzer.setup_file import Setup


WIDEST: Final = 4.0
"""Logarithm of a factor (55) that no value of a setup is off by, however little was known of it beforehand."""


class Analysed(Protocol):
    """A conditioned log with its summary, as `analyzer.analysis.Analysis` holds them."""

    @property
    def log(self) -> Log:
        """The conditioned log."""

    @property
    def summary(self) -> FlightSummary:
        """What was measured."""


@dataclass(frozen=True)
class Explained:
    """The parameters that explain the climbs of some logs.

    Attributes
    ----------
    system : PowerSystem
        Of the setup as stated.
    estimate : Posterior
        The fit.
    findings : tuple of Finding
        What it says of each value.
    notices : tuple of Notice
        What was left out or assumed.
    """

    system: PowerSystem
    estimate: Posterior
    findings: tuple[Finding, ...]
    notices: tuple[Notice, ...]


@dataclass(frozen=True)
class CalibrationResult:
    """What some logs say of a setup.

    Attributes
    ----------
    stated : Setup
        As it was given.
    setup : Setup
        With fitted values, and a calibration that predictions use.
    logs : tuple of str
        Names of the logs.
    findings : tuple of Finding
        Each value with what the logs say of it.
    notices : tuple of Notice
        What was left out or assumed.
    """

    stated: Setup
    setup: Setup
    logs: tuple[str, ...]
    findings: tuple[Finding, ...]
    notices: tuple[Notice, ...]


def calibrate(analyses: Sequence[Analysed], setup: Setup, tuning: MatchTuning = TUNING) -> CalibrationResult:
    """Fit a setup to logs that were flown with it.

    Parameters
    ----------
    analyses : sequence of Analysed
        Logs, all flown with this one setup; a setup that was calibrated before is calibrated further.
    setup : Setup
        The setup; it is not changed.
    tuning : MatchTuning
        Tuning values.

    Raises
    ------
    SetupFileError
        When the setup lacks what a prediction needs.
    OptionError
        When a log is already in the setup's calibration, or given twice.
    NoAnswerError
        When the logs tell nothing: too short, without current, too unsteady, or no climbs at all.
    """
    from pydantic import ValidationError

    _check_new(analyses, setup)
    names = _listed(one.summary for one in analyses)
    explained = explain([(one.summary, one.log) for one in analyses], setup, tuning)
    told = [finding for finding in explained.findings if finding.verdict != "open"]
    if not told:
        raise NoAnswerError(
            "the logs are too short, too steady or too noisy to tell any value of the setup from what it states",
            source=names,
            remedy="log a flight with three or more climbs of 15 s at full throttle, with current, voltage and rpm",
        )
    logs = [(one.summary.log.name, one.summary.log.sha256) for one in analyses]
    try:
        fitted = fitted_setup(setup, explained.system, explained.estimate, logs, tuning)
    except ValidationError as error:
        raise NoAnswerError(
            "these climbs give values beyond what a setup can hold",
            source=names,
            remedy="calibrate with climbs at full throttle, and check the setup they were flown with",
        ) from error
    return CalibrationResult(setup, fitted, tuple(name for name, _ in logs), explained.findings, explained.notices)


def explain(flown: Sequence[tuple[FlightSummary, Log]], setup: Setup, tuning: MatchTuning) -> Explained:
    """Find the parameters that explain the climbs of logs.

    Parameters
    ----------
    flown : sequence of (FlightSummary, Log)
        What was measured, and the conditioned log.
    setup, tuning
        As in `calibrate`.

    Raises
    ------
    SetupFileError
        When the setup lacks what a prediction of a climb needs.
    NoAnswerError
        When there is no climb to explain, or the setup cannot be the one that flew them.
    """
    names = _listed(summary for summary, _ in flown)
    if any(notice.code == "cells-contradict" for summary, _ in flown for notice in summary.log.notices):
        raise NoAnswerError(
            "the pack that flew cannot be the setup's, by its voltage at rest",
            source=names,
            remedy="correct cells and chemistry in [pack], or where the voltage is measured",
        )
    setup.require(
        *CLIMB_KEYS, "propeller.diameter_in", "propeller.pitch_in", purpose="holding flights against a prediction"
    )
    system = power_system(setup)
    found = [steady_runs(summary, setup, log, tuning) for summary, log in flown]
    runs = [run for some, _ in found for run in some if run.throttle is not None and run.current_a is not None]
    if not runs:
        raise NoAnswerError(
            f"there is no climb with {tuning.shortest_s:.0f} steady seconds and a logged current",
            source=names,
            remedy="log climbs of 15 s and more with the current",
        )
    runs, contradiction = _checked(setup, system, runs)
    notices = [notice for _, some in found for notice in some]
    drags = [drag for summary, log in flown if (drag := drag_from_glides(summary, setup, system, log, tuning))]
    estimate = best_estimate(setup, system, runs, drags, tuning)
    foreign = _foreign(estimate, tuning)
    if foreign:
        raise NoAnswerError(
            ". ".join((foreign, *(notice.message.rstrip(".") for notice in contradiction))),
            source=names,
            remedy="check the setup: cells and capacity, speed constant, gear and propeller",
        )
    return Explained(system, estimate, findings_of(setup, system, estimate, tuning), (*contradiction, *notices))


def _checked(setup: Setup, system: PowerSystem, runs: list[SteadyRun]) -> tuple[list[SteadyRun], tuple[Notice, ...]]:
    """Leave an rpm out that the motor cannot have."""
    contradiction = speed_contradiction(setup, system, runs)
    if contradiction is None:
        return runs, ()
    notice = Notice("rpm-contradicts", contradiction.said(setup.value("motor.kv_rpm_per_v")))
    return [replace(run, speed_rev_s=None) for run in runs], (notice,)


def _foreign(found: Posterior, tuning: MatchTuning) -> str:
    """Why the setup cannot be the one that flew the climbs; "" where it can."""
    furthest = int(np.argmax(np.abs(np.log(found.airspeed_ratio))))
    ratio, only = float(found.airspeed_ratio[furthest]), "the climbs agree with this setup only"
    if not 1.0 / tuning.most_airspeed_ratio <= ratio <= tuning.most_airspeed_ratio:
        return f"{only} at {found.airspeed_m_s[furthest]:.0f} m/s, {ratio:.2g} times the airspeed to be expected"
    names = (*own_names(found.prior.curves.propeller.name), *SHARED)
    usual = found.usual.of(*names)
    away = found.belief.of(*names).mean - usual.mean
    room = np.minimum(tuning.most_departure * np.sqrt(np.diag(usual.covariance)), WIDEST)
    worst = int(np.argmax(np.abs(away) / room))
    if abs(away[worst]) > room[worst]:
        return f"{only} with {np.exp(away[worst]):.2g} times the {names[worst].replace('_', ' ')} to be expected"
    return ""


def _check_new(analyses: Sequence[Analysed], setup: Setup) -> None:
    """A log that counts twice would make the result look twice as sure."""
    seen = {sha256 for flown in setup.calibration.flown for sha256 in flown.sha256} if setup.calibration else set()
    for one in analyses:
        facts = one.summary.log
        if facts.sha256 in seen:
            raise OptionError(
                "is already in this calibration", source=facts.name, remedy="give each log once, to the setup as stated"
            )
        if facts.sha256:
            seen.add(facts.sha256)


def _listed(summaries: Iterable[FlightSummary]) -> str:
    return ", ".join(summary.log.name for summary in summaries)
