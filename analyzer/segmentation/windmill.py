"""A propeller that the air turns: so fast a shaft may turn with the motor off."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analyzer.segmentation.tuning import SegmentationTuning

    Array = NDArray[np.float64]


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
