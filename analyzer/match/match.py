"""A flight held against the prediction of its setup."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from analyzer.errors import NoAnswerError, SetupFileError
from analyzer.match.calibration import explain
from analyzer.match.items import match_items
from analyzer.match.tuning import TUNING, MatchTuning
from analyzer.power_system.calibrated import candidates_of
from analyzer.power_system.coefficients import setup_propeller
from analyzer.power_system.system import CLIMB_KEYS, NEEDED_KEYS
from analyzer.records import Notice

if TYPE_CHECKING:
    from analyzer.records import FlightSummary, Log
    from analyzer.setup_file import Setup

MATCH_KEYS = (*NEEDED_KEYS, *CLIMB_KEYS, "propeller.diameter_in", "propeller.pitch_in")
"""What a setup must state for its flights to be held against a prediction."""


def match_summary(summary: FlightSummary, setup: Setup, log: Log, tuning: MatchTuning = TUNING) -> FlightSummary:
    """Hold a flight against the prediction of its setup.

    Parameters
    ----------
    summary : FlightSummary
        What was measured.
    setup : Setup
        The combination flown.
    log : Log
        The conditioned log.
    tuning : MatchTuning
        Tuning values.

    Returns
    -------
    FlightSummary
        With ``match`` and ``findings``. A log without a steady climb, or a setup that lacks one of `MATCH_KEYS` or
        whose tables cannot be used, leaves them empty, and a notice says why.

    Notes
    -----
    Each climb's steady part, the time of spooling up and of gaining speed cut off, is predicted for its own state: the
    rest voltage read before it, the air's density at its height, its throttle, and its airspeed as logged. Where none
    is logged it is estimated: from what is usual (`MatchTuning.habit`) and from the climb itself, whose current, rpm
    and climb rate leave little room for an airspeed far from the true one. What is open about it is in the interval.
    """
    try:
        setup.require(*MATCH_KEYS, purpose="a prediction of the flight")
        explained = explain([(summary, log)], setup, tuning)
    except NoAnswerError as error:
        return summary.with_notices([_not_matched(f"{error.problem}; {error.remedy}")])
    except SetupFileError as error:
        return summary.with_notices([_not_matched(str(error))])
    candidate = candidates_of(setup, explained.system, (setup_propeller(setup),))
    items = match_items(explained.system, candidate, explained.estimate, tuning)
    return replace(summary, match=items, findings=explained.findings).with_notices(explained.notices)


def _not_matched(why: str) -> Notice:
    return Notice("not-matched", f"Not held against the prediction: {why}.")
