"""Whether the motor stopped between two stretches in which it ran."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.conditioning.stretches import changes_of
from analyzer.segmentation.motor_edges import SILENCE_S
from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from analyzer.segmentation.motion import Motion
    from analyzer.segmentation.motor_signal import MotorSignal
    from analyzer.segmentation.tuning import SegmentationTuning

    Array = NDArray[np.float64]

Rows = tuple[int, int]

_AROUND = 4
"""So many readings beside a gap are looked at."""

_HELD_S = 3.0
"""A power that its sensor does not show for longer is not there."""


def joined_over_gaps(
    spans: Sequence[Rows],
    signals: Sequence[MotorSignal],
    standing: NDArray[np.bool_],
    time_s: Array,
    motion: Motion,
    tuning: SegmentationTuning,
) -> list[Rows]:
    """Index spans of a running motor, made one over gaps in which it did not stop.

    It did where it is told to be `standing` for longer than a dropout lasts. Where no witness is heard for long, the
    motor ran on only if the model climbed.
    """
    joined: list[Rows] = []
    for first, last in spans:
        gap = (joined[-1][1], first) if joined else (0, 0)
        stands_s = time_s[slice(*gap)][standing[slice(*gap)]]
        stands = stands_s.size > 0 and stands_s[-1] - stands_s[0] > tuning.coasting_s
        if joined and not stands and _runs_on(signals, time_s, gap, motion, tuning):
            joined[-1] = (joined[-1][0], last)
        else:
            joined.append((first, last))
    return joined


def _runs_on(
    signals: Sequence[MotorSignal], time_s: Array, gap: Rows, motion: Motion, tuning: SegmentationTuning
) -> bool:
    heard = np.any([np.isfinite(signal.level[slice(*gap)]) for signal in signals], axis=0)
    times = np.concatenate((time_s[gap[0] - 1 : gap[0]], time_s[slice(*gap)][heard], time_s[gap[1] : gap[1] + 1]))
    longest = int(np.argmax(np.diff(times)))
    start_s, end_s = times[longest : longest + 2].tolist()
    if end_s - start_s > SILENCE_S and not motion.climbs(start_s, end_s, tuning.sagging_climb_m_s):
        return False
    return not _stopped(signals, time_s, *gap, tuning)


def _stopped(signals: Sequence[MotorSignal], time_s: Array, first: int, last: int, tuning: SegmentationTuning) -> bool:
    """Whether the motor stands in a gap, by what all witnesses say.

    A shaft that keeps its speed was driven, and one that comes to rest was not, whatever the power's sensor reads; but
    an rpm that stays the same to the last digit is a reading that was held, and the air turns a shaft, too, while the
    power's sensor reads idle for long. One witness alone must read low twice: a single low reading is a dropout.
    """
    for shaft in signals[1:]:
        before, level = shaft.level[max(first - _AROUND, 0) : first], shaft.level[first:last]
        keeps_speed = bool((level > tuning.steady_share * np.nanmax(before, initial=0.0)).all())
        if keeps_speed and not (shaft.column == "rpm" and _is_held(time_s[first:last], level)):
            return shaft.column == "rpm" and _idles(signals[0], shaft, time_s, first, last, tuning)
        if _rest(shaft, time_s, first, last, tuning) >= tuning.apart_s:
            return True
    return any(_low_readings(signal, first, last, tuning) >= 2 for signal in signals)


def _idles(
    power: MotorSignal, shaft: MotorSignal, time_s: Array, first: int, last: int, tuning: SegmentationTuning
) -> bool:
    """Whether power is heard to be idle for longer than it fails for, beside a shaft that the air may turn."""
    level = power.level[first:last][np.isfinite(power.level[first:last])]
    if power.column == "rpm" or level.size == 0 or time_s[last - 1] - time_s[first] < tuning.idles_s:
        return False
    return bool(level.mean() < tuning.motor_share and (shaft.level[first:last] < tuning.undived).all())


def _is_held(times: Array, level: Array) -> bool:
    edges = changes_of(level)
    return len(level) > 0 and bool((times[edges[1:] - 1] - times[edges[:-1]]).max() > _HELD_S)


def _rest(shaft: MotorSignal, time_s: Array, first: int, last: int, tuning: SegmentationTuning) -> float:
    """For how long a shaft that comes to rest in a gap was not driven; 0 if it does not.

    From the last reading before to the last one at rest: after that, it is driven up again.
    """
    level = shaft.level[first:last]
    if not np.any(level < tuning.slowest_turn):
        return 0.0
    resting = np.flatnonzero(level <= np.nanmin(level) + shaft.low)
    return float(time_s[first + resting[-1]] - time_s[max(first - 1, 0)])


def _low_readings(signal: MotorSignal, first: int, last: int, tuning: SegmentationTuning) -> int:
    """Number of readings in a row at which the motor cannot run, in a gap and around it."""
    begin = max(first - _AROUND, 0)
    slow = spans_of(signal.level[begin : last + _AROUND] < tuning.slowest_turn)
    return max((b - a for a, b in slow if b > first - begin and a < last - begin), default=0)
