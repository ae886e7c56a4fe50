"""A propeller that the air turns: so fast a shaft may turn with the motor off."""

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


def undriven(shaft: MotorSignal, power: MotorSignal | None, log: Log, tuning: SegmentationTuning) -> NDArray[np.bool_]:
    """Rows in which a shaft turns for long, but too slowly to drive a model that flies: in this glide the air turns it.

    At a third of full speed a propeller's pitch moves hardly faster than a model glides: it gives no thrust. Where
    power is logged, it is idle on the mean.

    Parameters
    ----------
    shaft, power : MotorSignal
        Speed of the shaft as a share of full speed, and what the motor draws, shape (n,).
    log : Log
        Conditioned.
    tuning : SegmentationTuning
        The stage's tuning.
    """
    time_s, height_m, climb_m_s = (
        log.frame[name].to_numpy(dtype=float) for name in ("time_s", "height_m", "climb_m_s")
    )
    turned = np.zeros(len(time_s), dtype=bool)
    for first, last in spans_of((shaft.level > shaft.low) & (shaft.level < tuning.undriven)):
        lasts_s, inside = time_s[last - 1] - time_s[first], slice(first, last)
        if lasts_s > tuning.idles_s and (power is None or _mean(power.level[inside]) < tuning.motor_share):
            is_up = not shaft.by_air and np.nanmin(height_m[inside], initial=np.inf) > _UP_M
            turned[inside] = is_up or _mean(climb_m_s[inside]) * lasts_s < -_FALLS_M
    return turned


def _mean(values: Array) -> float:
    known = values[np.isfinite(values)]
    return float(known.mean()) if known.size else np.inf


def windmilling_rpm(rpm: Array, gliding: NDArray[np.bool_], full_rpm: float, tuning: SegmentationTuning) -> float:
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
    tuning : SegmentationTuning
        The stage's tuning.
    """
    by_air = rpm[gliding & (rpm > tuning.motor_share * full_rpm) & (rpm < tuning.windmilling_below * full_rpm)]
    if len(by_air) == 0 or len(by_air) < tuning.windmilling_share * np.count_nonzero(gliding):
        return 0.0
    return float(np.quantile(by_air, tuning.windmilling_most))
