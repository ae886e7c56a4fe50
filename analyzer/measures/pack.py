"""The pack's resistance and rest voltage, from voltage against current around motor starts and stops."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analyzer.records import PowerSystemMeasures

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.measures.traces import Traces
    from analyzer.measures.tuning import MeasureTuning
    from analyzer.records import Segment


@dataclass(frozen=True)
class _Step:
    """Voltage and current around one motor start or stop."""

    voltage_v: Array
    current_a: Array


def measure_pack(traces: Traces, runs: tuple[Segment, ...], tuning: MeasureTuning) -> PowerSystemMeasures | None:
    """Resistance of the pack, its leads included, and its rest voltage before the first run.

    Around each motor start and stop, voltage is taken as U = U_step - R I with a level of its own for each: what the
    pack lost meanwhile, and its slow relaxation, do not touch R. Two steady loads of 10 s and 1 s (IEC 61960-3:2017,
    the DC internal resistance: Rdc = (U1 - U2) / (I2 - I1)) are the special case of one step. The error of R is
    computed from whole steps, whose samples are not independent (Liang & Zeger, *Biometrika* 73 (1986), 13-22: from
    memory). Samples within `pack_settle_s` of the step are left out: the two sensors seldom sample together.

    None where no current step of `least_step_a` is logged with voltage.
    """
    voltage, current = traces.get("voltage_v"), traces.get("current_a")
    if voltage is None or current is None:
        return None
    edges = [edge for run in runs for edge in (run.start_s, run.end_s)]
    around = [_around(traces.time_s, voltage, current, edge, tuning) for edge in edges]
    steps = [step for step in around if step is not None]
    if not steps:
        return None
    resistance, error = _resistance(steps)
    if resistance <= 0.0:
        return None
    first = steps[0]
    rest = first.voltage_v + resistance * first.current_a
    level_error = float(np.std(rest) / np.sqrt(min(rest.size, 6)))  # samples a second apart count as one or so
    rest_error = np.hypot(error * float(np.min(np.abs(first.current_a))), level_error)
    return PowerSystemMeasures(resistance, error, float(np.median(rest)), float(rest_error))


def _around(time_s: Array, voltage: Array, current: Array, edge_s: float, tuning: MeasureTuning) -> _Step | None:
    first, last = np.searchsorted(time_s, [edge_s - tuning.pack_window_s, edge_s + tuning.pack_window_s])
    inside = slice(int(first), int(last))
    away = np.abs(time_s[inside] - edge_s) >= tuning.pack_settle_s
    known = away & np.isfinite(voltage[inside]) & np.isfinite(current[inside])
    volts, amps = voltage[inside][known], current[inside][known]
    if volts.size < 4 or np.ptp(amps) < tuning.least_step_a:
        return None
    return _Step(volts, amps)


def _resistance(steps: list[_Step]) -> tuple[float, float]:
    """Slope of voltage against current within the steps, and its standard error from the scatter between them."""
    amps = [step.current_a - step.current_a.mean() for step in steps]
    volts = [step.voltage_v - step.voltage_v.mean() for step in steps]
    weight = sum(float(a @ a) for a in amps)
    slope = sum(float(a @ v) for a, v in zip(amps, volts, strict=True)) / weight
    if len(steps) == 1:
        miss = volts[0] - slope * amps[0]
        return -slope, float(np.sqrt(4.0 * (miss @ miss) / max(miss.size - 2, 1) / weight))
    pulls = np.array([float(a @ (v - slope * a)) for a, v in zip(amps, volts, strict=True)])
    count = len(steps)
    return -slope, float(np.sqrt(pulls @ pulls * count / (count - 1)) / weight)
