"""Height at the starts and stops of the motor, from the altimeter's own readings around each."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.circling.robust_fit import median_of
from analyzer.measures.altimeter import estimate_altimeter, height_at_start, height_at_stop
from analyzer.measures.drift import drift_m_per_root_s
from analyzer.measures.edges import motor_edge_error_s, spacing_s
from analyzer.measures.heights import Height, Heights, smoothed_of
from analyzer.measures.kink import LAGS_S, NO_LEAP_M_S, KinkFit, KinkModel, fit_kink
from analyzer.measures.readings import Readings, readings_of
from analyzer.measures.slipstream import Slipstream, slipstream_of

if TYPE_CHECKING:
    from analyzer.measures.traces import Traces
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segmentation

UNEXPLAINED: Final = 4.0
"""Readings off by twice their errors, root mean square, from the motion that fits them best show no motion."""

NO_STATIC_M: Final = 1e-3
"""Before a motor start the model glides as it does after a stop: no difference of static error."""


def heights_of(traces: Traces, segmentation: Segmentation, tuning: MeasureTuning) -> Heights:
    """Estimate the altimeter's lag and wash from some motor stops, then the heights at all motor edges.

    Where the stops are themselves told from the heights, they tell nothing of the altimeter.

    Parameters
    ----------
    traces : Traces
        The log's channels.
    segmentation : Segmentation
        Its segments.
    tuning : MeasureTuning
        Tuning values.
    """
    runs, model = _runs(segmentation), tuning.kink
    slipstream = slipstream_of(traces, segmentation.of_kind("motor_run"))
    around = _Around(traces, readings_of(traces, segmentation, tuning.reading_step_s), slipstream, tuning)
    seen = runs if segmentation.motor_seen else ()
    told = {run: around.stop(run, model) for run in seen[:: max(1, -(-len(seen) // tuning.most_stops))]}
    altimeter = estimate_altimeter([fit for fit in told.values() if fit is not None], model, tuning.altimeter)
    likely, narrow = altimeter.narrowed(model, tuning.unlikely)
    quiet = _quiet(model, altimeter.lag_s)
    edges = {}
    for run in seen:
        stop, known = (told[run], altimeter) if run in told else (around.stop(run, narrow), likely)
        if stop is not None:
            edges[run.end_s] = Height(*height_at_stop(stop, known, around.climb_before(run.end_s)))
        start, climb = around.start(run, altimeter.lag_s, quiet), around.climb_before(run.start_s)
        if start is not None:
            edges[run.start_s] = Height(*height_at_start(start, quiet.delays_s[0], altimeter, climb))
    drift = drift_m_per_root_s(traces, segmentation, tuning)
    edge_se_s = 0.0 if segmentation.motor_seen else tuning.inferred_edge_s
    heights = Heights(traces, smoothed_of(traces), altimeter, edges, drift, edge_se_s)
    rough = {edge: _rough(heights, edge) for run in runs for edge in (run.start_s, run.end_s) if edge not in edges}
    return replace(heights, edges=edges | rough)


@dataclass(frozen=True, slots=True)
class _Run:
    """A motor run's start and stop, the stop before and the start after it."""

    start_s: float
    end_s: float
    previous_s: float
    next_s: float


def _runs(segmentation: Segmentation) -> tuple[_Run, ...]:
    runs = segmentation.of_kind("motor_run")
    stops = [-np.inf, *(run.end_s for run in runs)]
    starts = [*(run.start_s for run in runs), np.inf][1:]
    return tuple(
        _Run(run.start_s, run.end_s, before, after) for run, before, after in zip(runs, stops[:-1], starts, strict=True)
    )


@dataclass(frozen=True)
class _Around:
    """What is known around the motor's starts and stops."""

    traces: Traces
    readings: Readings
    slipstream: Slipstream | None
    tuning: MeasureTuning

    def stop(self, run: _Run, model: KinkModel) -> KinkFit | None:
        """Fit of a run's stop; None where too few readings stand around it, or no motion explains them.

        An altimeter that froze for a moment in the climb would speak for one lag against all others.
        """
        spacing = spacing_s(self.traces.drive_time_s, run.end_s)
        if spacing > self.tuning.widest_stop_s:
            return None
        soft = min(self.tuning.soft_start_s, 0.5 * (run.end_s - run.start_s))
        since = max(run.start_s + soft, run.end_s - model.before_s)
        until = min(run.next_s, run.end_s + model.after_s)
        time, height, variance = self.readings.thinned(since, until)
        before = np.count_nonzero(time < run.end_s)
        if before < 2 or time.size - before < 2:
            return None
        powered = self.traces.window(max(since, run.end_s - 2.0), run.end_s - 0.5 * spacing)
        share = self.slipstream.share(powered) if self.slipstream is not None else 1.0
        fit = fit_kink(time - run.end_s, height, variance, spacing, share, model)
        return fit if fit.misfit < UNEXPLAINED else None

    def start(self, run: _Run, lag_s: float, model: KinkModel) -> KinkFit | None:
        """Fit of the readings before a run's start that the run before does not touch; None where there are too few."""
        since = max(run.start_s - model.before_s, run.previous_s + 3.0 * lag_s + 0.5)
        time, height, variance = self.readings.thinned(since, run.start_s)
        return fit_kink(time - run.start_s, height, variance, 0.0, 0.0, model) if time.size >= 3 else None

    def climb_before(self, edge_s: float) -> float:
        """Typical climb before a motor edge, in m/s."""
        inside = self.traces.window(edge_s - self.tuning.before_edge_s, edge_s)
        before = self.traces.channels["climb_m_s"][inside]
        known = before[np.isfinite(before)]
        return median_of(known) if known.size else 0.0


def _quiet(model: KinkModel, lag_s: float) -> KinkModel:
    """The model before a motor start: no slipstream, no stop to seek, and the lag next to the one that was found."""
    nearest = min(LAGS_S, key=lambda lag: abs(lag - lag_s))
    still = tuple(motion for motion in model.motions if motion[1] == NO_LEAP_M_S)
    sensor, fade = ((nearest, 0.0),), model.wash_fades[:1]
    return replace(model, sensors=sensor, motions=still, offsets=(0.0,), wash_fades=fade, static_m=NO_STATIC_M)


def _rough(heights: Heights, edge_s: float) -> Height:
    """Height at a motor edge in a gap, or one that no channel shows: smoothed, and as uncertain as the edge is in time.

    Under power the reading holds the wash, before and after it does not: half of it is the smoothed height's error.
    """
    height, altimeter = heights.at(edge_s), heights.altimeter
    _, _, climb, _ = heights.smoothed.at(edge_s)
    error_s = motor_edge_error_s(heights, edge_s)
    wash = 0.5 * math.hypot(altimeter.wash_m, altimeter.wash_se_m)
    return Height(height.value_m, math.hypot(height.own_se_m, climb * error_s, wash), height.by_lag_m)
