"""The level of the launch point: where the log stood before the model left."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


def launch_level(time_s: Array, altitude_m: Array, rise_m: float) -> tuple[float, bool]:
    """Altitude of the launch point, and whether the log shows it.

    The median of the stationary start: from the first reading to three seconds before the altitude first leaves the
    first readings' level by `rise_m`. A log that begins in the air has no such stretch: its first reading is taken.
    """
    first_s = time_s[0]
    start = float(np.median(altitude_m[time_s <= first_s + 3.0]))
    away = np.flatnonzero(np.abs(altitude_m - start) > rise_m)
    leaves_s = time_s[away[0]] if len(away) else time_s[-1] + 3.0
    rest = altitude_m[time_s <= leaves_s - 3.0]
    if leaves_s - first_s < 4.0 or len(rest) == 0:
        return float(altitude_m[0]), False
    return float(np.median(rest)), True
