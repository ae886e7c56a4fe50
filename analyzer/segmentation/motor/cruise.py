"""Cruise: a motor that draws so little that its power hides in the sensor's noise, while the shaft turns.

The mean power over a stretch, whose error falls with the number of readings, tells it from a propeller that the air
turns. Where single readings do show the motor, the shaft's steady speed makes one run of them (`gaps`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analyzer.segmentation.spans import Rows, spans_of

if TYPE_CHECKING:
    from analyzer.arrays import Array, Mask
    from analyzer.segmentation.motor.signals import MotorSignal
    from analyzer.segmentation.motor.tuning import MotorTuning


def with_cruise(
    spans: list[Rows],
    power: MotorSignal,
    turning: Mask,
    is_reading: Mask,
    tuning: MotorTuning,
) -> list[Rows]:
    """Index spans of a motor that runs, with those in which no single reading of power shows it, but their mean does.

    Parameters
    ----------
    spans : list of (int, int)
        Index spans in which power and shaft show the motor reading by reading, in order.
    power : MotorSignal
        Power or current.
    turning : numpy.ndarray of bool
        Rows in which the shaft is seen to turn, and the throttle is not seen to be closed.
    is_reading : numpy.ndarray of bool
        Rows at which the power sensor reports a new value.
    tuning : MotorTuning
        The stage's tuning.
    """
    starts = np.array([first for first, _ in spans], dtype=np.intp)
    hidden = [
        (first, last)
        for first, last in spans_of(turning)
        if np.searchsorted(starts, first) == np.searchsorted(starts, last)
        and _draws(power, power.level[first:last][is_reading[first:last]], tuning)
    ]
    return sorted([*spans, *hidden])


def _draws(power: MotorSignal, readings: Array, tuning: MotorTuning) -> bool:
    """Whether the mean of some readings is above what no motor runs on by three of its standard errors."""
    if len(readings) == 0:
        return False
    error = power.low / tuning.motor_sigma / np.sqrt(len(readings))
    return bool(readings.mean() > tuning.motor_share + 3.0 * error)
