"""climbledger's library: from the telemetry log of an electric sailplane to decisions.

`analyze_log` is the whole flow from a log to its summary; each stage can be called by itself::

    read_log -> condition -> segment -> above_launch_point -> measure -> match_summary -> FlightSummary

and what is made from there takes plain records, and gives them::

    setup = read_setup("14x8.toml")
    analysis = analyze_log("morning.csv", setup)
    air = soar(analysis.log, analysis.segmentation, analysis.summary, setup)
    fitted = calibrate([analysis], setup).setup
    prediction = predict(fitted, propeller_range("12x6:15x9"))
    ranking = rank(prediction, parse_aim("climb_per_ah=2,level_speed=1"), fitted)
    with open_logbook("flights.sqlite") as logbook:
        comparison = compare_flights(logbook.flights())

`to_plain` makes JSON values of any record. The names listed in ``__all__`` are the public interface; everything else
may change.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from analyzer.analysis import Analysis, analyze_log
    from analyzer.comparison.compare import compare_flights
    from analyzer.comparison.flights import LoggedFlight
    from analyzer.comparison.records import Comparison
    from analyzer.conditioning import condition
    from analyzer.errors import ClimbledgerError, NoAnswerError
    from analyzer.export.serializer import to_plain
    from analyzer.ingest import read_log
    from analyzer.logbook.store import Logbook, open_logbook
    from analyzer.match.calibrated_toml import calibrated_toml
    from analyzer.match.calibration import CalibrationResult, calibrate
    from analyzer.match.match import match_summary
    from analyzer.match.ranking import Ranking, parse_aim, rank
    from analyzer.measures import measure
    from analyzer.power_system.prediction import predict
    from analyzer.power_system.prediction_records import Prediction
    from analyzer.power_system.propeller import Propeller, parse_propeller, propeller_range
    from analyzer.records import FlightSummary, Log, Segmentation
    from analyzer.segmentation import above_launch_point, segment
    from analyzer.setup_file import Setup, read_setup
    from analyzer.soaring import session_of, soar
    from analyzer.soaring.records import SoaringReport
    from analyzer.soaring.session import Session

__all__ = [
    "Analysis",
    "CalibrationResult",
    "ClimbledgerError",
    "Comparison",
    "FlightSummary",
    "Log",
    "Logbook",
    "LoggedFlight",
    "NoAnswerError",
    "Prediction",
    "Propeller",
    "Ranking",
    "Segmentation",
    "Session",
    "Setup",
    "SoaringReport",
    "above_launch_point",
    "analyze_log",
    "calibrate",
    "calibrated_toml",
    "compare_flights",
    "condition",
    "match_summary",
    "measure",
    "open_logbook",
    "parse_aim",
    "parse_propeller",
    "predict",
    "propeller_range",
    "rank",
    "read_log",
    "read_setup",
    "segment",
    "session_of",
    "soar",
    "to_plain",
]

_HOME = {
    "Analysis": "analyzer.analysis",
    "CalibrationResult": "analyzer.match.calibration",
    "ClimbledgerError": "analyzer.errors",
    "Comparison": "analyzer.comparison.records",
    "FlightSummary": "analyzer.records",
    "Log": "analyzer.records",
    "Logbook": "analyzer.logbook.store",
    "LoggedFlight": "analyzer.comparison.flights",
    "NoAnswerError": "analyzer.errors",
    "Prediction": "analyzer.power_system.prediction_records",
    "Propeller": "analyzer.power_system.propeller",
    "Ranking": "analyzer.match.ranking",
    "Segmentation": "analyzer.records",
    "Session": "analyzer.soaring.session",
    "Setup": "analyzer.setup_file",
    "SoaringReport": "analyzer.soaring.records",
    "above_launch_point": "analyzer.segmentation",
    "analyze_log": "analyzer.analysis",
    "calibrate": "analyzer.match.calibration",
    "calibrated_toml": "analyzer.match.calibrated_toml",
    "compare_flights": "analyzer.comparison.compare",
    "condition": "analyzer.conditioning",
    "match_summary": "analyzer.match.match",
    "measure": "analyzer.measures",
    "open_logbook": "analyzer.logbook.store",
    "parse_aim": "analyzer.match.ranking",
    "parse_propeller": "analyzer.power_system.propeller",
    "predict": "analyzer.power_system.prediction",
    "propeller_range": "analyzer.power_system.propeller",
    "rank": "analyzer.match.ranking",
    "read_log": "analyzer.ingest",
    "read_setup": "analyzer.setup_file",
    "segment": "analyzer.segmentation",
    "session_of": "analyzer.soaring",
    "soar": "analyzer.soaring",
    "to_plain": "analyzer.export.serializer",
}


def __getattr__(name: str) -> Any:  # noqa: ANN401 - any public name
    """Load a public name when it is first used, so that starting up costs what is used and no more (PEP 562)."""
    if name not in _HOME:
        raise AttributeError(f"module 'analyzer' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return sorted(__all__)
