"""Motor runs: electrical power (else current), checked by rpm and throttle, else these alone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.records import Notice
from analyzer.segmentation.motor_edges import run_start, run_stop
from analyzer.segmentation.motor_signal import MotorSignal, motor_signal, sag_signal, sampling_step
from analyzer.segmentation.powered_climb import powered_climbs
from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.records import Log
    from analyzer.segmentation.motion import Motion
    from analyzer.segmentation.tuning import SegmentationTuning

    Array = NDArray[np.float64]

Span = tuple[float, float]

MOTOR_CHANNELS: Final = ("power_w", "current_a", "rpm", "throttle")

_FROM_SAG: Final = Notice(
    "motor-from-voltage", "neither power, current, rpm nor throttle is logged: motor runs are told from the pack's sag"
)
_FROM_SHAPE: Final = Notice(
    "motor-from-climb", "no channel shows the motor: steady, steep climbs that begin at once are taken for motor runs"
)
_UNKNOWN: Final = Notice(
    "motor-unknown", "neither power, current, rpm, throttle nor voltage is logged: no motor runs are told"
)


def motor_runs(log: Log, motion: Motion, tuning: SegmentationTuning) -> tuple[list[Span], list[Notice]]:
    """Start and end times of all motor runs, blips included, and notices of what stood in for a motor channel.

    Parameters
    ----------
    log : Log
        Conditioned.
    motion : Motion
        The model's motion: what is left to go by when neither power, rpm, throttle nor voltage shows the motor.
    tuning : SegmentationTuning
        The stage's tuning.
    """
    power = motor_signal(log, "power_w", tuning) or motor_signal(log, "current_a", tuning)
    shaft = motor_signal(log, "rpm", tuning) or motor_signal(log, "throttle", tuning)
    if power is not None or shaft is not None:
        signals = [signal for signal in (power, shaft) if signal is not None]
        return _runs(log, signals, _candidates(power, shaft, log, tuning), tuning), []
    if any(log.has(column) for column in MOTOR_CHANNELS):
        return [], []
    sag = sag_signal(log, tuning)
    if sag is not None:
        return _runs(log, [sag], _candidates(sag, None, log, tuning), tuning), [_FROM_SAG]
    shaped = powered_climbs(motion, tuning)
    return shaped, [_FROM_SHAPE if shaped else _UNKNOWN]


def _runs(log: Log, signals: list[MotorSignal], spans: list[tuple[int, int]], tuning: SegmentationTuning) -> list[Span]:
    """Runs with their edges between the samples, from index spans."""
    time_s, step = log.frame["time_s"].to_numpy(dtype=float), sampling_step(log)
    joined = _joined(spans, signals, step)
    edged = [(run_start(time_s, signals, a), run_stop(time_s, signals, b - 1)) for a, b in joined]
    return _disjoint(edged, max(tuning.apart_s, 1.5 * step))


def _candidates(
    power: MotorSignal | None, shaft: MotorSignal | None, log: Log, tuning: SegmentationTuning
) -> list[tuple[int, int]]:
    """Index spans in which the motor runs.

    With power and a witness of the shaft (rpm, else throttle) both must show the run, unless the power is beyond doubt.
    With one signal alone its span must reach the floor of bursts.
    """
    if power is None or shaft is None:
        signal = power or shaft
        assert signal is not None
        time_s = log.frame["time_s"].to_numpy(dtype=float)
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


def _joined(spans: list[tuple[int, int]], signals: list[MotorSignal], step: float) -> list[tuple[int, int]]:
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
