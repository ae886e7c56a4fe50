"""Whether the motor stopped between two stretches in which it ran."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.conditioning.stretches import changes_of
from analyzer.segmentation.motor.edges import SILENCE_S
from analyzer.segmentation.spans import Rows, spans_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.arrays import Array, Mask
    from analyzer.segmentation.motor.evidence import Evidence
    from analyzer.segmentation.motor.signals import MotorSignal


_AROUND = 4
"""So many readings beside a gap are looked at."""

_HELD_S = 3.0
"""A power that its sensor does not show for longer is not there."""


def joined_over_gaps(spans: Sequence[Rows], standing: Mask, evidence: Evidence) -> list[Rows]:
    """Index spans of a running motor, made one over gaps in which it did not stop.

    It did where it is told to be `standing` for longer than a dropout lasts. Where no witness is heard for long, the
    motor ran on only if the model climbed.
    """
    joined: list[Rows] = []
    for first, last in spans:
        gap = (joined[-1][1], first) if joined else (0, 0)
        stands_s = evidence.time_s[slice(*gap)][standing[slice(*gap)]]
        stands = stands_s.size > 0 and stands_s[-1] - stands_s[0] > evidence.tuning.dropout_s
        if joined and not stands and _runs_on(gap, evidence):
            joined[-1] = (joined[-1][0], last)
        else:
            joined.append((first, last))
    return joined


def _runs_on(gap: Rows, evidence: Evidence) -> bool:
    time_s, climb_m_s = evidence.time_s, evidence.tuning.sagging_climb_m_s
    heard = np.any([np.isfinite(signal.level[slice(*gap)]) for signal in evidence.signals], axis=0)
    times = np.concatenate((time_s[gap[0] - 1 : gap[0]], time_s[slice(*gap)][heard], time_s[gap[1] : gap[1] + 1]))
    longest = int(np.argmax(np.diff(times)))
    start_s, end_s = times[longest : longest + 2].tolist()
    if end_s - start_s > SILENCE_S and not evidence.motion.climbs(start_s, end_s, climb_m_s):
        return False
    return not _stopped(gap, evidence)


def _stopped(gap: Rows, evidence: Evidence) -> bool:
    """Whether the motor stands in a gap, by what all witnesses say.

    A shaft that keeps its speed was driven, and one that comes to rest was not, whatever the power's sensor reads; but
    an rpm that stays the same to the last digit is a reading that was held, and the air turns a shaft, too, while the
    power's sensor reads idle for long. One witness alone must read low twice: a single low reading is a dropout.
    """
    tuning, (first, last) = evidence.tuning, gap
    for shaft in evidence.signals[1:]:
        before, level = shaft.level[max(first - _AROUND, 0) : first], shaft.level[first:last]
        keeps_speed = bool((level > tuning.steady_share * np.nanmax(before, initial=0.0)).all())
        if keeps_speed and not (shaft.column == "rpm" and _is_held(evidence.time_s[first:last], level)):
            return shaft.column == "rpm" and _idles(shaft, gap, evidence)
        if _rest_s(shaft, gap, evidence) >= tuning.apart_s:
            return True
    return any(_low_readings(signal, gap, tuning.slowest_turn) >= 2 for signal in evidence.signals)


def _idles(shaft: MotorSignal, gap: Rows, evidence: Evidence) -> bool:
    """Whether power is heard to be idle for longer than it fails for, beside a shaft that the air may turn."""
    power, tuning, inside = evidence.signals[0], evidence.tuning, slice(*gap)
    level = power.level[inside][np.isfinite(power.level[inside])]
    if power.column == "rpm" or level.size == 0 or evidence.lasts_s(gap) < tuning.idles_s:
        return False
    return bool(level.mean() < tuning.motor_share and (shaft.level[inside] < tuning.undived).all())


def _is_held(times: Array, level: Array) -> bool:
    edges = changes_of(level)
    return len(level) > 0 and bool((times[edges[1:] - 1] - times[edges[:-1]]).max() > _HELD_S)


def _rest_s(shaft: MotorSignal, gap: Rows, evidence: Evidence) -> float:
    """For how long a shaft that comes to rest in a gap was not driven; 0 if it does not.

    From the last reading before to the last one at rest: after that, it is driven up again.
    """
    first, last = gap
    level = shaft.level[first:last]
    if not np.any(level < evidence.tuning.slowest_turn):
        return 0.0
    resting = np.flatnonzero(level <= np.nanmin(level) + shaft.low)
    return float(evidence.time_s[first + resting[-1]] - evidence.time_s[max(first - 1, 0)])


def _low_readings(signal: MotorSignal, gap: Rows, slowest_turn: float) -> int:
    """Number of readings in a row at which the motor cannot run, in a gap and around it."""
    first, last = gap
    begin = max(first - _AROUND, 0)
    slow = spans_of(signal.level[begin : last + _AROUND] < slowest_turn)
    return max((b - a for a, b in slow if b > first - begin and a < last - begin), default=0)
