"""The level of the launch point: where the log stood before the model left."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from analyzer.arrays import Array
    from analyzer.conditioning.tuning import ConditioningTuning


_START_S: Final = 3.0
"""The first readings' level is the median over this long; as much before the departure is left out."""

_SHORTEST_S: Final = 1.0
"""Less rest than this shows no level."""


def launch_level(time_s: Array, altitude_m: Array, tuning: ConditioningTuning) -> float:
    """Altitude of the launch point, as far as the log shows it.

    The median of the stationary start: from the first reading to three seconds before the altitude first leaves the
    first readings' level by more than a person can lift. A log that begins in the air has no such stretch: its first
    reading is taken.

    Parameters
    ----------
    time_s, altitude_m : numpy.ndarray, shape (n,)
        The altimeter's readings, free of outliers; n at least 1.
    tuning : ConditioningTuning
        The stage's tuning.
    """
    start = float(np.median(altitude_m[: np.searchsorted(time_s, time_s[0] + _START_S)]))
    away = (altitude_m > start + tuning.launch_rise_m) | (altitude_m < start - tuning.launch_rise_m)
    leaves_s = time_s[away.argmax()] if away.any() else time_s[-1] + 2 * _START_S
    rest = slice(0, int(np.searchsorted(time_s, leaves_s - _START_S)))
    lasts_s = leaves_s - _START_S - time_s[0]
    if lasts_s < _SHORTEST_S:
        return float(altitude_m[0])
    third = max(rest.stop // 3, 1)
    moved = np.median(altitude_m[rest][-third:]) - np.median(altitude_m[rest][:third])
    if abs(moved) > tuning.resting_m_s * max(lasts_s, _START_S) * 2.0 / 3.0:
        return float(altitude_m[0])
    return float(np.median(altitude_m[rest]))
