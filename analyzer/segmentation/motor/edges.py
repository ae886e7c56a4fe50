"""When exactly a motor run starts and stops, between the samples."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.segmentation.motor.signals import highest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array
    from analyzer.segmentation.motor.signals import MotorSignal


_RAMP_S: Final = 6.0
"""Soft starts take up to a few seconds."""

_HIDDEN_S: Final = 3.0
"""Power shows nothing of the first part of a soft start, for up to this long."""

_LAG_S: Final = 8.0
"""A lagging current has fallen into its noise within a third of this."""

SILENCE_S: Final = 10.0
"""An edge in a silence of the log lies in its middle, unless it is longer: the run may have been any part of that."""

_HELD_S: Final = 0.5
_EVEN: Final = 0.1
"""From one half to the next of so long a time, a current moves by less while the throttle is held, noise included; a
sensor that lags falls by more, with time constants of up to 2 s."""

_SUDDEN: Final = 10.0
"""A current that falls from so many floors of noise to half of one within two readings does not lag: whatever it did
before, as after the inrush of a start, the motor ran until then."""

_SHAFT: Final = ("rpm", "throttle")
"""Channels that are at rest to the last digit until the motor starts."""

_EXPONENTS: Final = (1.0, 2.0, 3.0)
"""How a signal grows while the shaft is spun up evenly: rpm linearly, current as its square, power as its cube."""


def run_start(time_s: Array, signals: Sequence[MotorSignal], first: int, last: int) -> float:
    """Time at which the motor begins to draw power; `first` and `last` are the indices of the run's ends.

    The start lies between the last reading in the noise and the first one above it. At rest means at rest for rpm and
    throttle, which grow evenly from the first turn; power does not show the first part of a soft start, so its quiet
    readings bound nothing while either is logged. Where the ramp has several readings, its shape (a power law of time)
    says where it began.
    """
    brackets = [(signal, _rise(time_s, signal, first, last)) for signal in signals]
    known = [(signal, bracket) for signal, bracket in brackets if bracket is not None]
    if not known:
        return float(time_s[first])
    signal, (low, high) = next((pair for column in _SHAFT for pair in known if pair[0].column == column), known[0])
    high = min([high, *(bracket[1] for _, bracket in known if bracket[1] > low)])
    low = max([low, *(bracket[0] for other, bracket in known if other.column in _SHAFT and bracket[0] < high)])
    onset = _ramp_onset(time_s, signal, low, high)
    if onset is None or (signal.column in _SHAFT and onset < low):
        return 0.5 * (low + high)
    return onset


def _rise(time_s: Array, signal: MotorSignal, first: int, last: int) -> tuple[float, float] | None:
    """Last reading in the noise before a run, or at its start where a sensor lags, and the first one above it."""
    begin = int(np.searchsorted(time_s, time_s[first] - _RAMP_S))
    if first > 0 and time_s[first] - time_s[first - 1] < SILENCE_S:
        begin = min(begin, first - 1)
    end = min(last + 1, first + 3)
    rows = begin + np.flatnonzero(np.isfinite(signal.level[begin:end]))
    quiet = rows[signal.level[rows] <= signal.low]
    if len(quiet) == 0:
        return None
    above = rows[rows > quiet[-1]]
    return (float(time_s[quiet[-1]]), float(time_s[above[0]])) if len(above) else None


def _ramp_onset(time_s: Array, signal: MotorSignal, low: float, high: float) -> float | None:
    """Onset of a slow ramp by least squares, over onsets and exponents; None when the start is too quick for one.

    A ramp that is well above the noise at the last quiet reading, at `low`, is none: the throttle was opened in steps.
    """
    begin, end = np.searchsorted(time_s, [low - _HIDDEN_S, high + _RAMP_S])
    there = np.isfinite(signal.level[begin:end])
    times, level = time_s[begin:end][there], signal.level[begin:end][there]
    up = times >= high
    if np.count_nonzero(up) < 4:
        return None
    plateau = highest(level[up], 1 + int(0.1 * np.count_nonzero(up)))
    steep = np.flatnonzero(up & (level > 0.7 * plateau))
    if len(steep) == 0 or np.count_nonzero(up[: steep[0]]) < 3:
        return None
    times, level = times[: steep[0] + 1], level[: steep[0] + 1]
    onsets = np.linspace(max(times[0], high - _HIDDEN_S), high - 1e-3, 60)
    best = (np.inf, high)
    for exponent in _EXPONENTS:
        shape = np.maximum(times[None, :] - onsets[:, None], 0.0) ** exponent
        scale = shape @ level / np.maximum(np.square(shape).sum(axis=1), 1e-12)
        misfit = np.square(level[None, :] - scale[:, None] * shape).sum(axis=1)
        misfit[scale * np.maximum(low - onsets, 0.0) ** exponent > 1.5 * signal.low] = np.inf
        index = int(np.argmin(misfit))
        best = min(best, (float(misfit[index]), float(onsets[index])))
    return best[1]


def run_stop(time_s: Array, signals: Sequence[MotorSignal], last: int) -> float:
    """Time at which the motor stops drawing power; `last` is the last index of the run.

    Motors stop at once: between the last reading near the level before and the first one near idle, each signal gives a
    bracket. A sensor that lags can only be late: the earliest end counts, with the latest beginning before it. Of a
    shaft, and of current or power that is the only witness, the first reading below the level is that end: a shaft that
    spins down is not driven, and what a sensor lags is no motor.
    """
    alone = len(signals) == 1 and signals[0].column in ("power_w", "current_a")
    fallen = [_fall(time_s, signal, last, alone or signal.column in _SHAFT) for signal in signals]
    brackets = [bracket for bracket in fallen if bracket is not None]
    if not brackets:
        return float(time_s[last])
    high = min(bracket[1] for bracket in brackets)
    return 0.5 * (max(bracket[0] for bracket in brackets if bracket[0] < high) + high)


def _level_before(time_s: Array, level: Array, low: float, at_once: bool) -> float:
    """Level from which a signal falls when the motor stops.

    Where its first fall is the stop, the one at which it stood last, for `_HELD_S` and two readings at least: above it
    the motor was throttled back, below it a sensor lags. Else a high one of the last readings.
    """
    running = level > 2.0 * low
    if not running.any():
        return float(level.max())
    times, levels = time_s[running], level[running]
    if not at_once:
        levels = levels[-12:]
        return highest(levels, 1 + int(0.3 * len(levels)))
    usual = highest(levels, 1 + int(0.3 * len(levels)))
    count = max(2, 1 + int(np.searchsorted(times, times[0] + _HELD_S)))
    if len(levels) < count:
        return usual
    held = np.lib.stride_tricks.sliding_window_view(levels, count)
    half = count // 2
    first, last = held[:, :half].mean(axis=1), held[:, -half:].mean(axis=1)
    stands = np.flatnonzero((np.abs(first - last) < _EVEN * first) & (last > 0.15 * usual))
    return float(first[stands[-1]]) if len(stands) else usual


def _fall(time_s: Array, signal: MotorSignal, last: int, at_once: bool) -> tuple[float, float] | None:
    """Last reading at the level before the stop; the next one (`at_once`) or the first at a tenth of the level.

    At the level is nine tenths of it, or what noise makes of it.
    """
    back_s = _LAG_S if at_once else 3.0
    begin, end, silent = np.searchsorted(time_s, time_s[last] + np.array([-back_s, 4.0, SILENCE_S]))
    heard = np.flatnonzero(np.isfinite(signal.level[last + 1 : silent]))
    if len(heard):  # in a table where each sensor has rows of its own, the next row may be another's
        end = max(end, last + 2 + heard[0])
    rows = begin + np.flatnonzero(np.isfinite(signal.level[begin:end]))
    before = rows[rows <= last]
    if len(before) == 0:
        return None
    level = _level_before(time_s[before], signal.level[before], signal.low, at_once)
    earlier, latest = signal.level[before[[-2, -1]]] if len(before) > 1 else (0.0, level)
    sudden = float(latest if latest > 0.8 * earlier else earlier)  # the latest may be a mean over the stop
    if at_once and signal.column not in _SHAFT and sudden > _SUDDEN * signal.low:
        level = sudden
    at_level = rows[(rows <= last + 1) & (signal.level[rows] >= min(0.9 * level, level - 0.5 * signal.low))]
    if len(at_level) == 0:
        return None
    idle = rows[(rows > at_level[-1]) & (signal.level[rows] <= max(0.1 * level, signal.low))]
    if len(idle) == 0:
        return None
    below = rows[rows > at_level[-1]][0] if at_once else idle[0]
    return float(time_s[at_level[-1]]), float(time_s[below])
