"""climbledger's library: from the telemetry log of an electric sailplane to decisions.

The whole flow is `analyze_log`; each stage can be called by itself::

    read_log -> condition -> segment -> measure -> FlightSummary

The names listed in ``__all__`` are the public interface; everything else may change.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from analyzer.analysis import Analysis, analyze_log
    from analyzer.conditioning import condition
    from analyzer.errors import ClimbledgerError, NoAnswerError
    from analyzer.ingest import read_log
    from analyzer.measures import measure
    from analyzer.records import FlightSummary, Log, Segmentation
    from analyzer.segmentation import segment
    from analyzer.setup_file import Setup, read_setup

__all__ = [
    "Analysis",
    "ClimbledgerError",
    "FlightSummary",
    "Log",
    "NoAnswerError",
    "Segmentation",
    "Setup",
    "analyze_log",
    "condition",
    "measure",
    "read_log",
    "read_setup",
    "segment",
]

_HOME = {
    "Analysis": "analyzer.analysis",
    "ClimbledgerError": "analyzer.errors",
    "FlightSummary": "analyzer.records",
    "Log": "analyzer.records",
    "NoAnswerError": "analyzer.errors",
    "Segmentation": "analyzer.records",
    "Setup": "analyzer.setup_file",
    "analyze_log": "analyzer.analysis",
    "condition": "analyzer.conditioning",
    "measure": "analyzer.measures",
    "read_log": "analyzer.ingest",
    "read_setup": "analyzer.setup_file",
    "segment": "analyzer.segmentation",
}


def __getattr__(name: str) -> Any:  # noqa: ANN401 - any public name
    """Load a public name when it is first used, so that starting up costs what is used and no more (PEP 562)."""
    if name not in _HOME:
        raise AttributeError(f"module 'analyzer' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return sorted(__all__)
