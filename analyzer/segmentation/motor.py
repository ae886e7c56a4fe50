"""Motor runs: electrical power (else current), checked by rpm and throttle, else these alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.records import Notice
from analyzer.segmentation.motor_edges import run_start, run_stop
from analyzer.segmentation.motor_signal import MotorSignal, motor_signal, sampling_step
from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.records import Log
    from analyzer.segmentation.tuning import SegmentationTuning

    Array = NDArray[np.float64]

Span = tuple[float, float]


def motor_runs(log: Log, tuning: SegmentationTuning) -> tuple[list[Span], list[Notice]]:
    """Start and end times of all motor runs, blips included."""
    power = motor_signal(log, "power_w", tuning) or motor_signal(log, "current_a", tuning)
    rpm, throttle = motor_signal(log, "rpm", tuning), motor_signal(log, "throttle", tuning)
    signals = [signal for signal in (power, rpm, throttle) if signal is not None]
    if not signals:
        known = any(log.has(column) for column in ("power_w", "current_a", "rpm", "throttle"))
        missing = Notice("motor-unknown", "neither power, current, rpm nor throttle is logged: no motor runs are told")
        return [], [] if known else [missing]
    time_s = log.frame["time_s"].to_numpy(dtype=float)
    step = sampling_step(log)
    spans = _joined(time_s, _candidates(power, rpm or throttle, time_s, tuning), signals, step)
    edged = [(run_start(time_s, signals, a), run_stop(time_s, signals, b - 1)) for a, b in spans]
    return _disjoint(edged, max(tuning.apart_s, 1.5 * step)), []


def _candidates(
    power: MotorSignal | None, shaft: MotorSignal | None, time_s: Array, tuning: SegmentationTuning
) -> list[tuple[int, int]]:
    """Index spans in which the motor runs.

    With power and a witness of the shaft (rpm, else throttle) both must show the run, unless the power is beyond doubt.
    With one signal alone its span must reach the floor of bursts.
    """
    if power is None or shaft is None:
        signal = power or shaft
        assert signal is not None
        spans = spans_of(signal.level > signal.low)
        return [span for span in spans if _stands_out(signal, span, time_s, tuning)]
    turning = np.where(np.isfinite(shaft.level), shaft.level > shaft.low, power.level > power.high)
    drawing = np.where(np.isfinite(power.level), power.level > power.low, shaft.level > shaft.high)
    return spans_of((drawing & turning) | (power.level > max(power.high, tuning.undoubted)))


def _stands_out(signal: MotorSignal, span: tuple[int, int], time_s: Array, tuning: SegmentationTuning) -> bool:
    """Whether a span is a motor run by one signal alone: higher than any burst, or high for longer."""
    inside = signal.level[span[0] : span[1]]
    if time_s[span[1] - 1] - time_s[span[0]] <= tuning.burst_s:
        return bool(inside.max() > signal.high)
    return bool(np.median(inside) > max(1.5 * signal.low, 0.75 * tuning.least_peak))


def _joined(
    time_s: Array, spans: list[tuple[int, int]], signals: list[MotorSignal], step: float
) -> list[tuple[int, int]]:
    """Spans joined over a single low reading, which is a dropout, and over readings that no signal calls off."""
    joined: list[tuple[int, int]] = []
    for first, last in spans:
        if joined and (first - joined[-1][1] <= 1 or _only_missing(signals, joined[-1][1], first)):
            joined[-1] = (joined[-1][0], last)
        else:
            joined.append((first, last))
    return [(a, b) for a, b in joined if b - a >= 2 or step > 0.4]


def _only_missing(signals: list[MotorSignal], first: int, last: int) -> bool:
    return all(not np.any(signal.level[first:last] <= signal.low) for signal in signals)


def _disjoint(runs: list[Span], apart_s: float) -> list[Span]:
    """Runs in order; those that the sensors cannot tell apart made one."""
    result: list[Span] = []
    for start, end in runs:
        if result and start - result[-1][1] < apart_s:
            result[-1] = (result[-1][0], max(end, result[-1][1]))
        elif end > start:
            result.append((start, end))
    return result
