"""What each motor run cost and gave."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analyzer.constants import STANDARD_GRAVITY_M_S2
from analyzer.measures.idle import Idle, idle_level
from analyzer.measures.integrals import SECONDS_PER_HOUR, trapezoid_between
from analyzer.records import MotorRun

if TYPE_CHECKING:
    from analyzer.measures.heights import Heights
    from analyzer.measures.traces import Array, Traces
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segment, Segmentation


@dataclass(frozen=True, slots=True)
class Drawn:
    """What a run drew, above idle."""

    value: float | None
    se: float | None
    interpolated_share: float | None = None


def measure_motor_runs(
    heights: Heights, segmentation: Segmentation, mass_kg: float | None, tuning: MeasureTuning
) -> tuple[MotorRun, ...]:
    """Measure every motor run of a segmentation, in order."""
    traces, runs = heights.traces, segmentation.of_kind("motor_run")
    current, power = traces.get("current_a"), traces.get("power_w")
    idle_current = idle_level(traces, current, runs, tuning.idle_guard_s) if current is not None else None
    idle_power = idle_level(traces, power, runs, tuning.idle_guard_s) if power is not None else None
    measured = []
    for index, segment in enumerate(segmentation.segments):
        if segment.kind != "motor_run":
            continue
        following = segmentation.segments[index + 1] if index + 1 < len(segmentation.segments) else None
        charge = _drawn(traces, current, idle_current, segment, tuning.edge_margin_s)
        energy = _drawn(traces, power, idle_power, segment, tuning.edge_margin_s)
        measured.append(
            _run(
                heights, segment, following, charge, energy, mass_kg, index in segmentation.blips, segmentation, tuning
            )
        )
    return tuple(measured)


def _drawn(traces: Traces, values: Array | None, idle: Idle | None, run: Segment, margin_s: float) -> Drawn:
    if values is None:
        return Drawn(None, None)
    level = idle or Idle(0.0, 0.3)
    start, end = run.start_s - margin_s, run.end_s + margin_s
    total = trapezoid_between(traces.time_s, values - level.value, start, end)
    share = total.interpolated / total.value if total.value > 0 else None
    return Drawn(total.value / SECONDS_PER_HOUR, level.se * run.duration_s / SECONDS_PER_HOUR, share)


def _run(
    heights: Heights,
    run: Segment,
    following: Segment | None,
    charge: Drawn,
    energy: Drawn,
    mass_kg: float | None,
    blip: bool,
    segmentation: Segmentation,
    tuning: MeasureTuning,
) -> MotorRun:
    traces = heights.traces
    inside = traces.window(run.start_s, run.end_s)
    hours = run.duration_s / SECONDS_PER_HOUR
    gain = heights.gain(run.start_s, run.end_s, tuning.drift_m_per_root_s)
    zoom = None
    if following is not None and following.kind == "glide":
        top = heights.zoom_top_s(run.end_s, min(following.end_s, run.end_s + tuning.longest_zoom_s))
        zoom = heights.gain(run.end_s, top, tuning.drift_m_per_root_s)
    efficiency = None
    if mass_kg is not None and energy.value:
        efficiency = mass_kg * STANDARD_GRAVITY_M_S2 * gain.value_m / (energy.value * SECONDS_PER_HOUR)
    airborne = any(flight.start_s < run.end_s and run.start_s < flight.end_s for flight in segmentation.flights)
    return MotorRun(
        start_s=run.start_s,
        end_s=run.end_s,
        height_gain_m=gain.value_m,
        height_gain_m_se=gain.se_m,
        zoom_gain_m=zoom.value_m if zoom else None,
        zoom_gain_m_se=zoom.se_m if zoom else None,
        climb_rate_m_s=gain.value_m / run.duration_s,
        climb_rate_m_s_se=gain.se_m / run.duration_s,
        energy_wh=energy.value,
        energy_wh_se=energy.se,
        charge_ah=charge.value,
        charge_ah_se=charge.se,
        climb_per_ah_m=gain.value_m / charge.value if charge.value else None,
        climb_per_ah_m_se=gain.se_m / charge.value if charge.value else None,
        climb_per_wh_m=gain.value_m / energy.value if energy.value else None,
        climb_per_wh_m_se=gain.se_m / energy.value if energy.value else None,
        mean_power_w=energy.value / hours if energy.value is not None else None,
        max_current_a=_extreme(traces.get("current_a"), inside, np.nanmax),
        mean_current_a=charge.value / hours if charge.value is not None else None,
        min_voltage_v=_extreme(traces.get("voltage_v"), inside, np.nanmin),
        mean_rpm=_extreme(traces.get("rpm"), inside, np.nanmean),
        climb_efficiency=efficiency,
        climb_efficiency_se=None,
        mean_throttle=_extreme(traces.get("throttle"), inside, np.nanmean),
        mean_voltage_v=_extreme(traces.get("voltage_v"), inside, np.nanmean),
        interpolated_charge_share=charge.interpolated_share,
        blip=blip,
        on_ground=not airborne,
    )


def _extreme(values: Array | None, inside: slice, of: object) -> float | None:
    if values is None or not np.isfinite(values[inside]).any():
        return None
    return float(of(values[inside]))  # type: ignore[operator]
