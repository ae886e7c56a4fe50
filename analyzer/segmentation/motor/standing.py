"""Whether the motor is told to stand: by a closed throttle, or by a shaft that the air turns."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from analyzer.segmentation.spans import spans_of

if TYPE_CHECKING:
    from analyzer.arrays import Array, Mask
    from analyzer.segmentation.motor.evidence import Evidence
    from analyzer.segmentation.motor.signals import MotorSignal
    from analyzer.segmentation.motor.tuning import MotorTuning


_FALLS_M: Final = 2.0
"""On the ground an altimeter's zero falls by less meanwhile ..."""

_UP_M: Final = 15.0
"""... and no model stands so high. Of a shaft beyond what the air does in most glides, height alone tells nothing."""


def believed(throttle: MotorSignal | None, running: Mask, tuning: MotorTuning) -> MotorSignal | None:
    """A throttle that is open whenever the motor runs beyond doubt; else it is another channel's, or stuck: None."""
    if throttle is None or not running.any():
        return throttle
    return throttle if (throttle.level[running] <= throttle.low).mean() < tuning.shut_running else None


def told_to_stand(evidence: Evidence, running: Mask) -> Mask:
    """Rows in which the motor is told to stand.

    Parameters
    ----------
    evidence : Evidence
        What is logged of the motor; the throttle as far as it is `believed`.
    running : numpy.ndarray of bool
        Rows in which the motor runs beyond doubt: there a closed throttle is late.
    """
    standing = _closed(evidence) & ~running
    if evidence.shaft is not None and evidence.shaft.column == "rpm":
        standing |= _undriven(evidence.shaft, evidence)
    return standing


def _closed(evidence: Evidence) -> Mask:
    """Rows in which a throttle beside rpm is closed."""
    throttle = evidence.throttle
    return np.zeros(len(evidence.time_s), dtype=bool) if throttle is None else throttle.level <= throttle.low


def _undriven(shaft: MotorSignal, evidence: Evidence) -> Mask:
    """Rows in which a shaft turns for long, but too slowly to drive a model that flies: in this glide the air turns it.

    At a third of full speed a propeller's pitch moves hardly faster than a model glides: it gives no thrust. Where
    power is logged, it is idle on the mean.
    """
    power, tuning = evidence.power, evidence.tuning
    height_m, climb_m_s = (evidence.log.frame[name].to_numpy(dtype=float) for name in ("height_m", "climb_m_s"))
    turned = np.zeros(len(height_m), dtype=bool)
    for first, last in spans_of((shaft.level > shaft.low) & (shaft.level < tuning.undriven)):
        lasts_s, inside = evidence.lasts_s((first, last)), slice(first, last)
        if lasts_s > tuning.idles_s and (power is None or _mean(power.level[inside]) < tuning.motor_share):
            is_up = not shaft.by_air and bool((height_m[inside] > _UP_M).all())
            turned[inside] = is_up or _mean(climb_m_s[inside]) * lasts_s < -_FALLS_M
    return turned


def _mean(values: Array) -> float:
    known = values[np.isfinite(values)]
    return float(known.mean()) if known.size else np.inf
