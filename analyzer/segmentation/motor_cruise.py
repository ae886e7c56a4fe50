"""Cruise: a motor that draws so little that its power hides in the sensor's noise, while the shaft turns steadily.

Single readings of such power fall below the floor of noise, and would cut one run into many. The shaft's steady speed
holds it together, and the mean power over a stretch, whose error falls with the number of readings, tells it from a
propeller that the air turns.
"""

from __future__ import annotations

from dataclasses import dataclass
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
            result[-1] = (result[-1][0], max(last, result[-1][1]))
        else:
            result.append((first, last))
    return result


@dataclass(frozen=True)
class _Mean:
    """Means of the power readings over any stretch."""

    power: MotorSignal
    is_reading: NDArray[np.bool_]
    tuning: SegmentationTuning

    def shows_motor(self, first: int, last: int) -> bool:
        """Whether the mean is above what no motor runs on by three of its standard errors."""
        readings = self.power.level[first:last][self.is_reading[first:last]]
        if len(readings) == 0:
            return False
        error = self.power.low / self.tuning.motor_sigma / np.sqrt(len(readings))
        return bool(readings.mean() > self.tuning.motor_share + 3.0 * error)


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
