"""The shaft's speed, beyond that at which the air turns it with the motor off."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from analyzer.segmentation.motor.signals import LEAST_FULL, MotorSignal, full_power, moves, sampling_step, scaled

if TYPE_CHECKING:
    from analyzer.arrays import Array, Mask
    from analyzer.records import Log
    from analyzer.segmentation.motor.tuning import MotorTuning


def shaft_signal(log: Log, power: MotorSignal | None, tuning: MotorTuning) -> MotorSignal | None:
    """The shaft's speed beyond that at which the air turns it; None when it is not logged or shows no motor."""
    if not moves(log, "rpm"):
        return None
    rpm, climb = (log.frame[name].to_numpy(dtype=float) for name in ("rpm", "climb_m_s"))
    gliding, step_s = climb < -tuning.gliding_m_s, sampling_step(log)
    if power is not None:
        gliding &= power.level <= power.low
    full = full_power(rpm[np.isfinite(rpm)], step_s, tuning)
    by_air = windmilling_rpm(rpm, gliding, full, tuning)
    beyond = np.maximum(rpm - by_air, 0.0) if by_air > 0.0 else rpm
    shaft = scaled("rpm", beyond, LEAST_FULL["rpm"], tuning.motor_share, step_s, tuning)
    return replace(shaft, by_air=by_air > 0.0) if shaft is not None else None


def windmilling_rpm(rpm: Array, gliding: Mask, full_rpm: float, tuning: MotorTuning) -> float:
    """The speed up to which the air turns a shaft; 0 where it does not.

    Without a brake the propeller windmills in every glide, at a speed that follows the airspeed: so it turns nearly
    always where the model sinks and draws nothing. A controller that brakes, or a propeller that folds, leaves the
    shaft at rest there.

    Parameters
    ----------
    rpm : ndarray, shape (n,)
        Speed of motor or propeller; NaN where it is missing, as some controllers leave it while the shaft is at rest.
    gliding : ndarray of bool, shape (n,)
        Where the model sinks, and draws nothing as far as that is logged.
    full_rpm : float
        Speed at full power.
    tuning : MotorTuning
        The stage's tuning.
    """
    by_air = rpm[gliding & (rpm > tuning.motor_share * full_rpm) & (rpm < tuning.windmilling_below * full_rpm)]
    if len(by_air) == 0 or len(by_air) < tuning.windmilling_share * np.count_nonzero(gliding):
        return 0.0
    return float(np.quantile(by_air, tuning.windmilling_most))
