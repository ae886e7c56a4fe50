"""The measures of one log, put together."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.channels import BY_NAME
from analyzer.measures.draw import draws_of
from analyzer.measures.edge_heights import heights_of
from analyzer.measures.edges import edges_of, with_altitudes
from analyzer.measures.glides import measure_glide_parts, measure_glides
from analyzer.measures.limits import check_limits
from analyzer.measures.missing import missing_notices
from analyzer.measures.motor_runs import measure_motor_runs
from analyzer.measures.notices import (
    altimeter_notice,
    cells_notice,
    circles_notice,
    full_scale_notice,
    gap_notices,
    idle_notice,
    silence_notice,
    typical_sink_notice,
    zero_notice,
)
from analyzer.measures.pack import measure_pack
from analyzer.measures.satellites import for_satellites, from_satellites, satellite_notice
from analyzer.measures.thermal_climbs import measure_thermal_climbs
from analyzer.measures.totals import idle_share, silent_s, total_up
from analyzer.measures.traces import traces_of
from analyzer.measures.tuning import TUNING, MeasureTuning
from analyzer.records import FlightSummary, LogFacts, PowerSystemMeasures

if TYPE_CHECKING:
    from collections.abc import Iterable

    from analyzer.arrays import Array
    from analyzer.measures.draw import CounterDraw, Draw
    from analyzer.measures.traces import Traces
    from analyzer.records import Log, Notice, Segment, Segmentation
    from analyzer.setup_file import Setup

RATE_ROWS: Final = 40
"""So many rows hold each sensor's readings, whichever bursts or steps of the clock they come in."""


def measure(
    log: Log, segmentation: Segmentation, setup: Setup | None = None, tuning: MeasureTuning = TUNING
) -> FlightSummary:
    """Measure what the segments of a conditioned log cost and gave.

    Parameters
    ----------
    log : Log
        A conditioned log (`analyzer.conditioning.condition`).
    segmentation : Segmentation
        Its flights and segments.
    setup : Setup, optional
        For the climb efficiency (mass) and the limits.
    tuning : MeasureTuning
        Tuning values.

    Returns
    -------
    FlightSummary
        Without the match of a prediction. A value that the log cannot give is None, and a notice says why.
    """
    if from_satellites(log):
        tuning = for_satellites(tuning)
    traces = traces_of(log)
    runs = segmentation.of_kind("motor_run")
    draws = draws_of(traces, runs, tuning)
    heights = heights_of(traces, segmentation, tuning)
    edges = edges_of(heights, segmentation.segments, tuning)
    segmentation = replace(segmentation, segments=with_altitudes(heights, segmentation.segments, edges))
    mass_kg = setup.value("airframe.mass_kg") if setup is not None else None
    motor_runs = measure_motor_runs(heights, segmentation, draws, mass_kg, tuning)
    climbs = measure_thermal_climbs(heights, segmentation, edges, tuning)
    glides = measure_glides(heights, segmentation, edges, tuning)
    current = draws.current
    found = _power_system(traces, runs, current, setup, tuning)
    notices = (
        *missing_notices(traces, draws, {one.kind for one in segmentation.segments}, mass_kg is not None),
        *satellite_notice(log),
        *altimeter_notice(heights.altimeter, tuning),
        *idle_notice(idle_share(current, tuning)),
        *zero_notice(current, tuning),
        *full_scale_notice(current),
        *gap_notices(motor_runs, tuning.gap_share_told),
        *circles_notice(climbs),
        *typical_sink_notice(glides),
        *silence_notice(silent_s(traces, current, tuning), tuning),
        *cells_notice(found.pack_rest_voltage_v, setup),
    )
    return FlightSummary(
        log=_facts(log, (*segmentation.notices, *notices)),
        flights=segmentation.flights,
        segments=segmentation.segments,
        motor_runs=motor_runs,
        glides=glides,
        thermal_climbs=climbs,
        totals=total_up(heights, segmentation, motor_runs, climbs, draws, tuning),
        power_system=found,
        glide_parts=measure_glide_parts(heights, segmentation, edges, tuning),
    )


def _power_system(
    traces: Traces,
    runs: tuple[Segment, ...],
    current: Draw | CounterDraw | None,
    setup: Setup | None,
    tuning: MeasureTuning,
) -> PowerSystemMeasures:
    found = measure_pack(traces, runs, tuning) or PowerSystemMeasures(None, None, None, None)
    if setup is None:
        return found
    limits = check_limits(traces, runs, current, found.pack_rest_voltage_v, setup, tuning)
    return replace(found, limits=limits)


def _facts(log: Log, notices: Iterable[Notice]) -> LogFacts:
    time = log.frame["time_s"].to_numpy()
    return LogFacts(
        name=log.name,
        sha256=log.sha256,
        samples=len(log.frame),
        duration_s=float(time[-1] - time[0]) if time.size else 0.0,
        sample_rate_hz=_rate_hz(time),
        channels=tuple(column for column in log.frame.columns if is_logged(column, log)),
        notices=(*log.notices, *notices),
        started_at=log.started_at.isoformat() if log.started_at is not None else None,
    )


def _rate_hz(time_s: Array) -> float | None:
    """Rows per second, the median over stretches of `RATE_ROWS` rows, which gaps do not touch.

    Single steps would tell of the clock's resolution (8 Hz stamped in tenths: 0.1, 0.1, 0.2 s), or of the bursts in
    which the sensors of a sparse table report.
    """
    rows = min(RATE_ROWS, time_s.size - 1)
    return rows / float(np.median(np.diff(time_s[::rows]))) if rows > 0 else None


def is_logged(column: str, log: Log) -> bool:
    """Whether a column is a channel that the log itself has, not one that conditioning derived."""
    name = column.rpartition("_")[0] if column.rpartition("_")[2].isdigit() else column
    return name in BY_NAME and (not log.headers or column in log.headers)
