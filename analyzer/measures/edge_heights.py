"""Height at the starts and stops of the motor, from the altimeter's own readings around each."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.measures.altimeter import estimate_altimeter, height_at_stop
from analyzer.measures.climb_onset import climb_onset_s
from analyzer.measures.drift import drift_m_per_root_s
from analyzer.measures.edges import motor_edge_error_s, spacing_s
from analyzer.measures.heights import Height, Heights, smoothed_of
from analyzer.measures.kink import KinkFit, KinkModel, fit_kink
from analyzer.measures.readings import Readings, readings_of
from analyzer.measures.slipstream import Slipstream, slipstream_of

if TYPE_CHECKING:
    from analyzer.measures.traces import Traces
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segment, Segmentation

UNEXPLAINED: Final = 4.0
"""Readings off by twice their errors, root mean square, from the motion that fits them best show no motion."""


def heights_of(traces: Traces, segmentation: Segmentation, tuning: MeasureTuning) -> Heights:
    """Estimate the altimeter's lag and wash from some motor stops, then the heights at all motor edges.

    Where the stops are themselves told from the heights, they tell nothing of the altimeter. That the motor's channels
    come late is believed where the starts say so, too: a pilot who levels out before he stops the motor shows the same
    kink. Before a motor starts, nothing but its lag in a steady glide hides the height from an altimeter: there the
    smoothed height will do.

    Parameters
    ----------
    traces : Traces
        The log's channels.
    segmentation : Segmentation
        Its segments.
    tuning : MeasureTuning
        Tuning values.
    """
    runs, smoothed = segmentation.of_kind("motor_run"), smoothed_of(traces)
    slipstream = slipstream_of(traces, runs)
    around = _Around(traces, readings_of(traces, segmentation, tuning.reading_step_s), slipstream, tuning)
    following = [run.start_s for run in runs[1:]] + [np.inf]
    seen = list(zip(runs, following, strict=False)) if segmentation.motor_seen else []
    some = seen[:: max(1, math.ceil(len(seen) / tuning.most_stops))] if tuning.most_stops else []
    onset_s = climb_onset_s(smoothed, [run for run, _ in some])
    may_be_late = onset_s is not None and onset_s < tuning.soonest_climb_s
    model = tuning.kink if may_be_late else tuning.kink.without_late_drives()
    told = {run.end_s: around.stop(run, next_s, model) for run, next_s in some}
    altimeter = estimate_altimeter([fit for fit in told.values() if fit is not None], model, tuning.altimeter)
    few, narrow = altimeter.narrowed(model, tuning.sensors_beyond)
    at_stops: dict[float, Height] = {}
    for run, next_s in seen:
        at = run.end_s
        stop, known = (told[at], altimeter) if at in told else (around.stop(run, next_s, narrow), few)
        if stop is not None:
            at_stops[at] = Height(*height_at_stop(stop, known, smoothed.climb_before(at, tuning.before_edge_s)))
    drift = drift_m_per_root_s(traces, segmentation, tuning)
    edge_se_s = 0.0 if segmentation.motor_seen else tuning.inferred_edge_s
    heights = Heights(traces, smoothed, altimeter, at_stops, drift, edge_se_s)
    others = {edge for run in runs for edge in (run.start_s, run.end_s)} - at_stops.keys()
    others_m = {edge: _smoothed_height(heights, edge, tuning) for edge in others}
    return replace(heights, motor_edges=at_stops | others_m)


@dataclass(frozen=True)
class _Around:
    """What is known around the motor's stops."""

    traces: Traces
    readings: Readings
    slipstream: Slipstream | None
    tuning: MeasureTuning

    def stop(self, run: Segment, next_s: float, model: KinkModel) -> KinkFit | None:
        """Fit of a run's stop, the next run's start at the latest; None with too few readings, or unlike any motion.

        An altimeter that froze for a moment in the climb would speak for one lag against all others.
        """
        spacing = spacing_s(self.traces.drive_time_s, run.end_s)
        if spacing > self.tuning.widest_stop_s:
            return None
        soft = min(self.tuning.soft_start_s, 0.5 * run.duration_s)
        since = max(run.start_s + soft, run.end_s - model.before_s)
        until = min(next_s, run.end_s + model.after_s)
        time, height, variance = self.readings.thinned(since, until)
        before = np.count_nonzero(time < run.end_s)
        if before < 2 or time.size - before < 2:
            return None
        powered = self.traces.window(max(since, run.end_s - 2.0), run.end_s - 0.5 * spacing)
        share = self.slipstream.share(powered) if self.slipstream is not None else 1.0
        fit = fit_kink(time - run.end_s, height, variance, spacing, share, model)
        return fit if fit.misfit < UNEXPLAINED else None


def _smoothed_height(heights: Heights, edge_s: float, tuning: MeasureTuning) -> Height:
    """Height at a motor start, or at a stop in a gap or that no channel shows: smoothed, and as sure as the edge.

    An altimeter lags by what the model climbed before. Under power the reading holds the wash, else it does not: the
    smoothed height holds half of it at the most.
    """
    altimeter = heights.altimeter
    true_s = edge_s - altimeter.late_drive_s
    own_se_m = heights.at(true_s).own_se_m
    level_m, steepest = heights.smoothed.height_at(true_s), heights.smoothed.steepest_beside(true_s)
    before = heights.smoothed.climb_before(true_s, tuning.before_edge_s)
    error_s = motor_edge_error_s(heights, edge_s)
    wash = 0.5 * math.hypot(altimeter.wash_m, altimeter.wash_se_m)
    se_m = math.hypot(own_se_m, steepest * error_s, wash)
    return Height(level_m + altimeter.lag_s * before, se_m, altimeter.lag_se_s * before)
