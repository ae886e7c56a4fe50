"""The measures of one log, put together."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.measures.glides import measure_glides
from analyzer.measures.heights import heights_of
from analyzer.measures.motor_runs import measure_motor_runs
from analyzer.measures.thermal_climbs import measure_thermal_climbs
from analyzer.measures.totals import total_up
from analyzer.measures.traces import traces_of
from analyzer.measures.tuning import TUNING, MeasureTuning
from analyzer.records import FlightSummary, LogFacts, PowerSystemFindings

if TYPE_CHECKING:
    from analyzer.records import Log, Segmentation
    from analyzer.setup_file import Setup


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
        For climb efficiency (mass) and limits.
    tuning : MeasureTuning
        Tuning values.

    Returns
    -------
    FlightSummary
        Without the match of a prediction.
    """
    traces = traces_of(log)
    heights = heights_of(traces, segmentation, tuning)
    mass_kg = setup.value("airframe.mass_kg") if setup is not None else None
    runs = measure_motor_runs(heights, segmentation, mass_kg, tuning)
    climbs = measure_thermal_climbs(heights, segmentation)
    return FlightSummary(
        log=_facts(log, segmentation),
        flights=segmentation.flights,
        segments=segmentation.segments,
        motor_runs=runs,
        glides=measure_glides(heights, segmentation, tuning),
        thermal_climbs=climbs,
        totals=total_up(traces, segmentation, runs, climbs),
        power_system=PowerSystemFindings(None, None, None, None),
    )


def _facts(log: Log, segmentation: Segmentation) -> LogFacts:
    time = log.frame["time_s"].to_numpy()
    steps = np.diff(time)
    typical = float(np.median(steps)) if steps.size else 0.0
    return LogFacts(
        name=log.name,
        sha256=log.sha256,
        samples=len(log.frame),
        duration_s=float(time[-1] - time[0]) if time.size else 0.0,
        sample_rate_hz=1.0 / typical if typical > 0 else None,
        channels=tuple(log.frame.columns),
        notices=(*log.notices, *segmentation.notices),
        started_at=log.started_at.isoformat() if log.started_at is not None else None,
    )
