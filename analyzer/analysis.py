"""The whole flow in one short function: file in, everything that was found out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from analyzer.conditioning import condition
from analyzer.ingest import read_log, read_log_bytes
from analyzer.measures import measure
from analyzer.segmentation import above_launch_point, segment

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from analyzer.records import FlightSummary, Log, Segmentation
    from analyzer.setup_file import Setup


@dataclass(frozen=True)
class Analysis:
    """One log, analysed: the conditioned log for plots, its segmentation, its summary."""

    log: Log
    segmentation: Segmentation
    summary: FlightSummary


def analyze_log(path: str | Path, setup: Setup | None = None, columns: Mapping[str, str] | None = None) -> Analysis:
    """Read, condition, segment and measure one log, and hold it against the prediction of its setup.

    Parameters
    ----------
    path : str or Path
        The log file; it is only read.
    setup : Setup, optional
        The airframe and power system flown: limits, predictions and efficiencies need it.
    columns : mapping of str to str, optional
        Explicit column map, header to "channel [unit]"; it wins over the setup's own, of which a log need not have
        every header.

    Raises
    ------
    LogFileError, ColumnMapError
        When the file cannot be read as telemetry.

    Examples
    --------
    >>> analysis = analyze_log("sample_logs/first_flight.csv")  # doctest: +SKIP
    >>> analysis.summary.totals.motor_gain_m  # doctest: +SKIP
    """
    return analyze_conditioned(condition(read_log(path, columns, _usual_columns(setup))), setup)


def analyze_bytes(
    data: bytes, name: str, setup: Setup | None = None, columns: Mapping[str, str] | None = None
) -> Analysis:
    """Analyse a log held in memory, an upload for example; see `analyze_log`.

    Parameters
    ----------
    data : bytes
        The file's content.
    name : str
        What messages and the summary call it.
    setup, columns
        As for `analyze_log`.

    Raises
    ------
    LogFileError, ColumnMapError
        When the content cannot be read as telemetry.
    """
    return analyze_conditioned(condition(read_log_bytes(data, name, columns, _usual_columns(setup))), setup)


def analyze_conditioned(log: Log, setup: Setup | None = None, segmentation: Segmentation | None = None) -> Analysis:
    """Segment (unless a hand-corrected segmentation is given), measure and match a conditioned log."""
    log, cut = above_launch_point(log, segment(log, setup)) if segmentation is None else (log, segmentation)
    summary = measure(log, cut, setup)
    return Analysis(log=log, segmentation=cut, summary=_matched(summary, setup, log))


def _matched(summary: FlightSummary, setup: Setup | None, log: Log) -> FlightSummary:
    """Hold the flight against its prediction, where there is a setup."""
    if setup is None:
        return summary
    from analyzer.match import match_summary

    return match_summary(summary, setup, log)


def _usual_columns(setup: Setup | None) -> Mapping[str, str]:
    """The setup's column map, which is for all logs flown with it."""
    return setup.telemetry.columns if setup is not None else {}
