"""Height at the edges of segments, with the altimeter's lag and the propeller's wash taken out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from analyzer.measures.altimeter import Altimeter, estimate_altimeter, height_at_start, height_at_stop
from analyzer.measures.kink import KinkFit, KinkModel, fit_kink
from analyzer.measures.readings import Readings, readings_of

if TYPE_CHECKING:
    from analyzer.measures.traces import Array, Traces
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segment, Segmentation


@dataclass(frozen=True, slots=True)
class Height:
    """A height above the launch point and its standard error, in metres."""

    value_m: float
    se_m: float

    def minus(self, other: Height) -> Height:
        """Difference of two heights whose errors are independent."""
        return Height(self.value_m - other.value_m, float(np.hypot(self.se_m, other.se_m)))


@dataclass(frozen=True)
class Heights:
    """Heights at any instant of a log; those at motor edges have been worked out one by one."""

    traces: Traces
    altimeter: Altimeter
    edges: dict[float, Height]

    def at(self, time_s: float) -> Height:
        """Height at an instant.

        Away from motor edges the smoothed height is moved up its slope by the altimeter's lag: h = y + lag dy/dt, the
        inverse of a first-order response.
        """
        if time_s in self.edges:
            return self.edges[time_s]
        climb = _interpolated(self.traces, "climb_m_s", time_s)
        height = _interpolated(self.traces, "height_m", time_s) + self.altimeter.lag_s * climb
        error = np.hypot(_interpolated(self.traces, "height_se_m", time_s), self.altimeter.lag_se_s * climb)
        return Height(height, float(error))

    def gain(self, start_s: float, end_s: float, drift_m_per_root_s: float) -> Height:
        """Height gained between two instants; the altimeter's drift between them is part of the error."""
        rise = self.at(end_s).minus(self.at(start_s))
        drift = drift_m_per_root_s * np.sqrt(max(end_s - start_s, 0.0))
        return Height(rise.value_m, float(np.hypot(rise.se_m, drift)))

    def zoom_top_s(self, start_s: float, end_s: float) -> float:
        """When the model first stops rising after `start_s`; `end_s` where it rises until then."""
        inside = self.traces.window(start_s, end_s)
        time, climb = self.traces.time_s[inside], self.traces.channels["climb_m_s"][inside]
        sinking = np.flatnonzero(climb <= 0.0)
        return float(time[sinking[0]]) if sinking.size else end_s


def _interpolated(traces: Traces, name: str, time_s: float) -> float:
    values = traces.channels[name]
    inside = traces.window(time_s - 1.0, time_s + 1.0)
    if not np.isfinite(values[inside]).any():
        inside = slice(0, values.size)
    known = np.isfinite(values[inside])
    return float(np.interp(time_s, traces.time_s[inside][known], values[inside][known]))


def heights_of(traces: Traces, segmentation: Segmentation, tuning: MeasureTuning) -> Heights:
    """Estimate the altimeter's lag and wash from all motor stops, then the heights at all motor edges."""
    readings = readings_of(traces, segmentation)
    strength = slipstream_strength(traces)
    fits = {
        segment.end_s: fit
        for index, segment in enumerate(segmentation.segments)
        if segment.kind == "motor_run"
        and (fit := _stop(traces, readings, segmentation.segments, index, strength, tuning)) is not None
    }
    altimeter = estimate_altimeter(tuple(fits.values()), tuning.kink, tuning.usual_lag_s, tuning.usual_wash_m)
    edges = {end_s: Height(*height_at_stop(fit, altimeter)) for end_s, fit in fits.items()}
    for run in segmentation.of_kind("motor_run"):
        settled = _last_stop(segmentation, run.start_s) + 3.0 * altimeter.lag_s + 0.5
        before = _start(readings, run.start_s, settled, tuning.kink)
        if before is not None:
            edges[run.start_s] = Height(*height_at_start(before, altimeter))
    return Heights(traces, altimeter, edges)


def slipstream_strength(traces: Traces) -> Array | None:
    """Strength of the slipstream over time, relative to the strongest.

    Its dynamic pressure follows the thrust: rpm squared, or power to the power 2/3 (actuator disc at rest); None where
    neither is logged.
    """
    rpm, power = traces.get("rpm"), traces.get("power_w")
    if power is None:
        power = traces.get("current_a")
    source, exponent = (rpm, 2.0) if rpm is not None else (power, 2.0 / 3.0)
    if source is None:
        return None
    positive = np.maximum(np.nan_to_num(source), 0.0)
    strongest = float(np.quantile(positive[positive > 0], 0.98)) if (positive > 0).any() else 0.0
    return np.asarray(np.minimum(positive / strongest, 1.2) ** exponent) if strongest > 0 else None


def _stop(
    traces: Traces,
    readings: Readings,
    segments: tuple[Segment, ...],
    index: int,
    strength: Array | None,
    tuning: MeasureTuning,
) -> KinkFit | None:
    """Fit of the stop of the run with this index; None where too few readings stand around it."""
    run, model = segments[index], tuning.kink
    later = [segment.start_s for segment in segments[index + 1 :] if segment.kind == "motor_run"]
    until = min(later[0] if later else np.inf, run.end_s + model.after_s)
    since = max(run.start_s + min(tuning.soft_start_s, 0.5 * run.duration_s), run.end_s - model.before_s)
    inside = readings.window(since, until)
    times = readings.time_s[inside]
    if np.count_nonzero(times < run.end_s) < 2 or np.count_nonzero(times > run.end_s) < 2:
        return None
    spacing = _spacing(traces.time_s, run.end_s)
    if spacing > tuning.widest_stop_s:
        return None
    powered = traces.window(max(since, run.end_s - 2.0), run.end_s - 0.5 * spacing)
    before = strength[powered] if strength is not None else np.ones(1)
    share = float(np.median(before)) if before.size else 1.0
    return fit_kink(times - run.end_s, readings.height_m[inside], readings.variance_m2[inside], spacing, share, model)


def _spacing(stamps: Array, time_s: float) -> float:
    """Distance between the samples on either side of an instant (of the wider neighbour, where one falls on it)."""
    right = int(np.clip(np.searchsorted(stamps, time_s), 1, stamps.size - 1))
    spacing = float(stamps[right] - stamps[right - 1])
    if stamps[right] == time_s and right + 1 < stamps.size:
        spacing = max(spacing, float(stamps[right + 1] - stamps[right]))
    return spacing


def _last_stop(segmentation: Segmentation, time_s: float) -> float:
    stops = [run.end_s for run in segmentation.of_kind("motor_run") if run.end_s < time_s]
    return stops[-1] if stops else -np.inf


def _start(readings: Readings, start_s: float, since_s: float, model: KinkModel) -> KinkFit | None:
    """Fit of the readings before a motor start; None where there are too few."""
    inside = readings.window(max(start_s - model.before_s, since_s), start_s)
    if inside.stop - inside.start < 3:
        return None
    quiet = replace(model, offsets=(0.0,), static_m=0.001)
    times = readings.time_s[inside] - start_s
    return fit_kink(times, readings.height_m[inside], readings.variance_m2[inside], 0.0, 0.0, quiet)
