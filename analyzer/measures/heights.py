"""Height at the edges of segments, with the altimeter's lag and the propeller's wash taken out."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.circling.robust_fit import median_of
from analyzer.measures.altimeter import Altimeter, estimate_altimeter, height_at_start, height_at_stop
from analyzer.measures.drift import drift_m_per_root_s
from analyzer.measures.kink import KinkFit, KinkModel, fit_kink
from analyzer.measures.readings import Readings, readings_of
from analyzer.measures.slipstream import Slipstream, slipstream_of

if TYPE_CHECKING:
    from analyzer.measures.traces import Array, Traces
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segmentation


UNSEEN_M_S: Final = 1.0
UNSEEN_AFTER_S: Final = 1.0
"""In a gap the height may stray off the straight line between its ends at about this speed, after this time."""

NO_STATIC_M: Final = 1e-3
"""Before a motor start the model glides as it does after a stop: no difference of static error."""


@dataclass(frozen=True, slots=True)
class Height:
    """A height above the launch point and its standard error, in metres."""

    value_m: float
    se_m: float

    def minus(self, other: Height) -> Height:
        """Difference of two heights whose errors are independent."""
        return Height(self.value_m - other.value_m, math.hypot(self.se_m, other.se_m))


@dataclass(frozen=True)
class Smoothed:
    """The smoothed motion where it is known."""

    time_s: Array
    height_m: Array
    height_se_m: Array
    climb_m_s: Array

    def at(self, time_s: float) -> tuple[float, float, float, float]:
        """Height, its error and climb at an instant, and the distance in time of the nearest sample."""
        right = min(int(self.time_s.searchsorted(time_s)), self.time_s.size - 1)
        left = max(right - 1, 0)
        before, after = float(self.time_s[left]), float(self.time_s[right])
        share = min(max((time_s - before) / (after - before), 0.0), 1.0) if left < right else 0.0
        height, error, climb = (
            float(column[left] + share * (column[right] - column[left]))
            for column in (self.height_m, self.height_se_m, self.climb_m_s)
        )
        return height, error, climb, min(abs(before - time_s), abs(after - time_s))


def smoothed_of(traces: Traces) -> Smoothed:
    """Take the smoothed motion out of a log's traces."""
    known = np.isfinite(traces.channels["height_m"])
    columns = (traces.time_s, *(traces.channels[name] for name in ("height_m", "height_se_m", "climb_m_s")))
    return Smoothed(*(column if known.all() else column[known] for column in columns))


@dataclass(frozen=True)
class Heights:
    """Heights at any instant of a log; those at motor edges have been worked out one by one."""

    traces: Traces
    smoothed: Smoothed
    altimeter: Altimeter
    edges: dict[float, Height]
    drift_m_per_root_s: float

    def at(self, time_s: float) -> Height:
        """Height at an instant.

        Away from motor edges the smoothed height is moved up its slope by the altimeter's lag: h = y + lag dy/dt, the
        inverse of a first-order response.
        """
        if time_s in self.edges:
            return self.edges[time_s]
        height, height_se, climb, away_s = self.smoothed.at(time_s)
        lifted = height + self.altimeter.lag_s * climb
        unseen = UNSEEN_M_S * max(away_s - UNSEEN_AFTER_S, 0.0)
        return Height(lifted, math.hypot(height_se, self.altimeter.lag_se_s * climb, unseen))

    def gain(self, start_s: float, end_s: float) -> Height:
        """Height gained between two instants; the altimeter's drift between them is part of the error."""
        rise = self.at(end_s).minus(self.at(start_s))
        drift = self.drift_m_per_root_s * math.sqrt(max(end_s - start_s, 0.0))
        return Height(rise.value_m, math.hypot(rise.se_m, drift))

    def zoom_top_s(self, start_s: float, end_s: float) -> float:
        """When the model first stops rising after `start_s`; `end_s` where it rises until then."""
        inside = self.traces.window(start_s, end_s)
        time, climb = self.traces.time_s[inside], self.traces.channels["climb_m_s"][inside]
        sinking = np.flatnonzero(climb <= 0.0)
        return float(time[sinking[0]]) if sinking.size else end_s


def heights_of(traces: Traces, segmentation: Segmentation, tuning: MeasureTuning) -> Heights:
    """Estimate the altimeter's lag and wash from all motor stops, then the heights at all motor edges."""
    readings = readings_of(traces, segmentation)
    stops = _runs(segmentation)
    slipstream = slipstream_of(traces, segmentation.of_kind("motor_run"))
    model = tuning.kink
    told = stops[:: max(1, -(-len(stops) // tuning.most_stops))]
    fits = {stop: fit for stop in told if (fit := _stop(traces, readings, stop, slipstream, model, tuning)) is not None}
    altimeter = estimate_altimeter(tuple(fits.values()), model, tuning.altimeter)
    before = {edge: _climb_before(traces, edge, tuning) for stop in stops for edge in (stop.start_s, stop.end_s)}
    edges = {stop.end_s: Height(*height_at_stop(fit, altimeter, before[stop.end_s])) for stop, fit in fits.items()}
    likely, narrow = altimeter.narrowed(model, tuning.unlikely)
    quiet = _quiet(model, altimeter.lag_s)
    for stop in stops:
        if stop not in told and (fit := _stop(traces, readings, stop, slipstream, narrow, tuning)) is not None:
            edges[stop.end_s] = Height(*height_at_stop(fit, likely, before[stop.end_s]))
        since = stop.previous_s + 3.0 * altimeter.lag_s + 0.5
        if (fit := _start(readings, stop.start_s, since, quiet, tuning)) is not None:
            edges[stop.start_s] = Height(*height_at_start(fit, quiet.lags_s[0], altimeter, before[stop.start_s]))
    smoothed = Heights(traces, smoothed_of(traces), altimeter, {}, drift_m_per_root_s(traces, segmentation, tuning))
    for stop in stops:
        for edge_s in (stop.start_s, stop.end_s):
            if edge_s not in edges:
                edges[edge_s] = _rough(smoothed, edge_s)
    return replace(smoothed, edges=edges)


def _climb_before(traces: Traces, edge_s: float, tuning: MeasureTuning) -> float:
    """Typical climb before a motor edge."""
    before = traces.channels["climb_m_s"][traces.window(edge_s - tuning.before_edge_s, edge_s)]
    known = before[np.isfinite(before)]
    return median_of(known) if known.size else 0.0


def _rough(smoothed: Heights, edge_s: float) -> Height:
    """Height at a motor edge with too few readings around it: smoothed over the edge, which may be anywhere in a gap.

    Under power the reading holds the wash, before and after it does not: half of it is the smoothed height's error.
    """
    height, altimeter = smoothed.at(edge_s), smoothed.altimeter
    spacing = _spacing(smoothed.traces.time_s, edge_s)
    row = int(np.searchsorted(smoothed.traces.time_s, edge_s))
    beside = slice(max(0, row - 1), row + 1)  # the whole of a long log would be copied for each edge
    climbs = np.nan_to_num(smoothed.traces.channels["climb_m_s"][beside])
    climb = float(np.interp(edge_s, smoothed.traces.time_s[beside], climbs))
    wash = 0.5 * float(np.hypot(altimeter.wash_m, altimeter.wash_se_m))
    return Height(height.value_m, math.hypot(height.se_m, climb * spacing / math.sqrt(12.0), wash))


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


def _stop(
    traces: Traces,
    readings: Readings,
    run: _Run,
    slipstream: Slipstream | None,
    model: KinkModel,
    tuning: MeasureTuning,
) -> KinkFit | None:
    """Fit of a run's stop; None where too few readings stand around it."""
    spacing = _spacing(traces.time_s, run.end_s)
    if spacing > tuning.widest_stop_s:
        return None
    soft = min(tuning.soft_start_s, 0.5 * (run.end_s - run.start_s))
    since = max(run.start_s + soft, run.end_s - model.before_s)
    until = min(run.next_s, run.end_s + model.after_s)
    time, height, variance = readings.thinned(since, until, tuning.reading_step_s)
    before = np.count_nonzero(time < run.end_s)
    if before < 2 or time.size - before < 2:
        return None
    powered = traces.window(max(since, run.end_s - 2.0), run.end_s - 0.5 * spacing)
    share = slipstream.share(powered) if slipstream is not None else 1.0
    return fit_kink(time - run.end_s, height, variance, spacing, share, model)


def _spacing(stamps: Array, time_s: float) -> float:
    """Distance between the samples on either side of an instant (of the wider neighbour, where one falls on it)."""
    right = min(max(int(stamps.searchsorted(time_s)), 1), stamps.size - 1)
    spacing = float(stamps[right] - stamps[right - 1])
    if stamps[right] == time_s and right + 1 < stamps.size:
        spacing = max(spacing, float(stamps[right + 1] - stamps[right]))
    return spacing


def _quiet(model: KinkModel, lag_s: float) -> KinkModel:
    """The model before a motor start: no slipstream, no stop to seek, and the lag next to the one that was found."""
    nearest = min(model.lags_s, key=lambda lag: abs(lag - lag_s))
    return replace(model, lags_s=(nearest,), offsets=(0.0,), static_m=NO_STATIC_M)


def _start(
    readings: Readings, start_s: float, since_s: float, model: KinkModel, tuning: MeasureTuning
) -> KinkFit | None:
    """Fit of the readings before a motor start; None where there are too few."""
    time, height, variance = readings.thinned(max(start_s - model.before_s, since_s), start_s, tuning.reading_step_s)
    return fit_kink(time - start_s, height, variance, 0.0, 0.0, model) if time.size >= 3 else None
