"""Sums over the whole log."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.measures.integrals import SECONDS_PER_HOUR, trapezoid_between
from analyzer.records import MotorRun, ThermalClimb, Totals

if TYPE_CHECKING:
    from analyzer.measures.traces import Array, Traces
    from analyzer.records import Segmentation


def total_up(
    traces: Traces, segmentation: Segmentation, runs: tuple[MotorRun, ...], climbs: tuple[ThermalClimb, ...]
) -> Totals:
    """Sum up a log."""
    motor_gain = sum(run.height_gain_m or 0.0 for run in runs if not run.on_ground)
    thermal_gain = sum(climb.height_gain_m or 0.0 for climb in climbs)
    height = traces.channels["height_m"]
    raised = motor_gain + thermal_gain
    return Totals(
        flight_time_s=sum(flight.end_s - flight.start_s for flight in segmentation.flights),
        motor_time_s=sum(run.end_s - run.start_s for run in runs),
        energy_wh=_whole(traces, traces.get("power_w")),
        charge_ah=_whole(traces, traces.get("current_a")),
        max_altitude_m=float(np.nanmax(height)) if np.isfinite(height).any() else None,
        motor_gain_m=motor_gain,
        thermal_gain_m=thermal_gain,
        lift_share=thermal_gain / raised if raised > 0 else None,
    )


def _whole(traces: Traces, values: Array | None) -> float | None:
    if values is None:
        return None
    whole = trapezoid_between(traces.time_s, values, float(traces.time_s[0]), float(traces.time_s[-1]))
    return whole.value / SECONDS_PER_HOUR
