"""Prediction against flight: match, what explains the difference, calibration, and which propeller to try next.

::

    measured    steady: the steady part of each climb <- rest_voltage; glide_drag, speed_check: glides, and the rpm
    predicted   climb_model: the power system in these climbs
    explained   estimate: most probable values <- prior, problem, choice, gauss_newton
    told        match, items: side by side; findings: what it says of the setup's values
    used        calibration: the setup as it flies <- fitted_setup, calibrated_toml; ranking: what to try next
"""

from __future__ import annotations

from analyzer.match.calibrated_toml import calibrated_toml
from analyzer.match.calibration import CalibrationResult, calibrate
from analyzer.match.match import match_summary
from analyzer.match.ranking import AIMS, Aim, Ranking, parse_aim, rank
from analyzer.match.tuning import TUNING, MatchTuning

__all__ = [
    "AIMS",
    "TUNING",
    "Aim",
    "CalibrationResult",
    "MatchTuning",
    "Ranking",
    "calibrate",
    "calibrated_toml",
    "match_summary",
    "parse_aim",
    "rank",
]
