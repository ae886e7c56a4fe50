"""Cruise: a motor that draws so little that its power hides in the sensor's noise, while the shaft turns steadily.

Single readings of such power fall below the floor of noise, and would cut one run into many. The shaft's steady speed
holds it together, and the mean power over a stretch, whose error falls with the number of readings, tells it from a
propeller that the air turns.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.circling.robust_fit import median_of
from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.segmentation.motor_signal import MotorSignal
    from analyzer.segmentation.tuning import SegmentationTuning

    Array = NDArray[np.float64]

Rows = tuple[int, int]


def with_cruise(
    spans: list[Rows], power: MotorSignal, shaft: MotorSignal, is_reading: NDArray[np.bool_], tuning: SegmentationTuning
) -> list[Rows]:
    """Index spans of a motor that runs, with the stretches that the shaft and the mean power show.

    Parameters
    ----------
    spans : list of (int, int)
        Index spans in which power and shaft show the motor reading by reading, in order.
    power, shaft : MotorSignal
        Both witnesses.
    is_reading : numpy.ndarray of bool
        Rows at which the power sensor reports a new value.
    tuning : SegmentationTuning
        The stage's tuning.
    """
    drawn = _Mean(power, is_reading, tuning)
    spans = sorted([*spans, *_hidden(spans, shaft, drawn, tuning)])
    result: list[Rows] = []
    for index, (first, last) in enumerate(spans):
        turning = shaft.level[first:last][np.isfinite(shaft.level[first:last])]
        least = tuning.steady_share * median_of(turning) if len(turning) else np.inf
        floor = result[-1][1] if result else 0
        ceiling = spans[index + 1][0] if index + 1 < len(spans) else len(shaft.level)
        start = first - _steady(shaft.level[floor:first][::-1], least)
        end = last + _steady(shaft.level[last:ceiling], least)
        first = start if drawn.shows_motor(start, first) else first
        last = end if drawn.shows_motor(last, end) else last
        if result and first <= result[-1][1]:
            result[-1] = (result[-1][0], last)
        else:
            result.append((first, last))
    return result


class _Mean:
    """Means of the power readings over any stretch, from their running sums."""

    def __init__(self, power: MotorSignal, is_reading: NDArray[np.bool_], tuning: SegmentationTuning) -> None:
        self._known = np.concatenate(([0], np.cumsum(is_reading)))
        self._sum = np.concatenate(([0.0], np.cumsum(np.where(is_reading, power.level, 0.0))))
        self._least, self._three_sigma = tuning.motor_share, 3.0 * power.low / tuning.motor_sigma

    def shows_motor(self, first: int, last: int) -> bool:
        """Whether the mean is above what no motor runs on by three of its standard errors."""
        count = int(self._known[last] - self._known[first])
        if count == 0:
            return False
        mean = (self._sum[last] - self._sum[first]) / count
        return bool(mean > self._least + self._three_sigma / np.sqrt(count))


def _hidden(spans: list[Rows], shaft: MotorSignal, drawn: _Mean, tuning: SegmentationTuning) -> list[Rows]:
    """Stretches of a turning shaft in which no single reading of power shows the motor, but their mean does."""
    starts = np.array([first for first, _ in spans], dtype=np.intp)
    return [
        (first, last)
        for first, last in spans_of(shaft.level > tuning.slowest_turn)
        if np.searchsorted(starts, first) == np.searchsorted(starts, last) and drawn.shows_motor(first, last)
    ]


def _steady(level: Array, least: float) -> int:
    """Number of readings from the first on in which the shaft does not fall below a level."""
    below = ~(level >= least)
    return int(np.argmax(below)) if below.any() else len(level)
