"""Whether the motor is told to stand: by a closed throttle, or by a shaft that the air turns."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.records import Log
    from analyzer.segmentation.motor_signal import MotorSignal
    from analyzer.segmentation.tuning import SegmentationTuning

    Array = NDArray[np.float64]

_FALLS_M: Final = 2.0
"""On the ground an altimeter's zero falls by less meanwhile ..."""

_UP_M: Final = 15.0
"""... and no model stands so high. Of a shaft beyond what the air does in most glides, height alone tells nothing."""


def believed(throttle: MotorSignal, running: NDArray[np.bool_], tuning: SegmentationTuning) -> MotorSignal | None:
    """A throttle that is open whenever the motor runs beyond doubt; else it is another channel's, or stuck: None."""
    if not running.any():
        return throttle
    return throttle if (throttle.level[running] <= throttle.low).mean() < tuning.shut_running else None


def closed_briefly(throttle: MotorSignal, time_s: Array, tuning: SegmentationTuning) -> NDArray[np.bool_]:
    """Rows of short stretches in which the throttle is closed: the motor stands, though other sensors lag behind."""
    shut = throttle.level <= throttle.low
    for first, last in spans_of(shut):
        shut[first:last] = time_s[last - 1] - time_s[first] <= tuning.coasting_s
    return shut


def told_to_stand(
    power: MotorSignal | None,
    shaft: MotorSignal | None,
    throttle: MotorSignal | None,
    running: NDArray[np.bool_],
    log: Log,
    tuning: SegmentationTuning,
) -> NDArray[np.bool_]:
    """Rows in which the motor is told to stand.

    Parameters
    ----------
    power, shaft, throttle : MotorSignal, optional
        What is logged of the motor; the throttle as far as it is `believed`.
    running : numpy.ndarray of bool
        Rows in which the motor runs beyond doubt: there a closed throttle is late.
    log : Log
        Conditioned.
    tuning : SegmentationTuning
        The stage's tuning.
    """
    standing = np.zeros(len(log.frame), dtype=bool)
    if throttle is not None:
        standing |= (throttle.level <= throttle.low) & ~running
    if shaft is not None and shaft.column == "rpm":
        standing |= _undriven(shaft, power, log, tuning)
    return standing


def _undriven(shaft: MotorSignal, power: MotorSignal | None, log: Log, tuning: SegmentationTuning) -> NDArray[np.bool_]:
    """Rows in which a shaft turns for long, but too slowly to drive a model that flies: in this glide the air turns it.

    At a third of full speed a propeller's pitch moves hardly faster than a model glides: it gives no thrust. Where
    power is logged, it is idle on the mean.
    """
    time_s, height_m, climb_m_s = (
        log.frame[name].to_numpy(dtype=float) for name in ("time_s", "height_m", "climb_m_s")
    )
    turned = np.zeros(len(time_s), dtype=bool)
    for first, last in spans_of((shaft.level > shaft.low) & (shaft.level < tuning.undriven)):
        lasts_s, inside = time_s[last - 1] - time_s[first], slice(first, last)
        if lasts_s > tuning.idles_s and (power is None or _mean(power.level[inside]) < tuning.motor_share):
            is_up = not shaft.by_air and bool((height_m[inside] > _UP_M).all())
            turned[inside] = is_up or _mean(climb_m_s[inside]) * lasts_s < -_FALLS_M
    return turned


def _mean(values: Array) -> float:
    known = values[np.isfinite(values)]
    return float(known.mean()) if known.size else np.inf
