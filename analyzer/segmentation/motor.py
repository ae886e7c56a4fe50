"""Motor runs from electrical power, else current, rpm or throttle."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.records import Notice
from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.records import Log
    from analyzer.segmentation.tuning import SegmentationTuning

    Array = NDArray[np.float64]

Run = tuple[float, float]


def motor_runs(log: Log, tuning: SegmentationTuning) -> tuple[list[Run], list[Notice]]:
    """Start and end times of all motor runs, blips included."""
    for column in ("power_w", "current_a", "rpm", "throttle"):
        if log.has(column):
            times, signal = _present(log, column)
            return _runs(times, signal, tuning), []
    notice = Notice("motor-unknown", "neither power, current, rpm nor throttle is logged: motor runs cannot be told")
    return [], [notice]


def _present(log: Log, column: str) -> tuple[Array, Array]:
    values = log.frame[column].to_numpy(dtype=float)
    there = np.isfinite(values)
    return log.frame["time_s"].to_numpy(dtype=float)[there], values[there]


def idle_level(signal: Array) -> tuple[float, float]:
    """Level and spread of the readings with the motor off: median and deviation of the lower cluster."""
    low, high = np.quantile(signal, 0.02), np.quantile(signal, 0.995)
    idle = signal[signal <= low + 0.15 * (high - low)]
    level = float(np.median(idle))
    return level, float(1.4826 * np.median(np.abs(idle - level)))


def _runs(times: Array, signal: Array, tuning: SegmentationTuning) -> list[Run]:
    level, spread = idle_level(signal)
    full = float(np.quantile(signal, 0.995)) - level
    threshold = max(tuning.motor_share * full, tuning.motor_sigma * spread)
    if full <= 2 * threshold:
        return []
    step = float(np.median(np.diff(times)))
    runs: list[Run] = []
    for first, last in spans_of(signal - level > threshold):
        start = times[0] if first == 0 else _start(times, signal - level, first)
        end = times[-1] if last == len(times) else 0.5 * (times[last - 1] + times[last])
        if runs and start - runs[-1][1] < max(0.3, 1.5 * step):
            runs[-1] = (runs[-1][0], end)
        else:
            runs.append((start, end))
    return runs


def _start(times: Array, excess: Array, first: int) -> float:
    """Where the ramp, carried back from its first two readings, meets idle; within the sampling step before it."""
    before, at = times[first - 1], times[first]
    if first + 1 >= len(times) or excess[first + 1] <= 1.15 * excess[first]:
        return float(0.5 * (before + at))
    slope = (excess[first + 1] - excess[first]) / (times[first + 1] - at)
    return float(np.clip(at - excess[first] / slope, before, at))
