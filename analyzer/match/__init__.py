"""Prediction against flight: match, what explains the difference, calibration, and which propeller to try next."""

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
