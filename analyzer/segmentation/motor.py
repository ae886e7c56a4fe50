"""Motor runs: electrical power (else current), checked by rpm and throttle, else these alone."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.conditioning.drive import READING_COLUMNS
from analyzer.records import Notice
from analyzer.segmentation.motor_cruise import with_cruise
from analyzer.segmentation.motor_edges import run_start, run_stop
from analyzer.segmentation.motor_gaps import joined_over_gaps
from analyzer.segmentation.motor_signal import (
    MotorSignal,
    motor_signal,
    moves,
    per_ampere,
    sag_signal,
    sags_beside,
    shaft_signal,
    without_witness,
)
from analyzer.segmentation.powered_climb import powered_climbs
from analyzer.segmentation.spans import spans_of
from analyzer.segmentation.standing import believed, closed_briefly, told_to_stand

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.records import Log
    from analyzer.segmentation.motion import Motion
    from analyzer.segmentation.tuning import SegmentationTuning

    Array = NDArray[np.float64]

Span = tuple[float, float]
Rows = tuple[int, int]

_SHORTEST_S: Final = 0.5
"""From the last reading before to the first one after, no run is shorter."""

_LEAST_CLIMB_S: Final = 2.0
"""Shorter rises may be gusts."""

_SERVO_S: Final = 7.0
_SERVO_HEIGHT: Final = 2.0
_MOST_WEAK: Final = 4
"""Servos on the same pack work for seconds, all the time, at up to twice what their bursts are taken to reach; a pilot
seldom lets the motor turn as slowly for a moment, and not more often than this."""

MOTOR_CHANNELS: Final = ("power_w", "current_a", "rpm", "throttle")

_FROM_SAG: Final = Notice(
    "motor-from-voltage",
    "neither power, current, rpm nor throttle shows anything: motor runs are told from the pack's sag",
)
_FROM_SHAPE: Final = Notice(
    "motor-from-climb", "no channel shows the motor: steep climbs that begin at once are taken for motor runs"
)
_UNKNOWN: Final = Notice(
    "motor-unknown", "neither power, current, rpm, throttle nor voltage is logged: no motor runs are told"
)


def motor_runs(log: Log, motion: Motion, tuning: SegmentationTuning) -> tuple[list[Span], list[Notice], bool]:
    """Find all motor runs, blips included.

    Parameters
    ----------
    log : Log
        Conditioned.
    motion : Motion
        The model's motion: what is left to go by when neither power, rpm, throttle nor voltage shows the motor.
    tuning : SegmentationTuning
        The stage's tuning.

    Returns
    -------
    list of (float, float)
        Start and end times.
    list of Notice
        What stood in for a motor channel.
    bool
        Whether the runs are seen in a channel, and not only in what the model did.
    """
    power = motor_signal(log, "power_w", tuning) or motor_signal(log, "current_a", tuning)
    shaft, stick = shaft_signal(log, power, tuning), motor_signal(log, "throttle", tuning)
    if shaft is None or (shaft.by_air and (power is not None or stick is not None)):
        shaft, stick = stick, None  # it rests in every glide, unlike a shaft that the air turns
    if power is not None and shaft is None:
        small, power = power, without_witness(power, log, tuning)
        if power is None and (spans := _lifting(small, log, motion, tuning)):
            return _runs(log, [small], None, spans, motion, tuning), [], True
    if power is not None or shaft is not None:
        signals = [signal for signal in (power, shaft) if signal is not None]
        undoubted, running = _running(power, shaft, log, tuning)
        stick = stick and believed(stick, running, tuning)
        standing = told_to_stand(power, shaft, stick, running, log, tuning)
        off = standing if stick is None else standing | closed_briefly(stick, _times(log), tuning)
        spans = _candidates(power, shaft, undoubted, off, log, tuning)
        if shaft is not None and shaft.by_air:
            spans = _driven(shaft, spans, log, motion, tuning)
        return _runs(log, signals, stick, spans, motion, tuning, standing), [], True
    sag = None if any(moves(log, column) for column in MOTOR_CHANNELS) else sag_signal(log, tuning)
    if sag is not None:
        return _runs(log, [sag], None, _sags(sag, log, motion, tuning), motion, tuning), [_FROM_SAG], True
    if any(log.has(column) for column in MOTOR_CHANNELS):
        return [], [], True
    shaped = _disjoint(powered_climbs(motion, tuning), tuning.apart_s)
    return shaped, [_FROM_SHAPE if shaped else _UNKNOWN], False


def _runs(
    log: Log,
    signals: list[MotorSignal],
    stick: MotorSignal | None,
    spans: list[Rows],
    motion: Motion,
    tuning: SegmentationTuning,
    standing: NDArray[np.bool_] | None = None,
) -> list[Span]:
    """Runs with their edges between the samples, from index spans."""
    if standing is None:
        standing = np.zeros(len(log.frame), dtype=bool)
    time_s = _times(log)
    signals = signals if stick is None else [*signals, stick]
    joined = joined_over_gaps(spans, signals, standing, time_s, motion, tuning)
    outer = np.concatenate((time_s[:1], time_s, time_s[-1:]))
    rows = [(a, b) for a, b in joined if outer[b + 1] - outer[a] > _SHORTEST_S]
    seen = [_as_read(signal, log) for signal in signals]
    edged = [(run_start(time_s, seen, a, b - 1), run_stop(time_s, seen, b - 1)) for a, b in rows]
    return _disjoint(edged, tuning.apart_s)


def _candidates(
    power: MotorSignal | None,
    shaft: MotorSignal | None,
    undoubted: NDArray[np.bool_],
    off: NDArray[np.bool_],
    log: Log,
    tuning: SegmentationTuning,
) -> list[Rows]:
    """Index spans in which the motor runs, out of the rows in which the throttle tells that it is off.

    With power and a witness of the shaft (rpm, else throttle) both must show the run, unless the power is beyond doubt.
    With one signal alone its span must reach the floor of bursts.
    """
    time_s = _times(log)
    if power is None or shaft is None:
        signal = power or shaft
        assert signal is not None
        return _alone(replace(signal, level=np.where(off, 0.0, signal.level)), time_s, tuning)
    known = np.isfinite(power.level)
    turning = np.where(np.isfinite(shaft.level), shaft.level > tuning.slowest_turn, power.level > power.high)
    drawing = np.where(known, power.level > power.low, shaft.level > shaft.high)
    perhaps = np.where(known, power.level > 0.5 * power.low, drawing)
    spans = _reaching(((drawing & turning) | undoubted) & ~off, ((perhaps & turning) | undoubted) & ~off)
    return with_cruise(spans, power, (shaft.level > tuning.slowest_turn) & ~off, _readings(log, power), tuning)


def _running(
    power: MotorSignal | None, shaft: MotorSignal | None, log: Log, tuning: SegmentationTuning
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Rows in which power alone leaves no doubt that the motor runs, and those in which it does with the shaft's.

    Without power the air may turn a shaft at up to half its speed.
    """
    nowhere = np.zeros(len(log.frame), dtype=bool)
    if power is None or shaft is None:
        return nowhere, nowhere if shaft is None else shaft.level > tuning.undived
    time_s = _times(log)
    much = power.level > max(power.high, tuning.undoubted, tuning.servos_a * per_ampere(power, log))
    undoubted = much & ~_stuck(log, power, tuning)
    for first, last in spans_of(undoubted):
        undoubted[first:last] = time_s[last - 1] - time_s[first] > tuning.burst_s
    return undoubted, undoubted | (much & (shaft.level > tuning.slowest_turn))


def _times(log: Log) -> Array:
    return log.frame["time_s"].to_numpy(dtype=float)


def _sags(signal: MotorSignal, log: Log, motion: Motion, tuning: SegmentationTuning) -> list[Rows]:
    """Index spans of sag that are the motor's: those that stand out, and lesser ones in which the model climbs."""
    time_s = _times(log)
    return [
        span
        for span in _above_noise(signal)
        if _stands_out(signal, span, time_s, tuning)
        or _climbs(motion, time_s[span[0]], time_s[span[1] - 1], tuning.sagging_climb_m_s)
    ]


def _lifting(signal: MotorSignal, log: Log, motion: Motion, tuning: SegmentationTuning) -> list[Rows]:
    """Index spans of a load no larger than servos are, which lasts and lifts the model: a small motor's."""
    time_s = _times(log)
    ends = ((span, float(time_s[span[0]]), float(time_s[span[1] - 1])) for span in _above_noise(signal))
    return [
        span
        for span, start_s, end_s in ends
        if end_s - start_s > tuning.powered_least_s and _climbs(motion, start_s, end_s, tuning.sagging_climb_m_s)
    ]


def _driven(shaft: MotorSignal, spans: list[Rows], log: Log, motion: Motion, tuning: SegmentationTuning) -> list[Rows]:
    """Index spans of a shaft faster than the air turns it in most glides in which the motor does, and not a dive.

    Then the pack sags, or the model climbs. Where the voltage does not tell, no dive is as fast as the motor.
    """
    time_s = _times(log)
    sags = sags_beside(log, spans)
    return [
        (first, last)
        for index, (first, last) in enumerate(spans)
        if _climbs(motion, float(time_s[first]), float(time_s[last - 1]), tuning.sagging_climb_m_s)
        or (np.nanmax(shaft.level[first:last]) > tuning.undived if sags is None else sags[index] > tuning.least_peak)
    ]


def _climbs(motion: Motion, start_s: float, end_s: float, climb_m_s: float) -> bool:
    """Whether a model climbs from one instant to a second after another, as motors take to show, at a rate at least."""
    return end_s + 1.0 - start_s > _LEAST_CLIMB_S and motion.climbs(start_s, end_s + 1.0, climb_m_s)


def _readings(log: Log, signal: MotorSignal) -> NDArray[np.bool_]:
    """Rows at which a sensor reports a new value; every known row where that is not told.

    A power that is not logged comes with the current's readings.
    """
    sources = ("power_w", "current_a") if signal.column == "power_w" else (signal.column,)
    columns = (READING_COLUMNS.get(source, "") for source in sources)
    told = next((column for column in columns if log.has(column)), None)
    return np.isfinite(signal.level if told is None else log.frame[told].to_numpy(dtype=float))


def _as_read(signal: MotorSignal, log: Log) -> MotorSignal:
    """A signal at its sensor's own readings alone: an edge lies between two of them, whatever fills other rows."""
    read = _readings(log, signal)
    if read.all():
        return signal
    level = signal.level.copy()
    level[~read] = np.nan
    return replace(signal, level=level)


def _alone(signal: MotorSignal, time_s: Array, tuning: SegmentationTuning) -> list[Rows]:
    """Index spans in which one signal without a witness shows the motor; a slow shaft may be one that the air turns.

    Many short and weak spans are the work of servos.
    """
    if signal.column == "rpm" and not signal.by_air:
        signal = replace(signal, low=max(signal.low, tuning.slowest_turn))
    spans = [span for span in _above_noise(signal) if _stands_out(signal, span, time_s, tuning)]
    weak = [span for span in spans if _is_weak(signal, span, time_s)]
    return [span for span in spans if span not in weak] if len(weak) > _MOST_WEAK else spans


def _is_weak(signal: MotorSignal, span: Rows, time_s: Array) -> bool:
    """Whether a span is as short as servos work, and no higher than they go."""
    brief = time_s[span[1] - 1] - time_s[span[0]] < _SERVO_S
    return bool(brief and signal.level[slice(*span)].max() < _SERVO_HEIGHT * signal.high)


def _above_noise(signal: MotorSignal) -> list[Rows]:
    """Index spans in which one signal alone is above its noise."""
    return _reaching(signal.level > signal.low, signal.level > 0.5 * signal.low)


def _reaching(strong: NDArray[np.bool_], weak: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Stretches of the weaker condition that reach the stronger one somewhere (hysteresis)."""
    return [(a, b) for a, b in spans_of(weak | strong) if strong[a:b].any()]


def _stuck(log: Log, power: MotorSignal, tuning: SegmentationTuning) -> NDArray[np.bool_]:
    """Whether a reading repeats the last one for long: with the shaft at rest, a sensor that froze.

    A power moves with the voltage though its current is frozen.
    """
    level = log.frame["current_a"].to_numpy(dtype=float) if log.has("current_a") else power.level
    stuck = np.zeros(len(level), dtype=bool)
    for first, last in spans_of(np.append(False, level[1:] == level[:-1]), tuning.stuck_readings - 1):
        stuck[first - 1 : last] = True
    return stuck


def _stands_out(signal: MotorSignal, span: tuple[int, int], time_s: Array, tuning: SegmentationTuning) -> bool:
    """Whether a span is a motor run by one signal alone: higher than any burst, or high for longer."""
    inside = signal.level[span[0] : span[1]]
    lasts = time_s[span[1] - 1] - time_s[span[0]] > tuning.burst_s
    steadily = lasts and np.median(inside) > max(signal.low, 0.75 * tuning.least_peak)
    return bool(steadily or inside.max() > signal.high)


def _disjoint(runs: list[Span], apart_s: float) -> list[Span]:
    """Runs in order; those that the sensors cannot tell apart made one."""
    result: list[Span] = []
    for start, end in runs:
        if result and start - result[-1][1] < apart_s:
            result[-1] = (result[-1][0], max(end, result[-1][1]))
        elif end > start:
            result.append((start, end))
    return result
